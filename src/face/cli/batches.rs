//! `heatset batches`: the log of batches.

use super::batches_add::AddArguments;
use super::batches_document::{ControlDocument, EntryDocument, VerdictDocument};
use super::output::{Output, check_free, write_file, write_table};
use super::text_table::{Side, TextTable};
use super::{CliError, Context};
use crate::batches::{
    Basis, BatchLog, ControlSettings, Entry, Judged, accepted_bench, accepted_entries, judge,
};
use crate::chart::{Chart, ChartFormat, ChartSize};
use crate::face::batches_words::{
    altered_words, control_words, predicted_words, reading_words, state_words, verdict_words,
};
use crate::face::{cautions, drawings};
use crate::fit::Warning;
use crate::readings::table::hexadecimal;
use crate::readings::write::csv_bytes;
use crate::readings::{BenchTable, ReadingKind};
use crate::units::display;
use clap::{Args, Subcommand, ValueEnum};
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// Entries that are shown where nobody says how many.
const SHOWN: usize = 20;

/// A log of batches, each held against its prediction; control charts show drift
#[derive(Debug, Args)]
pub(super) struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Adds a batch to the log, held against its prediction.
    Add(Box<AddArguments>),
    /// The newest entries, the limits, and the verdict.
    List(ListArguments),
    /// Follows the chain: whether anything was altered, and where.
    Check(CheckArguments),
    /// Draws the control charts of a log.
    Chart(ChartArguments),
    /// Accepted entries as a bench table, for a refit.
    Export(ExportArguments),
}

/// Rules and their numbers.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Control charts")]
pub(super) struct ControlArguments {
    /// What is charted: z, the deviation in standard deviations of the prediction; or ratio, the
    /// logarithm of reading over prediction, its spread from the moving ranges
    #[arg(long, value_enum, default_value_t = OfChoice::Z, value_name = "WHAT")]
    of: OfChoice,
    /// Let two of three batches in a row beyond 2 sd, on one side, signal too
    #[arg(long)]
    two_of_three: bool,
    /// Allowance of the cumulative sum, in sd: half the shift to be found
    #[arg(long, default_value_t = 0.5, value_name = "K", value_parser = from_0_to_5)]
    cusum_k: f64,
    /// Decision value of the cumulative sum, in sd
    #[arg(long, default_value_t = 5.0, value_name = "H", value_parser = from_0_to_20)]
    cusum_h: f64,
    /// Weight of the newest batch in the moving average
    #[arg(long, default_value_t = 0.2, value_name = "W", value_parser = weight)]
    ewma_weight: f64,
    /// Half the width of the moving average's limits, in its sd
    #[arg(long, default_value_t = 2.962, value_name = "L", value_parser = from_0_to_5)]
    ewma_width: f64,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum OfChoice {
    Z,
    Ratio,
}

impl ControlArguments {
    pub(super) fn settings(&self) -> Result<ControlSettings, CliError> {
        Ok(ControlSettings {
            basis: match self.of {
                OfChoice::Z => Basis::Z,
                OfChoice::Ratio => Basis::LnRatio,
            },
            two_of_three: self.two_of_three,
            cusum_allowance_sigmas: self.cusum_k,
            cusum_decision_sigmas: self.cusum_h,
            ewma_weight_ratio: self.ewma_weight,
            ewma_width_sigmas: self.ewma_width,
            ..ControlSettings::default()
        })
    }
}

#[derive(Debug, Args)]
struct ListArguments {
    /// The log
    #[arg(value_name = "LOG")]
    log: PathBuf,
    /// How many of the newest entries to show [default: 20; with --json all]
    #[arg(long, value_name = "N", conflicts_with = "all")]
    last: Option<usize>,
    /// Show all entries
    #[arg(long)]
    all: bool,
    #[command(flatten)]
    control: ControlArguments,
}

#[derive(Debug, Args)]
struct CheckArguments {
    /// The log
    #[arg(value_name = "LOG")]
    log: PathBuf,
    /// Head of the chain as it was written down before, 8 digits or more: shows what a chain by itself
    /// cannot, that the end was cut off or all of it written anew
    #[arg(long, value_name = "HEX")]
    head: Option<String>,
}

#[derive(Debug, Args)]
struct ChartArguments {
    /// The log
    #[arg(value_name = "LOG")]
    log: PathBuf,
    /// File to write; its ending says whether it is SVG or PNG
    #[arg(long, value_name = "NAME.svg")]
    out: PathBuf,
    /// Size in pixels
    #[arg(long, default_value = "1200x800", value_name = "WxH", value_parser = size)]
    size: ChartSize,
    /// Title in place of the chart's own finding
    #[arg(long, value_name = "TEXT")]
    title: Option<String>,
    #[command(flatten)]
    control: ControlArguments,
}

#[derive(Debug, Args)]
struct ExportArguments {
    /// The log
    #[arg(value_name = "LOG")]
    log: PathBuf,
    /// Bench table to write
    #[arg(long, value_name = "FILE.csv|.xlsx")]
    out: PathBuf,
    /// Which readings, where the log has both
    #[arg(long, value_enum, value_name = "KIND")]
    reading: Option<KindChoice>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum KindChoice {
    Force,
    Viscosity,
}

#[derive(Serialize)]
struct ListDocument<'a> {
    log: String,
    entries_in_log: u64,
    entries: Vec<EntryDocument<'a>>,
    #[serde(flatten)]
    verdict: VerdictDocument<'a>,
    control: ControlDocument<'a>,
    warnings: &'a [Warning],
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        match self.command {
            Command::Add(a) => a.run(context),
            Command::List(a) => a.run(context),
            Command::Check(a) => a.run(context),
            Command::Chart(a) => a.run(context),
            Command::Export(a) => a.run(context),
        }
    }
}

