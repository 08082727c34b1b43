//! The file: appended to in one transaction an entry, read, checked.

use super::chain::{FIRST_LINK, chain_hash};
use super::entry::{Entry, NewEntry};
use super::error::BatchesError;
use super::rows::{Cell, cells, entry, hash};
use super::schema::{APPLICATION_ID, COLUMNS, CREATE, LAYOUT};
use rusqlite::{Connection, ErrorCode, OpenFlags, OptionalExtension, Row, TransactionBehavior};
use serde::Serialize;
use std::collections::HashMap;
use std::hash::{BuildHasher, RandomState};
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

/// Batches held against one calibration: what control charts need of them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct HeldBatches {
    /// SHA-256 of the calibration's file; none where nothing is judged.
    pub calibration_sha256: Option<String>,
    /// The batches, the oldest first.
    pub batches: Vec<HeldBatch>,
    /// Most batches of one lot.
    pub most_of_a_lot: usize,
    /// Whether one stands on invented data.
    pub invented: bool,
    /// Whether the prediction of one is extrapolated.
    pub extrapolated: bool,
}

/// One batch, held against its prediction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeldBatch {
    /// Number of its entry.
    pub entry: u64,
    /// Standardised deviation, in standard deviations.
    pub z_sd: f64,
    /// Natural logarithm of reading over predicted median.
    pub ln_ratio: f64,
    /// Whether the reading lies inside its prediction interval.
    pub inside: bool,
}

/// What a check of the chain found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ChainCheck {
    /// Number of entries.
    pub entries: u64,
    /// Hash of the last entry, in hexadecimal digits: written down elsewhere, it shows later whether
    /// entries were cut off or all written anew.
    pub head: String,
    /// Where the log was altered; empty where it is whole.
    pub altered: Vec<Altered>,
}

/// A place where a log is not what was written.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case", tag = "what")]
pub enum Altered {
    /// An entry whose hash does not follow from it and from the entry before.
    Entry {
        /// Its number.
        entry: u64,
    },
    /// Entries that are not there.
    Missing {
        /// The first of them.
        first: u64,
        /// The last of them.
        last: u64,
    },
    /// A head that was written down and is no entry's hash.
    Head {
        /// As written down.
        head: String,
    },
    /// Damage to the file itself.
    File {
        /// What SQLite says.
        reason: String,
    },
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

    /// Adds an entry, and gives it as it stands in the log.
    ///
    /// # Errors
    /// As [`BatchLog::append_all`].
    pub fn append(&mut self, new: &NewEntry) -> Result<Entry, BatchesError> {
        let added = self.append_all(std::slice::from_ref(new))?;
        added
            .into_iter()
            .next()
            .ok_or_else(|| BatchesError::Database {
                file: self.file.clone(),
                doing: "written",
                reason: "nothing was added".to_owned(),
            })
    }

    /// Adds entries in one transaction: all of them or none.
    ///
    /// # Errors
    /// A correction of what is not there or was corrected already; a log whose end was altered; another
    /// program that does not let go of it; a file that cannot be written. Nothing is added then.
    pub fn append_all(&mut self, new: &[NewEntry]) -> Result<Vec<Entry>, BatchesError> {
        let file = self.file.clone();
        let fault = |error: &rusqlite::Error| in_words(&file, "written", error);
        let transaction = self
            .connection
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .map_err(|e| fault(&e))?;
        begin_log(&transaction).map_err(|e| fault(&e))?;
        let (mut last, mut before) =
            end_of(&transaction)
                .map_err(|e| fault(&e))?
                .map_err(|number| BatchesError::AlteredEnd {
                    file: file.clone(),
                    number,
                })?;
        let mut added = Vec::with_capacity(new.len());
        {
            let mut insert = transaction.prepare(&insert()).map_err(|e| fault(&e))?;
            for entry in new {
                if let Some(number) = entry.corrects {
                    if number == 0 || number > last {
                        return Err(BatchesError::NothingToCorrect {
                            number,
                            count: last,
                        });
                    }
                    if let Some(by) = correction_of(&transaction, number).map_err(|e| fault(&e))? {
                        return Err(BatchesError::CorrectedAlready { number, by });
                    }
                }
                last += 1;
                let cells = cells(last, entry);
                let hash = chain_hash(&before, COLUMNS.into_iter().zip(cells));
                before = hash;
                for (place, cell) in (1..).zip(cells) {
                    insert
                        .raw_bind_parameter(place, cell)
                        .map_err(|e| fault(&e))?;
                }
                insert
                    .raw_bind_parameter(COLUMNS.len() + 1, hash)
                    .map_err(|e| fault(&e))?;
                insert.raw_execute().map_err(|e| fault(&e))?;
                added.push(Entry {
                    number: last,
                    entered: entry.clone(),
                    corrected_by: None,
                    hash,
                });
            }
        }
        transaction.commit().map_err(|e| fault(&e))?;
        Ok(added)
    }

