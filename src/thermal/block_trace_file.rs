//! Reads the traces of a heating block; the form of the file stands in the block check.

use std::path::Path;

use super::block_check::BlockTrace;
use super::input_error::{InputFault, InputFaults, ThermalInputError};
use super::trace::MeasuredTrace;
use super::trace_file::{TraceRow, read_block_text, rising, rows_of};

/// More places than this are no places.
const LARGEST_PLACES: usize = 1000;

/// The traces of one file.
#[derive(Debug, Clone, PartialEq)]
pub struct BlockTraceFile {
    /// One a place and set temperature, in the order of their first rows.
    pub traces: Vec<BlockTrace>,
    /// Columns that were left aside.
    pub ignored_columns: Vec<String>,
    /// Rows that were left out because they have no temperature.
    pub rows_without_temperature: usize,
    /// Whether the file says of itself that its data are invented.
    pub invented: bool,
}

/// Reads the traces of a block from a file. `set_kelvin` stands where the file does not say what
/// the block was set to; `insertion_s` is when a syringe was put in.
///
/// # Errors
/// As [`parse_block_traces`]; a file that cannot be opened, is too large or is not UTF-8.
pub fn read_block_traces(
    path: &Path,
    set_kelvin: Option<f64>,
    insertion_s: Option<f64>,
) -> Result<BlockTraceFile, ThermalInputError> {
    let text = read_block_text(path)?;
    let mut read = parse_block_traces(&path.display().to_string(), &text, set_kelvin, insertion_s)?;
    // The place of a file without places is its name, not the way to it.
    if let Some(stem) = path.file_stem() {
        for trace in &mut read.traces {
            if trace.place == path.display().to_string() {
                trace.place = stem.to_string_lossy().into_owned();
            }
        }
    }
    Ok(read)
}

/// Reads the traces of a block from text; `file` names it in messages, and is the place where the
/// file has no column `place`.
///
/// # Errors
/// As for a trace ([`super::parse_trace`]); a row without its place in a file that has places; a
/// place with fewer than two readings.
///
/// # Example
/// ```
/// use heatset::thermal::parse_block_traces;
/// let text = "time_s,temp_C,place\n0,85.5,A1\n0,85.0,D6\n60,85.6,A1\n60,85.1,D6\n";
/// let read = parse_block_traces("block.csv", text, Some(359.15), None)?;
/// assert_eq!(read.traces.len(), 2);
/// assert_eq!(read.traces[1].place, "D6");
/// # Ok::<(), heatset::thermal::ThermalInputError>(())
/// ```
pub fn parse_block_traces(
    file: &str,
    text: &str,
    set_kelvin: Option<f64>,
    insertion_s: Option<f64>,
) -> Result<BlockTraceFile, ThermalInputError> {
    let mut faults = InputFaults::default();
    let read = rows_of(text, true, &mut faults);
    let has_places = read.rows.iter().any(|row| row.place.is_some());
    let mut groups: Vec<(String, Option<f64>, Vec<&TraceRow>)> = Vec::new();
    for row in &read.rows {
        let place = match &row.place {
            Some(place) => place.clone(),
            None if has_places => {
                faults.push(InputFault::at(
                    row.line,
                    Some("place"),
                    "the place is missing",
                    Some("every row of a file with places has its code".to_owned()),
                ));
                continue;
            }
            None => file.to_owned(),
        };
        let set = row.set_kelvin.or(set_kelvin);
        let known = groups
            .iter()
            .rposition(|(name, kelvin, _)| *name == place && *kelvin == set);
        let full = groups.len() >= LARGEST_PLACES;
        match known.and_then(|at| groups.get_mut(at)) {
            Some((.., rows)) => rows.push(row),
            None if !full => groups.push((place, set, vec![row])),
            None => {
                faults.push(InputFault::at(
                    row.line,
                    Some("place"),
                    format!("more than {LARGEST_PLACES} places and set temperatures"),
                    Some("a place is the code of a well, not a number a row".to_owned()),
                ));
                break;
            }
        }
    }
    for (place, _, rows) in &groups {
        rising(rows.iter().copied(), &mut faults);
        if let [only] = rows[..] {
            faults.push(InputFault::at(
                only.line,
                None,
                format!("this is the only reading of place {place} at its set temperature"),
                Some("a trace takes at least 2".to_owned()),
            ));
        }
    }
    faults.refuse(file)?;
    let traces = groups
        .into_iter()
        .map(|(place, set_kelvin, rows)| {
            Ok(BlockTrace {
                place,
                set_kelvin,
                insertion_s,
                trace: MeasuredTrace::new(rows.iter().map(|row| row.point).collect())?,
            })
        })
        .collect::<Result<_, ThermalInputError>>()?;
    Ok(BlockTraceFile {
        traces,
        ignored_columns: read.ignored_columns,
        rows_without_temperature: read.rows_without_temperature,
        invented: read.invented,
    })
}
