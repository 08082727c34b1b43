//! What the page asks, read by the arguments of the commands: the same parsers, the same defaults, the
//! same refusals as at a terminal.
//!
//! The name of every option is written in this program ([`Stated::option`]); a form gives values alone.
//! No option that names a file is ever stated, and the places where a command names its files are
//! filled with names that nothing here opens.

use super::batches_add::{AddArguments, in_words};
use super::batches_chart::LogDrawing;
use super::batches_control::{ControlArguments, notes};
use super::batches_export::exported;
use super::chart::{self, Drawn};
use super::{CliError, Context, sheet};
use crate::batches::{ControlSettings, Entry, Judged};
use crate::chart::{BatchesChart, ChartSize};
use crate::face::sheet::Form;
use crate::fit::{Calibration, Warning};
use crate::plan::sheet::RunSheet;
use crate::plan::sheet::prices::PriceList;
use crate::readings::ReadingKind;
use crate::readings::write::csv_bytes;
use clap::error::{ContextKind, ContextValue, ErrorKind};
use std::error::Error as _;
use std::path::Path;

/// An option of a command, and what was typed for it; a switch has no value.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Stated {
    /// Its name, without dashes.
    pub(crate) option: &'static str,
    /// What was typed.
    pub(crate) value: Option<String>,
}

/// Why it cannot be served, and at which option.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Fault {
    /// The option; none where the question as a whole is at fault.
    pub(crate) option: Option<&'static str>,
    /// What, and what helps.
    pub(crate) message: String,
}

impl From<CliError> for Fault {
    fn from(error: CliError) -> Self {
        Self {
            option: None,
            message: error.to_string(),
        }
    }
}

/// What an answer stands on.
#[derive(Debug, Clone)]
pub(crate) struct StandsOn {
    /// The calibration.
    pub(crate) calibration: Calibration,
    /// Its name for people.
    pub(crate) name: String,
    /// SHA-256 of its document.
    pub(crate) sha256: String,
    /// Seed of the draws.
    pub(crate) seed: u64,
}

impl StandsOn {
    const fn context(&self) -> Context {
        Context {
            json: false,
            seed: self.seed,
            replace: false,
        }
    }
}

/// The chart of that kind, and its size.
pub(crate) fn chart(
    kind: &'static str,
    stated: &[Stated],
    on: StandsOn,
    log: Option<&Path>,
) -> Result<(Drawn, ChartSize), Vec<Fault>> {
    let never_written = never_written();
    let arguments: chart::Arguments = read(&[never_written], stated, &[kind, &on.name])?;
    let context = on.context();
    arguments
        .drawn_of(on.calibration, log, &on.sha256, context)
        .map_err(whole)
}

/// Words of all kinds of chart that the command knows.
#[cfg(test)]
pub(crate) fn chart_kinds() -> Vec<String> {
    chart::kinds()
}

/// What is wrong with the options of a chart by themselves.
pub(crate) fn chart_faults(kind: &'static str, stated: &[Stated]) -> Vec<Fault> {
    let never_written = never_written();
    let read = read::<chart::Arguments>(&[never_written], stated, &[kind, "calibration"]);
    read.err().unwrap_or_default()
}

/// What is wrong with the options of a sheet by themselves.
pub(crate) fn sheet_faults(stated: &[Stated]) -> Vec<Fault> {
    let read = read::<sheet::Arguments>(&[], stated, &["calibration"]);
    read.err().unwrap_or_default()
}

/// What is wrong with the options of a batch by themselves.
pub(crate) fn batch_faults(stated: &[Stated]) -> Vec<Fault> {
    let read = read::<AddArguments>(&[], stated, &["log", "calibration"]);
    let faults = read.err().unwrap_or_default();
    // What is lacking is said by whoever knows the fields.
    faults.into_iter().filter(|f| f.option.is_some()).collect()
}

fn never_written() -> Stated {
    Stated {
        option: "out",
        value: Some("picture.svg".to_owned()),
    }
}

/// The run sheet, and what stands on it.
pub(crate) fn run_sheet(
    stated: &[Stated],
    on: StandsOn,
    prices: Option<PriceList>,
) -> Result<(RunSheet, Form), Vec<Fault>> {
    let arguments: sheet::Arguments = read(&[], stated, &[&on.name])?;
    let context = on.context();
    arguments
        .made_of(on.calibration, prices, context)
        .map_err(whole)
}

/// Adds a batch to the log that was named when the page was started.
pub(crate) fn add_batch(stated: &[Stated], on: StandsOn, log: &Path) -> Result<Entry, Vec<Fault>> {
    let arguments: AddArguments = read(&[], stated, &["log", &on.name])?;
    let context = on.context();
    arguments
        .added_of(log, on.calibration, on.sha256, context)
        .map_err(whole)
}

/// The rules of the control charts, as a form states them.
pub(crate) fn control_settings(stated: &[Stated]) -> Result<ControlSettings, Vec<Fault>> {
    read::<ControlArguments>(&[], stated, &[])?
        .settings()
        .map_err(whole)
}

/// The chart of all batches of a log that were held against the newest calibration.
pub(crate) fn log_chart(log: &Path, settings: &ControlSettings) -> Result<BatchesChart, CliError> {
    Ok(LogDrawing::of(log, settings, None)?.chart)
}

/// The accepted entries as a bench table in CSV; `name` stands for the log in it.
pub(crate) fn log_csv(
    log: &Path,
    kind: Option<ReadingKind>,
    name: &str,
) -> Result<Vec<u8>, CliError> {
    Ok(csv_bytes(&exported(log, kind, name)?.table)?)
}

