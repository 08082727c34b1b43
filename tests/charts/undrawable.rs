//! Values that cannot be drawn.

use crate::samples::{
    batches, contributions, firmness, force, history, iso_force, rates, residuals, svg, syringes,
    window,
};
use crate::svg::{all_text, group, plot_rectangle};
use heatset::chart::{
    AxisKind, BatchPoint, Chart, ChartError, ChartSize, ContributionsChart, CurvePoint,
    FirmnessChart, FirmnessSeries, ForceAxis, ForceBand, ForceChart, ForceLimit, ForcePoint,
    HistoryPoint, IsoForceChart, IsoForcePoint, MeasuredRange, OutsidePoint, ProbabilityPoint,
    RateLinePoint, RatePoint, RatesChart, ReadingBand, ReadingPoint, ResidualAgainst,
    ResidualPoint, ResidualsChart, SyringeLevel, SyringePoint, SyringesChart, TemperatureSpan,
    TimeSpan, WindowChart, WindowMark,
};
use proptest::prelude::*;

#[test]
fn a_chart_without_anything_to_draw_says_so() {
    let charts: [Box<dyn Chart>; 8] = [
        Box::new(FirmnessChart::default()),
        Box::new(ForceChart::default()),
        Box::new(RatesChart::default()),
        Box::new(ResidualsChart::default()),
        Box::new(SyringesChart::default()),
        Box::new(WindowChart::default()),
        Box::new(ContributionsChart::default()),
        Box::new(IsoForceChart::default()),
    ];
    for chart in charts {
        let problem = chart.draw_svg(ChartSize::default()).unwrap_err();
        assert!(
            matches!(problem, ChartError::NothingToDraw { .. }),
            "{problem}"
        );
        assert!(problem.to_string().contains("nothing to draw"), "{problem}");
    }
}

#[test]
fn points_that_the_axes_cannot_show_are_counted_at_the_foot() {
    let mut chart = firmness();
    chart.time_axis = AxisKind::Log;
    chart.series[0].points[0].time_s = 0.0;
    chart.series[0].points[1].reading_in_unit = -1.0;
    chart.series[1].points[0].reading_in_unit = f64::NAN;
    let svg = svg(&chart);
    let text = all_text(&svg);
    assert!(
        text.contains("Not drawn: 2 points at zero or less"),
        "{text}"
    );
    assert!(text.contains("1 point without a finite value"), "{text}");
    let circles = group(&svg, "points")
        .iter()
        .filter(|mark| mark.tag == "circle")
        .count();
    assert_eq!(
        circles,
        2 * 2,
        "two of four left in the first series, each drawn twice"
    );
}

#[test]
fn a_band_that_reaches_below_zero_is_cut_at_the_foot_of_a_logarithmic_axis() {
    let mut chart = firmness();
    chart.words.note = String::new();
    for row in &mut chart.series[0].band {
        row.low_in_unit = -1.0;
    }
    let svg = svg(&chart);
    let bottom = plot_rectangle(&svg)[3];
    let lowest = group(&svg, "bands")[0]
        .points()
        .iter()
        .map(|(_, y)| *y)
        .fold(0.0, f64::max);
    assert!(
        (lowest - bottom).abs() <= 1.0,
        "band down to {lowest}, axis at {bottom}"
    );
}

fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => -1e3..1e3_f64,
        2 => 1e-6..1e6_f64,
        1 => any::<f64>(),
        1 => Just(f64::NAN),
        1 => Just(f64::INFINITY),
        1 => Just(f64::NEG_INFINITY),
        1 => Just(0.0),
        1 => Just(f64::MAX),
        1 => Just(f64::MIN_POSITIVE),
    ]
}

fn any_axis() -> impl Strategy<Value = AxisKind> {
    prop_oneof![Just(AxisKind::Linear), Just(AxisKind::Log)]
}

