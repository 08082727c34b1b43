//! The command line: one file a command.

mod cautions;
mod error;
mod output;

use clap::{Parser, Subcommand};
pub use error::CliError;
use output::Output;
use std::process::ExitCode;

/// How long to heat a plasma gel for a needle, from your own bench readings.
#[derive(Debug, Parser)]
#[command(name = "heatset", version, about, long_about = None, disable_help_subcommand = true)]
struct Arguments {
    /// One JSON document on standard output, in SI units, instead of words.
    #[arg(long, global = true)]
    json: bool,
    /// Seed of whatever draws random numbers.
    #[arg(long, global = true, default_value_t = 1, value_name = "N")]
    seed: u64,
    /// Replace files that are there already.
    #[arg(long, global = true)]
    replace: bool,
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// The full text of the cautions.
    Cautions(cautions::Arguments),
}

/// What every command is handed beside its own arguments.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Context {
    /// Whether JSON was asked for.
    pub(crate) json: bool,
    /// Seed.
    pub(crate) seed: u64,
    /// Whether existing files may be replaced.
    pub(crate) replace: bool,
}

/// Runs the command line: 0 done, 1 not served, 2 malformed.
#[must_use]
pub fn run() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => {
            // Help and version are no errors; clap prints both to where they belong.
            let code = if error.use_stderr() { 2 } else { 0 };
            let _ = error.print();
            return ExitCode::from(code);
        }
    };
    let context =
        Context { json: arguments.json, seed: arguments.seed, replace: arguments.replace };
    let outcome = match arguments.command {
        Command::Cautions(a) => a.run(context),
    };
    match outcome {
        Ok(output) => output.print(),
        Err(error) => output::print_error(&error),
    }
}
