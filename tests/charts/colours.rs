//! Colours that can be told apart and stand out.

use crate::samples::{RED, all_kinds, firmness, force, line, svg};
use crate::svg::group;
use heatset::chart::{Colour, FirmnessSeries, ForceChart};
use std::collections::BTreeSet;

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
