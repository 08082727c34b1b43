//! Text tables: our own splitter finds lines, comments and separators; polars then reads the
//! clean records into columns, as it does for Parquet.

use std::io::Cursor;
use std::sync::Arc;

use polars::prelude::{CsvParseOptions, CsvReadOptions, DataFrame, DataType, Schema, SerReader};

use super::columns::ColumnTable;
use super::error::{Counted, FaultList, Problem, ReadingsError};
use super::frame::{cells_of, column_name};
use super::records::{Record, Records, split};

/// Takes a text table apart into columns; faults are told by line.
pub(crate) fn columns_of_text(
    file: &str,
    sha256: String,
    bytes: &[u8],
) -> Result<ColumnTable, ReadingsError> {
    let text = match decode(bytes) {
        Ok(text) => text,
        Err(problem) => {
            let mut faults = FaultList::default();
            faults.push(*problem);
            return Err(ReadingsError::Faults {
                file: file.to_string(),
                faults,
            });
        }
    };
    let Records {
        separator,
        header,
        rows,
        invented,
        too_many,
        mut faults,
        ..
    } = split(text);
    if too_many {
        return Err(ReadingsError::TooManyRows {
            file: file.to_string(),
            largest: super::limits::LARGEST_ROWS,
        });
    }
    let Some(header) = header else {
        faults.push(Problem {
            message: "the table is empty: no header and no rows".to_string(),
            remedy: Some("heatset template writes a table to start from".to_string()),
            ..Problem::default()
        });
        return Err(ReadingsError::Faults {
            file: file.to_string(),
            faults,
        });
    };
    let lines = rows.iter().map(|row| row.line).collect();
    let cells = if rows.is_empty() || header.fields.len() > super::limits::LARGEST_COLUMNS {
        Vec::new()
    } else {
        let frame = frame_of(&rows, header.fields.len()).map_err(|error| unread(file, &error))?;
        if frame.height() != rows.len() {
            return Err(unread(
                file,
                &format!("{} rows became {}", rows.len(), frame.height()),
            ));
        }
        cells_of(&frame).map_err(|error| unread(file, &error))?
    };
    let mut cells = cells.into_iter();
    let columns = header
        .fields
        .iter()
        .map(|name| {
            let empty = super::columns::CellColumn::Text(Vec::new());
            (name.trim().to_string(), cells.next().unwrap_or(empty))
        })
        .collect();
    Ok(ColumnTable {
        file: file.to_string(),
        sha256,
        header_line: Some(header.line),
        columns,
        lines,
        counted: Counted::Line,
        decimal_comma: separator != ',',
        invented,
        faults,
        sheet: None,
    })
}

/// The records as a data frame of text columns.
fn frame_of(rows: &[Record], width: usize) -> Result<DataFrame, String> {
    let mut clean = String::new();
    for row in rows {
        for (number, field) in row.fields.iter().enumerate() {
            if number > 0 {
                clean.push(',');
            }
            let field = field.trim();
            if !field.is_empty() {
                clean.push('"');
                // A line end inside a cell is a blank: cells are read line by line.
                for character in field.chars() {
                    match character {
                        '"' => clean.push_str("\"\""),
                        '\n' | '\r' => clean.push(' '),
                        other => clean.push(other),
                    }
                }
                clean.push('"');
            }
        }
        clean.push('\n');
    }
    let schema: Schema = (0..width)
        .map(|index| (column_name(index).into(), DataType::String))
        .collect();
    CsvReadOptions::default()
        .with_has_header(false)
        .with_schema(Some(Arc::new(schema)))
        .with_infer_schema_length(Some(0))
        .with_parse_options(CsvParseOptions::default().with_separator(b','))
        .into_reader_with_file_handle(Cursor::new(clean.into_bytes()))
        .finish()
        .map_err(|error| error.to_string())
}

fn unread(file: &str, reason: &str) -> ReadingsError {
    ReadingsError::Unreadable {
        file: file.to_string(),
        reason: format!("its records cannot be put into columns ({reason})"),
    }
}

/// The text of the bytes: UTF-8, with or without byte-order mark.
fn decode(bytes: &[u8]) -> Result<&str, Box<Problem>> {
    let remedy = Some("save the table as CSV UTF-8".to_string());
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return Err(Box::new(Problem {
            line: Some(1),
            message: "the text is UTF-16, not UTF-8".to_string(),
            remedy,
            ..Problem::default()
        }));
    }
    let line_at = |end: usize| {
        let before = bytes.get(..end).unwrap_or(bytes);
        1 + before.iter().filter(|byte| **byte == b'\n').count()
    };
    match std::str::from_utf8(bytes) {
        Ok(text) => match bytes.iter().position(|byte| *byte == 0) {
            None => Ok(text),
            Some(at) => Err(Box::new(Problem {
                line: Some(line_at(at)),
                message: "a zero byte stands here, which no text has".to_string(),
                remedy,
                ..Problem::default()
            })),
        },
        Err(error) => {
            let at = error.valid_up_to();
            let found = bytes.get(at).map(|byte| format!("byte 0x{byte:02x}"));
            Err(Box::new(Problem {
                line: Some(line_at(at)),
                message: format!(
                    "not UTF-8: {} is no letter",
                    found.clone().unwrap_or_default()
                ),
                found,
                remedy,
                ..Problem::default()
            }))
        }
    }
}
