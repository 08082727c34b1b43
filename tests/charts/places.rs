//! Every mark lies where the ticks say, inside the plot.

use crate::samples::{
    RED, WHITE_HUB, YELLOW, all_kinds, firmness, force, line, rates, residuals, svg, syringes,
};
use crate::svg::{Element, by_ticks, group, plot_rectangle, texts_at, ticks};
use heatset::chart::{
    AxisKind, ChartSize, FirmnessChart, ForceAxis, ForceChart, SyringesChart, TimeSpan,
};

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

#[test]
fn a_syringe_s_mark_is_drawn_where_the_ticks_say() {
    for value_axis in [AxisKind::Linear, AxisKind::Log] {
        let chart = SyringesChart {
            value_axis,
            ..syringes()
        };
        // The first syringe's mark is a circle: 0.12 Pa.s after 6 min.
        points_lie_where_ticks_say(&svg(&chart), &[(6.0, 0.12)], AxisKind::Linear, value_axis);
    }
}
