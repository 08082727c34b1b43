//! Workbooks: XLSX to named columns, told by cell as a spreadsheet names it.

mod archive;
mod inflate;
mod sheet;
mod template;
mod write;
#[cfg(feature = "page")]
mod written;

pub use template::blank_bench_workbook;
pub use write::workbook_of_csv;
#[cfg(feature = "page")]
pub(crate) use written::worksheet_as_written;

use std::collections::BTreeMap;

use super::columns::{CellColumn, ColumnTable, SheetCell, SheetOfTable};
use super::error::{Counted, FaultList, Problem, ReadingsError, SheetPlace};
use super::limits::LARGEST_COLUMNS;
use sheet::{Merged, Placed, Sheet, read_sheet};

/// The words by which a table says of itself that nobody measured it.
const INVENTED: &str = "invented data";

/// Most cells of the table, blank ones counted.
const LARGEST_GRID: usize = 20_000_000;

/// Takes one worksheet apart into columns; faults are told by cell.
pub(crate) fn columns_of_workbook(
    file: &str,
    sha256: String,
    bytes: &[u8],
    worksheet: Option<&str>,
) -> Result<ColumnTable, ReadingsError> {
    let Sheet {
        name,
        others,
        cells,
        merged,
    } = read_sheet(file, bytes, worksheet)?;
    let mut faults = FaultList::default();
    let place = |letters: Option<String>| {
        Some(SheetPlace {
            sheet: name.clone(),
            letters,
        })
    };
    let mut invented = false;
    let mut header: Option<&[Placed]> = None;
    let mut rows: Vec<&[Placed]> = Vec::new();
    for row in cells.chunk_by(|one, other| one.row == other.row) {
        if let Some(comment) = comment_of(row) {
            invented |= comment.to_lowercase().contains(INVENTED);
        } else if header.is_none() {
            header = Some(row);
        } else {
            rows.push(row);
        }
    }
    let Some(header) = header else {
        faults.push(Problem {
            message: "the sheet is empty: no header and no rows".to_string(),
            remedy: Some(if others.is_empty() {
                "heatset template --out bench.xlsx writes a table to start from".to_string()
            } else {
                format!("name another sheet with --worksheet: {}", others.join(", "))
            }),
            sheet: place(None),
            ..Problem::default()
        });
        return Err(ReadingsError::Faults {
            file: file.to_string(),
            faults,
        });
    };
    let header_row = line_of(header);
    if rows.is_empty() {
        faults.push(Problem {
            message: "there are no rows under the header".to_string(),
            remedy: Some(if others.is_empty() {
                "write one row a reading".to_string()
            } else {
                format!(
                    "write one row a reading, or name another sheet with --worksheet: {}",
                    others.join(", ")
                )
            }),
            sheet: place(None),
            ..Problem::default()
        });
    }
    for range in touching(&merged, header, &rows) {
        faults.push(Problem {
            line: Some(range.rows[0] as usize + 1),
            counted: Counted::Row,
            message: format!(
                "cells {}{}:{}{} are merged, and only the first of them holds a value",
                letters(range.columns[0]),
                range.rows[0] + 1,
                letters(range.columns[1]),
                range.rows[1] + 1
            ),
            remedy: Some("take them apart and write the value into every cell".to_string()),
            sheet: place(Some(letters(range.columns[0]))),
            ..Problem::default()
        });
    }
    let mut columns: BTreeMap<u32, String> = BTreeMap::new();
    for placed in header {
        columns.insert(placed.column, placed.cell.text().unwrap_or_default());
    }
    let mut without_header: BTreeMap<u32, usize> = BTreeMap::new();
    for placed in rows.iter().flat_map(|row| row.iter()) {
        if !columns.contains_key(&placed.column) {
            let line = placed.row as usize + 1;
            without_header.entry(placed.column).or_insert(line);
        }
    }
    for (column, line) in &without_header {
        faults.push(Problem {
            line: Some(header_row),
            counted: Counted::Row,
            message: format!("the column has values (the first in row {line}) and no header"),
            remedy: Some(
                "name it, or empty it; a remark below the table begins with #".to_string(),
            ),
            sheet: place(Some(letters(*column))),
            ..Problem::default()
        });
    }
    if columns.len() <= LARGEST_COLUMNS && columns.len().saturating_mul(rows.len()) > LARGEST_GRID {
        return Err(ReadingsError::TooManyCells {
            file: file.to_string(),
            largest: LARGEST_GRID,
        });
    }
    let too_wide = columns.len() > LARGEST_COLUMNS;
    let sheet = SheetOfTable {
        letters: columns.keys().map(|column| letters(*column)).collect(),
        name: name.clone(),
    };
    let columns = columns
        .into_iter()
        .map(|(column, header)| {
            let of_row = |row: &&[Placed]| {
                let found = row.binary_search_by_key(&column, |placed| placed.column);
                found
                    .ok()
                    .and_then(|at| row.get(at))
                    .map_or(SheetCell::Blank, |placed| placed.cell.clone())
            };
            let cells = if too_wide {
                Vec::new()
            } else {
                rows.iter().map(of_row).collect()
            };
            (header, CellColumn::Sheet(cells))
        })
        .collect();
    Ok(ColumnTable {
        file: file.to_string(),
        sha256,
        header_line: Some(header_row),
        columns,
        lines: rows.iter().map(|row| line_of(row)).collect(),
        counted: Counted::Row,
        // A spreadsheet knows its decimal sign; of a text with a comma nobody does.
        decimal_comma: false,
        invented,
        faults,
        sheet: Some(sheet),
    })
}

/// The text of a row whose first cell begins with `#`.
fn comment_of(row: &[Placed]) -> Option<String> {
    let SheetCell::Text(first) = &row.first()?.cell else {
        return None;
    };
    first.starts_with('#').then(|| {
        row.iter()
            .filter_map(|placed| placed.cell.text())
            .collect::<Vec<_>>()
            .join(" ")
    })
}

fn line_of(row: &[Placed]) -> usize {
    row.first().map_or(0, |placed| placed.row as usize + 1)
}

/// The merged ranges that lie in the header or in rows of the table.
fn touching(merged: &[Merged], header: &[Placed], rows: &[&[Placed]]) -> Vec<Merged> {
    let of_table: Vec<usize> = std::iter::once(header)
        .chain(rows.iter().copied())
        .map(line_of)
        .collect();
    let touches = |range: &&Merged| {
        let [first, last] = range.rows.map(|row| row as usize + 1);
        let next = of_table.partition_point(|line| *line < first);
        of_table.get(next).is_some_and(|line| *line <= last)
    };
    merged.iter().filter(touches).copied().collect()
}

/// A column as a spreadsheet names it, counted from 0: A, B … Z, AA.
pub(crate) fn letters(column: u32) -> String {
    let mut text = Vec::new();
    let mut rest = u64::from(column) + 1;
    while rest > 0 {
        rest -= 1;
        text.push(char::from(b'A' + (rest % 26) as u8));
        rest /= 26;
    }
    text.iter().rev().collect()
}

#[cfg(test)]
mod tests {
    use super::letters;

    #[test]
    fn columns_are_named_as_spreadsheets_do() {
        // ECMA-376 part 1, 18.3.1.4: the last column of a worksheet, the 16384th, is XFD.
        for (column, name) in [
            (0, "A"),
            (25, "Z"),
            (26, "AA"),
            (701, "ZZ"),
            (702, "AAA"),
            (16383, "XFD"),
        ] {
            assert_eq!(letters(column), name);
        }
    }
}
