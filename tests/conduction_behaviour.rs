//! What conduction must do whatever the numbers: balance, order, superposition, limits, refusals.
#![allow(clippy::unwrap_used, clippy::panic)]

mod series;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use heatset::reference::{borosilicate, plasma, polypropylene};
use heatset::thermal::conduction::{
    AxialBarrel, AxialCoefficients, AxialGrid, AxialModel, AxialStage, Barrel, ConductionStage,
    EndCondition, Outside, OutsideTemperature, RadialGrid, RadialModel, RadialState, Steps,
    Surroundings, ThermalBody, axial_field, axial_unit_cooling, axial_unit_heating, radial_field,
    unit_cooling, unit_heating,
};
use series::{Series, cylinder, wall};

const START: f64 = 295.15;
const BLOCK: f64 = 363.15;
const AIR: f64 = 293.15;

fn gel() -> ThermalBody {
    plasma().unwrap().into()
}

fn plastic() -> ThermalBody {
    polypropylene().unwrap().into()
}

fn one_ml() -> Barrel {
    Barrel::new(4.7e-3, 0.9e-3, gel(), plastic()).unwrap()
}

fn grid(gel_cells: usize, wall_cells: usize) -> RadialGrid {
    RadialGrid {
        gel_cells,
        wall_cells,
    }
}

fn default_model(barrel: &Barrel) -> RadialModel {
    RadialModel::new(barrel, RadialGrid::default()).unwrap()
}

/// Radius, conductivity and diffusivity of 1: h is the Biot number, s the Fourier number.
fn unit_barrel() -> Barrel {
    let body = ThermalBody {
        conductivity_w_per_m_kelvin: 1.0,
        density_kg_per_m3: 1.0,
        specific_heat_j_per_kg_kelvin: 1.0,
    };
    Barrel::new(2.0, 0.0, body, body).unwrap()
}

fn heat(duration_s: f64) -> ConductionStage {
    ConductionStage {
        duration_s,
        outside: Outside::constant(150.0, BLOCK),
    }
}

fn cool(duration_s: f64) -> ConductionStage {
    ConductionStage {
        duration_s,
        outside: Outside::constant(30.0, AIR),
    }
}

fn ramp(start_kelvin: f64, rate_kelvin_per_s: f64, end_kelvin: f64) -> OutsideTemperature {
    OutsideTemperature::Ramp {
        start_kelvin,
        rate_kelvin_per_s,
        end_kelvin,
    }
}

fn half_out() -> AxialBarrel {
    AxialBarrel {
        filled_length_m: 57.7e-3,
        stands_out_m: 20e-3,
        bottom_end: EndCondition::Contact {
            coefficient_w_per_m2_kelvin: 20.0,
            surroundings: Surroundings::Air,
        },
        top_end: EndCondition::AsSide {
            surroundings: Surroundings::Air,
        },
    }
}

fn axial_stage(duration_s: f64) -> AxialStage {
    AxialStage {
        duration_s,
        block: Outside::constant(150.0, BLOCK),
        air: Outside::constant(15.0, AIR),
    }
}

#[test]
fn heat_that_came_in_is_heat_that_is_stored() {
    let cold_block = ConductionStage {
        duration_s: 300.0,
        outside: Outside {
            coefficient_w_per_m2_kelvin: 150.0,
            temperature: ramp(330.0, 0.3, BLOCK),
        },
    };
    for (bore_m, wall_m, wall) in [
        (4.7e-3, 0.9e-3, plastic()),
        (12e-3, 1e-3, borosilicate().unwrap().into()),
        (12e-3, 0.0, plastic()),
    ] {
        let barrel = Barrel::new(bore_m, wall_m, gel(), wall).unwrap();
        for grid in [RadialGrid::default(), grid(3, 1), grid(60, 20)] {
            let model = RadialModel::new(&barrel, grid).unwrap();
            let schedules: [&[ConductionStage]; 3] = [
                &[heat(360.0)],
                &[cold_block, cool(240.0)],
                &[heat(1.0), cool(5.0), heat(0.02)],
            ];
            for stages in schedules {
                let balance = radial_field(&model, START, stages, &[]).unwrap().heat();
                assert!(balance.stored_j.abs() > 1.0);
                assert!(balance.imbalance_ratio() < 1e-9, "{balance:?}");
            }
        }
    }
}

