//! Named columns of text or numbers to a checked bench table: the one way in, whatever the
//! file was. Every fault is found, none is mended in silence.

use ndarray::Array1;

use super::error::{Counted, FaultList, Problem, ReadingsError};
use super::header::understand;
use super::limits::{LARGEST_COLUMNS, LARGEST_ROWS};
use super::row::Content;
use super::row_reader::RowReader;
use super::table::{BenchTable, Source};

/// The cells of one column; `None` is an empty cell.
#[derive(Debug, Clone, PartialEq)]
pub enum CellColumn {
    /// As text.
    Text(Vec<Option<String>>),
    /// As numbers, in the unit of the header.
    Number(Vec<Option<f64>>),
    /// As the cells of a spreadsheet, each of its own kind.
    Sheet(Vec<SheetCell>),
}

/// One cell of a spreadsheet.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum SheetCell {
    /// Nothing.
    #[default]
    Blank,
    /// A number, or the value that its formula came to.
    Number(f64),
    /// Text.
    Text(String),
    /// TRUE or FALSE.
    YesNo(bool),
    /// A date, a time of day or a duration, as people read it.
    Date(String),
    /// An error, such as `#N/A`.
    Error(String),
    /// A formula whose value was not stored.
    NotReckoned,
}

impl SheetCell {
    /// Whether nothing stands in the cell; a formula without a value is something.
    #[must_use]
    pub fn is_blank(&self) -> bool {
        matches!(self, Self::Blank)
    }

    /// The cell as text; `None` where it is blank or a formula without a value.
    #[must_use]
    pub fn text(&self) -> Option<String> {
        match self {
            Self::Blank | Self::NotReckoned => None,
            Self::Number(number) => Some(crate::units::display::plain(*number)),
            Self::Text(text) | Self::Date(text) | Self::Error(text) => Some(text.clone()),
            Self::YesNo(yes) => Some(if *yes { "yes" } else { "no" }.to_string()),
        }
    }
}

/// Where the columns of a table stand in a workbook.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SheetOfTable {
    /// Name of the worksheet.
    pub name: String,
    /// The letters of every column, in order.
    pub letters: Vec<String>,
}

/// A table as it came from a file, before anything is checked.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ColumnTable {
    /// The file as it was named.
    pub file: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Line of the header, where the file has lines.
    pub header_line: Option<usize>,
    /// Header and cells of every column, in order.
    pub columns: Vec<(String, CellColumn)>,
    /// The line (or row) of every row.
    pub lines: Vec<usize>,
    /// What `lines` counts.
    pub counted: Counted,
    /// True where a comma inside a number is a decimal comma.
    pub decimal_comma: bool,
    /// True where the file says of itself that it is invented data.
    pub invented: bool,
    /// Faults found before the columns were taken apart.
    pub faults: FaultList,
    /// The worksheet, where the table is one of a workbook.
    pub sheet: Option<SheetOfTable>,
}

