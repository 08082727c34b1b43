//! Measured traces: the file, its refusals, scaling, and the lag fitted to one.
#![allow(clippy::unwrap_used, clippy::panic)]

use approx::{assert_abs_diff_eq, assert_relative_eq};
use heatset::thermal::{
    LagStart, MeasuredTrace, ThermalInputError, TracePoint, TraceReach, TraceScale, fit_lag,
    fit_lag_from, parse_trace, read_trace,
};
use proptest::prelude::*;
use serde::Deserialize;

fn trace_of(points: impl IntoIterator<Item = (f64, f64)>) -> MeasuredTrace {
    MeasuredTrace::new(
        points
            .into_iter()
            .map(|(time_s, temperature_kelvin)| TracePoint {
                time_s,
                temperature_kelvin,
            })
            .collect(),
    )
    .unwrap()
}

fn faults_of(text: &str) -> Vec<String> {
    match parse_trace("trace.csv", text) {
        Err(ThermalInputError::Faults { file, faults }) => {
            assert_eq!(file, "trace.csv");
            faults.all().iter().map(ToString::to_string).collect()
        }
        other => panic!("{text:?}: {other:?}"),
    }
}

#[test]
fn the_four_promised_headers_read_to_si() {
    for (text, seconds, kelvin) in [
        ("time_s,temp_C\n0,22\n30,60.5\n", 30.0, 333.65),
        ("time_min,temp_C\n0,22\n0.5,60.5\n", 30.0, 333.65),
        ("time_s,temp_K\n0,295.15\n30,333.65\n", 30.0, 333.65),
        ("temp_K,time_min\n295.15,0\n333.65,0.5\n", 30.0, 333.65),
    ] {
        let read = parse_trace("trace.csv", text).unwrap();
        let [first, second] = read.trace.points() else {
            panic!("{text}");
        };
        assert_abs_diff_eq!(first.temperature_kelvin, 295.15, epsilon = 1e-9);
        assert_eq!(second.time_s, seconds);
        assert_abs_diff_eq!(second.temperature_kelvin, kelvin, epsilon = 1e-9);
        assert!(read.ignored_columns.is_empty() && !read.invented);
    }
}

#[test]
fn separators_commas_comments_and_line_ends_make_no_difference() {
    let plain = parse_trace("t", "time_s,temp_C,note\n0,22.5,in\n30,60.25,\n").unwrap();
    for text in [
        "time_s;temp_C;note\n0;22,5;in\n30;60,25;\n",
        "time_s\ttemp_C\tnote\n0\t22,5\tin\n30\t60.25\t\n",
        "\u{feff}# a comment, with commas\r\n\r\ntime_s,temp_C,note\r\n0,22.5,in\r\n# another\r\n30,60.25,\r\n",
        "\"time_s\",\"temp_C\",\"note\"\n0,\"22.5\",\"in, at once\"\n30,60.25,\n,,\n",
        "time_s,temp_C,note\r0,22.5,in\r30,60.25,\r",
        "time_s,temp_C,note,,\n0,22.5,in,,\n30,60.25,,,\n",
        " time_s , temp_C , note \n 0 , 22.5 , in \n 30 , 60.25 , \n",
    ] {
        let read = parse_trace("t", text).unwrap();
        assert_eq!(read.trace, plain.trace, "{text:?}");
        assert_eq!(read.ignored_columns, ["note"], "{text:?}");
    }
}

#[test]
fn rows_without_a_temperature_are_left_out_and_counted_and_invented_data_are_known() {
    let read = parse_trace(
        "t",
        "# Invented data: nobody measured this\ntime_s,temp_C\n0,22\n10,\n20,50\n",
    )
    .unwrap();
    assert_eq!(read.rows_without_temperature, 1);
    assert_eq!(read.trace.points().len(), 2);
    assert!(read.invented);
}