#[test]
fn heat_balances_along_the_barrel_too() {
    let model = AxialModel::new(&one_ml(), &half_out(), AxialGrid::default()).unwrap();
    let out = AxialStage::out_of_the_block(120.0, Outside::constant(30.0, AIR));
    let field = axial_field(&model, START, &[axial_stage(200.0), out], &[]).unwrap();
    assert!(field.heat().stored_j > 10.0);
    assert!(field.heat().imbalance_ratio() < 1e-9, "{:?}", field.heat());
    let volume: f64 = model.volumes_m3().iter().sum();
    let by_hand = std::f64::consts::PI * 3.25e-3_f64.powi(2) * 57.7e-3;
    assert_relative_eq!(volume, by_hand, max_relative = 1e-12);
    let fractions: f64 = model.gel_volume_fractions().iter().sum();
    assert_relative_eq!(fractions, 1.0, max_relative = 1e-12);
}

/// Error against the series where steps are all but exact; twice the cells must leave a quarter, and a
/// method of first order would leave half.
#[test]
fn twice_the_cells_leave_a_quarter_of_the_error() {
    let series = cylinder(2.0);
    let errors = |cells: usize| {
        let model = RadialModel::new(&unit_barrel(), grid(cells, 1)).unwrap();
        let mut state = RadialState::uniform(&model, 300.0).unwrap();
        let outside = Outside::constant(2.0, 301.0);
        let steps = Steps::Graded {
            first_step_s: Some(1e-6),
            steps_per_doubling: 200,
        };
        model
            .advance(&mut state, &outside, 0.0, 0.15, steps)
            .unwrap();
        // Each ring against the series at its own radius, as a root of the mean square.
        let square: f64 = state
            .gel_kelvin()
            .iter()
            .zip(model.centre_radii_m())
            .map(|(kelvin, radius)| (301.0 - kelvin - series.at(*radius, 0.15)).powi(2))
            .sum();
        (square / cells as f64).sqrt()
    };
    let found = [8, 16, 32, 64].map(errors);
    for pair in found.windows(2) {
        let order = (pair[0] / pair[1]).log2();
        assert!(
            (1.8..2.6).contains(&order),
            "order {order}, errors {found:?}"
        );
    }
}

/// The same through gel and wall, by the differences of successive grids, at the core and in the mean.
#[test]
fn gel_and_wall_converge_in_second_order_of_the_cells() {
    let values = |factor: usize| {
        let model = RadialModel::new(&one_ml(), grid(6 * factor, 3 * factor)).unwrap();
        let mut state = RadialState::uniform(&model, START).unwrap();
        let steps = Steps::Graded {
            first_step_s: Some(1e-4),
            steps_per_doubling: 120,
        };
        let outside = Outside::constant(150.0, BLOCK);
        model
            .advance(&mut state, &outside, 0.0, 30.0, steps)
            .unwrap();
        let cells = state.gel_kelvin();
        let mean = cells.iter().sum::<f64>() / cells.len() as f64;
        [1.5 * cells[0] - 0.5 * cells[1], mean]
    };
    let found = [1, 2, 4, 8].map(values);
    let core = found.map(|values| values[0]);
    let mean = found.map(|values| values[1]);
    for values in [core, mean] {
        let changes: Vec<f64> = values.windows(2).map(|v| (v[1] - v[0]).abs()).collect();
        for pair in changes.windows(2) {
            let order = (pair[0] / pair[1]).log2();
            assert!((1.7..2.6).contains(&order), "order {order} of {values:?}");
        }
    }
}

