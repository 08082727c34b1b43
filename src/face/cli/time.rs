//! `heatset time`: how long to heat, for a person with a syringe in hand.

use super::block_check::set_check;
use super::output::Output;
use super::push_arguments::PushArguments;
use super::question_arguments::QuestionArguments;
use super::same_as::{self, KnownProtocol, Other, known_protocol};
use super::set_time::SetTimeAsked;
use super::{CliError, Context, time_of_reading};
use crate::face::answer_words::{assumed_line, stands_line, sure_line, thinning_line};
use crate::face::cautions;
use crate::face::time_words::in_words;
use crate::fit::set_time::SetTimeCalibration;
use crate::plan::{
    CoolingAsked, Least, TimeQuestion, Varied, block_says, corrected_kelvin, finest_needle,
    heat_time,
};
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
    /// A known protocol, '6min at 90C in 1mL': which heat time at --at in --syringe sets as far
    #[arg(long, value_name = "PROTOCOL", value_parser = known_protocol, requires = "at")]
    #[arg(conflicts_with_all = ["schedule", "least_force", "least_reading"])]
    same_as: Option<KnownProtocol>,
    /// Check of the block, from 'heatset blockcheck --out': its offset is added to --at
    #[arg(long, value_name = "CHECK.json", conflicts_with_all = ["schedule", "same_as"])]
    block_check: Option<PathBuf>,
    /// Temperature under which the core must be before the syringe is handed on
    #[arg(long, default_value = "37C", value_name = "TEMP", value_parser = units::temperature_kelvin)]
    #[arg(allow_hyphen_values = true)]
    cool_until: f64,
    /// The gel must need at least this push to be firm enough
    #[arg(long, value_name = "FORCE", value_parser = units::force_n, conflicts_with = "least_reading")]
    #[arg(allow_hyphen_values = true)]
    least_force: Option<f64>,
    /// The gel must read at least this to be firm enough: 0.5Pa.s
    #[arg(
        long,
        value_name = "READING",
        conflicts_with = "least_force",
        allow_hyphen_values = true
    )]
    least_reading: Option<String>,
    /// Answer for a new lot, spread between lots included (the default)
    #[arg(long, conflicts_with = "this_lot")]
    new_lot: bool,
    /// Answer for a lot of the bench
    #[arg(long, value_name = "CODE")]
    this_lot: Option<String>,
    /// Of a calibration of set times: what counts as set, where it has several criteria
    #[arg(long, value_name = "NAME")]
    criterion: Option<String>,
    /// Of a calibration of set times: when the push is that of its anchor again; of several the number
    #[arg(long, value_name = "N", num_args = 0..=1, require_equals = false)]
    #[arg(conflicts_with_all = ["schedule", "same_as", "least_force", "least_reading"])]
    same_push: Option<Option<usize>>,
    #[command(flatten)]
    push: PushArguments,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        if let Some(calibration) = SetTimeCalibration::read_if_set_time(&self.question.calibration)?
        {
            return self.of_set_time(&calibration, context);
        }
        if self.criterion.is_some() || self.same_push.is_some() {
            return Err(CliError::question(
                "--criterion and --same-push belong to a calibration of set times (from set and not-set), and this one is of readings.\nWhat helps: name the push: --gauge 29 --force 15N",
            ));
        }
        if let (Some(known), Some(set_kelvin)) = (&self.same_as, self.at) {
            if let Some(option) = self.push.asked() {
                return Err(CliError::question(format!(
                    "--same-as says which heat sets as far, and nothing of a push.\nWhat helps: leave {option} out; ask for the push without --same-as"
                )));
            }
            let other = Other {
                set_kelvin,
                barrel: &self.push.barrel_used()?,
                cooling: self.cooling(),
                seed: context.seed,
                json: context.json,
            };
            return same_as::answer(known, &self.question, &self.question.read()?, &other);
        }
        if let (Some(reading), None, Some(set_kelvin)) =
            (&self.least_reading, self.push.asked(), self.at)
        {
            let asked = self.question.read()?;
            if !asked.blend().answers_pushes() {
                let own;
                let blend = match &self.this_lot {
                    Some(lot) => {
                        own = asked.blend().for_lot(lot)?;
                        &own
                    }
                    None => asked.blend(),
                };
                let of = (blend, asked.calibration.invented);
                let barrel = self.push.barrel_used()?;
                let wanted = (set_kelvin, reading.as_str());
                return time_of_reading::answer(of, &self.question, &barrel, wanted, context);
            }
        }
        let any = self.push.any_needle();
        let (setup, needles) = if any {
            self.push.setup_and_needles()?
        } else {
            (self.push.setup()?, Vec::new())
        };
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
        let mut heated = heated;
        let check = self
            .block_check
            .as_deref()
            .map(|path| set_check(path, set_kelvin))
            .transpose()?;
        let block_set_kelvin = set_kelvin;
        let set_kelvin = match &check {
            Some(check) => {
                let (actual_kelvin, warnings) = corrected_kelvin(set_kelvin, check);
                heated.warnings.extend(warnings);
                actual_kelvin
            }
            None => set_kelvin,
        };
        let spread_k = check.as_ref().and_then(|check| check.place_spread_kelvin);
        let setup = self.question.doubts.applied(setup, spread_k)?;
        let question = TimeQuestion {
            set_kelvin,
            setup,
            thinning: self.question.stated_thinning(),
            least: least(
                self.least_force,
                self.least_reading.as_deref(),
                blend.reading,
            )?,
            warm_up: heated.warm_up,
            contact_histories: heated.contact_histories,
            cooling: self.cooling(),
            altitude_m: self.question.altitude_m(),
            extrapolate: self.question.extrapolate,
            draws: self.question.draws,
            varied: Varied::ALL,
            seed: context.seed,
            invented: asked.calibration.invented,
        };
        let (mut answer, question) = if any {
            finest_needle(blend, &question, &needles)?
        } else {
            (heat_time(blend, &question)?, question)
        };
        answer.warnings.extend(heated.warnings);
        if let Some(check) = &check {
            answer.block = Some(block_says(blend, &question, block_set_kelvin, check)?);
        }
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
        if let Some(line) = thinning_line(&answer.if_flow_index, &question.setup.needle.label()) {
            let _ = writeln!(text, "{line}");
        }
        let _ = writeln!(text, "\n{}", cautions::SHORT);
        Ok(Output::words(text).with_warnings(&answer.warnings))
    }

    /// The question to a calibration of set times.
    fn of_set_time(
        &self,
        calibration: &SetTimeCalibration,
        context: Context,
    ) -> Result<Output, CliError> {
        let refused = [
            (self.schedule.is_some(), "--schedule"),
            (self.least_force.is_some(), "--least-force"),
            (self.least_reading.is_some(), "--least-reading"),
            (self.block_check.is_some(), "--block-check"),
            (
                self.question.states_warm_up_or_fraction(),
                "--warm-up, --start-temp or --ha-fraction",
            ),
        ];
        let refused = refused
            .iter()
            .find(|(asked, _)| *asked)
            .map(|(_, name)| *name);
        SetTimeAsked {
            question: &self.question,
            push: &self.push,
            at: self.at,
            same_as: self.same_as.as_ref(),
            same_push: self.same_push,
            criterion: self.criterion.as_deref(),
            lot: self.this_lot.as_deref(),
            refused,
        }
        .answer(calibration, context)
    }

    /// Cooling after the block.
    fn cooling(&self) -> CoolingAsked {
        CoolingAsked {
            until_kelvin: self.cool_until,
            ambient_kelvin: self.question.heating.ambient,
            air_w_per_m2_kelvin: self.question.heating.air,
        }
    }
}

/// The least firmness that was asked for.
pub(super) fn least(
    least_force: Option<f64>,
    least_reading: Option<&str>,
    kind: ReadingKind,
) -> Result<Option<Least>, CliError> {
    if let Some(force_n) = least_force {
        return Ok(Some(Least::Force(force_n)));
    }
    let Some(text) = least_reading else {
        return Ok(None);
    };
    let dimension = match kind {
        ReadingKind::Viscosity | ReadingKind::Force | ReadingKind::RunTime => Dimension::Viscosity,
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
