//! Entries read whole, and counted.

use super::BatchLog;
use crate::batches::entry::Entry;
use crate::batches::error::BatchesError;
use crate::batches::rows::entry;
use crate::batches::schema::COLUMNS;

impl BatchLog {
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
}

pub(super) fn select() -> String {
    format!("SELECT {}, hash FROM entry", COLUMNS.join(", "))
}
