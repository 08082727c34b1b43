//! Facts of the trade, marked 'common practice, no source': one plausible calibration must put the
//! usual practice in the right order and size.
#![allow(clippy::unwrap_used)]

mod support;

use heatset::fit::Calibration;
use heatset::kinetics::FlowIndexCourse;
use heatset::plan::{BarrelUsed, NeedleUsed, PushSetup, StatedThinning, TimeQuestion, heat_time};
use heatset::readings::read_bench_text;
use heatset::reference::{BoreBasis, Wall};
use heatset::thermal::WarmUp;
use support::{exact_calibration, log_setting};

fn question(gauge: u8, force_n: f64, thinning: StatedThinning) -> TimeQuestion {
    let needle = NeedleUsed::of_gauge(gauge, Wall::Regular, BoreBasis::Nominal, 13e-3).unwrap();
    let setup = PushSetup {
        barrel: BarrelUsed::of_bore(4.7e-3),
        friction_n: 2.0,
        force_limit_n: force_n,
        ..PushSetup::with_needle(needle).unwrap()
    };
    TimeQuestion {
        set_kelvin: 363.15,
        setup,
        thinning,
        least: None,
        warm_up: None,
        contact_histories: Vec::new(),
        cooling: heatset::plan::CoolingAsked::default(),
        altitude_m: 0.0,
        extrapolate: false,
        draws: 1000,
        varied: heatset::plan::Varied::ALL,
        seed: 1,
        invented: false,
    }
}

fn point_min(calibration: &Calibration, blend: Option<&str>, question: &TimeQuestion) -> f64 {
    let answer = heat_time(calibration.blend(blend).unwrap(), question).unwrap();
    answer.heat_time_s_point.unwrap() / 60.0
}

/// Common practice, no source: block at 90 °C, 1 mL syringe, about 6 min for a 30G x 13 mm needle
/// and 8-10 min for 27G. A Newtonian gel that sets to 4.1 Pa.s meets both at a push of 15 N.
#[test]
fn a_newtonian_gel_meets_the_usual_heat_times_of_two_needles() {
    let calibration = exact_calibration(&log_setting(1.66e-3, 300e3, 1.6e-3, 4.1));
    let plain = StatedThinning::default();
    let fine = point_min(&calibration, None, &question(30, 15.0, plain));
    let wide = point_min(&calibration, None, &question(27, 15.0, plain));
    assert!((5.5..=6.5).contains(&fine), "30G: {fine} min");
    assert!((8.0..=10.0).contains(&wide), "27G: {wide} min");
}

/// Common practice, no source: the same two facts with a gel that thins (constant index 0.3, read
/// at 10 1/s) and sets to 34 Pa.s.
#[test]
fn a_thinning_gel_meets_the_usual_heat_times_of_two_needles() {
    let calibration = exact_calibration(&log_setting(7.3e-3, 300e3, 1.6e-3, 34.0));
    let thins = StatedThinning {
        flow_index: Some(0.3),
        shear_rate_per_s: Some(10.0),
        course: FlowIndexCourse::Constant,
    };
    let fine = point_min(&calibration, None, &question(30, 15.0, thins));
    let wide = point_min(&calibration, None, &question(27, 15.0, thins));
    assert!((5.5..=6.5).contains(&fine), "30G: {fine} min");
    assert!((7.5..=10.0).contains(&wide), "27G: {wide} min");
}

fn demo() -> Calibration {
    let text = include_bytes!("../data/demo_bench.csv");
    let table = read_bench_text("demo_bench.csv", text).unwrap();
    heatset::fit::calibrate(&table, &heatset::fit::FitOptions::default()).unwrap()
}

/// Common practice, no source: about 6 min for 30G and 8-10 min for 27G at 90 °C in a 1 mL
/// syringe. The demo bench is invented so as to meet both, warm-up of a thin syringe included.
#[test]
fn the_demo_bench_meets_the_usual_heat_times() {
    let calibration = demo();
    let lag = Some(WarmUp::lag(35.0, 295.15).unwrap());
    let with_lag = |gauge| TimeQuestion {
        warm_up: lag.clone(),
        ..question(gauge, 15.0, StatedThinning::default())
    };
    let fine = point_min(&calibration, Some("plain"), &with_lag(30));
    let wide = point_min(&calibration, Some("plain"), &with_lag(27));
    assert!((5.0..=7.5).contains(&fine), "30G: {fine} min");
    assert!((8.0..=10.0).contains(&wide), "27G: {wide} min");
}

/// Common practice, no source: a blend with hyaluronic acid flows more easily than plain plasma
/// heated alike.
#[test]
fn the_blend_with_hyaluronic_acid_flows_more_easily_than_plain_plasma_heated_alike() {
    let calibration = demo();
    let ask = question(30, 20.0, StatedThinning::default());
    for minutes in [6.0, 8.0, 10.0] {
        let push = |blend: &str| {
            let question = heatset::plan::ForceQuestion {
                set_kelvin: 363.15,
                heat_time_s: minutes * 60.0,
                setup: ask.setup.clone(),
                needles: Vec::new(),
                thinning: StatedThinning::default(),
                warm_up: None,
                contact_histories: Vec::new(),
                cooling: heatset::plan::CoolingAsked::default(),
                altitude_m: 0.0,
                extrapolate: false,
                draws: 1000,
                seed: 1,
                invented: true,
            };
            let blend = calibration.blend(Some(blend)).unwrap();
            let answer = heatset::plan::force_for_heat_time(blend, &question).unwrap();
            answer.needles[0].plunger_force_n.point
        };
        assert!(push("ha-30") < push("plain"), "{minutes} min");
    }
}
