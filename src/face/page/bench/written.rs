//! What is kept of a table to be shown: all its cells where it is small enough to be changed here,
//! the faulty rows where it is not, so that no view takes its file apart anew.

use super::cells::{Mark, Place, marks};
use super::grid::MOST_COLUMNS;
use super::table_view::is_small;
use crate::readings::{FaultList, TableAsWritten, table_as_written};
use crate::units::quantity::excerpt;

/// Rows before and after a faulty one that are shown of a larger table.
const BESIDE: usize = 1;
/// The most text, in bytes, that is shown to be changed.
const MOST_TEXT_BYTES: usize = 512 * 1024;

/// A table of one file as it is shown.
#[derive(Debug)]
pub(super) struct Written {
    /// Name of the file.
    pub(super) name: String,
    /// What is wrong, with its places.
    pub(super) marks: Vec<Mark>,
    /// The worksheet that was read.
    pub(super) worksheet: Option<String>,
    /// The other worksheets of its workbook.
    pub(super) other_worksheets: Vec<String>,
    /// Its cells.
    pub(super) cells: Cells,
}

/// The cells that are shown.
#[derive(Debug)]
pub(super) enum Cells {
    /// All of them, to be changed.
    Whole(TableAsWritten),
    /// Those round its faults.
    Faulty(Excerpt),
}

/// Faulty rows and their neighbours; texts in short.
#[derive(Debug)]
pub(super) struct Excerpt {
    /// Place and header of each column that is shown.
    pub(super) columns: Vec<(usize, String)>,
    /// How many there are beside them.
    pub(super) further_columns: usize,
    /// Place, line and cells of each row, one for each column that is shown.
    pub(super) rows: Vec<(usize, usize, Vec<String>)>,
}

impl Written {
    /// Takes a file apart; `None` where its cells cannot be told.
    pub(super) fn of(
        name: &str,
        bytes: &[u8],
        worksheet: Option<&str>,
        faults: Option<&FaultList>,
    ) -> Option<Self> {
        let table = table_as_written(name, bytes, worksheet)?;
        let marks = faults.map_or_else(Vec::new, |faults| marks(faults, &table));
        Some(Self {
            name: name.to_owned(),
            worksheet: table.worksheet.clone(),
            other_worksheets: table.other_worksheets.clone(),
            cells: if is_small(&table) && text_bytes(&table) <= MOST_TEXT_BYTES {
                Cells::Whole(table)
            } else {
                Cells::Faulty(Excerpt::of(&table, &marks))
            },
            marks,
        })
    }

    /// What it takes in memory.
    pub(super) fn memory_bytes(&self) -> usize {
        let (texts, bytes) = match &self.cells {
            Cells::Whole(table) => {
                let cells = table.rows.iter().map(|(_, cells)| cells.len());
                (cells.sum::<usize>() + table.header.len(), text_bytes(table))
            }
            Cells::Faulty(excerpt) => {
                let cells = (excerpt.rows.len() + 1) * excerpt.columns.len();
                // Texts in short have 40 letters.
                (cells, 40 * cells)
            }
        };
        texts * (size_of::<String>() + 16) + bytes
    }
}

fn text_bytes(table: &TableAsWritten) -> usize {
    let cells = table.rows.iter().flat_map(|(_, cells)| cells);
    cells.chain(&table.header).map(String::len).sum()
}

impl Excerpt {
    fn of(table: &TableAsWritten, marks: &[Mark]) -> Self {
        // Faulty columns are shown whatever their place, the first ones beside them.
        let mut columns: Vec<usize> = marks
            .iter()
            .filter_map(|mark| match mark.place {
                Place::Header(column) | Place::Cell(_, column) => Some(column),
                Place::Row(_) | Place::Table => None,
            })
            .collect();
        columns.sort_unstable();
        columns.dedup();
        columns.truncate(MOST_COLUMNS);
        let width = table.header.len();
        let beside: Vec<usize> = (0..width)
            .filter(|column| columns.binary_search(column).is_err())
            .take(MOST_COLUMNS - columns.len())
            .collect();
        columns.extend(beside);
        columns.sort_unstable();
        let near = |row: usize| {
            marks.iter().any(|mark| match mark.place {
                Place::Cell(at, _) | Place::Row(at) => at.abs_diff(row) <= BESIDE,
                Place::Header(_) | Place::Table => false,
            })
        };
        let of_row = |cells: &[String]| -> Vec<String> {
            let cell = |column: &usize| cells.get(*column).map_or_else(String::new, |c| excerpt(c));
            columns.iter().map(cell).collect()
        };
        let rows = table.rows.iter().enumerate();
        Self {
            rows: rows
                .filter(|(row, _)| near(*row))
                .map(|(row, (line, cells))| (row, *line, of_row(cells)))
                .collect(),
            further_columns: width.saturating_sub(columns.len()),
            columns: columns.iter().copied().zip(of_row(&table.header)).collect(),
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::readings::read_bench_text;

    #[test]
    fn of_a_broad_table_the_faulty_columns_and_the_first_ones_are_kept() {
        let mut header = "heat_temp_C,heat_time_min".to_owned();
        let mut row = "80,1".to_owned();
        for number in 0..700 {
            header.push_str(&format!(",note_{number}"));
            row.push_str(",x");
        }
        let text = format!("{header},viscosity_mPa_s\n{row},-4\n{row},2\n{row},3\n{row},4\n");
        let error = read_bench_text("t.csv", text.as_bytes()).unwrap_err();
        let faults = super::super::tables::faults_of(&error);
        let written = Written::of("t.csv", text.as_bytes(), None, faults).unwrap();
        let Cells::Faulty(shown) = &written.cells else {
            panic!("703 columns are no grid");
        };
        assert_eq!((shown.columns.len(), shown.further_columns), (60, 643));
        assert_eq!(shown.columns.last().unwrap().0, 702);
        let places: Vec<usize> = shown.rows.iter().map(|(row, _, _)| *row).collect();
        assert_eq!(places, [0, 1]);
        assert_eq!(shown.rows[0].2.last().unwrap(), "-4");
    }

    #[test]
    fn of_a_header_of_millions_sixty_are_kept() {
        let text = format!("a{}\n1,2\n", ",a".repeat(1_000_000));
        let written = Written::of("t.csv", text.as_bytes(), None, None).unwrap();
        assert!(written.memory_bytes() < 20_000);
    }
}
