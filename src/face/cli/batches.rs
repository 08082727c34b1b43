//! `heatset batches`: the log of batches.

use super::batches_add::AddArguments;
use super::batches_chart::ChartArguments;
use super::batches_check::CheckArguments;
use super::batches_export::ExportArguments;
use super::batches_list::ListArguments;
use super::output::Output;
use super::{CliError, Context};
use crate::readings::table::hexadecimal;
use clap::{Args, Subcommand};
use sha2::{Digest, Sha256};
use std::path::Path;

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

/// SHA-256 of a file, in hexadecimal digits.
pub(super) fn sha256_of_file(path: &Path) -> Result<String, CliError> {
    let bytes =
        std::fs::read(path).map_err(|e| CliError::question(format!("{}: {e}", path.display())))?;
    Ok(hexadecimal(&Sha256::digest(&bytes)))
}
