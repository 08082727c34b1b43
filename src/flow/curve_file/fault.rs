//! What can be wrong with a table of flow curves.

use std::fmt;

use thiserror::Error;

/// How many faults of a file are shown; the rest is counted.
const SHOWN: usize = 20;

/// One fault of a file: where it is, what is wrong, how to mend it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CurveFault {
    /// Line in the file, from 1; nothing where the fault is of the whole file.
    pub line: Option<usize>,
    /// The column's header.
    pub column: Option<String>,
    /// What is wrong, in words.
    pub message: String,
    /// How to mend it.
    pub remedy: String,
}

impl CurveFault {
    pub(super) fn of_file(message: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self {
            line: None,
            column: None,
            message: message.into(),
            remedy: remedy.into(),
        }
    }

    pub(super) fn on_line(
        line: usize,
        message: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Self {
            line: Some(line),
            ..Self::of_file(message, remedy)
        }
    }

    pub(super) fn at(
        line: usize,
        column: &str,
        message: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Self {
            column: Some(column.to_owned()),
            ..Self::on_line(line, message, remedy)
        }
    }
}

impl fmt::Display for CurveFault {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.line, &self.column) {
            (Some(line), Some(column)) => write!(out, "line {line}, column {column}: ")?,
            (Some(line), None) => write!(out, "line {line}: ")?,
            (None, _) => {}
        }
        write!(out, "{} ({})", self.message, self.remedy)
    }
}

/// A table of flow curves that cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum CurveFileError {
    /// A file with faults; all of them at once.
    #[error("{file} cannot be read: {}", in_words(faults))]
    Faults {
        /// The file as it was named.
        file: String,
        /// Every fault.
        faults: Vec<CurveFault>,
    },
    /// A file that the system does not give.
    #[error("{file} cannot be opened: {reason}; look at the name and at who may read it")]
    Unreadable {
        /// The file as it was named.
        file: String,
        /// What the system says.
        reason: String,
    },
    /// A file far larger than any flow curve.
    #[error(
        "{file} has more than {largest_bytes} bytes, which no flow curve has: is it the right file?"
    )]
    TooLarge {
        /// The file as it was named.
        file: String,
        /// The most that is read.
        largest_bytes: u64,
    },
}

impl CurveFileError {
    pub(super) fn faults(file: String, mut faults: Vec<CurveFault>) -> Self {
        faults.sort_by_key(|fault| fault.line.unwrap_or(0));
        Self::Faults { file, faults }
    }
}

/// The count, the first twenty, and how many more.
fn in_words(faults: &[CurveFault]) -> String {
    let mut text = match faults.len() {
        1 => "1 fault".to_owned(),
        count => format!("{count} faults"),
    };
    for fault in faults.iter().take(SHOWN) {
        text.push_str(&format!("\n  {fault}"));
    }
    match faults.len().saturating_sub(SHOWN) {
        0 => {}
        more => text.push_str(&format!("\n  and {more} more")),
    }
    text
}
