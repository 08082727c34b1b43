//! Ticks are round, and take the unit that suits.

use crate::samples::svg;
use crate::svg::{by_ticks, group, texts, ticks};
use heatset::chart::{AxisKind, FirmnessChart, FirmnessSeries, ReadingPoint};
use proptest::prelude::*;

/// 1, 2 or 5 times a power of ten.
fn is_round_step(step: f64) -> bool {
    let lead = step / 10_f64.powf(step.log10().floor());
    [1.0, 2.0, 5.0, 10.0]
        .iter()
        .any(|round| (lead - round).abs() < 1e-6)
}

fn ticks_are_round(values: &[f64], kind: AxisKind) {
    assert!(values.len() >= 2, "too few ticks: {values:?}");
    let equal_steps = |values: &[f64]| {
        let step = values[1] - values[0];
        is_round_step(step)
            && values
                .windows(2)
                .all(|pair| (pair[1] - pair[0] - step).abs() < 1e-6 * step.abs())
            && values
                .iter()
                .all(|value| ((value / step).round() - value / step).abs() < 1e-6)
    };
    let leads_are_round = |values: &[f64]| {
        values.iter().all(|value| {
            let lead = value / 10_f64.powf((value.log10() + 1e-9).floor());
            [1.0, 2.0, 3.0, 5.0]
                .iter()
                .any(|round| (lead - round).abs() < 1e-6)
        })
    };
    match kind {
        AxisKind::Linear => assert!(equal_steps(values), "{values:?}"),
        AxisKind::Log => assert!(leads_are_round(values) || equal_steps(values), "{values:?}"),
    }
}

fn chart_over(low: f64, high: f64, reading_axis: AxisKind) -> FirmnessChart {
    let points = [(10.0, low), (500.0, high)]
        .map(|(time_s, reading_in_unit)| ReadingPoint {
            time_s,
            reading_in_unit,
            used: true,
        })
        .to_vec();
    FirmnessChart {
        reading_axis,
        series: vec![FirmnessSeries {
            label: "80 °C".to_string(),
            points,
            ..FirmnessSeries::default()
        }],
        ..FirmnessChart::default()
    }
}

proptest! {
    #[test]
    fn ticks_of_a_linear_axis_are_round(low in -1e3..1e3_f64, power in -1..7_i32, lead in 1.0..10.0_f64) {
        let chart = chart_over(low, low + lead * 10_f64.powi(power), AxisKind::Linear);
        let values: Vec<f64> = ticks(&group(&svg(&chart), "y-axis"), 1).iter().map(|tick| tick.0).collect();
        ticks_are_round(&values, AxisKind::Linear);
    }

    #[test]
    fn ticks_of_a_logarithmic_axis_are_round(low_power in -9.0..5.0_f64, decades in 0.05..9.0_f64) {
        let chart = chart_over(10_f64.powf(low_power), 10_f64.powf(low_power + decades), AxisKind::Log);
        let found = ticks(&group(&svg(&chart), "y-axis"), 1);
        let values: Vec<f64> = found.iter().map(|tick| tick.0).collect();
        ticks_are_round(&values, AxisKind::Log);
        // Labels are 20 pixels high: none nearer than that.
        prop_assert!(found.windows(2).all(|pair| pair[0].1 - pair[1].1 >= 200.0), "{:?}", found);
    }
}

#[test]
fn a_logarithmic_axis_under_two_decades_names_two_and_five() {
    let named = texts(&group(
        &svg(&chart_over(0.15, 9.0, AxisKind::Log)),
        "y-axis",
    ));
    for label in ["0.2", "0.5", "1", "2", "5"] {
        assert!(
            named.iter().any(|text| text == label),
            "{label} in {named:?}"
        );
    }
}

#[test]
fn a_logarithmic_axis_names_the_round_number_at_its_end() {
    // 0.001 is the least reading: the axis must not lose its label.
    let named = texts(&group(
        &svg(&chart_over(0.001, 10.0, AxisKind::Log)),
        "y-axis",
    ));
    assert!(
        named.iter().any(|text| text == "0.001") && named.iter().any(|text| text == "10"),
        "{named:?}"
    );
}

#[test]
fn the_time_axis_takes_the_unit_that_suits_its_range() {
    for (last_s, unit, whole) in [
        (120.0, "s", 120.0),
        (1200.0, "min", 20.0),
        (36_000.0, "h", 10.0),
    ] {
        let mut chart = chart_over(1.0, 2.0, AxisKind::Linear);
        chart.series[0].points[1].time_s = last_s;
        let svg = svg(&chart);
        let axis = group(&svg, "x-axis");
        assert!(
            texts(&axis).contains(&format!("heat time ({unit})")),
            "{:?}",
            texts(&axis)
        );
        let x_ticks = ticks(&axis, 0);
        ticks_are_round(
            &x_ticks.iter().map(|tick| tick.0).collect::<Vec<_>>(),
            AxisKind::Linear,
        );
        let circle = group(&svg, "points")
            .into_iter()
            .rfind(|mark| mark.tag == "circle")
            .unwrap();
        assert!((circle.number("cx") - by_ticks(&x_ticks, whole, AxisKind::Linear)).abs() <= 2.0);
    }
}
