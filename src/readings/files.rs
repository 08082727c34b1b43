//! The ways in: files by name, or bytes with a name.

use std::fs;
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use super::columns::ColumnTable;
use super::error::{ReadingsError, system_words};
use super::limits::LARGEST_FILE_BYTES;
use super::parquet::{MAGIC, columns_of_parquet};
use super::table::{BenchTable, hexadecimal};
use super::text::columns_of_text;
use super::workbook::columns_of_workbook;

/// Reads one bench table from one or more files.
///
/// # Errors
/// Every fault of every file at once; files with different kinds of reading; the same file
/// twice; readings that do not change.
pub fn read_bench(paths: &[PathBuf]) -> Result<BenchTable, ReadingsError> {
    read_bench_of_worksheet(paths, None)
}

/// As [`read_bench`], from the worksheet of that name; without one from the first of a workbook
/// that is not hidden.
///
/// # Errors
/// As [`read_bench`]; a worksheet that is not there; a worksheet named where no file is a workbook.
pub fn read_bench_of_worksheet(
    paths: &[PathBuf],
    worksheet: Option<&str>,
) -> Result<BenchTable, ReadingsError> {
    let columns = paths
        .iter()
        .map(|path| columns_of_file(path, worksheet))
        .collect();
    bench_of_columns(columns, worksheet)
}

/// One bench table from the columns of its files; every fault of every file at once.
pub(super) fn bench_of_columns(
    files: Vec<Result<ColumnTable, ReadingsError>>,
    worksheet: Option<&str>,
) -> Result<BenchTable, ReadingsError> {
    let mut tables = Vec::new();
    let mut errors = Vec::new();
    for columns in files {
        match columns.and_then(ColumnTable::check) {
            Ok(table) => tables.push(table),
            Err(error) => errors.push(error),
        }
    }
    if errors.len() > 1 {
        return Err(ReadingsError::SeveralFiles { errors });
    }
    if let Some(error) = errors.pop() {
        return Err(error);
    }
    let table = BenchTable::concat(tables)?;
    check_worksheet_was_read(&table, worksheet)?;
    table.check_readings_change()?;
    Ok(table)
}

/// A worksheet was named: one file at least must be a workbook.
fn check_worksheet_was_read(
    table: &BenchTable,
    worksheet: Option<&str>,
) -> Result<(), ReadingsError> {
    match worksheet {
        Some(asked)
            if table
                .sources
                .iter()
                .all(|source| source.worksheet.is_none()) =>
        {
            Err(ReadingsError::NoWorksheets {
                file: table.file_names(),
                asked: crate::units::quantity::excerpt(asked),
            })
        }
        _ => Ok(()),
    }
}

/// Reads a bench table from the bytes of a text table (CSV, TSV, semicolons).
///
/// # Errors
/// Every fault at once; readings that do not change.
///
/// # Example
/// ```
/// use heatset::readings::read_bench_text;
/// let text = "heat_temp_C,heat_time_min,viscosity_mPa_s\n80,1,2.0\n90,1,50\n";
/// let table = read_bench_text("bench.csv", text.as_bytes())?;
/// assert_eq!(table.heat_time_s[0], 60.0);
///
/// let refused = read_bench_text("bench.csv", b"heat_temp_C,heat_time_min,viscosity_mPa_s\n80,-2,2\n");
/// assert_eq!(
///     refused.unwrap_err().to_string(),
///     "bench.csv cannot be read: 1 fault\n  line 2, column heat_time_min: -2 is negative",
/// );
/// # Ok::<(), heatset::readings::ReadingsError>(())
/// ```
pub fn read_bench_text(name: &str, bytes: &[u8]) -> Result<BenchTable, ReadingsError> {
    check_size(name, bytes.len() as u64)?;
    let table = columns_of_text(name, sha256_of(bytes), bytes)?.check()?;
    table.check_readings_change()?;
    Ok(table)
}

/// Reads a bench table from bytes: text, Parquet or a workbook, found by looking.
///
/// # Errors
/// As [`read_bench`].
pub fn read_bench_bytes(name: &str, bytes: &[u8]) -> Result<BenchTable, ReadingsError> {
    read_bench_bytes_of_worksheet(name, bytes, None)
}

