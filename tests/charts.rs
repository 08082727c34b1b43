//! Charts, checked by reading the pictures back: the SVG as text, the PNG through a decoder.

#![cfg(feature = "charts")]
#![allow(clippy::unwrap_used, clippy::panic)]

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use heatset::chart::{
    AxisKind, Chart, ChartError, ChartFormat, ChartSize, ChartWords, Colour, CurvePoint,
    FirmnessChart, FirmnessSeries, ForceAxis, ForceBand, ForceChart, ForceLimit, ForceLine,
    ForcePoint, ForceZone, HistoryChart, HistoryPoint, HistoryStage, OutsidePoint, RateLinePoint,
    RatePoint, RatesChart, ReadingBand, ReadingPoint, ResidualAgainst, ResidualPoint,
    ResidualSeries, ResidualsChart, TimeSpan,
};
use proptest::prelude::*;

// ---------------------------------------------------------------- reading an SVG back

/// One mark of the SVG: its tag, its attributes, its text.
#[derive(Debug, Clone)]
struct Element {
    tag: String,
    attributes: BTreeMap<String, String>,
    text: String,
}

impl Element {
    fn number(&self, name: &str) -> f64 {
        self.attributes[name].parse().unwrap()
    }

    /// Corners of a polyline or polygon.
    fn points(&self) -> Vec<(f64, f64)> {
        self.attributes["points"]
            .split_whitespace()
            .map(|pair| {
                let (x, y) = pair.split_once(',').unwrap();
                (x.parse().unwrap(), y.parse().unwrap())
            })
            .collect()
    }
}

/// The marks of the group of a class, in the order they are drawn.
fn group(svg: &str, class: &str) -> Vec<Element> {
    let Some(start) = svg.find(&format!("<g class=\"{class}\"")) else {
        return Vec::new();
    };
    let body = &svg[start..];
    let body = &body[body.find('>').unwrap() + 1..body.find("</g>").unwrap()];
    body.lines()
        .filter(|line| line.starts_with('<'))
        .map(element)
        .collect()
}

fn element(line: &str) -> Element {
    let end = line.find('>').unwrap();
    let head = line[1..end].trim_end_matches('/');
    let (tag, mut rest) = head.split_once(' ').unwrap();
    let mut attributes = BTreeMap::new();
    while let Some((name, after)) = rest.trim_start().split_once("=\"") {
        let (value, after) = after.split_once('"').unwrap();
        attributes.insert(name.to_string(), value.to_string());
        rest = after;
    }
    let text = line[end + 1..]
        .split("</")
        .next()
        .unwrap_or_default()
        .to_string();
    Element {
        tag: tag.to_string(),
        attributes,
        text,
    }
}

fn texts(elements: &[Element]) -> Vec<String> {
    elements
        .iter()
        .filter(|one| one.tag == "text")
        .map(|one| one.text.clone())
        .collect()
}

/// Labelled ticks of an axis group: what the label says, and where its little line stands.
/// `axis` 0 takes x, 1 takes y. The first line is the axis itself; a label follows its tick.
fn ticks(elements: &[Element], axis: usize) -> Vec<(f64, f64)> {
    let mut found = Vec::new();
    for pair in elements[1..].windows(2) {
        if pair[0].tag == "polyline" && pair[1].tag == "text" {
            let (x, y) = pair[0].points()[0];
            if let Some(value) = number_said(&pair[1].text) {
                found.push((value, if axis == 0 { x } else { y }));
            }
        }
    }
    found
}

/// Reads `0.5`, `−2`, `10⁻³`, `2×10⁵`.
fn number_said(label: &str) -> Option<f64> {
    let plain: String = label
        .chars()
        .map(|letter| match letter {
            '−' | '⁻' => '-',
            '⁰' => '0',
            '¹' => '1',
            '²' => '2',
            '³' => '3',
            '⁴' => '4',
            '⁵' => '5',
            '⁶' => '6',
            '⁷' => '7',
            '⁸' => '8',
            '⁹' => '9',
            other => other,
        })
        .collect();
    let raised = |letter: char| "⁻⁰¹²³⁴⁵⁶⁷⁸⁹".contains(letter);
    if let Some((lead, _)) = label.split_once('×') {
        let power: String = label.chars().filter(|letter| raised(*letter)).collect();
        return Some(number_said(lead)? * 10_f64.powf(number_said(&power)?));
    }
    if label.starts_with("10") && label.chars().skip(2).any(raised) {
        return plain[2..]
            .parse::<f64>()
            .ok()
            .map(|power| 10_f64.powf(power));
    }
    plain.parse().ok()
}

/// Where a value lies by the first and the last tick, with the distance between them read as
/// equal steps (or as equal ratios).
fn by_ticks(ticks: &[(f64, f64)], value: f64, kind: AxisKind) -> f64 {
    let scale = |number: f64| {
        if kind == AxisKind::Log {
            number.ln()
        } else {
            number
        }
    };
    let (first, last) = (ticks[0], ticks[ticks.len() - 1]);
    let share = (scale(value) - scale(first.0)) / (scale(last.0) - scale(first.0));
    first.1 + share * (last.1 - first.1)
}

/// Left, top, right, bottom of the plot by its two axes.
fn plot_rectangle(svg: &str) -> [f64; 4] {
    let along = group(svg, "x-axis")[0].points();
    let up = group(svg, "y-axis")[0].points();
    [along[0].0, up[1].1, along[1].0, along[0].1]
}

// ---------------------------------------------------------------- charts to draw

fn words() -> ChartWords {
    ChartWords {
        title: "Sets half-way in 5 min 12 s at 80 °C".to_string(),
        subtitle: "bench-a.json: 2 lots, 24 readings".to_string(),
        note: "Bench and teaching aid, not a medical device.\nLocal codes rule.".to_string(),
        ..ChartWords::default()
    }
}

