//! The wall chart: contours where the ticks say, and nothing filled that was not measured.

use crate::samples::{iso_force, svg};
use crate::svg::{all_text, by_ticks, group, texts, ticks};
use heatset::chart::{AxisKind, ChartSize, IsoForceChart};

/// Left, top, right, bottom of the measured range by the ticks.
fn measured(svg: &str) -> [f64; 4] {
    let (x, y) = (
        ticks(&group(svg, "x-axis"), 0),
        ticks(&group(svg, "y-axis"), 1),
    );
    [
        by_ticks(&x, 72.0, AxisKind::Linear),
        by_ticks(&y, 60.0, AxisKind::Log),
        by_ticks(&x, 88.0, AxisKind::Linear),
        by_ticks(&y, 1.0, AxisKind::Log),
    ]
}

#[test]
fn a_contour_runs_where_the_ticks_say() {
    let svg = svg(&iso_force());
    let (x, y) = (
        ticks(&group(&svg, "x-axis"), 0),
        ticks(&group(&svg, "y-axis"), 1),
    );
    assert!(x.len() >= 3 && y.len() >= 3, "{x:?} {y:?}");
    // The line of 10 N is the thin one; by its definition 60 min at 70 °C, 10 at 80, 1 at 90.
    let thin = group(&svg, "curves")
        .into_iter()
        .find(|mark| mark.attributes["stroke"] == "#404040")
        .unwrap();
    for (celsius, minutes) in [
        (75.0, 10.0 * 10_f64.sqrt()),
        (80.0, 10.0),
        (85.0, 10_f64.sqrt()),
    ] {
        let wanted = (
            by_ticks(&x, celsius, AxisKind::Linear),
            by_ticks(&y, minutes, AxisKind::Log),
        );
        let nearest = thin
            .points()
            .into_iter()
            .map(|(px, py)| (px - wanted.0).hypot(py - wanted.1))
            .fold(f64::INFINITY, f64::min);
        assert!(
            nearest <= 3.0,
            "{celsius} °C: {nearest} tenths of a pixel off"
        );
    }
}

#[test]
fn nothing_is_filled_or_drawn_that_was_not_measured_unless_it_is_said_and_hatched() {
    let inside = svg(&iso_force());
    let [left, top, right, bottom] = measured(&inside);
    for class in ["zones", "curves"] {
        for mark in group(&inside, class) {
            for (x, y) in mark.points() {
                assert!(
                    x >= left - 2.0 && x <= right + 2.0 && y >= top - 2.0 && y <= bottom + 2.0,
                    "{class}: {x}, {y} is outside {left} {top} {right} {bottom}"
                );
            }
        }
    }
    assert!(!all_text(&inside).contains("xtrapolated"));
    let mut beyond = iso_force();
    beyond.words.extrapolated = true;
    let beyond = svg(&beyond);
    let text = all_text(&beyond);
    assert!(
        text.contains("Extrapolated:") && text.contains("not measured"),
        "{text}"
    );
    let [left, ..] = measured(&beyond);
    let zones = group(&beyond, "zones");
    assert!(
        zones
            .iter()
            .any(|mark| mark.points().iter().any(|(x, _)| *x < left - 100.0))
    );
    let hatching = zones.iter().filter(|mark| mark.tag == "polyline").count();
    assert!(hatching > 20, "{hatching} lines of hatching");
}

#[test]
fn each_contour_is_named_at_its_hot_end_and_the_limit_is_the_thickest() {
    let svg = svg(&iso_force());
    let labels = texts(&group(&svg, "labels"));
    for name in ["limit 20 N", "1 in 20", "10 N", "easy", "effort"] {
        assert!(
            labels.iter().any(|label| label == name),
            "{name} in {labels:?}"
        );
    }
    let width = |colour: &str| {
        group(&svg, "curves")
            .iter()
            .filter(|mark| mark.attributes["stroke"] == colour)
            .map(|mark| mark.number("stroke-width"))
            .fold(0.0, f64::max)
    };
    assert!(width("#1A1A1A") >= 2.5 * width("#404040"));
}

#[test]
fn a_band_that_is_nowhere_in_the_picture_is_not_in_the_legend() {
    let mut chart = iso_force();
    for point in &mut chart.bands[0].to {
        point.time_s = f64::INFINITY;
    }
    chart.bands[1].from = chart.bands[0].to.clone();
    let text = all_text(&svg(&chart));
    assert!(text.contains("easy") && !text.contains("effort"), "{text}");
}

#[test]
fn on_a_sheet_of_a3_letters_are_as_large_for_their_sheet_as_on_a_screen() {
    let size = ChartSize::A3_SHEET;
    // ISO 216:2007: A3 is 297 mm x 420 mm; an inch is 25.4 mm.
    for (pixels, millimetres) in [(size.width_px(), 420.0), (size.height_px(), 297.0)] {
        assert_eq!(f64::from(pixels), f64::round(300.0 * millimetres / 25.4));
    }
    let least = |chart: &IsoForceChart, size: ChartSize| {
        let svg = heatset::chart::Chart::draw_svg(chart, size).unwrap();
        ["words", "legend", "labels", "x-axis", "y-axis"]
            .iter()
            .flat_map(|class| group(&svg, class))
            .filter(|mark| mark.tag == "text")
            .map(|mark| mark.number("font-size"))
            .fold(f64::INFINITY, f64::min)
    };
    let (sheet, screen) = (
        least(&iso_force(), size),
        least(&iso_force(), ChartSize::default()),
    );
    let ratio = sheet / screen;
    assert!((4.0..4.3).contains(&ratio), "{ratio}");
}
