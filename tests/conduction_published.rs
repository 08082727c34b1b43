//! Conduction in gel and wall against series, textbook figures and independent computations.
#![allow(clippy::unwrap_used, clippy::panic)]

mod series;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use heatset::reference::{plasma, polypropylene};
use heatset::thermal::conduction::{
    AxialBarrel, AxialGrid, AxialModel, AxialStage, Barrel, ConductionStage, EndCondition, Outside,
    OutsideTemperature, RadialGrid, RadialModel, RadialState, Steps, Surroundings, ThermalBody,
    axial_field, radial_field, unit_heating,
};
use series::{bessel, cylinder, wall};

const ZERO_CELSIUS: f64 = 273.15;

/// A body in which radius 1 m, conductivity 1 and diffusivity 1 make h the Biot number and s the Fourier
/// number.
fn unit_body() -> ThermalBody {
    ThermalBody {
        conductivity_w_per_m_kelvin: 1.0,
        density_kg_per_m3: 1.0,
        specific_heat_j_per_kg_kelvin: 1.0,
    }
}

fn unit_cylinder(gel_cells: usize) -> RadialModel {
    let barrel = Barrel::new(2.0, 0.0, unit_body(), unit_body()).unwrap();
    let grid = RadialGrid {
        gel_cells,
        wall_cells: 1,
    };
    RadialModel::new(&barrel, grid).unwrap()
}

/// Rows of a table in tests/data, by the header's names.
fn table(text: &str) -> Vec<Vec<(&str, &str)>> {
    let mut lines = text.lines();
    let head: Vec<&str> = lines.next().unwrap().split(',').collect();
    lines
        .map(|line| head.iter().copied().zip(line.split(',')).collect())
        .collect()
}

fn text_of<'a>(row: &[(&str, &'a str)], name: &str) -> &'a str {
    row.iter().find(|(key, _)| *key == name).unwrap().1
}

fn number(row: &[(&str, &str)], name: &str) -> f64 {
    text_of(row, name).parse().unwrap()
}

/// M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, tables 9.1 and 9.5: J0(1), J1(1), J0(10),
/// and the first zero of J0.
#[test]
fn the_bessel_functions_of_the_series_have_their_tabled_values() {
    assert_abs_diff_eq!(bessel(0, 1.0), 0.765_197_686_6, epsilon = 1e-10);
    assert_abs_diff_eq!(bessel(1, 1.0), 0.440_050_585_7, epsilon = 1e-10);
    assert_abs_diff_eq!(bessel(0, 10.0), -0.245_935_764_5, epsilon = 1e-10);
    assert_abs_diff_eq!(bessel(0, 2.404_825_557_7), 0.0, epsilon = 1e-10);
}

/// Full series of the infinite cylinder, centre, surface and mean of (T - T_inf)/(T_0 - T_inf), summed with
/// SciPy's Bessel functions and roots.
#[test]
fn the_series_gives_the_figures_that_scipy_gives() {
    let figures = [
        (1.0, 0.1, [0.976_817, 0.684_565, 0.843_266]),
        (1.0, 0.2, [0.870_174, 0.570_228, 0.718_516]),
        (1.0, 1.0, [0.249_380, 0.160_338, 0.203_347]),
        (0.1, 0.5, [0.929_340, 0.884_592, 0.906_881]),
        (10.0, 0.2, [0.600_232, 0.074_844, 0.311_676]),
    ];
    for (biot, fourier, [centre, surface, mean]) in figures {
        let series = cylinder(biot);
        assert_abs_diff_eq!(series.at(0.0, fourier), centre, epsilon = 1e-6);
        assert_abs_diff_eq!(series.at(1.0, fourier), surface, epsilon = 1e-6);
        assert_abs_diff_eq!(series.mean(fourier), mean, epsilon = 1e-6);
    }
}