fn firmness() -> FirmnessChart {
    let series = |label: &str, factor: f64| FirmnessSeries {
        label: label.to_string(),
        points: [60.0, 240.0, 600.0, 1200.0]
            .map(|time_s| ReadingPoint {
                time_s,
                reading_in_unit: factor * time_s,
                used: true,
            })
            .to_vec(),
        curve: (0..=50)
            .map(|step| f64::from(step) * 24.0)
            .map(|time_s| CurvePoint {
                time_s,
                reading_in_unit: factor * (time_s + 1.0),
            })
            .collect(),
        band: (0..=50)
            .map(|step| f64::from(step) * 24.0)
            .map(|time_s| ReadingBand {
                time_s,
                low_in_unit: 0.8 * factor * (time_s + 1.0),
                high_in_unit: 1.25 * factor * (time_s + 1.0),
            })
            .collect(),
    };
    FirmnessChart {
        words: words(),
        series: vec![series("80 °C", 1e-4), series("86 °C", 1e-3)],
        ..FirmnessChart::default()
    }
}

fn line(end_label: &str, hub_colour: Colour, newton_per_s: f64) -> ForceLine {
    let times_s = (0..=100).map(|step| f64::from(step) * 12.0);
    let force_n = |time_s: f64| 2.0 + newton_per_s * time_s;
    ForceLine {
        label: format!("{end_label} x 13 mm"),
        end_label: end_label.to_string(),
        hub_colour,
        points: times_s
            .clone()
            .map(|time_s| ForcePoint {
                time_s,
                plunger_force_n: force_n(time_s),
            })
            .collect(),
        band: times_s
            .map(|time_s| ForceBand {
                time_s,
                low_n: 0.8 * force_n(time_s),
                high_n: 1.3 * force_n(time_s),
            })
            .collect(),
    }
}

const YELLOW: Colour = Colour::new(0xF5, 0xD0, 0x00);
const WHITE_HUB: Colour = Colour::new(0xF4, 0xF4, 0xF0);
const RED: Colour = Colour::new(0xD2, 0x20, 0x2F);

fn force() -> ForceChart {
    ForceChart {
        words: words(),
        time_name: "heat time at 86 °C".to_string(),
        zones: vec![ForceZone {
            from_n: 0.0,
            to_n: 12.0,
            words: "easy, under 12 N".to_string(),
            colour: Colour::new(0, 158, 115),
        }],
        limit: Some(ForceLimit {
            plunger_force_n: 20.0,
            label: "limit asked 20 N".to_string(),
        }),
        lines: vec![
            line("27G", RED, 0.005),
            line("30G", YELLOW, 0.02),
            line("31G", WHITE_HUB, 0.2),
        ],
        ..ForceChart::default()
    }
}

fn rates() -> RatesChart {
    let rate = |kelvin: f64| (-20.0 - 30_000.0 * (1.0 / kelvin - 1.0 / 353.15) + 14.0_f64).exp();
    RatesChart {
        words: words(),
        activation_energy_words: "activation energy 249 kJ/mol\n(240 to 258)".to_string(),
        points: [70.0, 75.0, 80.0, 86.0, 90.0]
            .map(|celsius: f64| RatePoint {
                label: format!("{celsius} °C"),
                temperature_kelvin: celsius + 273.15,
                rate_per_s: rate(celsius + 273.15),
                low_per_s: Some(0.9 * rate(celsius + 273.15)),
                high_per_s: Some(1.1 * rate(celsius + 273.15)),
                used: true,
            })
            .to_vec(),
        line: (0..=20)
            .map(|step| 343.15 + f64::from(step))
            .map(|kelvin| RateLinePoint {
                temperature_kelvin: kelvin,
                rate_per_s: rate(kelvin),
                low_per_s: Some(0.95 * rate(kelvin)),
                high_per_s: Some(1.05 * rate(kelvin)),
            })
            .collect(),
        ..RatesChart::default()
    }
}

fn residuals() -> ResidualsChart {
    let residual_in_unit = [0.05, -0.12, 0.08, -0.03];
    ResidualsChart {
        words: words(),
        residual_name: "residual of ln viscosity".to_string(),
        residual_sd_in_unit: Some(0.1),
        series: vec![ResidualSeries {
            label: "80 °C".to_string(),
            points: [30.0, 120.0, 600.0, 1200.0]
                .into_iter()
                .zip(residual_in_unit)
                .enumerate()
                .map(|(index, (place_in_unit, residual_in_unit))| ResidualPoint {
                    place_in_unit,
                    residual_in_unit,
                    row: index + 16,
                    influential: index == 1,
                    used: true,
                })
                .collect(),
        }],
        ..ResidualsChart::default()
    }
}

fn history() -> HistoryChart {
    let outside = [(0.0, 90.0), (360.0, 90.0), (360.0, 22.0), (600.0, 22.0)];
    HistoryChart {
        words: words(),
        temperatures: (0..=20)
            .map(|step| f64::from(step) * 30.0)
            .map(|time_s| HistoryPoint {
                time_s,
                core_in_unit: 22.0 + 0.05 * time_s,
                mean_in_unit: 22.0 + 0.07 * time_s,
                edge_in_unit: 22.0 + 0.1 * time_s,
            })
            .collect(),
        outside: outside
            .map(|(time_s, temperature_in_unit)| OutsidePoint {
                time_s,
                temperature_in_unit,
            })
            .to_vec(),
        stages: [
            (0.0, 360.0, "block 90 °C", false),
            (360.0, 600.0, "air 22 °C", true),
        ]
        .map(|(from_s, to_s, label, in_air)| HistoryStage {
            span: TimeSpan { from_s, to_s },
            label: label.to_string(),
            in_air,
        })
        .to_vec(),
        ..HistoryChart::default()
    }
}

/// With the conversion below.
fn history_of_setting() -> HistoryChart {
    HistoryChart {
        conversions: (0..=20)
            .map(|step| f64::from(step) * 30.0)
            .map(|time_s| HistoryPoint {
                time_s,
                core_in_unit: 0.1 * time_s,
                mean_in_unit: 0.12 * time_s,
                edge_in_unit: 0.15 * time_s,
            })
            .collect(),
        ..history()
    }
}

fn svg(chart: &dyn Chart) -> String {
    chart.draw_svg(ChartSize::default()).unwrap()
}

