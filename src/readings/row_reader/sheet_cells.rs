//! Cells of a spreadsheet: numbers, and what stands there in place of one.

use super::RowReader;
use crate::readings::columns::{CellColumn, SheetCell};
use crate::readings::number::read_number;
use crate::units::display;
use crate::units::quantity::excerpt;

impl RowReader<'_> {
    /// A cell of a known column that no spreadsheet could reckon, or that lost its value.
    pub(super) fn unreckoned(&mut self, index: usize, row: usize) -> bool {
        let Some((_, CellColumn::Sheet(cells))) = self.columns.get(index) else {
            return false;
        };
        let (found, message, remedy) = match cells.get(row) {
            Some(SheetCell::Error(error)) => (
                Some(error.clone()),
                format!(
                    "{} stands here: the spreadsheet could not reckon it",
                    excerpt(error)
                ),
                "mend its formula, or empty the cell where nothing was measured",
            ),
            Some(SheetCell::NotReckoned) => (
                None,
                "a formula stands here, and its value was not stored".to_string(),
                "open the workbook in a spreadsheet and save it again, or write the value",
            ),
            _ => return false,
        };
        self.fault(
            row,
            index,
            found.as_deref(),
            message,
            Some(remedy.to_string()),
        );
        true
    }

    /// The number of a spreadsheet's cell; a date is none, and neither is TRUE.
    pub(super) fn sheet_number(&mut self, index: usize, row: usize) -> Option<(f64, String)> {
        if self.unreckoned(index, row) {
            return None;
        }
        let (_, CellColumn::Sheet(cells)) = self.columns.get(index)? else {
            return None;
        };
        let (found, message, remedy) = match cells.get(row)? {
            SheetCell::Number(number) => return Some((*number, display::plain(*number))),
            SheetCell::Text(text) => match read_number(text, false) {
                Ok(number) => return Some((number, text.clone())),
                Err((message, remedy)) => {
                    let remedy = if text.contains(',') {
                        Some("the cell holds text: write the number anew, so that the spreadsheet takes it as one".to_string())
                    } else {
                        remedy
                    };
                    (text.clone(), message, remedy)
                }
            },
            SheetCell::Date(date) => (
                date.clone(),
                format!(
                    "a date or time stands here ({}), not a number",
                    excerpt(date)
                ),
                Some(
                    "format the cell as a number and write it anew, in the unit of the header"
                        .to_string(),
                ),
            ),
            SheetCell::YesNo(yes) => {
                let word = if *yes { "TRUE" } else { "FALSE" };
                (
                    word.to_string(),
                    format!("{word} is not a number"),
                    Some("leave the cell empty where nothing was measured".to_string()),
                )
            }
            SheetCell::Blank | SheetCell::Error(_) | SheetCell::NotReckoned => return None,
        };
        self.fault(row, index, Some(&found), message, remedy);
        None
    }
}
