//! `heatset batches add`: one batch into the log, held against its prediction.

use super::batches::sha256_of_file;
use super::batches_control::{ControlArguments, notes};
use super::batches_document::{ControlDocument, EntryDocument, VerdictDocument};
use super::output::Output;
use super::push_arguments::PushArguments;
use super::question_arguments::{Asked, QuestionArguments};
use super::{CliError, Context};
use crate::batches::{
    self, BatchLog, Codes, Entry, Judged, NeedlePush, NewEntry, Prediction, Reading, judge,
};
use crate::face::answer_words::stands_line;
use crate::face::batches_words::{predicted_words, reading_words, verdict_words};
use crate::face::cautions;
#[cfg(feature = "page")]
use crate::fit::Calibration;
use crate::fit::{Warning, created_now};
use crate::plan::{
    CoolingAsked, ForceQuestion, PredictedReading, history_words, predicted_force,
    predicted_viscosity,
};
use crate::thermal::check_not_boiling;
use crate::units::{self, display};
use clap::{Args, ValueEnum};
use serde::Serialize;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// Adds a batch to the log, held against what the calibration predicts of a new lot
#[derive(Debug, Args)]
#[command(mut_arg("force", |argument| argument.hide(true)))]
pub(super) struct AddArguments {
    /// The log; begun where there is no file
    #[arg(value_name = "LOG")]
    log: PathBuf,
    #[command(flatten)]
    question: QuestionArguments,
    /// Code of the donor draw; never a name
    #[arg(long, value_name = "CODE")]
    lot: String,
    /// Code of who heated and read
    #[arg(long, value_name = "CODE")]
    operator: Option<String>,
    /// Code of the heating block
    #[arg(long, value_name = "CODE")]
    block: Option<String>,
    /// Code of the place in the block
    #[arg(long, value_name = "CODE")]
    place: Option<String>,
    /// Code of the session
    #[arg(long, value_name = "CODE")]
    session: Option<String>,
    /// Set temperature of the block
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin, allow_hyphen_values = true)]
    at: f64,
    /// Heat time on the clock
    #[arg(long, value_name = "TIME", value_parser = units::duration_s, allow_hyphen_values = true)]
    heat_time: f64,
    /// Plunger force that was read through the needle
    #[arg(long, value_name = "FORCE", value_parser = units::force_n, conflicts_with_all = ["viscosity_read", "bubble_held"])]
    force_read: Option<f64>,
    /// Viscosity that was read, at the shear rate and temperature of the calibration's bench
    #[arg(long, value_name = "VISCOSITY", value_parser = units::viscosity_pa_s, conflicts_with = "bubble_held")]
    viscosity_read: Option<f64>,
    /// Whether an air bubble stayed in the tilted barrel: logged, not judged
    #[arg(long, value_enum, value_name = "ANSWER")]
    bubble_held: Option<YesNo>,
    /// Number of the entry that this one replaces
    #[arg(long, value_name = "N")]
    corrects: Option<u64>,
    /// A refit may take it, inside its interval or not: the reading was taken well
    #[arg(long, conflicts_with = "leave_out")]
    accept: bool,
    /// No refit may take it
    #[arg(long)]
    leave_out: bool,
    #[command(flatten)]
    control: ControlArguments,
    #[command(flatten)]
    push: PushArguments,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum YesNo {
    Yes,
    No,
}

#[derive(Serialize)]
struct Document<'a> {
    log: String,
    added: EntryDocument<'a>,
    #[serde(flatten)]
    verdict: VerdictDocument<'a>,
    control: ControlDocument<'a>,
    warnings: &'a [Warning],
}

/// What is known of a reading before it is in the log.
struct Held {
    reading: Reading,
    predicted: Option<PredictedReading>,
    gel_kelvin: Option<f64>,
    warm_up: String,
    warnings: Vec<Warning>,
}

