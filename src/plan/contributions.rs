//! Which input contributes how much to what is not known of a heat time.

use super::draws::{Varied, quantile};
use super::heat_time::{Prepared, draw_times};
use super::time_question::TimeQuestion;
use std::collections::BTreeMap;

/// Share of each input: the squared half-width of the central 68 % of ln heat time with that input
/// alone, over their sum. For a normal distribution that is the variance; few lots have heavy tails,
/// whose variance a few thousand draws do not tell, while the middle of them does.
///
/// # Source
/// JCGM 101:2008, appendix B (one input at a time); the half-width in place of the standard
/// deviation is ours.
pub(super) fn contributions(
    question: &TimeQuestion,
    prepared: &Prepared,
    shortest: f64,
    longest: f64,
) -> BTreeMap<String, f64> {
    let none = Varied::NONE;
    let only = |set: fn(&mut Varied)| {
        let mut varied = none;
        set(&mut varied);
        varied
    };
    let mut inputs = vec![
        ("parameters", only(|v| v.parameters = true)),
        ("lot", only(|v| v.lot = true)),
        ("reading", only(|v| v.reading = true)),
        ("bore", only(|v| v.bore = true)),
        ("friction", only(|v| v.friction = true)),
        ("flow", only(|v| v.flow = true)),
        ("block_temperature", only(|v| v.block_temperature = true)),
    ];
    if !question.contact_histories.is_empty() {
        inputs.push(("contact", only(|v| v.contact = true)));
    }
    let draws = (question.draws / 10).clamp(500, 1000);
    let variances: Vec<(&str, f64)> = inputs
        .into_iter()
        .map(|(name, varied)| {
            let times = draw_times(question, prepared, varied, draws).passes_until_s;
            // Draws that pass from the start or never reach the limit count as far outside.
            let logs: Vec<f64> = times
                .iter()
                .map(|t| t.clamp(0.01 * shortest.max(1.0), 100.0 * longest).ln())
                .collect();
            let half_width = 0.5 * (quantile(&logs, 0.84) - quantile(&logs, 0.16));
            (name, half_width * half_width)
        })
        .collect();
    let whole: f64 = variances.iter().map(|v| v.1).sum();
    variances
        .into_iter()
        .map(|(name, variance)| {
            (
                name.to_owned(),
                if whole > 0.0 { variance / whole } else { 0.0 },
            )
        })
        .collect()
}
