//! What a chart says, and that all of it can be read.

use crate::files::has_ink_at_the_edge;
use crate::samples::{
    all_kinds, contributions, firmness, force, iso_force, rates, residuals, svg, syringes, window,
};
use crate::svg::{all_text, group, texts};
use heatset::chart::{ForceAxis, ForceChart, SyringesChart, TimeSpan};
use std::collections::BTreeSet;

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
        (
            svg(&syringes()),
            vec![
                "viscosity (Pa.s)",
                "heat time at 90 °C (min)",
                "5 min to 21 min",
                "gel hot at once",
                "0.12 Pa.s: 1 mL after",
                "12 min 10 s",
            ],
        ),
        (
            svg(&window()),
            vec![
                "probability (%)",
                "heat time at 86 °C (min)",
                "passes under 20 N",
                "firm enough: reads",
                "heat window",
                "aim 3 min",
                "not before 2 min 30 s",
                "not beyond 4 min",
                "95 %:",
            ],
        ),
        (
            svg(&contributions()),
            vec![
                "share of what is not known (%)",
                "the needle&apos;s bore",
                "measure the bore",
                "60 %",
                "not known",
            ],
        ),
        (
            svg(&iso_force()),
            vec![
                "block temperature (°C)",
                "heat time on the clock (min)",
                "easy",
                "effort",
                "limit 20 N, by the",
                "1 in 20",
                "10 N",
                "measured range",
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
fn each_syringe_that_reaches_the_level_is_named_above_its_mark_and_no_other() {
    let labels = texts(&group(&svg(&syringes()), "labels"));
    for words in ["1 mL", "6 min", "5 mL", "12 min 10 s"] {
        assert!(
            labels.iter().any(|label| label == words),
            "{words} in {labels:?}"
        );
    }
    assert!(!labels.iter().any(|label| label == "20 mL"), "{labels:?}");
}

#[test]
fn gel_that_is_hot_at_once_is_drawn_dashed_once_for_all_or_once_a_syringe() {
    let dashes = |chart: &SyringesChart, colour: &str| {
        group(&svg(chart), "curves")
            .iter()
            .filter(|mark| mark.attributes["stroke"] == colour)
            .count()
    };
    let shared = syringes();
    let mut own = shared.clone();
    own.at_once.clear();
    own.level = None;
    let plain = own.clone();
    for line in &mut own.lines {
        line.at_once = shared.at_once.clone();
    }
    let without = SyringesChart {
        level: None,
        ..shared.clone()
    };
    assert!(dashes(&without, "#1A1A1A") > 10, "the shared one is broken");
    assert_eq!(dashes(&own, "#1A1A1A"), 0);
    assert_eq!(dashes(&plain, "#0072B2"), 1, "a syringe's line is whole");
    assert!(dashes(&own, "#0072B2") > 10, "its own dashed one beside it");
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
