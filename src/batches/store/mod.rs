//! The file: appended to in one transaction an entry, read, checked.

mod append;
mod check;
mod held;
mod read;

pub use check::{Altered, ChainCheck};
pub use held::{HeldBatch, HeldBatches};

use super::error::BatchesError;
use super::schema::{APPLICATION_ID, LAYOUT};
use rusqlite::{Connection, ErrorCode, OpenFlags};
use std::path::Path;
use std::time::Duration;

/// How long is waited for another program that writes, in s.
const WAIT_S: u64 = 10;

/// A log of batches: one SQLite file.
///
/// Every entry is written in one transaction, through a rollback journal that is flushed to the disk
/// before the file is touched (`synchronous=EXTRA`): a program that dies in the middle leaves the
/// entry out, never half of it. Two programs take turns.
#[derive(Debug)]
pub struct BatchLog {
    connection: Connection,
    file: String,
}

impl BatchLog {
    /// Opens a log, or begins one where there is no file.
    ///
    /// # Errors
    /// A file that is no log or cannot be opened.
    pub fn open_or_create(path: &Path) -> Result<Self, BatchesError> {
        Self::open_with(path, OpenFlags::SQLITE_OPEN_CREATE)
    }

    /// Opens a log that is there.
    ///
    /// # Errors
    /// No file, or one that is no log or cannot be opened.
    pub fn open(path: &Path) -> Result<Self, BatchesError> {
        if !path.exists() {
            return Err(BatchesError::NoLog {
                file: path.display().to_string(),
            });
        }
        Self::open_with(path, OpenFlags::empty())
    }

    fn open_with(path: &Path, further: OpenFlags) -> Result<Self, BatchesError> {
        let file = path.display().to_string();
        let fault = |error: &rusqlite::Error| in_words(&file, "opened", error);
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX | further;
        let connection = Connection::open_with_flags(path, flags).map_err(|e| fault(&e))?;
        connection
            .busy_timeout(Duration::from_secs(WAIT_S))
            .map_err(|e| fault(&e))?;
        let log = Self { connection, file };
        log.is_begun()?;
        log.connection
            .execute_batch("PRAGMA synchronous = EXTRA; PRAGMA trusted_schema = OFF;")
            .map_err(|e| log.fault("opened", &e))?;
        Ok(log)
    }

    fn fault(&self, doing: &'static str, error: &rusqlite::Error) -> BatchesError {
        in_words(&self.file, doing, error)
    }

    /// Whether the file holds a log, rather than nothing yet; anything else is refused.
    fn is_begun(&self) -> Result<bool, BatchesError> {
        let fault = |e: &rusqlite::Error| self.fault("read", e);
        let number = |pragma: &str| {
            self.connection
                .query_row(pragma, [], |row| row.get::<_, i64>(0))
        };
        // All at one moment: between two looks another may begin the log, which then seems half a
        // log. A savepoint is one read, within a transaction or without.
        let look = |sql: &str| self.connection.execute_batch(sql).map_err(|e| fault(&e));
        look("SAVEPOINT looked")?;
        let found = (|| {
            Ok((
                number("PRAGMA application_id")?,
                number("PRAGMA user_version")?,
                number("SELECT count(*) FROM sqlite_schema")?,
            ))
        })();
        look("RELEASE looked")?;
        match found.map_err(|e| fault(&e))? {
            (0, 0, 0) => Ok(false),
            (APPLICATION_ID, LAYOUT, _) => Ok(true),
            (APPLICATION_ID, found, _) => Err(BatchesError::LaterLayout {
                file: self.file.clone(),
                found,
                known: LAYOUT,
            }),
            _ => Err(BatchesError::NotALog {
                file: self.file.clone(),
                reason: "it is a database of something else".to_owned(),
            }),
        }
    }
}

/// What SQLite says, in words.
fn in_words(file: &str, doing: &'static str, error: &rusqlite::Error) -> BatchesError {
    let file = file.to_owned();
    match error.sqlite_error_code() {
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => BatchesError::Busy {
            file,
            waited_s: WAIT_S,
        },
        Some(ErrorCode::NotADatabase) => BatchesError::NotALog {
            file,
            reason: "it is not an SQLite file".to_owned(),
        },
        Some(ErrorCode::CannotOpen) => BatchesError::Database {
            file,
            doing,
            reason: "the folder is not there, or you may not use it.\nWhat helps: check the name and its permissions".to_owned(),
        },
        Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied) => BatchesError::Database {
            file,
            doing,
            reason: "you may not write it.\nWhat helps: its permissions, or a copy".to_owned(),
        },
        Some(ErrorCode::DiskFull) => BatchesError::Database {
            file,
            doing,
            reason: "the disk is full; nothing was added.\nWhat helps: make room, then add the batch again".to_owned(),
        },
        _ => BatchesError::Database {
            file,
            doing,
            reason: format!("{error}.\nWhat helps: a copy from before; 'heatset batches check' says what is damaged"),
        },
    }
}
