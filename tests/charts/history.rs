//! The chart of a temperature history: one panel, and two with the conversion.

use crate::files::has_ink_at_the_edge;
use crate::samples::{history, history_of_setting, svg};
use crate::svg::{Element, all_text, by_ticks, group, texts, ticks};
use heatset::chart::{AxisKind, Chart, ChartError, ChartSize, HistoryChart};

/// Colours of the courses, from the Okabe-Ito palette.
const CORE: &str = "#0072B2";
const MEAN: &str = "#009E73";
const EDGE: &str = "#D55E00";

/// The axes of each panel: an axis line is the first of its group, and each panel draws one.
pub(crate) fn panels(svg: &str) -> Vec<[f64; 4]> {
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