impl AddArguments {
    pub(super) fn run(&self, context: Context) -> Result<Output, CliError> {
        let settings = self.control.settings()?;
        let codes = self.codes()?;
        let asked = self.question.read()?;
        let sha256 = sha256_of_file(&self.question.calibration)?;
        let (entry, mut warnings) = self.added(&self.log, codes, &asked, sha256, context)?;
        let judged = judge(&BatchLog::open(&self.log)?.held(None)?, &settings);
        warnings.extend(notes(&judged));
        if context.json {
            return Output::json(&Document {
                log: self.log.display().to_string(),
                added: EntryDocument::of(&entry),
                verdict: VerdictDocument::of(&judged),
                control: ControlDocument::of(&judged, &settings),
                warnings: &warnings,
            });
        }
        let mut text = in_words(&entry);
        let _ = writeln!(text, "\n{}", self.verdict(&judged)?);
        let _ = writeln!(
            text,
            "\n{}",
            stands_line(&self.question.file_name(), asked.blend())
        );
        let _ = writeln!(
            text,
            "Entry {} of {}; head of the chain {}.",
            entry.number,
            self.log.display(),
            crate::readings::table::hexadecimal(entry.hash.get(..6).unwrap_or_default())
        );
        let _ = writeln!(text, "\n{}", cautions::SHORT);
        Ok(Output::words(text).with_warnings(&warnings))
    }

    /// Adds the batch to a log that another face was told of, held against a calibration that is at
    /// hand; `sha256` is that of its document.
    #[cfg(feature = "page")]
    pub(super) fn added_of(
        &self,
        log: &Path,
        calibration: Calibration,
        sha256: String,
        context: Context,
    ) -> Result<Entry, CliError> {
        let codes = self.codes()?;
        let asked = self.question.of(calibration)?;
        Ok(self.added(log, codes, &asked, sha256, context)?.0)
    }

    /// Adds the batch, and says what is to be known of it.
    fn added(
        &self,
        log: &Path,
        codes: Codes,
        asked: &Asked,
        calibration_sha256: String,
        context: Context,
    ) -> Result<(Entry, Vec<Warning>), CliError> {
        let blend = asked.blend();
        let held = self.held(asked, context)?;
        let prediction = match (&held.predicted, held.reading.value_in_unit()) {
            (Some(predicted), Some(value)) => Prediction::of_reading(
                value,
                &predicted.sorted_draws,
                predicted.median_in_unit,
                predicted.interval95_in_unit,
            ),
            _ => None,
        };
        let judged_number = prediction.is_some_and(|p| p.inside);
        let new = NewEntry {
            time: created_now(),
            codes,
            blend: blend.blend.clone(),
            ha_fraction: blend.ha_fraction,
            heated: batches::Heated {
                set_kelvin: self.at,
                heat_time_s: self.heat_time,
                warm_up: held.warm_up,
            },
            reading: held.reading,
            gel_kelvin: held.gel_kelvin,
            prediction,
            calibration_sha256,
            version: env!("CARGO_PKG_VERSION").to_owned(),
            invented: asked.calibration.invented,
            extrapolated: held.predicted.as_ref().is_some_and(|p| p.extrapolated),
            accepted: !self.leave_out && (self.accept || judged_number),
            corrects: self.corrects,
        };
        let mut to = if self.corrects.is_some() {
            BatchLog::open(log)?
        } else {
            BatchLog::open_or_create(log)?
        };
        let entry = to.append(&new)?;
        let mut warnings = held.warnings;
        warnings.extend(held.predicted.map(|p| p.warnings).unwrap_or_default());
        Ok((entry, warnings))
    }

    fn verdict(&self, judged: &Judged) -> Result<String, CliError> {
        Ok(verdict_words(judged, &self.control.settings()?))
    }