#[test]
fn each_refusal_names_line_and_column_and_how_to_mend_it() {
    for (text, says) in [
        ("", "the table is empty"),
        ("# only words\n", "the table is empty"),
        (
            "time_s,temp_C\n",
            "no row has a time and a temperature (a trace takes at least 2)",
        ),
        ("time_s,temp_C\n0,22\n", "one row alone has a time"),
        (
            "time,temp_C\n0,22\n1,23\n",
            "line 1: no column holds the time (is time meant? write time_s or time_min",
        ),
        (
            "time_s,Temp\n0,22\n1,23\n",
            "line 1: no column holds the temperature (is Temp meant? write temp_C or temp_K",
        ),
        (
            "time_s,x\n0,22\n1,23\n",
            "line 1: no column holds the temperature (name it temp_C or temp_K)",
        ),
        (
            "time_s,time_min,temp_C\n0,0,22\n60,1,23\n",
            "line 1, column time_min: the header names both time_s and time_min",
        ),
        (
            "time_s,temp_C,temp_C\n0,22,22\n60,23,23\n",
            "line 1, column temp_C: the header names temp_C twice",
        ),
        (
            "time_s,temp_C\n0,22\n10,warm\n20,30\n",
            "line 3, column temp_C: \"warm\" is not a number",
        ),
        (
            "time_s,temp_C\n0,22\n10,25 C\n20,30\n",
            "line 3, column temp_C: \"25 C\" is not a number (write the number alone; the unit stands in the header)",
        ),
        (
            "time_s,temp_C\n0,22\n10,nan\n20,30\n",
            "line 3, column temp_C: \"nan\" is not a number",
        ),
        (
            "time_s,temp_C\n0,22\n10,1e999\n20,30\n",
            "line 3, column temp_C: \"1e999\" is not a finite number",
        ),
        (
            "time_s,temp_C\n0,22\n10,22,5\n20,30\n",
            "line 3: 3 values where the header names 2 (are these decimal commas?",
        ),
        (
            "time_s,temp_C\n0,22\n10\n20,30\n",
            "line 3: 1 value where the header names 2 (keep the separators",
        ),
        (
            "time_s,temp_C\n0,22\n,25\n20,30\n",
            "line 3, column time_s: the time is missing",
        ),
        (
            "time_s,temp_C\n0,22\n10,25\n10,30\n",
            "line 4, column time_s: the same time as on line 3",
        ),
        (
            "time_s,temp_C\n0,22\n10,25\n5,30\n",
            "line 4, column time_s: earlier than on line 3",
        ),
        (
            "time_s,temp_C\n0,22\n10,-300\n20,30\n",
            "line 3, column temp_C: -300 is not between absolute zero and 126.85 °C",
        ),
        (
            "time_s,temp_K\n0,295\n10,-4\n20,330\n",
            "(is it in °C? then the header is temp_C)",
        ),
        (
            "time_s,temp_C\n0,22\n10,\"25\n20,30\n",
            "line 3: a quotation mark opens here",
        ),
    ] {
        let faults = faults_of(text);
        assert_eq!(faults.len(), 1, "{text:?}: {faults:?}");
        assert!(faults[0].contains(says), "{} should say {says}", faults[0]);
        assert!(!faults[0].to_lowercase().contains("invalid"));
    }
}

#[test]
fn all_faults_of_a_trace_are_told_at_once_the_first_twenty_and_a_count() {
    let mut text = String::from("time_s,temp_C\n");
    for row in 0..30 {
        text.push_str(&format!("{row},warm\n"));
    }
    let refused = parse_trace("trace.csv", &text).unwrap_err().to_string();
    assert!(refused.starts_with("trace.csv cannot be read: 30 faults\n  line 2, column temp_C"));
    assert!(refused.ends_with("\n  and 10 more"), "{refused}");
}