/// Error against the series on a grid so fine that steps alone count; equal steps, halved.
#[test]
fn half_the_step_leaves_a_quarter_of_the_error() {
    let series = cylinder(1.0);
    let model = RadialModel::new(&unit_barrel(), grid(800, 1)).unwrap();
    let error = |count: usize| {
        let mut state = RadialState::uniform(&model, 300.0).unwrap();
        let outside = Outside::constant(1.0, 301.0);
        model
            .advance(&mut state, &outside, 0.0, 1.0, Steps::Equal { count })
            .unwrap();
        let mean = state.gel_kelvin().iter().sum::<f64>() / 800.0;
        (301.0 - mean - series.mean(1.0)).abs()
    };
    let found = [4, 8, 16, 32].map(error);
    for pair in found.windows(2) {
        let order = (pair[0] / pair[1]).log2();
        assert!(
            (1.7..2.6).contains(&order),
            "order {order}, errors {found:?}"
        );
    }
}

/// Against the product solution, rows and rings doubled together.
#[test]
fn twice_the_rows_and_rings_leave_a_quarter_of_the_error() {
    let (radial, axial) = (cylinder(1.0), wall(1.0));
    let end = EndCondition::AsSide {
        surroundings: Surroundings::Block,
    };
    let length = AxialBarrel {
        filled_length_m: 2.0,
        stands_out_m: 0.0,
        bottom_end: end,
        top_end: end,
    };
    let error = |factor: usize| {
        let grid = AxialGrid {
            radial: grid(5 * factor, 1),
            rows_in_block: 6 * factor,
            rows_in_air: 2,
        };
        let model = AxialModel::new(&unit_barrel(), &length, grid).unwrap();
        let stage = AxialStage::out_of_the_block(0.3, Outside::constant(1.0, 301.0));
        let field = axial_field(&model, 300.0, &[stage], &[0.3]).unwrap();
        let cells = field.cells_kelvin().next().unwrap();
        let faces = model.row_faces_m();
        let mut square = 0.0;
        for row in 0..model.row_count() {
            let z = 0.5 * (faces[row] + faces[row + 1]) - 1.0;
            for (ring, radius) in model.centre_radii_m().iter().enumerate() {
                let exact = radial.at(*radius, 0.3) * axial.at(z, 0.3);
                square += (301.0 - cells[row * model.ring_count() + ring] - exact).powi(2);
            }
        }
        (square / model.cell_count() as f64).sqrt()
    };
    let found = [1, 2, 4].map(error);
    for pair in found.windows(2) {
        let order = (pair[0] / pair[1]).log2();
        assert!(
            (1.7..2.6).contains(&order),
            "order {order}, errors {found:?}"
        );
    }
}

/// Superposition: a ramp of rate b from the start's temperature gives `b integral of U(t - s) ds`, and one
/// that ends is a ramp less a later one; U from the series.
#[test]
fn a_ramp_is_the_integral_of_step_responses() {
    let (biot, rate, ends) = (1.5, 4.0, 0.5);
    let series = cylinder(biot);
    let model = RadialModel::new(&unit_barrel(), grid(64, 1)).unwrap();
    let stage = ConductionStage {
        duration_s: 2.0,
        outside: Outside {
            coefficient_w_per_m2_kelvin: biot,
            temperature: ramp(300.0, rate, 300.0 + rate * ends),
        },
    };
    let times = [0.1, 0.3, 0.499, 0.5, 0.501, 0.7, 1.2, 2.0];
    let field = radial_field(&model, 300.0, &[stage], &times).unwrap();
    let exact = |place: f64, time: f64| {
        let begun = series.covered_integral(place, time);
        let ended = if time > ends {
            series.covered_integral(place, time - ends)
        } else {
            0.0
        };
        rate * (begun - ended)
    };
    for (i, time) in times.iter().enumerate() {
        let (core, edge) = (field.core_kelvin()[i], field.edge_kelvin()[i]);
        assert_abs_diff_eq!(core - 300.0, exact(0.0, *time), epsilon = 1e-3);
        assert_abs_diff_eq!(edge - 300.0, exact(1.0, *time), epsilon = 1e-3);
    }
}

