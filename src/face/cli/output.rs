//! Where output goes: data to standard output, talk to standard error, files whole or not at all.

#![allow(clippy::print_stdout, clippy::print_stderr)]

use super::error::CliError;
use crate::fit::Warning;
use crate::readings::system_words;
use crate::readings::write::workbook_of_csv;
use clap::error::{ContextKind, ErrorKind};
use serde::Serialize;
use std::error::Error as _;
use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// What a command has to say.
#[derive(Debug, Default)]
pub(crate) struct Output {
    /// For standard output.
    text: String,
    /// For standard error.
    warnings: Vec<String>,
}

impl Output {
    /// Words for people.
    pub(crate) fn words(text: impl Into<String>) -> Self {
        let mut text = text.into();
        if !text.ends_with('\n') {
            text.push('\n');
        }
        Self {
            text,
            warnings: Vec::new(),
        }
    }

    /// One JSON document.
    pub(crate) fn json<T: Serialize>(document: &T) -> Result<Self, CliError> {
        serde_json::to_string_pretty(document)
            .map(Self::words)
            .map_err(|e| CliError::question(format!("the answer cannot be written as JSON: {e}")))
    }

    /// Adds warnings, which go to standard error.
    pub(crate) fn with_warnings(mut self, warnings: &[Warning]) -> Self {
        self.warnings
            .extend(warnings.iter().map(|w| w.message.clone()));
        self
    }

    /// Prints; a closed pipe is no fault.
    pub(crate) fn print(&self) -> ExitCode {
        for warning in &self.warnings {
            eprintln!("Note: {warning}");
        }
        let mut out = std::io::stdout().lock();
        match out
            .write_all(self.text.as_bytes())
            .and_then(|()| out.flush())
        {
            Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => {
                eprintln!("standard output cannot be written: {e}");
                ExitCode::from(1)
            }
            _ => ExitCode::SUCCESS,
        }
    }
}

/// Prints help, version, or what is wrong with a command line: 0 for the former, 2 for the latter.
///
/// A value that one of our parsers refuses is told in its own words; everything else in clap's.
pub(crate) fn print_usage(error: &clap::Error) -> ExitCode {
    if !error.use_stderr() {
        let _ = error.print();
        return ExitCode::SUCCESS;
    }
    let option = error.get(ContextKind::InvalidArg).map(ToString::to_string);
    match (error.kind(), option, error.source()) {
        (ErrorKind::ValueValidation, Some(option), Some(why)) => {
            let name = option
                .split([' ', '='])
                .next()
                .unwrap_or_default()
                .to_owned();
            eprintln!("{name}: {why}");
        }
        _ => {
            let _ = error.print();
        }
    }
    ExitCode::from(2)
}

/// Prints why a command was not served.
pub(crate) fn print_error(error: &CliError) -> ExitCode {
    eprintln!("{error}");
    ExitCode::from(1)
}

/// Says what is being done, on standard error, and only to a person at a terminal.
pub(crate) fn progress(doing: &str) {
    if std::io::stderr().is_terminal() {
        eprintln!("{doing} ...");
    }
}

/// Says on standard output, at once, what a command that goes on running has to say first.
#[cfg(feature = "page")]
pub(crate) fn announce(text: &str) {
    let mut out = std::io::stdout().lock();
    // Nobody who closed the pipe is waiting for it.
    let _ = writeln!(out, "{text}").and_then(|()| out.flush());
}

/// Refuses a file that is there already, unless it may be replaced: before any work is done.
pub(crate) fn check_free(path: &Path, replace: bool) -> Result<(), CliError> {
    if !replace && path.exists() {
        return Err(CliError::FileExists {
            file: path.display().to_string(),
        });
    }
    Ok(())
}

/// Writes a file whole or not at all: to a temporary file beside it, then renamed.
pub(crate) fn write_file(path: &Path, bytes: &[u8], replace: bool) -> Result<(), CliError> {
    check_free(path, replace)?;
    let fault = |reason: String| CliError::NotWritten {
        file: path.display().to_string(),
        reason,
    };
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_path_buf(),
        _ => PathBuf::from("."),
    };
    let mut file = tempfile::Builder::new()
        .prefix(".heatset-")
        .tempfile_in(&folder)
        .map_err(|e| fault(folder_words(&folder, &e)))?;
    file.write_all(bytes).map_err(|e| fault(e.to_string()))?;
    file.as_file()
        .sync_all()
        .map_err(|e| fault(e.to_string()))?;
    allow_reading(&file);
    let persisted = if replace {
        file.persist(path)
    } else {
        file.persist_noclobber(path)
    };
    persisted
        .map(|_| ())
        .map_err(|e| fault(system_words(&e.error)))
}

/// Why nothing can be written into a folder.
fn folder_words(folder: &Path, error: &std::io::Error) -> String {
    let folder = folder.display();
    match error.kind() {
        std::io::ErrorKind::NotFound => format!("there is no folder {folder}; make it first"),
        std::io::ErrorKind::PermissionDenied => {
            format!("you may not write into {folder}; choose another folder with --out")
        }
        std::io::ErrorKind::NotADirectory => format!("{folder} is no folder"),
        _ => system_words(error),
    }
}

/// Writes a table that is there as CSV: as a workbook where the name ends in `.xlsx`, else as it is.
pub(crate) fn write_table(
    path: &Path,
    csv: &[u8],
    sheet_name: &str,
    replace: bool,
) -> Result<(), CliError> {
    let is_workbook = path
        .extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case("xlsx"));
    if is_workbook {
        let bytes = workbook_of_csv(sheet_name, &String::from_utf8_lossy(csv))?;
        return write_file(path, &bytes, replace);
    }
    write_file(path, csv, replace)
}

/// A temporary file is private; a result is as readable as any other file of its owner.
fn allow_reading(file: &tempfile::NamedTempFile) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let _ = file
            .as_file()
            .set_permissions(std::fs::Permissions::from_mode(0o644));
    }
    #[cfg(not(unix))]
    let _ = file;
}
