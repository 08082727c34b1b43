//! One cell to its text or its number in SI, and the fault of a cell.

use super::RowReader;
use crate::readings::columns::{CellColumn, SheetCell};
use crate::readings::error::Problem;
use crate::readings::header::{KnownColumn, Role};
use crate::readings::number::read_number;
use crate::units::display;
use crate::units::quantity::excerpt;

impl RowReader<'_> {
    /// A fault of a role's column, or of the row where there is no such column.
    pub(super) fn fault_of(&mut self, row: usize, role: Role, message: &str, remedy: &str) {
        let column = self.layout.column(role);
        self.faults.push(Problem {
            line: self.lines.get(row).copied(),
            counted: self.counted,
            column_index: column.map(|column| column.index),
            column: column
                .and_then(|column| self.headers.get(column.index))
                .map(|header| excerpt(header)),
            message: message.to_string(),
            remedy: Some(remedy.to_string()),
            ..Problem::default()
        });
    }

    /// Whether the cell of the reading says something.
    pub(crate) fn has_reading(&self, row: usize) -> bool {
        self.layout
            .reading()
            .is_some_and(|column| !self.is_empty_cell(column.index, row))
    }

    /// The SI value of a cell that must not be empty; a missing column is told with the header.
    pub(crate) fn needed_of(&mut self, role: Role, row: usize) -> Option<f64> {
        let column = self.layout.column(role)?;
        self.needed(column, row)
    }

    /// A fault of a role's cell.
    pub(crate) fn fault_at(
        &mut self,
        row: usize,
        role: Role,
        found: Option<&str>,
        message: String,
        remedy: Option<&str>,
    ) {
        if let Some(column) = self.layout.column(role) {
            self.fault(
                row,
                column.index,
                found,
                message,
                remedy.map(str::to_string),
            );
        }
    }

    pub(crate) fn text(&mut self, role: Role, row: usize) -> Option<String> {
        let column = self.layout.column(role)?;
        if role != Role::Note && self.unreckoned(column.index, row) {
            return None;
        }
        self.cell_text(column.index, row)
    }

    pub(super) fn cell_text(&self, index: usize, row: usize) -> Option<String> {
        match self.columns.get(index)? {
            (_, CellColumn::Text(cells)) => {
                let text = cells.get(row)?.as_deref()?.trim();
                (!text.is_empty()).then(|| text.to_string())
            }
            (_, CellColumn::Number(cells)) => cells.get(row)?.map(display::plain),
            (_, CellColumn::Sheet(cells)) => cells.get(row)?.text(),
        }
    }

    pub(super) fn is_empty_cell(&self, index: usize, row: usize) -> bool {
        match self.columns.get(index) {
            Some((_, CellColumn::Sheet(cells))) => cells.get(row).is_none_or(SheetCell::is_blank),
            _ => self.cell_text(index, row).is_none(),
        }
    }

    pub(super) fn number(&mut self, role: Role, row: usize) -> Option<f64> {
        let column = self.layout.column(role)?;
        self.number_of(column, row)
    }

    pub(super) fn needed(&mut self, column: KnownColumn, row: usize) -> Option<f64> {
        if self.is_empty_cell(column.index, row) {
            self.fault(
                row,
                column.index,
                None,
                "the cell is empty".to_string(),
                Some("give the number, or take the row out".to_string()),
            );
            return None;
        }
        self.number_of(column, row)
    }

    /// The SI value of a cell; `None` where it is empty or faulty.
    pub(crate) fn number_of(&mut self, column: KnownColumn, row: usize) -> Option<f64> {
        let (number, found) = match self.columns.get(column.index)? {
            (_, CellColumn::Number(cells)) => {
                let number = (*cells.get(row)?)?;
                (number, display::plain(number))
            }
            (_, CellColumn::Text(cells)) => {
                let text = cells.get(row)?.as_deref()?.trim();
                if text.is_empty() {
                    return None;
                }
                match read_number(text, self.decimal_comma) {
                    Ok(number) => (number, text.to_string()),
                    Err((message, remedy)) => {
                        let text = text.to_string();
                        self.fault(row, column.index, Some(&text), message, remedy);
                        return None;
                    }
                }
            }
            (_, CellColumn::Sheet(_)) => self.sheet_number(column.index, row)?,
        };
        let value = column.unit.map_or(number, |unit| unit.to_si(number));
        match column.role.limit().and_then(|limit| limit.fault(value)) {
            None => Some(value + 0.0),
            Some(words) => {
                let shown = if number.is_nan() {
                    String::new()
                } else {
                    format!("{} ", excerpt(&found))
                };
                let message = if number.is_nan() {
                    "not-a-number stands here".to_string()
                } else {
                    format!("{shown}{words}")
                };
                self.fault(
                    row,
                    column.index,
                    Some(&found),
                    message,
                    remedy_for(column.role, words),
                );
                None
            }
        }
    }

    pub(super) fn fault(
        &mut self,
        row: usize,
        index: usize,
        found: Option<&str>,
        message: String,
        remedy: Option<String>,
    ) {
        self.faults.push(Problem {
            line: self.lines.get(row).copied(),
            counted: self.counted,
            column_index: Some(index),
            column: self.headers.get(index).map(|header| excerpt(header)),
            found: found.map(excerpt),
            message,
            remedy,
            ..Problem::default()
        });
    }
}

fn remedy_for(role: Role, words: &str) -> Option<String> {
    match role {
        Role::HeatTemp | Role::ReadTemp | Role::StandTemp => {
            Some("check the sign and the unit in the header".to_string())
        }
        Role::Reading(_) if words.contains("zero") || words.contains("negative") => {
            Some("take the row out, or give what was measured".to_string())
        }
        Role::HaFraction => Some("20 % is written 0.2".to_string()),
        _ => None,
    }
}