/// The slope of the outside breaks where a ramp ends. A step across the break would spoil the order, and
/// make the error jump about with the place of the break in the step.
#[test]
fn a_step_ends_where_a_ramp_ends() {
    let (biot, rate, ends) = (1.5, 40.0, 0.0777);
    let series = cylinder(biot);
    let covered = series.covered_integral(1.0, 0.5) - series.covered_integral(1.0, 0.5 - ends);
    let model = RadialModel::new(&unit_barrel(), grid(400, 1)).unwrap();
    let outside = Outside {
        coefficient_w_per_m2_kelvin: biot,
        temperature: ramp(300.0, rate, 300.0 + rate * ends),
    };
    let error = |count: usize| {
        let mut state = RadialState::uniform(&model, 300.0).unwrap();
        let steps = Steps::Equal { count };
        model
            .advance(&mut state, &outside, 0.0, 0.5, steps)
            .unwrap();
        let last = state.gel_kelvin()[399];
        // From the outermost ring to the surface: half a ring and the film in series.
        let half = biot / 1600.0;
        let edge = last + (300.0 + rate * ends - last) * half / (half + 1.0);
        (edge - 300.0 - rate * covered).abs()
    };
    let found = [5, 10, 20, 40].map(error);
    for pair in found.windows(2) {
        let order = (pair[0] / pair[1]).log2();
        assert!(
            (1.7..2.6).contains(&order),
            "order {order}, errors {found:?}"
        );
    }
}

#[test]
fn at_the_end_of_a_stage_the_outside_is_that_of_the_stage_that_ends() {
    let bare = Barrel::new(12e-3, 0.0, gel(), gel()).unwrap();
    let times = [60.0 - 1e-6, 60.0];
    let stages = [heat(60.0), cool(60.0)];
    let field = radial_field(&default_model(&bare), START, &stages, &times).unwrap();
    let edge = field.edge_kelvin();
    assert_abs_diff_eq!(edge[0], edge[1], epsilon = 1e-5);
}

#[test]
fn one_unit_heating_gives_every_set_temperature() {
    let model = default_model(&one_ml());
    let times: Vec<f64> = (0..=36).map(|i| 10.0 * f64::from(i)).collect();
    let unit = unit_heating(&model, 150.0, &times).unwrap();
    for (start, block) in [(295.15, 363.15), (277.15, 343.15), (310.0, 290.0)] {
        let stage = ConductionStage {
            duration_s: 360.0,
            outside: Outside::constant(150.0, block),
        };
        let field = radial_field(&model, start, &[stage], &times).unwrap();
        let scaled = |u: &f64| start + (block - start) * u;
        for i in 0..times.len() {
            let pairs = [
                (field.core_kelvin()[i], scaled(&unit.core_fractions()[i])),
                (field.edge_kelvin()[i], scaled(&unit.edge_fractions()[i])),
                (field.mean_kelvin()[i], scaled(&unit.mean_fractions()[i])),
            ];
            for (direct, by_unit) in pairs {
                assert_abs_diff_eq!(direct, by_unit, epsilon = 1e-9);
            }
        }
        for (direct, by_unit) in field.cells_kelvin().zip(unit.cell_fractions()) {
            for (kelvin, fraction) in direct.iter().zip(by_unit) {
                assert_abs_diff_eq!(*kelvin, scaled(fraction), epsilon = 1e-9);
            }
        }
    }
}

#[test]
fn unit_coolings_from_any_heating_time_give_the_cooling() {
    let model = default_model(&one_ml());
    let (heated_s, cooled_s) = (47.0, 200.0);
    let after: Vec<f64> = (0..=20).map(|i| 10.0 * f64::from(i)).collect();
    let times: Vec<f64> = after.iter().map(|t| heated_s + t).collect();
    let direct = radial_field(&model, START, &[heat(heated_s), cool(cooled_s)], &times).unwrap();
    let unit = unit_heating(&model, 150.0, &[heated_s]).unwrap();
    let from = unit.cell_fractions().next().unwrap();
    let ones = vec![1.0; model.cell_count()];
    let of_ones = unit_cooling(&model, 30.0, &ones, &after).unwrap();
    let of_heat = unit_cooling(&model, 30.0, from, &after).unwrap();
    for i in 0..after.len() {
        let core = AIR
            + (START - AIR) * of_ones.core_fractions()[i]
            + (BLOCK - START) * of_heat.core_fractions()[i];
        assert_abs_diff_eq!(direct.core_kelvin()[i], core, epsilon = 1e-9);
        let mean = AIR
            + (START - AIR) * of_ones.mean_fractions()[i]
            + (BLOCK - START) * of_heat.mean_fractions()[i];
        assert_abs_diff_eq!(direct.mean_kelvin()[i], mean, epsilon = 1e-9);
    }
}

