//! A calibration that may be left out, with all that a question to it takes.

use super::question_arguments::QuestionArguments;
use clap::{ArgMatches, Args, Command, FromArgMatches};

/// The argument that names the calibration.
const CALIBRATION: &str = "calibration";

/// The options that state in its place what is to be matched.
const STATED: [&str; 2] = ["push", "viscosity"];

/// The question to a calibration, where one is named; its options are refused beside a stated push.
#[derive(Debug, Clone)]
pub(super) struct OptionalQuestion(pub(super) Option<QuestionArguments>);

impl Args for OptionalQuestion {
    fn augment_args(command: Command) -> Command {
        let question = QuestionArguments::augment_args(Command::new("question"));
        question.get_arguments().fold(command, |command, argument| {
            let argument = argument.clone();
            command.arg(if argument.get_id() == CALIBRATION {
                argument.required(false)
            } else {
                argument.conflicts_with_all(STATED)
            })
        })
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}

impl FromArgMatches for OptionalQuestion {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        if matches.contains_id(CALIBRATION) {
            QuestionArguments::from_arg_matches(matches).map(|question| Self(Some(question)))
        } else {
            Ok(Self(None))
        }
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}
