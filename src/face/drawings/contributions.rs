//! What a heat time is least sure of, input by input.

use super::error::DrawingError;
use super::words::{needle_words, push_words, words};
use crate::chart::{ContributionBar, ContributionsChart};
use crate::face::answer_words::input_words;
use crate::fit::{BlendCalibration, Calibration, Lots};
use crate::plan::{TimeQuestion, heat_time};
use crate::units::display;

/// Shares of the inputs in what is not known of the heat time, the largest first.
///
/// # Errors
/// As for the answer about heat time.
pub fn contributions(
    calibration: &Calibration,
    blend: &BlendCalibration,
    question: &TimeQuestion,
) -> Result<ContributionsChart, DrawingError> {
    let answer = heat_time(blend, question)?;
    let allows_for_lots = blend.lots.as_ref().is_some_and(Lots::are_separate);
    let mut shares: Vec<(&str, f64)> = answer
        .contributions
        .iter()
        .map(|(name, share)| (name.as_str(), *share))
        .filter(|(name, _)| *name != "lot" || allows_for_lots)
        .collect();
    shares.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut bars: Vec<ContributionBar> = shares
        .iter()
        .map(|(name, share)| ContributionBar {
            label: input_words(name).to_owned(),
            helps: helps_words(name).to_owned(),
            share: Some(*share),
            share_words: share_words(*share),
        })
        .collect();
    if !allows_for_lots {
        bars.push(ContributionBar {
            label: input_words("lot").to_owned(),
            helps: helps_words("lot").to_owned(),
            share: None,
            share_words: "not known: no lots were told apart".to_owned(),
        });
    }
    let title = match shares.first() {
        Some((name, share)) => format!(
            "At {} through {} {} is the largest doubt of the heat time ({:.0} %); what helps most: {}{}",
            display::temperature(question.set_kelvin),
            needle_words(question),
            input_words(name),
            100.0 * share,
            helps_words(name),
            if allows_for_lots {
                ""
            } else {
                ". The spread between lots is not in it"
            }
        ),
        None => "Nothing that the heat time stands on is uncertain".to_owned(),
    };
    let mut words = words(calibration, blend, title, &push_words(blend, question));
    words.extrapolated = answer.assumptions.extrapolated;
    words.note = format!(
        "Each input varied alone: the squared half-width of the middle 68 % of ln heat time, over the sum.\n{}",
        words.note
    );
    Ok(ContributionsChart {
        words,
        share_name: format!(
            "share of what is not known of the heat time to {} (%)",
            display::force(question.setup.force_limit_n)
        ),
        bars,
    })
}

/// What would narrow an input; nothing is said of one that has no words yet.
fn helps_words(name: &str) -> &'static str {
    match name {
        "parameters" => "more readings; 'heatset next' names them",
        "lot" => "a reading series of another lot",
        "reading" => "mix, fill and read every syringe alike",
        "bore" => "measure the bore of the needles you use",
        "contact" => "one thermocouple run in your syringe",
        "friction" => "push an empty syringe over a scale",
        "flow" => "time the push with a stopwatch",
        "block_temperature" => "check the places of the block",
        _ => "",
    }
}

fn share_words(share: f64) -> String {
    if share > 0.0 && share < 0.005 {
        "under 1 %".to_owned()
    } else {
        format!("{:.0} %", 100.0 * share)
    }
}