#[test]
fn unit_responses_of_block_and_air_add_up_to_the_barrel_that_stands_out() {
    let model = AxialModel::new(&one_ml(), &half_out(), AxialGrid::default()).unwrap();
    let coefficients = AxialCoefficients {
        block_w_per_m2_kelvin: 150.0,
        air_w_per_m2_kelvin: 15.0,
    };
    let times = [0.0, 5.0, 33.3, 120.0];
    let unit = |heated| axial_unit_heating(&model, coefficients, heated, &times).unwrap();
    let (block, air) = (unit(Surroundings::Block), unit(Surroundings::Air));
    let direct = axial_field(&model, START, &[axial_stage(120.0)], &times).unwrap();
    let sum = |b: &f64, a: &f64| START + (BLOCK - START) * b + (AIR - START) * a;
    for (i, field) in direct.cells_kelvin().enumerate() {
        let from_block = block.cell_fractions().nth(i).unwrap();
        let from_air = air.cell_fractions().nth(i).unwrap();
        for ((kelvin, b), a) in field.iter().zip(from_block).zip(from_air) {
            assert_abs_diff_eq!(*kelvin, sum(b, a), epsilon = 1e-9);
        }
        let mean = sum(&block.mean_fractions()[i], &air.mean_fractions()[i]);
        assert_abs_diff_eq!(direct.mean_kelvin()[i], mean, epsilon = 1e-9);
    }
    // Out of the block afterwards: from ones, from the block's field and from the air's.
    let in_air = AxialCoefficients {
        block_w_per_m2_kelvin: 30.0,
        air_w_per_m2_kelvin: 30.0,
    };
    let fields = [
        vec![1.0; model.cell_count()],
        block.cell_fractions().last().unwrap().to_vec(),
        air.cell_fractions().last().unwrap().to_vec(),
    ];
    let steps = [START - AIR, BLOCK - START, AIR - START];
    let cooled: f64 = fields
        .iter()
        .zip(steps)
        .map(|(field, step)| {
            let unit = axial_unit_cooling(&model, in_air, field, &[60.0]).unwrap();
            step * unit.mean_fractions()[0]
        })
        .sum();
    let out = AxialStage::out_of_the_block(60.0, Outside::constant(30.0, AIR));
    let direct = axial_field(&model, START, &[axial_stage(120.0), out], &[180.0]).unwrap();
    assert_abs_diff_eq!(direct.mean_kelvin()[0], AIR + cooled, epsilon = 1e-9);
}

#[test]
fn with_insulated_ends_and_nothing_or_all_standing_out_length_does_not_matter() {
    let ends = |stands_out_m: f64| AxialBarrel {
        filled_length_m: 40e-3,
        stands_out_m,
        bottom_end: EndCondition::Insulated,
        top_end: EndCondition::Insulated,
    };
    let axial_grid = AxialGrid {
        radial: RadialGrid::default(),
        rows_in_block: 7,
        rows_in_air: 5,
    };
    let radial = default_model(&one_ml());
    let times = [0.0, 1.0, 10.0, 100.0];
    for (stands_out_m, coefficient, kelvin, rows) in [(0.0, 150.0, BLOCK, 7), (40e-3, 15.0, AIR, 5)]
    {
        let model = AxialModel::new(&one_ml(), &ends(stands_out_m), axial_grid).unwrap();
        assert_eq!(model.row_count(), rows);
        let field = axial_field(&model, START, &[axial_stage(100.0)], &times).unwrap();
        let stage = ConductionStage {
            duration_s: 100.0,
            outside: Outside::constant(coefficient, kelvin),
        };
        let long = radial_field(&radial, START, &[stage], &times).unwrap();
        for (cells, rings) in field.cells_kelvin().zip(long.cells_kelvin()) {
            for row in cells.chunks_exact(radial.cell_count()) {
                for (ours, theirs) in row.iter().zip(rings) {
                    assert_abs_diff_eq!(*ours, *theirs, epsilon = 1e-8);
                }
            }
        }
        for i in 0..times.len() {
            let (ours, theirs) = (field.edge_kelvin()[i], long.edge_kelvin()[i]);
            assert_abs_diff_eq!(ours, theirs, epsilon = 1e-8);
            assert_abs_diff_eq!(
                field.mean_kelvin()[i],
                long.mean_kelvin()[i],
                epsilon = 1e-8
            );
        }
    }
}