fn all_kinds(change: impl Fn(&mut ChartWords)) -> Vec<(&'static str, Box<dyn Chart>)> {
    let (mut firmness, mut force, mut rates, mut residuals, mut history) =
        (firmness(), force(), rates(), residuals(), history());
    change(&mut history.words);
    change(&mut firmness.words);
    change(&mut force.words);
    change(&mut rates.words);
    change(&mut residuals.words);
    vec![
        ("firmness", Box::new(firmness)),
        ("force", Box::new(force)),
        ("rates", Box::new(rates)),
        ("residuals", Box::new(residuals)),
        ("history", Box::new(history)),
    ]
}

// ---------------------------------------------------------------- places

/// The drawn place of every point against what the ticks' labels and lines say. Coordinates
/// are tenths of a pixel, rounded: two of them is two tenths of a pixel.
fn points_lie_where_ticks_say(
    svg: &str,
    expected: &[(f64, f64)],
    x_kind: AxisKind,
    y_kind: AxisKind,
) {
    let (x_ticks, y_ticks) = (
        ticks(&group(svg, "x-axis"), 0),
        ticks(&group(svg, "y-axis"), 1),
    );
    assert!(
        x_ticks.len() >= 3 && y_ticks.len() >= 3,
        "{x_ticks:?} {y_ticks:?}"
    );
    // A circle is drawn twice: its dark edge, then its colour.
    let circles: Vec<(f64, f64)> = group(svg, "points")
        .iter()
        .filter(|mark| mark.tag == "circle")
        .step_by(2)
        .map(|mark| (mark.number("cx"), mark.number("cy")))
        .collect();
    assert_eq!(circles.len(), expected.len());
    for ((x, y), (cx, cy)) in expected.iter().zip(circles) {
        let (x_wanted, y_wanted) = (
            by_ticks(&x_ticks, *x, x_kind),
            by_ticks(&y_ticks, *y, y_kind),
        );
        assert!(
            (cx - x_wanted).abs() <= 2.0,
            "x of ({x}, {y}): {cx}, by the ticks {x_wanted}"
        );
        assert!(
            (cy - y_wanted).abs() <= 2.0,
            "y of ({x}, {y}): {cy}, by the ticks {y_wanted}"
        );
    }
}

#[test]
fn a_reading_is_drawn_where_the_ticks_say() {
    for (time_axis, reading_axis) in [
        (AxisKind::Linear, AxisKind::Log),
        (AxisKind::Linear, AxisKind::Linear),
        (AxisKind::Log, AxisKind::Log),
        (AxisKind::Log, AxisKind::Linear),
    ] {
        let chart = FirmnessChart {
            time_axis,
            reading_axis,
            ..firmness()
        };
        let minutes_and_readings: Vec<(f64, f64)> = chart.series[0]
            .points
            .iter()
            .map(|point| (point.time_s / 60.0, point.reading_in_unit))
            .collect();
        points_lie_where_ticks_say(&svg(&chart), &minutes_and_readings, time_axis, reading_axis);
    }
}

#[test]
fn a_residual_is_drawn_where_the_ticks_say() {
    let expected = [(0.5, 0.05), (2.0, -0.12), (10.0, 0.08), (20.0, -0.03)];
    points_lie_where_ticks_say(
        &svg(&residuals()),
        &expected,
        AxisKind::Log,
        AxisKind::Linear,
    );
}

#[test]
fn a_rate_is_drawn_at_a_thousand_over_its_temperature_and_under_its_celsius() {
    let svg = svg(&rates());
    let first = (1000.0 / 343.15, rates().points[0].rate_per_s.ln());
    points_lie_where_ticks_say(&svg, &[first], AxisKind::Linear, AxisKind::Linear);
    // 0 °C is 273.15 K (SI Brochure, 9th edition, 2019, 2.3.1).
    let below = ticks(&group(&svg, "x-axis"), 0);
    let above = ticks(&group(&svg, "top-axis"), 0);
    assert!(above.len() >= 4, "{above:?}");
    for (celsius, x) in above {
        let wanted = by_ticks(&below, 1000.0 / (celsius + 273.15), AxisKind::Linear);
        assert!(
            (x - wanted).abs() <= 2.0,
            "{celsius} °C at {x}, by the axis below {wanted}"
        );
    }
}

#[test]
fn a_needles_line_runs_where_the_ticks_say() {
    let chart = ForceChart {
        lines: vec![line("27G", RED, 0.005)],
        ..force()
    };
    let svg = svg(&chart);
    let (x_ticks, y_ticks) = (
        ticks(&group(&svg, "x-axis"), 0),
        ticks(&group(&svg, "y-axis"), 1),
    );
    let drawn = group(&svg, "curves")
        .into_iter()
        .find(|mark| mark.attributes["stroke"] == "#D2202F")
        .unwrap();
    let (x, y) = *drawn.points().last().unwrap();
    // At its end, 20 min: 2 N + 0.005 N/s x 1200 s = 8 N.
    assert!((x - by_ticks(&x_ticks, 20.0, AxisKind::Linear)).abs() <= 2.0);
    assert!((y - by_ticks(&y_ticks, 8.0, AxisKind::Linear)).abs() <= 2.0);
}

#[test]
fn nothing_is_drawn_outside_the_plot_rectangle() {
    let mut wild = firmness();
    wild.reading_axis = AxisKind::Linear;
    for (index, place) in wild.series[1].curve.iter_mut().enumerate() {
        place.reading_in_unit = if index % 3 == 0 { 1e9 } else { -1e9 };
    }
    for (index, row) in wild.series[1].band.iter_mut().enumerate() {
        row.low_in_unit = -1e12 * index as f64;
        row.high_in_unit = 1e12;
    }
    let steep = ForceChart {
        lines: vec![
            line("27G", RED, 0.005),
            line("34G", YELLOW, 40.0),
            line("33G", WHITE_HUB, 1e9),
        ],
        force_axis: ForceAxis::Linear {
            up_to_n: Some(30.0),
        },
        measured_time: Some(TimeSpan {
            from_s: 120.0,
            to_s: 600.0,
        }),
        ..force()
    };
    for svg in [svg(&wild), svg(&steep), svg(&rates()), svg(&residuals())] {
        let [left, top, right, bottom] = plot_rectangle(&svg);
        let mut seen = 0;
        for class in ["curves", "bands", "zones"] {
            for (x, y) in group(&svg, class).iter().flat_map(Element::points) {
                assert!(
                    x >= left - 1.0 && x <= right + 1.0,
                    "{class}: x {x} not in {left} to {right}"
                );
                assert!(
                    y >= top - 1.0 && y <= bottom + 1.0,
                    "{class}: y {y} not in {top} to {bottom}"
                );
                seen += 1;
            }
        }
        assert!(seen > 3, "the chart has lines to look at");
    }
}