    /// Every entry, the oldest first.
    ///
    /// # Errors
    /// A file that cannot be read, or that holds what no entry has.
    pub fn entries(&self) -> Result<Vec<Entry>, BatchesError> {
        self.newest(usize::MAX)
    }

    /// The newest entries, that many at most, the oldest of them first.
    ///
    /// # Errors
    /// A file that cannot be read, or that holds what no entry has.
    pub fn newest(&self, count: usize) -> Result<Vec<Entry>, BatchesError> {
        let fault = |e: &rusqlite::Error| self.fault("read", e);
        if !self.is_begun()? {
            return Ok(Vec::new());
        }
        let mut statement = self
            .connection
            .prepare(&format!(
                "{} WHERE number > (SELECT coalesce(max(number), 0) FROM entry) - ?1 ORDER BY number",
                select()
            ))
            .map_err(|e| fault(&e))?;
        let count = i64::try_from(count).unwrap_or(i64::MAX);
        let mut entries = statement
            .query_map([count], entry)
            .and_then(Iterator::collect::<rusqlite::Result<Vec<Entry>>>)
            .map_err(|e| fault(&e))?;
        let corrections: Vec<(u64, u64)> = entries
            .iter()
            .filter_map(|e| Some((e.entered.corrects?, e.number)))
            .collect();
        for (corrected, by) in corrections {
            if let Ok(place) = entries.binary_search_by_key(&corrected, |e| e.number)
                && let Some(entry) = entries.get_mut(place)
            {
                entry.corrected_by = Some(by);
            }
        }
        Ok(entries)
    }

    /// Number of entries.
    ///
    /// # Errors
    /// A file that cannot be read.
    pub fn count(&self) -> Result<u64, BatchesError> {
        if !self.is_begun()? {
            return Ok(0);
        }
        self.connection
            .query_row("SELECT coalesce(max(number), 0) FROM entry", [], |row| {
                row.get::<_, i64>(0)
            })
            .map(i64::cast_unsigned)
            .map_err(|e| self.fault("read", &e))
    }

    /// The batches held against one calibration, by the SHA-256 of its file; against that of the
    /// newest batch where none is named. Only what control charts need is read, and no entry that a
    /// later one corrects.
    ///
    /// # Errors
    /// A file that cannot be read.
    pub fn held(&self, calibration_sha256: Option<&str>) -> Result<HeldBatches, BatchesError> {
        let fault = |e: &rusqlite::Error| self.fault("read", e);
        if !self.is_begun()? {
            return Ok(HeldBatches::default());
        }
        const JUDGED: &str = "z_sd IS NOT NULL AND number NOT IN (SELECT corrects FROM entry WHERE corrects IS NOT NULL)";
        let calibration = match calibration_sha256 {
            Some(sha256) => Some(sha256.to_owned()),
            None => self
                .connection
                .query_row(
                    &format!(
                        "SELECT calibration_sha256 FROM entry WHERE {JUDGED} ORDER BY number DESC LIMIT 1"
                    ),
                    [],
                    |row| row.get::<_, String>(0),
                )
                .optional()
                .map_err(|e| fault(&e))?,
        };
        let mut held = HeldBatches {
            calibration_sha256: calibration,
            ..HeldBatches::default()
        };
        let mut statement = self
            .connection
            .prepare(&format!(
                "SELECT number, lot, z_sd, ln_ratio, inside, invented, extrapolated FROM entry WHERE calibration_sha256 = ?1 AND {JUDGED} ORDER BY number"
            ))
            .map_err(|e| fault(&e))?;
        let mut rows = statement
            .query([&held.calibration_sha256])
            .map_err(|e| fault(&e))?;
        // Lots are only counted: their hashes serve, and cost no text for each.
        let mut of_lots: HashMap<u64, usize> = HashMap::new();
        let hasher = RandomState::new();
        let mut one = |row: &Row| -> rusqlite::Result<HeldBatch> {
            let lot = hasher.hash_one(row.get_ref(1)?.as_str()?);
            *of_lots.entry(lot).or_default() += 1;
            held.invented |= row.get::<_, bool>(5)?;
            held.extrapolated |= row.get::<_, bool>(6)?;
            Ok(HeldBatch {
                entry: row.get::<_, i64>(0)?.cast_unsigned(),
                z_sd: row.get(2)?,
                ln_ratio: row.get(3)?,
                inside: row.get(4)?,
            })
        };
        let mut batches = Vec::new();
        while let Some(row) = rows.next().map_err(|e| fault(&e))? {
            batches.push(one(row).map_err(|e| fault(&e))?);
        }
        held.batches = batches;
        held.most_of_a_lot = of_lots.values().copied().max().unwrap_or(0);
        Ok(held)
    }