/// As [`read_bench_bytes`], from the worksheet of that name.
///
/// # Errors
/// As [`read_bench_of_worksheet`].
pub fn read_bench_bytes_of_worksheet(
    name: &str,
    bytes: &[u8],
    worksheet: Option<&str>,
) -> Result<BenchTable, ReadingsError> {
    let table = table_of_bytes(name, bytes, worksheet)?;
    check_worksheet_was_read(&table, worksheet)?;
    table.check_readings_change()?;
    Ok(table)
}

/// The columns of a file, before anything is checked.
pub(super) fn columns_of_file(
    path: &Path,
    worksheet: Option<&str>,
) -> Result<ColumnTable, ReadingsError> {
    let file = path.display().to_string();
    let unreadable = |reason: &str| ReadingsError::Unreadable {
        file: file.clone(),
        reason: reason.to_string(),
    };
    let size = match fs::metadata(path) {
        Ok(about) if about.is_dir() => {
            return Err(unreadable("it is a folder; name the table in it"));
        }
        Ok(about) => about.len(),
        Err(error) => return Err(unreadable(&system_words(&error))),
    };
    check_size(&file, size)?;
    let bytes = fs::read(path).map_err(|error| unreadable(&system_words(&error)))?;
    columns_of_bytes(&file, &bytes, worksheet)
}

fn table_of_bytes(
    file: &str,
    bytes: &[u8],
    worksheet: Option<&str>,
) -> Result<BenchTable, ReadingsError> {
    columns_of_bytes(file, bytes, worksheet)?.check()
}

/// The columns of a table in memory, text, Parquet or a workbook, found by looking.
pub(super) fn columns_of_bytes(
    file: &str,
    bytes: &[u8],
    worksheet: Option<&str>,
) -> Result<ColumnTable, ReadingsError> {
    check_size(file, bytes.len() as u64)?;
    let lower = file.to_lowercase();
    let sha256 = sha256_of(bytes);
    if bytes.starts_with(&[0xd0, 0xcf, 0x11, 0xe0]) || lower.ends_with(".xls") {
        return Err(ReadingsError::OtherFormat {
            file: file.to_string(),
            what: "an old workbook (XLS), or one that is locked with a password",
            remedy: "save the table as XLSX without a password, or as CSV, and give that",
        });
    }
    if lower.ends_with(".ods") {
        return Err(ReadingsError::OtherFormat {
            file: file.to_string(),
            what: "an OpenDocument file",
            remedy: "save the table as XLSX or CSV and give that",
        });
    }
    if is_workbook(bytes) || lower.ends_with(".xlsx") || lower.ends_with(".xlsm") {
        return columns_of_workbook(file, sha256, bytes, worksheet);
    }
    if bytes.starts_with(MAGIC) || lower.ends_with(".parquet") {
        columns_of_parquet(file, sha256, bytes)
    } else {
        columns_of_text(file, sha256, bytes)
    }
}

/// A workbook is a zip archive; an empty one begins with its end.
fn is_workbook(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06")
}

pub(super) fn check_size(file: &str, bytes: u64) -> Result<(), ReadingsError> {
    if bytes > LARGEST_FILE_BYTES {
        return Err(ReadingsError::TooLarge {
            file: file.to_string(),
            bytes,
            largest: LARGEST_FILE_BYTES,
        });
    }
    Ok(())
}

/// Reads one bench table from the bytes of one or more files, each with its name; of a workbook the
/// worksheet of that name, or its first. More than `largest_rows` in all are not read.
///
/// # Errors
/// As [`read_bench`]; more rows than that.
#[cfg(feature = "page")]
pub(crate) fn read_bench_parts(
    parts: &[(String, Vec<u8>)],
    worksheet: Option<&str>,
    largest_rows: usize,
) -> Result<BenchTable, ReadingsError> {
    let mut columns = Vec::with_capacity(parts.len());
    let mut rows = 0;
    for (name, bytes) in parts {
        let of_file = columns_of_bytes(name, bytes, worksheet);
        rows += of_file.as_ref().map_or(0, |table| table.lines.len());
        if rows > largest_rows {
            return Err(ReadingsError::TooManyRows {
                file: name.clone(),
                largest: largest_rows,
            });
        }
        columns.push(of_file);
    }
    bench_of_columns(columns, worksheet)
}

fn sha256_of(bytes: &[u8]) -> String {
    hexadecimal(&Sha256::digest(bytes))
}