/// The series above, over three decades of Bi and of Fo. Of a step of 68 K, 7e-4 are the 0.05 K that the
/// default grid answers for; a Bi of 100 is far from any block and needs more cells at the surface.
#[test]
fn a_bare_cylinder_follows_the_series_from_biot_0_1_to_100() {
    let times = [0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0];
    for (biot, cells, within) in [
        (0.1, 24, 2e-4),
        (1.0, 24, 7e-4),
        (10.0, 64, 7e-4),
        (100.0, 200, 7e-4),
    ] {
        let series = cylinder(biot);
        let field = unit_heating(&unit_cylinder(cells), biot, &times).unwrap();
        for (i, fourier) in times.iter().enumerate() {
            let place = |name: &str, ours: f64, series: f64| {
                assert!(
                    (1.0 - ours - series).abs() < within,
                    "Bi {biot} Fo {fourier} {name}: {} against {series}",
                    1.0 - ours
                );
            };
            place("core", field.core_fractions()[i], series.at(0.0, *fourier));
            place("edge", field.edge_fractions()[i], series.at(1.0, *fourier));
            place("mean", field.mean_fractions()[i], series.mean(*fourier));
        }
    }
}

/// One-term coefficients of the infinite cylinder: F. Incropera, D. DeWitt, Fundamentals of Heat and Mass
/// Transfer, table 5.1; the file's digits were computed with SciPy and agree with the table to four digits.
/// The slowest decay of the field is zeta_1^2, what is left at the centre C_1 exp(-zeta_1^2 Fo).
#[test]
fn the_late_field_has_the_one_term_coefficients_of_the_textbook() {
    let rows = table(include_str!("data/cylinder_one_term.csv"));
    assert_eq!(rows.len(), 36);
    let model = unit_cylinder(100);
    for row in rows {
        let (zeta, c) = (number(&row, "zeta1_cyl"), number(&row, "C1_cyl"));
        // The second term has fallen by exp(-9) and more, then the first falls by one e-folding.
        let first = 0.6;
        let second = first + 1.0 / (zeta * zeta);
        let outside = Outside::constant(number(&row, "Bi"), 301.0);
        let mut state = RadialState::uniform(&model, 300.0).unwrap();
        let graded = Steps::Graded {
            first_step_s: None,
            steps_per_doubling: 60,
        };
        let equal = Steps::Equal { count: 100 };
        let to_go = [(0.0, first, graded), (first, second, equal)].map(|(from_s, to_s, steps)| {
            model
                .advance(&mut state, &outside, from_s, to_s, steps)
                .unwrap();
            // The parabola of zero slope at r = 0 through the two inner rings of equal volume.
            let rings = state.gel_kelvin();
            301.0 - (1.5 * rings[0] - 0.5 * rings[1])
        });
        let decay = (to_go[0] / to_go[1]).ln() / (second - first);
        assert_relative_eq!(decay, zeta * zeta, max_relative = 3e-4);
        let amplitude = to_go[0] * (zeta * zeta * first).exp();
        assert_relative_eq!(amplitude, c, max_relative = 3e-4);
    }
}

/// Lumped capacitance, F. Incropera, D. DeWitt, eq. 5.6 (from memory): exp(-t/tau), tau = rho cp R/(2 h).
/// The first root falls short of the lumped one by Bi/4 of its square: 1 in 400 at Bi = 0.01.
#[test]
fn at_biot_0_01_the_gel_warms_evenly_with_the_lumped_time_constant() {
    let model = unit_cylinder(24);
    let tau = 0.5 / 0.01;
    let times: Vec<f64> = [0.1, 0.5, 1.0, 2.0, 3.0].map(|x| x * tau).to_vec();
    let field = unit_heating(&model, 0.01, &times).unwrap();
    for (time, mean) in times.iter().zip(field.mean_fractions()) {
        let lumped = (-time / tau).exp();
        let corrected = (-time / tau * (1.0 - 0.01 / 4.0)).exp();
        assert_abs_diff_eq!(1.0 - mean, lumped, epsilon = 1.0e-3);
        assert_abs_diff_eq!(1.0 - mean, corrected, epsilon = 1.0e-4);
    }
    for (core, edge) in field.core_fractions().iter().zip(field.edge_fractions()) {
        assert!(edge - core < 0.005);
    }
}

