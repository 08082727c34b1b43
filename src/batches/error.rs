//! Why a log is not served, in words.

use thiserror::Error;

/// What went wrong with a log or an entry, and what would help.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum BatchesError {
    /// A log that is not there.
    #[error(
        "There is no log {file}.\nWhat helps: check the name; 'heatset batches add' begins one"
    )]
    NoLog {
        /// File.
        file: String,
    },
    /// A file that is no log.
    #[error(
        "{file} is no log of batches: {reason}. It was left as it is.\nWhat helps: another name; 'heatset batches add' begins a new log where there is no file"
    )]
    NotALog {
        /// File.
        file: String,
        /// What it is instead.
        reason: String,
    },
    /// A log of a later version.
    #[error(
        "{file} was written by a later heatset (layout {found}; this one knows {known}).\nWhat helps: the newer heatset"
    )]
    LaterLayout {
        /// File.
        file: String,
        /// Layout found.
        found: i64,
        /// Layout known.
        known: i64,
    },
    /// Another process that does not let go of the log.
    #[error(
        "{file} is being written by another program that has not finished in {waited_s} s. Nothing was added.\nWhat helps: close the other program, then add the batch again"
    )]
    Busy {
        /// File.
        file: String,
        /// How long was waited, in s.
        waited_s: u64,
    },
    /// What the database says.
    #[error("{file} cannot be {doing}: {reason}")]
    Database {
        /// File.
        file: String,
        /// 'read' or 'written'.
        doing: &'static str,
        /// What it says.
        reason: String,
    },
    /// A text that is no code.
    #[error("{what} '{found}' is no code: {reason}.\nWhat helps: {helps}")]
    NoCode {
        /// Which code.
        what: &'static str,
        /// What stands there.
        found: String,
        /// Why it is refused.
        reason: &'static str,
        /// What would do.
        helps: &'static str,
    },
    /// A correction of what is not there.
    #[error(
        "There is no entry {number} to correct: the log has {count}.\nWhat helps: 'heatset batches list' shows the numbers"
    )]
    NothingToCorrect {
        /// Asked for.
        number: u64,
        /// Entries of the log.
        count: u64,
    },
    /// A correction of what was corrected.
    #[error(
        "Entry {number} was corrected already, by entry {by}.\nWhat helps: --corrects {by}, where that one is wrong too"
    )]
    CorrectedAlready {
        /// Asked for.
        number: u64,
        /// By which.
        by: u64,
    },
    /// A log that was altered, where the last entry does not hold.
    #[error(
        "{file} was altered: its last entry ({number}) is not what was written. Nothing was added.\nWhat helps: 'heatset batches check' says where; go back to a copy from before"
    )]
    AlteredEnd {
        /// File.
        file: String,
        /// Last entry.
        number: u64,
    },
    /// Entries that no refit can take.
    #[error("{reason}\nWhat helps: {helps}")]
    NothingToExport {
        /// Why.
        reason: String,
        /// What would help.
        helps: String,
    },
}
