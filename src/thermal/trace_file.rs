//! Reads temperature traces from CSV; every fault with its line and column, all at once.
//!
//! A trace has a column `time_s` or `time_min` and a column `temp_C` or `temp_K`, and its times
//! rise strictly. Other columns are left aside and named. A row without a temperature is left out
//! and counted.

use std::path::Path;

use super::input_error::{InputFault, InputFaults, ThermalInputError};
use super::input_text::read_text;
use super::near_match::nearest;
use super::schedule_check::HIGHEST_KELVIN;
use super::trace::{MeasuredTrace, TracePoint};
use super::trace_table::{TraceTable, TraceTableRow, number_of, split};
use crate::units::{Dimension, split_header};

/// A trace longer than this is another file.
const LARGEST_BYTES: u64 = 64 * 1024 * 1024;

const TIME: [&str; 2] = ["time_s", "time_min"];
const TEMPERATURE: [&str; 2] = ["temp_C", "temp_K"];
const SET_TEMPERATURE: [&str; 2] = ["set_temp_C", "set_temp_K"];
const PLACE: [&str; 1] = ["place"];

/// A trace as it was read from a file.
#[derive(Debug, Clone, PartialEq)]
pub struct TraceFile {
    /// The trace.
    pub trace: MeasuredTrace,
    /// Columns that were left aside.
    pub ignored_columns: Vec<String>,
    /// Rows that were left out because they have no temperature.
    pub rows_without_temperature: usize,
    /// Whether the file says of itself that its data are invented.
    pub invented: bool,
}

/// Reads a temperature trace from a file.
///
/// # Errors
/// As [`parse_trace`]; a file that cannot be opened, is too large or is not UTF-8.
pub fn read_trace(path: &Path) -> Result<TraceFile, ThermalInputError> {
    let text = read_text(path, "temperature trace", LARGEST_BYTES)?;
    parse_trace(&path.display().to_string(), &text)
}

/// Reads a temperature trace from its text; `file` names it in messages.
///
/// # Errors
/// [`ThermalInputError::Faults`] with every fault: a missing or doubled column, text where a
/// number belongs, times that do not rise, temperatures not between 0 and 400 K, rows of another
/// length than the header's, fewer than two readings.
///
/// # Example
/// ```
/// use heatset::thermal::parse_trace;
/// let read = parse_trace("trace.csv", "time_min;temp_C;note\n0;22,0;in\n1;55,5;\n5;86;\n")?;
/// assert_eq!(read.trace.points()[1].time_s, 60.0);
/// assert_eq!(read.trace.points()[1].temperature_kelvin, 328.65);
/// assert_eq!(read.ignored_columns, ["note"]);
/// # Ok::<(), heatset::thermal::ThermalInputError>(())
/// ```
pub fn parse_trace(file: &str, text: &str) -> Result<TraceFile, ThermalInputError> {
    let mut faults = InputFaults::default();
    let read = rows_of(text, false, &mut faults);
    rising(read.rows.iter(), &mut faults);
    faults.refuse(file)?;
    Ok(TraceFile {
        trace: MeasuredTrace::new(read.rows.iter().map(|row| row.point).collect())?,
        ignored_columns: read.ignored_columns,
        rows_without_temperature: read.rows_without_temperature,
        invented: read.invented,
    })
}

/// A row of a trace, in SI.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct TraceRow {
    pub line: usize,
    pub time_column: String,
    pub point: TracePoint,
    pub place: Option<String>,
    pub set_kelvin: Option<f64>,
}

/// What stands in a file of traces.
#[derive(Debug, Default)]
pub(super) struct TraceRows {
    pub rows: Vec<TraceRow>,
    pub ignored_columns: Vec<String>,
    pub rows_without_temperature: usize,
    pub invented: bool,
}

/// The text of a file of traces of a block.
pub(super) fn read_block_text(path: &Path) -> Result<String, ThermalInputError> {
    read_text(path, "temperature trace", LARGEST_BYTES)
}

/// One column of a table and the unit in its name.
struct Column {
    index: usize,
    name: String,
}

impl Column {
    fn cell<'a>(&self, row: &'a TraceTableRow) -> &'a str {
        row.cells.get(self.index).map_or("", String::as_str)
    }

    /// The SI value of a cell, which must be a number.
    fn si(&self, row: &TraceTableRow, comma: bool, faults: &mut InputFaults) -> Option<f64> {
        match number_of(self.cell(row), comma) {
            Ok(number) => {
                Some(split_header(&self.name).map_or(number, |parts| parts.unit.to_si(number)))
            }
            Err((message, remedy)) => {
                faults.push(InputFault::at(row.line, Some(&self.name), message, remedy));
                None
            }
        }
    }

    /// A temperature that can be one.
    fn kelvin(&self, row: &TraceTableRow, comma: bool, faults: &mut InputFaults) -> Option<f64> {
        let kelvin = self.si(row, comma, faults)?;
        if kelvin > 0.0 && kelvin <= HIGHEST_KELVIN {
            return Some(kelvin);
        }
        let remedy = if self.name.ends_with("_K") {
            "is it in °C? then the header is temp_C"
        } else {
            "is the unit right, and the thermocouple whole?"
        };
        faults.push(InputFault::at(
            row.line,
            Some(&self.name),
            format!(
                "{} is not between absolute zero and 126.85 °C",
                self.cell(row)
            ),
            Some(remedy.to_owned()),
        ));
        None
    }
}

