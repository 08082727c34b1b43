//! `heatset template`: a blank bench table.

use super::output::{Output, write_file};
use super::{CliError, Context};
use crate::readings::{blank_bench_table, blank_bench_workbook};
use clap::Args;
use serde::Serialize;
use std::path::PathBuf;

/// Where the blank table goes.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// File to write, .xlsx as a workbook; without it the table goes to standard output.
    #[arg(long, value_name = "FILE.csv|.xlsx")]
    out: Option<PathBuf>,
}

#[derive(Serialize)]
struct Document {
    file: Option<String>,
    text: &'static str,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        let text = blank_bench_table();
        let file = self.out.as_ref().map(|path| path.display().to_string());
        if let Some(path) = &self.out {
            let is_workbook = path
                .extension()
                .is_some_and(|ending| ending.eq_ignore_ascii_case("xlsx"));
            if is_workbook {
                write_file(path, &blank_bench_workbook()?, context.replace)?;
            } else {
                write_file(path, text.as_bytes(), context.replace)?;
            }
        }
        if context.json {
            return Output::json(&Document { file, text });
        }
        Ok(match file {
            Some(file) => Output::words(format!(
                "Wrote {file}: one row a reading; every column is explained in it.\n\
                 When it is filled in: heatset check {file}"
            )),
            None => Output::words(text),
        })
    }
}
