//! The chart of batches: deviations above, sums below, signals by name.

use crate::files::has_ink_at_the_edge;
use crate::history::panels;
use crate::samples::{batches, svg};
use crate::svg::{Element, all_text, by_ticks, group, texts, ticks};
use heatset::chart::{AxisKind, BatchesChart, Chart, ChartError, ChartSize};

const BLUE: &str = "#0072B2";
const AVERAGE: &str = "#D55E00";

#[test]
fn both_panels_share_the_entries() {
    for size in ["1200x800", "600x1000", "390x800", "800x300"] {
        let svg = batches().draw_svg(ChartSize::parse(size).unwrap()).unwrap();
        let [upper, lower] = panels(&svg)[..] else {
            continue;
        };
        for side in [0, 2] {
            assert!(
                (upper[side] - lower[side]).abs() < 2.0,
                "{size}: {upper:?} {lower:?}"
            );
        }
        assert!(upper[3] < lower[1], "{size}: one below the other");
    }
    assert_eq!(panels(&svg(&batches())).len(), 2);
    assert!(!has_ink_at_the_edge(&batches()));
}

#[test]
fn average_and_sums_are_drawn_where_the_ticks_say() {
    let svg = svg(&batches());
    let [upper, lower] = panels(&svg)[..] else {
        panic!("not two panels")
    };
    let x_ticks = ticks(&group(&svg, "x-axis"), 0);
    let all = ticks(&group(&svg, "y-axis"), 1);
    let within = |panel: [f64; 4]| -> Vec<(f64, f64)> {
        all.iter()
            .copied()
            .filter(|(_, y)| *y >= panel[1] - 1.0 && *y <= panel[3] + 1.0)
            .collect()
    };
    let curves = group(&svg, "curves");
    // The sample: an average of 0.1 an entry; sums of 1.5 an entry from the ninth on.
    for (panel, colour, entry, value) in [
        (upper, AVERAGE, 1.0, 0.1),
        (upper, AVERAGE, 12.0, 1.2),
        (lower, BLUE, 10.0, 3.0),
        (lower, BLUE, 12.0, 6.0),
    ] {
        let wanted = (
            by_ticks(&x_ticks, entry, AxisKind::Linear),
            by_ticks(&within(panel), value, AxisKind::Linear),
        );
        let nearest = curves
            .iter()
            .filter(|mark| mark.attributes["stroke"] == colour)
            .flat_map(Element::points)
            .map(|(x, y)| (x - wanted.0).hypot(y - wanted.1))
            .fold(f64::MAX, f64::min);
        assert!(
            nearest < 4.0,
            "{entry}, {value}: {nearest} tenths of a pixel off"
        );
    }
}

#[test]
fn every_signal_is_named_and_every_line_too() {
    let svg = svg(&batches());
    let labels = texts(&group(&svg, "labels"));
    for name in ["EWMA", "limit, CUSUM", "+3 sd", "−3 sd", "decision"] {
        assert!(
            labels.iter().any(|label| label == name),
            "{name}: {labels:?}"
        );
    }
    let all = all_text(&svg);
    for words in [
        "deviation z (sd)",
        "sum of z (sd)",
        "entry of the log",
        "moving average",
        "interval",
    ] {
        assert!(all.contains(words), "{words}: {all}");
    }
}

#[test]
fn a_chart_without_a_batch_says_so() {
    let empty = BatchesChart {
        points: Vec::new(),
        ..batches()
    };
    assert!(matches!(
        empty.draw_svg(ChartSize::default()),
        Err(ChartError::NothingToDraw {
            chart: "batches",
            ..
        })
    ));
}

#[test]
fn invented_batches_are_said_to_be_in_the_banner_and_across_both_panels() {
    let plain = batches();
    assert!(!all_text(&svg(&plain)).contains("invented data"));
    let mut invented = batches();
    invented.words.invented = true;
    let all = all_text(&svg(&invented));
    assert!(all.contains("This chart shows invented data"), "{all}");
    assert_eq!(all.matches("invented data").count(), 3, "{all}");
}
