//! A worksheet as it stands in its workbook, before anything is understood.

use std::collections::BTreeSet;

use super::sheet::{Placed, read_sheet};
use super::{INVENTED, comment_of, letters, line_of};
use crate::readings::as_written::{MOST_WRITTEN_CELLS, TableAsWritten};
use crate::readings::columns::SheetCell;
use crate::readings::error::Counted;
use crate::readings::limits::LARGEST_COLUMNS;

/// The cells of a worksheet, of columns without a header too, where they are not more than are shown;
/// `None` where none can be told apart.
pub(crate) fn worksheet_as_written(
    file: &str,
    bytes: &[u8],
    worksheet: Option<&str>,
) -> Option<TableAsWritten> {
    let sheet = read_sheet(file, bytes, worksheet).ok()?;
    let mut invented = false;
    let mut table: Vec<&[Placed]> = Vec::new();
    for row in sheet.cells.chunk_by(|one, other| one.row == other.row) {
        match comment_of(row) {
            Some(comment) => invented |= comment.to_lowercase().contains(INVENTED),
            None => table.push(row),
        }
    }
    let Some((header, rows)) = table.split_first() else {
        // Nothing here: the table that was meant may be on another worksheet.
        return Some(TableAsWritten {
            worksheet: Some(sheet.name),
            other_worksheets: sheet.others,
            ..TableAsWritten::default()
        });
    };
    let columns: BTreeSet<u32> = table
        .iter()
        .flat_map(|row| row.iter().map(|placed| placed.column))
        .collect();
    if columns.len() > LARGEST_COLUMNS
        || columns.len().saturating_mul(rows.len()) > MOST_WRITTEN_CELLS
    {
        // Its cells are not shown; another worksheet can still be chosen.
        return Some(TableAsWritten {
            worksheet: Some(sheet.name),
            other_worksheets: sheet.others,
            ..TableAsWritten::default()
        });
    }
    let cells = |row: &[Placed]| -> Vec<String> {
        columns
            .iter()
            .map(|column| {
                let found = row.binary_search_by_key(column, |placed| placed.column);
                found
                    .ok()
                    .and_then(|at| row.get(at))
                    .map_or_else(String::new, |placed| words_of(&placed.cell))
            })
            .collect()
    };
    Some(TableAsWritten {
        header_line: Some(line_of(header)),
        header: cells(header),
        rows: rows.iter().map(|row| (line_of(row), cells(row))).collect(),
        counted: Counted::Row,
        invented,
        decimal_comma: false,
        letters: columns.iter().map(|column| letters(*column)).collect(),
        worksheet: Some(sheet.name),
        other_worksheets: sheet.others,
    })
}

/// A cell as text; a formula without a value is empty, and its fault stands beside it.
fn words_of(cell: &SheetCell) -> String {
    cell.text().unwrap_or_default().trim().to_owned()
}