#[test]
fn a_line_cut_at_the_top_does_not_run_along_the_frame() {
    let chart = ForceChart {
        lines: vec![line("34G", RED, 1.0)],
        force_axis: ForceAxis::Linear {
            up_to_n: Some(30.0),
        },
        ..force()
    };
    let svg = svg(&chart);
    let top = plot_rectangle(&svg)[1];
    let on_top = group(&svg, "curves")
        .iter()
        .filter(|mark| mark.attributes["stroke"] == "#D2202F")
        .flat_map(Element::points)
        .filter(|(_, y)| (*y - top).abs() < 2.0)
        .count();
    assert_eq!(on_top, 1, "one place where the line leaves");
}

#[test]
fn the_legend_lies_beside_a_wide_plot_and_above_a_tall_one() {
    for (name, chart) in all_kinds(|_| {}) {
        let wide = chart
            .draw_svg(ChartSize::parse("1200x800").unwrap())
            .unwrap();
        let right = plot_rectangle(&wide)[2];
        let leftmost = texts_at(&wide, "legend")
            .iter()
            .map(|(x, _)| *x)
            .fold(f64::MAX, f64::min);
        assert!(
            leftmost > right,
            "{name}: legend at {leftmost}, plot to {right}"
        );
        let tall = chart
            .draw_svg(ChartSize::parse("700x1200").unwrap())
            .unwrap();
        let top = plot_rectangle(&tall)[1];
        let lowest = texts_at(&tall, "legend")
            .iter()
            .map(|(_, y)| *y)
            .fold(0.0, f64::max);
        assert!(
            lowest < top,
            "{name}: legend down to {lowest}, plot from {top}"
        );
    }
}

fn texts_at(svg: &str, class: &str) -> Vec<(f64, f64)> {
    group(svg, class)
        .iter()
        .filter(|mark| mark.tag == "text")
        .map(|mark| (mark.number("x"), mark.number("y")))
        .collect()
}

// ---------------------------------------------------------------- ticks

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

// ---------------------------------------------------------------- words

fn all_text(svg: &str) -> String {
    svg.lines()
        .filter(|line| line.starts_with("<text"))
        .map(|line| element(line).text)
        .collect::<Vec<_>>()
        .join(" ")
}

#[test]
fn every_label_is_written() {
    let mut firmness = firmness();
    firmness.series[0].points[0].used = false;
    for (svg, wanted) in [
        (
            svg(&firmness),
            vec![
                "viscosity (Pa.s)",
                "heat time (min)",
                "heated at",
                "80 °C",
                "86 °C",
                "95 % band of single",
                "left out of the fit",
            ],
        ),
        (
            svg(&force()),
            vec![
                "plunger force (N)",
                "heat time at 86 °C (min)",
                "27G x 13 mm",
                "30G x 13 mm",
                "31G x 13 mm",
                "easy, under 12 N",
                "limit asked 20 N",
                "95 % band of single",
            ],
        ),
        (
            svg(&rates()),
            vec![
                "ln k",
                "1000 / T",
                "temperature (°C)",
                "activation energy 249 kJ/mol",
                "(240 to 258)",
                "95 % band of the line",
                "75 °C",
            ],
        ),
        (
            svg(&residuals()),
            vec![
                "residual of ln viscosity",
                "heat time (min)",
                "row 17",
                "+2 sd",
                "−2 sd",
                "80 °C",
                "ringed, with row",
            ],
        ),
    ] {
        let text = all_text(&svg);
        for label in wanted.into_iter().chain([
            "Sets half-way in 5 min 12 s at 80 °C",
            "2 lots, 24 readings",
            "Local codes rule.",
        ]) {
            assert!(text.contains(label), "{label} is not in {text}");
        }
    }
}

#[test]
fn each_needle_is_named_at_the_end_of_its_line() {
    let labels = texts(&group(&svg(&force()), "labels"));
    for needle in ["27G", "30G", "31G"] {
        assert!(
            labels.iter().any(|label| label == needle),
            "{needle} in {labels:?}"
        );
    }
}

#[test]
fn a_needle_whose_line_is_over_the_axis_throughout_is_said_to_be() {
    let mut chart = force();
    chart.force_axis = ForceAxis::Linear {
        up_to_n: Some(30.0),
    };
    for point in &mut chart.lines[2].points {
        point.plunger_force_n += 100.0;
    }
    assert!(
        all_text(&svg(&chart)).contains("over 30 N"),
        "{}",
        all_text(&svg(&chart))
    );
}

#[test]
fn invented_data_is_said_in_banner_and_watermark_when_and_only_when_it_is() {
    for (name, chart) in all_kinds(|words| words.invented = true) {
        let svg = svg(chart.as_ref());
        assert!(
            all_text(&svg).contains("This chart shows invented data"),
            "{name}"
        );
        assert_eq!(
            texts(&group(&svg, "watermark")),
            ["invented data"],
            "{name}"
        );
        assert!(
            svg.contains("<desc>")
                && svg
                    .split("</desc>")
                    .next()
                    .unwrap()
                    .contains("invented data"),
            "{name}"
        );
    }
    for (name, chart) in all_kinds(|_| {}) {
        assert!(!svg(chart.as_ref()).contains("invented"), "{name}");
    }
}

