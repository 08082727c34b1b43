//! `heatset time` on a calibration of set times.

use super::output::Output;
use super::push_arguments::PushArguments;
use super::question_arguments::QuestionArguments;
use super::same_as::KnownProtocol;
use super::{CliError, Context};
use crate::face::cautions;
use crate::face::set_time_words::{
    same_push_in_words, same_setting_in_words, stands_line, time_in_words,
};
use crate::fit::Warning;
use crate::fit::set_time::{SetTimeBlend, SetTimeCalibration};
use crate::plan::set_time::{SetTimeQuestion, same_push, same_setting, set_time};
use serde::Serialize;

/// What is asked.
pub(super) struct SetTimeAsked<'a> {
    pub(super) question: &'a QuestionArguments,
    pub(super) push: &'a PushArguments,
    pub(super) at: Option<f64>,
    pub(super) same_as: Option<&'a KnownProtocol>,
    pub(super) same_push: Option<Option<usize>>,
    pub(super) criterion: Option<&'a str>,
    pub(super) lot: Option<&'a str>,
    /// An option that only readings can serve.
    pub(super) refused: Option<&'static str>,
}

/// What is said of a force.
const NO_FORCE: &str = "This calibration knows when the gel sets, from set and not-set, and not how firm it is: it cannot say when a push reaches a force";

impl SetTimeAsked<'_> {
    /// Answers.
    pub(super) fn answer(
        &self,
        calibration: &SetTimeCalibration,
        context: Context,
    ) -> Result<Output, CliError> {
        let Some(set_kelvin) = self.at.filter(|_| self.refused.is_none()) else {
            return Err(CliError::question(format!(
                "{} belongs to a calibration of readings, and this one knows when the gel sets and nothing else.\nWhat helps: --at 84C, alone, with --same-as '6min at 90C', or with --same-push",
                self.refused.unwrap_or("--schedule")
            )));
        };
        let asks_push = self.same_push.is_some();
        // With an anchor's push a needle is served, and a limit to hold it against.
        if let (Some(option), false) = (self.push.asked(), asks_push) {
            return Err(CliError::question(format!(
                "{NO_FORCE} ({option}).\nWhat helps: leave the push out and ask when it has set; --same-push asks when a push is that of the anchor again, where the bench has one; a bench of readings answers for a force"
            )));
        }
        if self.same_as.is_some_and(|known| known.syringe.is_some())
            || self.push.names_barrel() && !asks_push
        {
            return Err(CliError::question(
                "Set times hold for the syringe that was looked at, warm-up and all: they cannot be carried to another.\nWhat helps: leave the syringe out, --same-as '6min at 90C'",
            ));
        }
        let blend = calibration.blend(self.question.blend_name())?;
        let question = SetTimeQuestion {
            set_kelvin,
            criterion: self.criterion.map(str::to_owned),
            lot: self.lot.map(str::to_owned),
            altitude_m: self.question.altitude_m(),
            extrapolate: self.question.extrapolate,
            draws: self.question.draws,
            seed: context.seed,
            invented: calibration.invented,
        };
        if let Some(known) = self.same_as {
            let found = same_setting(blend, &question, known.set_kelvin, known.heat_time_s)?;
            let words = same_setting_in_words(&found);
            return self.output(&found, &words, &found.warnings, blend, context);
        }
        if let Some(number) = self.same_push {
            let needle = self.push.needle()?;
            if needle.is_none() && (self.push.states_force() || self.push.any_needle()) {
                return Err(CliError::question(
                    "A force is held against a push through a needle that is named.\nWhat helps: --same-push --gauge 27 --force 15N",
                ));
            }
            let setup = match needle {
                Some(_) => {
                    let setup = self.push.setup()?;
                    setup.check_force(setup.force_limit_n)?;
                    Some(self.question.doubts.applied(setup, None)?)
                }
                None => None,
            };
            let index = self.question.flow_index();
            let found = same_push(blend, &question, number, setup.as_ref(), index)?;
            let words = same_push_in_words(&found);
            return self.output(&found, &words, &found.warnings, blend, context);
        }
        let found = set_time(blend, &question)?;
        let words = time_in_words(&found, blend.criteria.len() > 1);
        self.output(&found, &words, &found.warnings, blend, context)
    }

    fn output<Answer: Serialize>(
        &self,
        answer: &Answer,
        words: &str,
        warnings: &[Warning],
        blend: &SetTimeBlend,
        context: Context,
    ) -> Result<Output, CliError> {
        if context.json {
            return Output::json(answer);
        }
        let stands = stands_line(&self.question.file_name(), blend, self.lot.is_none());
        let text = format!("{words}\n{stands}\n\n{}\n", cautions::SHORT);
        // What the words above say already is not said twice.
        let said = ["clock_includes_warm_up", "invented_data"];
        let rest: Vec<Warning> = warnings
            .iter()
            .filter(|w| !said.contains(&w.code.as_str()))
            .cloned()
            .collect();
        Ok(Output::words(text).with_warnings(&rest))
    }
}