/// Reads every row; `of_block` also reads place and set temperature.
pub(super) fn rows_of(text: &str, of_block: bool, faults: &mut InputFaults) -> TraceRows {
    let table = split(text, faults);
    let mut read = TraceRows {
        invented: table.invented,
        ..TraceRows::default()
    };
    if table.header.is_empty() {
        faults.push(InputFault::of_file(
            "the table is empty: no header and no rows",
            "the first line names the columns, for instance time_s,temp_C",
        ));
        return read;
    }
    let time = needed(&table, &TIME, Dimension::Duration, faults);
    let temperature = needed(&table, &TEMPERATURE, Dimension::Temperature, faults);
    let (place, set) = if of_block {
        (
            one_of(&table, &PLACE, faults),
            one_of(&table, &SET_TEMPERATURE, faults),
        )
    } else {
        (None, None)
    };
    let known: Vec<usize> = [&time, &temperature, &place, &set]
        .into_iter()
        .flatten()
        .map(|column| column.index)
        .collect();
    read.ignored_columns = (0..)
        .zip(&table.header)
        .filter(|(index, name)| !known.contains(index) && !name.is_empty())
        .map(|(_, name)| name.clone())
        .collect();
    let (Some(time), Some(temperature)) = (time, temperature) else {
        return read;
    };
    let comma = table.decimal_comma;
    for row in &table.rows {
        if temperature.cell(row).is_empty() {
            read.rows_without_temperature += 1;
            continue;
        }
        let time_s = if time.cell(row).is_empty() {
            faults.push(InputFault::at(
                row.line,
                Some(&time.name),
                "the time is missing",
                Some("every reading has its time".to_owned()),
            ));
            None
        } else {
            time.si(row, comma, faults)
        };
        let kelvin = temperature.kelvin(row, comma, faults);
        let set_kelvin = match &set {
            Some(column) if !column.cell(row).is_empty() => column.kelvin(row, comma, faults),
            _ => None,
        };
        if let (Some(time_s), Some(temperature_kelvin)) = (time_s, kelvin) {
            read.rows.push(TraceRow {
                line: row.line,
                time_column: time.name.clone(),
                point: TracePoint {
                    time_s,
                    temperature_kelvin,
                },
                place: place
                    .as_ref()
                    .map(|column| column.cell(row).to_owned())
                    .filter(|code| !code.is_empty()),
                set_kelvin,
            });
        }
    }
    if faults.is_empty() && read.rows.len() < 2 {
        faults.push(InputFault::of_file(
            if read.rows.is_empty() {
                "no row has a time and a temperature"
            } else {
                "one row alone has a time and a temperature"
            },
            "a trace takes at least 2",
        ));
    }
    read
}

/// Times that do not rise are faults.
pub(super) fn rising<'a>(rows: impl Iterator<Item = &'a TraceRow>, faults: &mut InputFaults) {
    let mut before: Option<&TraceRow> = None;
    for row in rows {
        if let Some(last) = before
            && row.point.time_s <= last.point.time_s
        {
            let message = if row.point.time_s == last.point.time_s {
                format!("the same time as on line {}", last.line)
            } else {
                format!("earlier than on line {}", last.line)
            };
            faults.push(InputFault::at(
                row.line,
                Some(&row.time_column),
                message,
                Some("sort the rows by time and keep one a moment".to_owned()),
            ));
        }
        before = Some(row);
    }
}

/// The column of one of these names; two of them, or one twice, are a fault.
fn one_of(table: &TraceTable, names: &[&str], faults: &mut InputFaults) -> Option<Column> {
    let mut found = (0..)
        .zip(&table.header)
        .filter(|(_, name)| names.contains(&name.as_str()));
    let (index, name) = found.next()?;
    if let Some((_, second)) = found.next() {
        faults.push(InputFault::at(
            table.header_line,
            Some(second),
            if second == name {
                format!("the header names {name} twice")
            } else {
                format!("the header names both {name} and {second}")
            },
            Some("keep one of them".to_owned()),
        ));
    }
    Some(Column {
        index,
        name: name.clone(),
    })
}

/// The same for a column that must be there.
fn needed(
    table: &TraceTable,
    names: &[&'static str],
    dimension: Dimension,
    faults: &mut InputFaults,
) -> Option<Column> {
    let column = one_of(table, names, faults);
    if column.is_none() {
        let quantity = dimension.name();
        let wanted = names.join(" or ");
        let meant = table
            .header
            .iter()
            .find(|name| nearest(name, names).is_some());
        let remedy = match meant {
            Some(name) => format!("is {name} meant? write {wanted}, with its unit"),
            None => format!("name it {wanted}"),
        };
        faults.push(InputFault::at(
            table.header_line,
            None,
            format!("no column holds the {quantity}"),
            Some(remedy),
        ));
    }
    column
}