impl ListArguments {
    fn run(&self, context: Context) -> Result<Output, CliError> {
        let settings = self.control.settings()?;
        let log = BatchLog::open(&self.log)?;
        let held = log.held(None)?;
        let judged = judge(&held, &settings);
        let warnings = notes(&judged);
        let shown = match self.last {
            Some(count) => count,
            None if self.all || context.json => usize::MAX,
            None => SHOWN,
        };
        let newest = log.newest(shown)?;
        let in_log = log.count()?;
        if context.json {
            return Output::json(&ListDocument {
                log: self.log.display().to_string(),
                entries_in_log: in_log,
                entries: newest.iter().map(EntryDocument::of).collect(),
                verdict: VerdictDocument::of(&judged),
                control: ControlDocument::of(&judged, &settings),
                warnings: &warnings,
            });
        }
        let mut text = String::new();
        if held.invented || newest.iter().any(|e| e.entered.invented) {
            text.push_str("INVENTED DATA: for learning the tool, for nothing else.\n");
        }
        let _ = writeln!(text, "{}\n", verdict_words(&judged, &settings));
        if !newest.is_empty() {
            text.push_str(&table(&newest));
            text.push('\n');
        }
        if (newest.len() as u64) < in_log {
            let _ = writeln!(
                text,
                "The newest {} of {} entries; --all shows every one.",
                newest.len(),
                in_log
            );
        }
        if let Some(line) = control_words(&judged, &settings) {
            let _ = writeln!(text, "{line}");
        }
        let _ = writeln!(text, "\n{}", cautions::SHORT);
        Ok(Output::words(text).with_warnings(&warnings))
    }
}

/// Entries one a line.
fn table(entries: &[Entry]) -> String {
    let mut table = TextTable::new([
        ("entry", Side::Right),
        ("time (UTC)", Side::Left),
        ("lot", Side::Left),
        ("heated", Side::Left),
        ("read", Side::Right),
        ("predicted (95 %)", Side::Right),
        ("z (sd)", Side::Right),
        ("interval", Side::Left),
        ("refit", Side::Left),
    ]);
    for entry in entries {
        let entered = &entry.entered;
        let minute = entered.time.get(..16).unwrap_or(&entered.time);
        table.push([
            entry.number.to_string(),
            minute.replace('T', " "),
            entered.codes.lot.clone(),
            format!(
                "{}, {}",
                display::temperature(entered.heated.set_kelvin),
                display::duration(entered.heated.heat_time_s)
            ),
            reading_words(&entered.reading),
            predicted_words(entry),
            entered
                .prediction
                .map_or_else(|| "-".to_owned(), |p| format!("{:+.2}", p.z_sd)),
            match entered.prediction {
                Some(p) if p.inside => "inside".to_owned(),
                Some(_) => "outside".to_owned(),
                None => "-".to_owned(),
            },
            state_words(entry),
        ]);
    }
    table.text(2)
}