/// Gel and wall, heated and cooled, constant and ramped block: an independent method of lines, spectral in
/// space, SciPy's Radau in time (script tests/references/two_layer.py, agreeing with itself to 1e-8 K).
#[test]
fn gel_and_wall_stay_within_0_05_kelvin_of_an_independent_solution() {
    let rows = table(include_str!("data/two_layer_cylinder.csv"));
    assert_eq!(rows.len(), 72);
    let mut cases: Vec<&str> = rows.iter().map(|row| text_of(row, "case")).collect();
    cases.dedup();
    assert_eq!(cases.len(), 4);
    for case in cases {
        let rows: Vec<_> = rows
            .iter()
            .filter(|row| text_of(row, "case") == case)
            .collect();
        let given = |name: &str| number(rows[0], name);
        let body = |of: &str| ThermalBody {
            conductivity_w_per_m_kelvin: given(&format!("{of}_conductivity")),
            density_kg_per_m3: given(&format!("{of}_density")),
            specific_heat_j_per_kg_kelvin: given(&format!("{of}_specific_heat")),
        };
        let barrel = Barrel::new(
            given("bore_m"),
            given("wall_thickness_m"),
            body("gel"),
            body("wall"),
        )
        .unwrap();
        let block_kelvin = given("block_C") + ZERO_CELSIUS;
        let temperature = if given("ramp_K_per_s") > 0.0 {
            OutsideTemperature::Ramp {
                start_kelvin: given("block_start_C") + ZERO_CELSIUS,
                rate_kelvin_per_s: given("ramp_K_per_s"),
                end_kelvin: block_kelvin,
            }
        } else {
            OutsideTemperature::Constant {
                kelvin: block_kelvin,
            }
        };
        let stages = [
            ConductionStage {
                duration_s: given("heat_s"),
                outside: Outside {
                    coefficient_w_per_m2_kelvin: given("heat_coefficient"),
                    temperature,
                },
            },
            ConductionStage {
                duration_s: given("cool_s"),
                outside: Outside::constant(
                    given("cool_coefficient"),
                    given("air_C") + ZERO_CELSIUS,
                ),
            },
        ];
        let times: Vec<f64> = rows.iter().map(|row| number(row, "time_s")).collect();
        let start_kelvin = given("start_C") + ZERO_CELSIUS;
        let solve = |grid| {
            let model = RadialModel::new(&barrel, grid).unwrap();
            radial_field(&model, start_kelvin, &stages, &times).unwrap()
        };
        // On the default grid 0.05 K; on five times the cells what the steps in time leave.
        let fine = RadialGrid {
            gel_cells: 120,
            wall_cells: 40,
        };
        for (grid, within) in [(RadialGrid::default(), 0.05), (fine, 0.012)] {
            let field = solve(grid);
            for (i, row) in rows.iter().enumerate() {
                let ours = [
                    ("core_C", field.core_kelvin()[i]),
                    ("edge_C", field.edge_kelvin()[i]),
                    ("mean_C", field.mean_kelvin()[i]),
                ];
                for (name, kelvin) in ours {
                    let (ours, theirs) = (kelvin - ZERO_CELSIUS, number(row, name));
                    assert!(
                        (ours - theirs).abs() < within,
                        "{case}, {} s, {name}: {ours} against {theirs}",
                        times[i]
                    );
                }
            }
        }
    }
}

/// An independent reference computation: 22 °C into a block at 90 °C, 150 W/m2K, polypropylene; cores after one
/// and six minutes, in whole degrees.
#[test]
fn a_5_ml_core_lags_far_behind_a_1_ml_core() {
    let heat = ConductionStage {
        duration_s: 360.0,
        outside: Outside::constant(150.0, 90.0 + ZERO_CELSIUS),
    };
    for (bore_m, wall_m, after_a_minute, after_six) in
        [(4.7e-3, 0.9e-3, 62.0, 90.0), (12e-3, 1e-3, 31.0, 79.0)]
    {
        let gel = plasma().unwrap().into();
        let plastic = polypropylene().unwrap().into();
        let barrel = Barrel::new(bore_m, wall_m, gel, plastic).unwrap();
        let model = RadialModel::new(&barrel, RadialGrid::default()).unwrap();
        let field = radial_field(&model, 22.0 + ZERO_CELSIUS, &[heat], &[60.0, 360.0]).unwrap();
        let core = |i: usize| field.core_kelvin()[i] - ZERO_CELSIUS;
        assert_abs_diff_eq!(core(0), after_a_minute, epsilon = 0.5);
        assert_abs_diff_eq!(core(1), after_six, epsilon = 0.5);
    }
}

