//! Input that no conduction can be computed from: refused in words that name the value and a remedy.
#![allow(clippy::unwrap_used, clippy::panic)]

use heatset::reference::{plasma, polypropylene};
use heatset::thermal::conduction::{
    AxialBarrel, AxialGrid, AxialModel, Barrel, ConductionError, ConductionStage, EndCondition,
    Outside, OutsideTemperature, RadialGrid, RadialModel, RadialState, Steps, Surroundings,
    ThermalBody, radial_field, unit_cooling, unit_heating,
};

const START: f64 = 295.15;
const BLOCK: f64 = 363.15;

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

fn heat(duration_s: f64) -> ConductionStage {
    ConductionStage {
        duration_s,
        outside: Outside::constant(150.0, BLOCK),
    }
}

fn cool(duration_s: f64) -> ConductionStage {
    ConductionStage {
        duration_s,
        outside: Outside::constant(30.0, START),
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

/// Every refusal names the value and a remedy.
fn refused<T: std::fmt::Debug>(result: Result<T, ConductionError>, words: &[&str]) {
    let said = result.unwrap_err().to_string();
    for word in words {
        assert!(said.contains(word), "'{said}' does not say '{word}'");
    }
}

#[test]
fn barrels_that_are_none_are_refused() {
    for bore in [0.0, -1e-3, f64::NAN, f64::INFINITY] {
        let barrel = Barrel::new(bore, 0.0, gel(), plastic());
        refused(barrel, &[&bore.to_string(), "inner diameter"]);
    }
    for wall in [-1e-4, f64::NAN, f64::INFINITY] {
        let barrel = Barrel::new(4.7e-3, wall, gel(), plastic());
        refused(barrel, &[&wall.to_string(), "or 0"]);
    }
    for bad in [0.0, -0.5, f64::NAN] {
        let body = |property: usize| ThermalBody {
            conductivity_w_per_m_kelvin: if property == 0 { bad } else { 0.5 },
            density_kg_per_m3: if property == 1 { bad } else { 1000.0 },
            specific_heat_j_per_kg_kelvin: if property == 2 { bad } else { 4000.0 },
        };
        for (property, name) in ["conductivity", "density", "specific heat"]
            .iter()
            .enumerate()
        {
            let words = [*name, "above 0"];
            refused(Barrel::new(4e-3, 1e-3, body(property), plastic()), &words);
            refused(Barrel::new(4e-3, 1e-3, gel(), body(property)), &words);
        }
    }
    refused(RadialModel::new(&one_ml(), grid(1, 4)), &["at least 2"]);
    refused(RadialModel::new(&one_ml(), grid(8, 0)), &["at least 1"]);
}

#[test]
fn schedules_that_are_none_are_refused() {
    let model = default_model(&one_ml());
    let run = |start, stages: &[ConductionStage], times: &[f64]| {
        radial_field(&model, start, stages, times)
    };
    for start in [0.0, -1.0, f64::NAN] {
        refused(run(start, &[heat(60.0)], &[]), &["above 0 K"]);
    }
    refused(run(START, &[], &[]), &["no stage", "at least one"]);
    for duration in [0.0, -5.0, f64::NAN, f64::INFINITY] {
        let stages = [heat(60.0), cool(duration)];
        refused(run(START, &stages, &[]), &["stage 2", "longer than 0 s"]);
    }
    for coefficient in [0.0, -150.0, f64::NAN] {
        let stage = ConductionStage {
            duration_s: 60.0,
            outside: Outside::constant(coefficient, BLOCK),
        };
        refused(run(START, &[stage], &[]), &["W/m2K", "above 0"]);
        refused(unit_heating(&model, coefficient, &[1.0]), &["above 0"]);
    }
    for (start, rate, end) in [
        (300.0, -1.0, 360.0),
        (300.0, 0.0, 360.0),
        (360.0, 1.0, 300.0),
        (300.0, f64::NAN, 360.0),
    ] {
        let stage = ConductionStage {
            duration_s: 60.0,
            outside: Outside {
                coefficient_w_per_m2_kelvin: 150.0,
                temperature: ramp(start, rate, end),
            },
        };
        refused(run(START, &[stage], &[]), &["K/s", "give a rate"]);
    }
    for times in [[5.0, 4.0], [-1.0, 4.0], [f64::NAN, 4.0]] {
        refused(run(START, &[heat(60.0)], &times), &["rising order"]);
        refused(unit_heating(&model, 150.0, &times), &["rising order"]);
    }
    refused(
        run(START, &[heat(60.0)], &[61.0]),
        &["61 s", "ends at 60 s"],
    );
}

#[test]
fn fields_steps_and_lengths_that_do_not_fit_are_refused() {
    let model = default_model(&one_ml());
    refused(
        unit_cooling(&model, 30.0, &[1.0; 5], &[1.0]),
        &["5 values", "32 cells"],
    );
    let mut field = vec![1.0; model.cell_count()];
    field[3] = f64::NAN;
    refused(unit_cooling(&model, 30.0, &field, &[1.0]), &["value 4"]);
    let mut state = RadialState::uniform(&model, START).unwrap();
    let outside = Outside::constant(150.0, BLOCK);
    for (from_s, to_s) in [(0.0, 0.0), (5.0, 2.0), (-1.0, 2.0), (0.0, f64::NAN)] {
        let steps = Steps::default();
        refused(
            model.advance(&mut state, &outside, from_s, to_s, steps),
            &["after the start"],
        );
    }
    for steps in [
        Steps::Equal { count: 0 },
        Steps::Graded {
            first_step_s: Some(0.0),
            steps_per_doubling: 12,
        },
        Steps::Graded {
            first_step_s: None,
            steps_per_doubling: 0,
        },
    ] {
        refused(
            model.advance(&mut state, &outside, 0.0, 1.0, steps),
            &["at least 1 step"],
        );
    }
    let other = RadialModel::new(&one_ml(), grid(5, 5)).unwrap();
    refused(
        other.advance(&mut state, &outside, 0.0, 1.0, Steps::default()),
        &["32 values", "10 cells"],
    );

    let axial = |length: AxialBarrel, grid: AxialGrid| AxialModel::new(&one_ml(), &length, grid);
    for filled_length_m in [0.0, -1.0, f64::NAN] {
        let length = AxialBarrel {
            filled_length_m,
            ..half_out()
        };
        refused(axial(length, AxialGrid::default()), &["filled length"]);
    }
    for stands_out_m in [-1e-3, 0.06, f64::NAN] {
        let length = AxialBarrel {
            stands_out_m,
            ..half_out()
        };
        refused(axial(length, AxialGrid::default()), &["cannot stand out"]);
    }
    let length = AxialBarrel {
        top_end: EndCondition::Contact {
            coefficient_w_per_m2_kelvin: 0.0,
            surroundings: Surroundings::Air,
        },
        ..half_out()
    };
    refused(axial(length, AxialGrid::default()), &["above 0"]);
    let few = AxialGrid {
        rows_in_air: 1,
        ..AxialGrid::default()
    };
    refused(axial(half_out(), few), &["above the rim", "at least 2"]);
}
