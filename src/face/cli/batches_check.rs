//! `heatset batches check`: whether anything was altered, and where.

use super::output::Output;
use super::{CliError, Context};
use crate::batches::BatchLog;
use crate::face::batches_words::altered_words;
use clap::Args;
use std::path::PathBuf;

/// Faults that are shown, where there are more.
const SHOWN: usize = 20;

#[derive(Debug, Args)]
pub(super) struct CheckArguments {
    /// The log
    #[arg(value_name = "LOG")]
    log: PathBuf,
    /// Head of the chain as it was written down before, 8 digits or more: shows what a chain by itself
    /// cannot, that the end was cut off or all of it written anew
    #[arg(long, value_name = "HEX")]
    head: Option<String>,
}

impl CheckArguments {
    pub(super) fn run(&self, context: Context) -> Result<Output, CliError> {
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
