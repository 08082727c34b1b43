//! Named columns to a checked table of what was seen: every fault is found, none is mended in
//! silence.

use super::syringes::contradictions;
use super::table::{SEEN_CRITERION, Seen, SeenRow, SeenTable};
use crate::readings::columns::ColumnTable;
use crate::readings::error::{FaultList, Problem, ReadingsError};
use crate::readings::header::{Role, understand};
use crate::readings::limits::{LARGEST_COLUMNS, LARGEST_ROWS};
use crate::readings::row::Content;
use crate::readings::row_reader::RowReader;
use crate::readings::table::Source;
use crate::units::quantity::excerpt;

impl ColumnTable {
    /// Whether the table says what was seen in place of readings.
    #[must_use]
    pub fn has_seen(&self) -> bool {
        self.columns
            .iter()
            .any(|(header, _)| header.trim() == "seen")
    }

    /// Checks every cell of a table of what was seen.
    ///
    /// # Errors
    /// Every fault of the table at once.
    ///
    /// # Example
    /// ```
    /// use heatset::readings::{CellColumn, ColumnTable, Seen};
    /// let numbers = |values: &[f64]| CellColumn::Number(values.iter().copied().map(Some).collect());
    /// let words = |values: &[&str]| CellColumn::Text(values.iter().map(|w| Some(w.to_string())).collect());
    /// let table = ColumnTable {
    ///     file: "bench".to_string(),
    ///     columns: vec![
    ///         ("heat_temp_C".to_string(), numbers(&[80.0, 90.0])),
    ///         ("heat_time_min".to_string(), numbers(&[4.0, 4.0])),
    ///         ("seen".to_string(), words(&["not-set", "set"])),
    ///     ],
    ///     lines: vec![1, 2],
    ///     ..ColumnTable::default()
    /// }
    /// .check_seen()?;
    /// assert_eq!(table.rows[1].seen, Some(Seen::Set));
    /// # Ok::<(), heatset::readings::ReadingsError>(())
    /// ```
    pub fn check_seen(self) -> Result<SeenTable, ReadingsError> {
        let ColumnTable {
            file,
            sha256,
            header_line,
            columns,
            lines,
            counted,
            decimal_comma,
            invented,
            sheet,
            mut faults,
        } = self;
        let headers: Vec<&str> = columns.iter().map(|(header, _)| header.trim()).collect();
        if lines.len() > LARGEST_ROWS || headers.len() > LARGEST_COLUMNS {
            return Err(ReadingsError::TooManyRows {
                file,
                largest: LARGEST_ROWS,
            });
        }
        let mut header_faults = FaultList::default();
        let layout = understand(&headers, header_line, counted, &mut header_faults);
        let mut reader = RowReader {
            columns: &columns,
            headers: &headers,
            lines: &lines,
            counted,
            decimal_comma,
            layout: &layout,
            faults: FaultList::default(),
        };
        let names_criteria =
            (0..lines.len()).any(|row| reader.text(Role::Criterion, row).is_some());
        let mut rows = Vec::with_capacity(lines.len());
        let mut runs_without_gel = Vec::new();
        for row in 0..lines.len() {
            match reader.content(row) {
                Some(Content::Gel) => rows.extend(seen_row(&mut reader, row, names_criteria)),
                Some(content) => runs_without_gel.extend(reader.run_without_gel(row, content)),
                None => {}
            }
        }
        let mut row_faults = reader.faults;
        if lines.is_empty() && faults.is_empty() {
            header_faults.push(Problem {
                message: "there are no rows under the header".to_string(),
                remedy: Some("write one row a look".to_string()),
                ..Problem::default()
            });
        } else if row_faults.is_empty()
            && !rows
                .iter()
                .any(|row| row.details.used && row.seen.is_some())
        {
            header_faults.push(Problem {
                message: "no row that is used says what was seen".to_string(),
                remedy: Some("write set or not-set in the column seen".to_string()),
                ..Problem::default()
            });
        }
        contradictions(&rows, counted, &mut row_faults);
        faults.merge(header_faults);
        faults.merge(row_faults);
        if let Some(sheet) = &sheet {
            faults.place_in(sheet);
        }
        if !faults.is_empty() {
            return Err(ReadingsError::Faults { file, faults });
        }
        let used = rows.iter().filter(|row| row.details.used).count();
        let unknown_columns = layout
            .unknown
            .iter()
            .filter_map(|&index| headers.get(index))
            .map(|header| (*header).to_string())
            .collect();
        Ok(SeenTable {
            sources: vec![Source {
                file,
                sha256,
                rows: rows.len(),
                used,
                worksheet: sheet.map(|sheet| sheet.name),
            }],
            rows,
            runs_without_gel,
            unknown_columns,
            invented,
        })
    }
}

/// One row; none where it has a fault, which is told.
fn seen_row(reader: &mut RowReader<'_>, row: usize, names_criteria: bool) -> Option<SeenRow> {
    let before = reader.faults.total();
    let heat_temp = reader.needed_of(Role::HeatTemp, row);
    let heat_time = reader.needed_of(Role::HeatTime, row);
    let word = reader.text(Role::Seen, row);
    let seen = word.as_deref().and_then(Seen::of_word);
    if let (Some(word), None) = (&word, seen) {
        reader.fault_at(
            row,
            Role::Seen,
            Some(word),
            format!("\"{}\" is neither set nor not-set", excerpt(word)),
            Some("write set or not-set; a syringe of which you are not sure is left out"),
        );
    }
    let force_n = reader
        .layout
        .reading()
        .and_then(|column| reader.number_of(column, row));
    if word.is_none() && !reader.has_reading(row) {
        reader.fault_at(
            row,
            Role::Seen,
            None,
            "the cell is empty".to_string(),
            Some("write set or not-set, or take the row out"),
        );
    }
    if seen == Some(Seen::Set) && heat_time == Some(0.0) {
        reader.fault_at(
            row,
            Role::HeatTime,
            None,
            "set after no heat at all".to_string(),
            Some("check the time; a gel that stays put without heat does not show setting"),
        );
    }
    let named = reader.text(Role::Criterion, row);
    if names_criteria && named.is_none() && seen.is_some() {
        reader.fault_at(
            row,
            Role::Criterion,
            None,
            "the cell is empty".to_string(),
            Some("name what counted as set: other rows do"),
        );
    }
    let syringe = reader.text(Role::Syringe, row);
    let details = reader.details(row, Content::Gel);
    if reader.faults.total() != before {
        return None;
    }
    Some(SeenRow {
        heat_temp_kelvin: heat_temp?,
        heat_time_s: heat_time?,
        seen,
        criterion: named.unwrap_or_else(|| SEEN_CRITERION.to_string()),
        syringe,
        force_n,
        details: details?,
    })
}
