//! The window and the contributions: marks and bars where the ticks say.

use crate::samples::{contributions, svg, window};
use crate::svg::{all_text, by_ticks, group, texts, ticks};
use heatset::chart::AxisKind;

#[test]
fn the_window_is_shaded_and_its_marks_stand_where_the_ticks_say() {
    let svg = svg(&window());
    let x = ticks(&group(&svg, "x-axis"), 0);
    let y = ticks(&group(&svg, "y-axis"), 1);
    let at = |minutes: f64| by_ticks(&x, minutes, AxisKind::Linear);
    let shade = group(&svg, "zones")[0].points();
    let (left, right) = shade
        .iter()
        .fold((f64::INFINITY, 0.0_f64), |(low, high), (px, _)| {
            (low.min(*px), high.max(*px))
        });
    assert!((left - at(2.5)).abs() <= 2.0 && (right - at(4.0)).abs() <= 2.0);
    let curves = group(&svg, "curves");
    let upright = |minutes: f64| {
        curves.iter().any(|mark| {
            mark.points()
                .iter()
                .all(|(px, _)| (px - at(minutes)).abs() <= 2.0)
        })
    };
    assert!([2.5, 3.0, 4.0].into_iter().all(upright));
    // Passing has fallen to a half at 300 s, by its definition.
    let passing = curves
        .iter()
        .find(|mark| mark.attributes["stroke"] == "#0072B2")
        .unwrap();
    let wanted = (at(5.0), by_ticks(&y, 50.0, AxisKind::Linear));
    assert!(
        passing
            .points()
            .iter()
            .any(|(px, py)| (px - wanted.0).abs() <= 2.0 && (py - wanted.1).abs() <= 2.0)
    );
    // 95 % is a level line in pieces.
    let level = by_ticks(&y, 95.0, AxisKind::Linear);
    let pieces = curves
        .iter()
        .filter(|mark| {
            mark.points()
                .iter()
                .all(|(_, py)| (py - level).abs() <= 2.0)
        })
        .count();
    assert!(pieces > 20, "{pieces}");
}

#[test]
fn an_empty_window_is_not_shaded_and_says_what_would_open_it() {
    let mut chart = window();
    chart.window = None;
    chart.aim = None;
    chart.boxed_words = "What helps: a wider needle.".to_string();
    let svg = svg(&chart);
    assert!(group(&svg, "zones").is_empty());
    let text = all_text(&svg);
    assert!(text.contains("What helps: a wider needle.") && !text.contains("heat window"));
}

#[test]
fn what_was_not_measured_is_hatched_in_the_window_s_chart() {
    let mut chart = window();
    chart.measured_time = Some(heatset::chart::TimeSpan {
        from_s: 60.0,
        to_s: 400.0,
    });
    let text = all_text(&svg(&chart));
    assert!(text.contains("not measured (extrapolated)"), "{text}");
    assert!(!all_text(&svg(&window())).contains("extrapolated"));
}

#[test]
fn a_bar_is_as_long_as_its_share_by_the_ticks_and_what_is_not_known_has_none() {
    let svg = svg(&contributions());
    let x = ticks(&group(&svg, "x-axis"), 0);
    assert!(x.len() >= 3, "{x:?}");
    let bars: Vec<(f64, f64)> = group(&svg, "bands")
        .iter()
        .filter(|mark| mark.tag == "polygon")
        .map(|mark| {
            mark.points()
                .iter()
                .fold((f64::INFINITY, 0.0_f64), |(low, high), (px, _)| {
                    (low.min(*px), high.max(*px))
                })
        })
        .collect();
    assert_eq!(bars.len(), 3);
    for ((left, right), percent) in bars.into_iter().zip([60.0, 30.0, 10.0]) {
        assert!((left - by_ticks(&x, 0.0, AxisKind::Linear)).abs() <= 2.0);
        assert!((right - by_ticks(&x, percent, AxisKind::Linear)).abs() <= 2.0);
    }
    assert_eq!(
        texts(&group(&svg, "labels")),
        ["60 %", "30 %", "10 %", "not known"]
    );
}