/// Short cylinder heated alike on its side and both ends: the product of the infinite cylinder and the plane
/// wall, F. Incropera, D. DeWitt, section 5.8 (from memory).
#[test]
fn a_short_cylinder_is_the_product_of_cylinder_and_wall() {
    for (biot, end_biot, half_length_m) in [(1.0, 1.0, 1.0), (0.5, 4.0, 2.0), (2.0, 0.3, 1.5)] {
        let barrel = Barrel::new(2.0, 0.0, unit_body(), unit_body()).unwrap();
        // Wall's Bi is with half the length.
        let end = EndCondition::Contact {
            coefficient_w_per_m2_kelvin: end_biot / half_length_m,
            surroundings: Surroundings::Block,
        };
        let length = AxialBarrel {
            filled_length_m: 2.0 * half_length_m,
            stands_out_m: 0.0,
            bottom_end: end,
            top_end: end,
        };
        let grid = AxialGrid {
            radial: RadialGrid {
                gel_cells: 24,
                wall_cells: 1,
            },
            rows_in_block: 48,
            rows_in_air: 2,
        };
        let model = AxialModel::new(&barrel, &length, grid).unwrap();
        let outside = Outside::constant(biot, 301.0);
        let stage = AxialStage::out_of_the_block(1.0, outside);
        let times = [0.05, 0.2, 0.5, 1.0];
        let field = axial_field(&model, 300.0, &[stage], &times).unwrap();
        let (radial, axial) = (cylinder(biot), wall(end_biot));
        for (i, time) in times.iter().enumerate() {
            let along = time / (half_length_m * half_length_m);
            let mean = radial.mean(*time) * axial.mean(along);
            assert_abs_diff_eq!(301.0 - field.mean_kelvin()[i], mean, epsilon = 7e-4);
            let cores = field.core_by_row_kelvin().nth(i).unwrap();
            let edges = field.edge_by_row_kelvin().nth(i).unwrap();
            let faces = model.row_faces_m();
            for row in 0..model.row_count() {
                let middle = 0.5 * (faces[row] + faces[row + 1]);
                let share = axial.at(middle / half_length_m - 1.0, along);
                let core = radial.at(0.0, *time) * share;
                let edge = radial.at(1.0, *time) * share;
                assert_abs_diff_eq!(301.0 - cores[row], core, epsilon = 1.5e-3);
                assert_abs_diff_eq!(301.0 - edges[row], edge, epsilon = 1.5e-3);
            }
        }
    }
}

/// A thin rod between two surroundings at rest: the fin equation `T'' = 2 h/(k R) (T - T_side)` on either side
/// of the rim, F. Incropera, D. DeWitt, section 3.6 (from memory), here with both ends insulated and one
/// temperature and slope at the rim. Bi is 0.005, so the rod is even across to 1 in 400.
#[test]
fn at_rest_a_thin_rod_standing_out_follows_the_fin_equation() {
    let gel: ThermalBody = plasma().unwrap().into();
    let (radius_m, length_m, out_m) = (2e-3, 0.12, 0.05);
    let (block_h, air_h, block_kelvin, air_kelvin) = (1.5, 0.5, 360.0, 300.0);
    let length = AxialBarrel {
        filled_length_m: length_m,
        stands_out_m: out_m,
        bottom_end: EndCondition::Insulated,
        top_end: EndCondition::Insulated,
    };
    let barrel = Barrel::new(2.0 * radius_m, 0.0, gel, gel).unwrap();
    let model = AxialModel::new(&barrel, &length, AxialGrid::default()).unwrap();
    let stage = AxialStage {
        duration_s: 2e6,
        block: Outside::constant(block_h, block_kelvin),
        air: Outside::constant(air_h, air_kelvin),
    };
    let field = axial_field(&model, 300.0, &[stage], &[2e6]).unwrap();

    let slope = |h: f64| (2.0 * h / (gel.conductivity_w_per_m_kelvin * radius_m)).sqrt();
    let (m_block, m_air, rim_m) = (slope(block_h), slope(air_h), length_m - out_m);
    // T = block - a cosh(m z) below, air + b cosh(m (L - z)) above.
    let pull_block = m_block * (m_block * rim_m).tanh();
    let pull_air = m_air * (m_air * out_m).tanh();
    let rim = (pull_block * block_kelvin + pull_air * air_kelvin) / (pull_block + pull_air);
    let cores = field.core_by_row_kelvin().next().unwrap();
    let faces = model.row_faces_m();
    for (row, core) in cores.iter().enumerate() {
        let z = 0.5 * (faces[row] + faces[row + 1]);
        let fin = if z < rim_m {
            block_kelvin - (block_kelvin - rim) * (m_block * z).cosh() / (m_block * rim_m).cosh()
        } else {
            air_kelvin
                + (rim - air_kelvin) * (m_air * (length_m - z)).cosh() / (m_air * out_m).cosh()
        };
        assert_abs_diff_eq!(*core, fin, epsilon = 0.15);
    }
    assert!(rim - air_kelvin > 10.0 && block_kelvin - rim > 10.0);
}