/// What an entry says.
pub(crate) fn entry_words(entry: &Entry) -> String {
    in_words(entry)
}

/// What the reader should know of a verdict.
pub(crate) fn log_notes(judged: &Judged) -> Vec<Warning> {
    notes(judged)
}

fn whole(error: CliError) -> Vec<Fault> {
    vec![Fault::from(error)]
}

/// Reads the arguments of a command.
///
/// # Errors
/// Every value that its parser refuses; else what is lacking or excludes something.
fn read<A: clap::Args>(
    fixed: &[Stated],
    stated: &[Stated],
    positions: &[&str],
) -> Result<A, Vec<Fault>> {
    let error = match parse::<A>(fixed.iter().chain(stated), positions) {
        Ok(arguments) => return Ok(arguments),
        Err(error) => error,
    };
    let of_values: Vec<Fault> = stated
        .iter()
        .filter_map(|one| {
            let error = parse::<A>(std::iter::once(one), positions).err()?;
            is_of_value(error.kind()).then(|| fault(&error, std::slice::from_ref(one)))
        })
        .collect();
    Err(if of_values.is_empty() {
        vec![fault(&error, stated)]
    } else {
        of_values
    })
}

fn parse<'a, A: clap::Args>(
    stated: impl Iterator<Item = &'a Stated>,
    positions: &[&str],
) -> Result<A, clap::Error> {
    // One word an option, its value behind '=': no value can become an option.
    let options = stated.map(|one| match &one.value {
        Some(value) => format!("--{}={value}", one.option),
        None => format!("--{}", one.option),
    });
    let words: Vec<String> = options
        .chain(std::iter::once("--".to_owned()))
        .chain(positions.iter().map(|word| (*word).to_owned()))
        .collect();
    let command = A::augment_args(
        clap::Command::new("heatset")
            .no_binary_name(true)
            .disable_help_flag(true)
            .disable_version_flag(true),
    );
    A::from_arg_matches(&command.try_get_matches_from(words)?)
}

fn is_of_value(kind: ErrorKind) -> bool {
    matches!(
        kind,
        ErrorKind::ValueValidation
            | ErrorKind::InvalidValue
            | ErrorKind::InvalidUtf8
            | ErrorKind::NoEquals
    )
}

/// What clap refuses, in our words.
fn fault(error: &clap::Error, stated: &[Stated]) -> Fault {
    let text = |kind| match error.get(kind) {
        Some(ContextValue::String(text)) => vec![text.clone()],
        Some(ContextValue::Strings(texts)) => texts.clone(),
        _ => Vec::new(),
    };
    let at = text(ContextKind::InvalidArg);
    let others = text(ContextKind::PriorArg);
    let named = |words: &[String]| -> Vec<String> {
        words.iter().map(|word| name_of(word).to_owned()).collect()
    };
    let option = at.first().and_then(|word| {
        let name = name_of(word).trim_start_matches('-');
        stated.iter().find(|one| one.option == name)
    });
    let message = match (error.kind(), error.source()) {
        (ErrorKind::ValueValidation, Some(why)) => why.to_string(),
        (ErrorKind::InvalidValue, _) => format!(
            "one of {} is meant",
            text(ContextKind::ValidValue).join(", ")
        ),
        (ErrorKind::ArgumentConflict, _) => format!(
            "{} and {} exclude each other.\nWhat helps: leave one of them out",
            named(&at).join(", "),
            named(&others).join(", ")
        ),
        (ErrorKind::MissingRequiredArgument, _) => format!(
            "This needs {} too.\nWhat helps: state it, or leave out what needs it",
            named(&at).join(", ")
        ),
        _ => format!(
            "{} cannot be read.\nWhat helps: state it once, and nothing but its value",
            if at.is_empty() {
                "What was typed".to_owned()
            } else {
                named(&at).join(", ")
            }
        ),
    };
    Fault {
        option: option.map(|one| one.option),
        message,
    }
}

/// '--gauge' of '--gauge <N|any>'.
fn name_of(word: &str) -> &str {
    word.split([' ', '=', '[']).next().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::face::demo_bench::{demo_calibration, demo_table};

    fn on_demo() -> StandsOn {
        StandsOn {
            calibration: demo_calibration(&demo_table().unwrap(), 1).unwrap(),
            name: "--log=elsewhere.json".to_owned(),
            sha256: String::new(),
            seed: 1,
        }
    }

    fn stated(option: &'static str, value: &str) -> Stated {
        Stated {
            option,
            value: Some(value.to_owned()),
        }
    }

    #[test]
    fn a_value_stays_a_value_whatever_stands_in_it() {
        let asked = [
            stated("blend", "plain"),
            stated("at", "85C --out=/tmp/elsewhere"),
            stated("length", "--replace"),
        ];
        let faults = chart("force", &asked, on_demo(), None).err().unwrap();
        let at: Vec<_> = faults.iter().filter_map(|fault| fault.option).collect();
        assert_eq!(at, ["at", "length"], "{faults:?}");
    }

    #[test]
    fn what_excludes_or_needs_something_says_what() {
        let of_barrel = [stated("syringe", "1mL"), stated("barrel", "4.7mm")];
        let faults = chart("force", &of_barrel, on_demo(), None).err().unwrap();
        assert!(
            faults[0].message.contains("exclude each other"),
            "{faults:?}"
        );
        let of_blood = [stated("at", "85C"), stated("blood", "20mL")];
        let faults = run_sheet(&of_blood, on_demo(), None).err().unwrap();
        assert!(faults[0].message.contains("--haematocrit"), "{faults:?}");
    }
}
