//! `heatset next`: which reading to take next.

use super::output::Output;
use super::push_arguments::PushArguments;
use super::question_arguments::QuestionArguments;
use super::{CliError, Context};
use crate::face::answer_words::stands_line;
use crate::face::cautions;
use crate::face::next_words::in_words;
use crate::plan::{AskedHeatTime, NextAnswer, NextQuestion, next_reading};
use crate::units;
use clap::Args;
use std::fmt::Write as _;

/// Which reading to take next: for a heat time that is asked about, or for all parameters
#[derive(Debug, Args)]
#[command(mut_arg("draws", |argument| argument.hide(true)))]
#[command(mut_args(of_a_heat_time))]
pub(super) struct Arguments {
    #[command(flatten)]
    question: QuestionArguments,
    /// Set temperature of the heat time to narrow; needs a needle
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin, allow_hyphen_values = true)]
    at: Option<f64>,
    #[command(flatten)]
    push: PushArguments,
}

/// What says something of a heat time only is refused where none is asked about.
fn of_a_heat_time(argument: clap::Arg) -> clap::Arg {
    const ASKED: [&str; 19] = [
        "warm_up",
        "start_temp",
        "flow_index",
        "shear_rate",
        "thinning",
        "wall",
        "bore_basis",
        "length",
        "syringe",
        "barrel",
        "flow",
        "friction",
        "tissue_pressure",
        "gel_temp",
        "end_losses",
        "force",
        "friction_tolerance",
        "flow_tolerance",
        "block_tolerance",
    ];
    if ASKED.contains(&argument.get_id().as_str()) {
        argument.requires("at")
    } else {
        argument
    }
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        let needle = self.push.needle()?;
        let setup = match (self.at, needle) {
            (Some(_), None) => {
                return Err(CliError::question(
                    "--at asks about a heat time, and no needle was named.\nWhat helps: name it: --gauge 29; or leave --at out for the reading that narrows all parameters",
                ));
            }
            (None, Some(needle)) => {
                return Err(CliError::question(format!(
                    "The heat time for a {} needle depends on the temperature of the block, and none was named.\nWhat helps: --at 86C; or leave the needle out for the reading that narrows all parameters",
                    needle.label()
                )));
            }
            (Some(_), Some(_)) => Some(self.question.doubts.applied(self.push.setup()?, None)?),
            (None, None) => None,
        };
        let read = self.question.read()?;
        let blend = read.measured_blend()?;
        let asked = self
            .at
            .zip(setup)
            .map(|(set_kelvin, setup)| -> Result<AskedHeatTime, CliError> {
                Ok(AskedHeatTime {
                    set_kelvin,
                    warm_up: self.question.heated(blend, &setup.barrel)?.warm_up,
                    setup,
                    thinning: self.question.stated_thinning(),
                })
            })
            .transpose()?;
        let question = NextQuestion {
            asked,
            altitude_m: self.question.altitude_m(),
            extrapolate: self.question.extrapolate,
            invented: read.calibration.invented,
        };
        let answer = next_reading(blend, &question)?;
        if context.json {
            return Output::json(&Document {
                answer: &answer,
                assumptions: question
                    .asked
                    .as_ref()
                    .map(|asked| self.push.assumptions(&asked.setup))
                    .transpose()?,
                invented: question.invented,
            });
        }
        let mut text = in_words(blend, &answer, &question);
        let _ = writeln!(text, "\n{}", stands_line(&self.question.file_name(), blend));
        if let Some(asked) = &question.asked {
            let assumed = self.push.assumed_words(&asked.setup)?;
            let _ = writeln!(text, "Assumed: {}.", assumed.join("; "));
        }
        let _ = writeln!(text, "\n{}", cautions::SHORT);
        Ok(Output::words(text).with_warnings(&answer.warnings))
    }
}

/// The answer as one document.
#[derive(serde::Serialize)]
struct Document<'a, Assumed> {
    #[serde(flatten)]
    answer: &'a NextAnswer,
    assumptions: Option<Assumed>,
    invented: bool,
}
