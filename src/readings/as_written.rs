//! A table as it stands in its file, before anything is understood: so that a fault can be shown in
//! the cell that it belongs to.

use super::columns::{CellColumn, ColumnTable};
use super::error::Counted;
use super::parquet::{MAGIC, columns_of_parquet};
use super::records::split;
use super::workbook::worksheet_as_written;
use crate::units::display;

/// Cells of a worksheet or of a Parquet table, whose blank cells take no bytes of a file: a table with
/// more is not taken apart to be shown.
pub(crate) const MOST_WRITTEN_CELLS: usize = 2_000_000;

/// Header and cells as they are written.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct TableAsWritten {
    /// Line of the header, where the file has lines.
    pub(crate) header_line: Option<usize>,
    /// The header's cells.
    pub(crate) header: Vec<String>,
    /// Line (or row) and cells of each row, in their order; a row may be longer or shorter than
    /// the header.
    pub(crate) rows: Vec<(usize, Vec<String>)>,
    /// What the lines count.
    pub(crate) counted: Counted,
    /// Whether the file says of itself that it is invented.
    pub(crate) invented: bool,
    /// Whether a comma inside a number is a decimal comma.
    pub(crate) decimal_comma: bool,
    /// Letters of the columns, where they stand in a worksheet.
    pub(crate) letters: Vec<String>,
    /// Name of that worksheet.
    pub(crate) worksheet: Option<String>,
    /// The other worksheets of its workbook, `(hidden)` behind those that are.
    pub(crate) other_worksheets: Vec<String>,
}

/// The cells of a text or Parquet table or of a worksheet, whatever is wrong with them; `None` where
/// none can be told apart, as in a damaged file or UTF-16 text.
pub(crate) fn table_as_written(
    file: &str,
    bytes: &[u8],
    worksheet: Option<&str>,
) -> Option<TableAsWritten> {
    if bytes.starts_with(b"PK") {
        return worksheet_as_written(file, bytes, worksheet);
    }
    if bytes.starts_with(MAGIC) || file.to_lowercase().ends_with(".parquet") {
        return columns_of_parquet(file, String::new(), bytes)
            .ok()
            .filter(|table| table.columns.len() * table.lines.len() <= MOST_WRITTEN_CELLS)
            .map(of_columns);
    }
    let other = [&[0xd0, 0xcf, 0x11, 0xe0][..], &[0xff, 0xfe], &[0xfe, 0xff]];
    if other.iter().any(|beginning| bytes.starts_with(beginning)) {
        return None;
    }
    // Letters that are none are shown as such: their line is among the faults.
    let records = split(&String::from_utf8_lossy(bytes));
    let header = records.header?;
    let mut rows: Vec<(usize, Vec<String>)> = records
        .rows
        .into_iter()
        .chain(records.uneven)
        .map(|record| (record.line, trimmed(record.fields)))
        .collect();
    rows.sort_by_key(|(line, _)| *line);
    Some(TableAsWritten {
        header_line: Some(header.line),
        header: trimmed(header.fields),
        rows,
        counted: Counted::Line,
        invented: records.invented,
        decimal_comma: records.separator != ',',
        ..TableAsWritten::default()
    })
}

fn trimmed(fields: Vec<String>) -> Vec<String> {
    fields
        .into_iter()
        .map(|field| field.trim().to_string())
        .collect()
}

/// The cells of a table whose columns its reader tells apart.
fn of_columns(table: ColumnTable) -> TableAsWritten {
    let mut rows: Vec<(usize, Vec<String>)> = table
        .lines
        .iter()
        .map(|line| (*line, Vec::with_capacity(table.columns.len())))
        .collect();
    for (_, column) in &table.columns {
        for (place, (_, cells)) in rows.iter_mut().enumerate() {
            cells.push(cell_words(column, place));
        }
    }
    TableAsWritten {
        header_line: table.header_line,
        header: table.columns.into_iter().map(|(name, _)| name).collect(),
        rows,
        counted: table.counted,
        invented: table.invented,
        decimal_comma: table.decimal_comma,
        ..TableAsWritten::default()
    }
}

fn cell_words(column: &CellColumn, place: usize) -> String {
    let words = if let CellColumn::Text(cells) = column {
        cells.get(place).cloned().flatten()
    } else if let CellColumn::Number(cells) = column {
        cells.get(place).copied().flatten().map(display::plain)
    } else {
        None
    };
    words.unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_of_any_length_stand_in_their_order_with_their_lines() {
        let text = "# a note\na,b\n1,2\n3\n\n4,5,6\n";
        let table = table_as_written("t.csv", text.as_bytes(), None).unwrap_or_default();
        assert_eq!(table.header_line, Some(2));
        assert_eq!(table.header, ["a", "b"]);
        let lines: Vec<usize> = table.rows.iter().map(|(line, _)| *line).collect();
        assert_eq!(lines, [3, 4, 6]);
        let lengths: Vec<usize> = table.rows.iter().map(|(_, cells)| cells.len()).collect();
        assert_eq!(lengths, [2, 1, 3]);
    }

    #[test]
    fn damaged_files_have_no_cells_to_show() {
        for (name, bytes) in [
            ("t.xlsx", &b"PK\x03\x04rest"[..]),
            ("t.parquet", b"PAR1 and nothing"),
        ] {
            assert_eq!(table_as_written(name, bytes, None), None, "{name}");
        }
    }

    /// The template that the program writes, read back as it stands.
    #[test]
    fn a_worksheet_is_told_with_its_rows_letters_and_neighbours() {
        let bytes = crate::readings::blank_bench_workbook().unwrap_or_default();
        let table = table_as_written("t.xlsx", &bytes, None).unwrap_or_default();
        assert_eq!(table.letters.len(), table.header.len());
        assert_eq!(table.letters.first().map(String::as_str), Some("A"));
        assert!(table.header.iter().any(|name| name == "heat_temp_C"));
        assert!(!table.other_worksheets.is_empty());
    }
}