#[test]
fn a_barrel_turned_upside_down_is_heated_upside_down() {
    let upright = half_out();
    let turned = AxialBarrel {
        stands_out_m: upright.filled_length_m - upright.stands_out_m,
        bottom_end: EndCondition::AsSide {
            surroundings: Surroundings::Block,
        },
        top_end: EndCondition::Contact {
            coefficient_w_per_m2_kelvin: 20.0,
            surroundings: Surroundings::Block,
        },
        ..upright
    };
    let grid = |below, above| AxialGrid {
        radial: grid(8, 3),
        rows_in_block: below,
        rows_in_air: above,
    };
    let stage = axial_stage(60.0);
    let swapped = AxialStage {
        block: stage.air,
        air: stage.block,
        ..stage
    };
    let run = |length: &AxialBarrel, grid, stage| {
        let model = AxialModel::new(&one_ml(), length, grid).unwrap();
        let field = axial_field(&model, START, &[stage], &[60.0]).unwrap();
        field.core_by_row_kelvin().next().unwrap().to_vec()
    };
    let up = run(&upright, grid(14, 10), stage);
    let down = run(&turned, grid(10, 14), swapped);
    for (a, b) in up.iter().zip(down.iter().rev()) {
        assert_abs_diff_eq!(*a, *b, epsilon = 1e-8);
    }
    assert!(up[0] > up[23] + 20.0);
}

#[test]
fn a_wall_of_gel_is_more_gel_and_a_thin_wall_is_none() {
    // A wall of the gel's own stuff: the series of the whole radius, at the gel's share of it.
    let barrel = Barrel::new(4e-3, 1e-3, gel(), gel()).unwrap();
    let model = RadialModel::new(&barrel, grid(60, 40)).unwrap();
    let coefficient = 0.58 / 3e-3;
    let time_s = 0.3 * 9e-6 / gel().diffusivity_m2_per_s();
    let unit = unit_heating(&model, coefficient, &[time_s]).unwrap();
    let series: Series = cylinder(1.0);
    let (core, edge) = (unit.core_fractions()[0], unit.edge_fractions()[0]);
    assert_abs_diff_eq!(1.0 - core, series.at(0.0, 0.3), epsilon = 3e-4);
    assert_abs_diff_eq!(1.0 - edge, series.at(2.0 / 3.0, 0.3), epsilon = 3e-4);

    let times = [2.0, 20.0, 200.0];
    let at = |wall_m: f64| {
        let barrel = Barrel::new(4.7e-3, wall_m, gel(), plastic()).unwrap();
        unit_heating(&default_model(&barrel), 150.0, &times).unwrap()
    };
    let (none, film) = (at(0.0), at(1e-7));
    for i in 0..times.len() {
        let (a, b) = (none.core_fractions()[i], film.core_fractions()[i]);
        assert_abs_diff_eq!(a, b, epsilon = 3e-4);
        let (a, b) = (none.edge_fractions()[i], film.edge_fractions()[i]);
        assert_abs_diff_eq!(a, b, epsilon = 3e-4);
    }
}