#[test]
fn extrapolation_is_said_in_a_banner_and_drawn_dotted_and_hatched() {
    for (name, chart) in all_kinds(|words| words.extrapolated = true) {
        assert!(
            all_text(&svg(chart.as_ref())).contains("Extrapolated"),
            "{name}"
        );
    }
    let inside = ForceChart {
        measured_time: Some(TimeSpan {
            from_s: 0.0,
            to_s: 1200.0,
        }),
        ..force()
    };
    let beyond = ForceChart {
        measured_time: Some(TimeSpan {
            from_s: 0.0,
            to_s: 600.0,
        }),
        ..force()
    };
    let pieces = |chart: &ForceChart| {
        group(&svg(chart), "curves")
            .iter()
            .filter(|mark| mark.attributes["stroke"] == "#D2202F")
            .count()
    };
    assert_eq!(pieces(&inside), 1);
    assert!(pieces(&beyond) > 10, "the part beyond is broken into dots");
    assert!(!all_text(&svg(&inside)).contains("not measured"));
    assert!(all_text(&svg(&beyond)).contains("heat times not"));
    let hatching = |chart: &ForceChart| {
        group(&svg(chart), "zones")
            .iter()
            .filter(|mark| mark.tag == "polyline")
            .count()
    };
    assert_eq!(hatching(&inside), 0);
    assert!(hatching(&beyond) > 10);
}

#[test]
fn a_long_title_is_wrapped_and_made_smaller_but_every_word_is_there() {
    let title = (1..=60)
        .map(|count| format!("finding{count}"))
        .collect::<Vec<_>>()
        .join(" ");
    for (name, chart) in all_kinds(|words| words.title = title.clone()) {
        let svg = svg(chart.as_ref());
        let written: BTreeSet<String> = texts(&group(&svg, "words"))
            .join(" ")
            .split(' ')
            .map(str::to_string)
            .collect();
        assert!(
            title.split(' ').all(|word| written.contains(word)),
            "{name}: {written:?}"
        );
        assert!(
            !has_ink_at_the_edge(chart.as_ref()),
            "{name}: letters run out of the picture"
        );
    }
}

#[test]
fn a_word_wider_than_the_picture_is_broken_not_cut() {
    let word = "x".repeat(300);
    for (name, chart) in all_kinds(|words| words.title = word.clone()) {
        let svg = svg(chart.as_ref());
        let letters: usize = texts(&group(&svg, "words"))
            .iter()
            .filter(|line| line.starts_with("xx"))
            .map(String::len)
            .sum();
        assert_eq!(letters, 300, "{name}");
        assert!(!has_ink_at_the_edge(chart.as_ref()), "{name}");
    }
}

#[test]
fn numbers_and_their_units_stay_on_one_line() {
    let mut chart = firmness();
    // Whatever the width, '12 s' must not be torn apart.
    for filler in 0..60 {
        chart.words.title = format!(
            "{} sets half-way in 5 min 12 s at 80 °C and no sooner than that in any lot",
            "m".repeat(filler)
        );
        let lines = texts(&group(&svg(&chart), "words"));
        assert!(
            !lines
                .iter()
                .any(|line| line.ends_with("12") || line.ends_with("80")),
            "{lines:?}"
        );
    }
}

// ---------------------------------------------------------------- colours

