//! Files that hold readings or what was seen, found by their header.

use super::table::SeenTable;
use crate::readings::columns::ColumnTable;
use crate::readings::error::ReadingsError;
use crate::readings::files::{bench_of_columns, columns_of_bytes, columns_of_file};
use crate::readings::table::BenchTable;
use std::path::PathBuf;

/// A bench of either kind.
#[derive(Debug, Clone, PartialEq)]
pub enum Bench {
    /// Of readings.
    Readings(BenchTable),
    /// Of what was seen.
    Seen(SeenTable),
}

/// Reads one bench of readings, or of what was seen, from one or more files.
///
/// # Errors
/// As [`crate::readings::read_bench`]; files of both kinds together.
pub fn read_bench_or_seen(
    paths: &[PathBuf],
    worksheet: Option<&str>,
) -> Result<Bench, ReadingsError> {
    let files: Vec<_> = paths
        .iter()
        .map(|path| columns_of_file(path, worksheet))
        .collect();
    let says_seen = |columns: &Result<ColumnTable, ReadingsError>| {
        columns.as_ref().is_ok_and(ColumnTable::has_seen)
    };
    if !files.iter().any(says_seen) {
        return bench_of_columns(files, worksheet).map(Bench::Readings);
    }
    let mut seen = Vec::new();
    let mut of_readings = None;
    let mut errors = Vec::new();
    for columns in files {
        match columns {
            Ok(columns) if columns.has_seen() => match columns.check_seen() {
                Ok(table) => seen.push(table),
                Err(error) => errors.push(error),
            },
            Ok(columns) => of_readings = Some(columns.file),
            Err(error) => errors.push(error),
        }
    }
    if errors.len() > 1 {
        return Err(ReadingsError::SeveralFiles { errors });
    }
    if let Some(error) = errors.pop() {
        return Err(error);
    }
    let whole = concat(seen)?;
    match of_readings {
        Some(second_file) => Err(ReadingsError::SeenAndReadings {
            first_file: whole.file_names(),
            second_file,
        }),
        None => Ok(Bench::Seen(whole)),
    }
}

/// Reads a table of what was seen from the bytes of a text table.
///
/// # Errors
/// Every fault at once.
///
/// # Example
/// ```
/// use heatset::readings::read_seen_text;
/// let refused = read_seen_text("seen.csv", b"heat_temp_C,heat_time_min,seen\n80,4,maybe\n");
/// assert_eq!(
///     refused.unwrap_err().to_string(),
///     "seen.csv cannot be read: 1 fault\n  line 2, column seen: \"maybe\" is neither set nor not-set (write set or not-set; a syringe of which you are not sure is left out)",
/// );
/// ```
pub fn read_seen_text(name: &str, bytes: &[u8]) -> Result<SeenTable, ReadingsError> {
    let columns: ColumnTable = columns_of_bytes(name, bytes, None)?;
    columns.check_seen()
}

fn concat(tables: Vec<SeenTable>) -> Result<SeenTable, ReadingsError> {
    let mut tables = tables.into_iter();
    let Some(mut whole) = tables.next() else {
        return Err(ReadingsError::NoFile);
    };
    for table in tables {
        for source in &table.sources {
            if let Some(same) = whole.sources.iter().find(|s| s.sha256 == source.sha256) {
                return Err(ReadingsError::SameTableTwice {
                    first_file: same.file.clone(),
                    second_file: source.file.clone(),
                });
            }
        }
        let shift = whole.sources.len();
        whole.sources.extend(table.sources);
        whole.rows.extend(table.rows.into_iter().map(|mut row| {
            row.details.source += shift;
            row
        }));
        whole
            .runs_without_gel
            .extend(table.runs_without_gel.into_iter().map(|mut run| {
                run.details.source += shift;
                run
            }));
        for column in table.unknown_columns {
            if !whole.unknown_columns.contains(&column) {
                whole.unknown_columns.push(column);
            }
        }
        whole.invented |= table.invented;
    }
    Ok(whole)
}
