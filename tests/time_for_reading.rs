//! Heat time of a reading, and the windows of other pushes.
#![allow(clippy::unwrap_used, clippy::expect_used)]

mod support;

use heatset::plan::{
    CoolingAsked, NeedleUsed, PlanError, PushSetup, ReadingTimeQuestion, StatedThinning,
    TimeQuestion, Varied, heat_time, other_pushes, time_for_reading,
};
use heatset::reference::{BoreBasis, Wall};
use support::{exact_calibration, log_setting, scattered};

fn question(set_kelvin: f64, reading: f64) -> ReadingTimeQuestion {
    ReadingTimeQuestion {
        set_kelvin,
        reading,
        warm_up: None,
        contact_histories: Vec::new(),
        block_tolerance_k: 0.0,
        altitude_m: 0.0,
        extrapolate: false,
        draws: 4000,
        seed: 1,
    }
}

/// By hand, order 1 and log law: 1.6 mPa.s to 6 Pa.s, 8e-3 /s at 90 °C, 250 kJ/mol. Half of the way on
/// the logarithm after ln 2/k; k(80 °C) = 8e-3 exp[-(250e3/R)(1/353.15 - 1/363.15)] /s.
#[test]
fn half_of_the_way_takes_the_half_time() {
    let calibration = exact_calibration(&log_setting(8e-3, 250e3, 1.6e-3, 6.0));
    let blend = &calibration.blends[0];
    let half_way = (1.6e-3_f64 * 6.0).sqrt();
    for celsius in [75.0_f64, 80.0, 88.0] {
        let kelvin = celsius + 273.15;
        let rate = 8e-3 * (-250e3 / 8.314_462_618 * (1.0 / kelvin - 1.0 / 363.15)).exp();
        let by_hand_s = 2.0_f64.ln() / rate;
        let answer = time_for_reading(blend, &question(kelvin, half_way)).unwrap();
        for found in [
            answer.heat_time_s_point,
            answer.heat_time_s_median,
            answer.reached_by_s,
        ] {
            assert!(
                (found.unwrap() / by_hand_s - 1.0).abs() < 1e-6,
                "{found:?} {by_hand_s}"
            );
        }
        assert!((answer.conversion - 0.5).abs() < 1e-9);
    }
}

/// A block that may be off by 1 K, rectangular: 95 of 100 places are below the time of the place that is
/// colder by 0.9 K. By hand: t times exp[(E/R T^2) 0.9 K].
#[test]
fn a_block_that_may_be_off_makes_the_time_later() {
    let calibration = exact_calibration(&log_setting(8e-3, 250e3, 1.6e-3, 6.0));
    let kelvin = 353.15;
    let asked = ReadingTimeQuestion {
        block_tolerance_k: 1.0,
        draws: 40_000,
        ..question(kelvin, 0.1)
    };
    let answer = time_for_reading(&calibration.blends[0], &asked).unwrap();
    let ratio = answer.reached_by_s.unwrap() / answer.heat_time_s_point.unwrap();
    let by_hand = (250e3 / (8.314_462_618 * kelvin * kelvin) * 0.9).exp();
    assert!((ratio / by_hand - 1.0).abs() < 5e-3, "{ratio} {by_hand}");
}

#[test]
fn readings_that_no_heat_gives_and_temperatures_outside_are_refused() {
    let calibration = exact_calibration(&log_setting(8e-3, 250e3, 1.6e-3, 6.0));
    let blend = &calibration.blends[0];
    for reading in [1e-3, 6.5, f64::NAN, -1.0] {
        let refused = time_for_reading(blend, &question(353.15, reading)).unwrap_err();
        assert!(
            matches!(refused, PlanError::ReadingNotReached { .. }),
            "{refused}"
        );
        assert!(refused.to_string().contains("\nWhat helps:"));
    }
    let refused = time_for_reading(blend, &question(366.15, 0.1)).unwrap_err();
    assert!(matches!(refused, PlanError::TemperatureOutside { .. }));
}

/// The window of another push is the one that is answered where that push is asked for.
#[test]
fn other_pushes_say_what_they_say_when_they_are_asked() {
    let table = support::bench(
        heatset::readings::ReadingKind::Viscosity,
        &scattered(&log_setting(8e-3, 250e3, 1.6e-3, 6.0), 0.1, 3),
    );
    let calibration =
        heatset::fit::calibrate(&table, &heatset::fit::FitOptions::default()).unwrap();
    let blend = &calibration.blends[0];
    let setup = |gauge: u8, flow_ratio: f64| {
        let needle = NeedleUsed::of_gauge(gauge, Wall::Regular, BoreBasis::Nominal, 13e-3).unwrap();
        let usual = PushSetup::with_needle(needle).unwrap();
        PushSetup {
            flow_rate_m3_per_s: flow_ratio * usual.flow_rate_m3_per_s,
            ..usual
        }
    };
    let asked = |setup: PushSetup| TimeQuestion {
        set_kelvin: 353.15,
        setup,
        thinning: StatedThinning::default(),
        least: None,
        warm_up: None,
        contact_histories: Vec::new(),
        cooling: CoolingAsked::default(),
        altitude_m: 0.0,
        extrapolate: false,
        draws: 2000,
        varied: Varied::ALL,
        seed: 1,
        invented: false,
    };
    let others = [setup(25, 1.0), setup(30, 1.0), setup(27, 0.5)];
    let windows = other_pushes(blend, &asked(setup(27, 1.0)), &others).unwrap();
    for (other, window) in others.into_iter().zip(windows) {
        let window = window.unwrap();
        let answer = heat_time(blend, &asked(other)).unwrap();
        assert_eq!(window.heat_time_s, answer.heat_time_s);
        assert_eq!(window.window_open, answer.window_open);
        assert_eq!(window.limited_by, answer.limited_by);
    }
    // Friction that takes all of the push leaves nothing to say.
    let stuck = PushSetup {
        friction_n: 25.0,
        ..setup(27, 1.0)
    };
    assert_eq!(
        other_pushes(blend, &asked(setup(27, 1.0)), &[stuck]).unwrap(),
        [None]
    );
}

/// More firmness never takes less time, also where the scatter of a reading is larger than the reading
/// itself: what the scatter alone reads is there from the first moment.
#[test]
fn a_firmer_gel_is_not_reached_sooner_where_readings_scatter_more_than_they_read() {
    let mut calibration = exact_calibration(&log_setting(8e-3, 250e3, 0.2, 6.0));
    let blend = &mut calibration.blends[0];
    blend.error = heatset::fit::ErrorModel::Absolute;
    blend.fit.residual_sd = 0.3;
    blend.fit.degrees_of_freedom = 60;
    let times: Vec<f64> = [0.25, 0.35, 0.45, 0.6, 0.9, 1.5, 3.0]
        .into_iter()
        .map(|reading| {
            let asked = ReadingTimeQuestion {
                extrapolate: true,
                ..question(358.15, reading)
            };
            let answer = time_for_reading(blend, &asked).unwrap();
            answer.reached_by_s.expect("a reading below the plateau")
        })
        .collect();
    assert!(times.windows(2).all(|pair| pair[0] < pair[1]), "{times:?}");
}