impl CheckArguments {
    fn run(&self, context: Context) -> Result<Output, CliError> {
        let check = BatchLog::open(&self.log)?.check(self.head.as_deref())?;
        if !check.altered.is_empty() {
            let places: Vec<String> = check
                .altered
                .iter()
                .take(SHOWN)
                .map(|place| format!("  {}", altered_words(place)))
                .collect();
            let more = check.altered.len().saturating_sub(SHOWN);
            return Err(CliError::question(format!(
                "{} is not as it was written: {}, with {} entries now.\n{}{}\nWhat helps: go back to a copy from before, and keep the head of the chain elsewhere",
                self.log.display(),
                if check.altered.len() == 1 {
                    "1 fault".to_owned()
                } else {
                    format!("{} faults", check.altered.len())
                },
                check.entries,
                places.join("\n"),
                if more > 0 {
                    format!("\n  and {more} more")
                } else {
                    String::new()
                }
            )));
        }
        if context.json {
            return Output::json(&serde_json::json!({
                "log": self.log.display().to_string(),
                "entries": check.entries,
                "head": check.head,
                "whole": true,
                "altered": check.altered,
            }));
        }
        Ok(Output::words(format!(
            "The chain is whole: {} entries, each as it was written{}.\n  Head of the chain: {}\n  Write it down elsewhere: with --head it shows later whether the end was cut off or all of it was written anew.",
            check.entries,
            if self.head.is_some() {
                ", and the head that you gave is among them"
            } else {
                ""
            },
            check.head
        )))
    }
}

impl ChartArguments {
    fn run(&self, context: Context) -> Result<Output, CliError> {
        let settings = self.control.settings()?;
        let format = ChartFormat::of_file(&self.out)?;
        check_free(&self.out, context.replace)?;
        let mut drawn = LogDrawing::of(&self.log, &settings, None)?;
        if let Some(title) = &self.title {
            drawn.chart.words.title.clone_from(title);
        }
        let bytes = drawn.chart.draw(format, self.size)?;
        write_file(&self.out, &bytes, context.replace)?;
        let invented = drawn.chart.words.invented;
        if context.json {
            return Output::json(&serde_json::json!({
                "written": [self.out.display().to_string()],
                "invented": invented,
            }));
        }
        Ok(Output::words(format!(
            "{}Written: {}",
            if invented {
                "INVENTED DATA, and the chart says so.\n"
            } else {
                ""
            },
            self.out.display()
        ))
        .with_warnings(&drawn.warnings))
    }
}

/// The chart of a log, filled.
pub(super) struct LogDrawing {
    pub(super) chart: crate::chart::BatchesChart,
    warnings: Vec<Warning>,
}

impl LogDrawing {
    /// The entries held against one calibration, by the SHA-256 of its file; that of the newest entry
    /// where none is named.
    pub(super) fn of(
        log: &Path,
        settings: &ControlSettings,
        calibration_sha256: Option<&str>,
    ) -> Result<Self, CliError> {
        let held = BatchLog::open(log)?.held(calibration_sha256)?;
        let judged = judge(&held, settings);
        let (Some(first), Some(last)) = (judged.charted.first(), judged.charted.last()) else {
            return Err(CliError::question(format!(
                "{} has no batch to chart{}.\nWhat helps: 'heatset batches add' with a force or a viscosity that was read",
                log.display(),
                if calibration_sha256.is_some() {
                    " that was held against this calibration"
                } else {
                    ""
                }
            )));
        };
        if judged.shewhart.is_none() {
            return Err(CliError::question(format!(
                "{} has no spread of its own to chart by: fewer than two batches, or all alike.\nWhat helps: more batches; or --of z",
                log.display()
            )));
        }
        let name = log.file_name().map_or_else(
            || log.display().to_string(),
            |n| n.to_string_lossy().into_owned(),
        );
        let stands_on = format!(
            "{name}, entries {} to {}, {} batches held against calibration {}",
            first.entry,
            last.entry,
            judged.charted.len(),
            judged
                .calibration_sha256
                .as_deref()
                .and_then(|sha| sha.get(..8))
                .unwrap_or_default()
        );
        let chart = drawings::batches(
            &judged,
            settings,
            &stands_on,
            held.invented,
            held.extrapolated,
        );
        Ok(Self {
            chart,
            warnings: notes(&judged),
        })
    }
}

/// The chart of a log's batches that were held against one calibration.
pub(super) fn of_calibration(
    log: Option<&Path>,
    calibration_sha256: &str,
) -> Result<crate::chart::BatchesChart, CliError> {
    let log = log.ok_or_else(|| {
        CliError::question(
            "The chart of batches needs a log.\nWhat helps: --log LOG; 'heatset batches add' begins one",
        )
    })?;
    let drawing = LogDrawing::of(log, &ControlSettings::default(), Some(calibration_sha256))?;
    Ok(drawing.chart)
}

/// SHA-256 of a file, in hexadecimal digits.
pub(super) fn sha256_of_file(path: &Path) -> Result<String, CliError> {
    let bytes =
        std::fs::read(path).map_err(|e| CliError::question(format!("{}: {e}", path.display())))?;
    Ok(hexadecimal(&Sha256::digest(&bytes)))
}