    /// Follows the chain from the first entry to the last, and looks for a head that was written down
    /// before: at least 8 of its hexadecimal digits.
    ///
    /// # Valid for
    /// Whoever can write the file can write the whole chain anew, or cut off its end; only a head kept
    /// elsewhere shows that.
    ///
    /// # Errors
    /// A file that cannot be read.
    pub fn check(&self, head: Option<&str>) -> Result<ChainCheck, BatchesError> {
        let fault = |e: &rusqlite::Error| self.fault("read", e);
        let mut altered = Vec::new();
        let said: Vec<String> = self
            .connection
            .prepare("PRAGMA integrity_check")
            .and_then(|mut s| {
                s.query_map([], |row| row.get(0))
                    .and_then(Iterator::collect)
            })
            .map_err(|e| fault(&e))?;
        if said != ["ok"] {
            altered.push(Altered::File {
                reason: said.join("; "),
            });
        }
        let mut last = 0_u64;
        let mut entries = 0;
        let mut before = FIRST_LINK;
        let wanted = head.map(str::to_ascii_lowercase);
        let mut found = wanted.is_none();
        if self.is_begun()? {
            let mut statement = self
                .connection
                .prepare(&format!("{} ORDER BY number", select()))
                .map_err(|e| fault(&e))?;
            let mut rows = statement.query([]).map_err(|e| fault(&e))?;
            while let Some(row) = rows.next().map_err(|e| fault(&e))? {
                let number = row.get::<_, i64>(0).map_err(|e| fault(&e))?.cast_unsigned();
                entries += 1;
                if number > last + 1 {
                    altered.push(Altered::Missing {
                        first: last + 1,
                        last: number - 1,
                    });
                }
                let stored = hash(row).ok();
                let follows = number == last + 1;
                let whole = stored.is_some_and(|stored| {
                    !follows || hash_of(row, &before).is_ok_and(|made| made == stored)
                });
                if !whole {
                    altered.push(Altered::Entry { entry: number });
                }
                before = stored.unwrap_or(FIRST_LINK);
                if let Some(wanted) = &wanted
                    && wanted.len() >= 8
                {
                    found |= hexadecimal(&before).starts_with(wanted.as_str());
                }
                last = number;
            }
        }
        if let (false, Some(head)) = (found, wanted) {
            altered.push(Altered::Head { head });
        }
        Ok(ChainCheck {
            entries,
            head: hexadecimal(&before),
            altered,
        })
    }
}

/// Lays the file out where nothing is in it. Looked at only inside the transaction: another program may
/// have begun the log a moment ago.
fn begin_log(connection: &Connection) -> rusqlite::Result<()> {
    let tables: i64 =
        connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    if tables > 0 {
        return Ok(());
    }
    connection.execute_batch(&format!(
        "PRAGMA application_id = {APPLICATION_ID}; PRAGMA user_version = {LAYOUT}; {CREATE}"
    ))
}

/// Number of the entry that corrects one.
fn correction_of(connection: &Connection, number: u64) -> rusqlite::Result<Option<u64>> {
    connection
        .query_row(
            "SELECT number FROM entry WHERE corrects = ?1",
            [number.cast_signed()],
            |row| row.get::<_, i64>(0),
        )
        .optional()
        .map(|by| by.map(i64::cast_unsigned))
}

fn insert() -> String {
    let places: Vec<String> = (1..=COLUMNS.len() + 1).map(|n| format!("?{n}")).collect();
    format!(
        "INSERT INTO entry ({}, hash) VALUES ({})",
        COLUMNS.join(", "),
        places.join(", ")
    )
}

fn select() -> String {
    format!("SELECT {}, hash FROM entry", COLUMNS.join(", "))
}

/// The hash that a row should have.
fn hash_of(row: &Row, before: &[u8; 32]) -> rusqlite::Result<[u8; 32]> {
    let mut cells = Vec::with_capacity(COLUMNS.len());
    for (place, name) in COLUMNS.into_iter().enumerate() {
        cells.push((name, Cell::of_file(row.get_ref(place)?)));
    }
    Ok(chain_hash(before, cells.into_iter()))
}

/// Number and hash of the last entry; the number alone where it is not what was written.
fn end_of(connection: &Connection) -> rusqlite::Result<Result<(u64, [u8; 32]), u64>> {
    let mut statement =
        connection.prepare(&format!("{} ORDER BY number DESC LIMIT 2", select()))?;
    let mut rows = statement.query([])?;
    let Some(row) = rows.next()? else {
        return Ok(Ok((0, FIRST_LINK)));
    };
    let number = row.get::<_, i64>(0)?.cast_unsigned();
    let stored = hash(row)?;
    // Cells are borrowed from the row, which goes with the next one.
    let mut own = Vec::with_capacity(COLUMNS.len());
    for place in 0..COLUMNS.len() {
        own.push(row.get::<_, rusqlite::types::Value>(place)?);
    }
    let before = match rows.next()? {
        Some(row) => hash(row)?,
        None => FIRST_LINK,
    };
    let made = chain_hash(
        &before,
        COLUMNS
            .into_iter()
            .zip(own.iter().map(|value| Cell::of_file(value.into()))),
    );
    Ok(if made == stored {
        Ok((number, stored))
    } else {
        Err(number)
    })
}

fn hexadecimal(bytes: &[u8]) -> String {
    crate::readings::table::hexadecimal(bytes)
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
