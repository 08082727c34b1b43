//! The tables that were sent: kept in memory under a code of their content, the newest few.

use super::written::Written;
use crate::face::page::problem::PageError;
use crate::readings::{
    BenchTable, FaultList, ForceAssumption, NeedleAdvice, ReadingsError, RowDetails, TableSummary,
    read_bench_parts, summarise_converted,
};
use sha2::{Digest, Sha256};
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// How many tables are kept.
const KEPT: usize = 16;
/// How many bytes of memory the tables and their files take in all; the newest is kept whatever it takes.
const KEPT_BYTES: usize = 96 * 1024 * 1024;
/// Rows of a table that the page reads.
pub(super) const MOST_ROWS: usize = 100_000;
/// What the allocator takes beside each text.
const BESIDE_A_TEXT_BYTES: usize = 16;
/// Letters of a code.
const CODE_LETTERS: usize = 12;

/// A table that was read.
#[derive(Debug)]
pub(super) struct Read {
    /// The table as measured.
    pub(super) table: BenchTable,
    /// What it holds and cannot tell.
    pub(super) summary: TableSummary,
    /// What was assumed of pushes.
    pub(super) assumptions: Vec<ForceAssumption>,
    /// What would help a bench of pushes.
    pub(super) advice: Vec<NeedleAdvice>,
}

/// A table that was sent, whether it can be read or not.
#[derive(Debug)]
pub(super) struct KeptTable {
    /// Its code in addresses: the head of the SHA-256 of its names and bytes, and of the worksheet.
    pub(super) code: String,
    /// Name and bytes of each of its files.
    pub(super) parts: Vec<(String, Vec<u8>)>,
    /// The worksheet that was chosen of a workbook; the first where none was.
    pub(super) worksheet: Option<String>,
    /// The readings, or what is wrong with them.
    pub(super) outcome: Result<Read, ReadingsError>,
    /// The file as it is shown, where the table is one file.
    pub(super) written: Option<Written>,
    /// What all of it takes in memory.
    memory_bytes: usize,
}

impl KeptTable {
    /// Reads the table that these files make.
    pub(super) fn of(parts: Vec<(String, Vec<u8>)>, worksheet: Option<String>) -> Self {
        let mut hash = Sha256::new();
        let named = worksheet.as_deref().map(str::as_bytes);
        for part in parts
            .iter()
            .flat_map(|(name, bytes)| [name.as_bytes(), bytes])
            .chain(named)
        {
            hash.update((part.len() as u64).to_le_bytes());
            hash.update(part);
        }
        let sum = crate::readings::table::hexadecimal(&hash.finalize());
        let outcome = read_bench_parts(&parts, worksheet.as_deref(), MOST_ROWS);
        let outcome = outcome.and_then(|table| {
            let converted = table.viscosity_readings()?;
            Ok(Read {
                summary: summarise_converted(table.kind, &converted),
                assumptions: converted.assumptions,
                advice: converted.advice,
                table,
            })
        });
        let written = match parts.as_slice() {
            // What cannot be unpacked or told apart is not tried a second time.
            [(name, bytes)] if is_told_apart(&outcome) => {
                let faults = outcome.as_ref().err().and_then(faults_of);
                Written::of(name, bytes, worksheet.as_deref(), faults)
            }
            _ => None,
        };
        let of_files: usize = parts.iter().map(|(_, bytes)| bytes.len()).sum();
        let of_table = outcome.as_ref().map_or(0, |read| memory_of(&read.table));
        let of_view = written.as_ref().map_or(0, Written::memory_bytes);
        Self {
            memory_bytes: of_files + of_table + of_view,
            written,
            code: sum.chars().take(CODE_LETTERS).collect(),
            parts,
            worksheet,
            outcome,
        }
    }

    /// The names of its files.
    pub(super) fn name(&self) -> String {
        let names: Vec<&str> = self.parts.iter().map(|(name, _)| name.as_str()).collect();
        let names = names.join(" + ");
        match &self.worksheet {
            Some(worksheet) => format!("{names}, worksheet {worksheet}"),
            None => names,
        }
    }
}

/// The faults of a refusal, where it has some.
pub(super) fn faults_of(error: &ReadingsError) -> Option<&FaultList> {
    match error {
        ReadingsError::Faults { faults, .. } | ReadingsError::NotConverted { faults, .. } => {
            Some(faults)
        }
        _ => None,
    }
}

/// Whether the file's cells could be told apart, whatever is wrong with them.
fn is_told_apart(outcome: &Result<Read, ReadingsError>) -> bool {
    match outcome {
        Ok(_) | Err(ReadingsError::TooManyRows { .. }) => true,
        Err(error) => faults_of(error).is_some(),
    }
}