/// Drawn or refused; if drawn, every coordinate is a number in the picture.
fn drawn_soundly(chart: &dyn Chart) {
    let size = ChartSize::parse("300x240").unwrap();
    match chart.draw_svg(size) {
        Ok(svg) => {
            for class in ["zones", "bands", "curves", "points"] {
                for mark in group(&svg, class) {
                    let spots = if mark.tag == "circle" {
                        vec![(mark.number("cx"), mark.number("cy"))]
                    } else {
                        mark.points()
                    };
                    // Markers and error bars at the rim reach a little over the plot.
                    for (x, y) in spots {
                        assert!(
                            (-50.0..=3050.0).contains(&x) && (-50.0..=2450.0).contains(&y),
                            "{class}: {x}, {y}"
                        );
                    }
                }
            }
            assert!(!svg.contains("NaN"));
        }
        Err(ChartError::NothingToDraw { .. }) => {}
        Err(other) => panic!("{other}"),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn no_number_makes_a_firmness_chart_panic(
        numbers in prop::collection::vec((any_number(), any_number(), any_number()), 0..12),
        time_axis in any_axis(), reading_axis in any_axis(), from_s in any_number(), to_s in any_number(),
    ) {
        let series = FirmnessSeries {
            label: "80 °C".to_string(),
            points: numbers.iter().map(|(time_s, reading_in_unit, _)| ReadingPoint { time_s: *time_s, reading_in_unit: *reading_in_unit, used: true }).collect(),
            curve: numbers.iter().map(|(time_s, _, reading_in_unit)| CurvePoint { time_s: *time_s, reading_in_unit: *reading_in_unit }).collect(),
            band: numbers.iter().map(|(time_s, low_in_unit, high_in_unit)| ReadingBand { time_s: *time_s, low_in_unit: *low_in_unit, high_in_unit: *high_in_unit }).collect(),
        };
        drawn_soundly(&FirmnessChart { series: vec![series], time_axis, reading_axis, measured_time: Some(TimeSpan { from_s, to_s }), ..firmness() });
    }

    #[test]
    fn no_number_makes_a_force_chart_panic(
        numbers in prop::collection::vec((any_number(), any_number(), any_number()), 0..12),
        time_axis in any_axis(), logarithmic in any::<bool>(), up_to_n in any_number(), zone_n in any_number(), limit_n in any_number(),
    ) {
        let mut chart = force();
        chart.time_axis = time_axis;
        chart.force_axis = if logarithmic { ForceAxis::Log } else { ForceAxis::Linear { up_to_n: Some(up_to_n) } };
        chart.zones[0].to_n = zone_n;
        chart.limit = Some(ForceLimit { plunger_force_n: limit_n, label: "limit".to_string() });
        chart.measured_time = Some(TimeSpan { from_s: zone_n, to_s: limit_n });
        chart.lines[0].points = numbers.iter().map(|(time_s, force_n, _)| ForcePoint { time_s: *time_s, plunger_force_n: *force_n }).collect();
        chart.lines[0].band = numbers.iter().map(|(time_s, low_n, high_n)| ForceBand { time_s: *time_s, low_n: *low_n, high_n: *high_n }).collect();
        drawn_soundly(&chart);
    }

    #[test]
    fn no_number_makes_a_rates_chart_panic(numbers in prop::collection::vec((any_number(), any_number(), any_number(), any_number()), 0..8)) {
        let mut chart = rates();
        chart.points = numbers.iter().map(|(temperature_kelvin, rate_per_s, low, high)| RatePoint {
            label: "x".to_string(), temperature_kelvin: *temperature_kelvin, rate_per_s: *rate_per_s, low_per_s: Some(*low), high_per_s: Some(*high), used: true,
        }).collect();
        chart.line = numbers.iter().map(|(temperature_kelvin, rate_per_s, low, high)| RateLinePoint {
            temperature_kelvin: *temperature_kelvin, rate_per_s: *rate_per_s, low_per_s: Some(*low), high_per_s: Some(*high),
        }).collect();
        drawn_soundly(&chart);
    }

    #[test]
    fn no_number_makes_a_residuals_chart_panic(
        numbers in prop::collection::vec((any_number(), any_number()), 0..20), axis in any_axis(), sd in any_number(), fitted in any::<bool>(),
    ) {
        let mut chart = residuals();
        chart.residual_sd_in_unit = Some(sd);
        chart.against = if fitted {
            ResidualAgainst::FittedReading { name: "fitted viscosity".to_string(), unit: "Pa.s".to_string(), axis }
        } else {
            ResidualAgainst::HeatTime { axis }
        };
        chart.series[0].points = numbers.iter().enumerate().map(|(row, (place_in_unit, residual_in_unit))| ResidualPoint {
            place_in_unit: *place_in_unit, residual_in_unit: *residual_in_unit, row, influential: row % 3 == 0, used: row % 2 == 0,
        }).collect();
        drawn_soundly(&chart);
    }

    #[test]
    fn no_number_makes_a_history_chart_panic(
        numbers in prop::collection::vec((any_number(), any_number(), any_number(), any_number()), 0..12),
        from_s in any_number(), to_s in any_number(), sets in any::<bool>(),
    ) {
        let points: Vec<HistoryPoint> = numbers.iter().map(|(time_s, core, mean, edge)| HistoryPoint {
            time_s: *time_s, core_in_unit: *core, mean_in_unit: *mean, edge_in_unit: *edge,
        }).collect();
        let mut chart = history();
        chart.outside = numbers.iter().map(|(time_s, kelvin, ..)| OutsidePoint { time_s: *time_s, temperature_in_unit: *kelvin }).collect();
        chart.stages[1].span = TimeSpan { from_s, to_s };
        chart.conversions = if sets { points.clone() } else { Vec::new() };
        chart.temperatures = points;
        drawn_soundly(&chart);
    }

    #[test]
    fn no_number_makes_a_chart_of_batches_panic(
        numbers in prop::collection::vec((any_number(), any_number(), any_number(), any::<u64>()), 0..12),
        limit in any_number(), decision in any_number(),
    ) {
        let mut chart = batches();
        chart.limits_in_unit = [limit, -limit];
        chart.decision_in_unit = decision;
        chart.points = numbers.iter().map(|(deviation, average, sum, entry)| BatchPoint {
            entry: *entry,
            deviation_in_unit: *deviation,
            average_in_unit: *average,
            average_limits_in_unit: [*sum, *deviation],
            upper_sum_in_unit: *sum,
            lower_sum_in_unit: *average,
            ..chart.points[11].clone()
        }).collect();
        drawn_soundly(&chart);
    }

    #[test]
    fn no_number_makes_a_chart_of_syringes_panic(
        numbers in prop::collection::vec((any_number(), any_number(), any_number()), 0..12),
        value_axis in any_axis(), top in any_number(), level in any_number(), reached in any_number(),
    ) {
        let mut chart = syringes();
        chart.value_axis = value_axis;
        chart.up_to_in_unit = Some(top);
        chart.level = Some(SyringeLevel { value_in_unit: level, label: "level".to_string() });
        chart.measured_time = Some(TimeSpan { from_s: level, to_s: top });
        chart.lines[0].reached_s = Some(reached);
        chart.lines[0].points = numbers.iter().map(|(time_s, value_in_unit, _)| SyringePoint { time_s: *time_s, value_in_unit: *value_in_unit }).collect();
        chart.lines[1].at_once = numbers.iter().map(|(time_s, _, value_in_unit)| SyringePoint { time_s: *time_s, value_in_unit: *value_in_unit }).collect();
        drawn_soundly(&chart);
    }

    #[test]
    fn no_number_makes_a_chart_of_the_window_panic(
        numbers in prop::collection::vec((any_number(), any_number(), any_number()), 0..12),
        aim_s in any_number(), end_s in any_number(), from_s in any_number(), to_s in any_number(),
    ) {
        let mut chart = window();
        chart.passing = numbers.iter().map(|(time_s, probability, _)| ProbabilityPoint { time_s: *time_s, probability: *probability }).collect();
        chart.firmness = numbers.iter().map(|(time_s, _, probability)| ProbabilityPoint { time_s: *time_s, probability: *probability }).collect();
        chart.level = end_s;
        chart.window = Some(TimeSpan { from_s: aim_s, to_s: end_s });
        chart.aim = Some(WindowMark { time_s: aim_s, words: "aim".to_string() });
        chart.ends[0].time_s = end_s;
        chart.boxed_words = "What helps: a wider needle.".to_string();
        chart.measured_time = Some(TimeSpan { from_s, to_s });
        drawn_soundly(&chart);
    }

    #[test]
    fn no_number_makes_a_chart_of_contributions_panic(shares in prop::collection::vec(any_number(), 4)) {
        let mut chart = contributions();
        for (bar, share) in chart.bars.iter_mut().zip(shares) {
            bar.share = Some(share);
        }
        drawn_soundly(&chart);
    }

    #[test]
    fn no_number_makes_a_chart_of_equal_forces_panic(
        numbers in prop::collection::vec((any_number(), any_number(), any_number()), 0..12), time_axis in any_axis(),
        low in any_number(), high in any_number(), from_s in any_number(), to_s in any_number(), extrapolated in any::<bool>(),
    ) {
        let mut chart = iso_force();
        chart.words.extrapolated = extrapolated;
        chart.time_axis = time_axis;
        let points: Vec<IsoForcePoint> = numbers.iter().map(|(temperature_celsius, time_s, _)| IsoForcePoint { temperature_celsius: *temperature_celsius, time_s: *time_s }).collect();
        let others: Vec<IsoForcePoint> = numbers.iter().map(|(temperature_celsius, _, time_s)| IsoForcePoint { temperature_celsius: *temperature_celsius, time_s: *time_s }).collect();
        chart.contours[0].points = points.clone();
        chart.bands[0].to = points.clone();
        (chart.bands[1].from, chart.bands[1].to) = (points, others);
        let temperatures = TemperatureSpan { from_celsius: low, to_celsius: high };
        let times = TimeSpan { from_s, to_s };
        drawn_soundly(&IsoForceChart { measured: Some(MeasuredRange { temperatures, times }), ..chart.clone() });
        drawn_soundly(&IsoForceChart { temperatures, times, ..chart });
    }
}
