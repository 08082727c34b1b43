//! Heat schedules through the gel: against closed forms and the conduction solver's own field.
#![allow(clippy::unwrap_used, missing_docs)]

use approx::{assert_abs_diff_eq, assert_relative_eq};
use heatset::reference::find_syringe;
use heatset::thermal::conduction::{
    ConductionStage, Outside, OutsideTemperature, RadialGrid, RadialModel, radial_field,
};
use heatset::thermal::{
    DeclaredSyringe, Follows, HeatSchedule, SampledHistory, ScheduleClock, ScheduleStage,
    StageKind, TemperatureHistory, WarmUp, relative_rate,
};
use std::sync::Arc;

const ROOM_KELVIN: f64 = 295.15;
const SET_KELVIN: f64 = 359.15;
const REFERENCE_KELVIN: f64 = 353.15;
const ENERGY: f64 = 280e3;

fn stage(kind: StageKind, set_kelvin: f64, time_s: Option<f64>) -> ScheduleStage {
    ScheduleStage {
        kind,
        set_kelvin,
        time_s,
    }
}

fn schedule(stages: Vec<ScheduleStage>, ramp: Option<f64>, clock: ScheduleClock) -> HeatSchedule {
    HeatSchedule {
        start_kelvin: ROOM_KELVIN,
        clock,
        block_start_kelvin: ramp.map(|_| 313.15),
        ramp_kelvin_per_s: ramp,
        stages,
    }
    .checked()
    .unwrap()
}

fn history(schedule: &HeatSchedule, follows: &Follows) -> WarmUp {
    let history = SampledHistory::of_schedule("test.toml", schedule, follows).unwrap();
    WarmUp::Sampled(Arc::new(history))
}

fn dose_s(warm_up: &WarmUp, time_s: f64) -> f64 {
    warm_up
        .heat_dose(SET_KELVIN, time_s, ENERGY, REFERENCE_KELVIN)
        .dose_s
}

fn rate(kelvin: f64) -> f64 {
    relative_rate(kelvin, REFERENCE_KELVIN, ENERGY)
}

/// Trapezia of 0.05 s over a course of temperature.
fn fine(kelvin: impl Fn(f64) -> f64, end_s: f64) -> f64 {
    let steps = (end_s / 0.05).round() as usize;
    let step_s = end_s / steps as f64;
    (0..steps)
        .map(|i| {
            let t = i as f64 * step_s;
            0.5 * step_s * (rate(kelvin(t)) + rate(kelvin(t + step_s)))
        })
        .sum()
}

#[test]
fn one_stage_with_a_lag_is_the_plain_lag() {
    let one = schedule(
        vec![stage(StageKind::Heat, SET_KELVIN, None)],
        None,
        ScheduleClock::Insertion,
    );
    let on_schedule = history(
        &one,
        &Follows::Lag {
            time_constant_s: 40.0,
        },
    );
    let plain = WarmUp::lag(40.0, ROOM_KELVIN).unwrap();
    for time_s in [60.0, 150.0, 420.0, 3000.0] {
        assert_relative_eq!(
            dose_s(&on_schedule, time_s),
            dose_s(&plain, time_s),
            max_relative = 1e-3
        );
    }
}

/// A cold block at 40 °C that rises 20 K a minute reaches 86 °C after 138 s. Gel that follows at
/// once is on the ramp; the clock that starts at the set temperature has the ramp before it.
#[test]
fn a_cold_block_counts_its_ramp_and_the_clock_says_from_where() {
    let ramp_s = (SET_KELVIN - 313.15) / (20.0 / 60.0);
    let block = |t: f64| (313.15 + t * 20.0 / 60.0).min(SET_KELVIN);
    for (clock, delay_s) in [
        (ScheduleClock::Insertion, 0.0),
        (ScheduleClock::AtSet, ramp_s),
    ] {
        let cold = schedule(
            vec![stage(StageKind::Heat, SET_KELVIN, None)],
            Some(20.0 / 60.0),
            clock,
        );
        let found = history(&cold, &Follows::AtOnce);
        for time_s in [30.0, 200.0, 600.0] {
            let expected = fine(block, time_s + delay_s);
            assert_relative_eq!(dose_s(&found, time_s), expected, max_relative = 2e-3);
        }
    }
}