/// What the rows of a table take in memory: three numbers and the details of each, and their texts.
fn memory_of(table: &BenchTable) -> usize {
    let texts = |row: &RowDetails| -> usize {
        [
            &row.lot,
            &row.operator,
            &row.block,
            &row.place,
            &row.session,
            &row.blend,
            &row.note,
        ]
        .into_iter()
        .flatten()
        .chain(row.needle.iter().filter_map(|needle| needle.wall.as_ref()))
        .map(|text| text.capacity() + BESIDE_A_TEXT_BYTES)
        .sum()
    };
    let of_row = 3 * size_of::<f64>() + size_of::<RowDetails>();
    let runs = table.runs_without_gel.iter().map(|run| &run.details);
    table
        .rows
        .iter()
        .chain(runs)
        .map(|row| of_row + texts(row))
        .sum()
}

/// The tables.
#[derive(Debug, Default)]
pub(super) struct Tables {
    kept: Mutex<VecDeque<Arc<KeptTable>>>,
}

impl Tables {
    /// Keeps a table; what was sent first goes where there is no more room.
    pub(super) fn put(&self, table: KeptTable) -> Arc<KeptTable> {
        let mut kept = self.kept();
        kept.retain(|there| there.code != table.code);
        let table = Arc::new(table);
        kept.push_back(Arc::clone(&table));
        while kept.len() > KEPT
            || (kept.len() > 1 && kept.iter().map(|t| t.memory_bytes).sum::<usize>() > KEPT_BYTES)
        {
            kept.pop_front();
        }
        table
    }

    /// The table of a code.
    ///
    /// # Errors
    /// None with that code, or no longer.
    pub(super) fn find(&self, code: &str) -> Result<Arc<KeptTable>, PageError> {
        self.kept()
            .iter()
            .find(|table| table.code == code)
            .cloned()
            .ok_or_else(|| {
                PageError::gone(
                    "This table is not here: the page keeps the last few that it was sent, and only while it runs.\nWhat helps: send the table again under 'Bench'; the same table gets the same address",
                )
            })
    }

    /// All that are kept, the newest first.
    pub(super) fn all(&self) -> Vec<Arc<KeptTable>> {
        self.kept().iter().rev().cloned().collect()
    }

    fn kept(&self) -> MutexGuard<'_, VecDeque<Arc<KeptTable>>> {
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(name: &str, bytes: usize) -> KeptTable {
        KeptTable::of(vec![(name.to_owned(), vec![b'#'; bytes])], None)
    }

    #[test]
    fn the_oldest_goes_where_there_is_no_more_room_and_the_same_table_is_kept_once() {
        let tables = Tables::default();
        let first = tables.put(table("first.csv", 1)).code.clone();
        for number in 0..KEPT - 1 {
            tables.put(table(&format!("{number}.csv"), 1));
        }
        tables.put(table("first.csv", 1));
        assert_eq!(tables.all().len(), KEPT);
        tables.put(table("another.csv", 1));
        assert_eq!(tables.all().len(), KEPT);
        assert!(tables.find(&first).is_ok());
        // A table counts with what its rows take in memory, more than its file has.
        let rows = "80,1,2.0,A\n90,1,50,A\n".repeat(2000);
        let text = format!("heat_temp_C,heat_time_min,viscosity_mPa_s,lot\n{rows}");
        let of_rows = KeptTable::of(
            vec![("rows.csv".to_owned(), text.clone().into_bytes())],
            None,
        );
        assert!(of_rows.outcome.is_ok());
        assert!(of_rows.memory_bytes > text.len() + 4000 * size_of::<RowDetails>());
        // Two that fill the room push all before them out.
        tables.put(table("large.csv", KEPT_BYTES - 1));
        tables.put(table("larger.csv", KEPT_BYTES - 1));
        assert_eq!(tables.all().len(), 1);
    }

    #[test]
    fn more_rows_than_the_page_reads_are_refused_in_all_files_together() {
        let half = |rows: usize| {
            let rows = "80,1,2.0\n90,1,50\n".repeat(rows / 2);
            format!("heat_temp_C,heat_time_min,viscosity_mPa_s\n{rows}").into_bytes()
        };
        let of = |first: usize, second: usize| {
            let (first, second) = (half(first), half(second));
            let parts = vec![("a.csv".to_owned(), first), ("b.csv".to_owned(), second)];
            KeptTable::of(parts, None).outcome
        };
        assert!(of(MOST_ROWS / 2, MOST_ROWS / 2 - 2).is_ok());
        assert!(matches!(
            of(MOST_ROWS / 2, MOST_ROWS / 2 + 2),
            Err(ReadingsError::TooManyRows {
                largest: MOST_ROWS,
                ..
            })
        ));
    }
}