/// A 1 mL barrel 10 mm out of the block with its bottom in the air, heated and cooled: bilinear finite
/// elements with SciPy's BDF, extrapolated over three meshes (script tests/references/standing_out.py, good to
/// about 0.005 K).
#[test]
fn a_barrel_that_stands_out_stays_within_0_1_kelvin_of_finite_elements() {
    let heights_m = [0.0, 5e-3, 25e-3, 45e-3, 47.7e-3, 50e-3, 57.7e-3];
    let names = ["0mm", "5mm", "25mm", "45mm", "47.7mm", "50mm", "57.7mm"];
    let barrel = Barrel::new(
        4.7e-3,
        0.9e-3,
        plasma().unwrap().into(),
        polypropylene().unwrap().into(),
    )
    .unwrap();
    let length = AxialBarrel {
        filled_length_m: 57.7e-3,
        stands_out_m: 10e-3,
        bottom_end: EndCondition::Contact {
            coefficient_w_per_m2_kelvin: 20.0,
            surroundings: Surroundings::Air,
        },
        top_end: EndCondition::Insulated,
    };
    let model = AxialModel::new(&barrel, &length, AxialGrid::default()).unwrap();
    let air = |h: f64| Outside::constant(h, 22.0 + ZERO_CELSIUS);
    let stages = [
        AxialStage {
            duration_s: 360.0,
            block: Outside::constant(150.0, 90.0 + ZERO_CELSIUS),
            air: air(15.0),
        },
        AxialStage::out_of_the_block(120.0, air(30.0)),
    ];
    let rows = table(include_str!("data/standing_out.csv"));
    assert_eq!(rows.len(), 7);
    let times: Vec<f64> = rows.iter().map(|row| number(row, "time_s")).collect();
    let field = axial_field(&model, 22.0 + ZERO_CELSIUS, &stages, &times).unwrap();
    let faces = model.row_faces_m();
    let middles: Vec<f64> = faces.windows(2).map(|f| 0.5 * (f[0] + f[1])).collect();
    // Straight line between the rows' middles; at the two ends through the last two.
    let at = |by_row: &[f64], z: f64| {
        let upper = middles
            .partition_point(|m| *m < z)
            .clamp(1, middles.len() - 1);
        let share = (z - middles[upper - 1]) / (middles[upper] - middles[upper - 1]);
        by_row[upper - 1] + share * (by_row[upper] - by_row[upper - 1]) - ZERO_CELSIUS
    };
    for (i, row) in rows.iter().enumerate() {
        let mean = field.mean_kelvin()[i] - ZERO_CELSIUS;
        assert_abs_diff_eq!(mean, number(row, "mean_C"), epsilon = 0.03);
        let cores = field.core_by_row_kelvin().nth(i).unwrap();
        let edges = field.edge_by_row_kelvin().nth(i).unwrap();
        for (z, name) in heights_m.iter().zip(names) {
            for (kind, by_row) in [("core", cores), ("edge", edges)] {
                let theirs = number(row, &format!("{kind}_{name}_C"));
                let ours = at(by_row, *z);
                assert!(
                    (ours - theirs).abs() < 0.1,
                    "{} s, {kind} at {name}: {ours} against {theirs}",
                    times[i]
                );
            }
        }
    }
}