#[test]
fn text_that_is_not_utf8_is_refused_with_its_line() {
    let folder = std::env::temp_dir().join(format!("heatset-traces-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let path = folder.join("latin.csv");
    std::fs::write(&path, b"time_s,temp_C,note\n0,22,k\xe4lter\n1,23,\n").unwrap();
    let refused = read_trace(&path).unwrap_err().to_string();
    std::fs::remove_dir_all(&folder).unwrap();
    assert!(refused.contains("line 2: a byte stands here"), "{refused}");
    assert!(refused.contains("save the file as UTF-8"), "{refused}");
}

#[test]
fn past_its_ends_a_trace_is_held_and_says_so() {
    let trace = trace_of([(5.0, 300.0), (60.0, 340.0), (300.0, 359.0)]);
    for (time_s, kelvin, reach) in [
        (0.0, 300.0, TraceReach::HeldBeforeFirst),
        (5.0, 300.0, TraceReach::Measured),
        (60.0, 340.0, TraceReach::Measured),
        (300.0, 359.0, TraceReach::Measured),
        (301.0, 359.0, TraceReach::HeldAfterLast),
        (1e9, 359.0, TraceReach::HeldAfterLast),
    ] {
        let at = trace.at(time_s);
        assert_eq!((at.temperature_kelvin, at.reach), (kelvin, reach));
    }
    assert_eq!(trace.at(1e9).rate_kelvin_per_s, 0.0);
}

#[test]
fn a_trace_of_one_reading_or_with_times_that_fall_back_is_refused() {
    let point = |time_s, temperature_kelvin| TracePoint {
        time_s,
        temperature_kelvin,
    };
    for points in [
        vec![],
        vec![point(0.0, 300.0)],
        vec![point(0.0, 300.0), point(0.0, 301.0)],
        vec![point(0.0, 300.0), point(-1.0, 301.0)],
        vec![point(0.0, 300.0), point(f64::NAN, 301.0)],
        vec![point(0.0, 300.0), point(1.0, f64::NAN)],
        vec![point(0.0, 300.0), point(1.0, -1.0)],
        vec![point(0.0, 300.0), point(1.0, 500.0)],
    ] {
        assert!(MeasuredTrace::new(points).is_err());
    }
}

/// A first-order lag scaled to another start and set temperature is the lag between those.
#[test]
fn a_scaled_lag_is_the_lag_to_the_other_temperature() {
    let lag = |start: f64, set: f64, time_s: f64| set - (set - start) * (-time_s / 45.0).exp();
    let times = || (0..80).map(|number| 5.0 * f64::from(number));
    let trace = trace_of(times().map(|time_s| (time_s, lag(295.15, 359.15, time_s))));
    let own = trace.scale(Some(359.15)).unwrap();
    let other = TraceScale {
        start_kelvin: 278.15,
        set_kelvin: 343.15,
    };
    let scaled = trace.scaled(own, other).unwrap();
    for time_s in times() {
        assert_relative_eq!(
            scaled.at(time_s).temperature_kelvin,
            lag(278.15, 343.15, time_s),
            max_relative = 1e-12
        );
    }
    // There and back again, between the readings as well: scaling and interpolating commute.
    let back = scaled.scaled(other, own).unwrap();
    for number in 0..1000 {
        let time_s = 0.39 * f64::from(number);
        assert_abs_diff_eq!(
            back.at(time_s).temperature_kelvin,
            trace.at(time_s).temperature_kelvin,
            epsilon = 1e-9
        );
    }
}

#[test]
fn the_plateau_is_found_before_the_cooling_and_an_unfinished_rise_is_told() {
    let heat = |time_s: f64| 359.15 - 64.0 * (-time_s / 40.0).exp();
    let cooled = trace_of((0..140).map(|number| {
        let time_s = 5.0 * f64::from(number);
        let kelvin = if time_s <= 420.0 {
            heat(time_s)
        } else {
            295.15 + 64.0 * (-(time_s - 420.0) / 90.0).exp()
        };
        (time_s, kelvin)
    }));
    let plateau = cooled.plateau();
    assert_abs_diff_eq!(plateau.temperature_kelvin, 359.15, epsilon = 0.01);
    assert!(plateau.levelled);
    // Cooling leaves the nearest 5 % after 90 s ln(1/0.95) = 4.6 s: not one reading of it counts.
    assert_eq!(plateau.heating_end_s, 420.0);

    let short = trace_of((0..13).map(|number| {
        let time_s = 5.0 * f64::from(number);
        (time_s, heat(time_s))
    }));
    assert!(!short.plateau().levelled);
}

#[test]
fn a_trace_that_hardly_changes_can_be_neither_scaled_nor_fitted() {
    let flat = trace_of([(0.0, 300.0), (10.0, 300.4), (20.0, 300.3)]);
    assert!(matches!(
        flat.scale(None),
        Err(ThermalInputError::NoChange { .. })
    ));
    assert!(matches!(
        fit_lag(&flat, None),
        Err(ThermalInputError::NoChange { .. })
    ));
}

/// scipy 1.17.1 `optimize.curve_fit` on the same trace, printed by tests/references/lag_fit.py.
#[test]
fn the_fitted_lag_and_its_standard_errors_are_scipys() {
    let read = parse_trace("lag_trace.csv", include_str!("data/lag_trace.csv")).unwrap();
    assert!(read.invented);
    let set = Some(359.15);
    for (set, start, tau, set_fit, start_fit) in [
        (
            set,
            LagStart::FirstReading,
            (52.0687979, 0.260473363),
            None,
            None,
        ),
        (
            None,
            LagStart::FirstReading,
            (51.8499157, 0.362293809),
            Some((359.036965, 0.129833535)),
            None,
        ),
        (
            set,
            LagStart::Fitted,
            (52.1526049, 0.355974868),
            None,
            Some((295.245262, 0.27538517)),
        ),
        (
            None,
            LagStart::Fitted,
            (51.898526, 0.473211512),
            Some((359.041528, 0.132940928)),
            Some((295.195498, 0.283872984)),
        ),
    ] {
        let fit = fit_lag_from(&read.trace, set, start).unwrap();
        assert_relative_eq!(fit.time_constant_s, tau.0, max_relative = 1e-7);
        assert_relative_eq!(fit.time_constant_se_s, tau.1, max_relative = 1e-5);
        assert_eq!(fit.set_se_kelvin.is_some(), set_fit.is_some());
        assert_eq!(fit.start_se_kelvin.is_some(), start_fit.is_some());
        if let Some((kelvin, se)) = set_fit {
            assert_relative_eq!(fit.set_kelvin, kelvin, max_relative = 1e-8);
            assert_relative_eq!(fit.set_se_kelvin.unwrap(), se, max_relative = 1e-5);
        }
        if let Some((kelvin, se)) = start_fit {
            assert_relative_eq!(fit.start_kelvin, kelvin, max_relative = 1e-8);
            assert_relative_eq!(fit.start_se_kelvin.unwrap(), se, max_relative = 1e-5);
        }
    }
}

#[derive(Deserialize)]
struct Certified {
    name: String,
    certified: Vec<f64>,
    certified_sd: Vec<f64>,
    residual_sd: f64,
    data: std::collections::HashMap<String, Vec<f64>>,
}

/// NIST StRD Misra1a and BoxBOD, y = b1 (1 - exp(-b2 x)): a lag from a known start. Shifted by
/// 100 K, which moves the set temperature alone. tau = 1/b2, so its standard error is that of b2
/// over b2 squared. Certified values: <https://www.itl.nist.gov/div898/strd/nls/nls_main.shtml>.
#[test]
fn certified_regressions_of_the_same_form_are_met_to_eight_digits() {
    let all: Vec<Certified> = serde_json::from_str(include_str!("data/nist_strd.json")).unwrap();
    for name in ["Misra1a", "BoxBOD"] {
        let set = all.iter().find(|set| set.name == name).unwrap();
        let trace = trace_of(
            set.data["x"]
                .iter()
                .zip(&set.data["y"])
                .map(|(x, y)| (*x, 100.0 + y)),
        );
        let fit = fit_lag_from(&trace, None, LagStart::KnownKelvin(100.0)).unwrap();
        let [b1, b2] = set.certified[..] else {
            panic!("{name}");
        };
        assert_relative_eq!(fit.time_constant_s, 1.0 / b2, max_relative = 1e-8);
        assert_relative_eq!(fit.set_kelvin - 100.0, b1, max_relative = 1e-8);
        assert_relative_eq!(
            fit.time_constant_se_s,
            set.certified_sd[1] / (b2 * b2),
            max_relative = 1e-7
        );
        assert_relative_eq!(
            fit.set_se_kelvin.unwrap(),
            set.certified_sd[0],
            max_relative = 1e-7
        );
        assert_relative_eq!(fit.residual_sd_kelvin, set.residual_sd, max_relative = 1e-8);
    }
}

#[test]
fn a_cooling_part_does_not_spoil_the_lag() {
    let trace = trace_of((0..140).map(|number| {
        let time_s = 5.0 * f64::from(number);
        let kelvin = if time_s <= 420.0 {
            359.15 - 64.0 * (-time_s / 40.0).exp()
        } else {
            295.15 + 64.0 * (-(time_s - 420.0) / 90.0).exp()
        };
        (time_s, kelvin)
    }));
    let fit = fit_lag(&trace, None).unwrap();
    assert_relative_eq!(fit.time_constant_s, 40.0, max_relative = 1e-3);
    assert_eq!(fit.used_until_s, 420.0);
}

#[test]
fn readings_before_the_insertion_do_not_enter_the_lag() {
    let trace = trace_of((-10..80).map(|number| {
        let time_s = 5.0 * f64::from(number);
        (time_s, 359.15 - 64.0 * (-time_s.max(0.0) / 40.0).exp())
    }));
    let fit = fit_lag(&trace, None).unwrap();
    assert_relative_eq!(fit.time_constant_s, 40.0, max_relative = 1e-6);
    assert_abs_diff_eq!(fit.start_kelvin, 295.15, epsilon = 1e-9);
}

#[test]
fn a_straight_rise_has_no_time_constant() {
    let trace = trace_of((0..20).map(|number| {
        let time_s = f64::from(number);
        (time_s, 300.0 + time_s)
    }));
    let refused = fit_lag(&trace, None).unwrap_err().to_string();
    assert!(refused.contains("record until it levels off"), "{refused}");
}

proptest! {
    /// Any lag, sampled without scatter, is found.
    #[test]
    fn a_sampled_lag_gives_itself_back(
        tau in 3.0..200.0_f64,
        start in 275.0..300.0_f64,
        set in 330.0..372.0_f64,
        step in 1.0..8.0_f64,
    ) {
        let trace = trace_of((0..120).map(|number| {
            let time_s = step * f64::from(number);
            (time_s, set - (set - start) * (-time_s / tau).exp())
        }));
        let fit = fit_lag(&trace, None).unwrap();
        prop_assert!((fit.time_constant_s / tau - 1.0).abs() < 1e-6);
        prop_assert!((fit.set_kelvin - set).abs() < 1e-5);
        prop_assert!(fit.rms_kelvin < 1e-6);
    }

    /// No value between two readings lies outside them.
    #[test]
    fn interpolation_never_overshoots(temperatures in prop::collection::vec(275.0..372.0_f64, 2..20)) {
        let trace = trace_of((0..).map(f64::from).zip(temperatures.iter().copied()));
        for (number, pair) in temperatures.windows(2).enumerate() {
            for part in 0..=10 {
                let at = trace.at(number as f64 + f64::from(part) / 10.0).temperature_kelvin;
                let (low, high) = (pair[0].min(pair[1]), pair[0].max(pair[1]));
                prop_assert!(at >= low - 1e-9 && at <= high + 1e-9);
            }
        }
    }

    /// Whatever bytes a file holds, it is read or refused.
    #[test]
    fn no_text_brings_the_reader_down(text in "[time_sCK,;\t\"#0-9.\n\r -]{0,80}") {
        let _ = parse_trace("t", &text);
        let _ = parse_trace("t", &format!("time_s,temp_C\n{text}"));
    }
}