/// Bi and Fo are all that counts: twice the size and half the coefficient take four times the time.
#[test]
fn twice_the_barrel_takes_four_times_as_long_at_half_the_coefficient() {
    let big = Barrel::new(9.4e-3, 1.8e-3, gel(), plastic()).unwrap();
    let small = unit_heating(&default_model(&one_ml()), 150.0, &[3.0, 90.0]).unwrap();
    let large = unit_heating(&default_model(&big), 75.0, &[12.0, 360.0]).unwrap();
    for (a, b) in small.mean_fractions().iter().zip(large.mean_fractions()) {
        assert_relative_eq!(*a, *b, max_relative = 1e-9);
    }
    for (a, b) in small.core_fractions().iter().zip(large.core_fractions()) {
        assert_abs_diff_eq!(*a, *b, epsilon = 1e-9);
    }
}

#[test]
fn no_gel_is_ever_colder_than_its_start_or_hotter_than_the_block() {
    let times: Vec<f64> = (0..=1200).map(|i| 0.3 * f64::from(i)).collect();
    for (bore_m, wall_m) in [(4.7e-3, 0.9e-3), (12e-3, 1e-3), (12e-3, 0.0)] {
        let barrel = Barrel::new(bore_m, wall_m, gel(), plastic()).unwrap();
        let field = radial_field(&default_model(&barrel), START, &[heat(360.0)], &times).unwrap();
        for rings in field.cells_kelvin() {
            for kelvin in rings {
                assert!((START - 0.02..=BLOCK + 1e-9).contains(kelvin), "{kelvin}");
            }
        }
        for (core, edge) in field.core_kelvin().iter().zip(field.edge_kelvin()) {
            assert!(core <= &(edge + 0.02));
        }
    }
}

#[test]
fn output_times_between_steps_are_as_good_as_times_on_steps() {
    let model = default_model(&one_ml());
    let asked: Vec<f64> = (1..=59).map(|i| 1.0 + f64::from(i)).collect();
    let field = radial_field(&model, START, &[heat(360.0)], &asked).unwrap();
    for (time_s, core) in asked.iter().zip(field.core_kelvin()) {
        let ends = radial_field(&model, START, &[heat(*time_s)], &[*time_s]).unwrap();
        assert_abs_diff_eq!(*core, ends.core_kelvin()[0], epsilon = 0.012);
    }
}

#[test]
fn a_span_stepped_in_two_is_the_span_and_stages_join_without_a_jump() {
    let model = default_model(&one_ml());
    let outside = Outside {
        coefficient_w_per_m2_kelvin: 150.0,
        temperature: ramp(300.0, 1.0, 350.0),
    };
    let steps = Steps::Equal { count: 400 };
    let mut whole = RadialState::uniform(&model, START).unwrap();
    let mut parts = whole.clone();
    model
        .advance(&mut whole, &outside, 0.0, 80.0, steps)
        .unwrap();
    for (from_s, to_s) in [(0.0, 30.0), (30.0, 80.0)] {
        model
            .advance(&mut parts, &outside, from_s, to_s, steps)
            .unwrap();
    }
    for (a, b) in whole.cells_kelvin().iter().zip(parts.cells_kelvin()) {
        assert_abs_diff_eq!(*a, *b, epsilon = 1e-3);
    }
    let times = [60.0 - 1e-6, 60.0, 60.0 + 1e-6];
    let field = radial_field(&model, START, &[heat(60.0), cool(60.0)], &times).unwrap();
    for pair in field.edge_kelvin().windows(2) {
        assert_abs_diff_eq!(pair[0], pair[1], epsilon = 1e-4);
    }
}

#[test]
fn rings_of_gel_weigh_the_same_and_fill_the_bore() {
    let model = default_model(&one_ml());
    assert_eq!(model.gel_volume_fractions().len(), model.gel_cell_count());
    for fraction in model.gel_volume_fractions() {
        assert_relative_eq!(*fraction, 1.0 / 24.0, max_relative = 1e-12);
    }
    let capacity: f64 = model.capacities_j_per_m_kelvin().iter().sum();
    let pi = std::f64::consts::PI;
    let gel_part = pi * 2.35e-3_f64.powi(2) * 1025.0 * 3900.0;
    let wall_part = pi * (3.25e-3_f64.powi(2) - 2.35e-3_f64.powi(2)) * 905.0 * 1925.0;
    assert_relative_eq!(capacity, gel_part + wall_part, max_relative = 1e-12);
}
