//! Entries added, in one transaction each time: all of them or none.

use super::read::select;
use super::{BatchLog, in_words};
use crate::batches::chain::{FIRST_LINK, chain_hash};
use crate::batches::entry::{Entry, NewEntry};
use crate::batches::error::BatchesError;
use crate::batches::rows::{Cell, cells, hash};
use crate::batches::schema::{APPLICATION_ID, COLUMNS, CREATE, LAYOUT};
use rusqlite::{Connection, OptionalExtension, TransactionBehavior};

impl BatchLog {
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
