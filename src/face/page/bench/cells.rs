//! Which cell of a table a fault belongs to.

use crate::readings::{FaultList, Problem, TableAsWritten};
use crate::units::quantity::excerpt;

/// Where a fault stands in a table as it is written; rows and columns are counted from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Place {
    /// A cell of the header.
    Header(usize),
    /// A cell.
    Cell(usize, usize),
    /// A whole row.
    Row(usize),
    /// The table.
    Table,
}

/// A fault with its place.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Mark {
    /// Where.
    pub(super) place: Place,
    /// The fault as a list says it, with its place.
    pub(super) listed: String,
    /// The fault as it is said at its place.
    pub(super) at_place: String,
}

impl Mark {
    /// Name of the element that the fault belongs to, which links lead to.
    pub(super) fn target(&self) -> Option<String> {
        match self.place {
            Place::Header(column) => Some(super::grid::header_name(column)),
            Place::Cell(row, column) => Some(super::grid::cell_name(row, column)),
            Place::Row(row) => Some(format!("r-{row}")),
            Place::Table => None,
        }
    }
}

/// The faults with their places.
pub(super) fn marks(faults: &FaultList, table: &TableAsWritten) -> Vec<Mark> {
    // Columns without a header are told in their order.
    let mut nameless = (0..table.header.len()).filter(|c| cell(&table.header, *c).is_empty());
    faults
        .problems()
        .iter()
        .map(|problem| Mark {
            place: place(problem, table, &mut nameless),
            listed: problem.to_string(),
            at_place: match &problem.remedy {
                Some(remedy) => format!("{} ({remedy})", problem.message),
                None => problem.message.clone(),
            },
        })
        .collect()
}

fn place(
    problem: &Problem,
    table: &TableAsWritten,
    nameless: &mut impl Iterator<Item = usize>,
) -> Place {
    let in_header = problem.line == table.header_line;
    // A spreadsheet names the column itself.
    let lettered = problem
        .sheet
        .as_ref()
        .and_then(|place| place.letters.as_ref())
        .and_then(|letters| table.letters.iter().position(|known| known == letters));
    let row = table
        .rows
        .iter()
        .position(|(line, _)| problem.line == Some(*line))
        .filter(|_| !in_header);
    // Headers are told in short.
    let mut named = (0..table.header.len()).filter(|c| {
        problem
            .column
            .as_ref()
            .is_some_and(|name| excerpt(cell(&table.header, *c)) == *name)
    });
    if let Some(column) = lettered {
        return row.map_or(Place::Header(column), |row| Place::Cell(row, column));
    }
    match (row, in_header, &problem.column) {
        // Of two headers alike the later is at fault, and the earlier is the column that is read.
        (None, true, Some(_)) => named.next_back().map_or(Place::Table, Place::Header),
        (None, true, None) if problem.message.ends_with("has values and no header") => {
            nameless.next().map_or(Place::Table, Place::Header)
        }
        (Some(row), _, Some(_)) => named
            .next()
            .map_or(Place::Row(row), |column| Place::Cell(row, column)),
        (Some(row), _, None) => Place::Row(row),
        _ => Place::Table,
    }
}

fn cell(cells: &[String], place: usize) -> &str {
    cells.get(place).map_or("", String::as_str)
}
