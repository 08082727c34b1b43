//! The chain followed from the first entry to the last: whether anything was altered, and where.

use super::BatchLog;
use super::read::select;
use crate::batches::chain::{FIRST_LINK, chain_hash};
use crate::batches::error::BatchesError;
use crate::batches::rows::{Cell, hash};
use crate::batches::schema::COLUMNS;
use crate::readings::table::hexadecimal;
use rusqlite::Row;
use serde::Serialize;

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

/// The hash that a row should have.
fn hash_of(row: &Row, before: &[u8; 32]) -> rusqlite::Result<[u8; 32]> {
    let mut cells = Vec::with_capacity(COLUMNS.len());
    for (place, name) in COLUMNS.into_iter().enumerate() {
        cells.push((name, Cell::of_file(row.get_ref(place)?)));
    }
    Ok(chain_hash(before, cells.into_iter()))
}
