//! `heatset time` of a calibration that says nothing of a push: when a reading is reached.

use super::output::Output;
use super::question_arguments::QuestionArguments;
use super::time::least;
use super::{CliError, Context};
use crate::face::answer_words::stands_line;
use crate::face::cautions;
use crate::face::reading_time_words::{interval, sentence};
use crate::fit::{BlendCalibration, Warning};
use crate::plan::{BarrelUsed, Least, ReadingTimeQuestion, reading_words, time_for_reading};
use serde::Serialize;
use std::fmt::Write as _;

/// The answer as one document.
#[derive(Serialize)]
struct Document<'a> {
    blend: &'a str,
    least_reading: f64,
    reading_unit: &'a str,
    #[serde(flatten)]
    answer: &'a crate::plan::ReadingTimeAnswer,
    invented: bool,
    warnings: &'a [Warning],
}

/// When the reading is reached at a set temperature.
pub(super) fn answer(
    (blend, invented): (&BlendCalibration, bool),
    question: &QuestionArguments,
    barrel: &BarrelUsed,
    (set_kelvin, reading): (f64, &str),
    context: Context,
) -> Result<Output, CliError> {
    let Some(Least::Reading(reading)) = least(None, Some(reading), blend.reading)? else {
        return Err(CliError::question(
            "Name the reading: --least-reading 100Pa",
        ));
    };
    let heated = question.heated(blend, barrel)?;
    let answer = time_for_reading(
        blend,
        &ReadingTimeQuestion {
            set_kelvin,
            reading,
            warm_up: heated.warm_up,
            contact_histories: heated.contact_histories,
            block_tolerance_k: question.doubts.block_tolerance_k(),
            altitude_m: question.altitude_m(),
            extrapolate: question.extrapolate,
            draws: question.draws,
            seed: context.seed,
        },
    )?;
    let mut warnings = blend.warnings.clone();
    warnings.extend(heated.warnings);
    if context.json {
        return Output::json(&Document {
            blend: &blend.blend,
            least_reading: reading,
            reading_unit: &blend.reading_unit,
            answer: &answer,
            invented,
            warnings: &warnings,
        });
    }
    let quantity = blend.reading.quantity();
    let mut text = String::new();
    if invented {
        text.push_str("INVENTED DATA: an answer for learning the tool, for nothing else.\n");
    }
    if answer.extrapolated {
        text.push_str("EXTRAPOLATED: this lies outside what was measured.\n");
    }
    let words = reading_words(blend, reading);
    let _ = writeln!(text, "{}", sentence(&answer, &words, quantity));
    if let Some(line) = interval(&answer) {
        let _ = writeln!(text, "  {line}");
    }
    let _ = writeln!(
        text,
        "\n{}\nBlend {} was measured as {quantity}, which says nothing about a push through a needle.\n\n{}",
        stands_line(&question.file_name(), blend),
        blend.blend,
        cautions::SHORT
    );
    Ok(Output::words(text).with_warnings(&warnings))
}