#[test]
fn stages_before_and_after_count_with_a_lag_in_every_one() {
    let tau_s = 50.0;
    let course = schedule(
        vec![
            stage(StageKind::Heat, 341.15, Some(180.0)),
            stage(StageKind::Heat, SET_KELVIN, None),
            stage(StageKind::Hold, 343.15, Some(60.0)),
            stage(StageKind::Cool, 293.15, Some(240.0)),
        ],
        None,
        ScheduleClock::Insertion,
    );
    let found = history(
        &course,
        &Follows::Lag {
            time_constant_s: tau_s,
        },
    );
    let follow = |out: f64, from: f64, t: f64| out + (from - out) * (-t / tau_s).exp();
    for heat_s in [100.0, 400.0] {
        let first = follow(341.15, ROOM_KELVIN, 180.0);
        let hot = follow(SET_KELVIN, first, heat_s);
        let held = follow(343.15, hot, 60.0);
        let expected = fine(|t| follow(341.15, ROOM_KELVIN, t), 180.0)
            + fine(|t| follow(SET_KELVIN, first, t), heat_s)
            + fine(|t| follow(343.15, hot, t), 60.0)
            + fine(|t| follow(293.15, held, t), 240.0);
        assert_relative_eq!(dose_s(&found, heat_s), expected, max_relative = 5e-3);
    }
}

/// The same by conduction, with a ramp, against the field of the solver ring by ring.
#[test]
fn a_ramp_and_cooling_by_conduction_are_those_of_the_rings() {
    let syringe = DeclaredSyringe::of(&find_syringe("3mL").unwrap()).unwrap();
    let course = schedule(
        vec![
            stage(StageKind::Heat, SET_KELVIN, None),
            stage(StageKind::Cool, ROOM_KELVIN, Some(300.0)),
        ],
        Some(0.5),
        ScheduleClock::Insertion,
    );
    let found = history(&course, &Follows::Syringe(syringe.clone()));
    let model = RadialModel::new(&syringe.barrel().unwrap(), RadialGrid::default()).unwrap();
    for heat_s in [240.0, 600.0] {
        let stages = [
            ConductionStage {
                duration_s: heat_s,
                outside: Outside {
                    coefficient_w_per_m2_kelvin: syringe.contact_w_per_m2_kelvin,
                    temperature: OutsideTemperature::Ramp {
                        start_kelvin: 313.15,
                        rate_kelvin_per_s: 0.5,
                        end_kelvin: SET_KELVIN,
                    },
                },
            },
            ConductionStage {
                duration_s: 300.0,
                outside: Outside::constant(syringe.air_w_per_m2_kelvin, ROOM_KELVIN),
            },
        ];
        let times: Vec<f64> = (0..=(heat_s as usize + 300)).map(|t| t as f64).collect();
        let field = radial_field(&model, ROOM_KELVIN, &stages, &times).unwrap();
        let mean_dose: f64 = field
            .gel_kelvin()
            .collect::<Vec<_>>()
            .windows(2)
            .map(|pair| {
                pair[0]
                    .iter()
                    .zip(pair[1])
                    .map(|(a, b)| 0.5 * (rate(*a) + rate(*b)))
                    .sum::<f64>()
                    / pair[0].len() as f64
            })
            .sum();
        assert_relative_eq!(dose_s(&found, heat_s), mean_dose, max_relative = 5e-3);
        let temperature = found.temperature_kelvin(SET_KELVIN, heat_s);
        assert_abs_diff_eq!(
            temperature,
            field.mean_kelvin()[heat_s as usize],
            epsilon = 0.1
        );
    }
}

#[test]
fn a_schedule_in_which_every_time_is_given_leaves_nothing_to_answer() {
    let closed = schedule(
        vec![stage(StageKind::Heat, SET_KELVIN, Some(300.0))],
        None,
        ScheduleClock::Insertion,
    );
    let refused = SampledHistory::of_schedule("all.toml", &closed, &Follows::AtOnce).unwrap_err();
    assert!(refused.to_string().contains("all.toml"), "{refused}");
}