impl ExportArguments {
    fn run(&self, context: Context) -> Result<Output, CliError> {
        check_free(&self.out, context.replace)?;
        let asked = self.reading.map(|kind| match kind {
            KindChoice::Force => ReadingKind::Force,
            KindChoice::Viscosity => ReadingKind::Viscosity,
        });
        let file = self.log.display().to_string();
        let Exported {
            table,
            kind,
            outside,
        } = exported(&self.log, asked, &file)?;
        write_table(&self.out, &csv_bytes(&table)?, "Bench", context.replace)?;
        let mut warnings = Vec::new();
        if outside > 0 {
            warnings.push(Warning::new(
                "outside_left_out",
                format!(
                    "{} not in it. A refit on those inside alone makes the gel look more even than it is. What helps: those that were read well once more with --corrects N --accept.",
                    if outside == 1 {
                        "1 entry outside its interval is".to_owned()
                    } else {
                        format!("{outside} entries outside their interval are")
                    }
                ),
            ));
        }
        if kind == ReadingKind::Force {
            warnings.push(Warning::new(
                "forces",
                "The readings are forces. A bench of viscosities takes them once 'heatset convert' has made viscosities of them.",
            ));
        }
        if context.json {
            return Output::json(&serde_json::json!({
                "written": [self.out.display().to_string()],
                "reading": kind.name(),
                "rows": table.len(),
                "left_out_outside": outside,
                "invented": table.invented,
                "warnings": warnings,
            }));
        }
        Ok(Output::words(format!(
            "{}Written: {}, {} accepted readings of {}.\nNext: heatset fit old.csv {} --out NEW.json",
            if table.invented {
                "INVENTED DATA, and the table says so.\n"
            } else {
                ""
            },
            self.out.display(),
            table.len(),
            kind.quantity(),
            self.out.display()
        ))
        .with_warnings(&warnings))
    }
}

/// Accepted entries of a log as a bench table.
pub(super) struct Exported {
    /// The table.
    pub(super) table: BenchTable,
    kind: ReadingKind,
    /// Entries outside their interval that are not in it.
    outside: usize,
}

/// The accepted entries of one kind; `file` names the log in the table and in messages.
pub(super) fn exported(
    log: &Path,
    asked: Option<ReadingKind>,
    file: &str,
) -> Result<Exported, CliError> {
    let entries = BatchLog::open(log)?.entries()?;
    let count = |kind| accepted_entries(&entries, kind).len();
    let (forces, viscosities) = (count(ReadingKind::Force), count(ReadingKind::Viscosity));
    let kind = match asked {
        Some(kind) => kind,
        None if forces > 0 && viscosities > 0 => {
            return Err(CliError::question(format!(
                "{file} has {forces} accepted forces and {viscosities} accepted viscosities, and a bench table has one kind of reading.\nWhat helps: --reading force, then --reading viscosity into another file; 'heatset convert' makes viscosities of forces",
            )));
        }
        None if viscosities > 0 => ReadingKind::Viscosity,
        None => ReadingKind::Force,
    };
    let table = accepted_bench(&entries, kind, file)??;
    let outside = entries
        .iter()
        .filter(|e| e.stands() && !e.entered.accepted)
        .filter(|e| e.entered.prediction.is_some_and(|p| !p.inside))
        .count();
    Ok(Exported {
        table,
        kind,
        outside,
    })
}

/// What the reader should know of the verdict.
pub(super) fn notes(judged: &Judged) -> Vec<Warning> {
    let mut notes = Vec::new();
    if judged.most_of_a_lot > 1 {
        notes.push(Warning::new(
            "several_of_a_lot",
            format!(
                "One lot has {} of the charted entries. They share what is peculiar to it, so that drift is signalled more often than the false alarm rates say. What helps: one reading a lot; --leave-out does not take an entry off the chart, --corrects does.",
                judged.most_of_a_lot
            ),
        ));
    }
    notes
}

fn number_between(text: &str, low: f64, high: f64) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(value) if value > low && value <= high => Ok(value),
        _ => Err(format!(
            "a number above {low} and up to {high}, such as {}, and not '{text}'",
            0.5 * (low + high).min(4.0)
        )),
    }
}

fn from_0_to_5(text: &str) -> Result<f64, String> {
    number_between(text, 0.0, 5.0)
}

fn from_0_to_20(text: &str) -> Result<f64, String> {
    number_between(text, 0.0, 20.0)
}

fn weight(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(value) if (0.02..=1.0).contains(&value) => Ok(value),
        _ => Err(format!(
            "a weight is a number from 0.02 to 1, such as 0.2, and not '{text}'"
        )),
    }
}

fn size(text: &str) -> Result<ChartSize, String> {
    ChartSize::parse(text).map_err(|e| e.to_string())
}