    fn codes(&self) -> Result<Codes, CliError> {
        let maybe = |what: &'static str, text: &Option<String>| {
            text.as_deref()
                .map(|text| batches::code(what, text))
                .transpose()
        };
        Ok(Codes {
            lot: batches::code("lot", &self.lot)?,
            operator: maybe("operator", &self.operator)?,
            block: maybe("block", &self.block)?,
            place: maybe("place", &self.place)?,
            session: maybe("session", &self.session)?,
        })
    }

    /// The reading with what is predicted of it.
    fn held(&self, asked: &Asked, context: Context) -> Result<Held, CliError> {
        let blend = asked.blend();
        check_not_boiling(self.at, self.question.altitude_m())?;
        let needle = self.push.needle()?;
        let setup = if self.force_read.is_some() {
            self.push.setup()?
        } else if needle.is_some() {
            return Err(CliError::question(
                "A needle was named, and no force that was read through it.\nWhat helps: --force-read 11.5N; or leave --gauge and --bore out",
            ));
        } else {
            self.push.setup_and_needles()?.0
        };
        let setup = self.question.doubts.applied(setup, None)?;
        let heated = self.question.heated(blend, &setup.barrel)?;
        let warm_up = history_words(heated.warm_up.as_ref().unwrap_or(&blend.warm_up()));
        let question = ForceQuestion {
            set_kelvin: self.at,
            heat_time_s: self.heat_time,
            setup: setup.clone(),
            needles: Vec::new(),
            thinning: self.question.stated_thinning(),
            warm_up: heated.warm_up,
            contact_histories: heated.contact_histories,
            cooling: CoolingAsked {
                until_kelvin: super::warmup_findings::COOL_KELVIN,
                ambient_kelvin: self.question.heating.ambient,
                air_w_per_m2_kelvin: self.question.heating.air,
            },
            altitude_m: self.question.altitude_m(),
            extrapolate: self.question.extrapolate,
            draws: self.question.draws,
            seed: context.seed,
            invented: asked.calibration.invented,
        };
        let shear_rate_per_s = question
            .thinning
            .shear_rate_per_s
            .or(blend.reference_shear_rate_per_s);
        let (reading, predicted, gel_kelvin) = match (
            self.force_read,
            self.viscosity_read,
            self.bubble_held,
        ) {
            (Some(force_n), _, _) => {
                setup.check_force(force_n)?;
                let reading = Reading::PlungerForce {
                    force_n,
                    push: NeedlePush {
                        gauge: setup.needle.gauge,
                        wall: setup.needle.wall,
                        bore_m: setup.needle.bore_m,
                        length_m: setup.needle.length_m,
                        syringe: setup.barrel.syringe.clone(),
                        barrel_bore_m: setup.barrel.bore_m,
                        flow_rate_m3_per_s: setup.flow_rate_m3_per_s,
                        friction_n: setup.friction_n,
                    },
                };
                let predicted = predicted_force(blend, &question)?;
                (
                    reading,
                    Some(predicted),
                    setup.gel_kelvin.or(blend.read_temp_k),
                )
            }
            (None, Some(viscosity_pa_s), _) => {
                let reading = Reading::Viscosity {
                    viscosity_pa_s,
                    shear_rate_per_s,
                };
                let predicted = predicted_viscosity(blend, &question)?;
                (reading, Some(predicted), blend.read_temp_k)
            }
            (None, None, Some(answer)) => {
                let held = matches!(answer, YesNo::Yes);
                (Reading::Bubble { held }, None, None)
            }
            (None, None, None) => {
                return Err(CliError::question(
                    "Nothing was read of this batch.\nWhat helps: --force-read 11.5N with --gauge 27, --viscosity-read 2Pa.s, or --bubble-held yes",
                ));
            }
        };
        Ok(Held {
            reading,
            predicted,
            gel_kelvin,
            warm_up,
            warnings: heated.warnings,
        })
    }
}

/// What the entry says, first line first.
pub(super) fn in_words(entry: &Entry) -> String {
    let mut text = String::new();
    let entered = &entry.entered;
    if entered.invented {
        text.push_str("INVENTED DATA: an entry for learning the tool, for nothing else.\n");
    }
    if entered.extrapolated {
        text.push_str("EXTRAPOLATED: this lies outside what was measured.\n");
    }
    let read = reading_words(&entered.reading);
    let heated = format!(
        "{} at {}",
        display::duration(entered.heated.heat_time_s),
        display::temperature(entered.heated.set_kelvin)
    );
    let Some(predicted) = &entered.prediction else {
        let _ = writeln!(
            text,
            "Lot {}, {heated}: {read}. Logged; it is no number to judge.",
            entered.codes.lot
        );
        return text;
    };
    let _ = writeln!(
        text,
        "Lot {}, {heated}: {read}, {} its interval; predicted {}.",
        entered.codes.lot,
        if predicted.inside {
            "inside"
        } else {
            "outside"
        },
        predicted_words(entry)
    );
    let _ = writeln!(
        text,
        "  Deviation z = {:+.2} sd; {} times the predicted median.",
        predicted.z_sd,
        display::significant(predicted.ln_ratio.exp(), 3)
    );
    let _ = writeln!(
        text,
        "  {}",
        if entered.accepted {
            "A refit may take it."
        } else if predicted.inside {
            "Left out of a refit, as asked."
        } else {
            "Left out of a refit. If it was read well: once more with --corrects and --accept."
        }
    );
    if let Some(number) = entered.corrects {
        let _ = writeln!(
            text,
            "  It replaces entry {number}, which stays in the log."
        );
    }
    text
}
