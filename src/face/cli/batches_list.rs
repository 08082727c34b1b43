//! `heatset batches list`: the newest entries, the limits, and the verdict.

use super::batches_control::{ControlArguments, notes};
use super::batches_document::{ControlDocument, EntryDocument, VerdictDocument};
use super::output::Output;
use super::text_table::{Side, TextTable};
use super::{CliError, Context};
use crate::batches::{BatchLog, Entry, judge};
use crate::face::batches_words::{
    control_words, predicted_words, reading_words, state_words, verdict_words,
};
use crate::face::cautions;
use crate::fit::Warning;
use crate::units::display;
use clap::Args;
use serde::Serialize;
use std::fmt::Write as _;
use std::path::PathBuf;

/// Entries that are shown where nobody says how many.
const SHOWN: usize = 20;

#[derive(Debug, Args)]
pub(super) struct ListArguments {
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

impl ListArguments {
    pub(super) fn run(&self, context: Context) -> Result<Output, CliError> {
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