impl ColumnTable {
    /// Checks every cell and gives the bench table.
    ///
    /// # Errors
    /// Every fault of the table at once.
    ///
    /// # Example
    /// ```
    /// use heatset::readings::{CellColumn, ColumnTable};
    /// let numbers = |values: &[f64]| CellColumn::Number(values.iter().copied().map(Some).collect());
    /// let table = ColumnTable {
    ///     file: "bench".to_string(),
    ///     columns: vec![
    ///         ("heat_temp_C".to_string(), numbers(&[80.0, 90.0])),
    ///         ("heat_time_min".to_string(), numbers(&[1.0, 1.0])),
    ///         ("viscosity_mPa_s".to_string(), numbers(&[2.0, 50.0])),
    ///     ],
    ///     lines: vec![1, 2],
    ///     ..ColumnTable::default()
    /// }
    /// .check()?;
    /// assert_eq!(table.heat_time_s[0], 60.0);
    /// # Ok::<(), heatset::readings::ReadingsError>(())
    /// ```
    pub fn check(self) -> Result<BenchTable, ReadingsError> {
        let ColumnTable {
            file,
            sha256,
            header_line,
            columns,
            lines,
            counted,
            decimal_comma,
            invented,
            mut faults,
            sheet,
        } = self;
        if lines.len() > LARGEST_ROWS {
            return Err(ReadingsError::TooManyRows {
                file,
                largest: LARGEST_ROWS,
            });
        }
        if columns.iter().any(|(header, _)| header.trim() == "seen") {
            return Err(ReadingsError::SeenTable { file });
        }
        let headers: Vec<&str> = columns.iter().map(|(header, _)| header.trim()).collect();
        if headers.len() > LARGEST_COLUMNS {
            faults.push(Problem {
                line: header_line,
                counted,
                message: format!(
                    "{} columns, and at most {LARGEST_COLUMNS} are read",
                    headers.len()
                ),
                remedy: Some("is it the right file?".to_string()),
                ..Problem::default()
            });
            if let Some(sheet) = &sheet {
                faults.place_in(sheet);
            }
            return Err(ReadingsError::Faults { file, faults });
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
        let count = lines.len();
        let mut temperatures = Vec::with_capacity(count);
        let mut times = Vec::with_capacity(count);
        let mut readings = Vec::with_capacity(count);
        let mut rows = Vec::with_capacity(count);
        let mut runs_without_gel = Vec::new();
        for row in 0..count {
            let Some(content) = reader.content(row) else {
                continue;
            };
            if content != Content::Gel {
                runs_without_gel.extend(reader.run_without_gel(row, content));
                continue;
            }
            let measured = reader.measured(row);
            let details = reader.details(row, Content::Gel);
            // A faulty row is left out; its faults refuse the table in the end.
            if let (Some([temperature, time, reading]), Some(details)) = (measured, details) {
                temperatures.push(temperature);
                times.push(time);
                readings.push(reading);
                rows.push(details);
            }
        }
        let row_faults = reader.faults;
        if count == 0 && faults.is_empty() {
            header_faults.push(Problem {
                message: "there are no rows under the header".to_string(),
                remedy: Some("write one row a reading".to_string()),
                ..Problem::default()
            });
        } else if row_faults.is_empty() && rows.is_empty() && !runs_without_gel.is_empty() {
            header_faults.push(Problem {
                message: "every row was pushed without gel: there is nothing to convert"
                    .to_string(),
                remedy: Some(
                    "add the pushes of the gel; content is gel there, or empty".to_string(),
                ),
                ..Problem::default()
            });
        } else if row_faults.is_empty() && !rows.is_empty() && !rows.iter().any(|row| row.used) {
            header_faults.push(Problem {
                message: "no row is used: every one says use = no".to_string(),
                remedy: Some("write yes where a reading counts".to_string()),
                ..Problem::default()
            });
        }
        faults.merge(header_faults);
        faults.merge(row_faults);
        if let Some(sheet) = &sheet {
            faults.place_in(sheet);
        }
        let kind = match layout.kind {
            Some(kind) if faults.is_empty() => kind,
            _ => return Err(ReadingsError::Faults { file, faults }),
        };
        let used = rows.iter().filter(|row| row.used).count();
        let unknown_columns = layout
            .unknown
            .iter()
            .filter_map(|&index| headers.get(index))
            .map(|header| (*header).to_string())
            .collect();
        Ok(BenchTable {
            sources: vec![Source {
                file,
                sha256,
                rows: rows.len(),
                used,
                worksheet: sheet.map(|sheet| sheet.name),
            }],
            kind,
            heat_temp_kelvin: Array1::from_vec(temperatures),
            heat_time_s: Array1::from_vec(times),
            reading: Array1::from_vec(readings),
            rows,
            runs_without_gel,
            unknown_columns,
            invented,
        })
    }
}
