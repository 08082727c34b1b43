//! `heatset time`: how long to heat, for a person with a syringe in hand.

use super::output::Output;
use super::push_arguments::PushArguments;
use super::question_arguments::QuestionArguments;
use super::{CliError, Context};
use crate::face::answer_words::{assumed_line, stands_line, sure_line};
use crate::face::cautions;
use crate::face::time_words::in_words;
use crate::plan::{Least, TimeQuestion, Varied, heat_time};
use crate::readings::ReadingKind;
use crate::units::quantity::parse_quantity;
use crate::units::{self, Dimension};
use clap::Args;
use std::fmt::Write as _;
use std::path::PathBuf;

/// How long to heat until a plunger force is reached
#[derive(Debug, Args)]
pub(super) struct Arguments {
    #[command(flatten)]
    question: QuestionArguments,
    /// Set temperature of the block
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin, allow_hyphen_values = true)]
    #[arg(required_unless_present = "schedule", conflicts_with = "schedule")]
    at: Option<f64>,
    /// Heat schedule; its heat stage without a time is the one that is asked about
    #[arg(long, value_name = "FILE.toml")]
    schedule: Option<PathBuf>,
    /// The gel must need at least this push to be firm enough
    #[arg(long, value_name = "FORCE", value_parser = units::force_n, conflicts_with = "least_reading")]
    least_force: Option<f64>,
    /// The gel must read at least this to be firm enough: 0.5Pa.s
    #[arg(long, value_name = "READING", conflicts_with = "least_force")]
    least_reading: Option<String>,
    /// Answer for a new lot, spread between lots included (the default)
    #[arg(long, conflicts_with = "this_lot")]
    new_lot: bool,
    /// Answer for a lot of the bench
    #[arg(long, value_name = "CODE")]
    this_lot: Option<String>,
    #[command(flatten)]
    push: PushArguments,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        let setup = self.push.setup()?;
        let asked = self.question.read()?;
        let blend = asked.blend();
        let own;
        let blend = match &self.this_lot {
            Some(lot) => {
                own = blend.for_lot(lot)?;
                &own
            }
            None => blend,
        };
        let (heated, set_kelvin) = match (&self.schedule, self.at) {
            (Some(path), _) => self
                .question
                .heated_on_schedule(blend, &setup.barrel, path)?,
            (None, Some(at)) => (self.question.heated(blend, &setup.barrel)?, at),
            // The command line asks for one of both.
            (None, None) => return Err(CliError::question("Name a temperature: --at 86C")),
        };
        let question = TimeQuestion {
            set_kelvin,
            setup,
            thinning: self.question.stated_thinning(),
            least: self.least(blend.reading)?,
            warm_up: heated.warm_up,
            contact_histories: heated.contact_histories,
            altitude_m: self.question.altitude_m(),
            extrapolate: self.question.extrapolate,
            draws: self.question.draws,
            varied: Varied::ALL,
            seed: context.seed,
            invented: asked.calibration.invented,
        };
        let mut answer = heat_time(blend, &question)?;
        answer.warnings.extend(heated.warnings);
        if context.json {
            return Output::json(&answer);
        }
        let mut text = in_words(&answer, &question);
        let _ = writeln!(text, "\n{}", stands_line(&self.question.file_name(), blend));
        if let Some(line) = sure_line(&answer, blend) {
            let _ = writeln!(text, "{line}");
        }
        let _ = writeln!(
            text,
            "{}",
            assumed_line(
                &answer.assumptions,
                &question.setup,
                answer.at_aim.as_ref().map(|a| a.joint_pressure_pa)
            )
        );
        let _ = writeln!(text, "\n{}", cautions::SHORT);
        Ok(Output::words(text).with_warnings(&answer.warnings))
    }

    fn least(&self, kind: ReadingKind) -> Result<Option<Least>, CliError> {
        if let Some(force_n) = self.least_force {
            return Ok(Some(Least::Force(force_n)));
        }
        let Some(text) = &self.least_reading else {
            return Ok(None);
        };
        let dimension = match kind {
            ReadingKind::Viscosity | ReadingKind::Force => Dimension::Viscosity,
            ReadingKind::Modulus => Dimension::Pressure,
            ReadingKind::Firmness => Dimension::Number,
        };
        let value = parse_quantity(text, dimension)
            .map_err(|e| CliError::question(format!("--least-reading {text}: {e}")))?;
        if value <= 0.0 {
            return Err(CliError::question(format!(
                "--least-reading {text} asks for nothing; give a value above zero or leave it out"
            )));
        }
        Ok(Some(Least::Reading(value)))
    }
}