/// Contrast ratio as W3C, Web Content Accessibility Guidelines 2.2 (2023) defines it.
fn contrast(one: &str, other: &str) -> f64 {
    let luminance = |hex: &str| {
        let channel = |at: usize| {
            let share = f64::from(u8::from_str_radix(&hex[at..at + 2], 16).unwrap()) / 255.0;
            if share <= 0.04045 {
                share / 12.92
            } else {
                ((share + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
    };
    let (one, other) = (luminance(one) + 0.05, luminance(other) + 0.05);
    (one / other).max(other / one)
}

#[test]
fn every_text_stands_out_from_white_and_from_its_banner() {
    for (name, chart) in all_kinds(|words| {
        words.invented = true;
        words.extrapolated = true;
    }) {
        let svg = svg(chart.as_ref());
        let banner = group(&svg, "ground")[1].attributes["fill"].clone();
        for class in ["words", "legend", "labels", "x-axis", "y-axis", "top-axis"] {
            for text in group(&svg, class).iter().filter(|mark| mark.tag == "text") {
                // 4.5 to 1 for text (success criterion 1.4.3).
                for ground in ["#FFFFFF", &banner] {
                    let ratio = contrast(&text.attributes["fill"], ground);
                    assert!(ratio >= 4.5, "{name}: '{}' on {ground}: {ratio}", text.text);
                }
            }
        }
    }
}

#[test]
fn every_line_has_a_colour_or_an_edge_that_stands_out_from_white() {
    let svg = svg(&force());
    let curves = group(&svg, "curves");
    for pale in ["#F5D000", "#F4F4F0"] {
        let at = curves
            .iter()
            .position(|mark| mark.attributes["stroke"] == pale)
            .unwrap();
        let (line, edge) = (&curves[at], &curves[at - 1]);
        assert_eq!(line.points(), edge.points(), "the edge lies under the line");
        assert!(edge.number("stroke-width") > line.number("stroke-width") + 20.0);
        // 3 to 1 for graphics (success criterion 1.4.11).
        assert!(contrast(&edge.attributes["stroke"], "#FFFFFF") >= 3.0);
    }
}

#[test]
fn contrast_with_white_is_that_of_the_guidelines() {
    // 21 to 1 for black: Web Content Accessibility Guidelines 2.2, definition of contrast ratio.
    assert!((Colour::new(0, 0, 0).contrast_with_white_ratio() - 21.0).abs() < 1e-9);
    assert!((Colour::new(255, 255, 255).contrast_with_white_ratio() - 1.0).abs() < 1e-9);
    // #767676 is widely quoted as the palest grey that passes 4.5, at 4.54 (from memory).
    assert!((Colour::new(0x76, 0x76, 0x76).contrast_with_white_ratio() - 4.54).abs() < 0.01);
    assert!(Colour::new(0x77, 0x77, 0x77).contrast_with_white_ratio() < 4.5);
}

#[test]
fn temperatures_differ_in_colour_and_in_marker() {
    let one = firmness().series[0].clone();
    let mut chart = firmness();
    chart.series = (0..8)
        .map(|index| FirmnessSeries {
            label: format!("{} °C", 60 + index),
            points: vec![one.points[0]],
            ..FirmnessSeries::default()
        })
        .collect();
    chart.legend_heading = String::new();
    let svg = svg(&chart);
    let points = group(&svg, "points");
    let looks: BTreeSet<(String, usize)> = points
        .chunks(2)
        .map(|edge_and_inside| {
            let corners = if edge_and_inside[1].tag == "circle" {
                0
            } else {
                edge_and_inside[1].points().len()
            };
            (edge_and_inside[1].attributes["fill"].clone(), corners)
        })
        .collect();
    assert_eq!(looks.len(), 8);
    assert_eq!(
        looks
            .iter()
            .map(|(colour, _)| colour)
            .collect::<BTreeSet<_>>()
            .len(),
        8
    );
    // M. Okabe and K. Ito, Color Universal Design (2008), from memory.
    for colour in [
        "#000000", "#E69F00", "#56B4E9", "#009E73", "#F0E442", "#0072B2", "#D55E00", "#CC79A7",
    ] {
        assert!(looks.iter().any(|(found, _)| found == colour), "{colour}");
    }
}

#[test]
fn needles_with_the_same_hub_colour_differ_in_their_dashes() {
    let chart = ForceChart {
        lines: vec![line("20G", RED, 0.001), line("30G", RED, 0.01)],
        ..force()
    };
    let pieces: Vec<usize> = group(&svg(&chart), "curves")
        .iter()
        .filter(|mark| mark.attributes["stroke"] == "#D2202F")
        .map(|mark| mark.points().len())
        .collect();
    assert!(
        pieces.len() > 10,
        "one whole line and many dashes: {pieces:?}"
    );
    assert_eq!(
        pieces.iter().filter(|count| **count == 101).count(),
        1,
        "the first is whole"
    );
}

#[test]
fn a_colour_is_read_from_its_digits_or_refused_in_words() {
    assert_eq!(
        Colour::from_hex("#D2202F").unwrap(),
        Colour::new(210, 32, 47)
    );
    for text in ["", "#12345", "red", "#GG0000", "#1234567"] {
        let message = Colour::from_hex(text).unwrap_err().to_string();
        assert!(message.contains("#0072B2"), "{message}");
    }
}

// ---------------------------------------------------------------- files

#[test]
fn the_same_chart_gives_the_same_bytes() {
    for ((name, one), (_, other)) in all_kinds(|_| {}).into_iter().zip(all_kinds(|_| {})) {
        assert_eq!(svg(one.as_ref()), svg(other.as_ref()), "{name}");
        let size = ChartSize::parse("300x200").unwrap();
        assert_eq!(
            one.draw_png(size).unwrap(),
            other.draw_png(size).unwrap(),
            "{name}"
        );
    }
}

#[test]
fn the_svg_says_what_it_is_and_holds_everything_it_needs() {
    for (name, chart) in all_kinds(|_| {}) {
        let svg = chart
            .draw_svg(ChartSize::parse("900x600").unwrap())
            .unwrap();
        assert!(svg.starts_with("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"900\" height=\"600\" viewBox=\"0 0 9000 6000\" role=\"img\""), "{name}");
        assert!(
            svg.contains("<title>Sets half-way in 5 min 12 s at 80 °C</title>"),
            "{name}"
        );
        assert!(svg.ends_with("</svg>\n"), "{name}");
        for outside in ["href", "url(", "<image", "<style", "<script", "@import"] {
            assert!(!svg.contains(outside), "{name}: {outside}");
        }
        assert_eq!(svg.matches("<svg").count(), 1, "{name}");
        assert_eq!(
            svg.matches("<g ").count(),
            svg.matches("</g>").count(),
            "{name}"
        );
        assert!(
            svg.contains("font-family=\"DejaVu Sans, Verdana, sans-serif\""),
            "{name}"
        );
    }
}

#[test]
fn words_with_markup_in_them_stay_words() {
    let dangerous = "<b>R&D</b> \"lot\" 'a'\u{0}\u{1b}[31m\tx";
    for (name, chart) in all_kinds(|words| {
        words.title = dangerous.to_string();
        words.subtitle = dangerous.to_string();
        words.note = dangerous.to_string();
    }) {
        let svg = svg(chart.as_ref());
        assert!(
            !svg.contains("<b>") && svg.contains("&lt;b&gt;R&amp;D&lt;/b&gt;"),
            "{name}"
        );
        assert!(
            !svg.chars()
                .any(|letter| letter.is_control() && letter != '\n'),
            "{name}"
        );
        for (at, _) in svg.match_indices('&') {
            let entity = svg[at..].split(';').next().unwrap();
            assert!(
                ["&lt", "&gt", "&amp", "&quot", "&apos"].contains(&entity),
                "{name}: {entity}"
            );
        }
    }
}

/// Width, height and RGB pixels, by the decoder of the `png` crate.
fn decoded(bytes: &[u8]) -> (u32, u32, Vec<u8>) {
    let mut reader = png::Decoder::new(std::io::Cursor::new(bytes))
        .read_info()
        .unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let frame = reader.next_frame(&mut pixels).unwrap();
    assert_eq!(
        (frame.color_type, frame.bit_depth),
        (png::ColorType::Rgb, png::BitDepth::Eight)
    );
    pixels.truncate(frame.buffer_size());
    (frame.width, frame.height, pixels)
}

#[test]
fn a_png_has_the_asked_size_a_white_ground_and_smooth_edges() {
    for size in ["333x271", "480x640"] {
        for (name, chart) in all_kinds(|_| {}) {
            let size = ChartSize::parse(size).unwrap();
            let (width, height, pixels) = decoded(&chart.draw_png(size).unwrap());
            assert_eq!(
                (width, height),
                (size.width_px(), size.height_px()),
                "{name}"
            );
            assert_eq!(pixels[..3], [255, 255, 255], "{name}");
            assert_eq!(pixels[pixels.len() - 3..], [255, 255, 255], "{name}");
            let shades: BTreeSet<&[u8]> = pixels.chunks_exact(3).collect();
            assert!(
                shades.len() > 40,
                "{name}: only {} shades, edges are not smooth",
                shades.len()
            );
        }
    }
}

#[test]
fn a_slanting_line_has_smooth_edges_in_the_png() {
    let chart = ForceChart {
        lines: vec![ForceLine {
            band: Vec::new(),
            ..line("27G", RED, 0.012)
        }],
        zones: Vec::new(),
        limit: None,
        ..force()
    };
    let (width, height, pixels) = decoded(
        &chart
            .draw_png(ChartSize::parse("450x300").unwrap())
            .unwrap(),
    );
    // Between the hub's red (210, 32, 47) and white: what a line without smoothing has none of.
    let blended = |x: u32| {
        (0..height).any(|y| {
            let at = ((y * width + x) * 3) as usize;
            let (red, green) = (i32::from(pixels[at]), i32::from(pixels[at + 1]));
            red > 205 && (60..=215).contains(&green) && red - green > 25
        })
    };
    let smooth = (120..280).filter(|x| blended(*x)).count();
    assert!(
        smooth > 120,
        "only {smooth} of 160 columns have a blended edge"
    );
}

#[test]
fn no_number_makes_the_pixels_panic() {
    let numbers = [
        f64::NAN,
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::MAX,
        f64::MIN,
        f64::MIN_POSITIVE,
        0.0,
        -1.0,
        600.0,
    ];
    for axis in [AxisKind::Linear, AxisKind::Log] {
        let mut chart = firmness();
        (chart.time_axis, chart.reading_axis) = (axis, axis);
        for (index, place) in chart.series[0].curve.iter_mut().enumerate() {
            place.time_s = numbers[index % numbers.len()];
            place.reading_in_unit = numbers[index * 7 % numbers.len()];
        }
        for (index, row) in chart.series[0].band.iter_mut().enumerate() {
            row.low_in_unit = numbers[index % numbers.len()];
            row.high_in_unit = numbers[index * 5 % numbers.len()];
        }
        let (width, height, _) = decoded(
            &chart
                .draw_png(ChartSize::parse("300x200").unwrap())
                .unwrap(),
        );
        assert_eq!((width, height), (300, 200));
    }
}

#[test]
fn a_picture_of_the_greatest_size_is_drawn() {
    let size = ChartSize::parse("8000x200").unwrap();
    let (width, height, _) = decoded(&firmness().draw_png(size).unwrap());
    assert_eq!((width, height), (8000, 200));
}

/// Whether any pixel of the outermost two rows or columns is not white.
fn has_ink_at_the_edge(chart: &dyn Chart) -> bool {
    let (width, height, pixels) = decoded(
        &chart
            .draw_png(ChartSize::parse("450x300").unwrap())
            .unwrap(),
    );
    pixels.chunks_exact(3).enumerate().any(|(index, pixel)| {
        let (x, y) = (index as u32 % width, index as u32 / width);
        (x < 2 || y < 2 || x >= width - 2 || y >= height - 2) && pixel != [255, 255, 255]
    })
}

#[test]
fn no_chart_runs_out_of_its_picture() {
    for (name, chart) in all_kinds(|_| {}) {
        assert!(!has_ink_at_the_edge(chart.as_ref()), "{name}");
    }
}

#[test]
fn the_file_s_ending_chooses_the_format() {
    for (file, format) in [
        ("a.svg", ChartFormat::Svg),
        ("dir.png/b.SVG", ChartFormat::Svg),
        ("c.Png", ChartFormat::Png),
    ] {
        assert_eq!(ChartFormat::of_file(Path::new(file)).unwrap(), format);
    }
    for file in ["chart", "chart.jpg", ".svg", "svg"] {
        let message = ChartFormat::of_file(Path::new(file))
            .unwrap_err()
            .to_string();
        assert!(
            message.contains(file) && message.contains(".svg") && message.contains(".png"),
            "{message}"
        );
    }
    let size = ChartSize::default();
    assert!(
        firmness()
            .draw(ChartFormat::Svg, size)
            .unwrap()
            .starts_with(b"<svg")
    );
    assert!(
        firmness()
            .draw(ChartFormat::Png, size)
            .unwrap()
            .starts_with(b"\x89PNG")
    );
}

#[test]
fn sizes_that_cannot_be_drawn_are_refused_in_words() {
    for (text, part) in [
        ("", "1200x800"),
        ("big", "1200x800"),
        ("1200", "1200x800"),
        ("1200x", "1200x800"),
        ("x800", "1200x800"),
        ("-1200x800", "1200x800"),
        ("12.5x800", "1200x800"),
        ("1200x800x600", "1200x800"),
        ("1200 by 800", "1200x800"),
        ("199x800", "width of 199 pixels is outside 200 to 8000"),
        ("1200x8001", "height of 8001 pixels is outside 200 to 8000"),
        ("1200x0", "height of 0 pixels"),
        ("99999999999x800", "width of 99999999999 pixels"),
    ] {
        let message = ChartSize::parse(text).unwrap_err().to_string();
        assert!(
            message.contains(part) && message.contains("What helps:"),
            "{text}: {message}"
        );
    }
    for (text, width_px, height_px) in [
        ("200x8000", 200, 8000),
        (" 640 X 480 ", 640, 480),
        ("1600×900", 1600, 900),
    ] {
        let size = ChartSize::parse(text).unwrap();
        assert_eq!((size.width_px(), size.height_px()), (width_px, height_px));
    }
    assert_eq!(ChartSize::default(), ChartSize::parse("1200x800").unwrap());
}

// ---------------------------------------------------------------- values that cannot be drawn

#[test]
fn a_chart_without_anything_to_draw_says_so() {
    let charts: [Box<dyn Chart>; 4] = [
        Box::new(FirmnessChart::default()),
        Box::new(ForceChart::default()),
        Box::new(RatesChart::default()),
        Box::new(ResidualsChart::default()),
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
}

// ---------------------------------------------------------------- history

/// Colours of the courses, from the Okabe-Ito palette.
const CORE: &str = "#0072B2";
const MEAN: &str = "#009E73";
const EDGE: &str = "#D55E00";

/// The axes of each panel: an axis line is the first of its group, and each panel draws one.
fn panels(svg: &str) -> Vec<[f64; 4]> {
    let long = |class: &str, axis: usize| -> Vec<Vec<(f64, f64)>> {
        group(svg, class)
            .iter()
            .filter(|mark| mark.tag == "polyline")
            .map(Element::points)
            .filter(|line| {
                let length = [(line[0].0 - line[1].0).abs(), (line[0].1 - line[1].1).abs()];
                length[axis] > 300.0
            })
            .collect()
    };
    long("x-axis", 0)
        .iter()
        .zip(&long("y-axis", 1))
        .map(|(along, up)| [along[0].0, up[1].1, along[1].0, along[0].1])
        .collect()
}

#[test]
fn the_core_of_a_history_is_drawn_where_the_ticks_say() {
    let svg = svg(&history());
    let core = group(&svg, "curves")
        .iter()
        .filter(|mark| mark.attributes["stroke"] == CORE)
        .flat_map(Element::points)
        .collect::<Vec<_>>();
    let x_ticks: Vec<(f64, f64)> = ticks(&group(&svg, "x-axis"), 0)
        .into_iter()
        .map(|(minutes, pixel)| (60.0 * minutes, pixel))
        .collect();
    let y_ticks = ticks(&group(&svg, "y-axis"), 1);
    for (time_s, celsius) in [(0.0, 22.0), (300.0, 37.0), (600.0, 52.0)] {
        let x = by_ticks(&x_ticks, time_s, AxisKind::Linear);
        let y = by_ticks(&y_ticks, celsius, AxisKind::Linear);
        let nearest = core
            .iter()
            .map(|(px, py)| (px - x).hypot(py - y))
            .fold(f64::MAX, f64::min);
        assert!(
            nearest < 4.0,
            "{time_s} s, {celsius} °C: {nearest} tenths of a pixel off"
        );
    }
}

#[test]
fn a_history_tells_core_mean_and_edge_apart_by_colour_and_by_dashes() {
    let svg = svg(&history());
    let pieces = |colour: &str| {
        group(&svg, "curves")
            .iter()
            .filter(|mark| mark.attributes["stroke"] == colour)
            .count()
    };
    assert_eq!(pieces(CORE), 1, "the core is one whole line");
    assert!(pieces(MEAN) > 10 && pieces(EDGE) > 10 && pieces(MEAN) != pieces(EDGE));
    let all = all_text(&svg);
    for words in [
        "edge",
        "mean over the gel",
        "core",
        "outside",
        "temperature (°C)",
        "clock (min)",
    ] {
        assert!(all.contains(words), "{words}: {all}");
    }
}

#[test]
fn the_stage_in_air_is_shaded_from_its_beginning_to_its_end_and_named() {
    let svg = svg(&history());
    let [left, top, right, bottom] = panels(&svg)[0];
    let shade = group(&svg, "zones")
        .iter()
        .find(|mark| mark.tag == "polygon")
        .unwrap()
        .points();
    let x = |pick: fn(f64, f64) -> f64, start: f64| shade.iter().map(|(x, _)| *x).fold(start, pick);
    let from = left + (right - left) * 360.0 / 600.0;
    assert!((x(f64::min, f64::MAX) - from).abs() < 3.0);
    assert!((x(f64::max, 0.0) - right).abs() < 3.0);
    assert!(
        shade
            .iter()
            .all(|(_, y)| *y >= top - 1.0 && *y <= bottom + 1.0)
    );
    let labels = texts(&group(&svg, "labels"));
    assert_eq!(labels, ["block 90 °C", "air 22 °C"]);
}

#[test]
fn the_two_panels_of_a_history_share_their_clock() {
    for size in ["1200x800", "600x1000", "390x800"] {
        let svg = history_of_setting()
            .draw_svg(ChartSize::parse(size).unwrap())
            .unwrap();
        let [upper, lower] = panels(&svg)[..] else {
            panic!("{size}: not two panels")
        };
        assert!(
            (upper[0] - lower[0]).abs() < 2.0,
            "{size}: {upper:?} {lower:?}"
        );
        assert!(
            (upper[2] - lower[2]).abs() < 2.0,
            "{size}: {upper:?} {lower:?}"
        );
        assert!(upper[3] < lower[1], "{size}: one below the other");
        assert!(all_text(&svg).contains("set (%)"), "{size}");
        assert!(!has_ink_at_the_edge(&history_of_setting()));
    }
}

#[test]
fn a_conversion_is_drawn_in_the_lower_panel_at_its_height() {
    let svg = svg(&history_of_setting());
    let [_, top, right, bottom] = panels(&svg)[1];
    let lowest_panel: Vec<(f64, f64)> = group(&svg, "curves")
        .iter()
        .filter(|mark| mark.attributes["stroke"] == CORE)
        .flat_map(Element::points)
        .filter(|(_, y)| *y >= top)
        .collect();
    // 60 % at 600 s, the panel from 0 to 100 %.
    let wanted = (right, bottom - 0.6 * (bottom - top));
    let nearest = lowest_panel
        .iter()
        .map(|(x, y)| (x - wanted.0).hypot(y - wanted.1))
        .fold(f64::MAX, f64::min);
    assert!(nearest < 4.0, "{nearest} tenths of a pixel off");
}

#[test]
fn a_history_without_a_temperature_says_so() {
    let empty = HistoryChart {
        temperatures: Vec::new(),
        outside: Vec::new(),
        ..history()
    };
    let refused = empty.draw_svg(ChartSize::default()).unwrap_err();
    assert!(matches!(
        refused,
        ChartError::NothingToDraw {
            chart: "history",
            ..
        }
    ));
}
