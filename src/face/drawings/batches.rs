//! Batches against their predictions.

use crate::batches::{Basis, ControlSettings, Judged, Rule, Verdict};
use crate::chart::{BatchPoint, BatchesChart, ChartWords};
use crate::face::batches_words::{rule_name, verdict_sentence};
use crate::face::cautions;
use crate::units::display;

/// The control charts of a log; `stands_on` names the log, and what it is held against.
#[must_use]
pub fn batches(
    judged: &Judged,
    settings: &ControlSettings,
    stands_on: &str,
    invented: bool,
    extrapolated: bool,
) -> BatchesChart {
    let limits = judged.shewhart;
    let width = display::at_most(settings.shewhart_width_sigmas, 3);
    let (deviation_name, sum_name) = match settings.basis {
        Basis::Z => ("deviation z (sd)", "sum of z (sd)"),
        Basis::LnRatio => ("ln (reading / predicted)", "sum of ln ratio"),
    };
    let points = judged
        .charted
        .iter()
        .zip(judged.cusum.iter().zip(&judged.ewma))
        .map(|(charted, (cusum, ewma))| {
            let mut names: Vec<&str> = judged
                .signals
                .iter()
                .filter(|signal| signal.entry == charted.entry)
                .map(|signal| match signal.rule {
                    Rule::Interval => "interval",
                    Rule::Shewhart => "limit",
                    Rule::TwoOfThree => "two of three",
                    Rule::Cusum => "CUSUM",
                    Rule::Ewma => "EWMA",
                })
                .collect();
            names.dedup();
            BatchPoint {
                entry: charted.entry,
                deviation_in_unit: charted.value_in_unit,
                inside: charted.inside,
                average_in_unit: ewma.average_in_unit,
                average_limits_in_unit: [ewma.lower_in_unit, ewma.upper_in_unit],
                upper_sum_in_unit: cusum.upper_in_unit,
                lower_sum_in_unit: cusum.lower_in_unit,
                signal: names.join(", "),
            }
        })
        .collect();
    let title = match (judged.verdict, judged.because.first()) {
        (Some(Verdict::InLine), _) | (Some(_), None) | (None, _) => verdict_sentence(judged),
        (Some(_), Some(said)) => format!(
            "{}, from entry {}: {}",
            verdict_sentence(judged).trim_end_matches('.'),
            said.entry,
            rule_name(said.rule, settings)
        ),
    };
    BatchesChart {
        words: ChartWords {
            title,
            subtitle: stands_on.to_owned(),
            note: cautions::SHORT.replace("   heatset cautions", ""),
            invented,
            extrapolated,
        },
        deviation_name: deviation_name.to_owned(),
        sum_name: sum_name.to_owned(),
        limits_in_unit: limits.map_or([f64::NAN; 2], |l| [l.upper_in_unit(), l.lower_in_unit()]),
        limit_labels: [format!("+{width} sd"), format!("−{width} sd")],
        decision_in_unit: judged.cusum_decision_in_unit,
        points,
    }
}
