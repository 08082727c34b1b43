//! The `heatset` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    heatset::face::cli::run()
}
