//! Reads measured flow curves from CSV; every fault with its line and column, all at once.
//!
//! A table has a column `shear_rate_per_s` and a column `shear_stress_Pa` (or
//! `viscosity_Pa_s`, `viscosity_mPa_s`, from which the stress follows), and may have a column
//! `sample`. Comma, semicolon or tab separate; with the latter two the decimal mark may be a
//! comma. `#` begins a comment line. Other columns are left aside and named.

use std::io::Read;
use std::path::Path;

use super::measured::{MeasuredCurve, ShearPoint};

mod cells;
mod fault;

use cells::{Cells, cells_of, number_of};
pub use fault::{CurveFault, CurveFileError};

/// A flow curve longer than this is another file.
const LARGEST_BYTES: u64 = 16 * 1024 * 1024;
/// Most rows of a flow curve.
const LARGEST_ROWS: usize = 100_000;

const RATE: [(&str, f64); 2] = [("shear_rate_per_s", 1.0), ("shear_rate_1/s", 1.0)];
const STRESS: [(&str, f64); 3] = [
    ("shear_stress_Pa", 1.0),
    ("stress_Pa", 1.0),
    ("shear_stress_kPa", 1e3),
];
const VISCOSITY: [(&str, f64); 2] = [("viscosity_Pa_s", 1.0), ("viscosity_mPa_s", 1e-3)];
const SAMPLE: [(&str, f64); 2] = [("sample", 1.0), ("sample_id", 1.0)];

/// One row of a flow curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurveRow {
    /// Line in the file, from 1.
    pub line: usize,
    /// What was measured.
    pub point: ShearPoint,
}

/// The rows of one sample, in the order of the file.
#[derive(Debug, Clone, PartialEq)]
pub struct CurveSample {
    /// Name of the sample; none where the table has no such column.
    pub name: Option<String>,
    /// Its rows.
    pub rows: Vec<CurveRow>,
    stress_column: String,
}

/// A table of flow curves.
#[derive(Debug, Clone, PartialEq)]
pub struct CurveTable {
    /// The file as it was named.
    pub file: String,
    /// Its samples, in the order in which they first stand there; at least one.
    pub samples: Vec<CurveSample>,
    /// Columns that were left aside.
    pub ignored_columns: Vec<String>,
    /// Whether the file says of itself that its data are invented.
    pub invented: bool,
}

/// Reads a table of flow curves from a file.
///
/// # Errors
/// As [`parse_curve`]; a file that cannot be opened, is too large or is not UTF-8.
pub fn read_curve(path: &Path) -> Result<CurveTable, CurveFileError> {
    let file = path.display().to_string();
    let unreadable = |error: std::io::Error| CurveFileError::Unreadable {
        file: file.clone(),
        reason: error.to_string(),
    };
    let mut bytes = Vec::new();
    std::fs::File::open(path)
        .map_err(unreadable)?
        .take(LARGEST_BYTES + 1)
        .read_to_end(&mut bytes)
        .map_err(unreadable)?;
    if bytes.len() as u64 > LARGEST_BYTES {
        return Err(CurveFileError::TooLarge {
            file,
            largest_bytes: LARGEST_BYTES,
        });
    }
    match String::from_utf8(bytes) {
        Ok(text) => parse_curve(&file, &text),
        Err(error) => {
            let at = error.utf8_error().valid_up_to();
            let before = error.as_bytes().get(..at).unwrap_or_default();
            let line = 1 + before.iter().filter(|byte| **byte == b'\n').count();
            Err(CurveFileError::faults(
                file,
                vec![CurveFault::on_line(
                    line,
                    "a byte stands here that is no letter of UTF-8",
                    "save the file as CSV, UTF-8",
                )],
            ))
        }
    }
}

/// Reads a table of flow curves from its text; `file` names it in messages.
///
/// # Errors
/// [`CurveFileError::Faults`] with every fault: a missing or doubled column, text where a
/// number belongs, rates or stresses that are not above zero, rows of another length than
/// the header's, no rows.
///
/// # Example
/// ```
/// use heatset::flow::parse_curve;
/// let table = parse_curve("gel.csv", "shear_rate_per_s;viscosity_mPa_s\n1,5;2000\n10;700\n")?;
/// assert_eq!(table.samples[0].rows[0].point.shear_stress_pa, 3.0);
/// # Ok::<(), heatset::flow::CurveFileError>(())
/// ```
pub fn parse_curve(file: &str, text: &str) -> Result<CurveTable, CurveFileError> {
    let mut faults = Vec::new();
    let cells = cells_of(text, LARGEST_ROWS, &mut faults);
    if cells.header.is_empty() {
        faults.push(CurveFault::of_file(
            "the table is empty: no header and no rows",
            "the first line names the columns: shear_rate_per_s,shear_stress_Pa",
        ));
        return Err(CurveFileError::faults(file.to_owned(), faults));
    }
    let rate = column(&cells, &RATE, &mut faults);
    if rate.is_none() {
        faults.push(missing(&cells, "shear rate", "shear_rate_per_s"));
    }
    let stress = column(&cells, &STRESS, &mut faults);
    let viscosity = match stress {
        Some(_) => None,
        None => column(&cells, &VISCOSITY, &mut faults),
    };
    if stress.is_none() && viscosity.is_none() {
        faults.push(missing(
            &cells,
            "shear stress",
            "shear_stress_Pa, or viscosity_Pa_s",
        ));
    }
    let sample = column(&cells, &SAMPLE, &mut faults);
    let used = [&rate, &stress, &viscosity, &sample].map(|c| c.as_ref().map(|c| c.place));
    let ignored_columns = (0..)
        .zip(&cells.header)
        .filter(|(place, name)| !used.contains(&Some(*place)) && !name.is_empty())
        .map(|(_, name)| name.clone())
        .collect();
    let mut samples: Vec<CurveSample> = Vec::new();
    if let (Some(rate), Some(measured)) = (&rate, stress.as_ref().or(viscosity.as_ref())) {
        for row in &cells.rows {
            let number = |column: &Column, faults: &mut Vec<CurveFault>| {
                positive(column, row.line, &row.cells, cells.decimal_comma, faults)
            };
            let (rate_per_s, reading) = (number(rate, &mut faults), number(measured, &mut faults));
            let (Some(rate_per_s), Some(reading)) = (rate_per_s, reading) else {
                continue;
            };
            let name = sample
                .as_ref()
                .and_then(|c| row.cells.get(c.place))
                .filter(|name| !name.is_empty())
                .cloned();
            let point = ShearPoint {
                shear_rate_per_s: rate_per_s,
                shear_stress_pa: if stress.is_some() {
                    reading
                } else {
                    reading * rate_per_s
                },
            };
            let row = CurveRow {
                line: row.line,
                point,
            };
            match samples.iter_mut().find(|known| known.name == name) {
                Some(known) => known.rows.push(row),
                None => samples.push(CurveSample {
                    name,
                    rows: vec![row],
                    stress_column: measured.name.clone(),
                }),
            }
        }
        if faults.is_empty() && samples.is_empty() {
            faults.push(CurveFault::of_file(
                "the table has a header and no rows",
                "one row a reading: a shear rate and its stress",
            ));
        }
    }
    if !faults.is_empty() {
        return Err(CurveFileError::faults(file.to_owned(), faults));
    }
    Ok(CurveTable {
        file: file.to_owned(),
        samples,
        ignored_columns,
        invented: cells.invented,
    })
}

impl CurveSample {
    /// The sample as a curve to compute with.
    ///
    /// # Errors
    /// [`CurveFileError::Faults`] for fewer than two rows, and for every row whose shear rate
    /// or stress is not above that of the row before.
    pub fn measured_curve(&self, file: &str) -> Result<MeasuredCurve, CurveFileError> {
        let mut faults = Vec::new();
        if let [only] = self.rows.as_slice() {
            faults.push(CurveFault::on_line(
                only.line,
                "one row is no flow curve: nothing says how the gel answers another shear rate",
                "give a second shear rate; for one viscosity at every rate, --newtonian",
            ));
        }
        for (before, row) in self.rows.iter().zip(self.rows.iter().skip(1)) {
            let (old, new) = (before.point, row.point);
            if new.shear_rate_per_s <= old.shear_rate_per_s {
                let how = if new.shear_rate_per_s == old.shear_rate_per_s {
                    "the same shear rate as"
                } else {
                    "a lower shear rate than"
                };
                faults.push(CurveFault::at(
                    row.line,
                    "shear_rate_per_s",
                    format!("{how} on line {}", before.line),
                    "sort the rows by shear rate, one row a rate",
                ));
            } else if new.shear_stress_pa <= old.shear_stress_pa {
                faults.push(CurveFault::at(
                    row.line,
                    &self.stress_column,
                    format!(
                        "the stress does not rise from line {}, and a needle's flow is not single there",
                        before.line
                    ),
                    "readings that scatter: fit a law, heatset flow-curve, and use that",
                ));
            }
        }
        if !faults.is_empty() {
            return Err(CurveFileError::faults(file.to_owned(), faults));
        }
        let points: Vec<ShearPoint> = self.rows.iter().map(|row| row.point).collect();
        MeasuredCurve::new(&points).map_err(|error| {
            CurveFileError::faults(
                file.to_owned(),
                vec![CurveFault::of_file(error.to_string(), "look at the table")],
            )
        })
    }
}

/// A column that is read, and what its numbers are multiplied by.
struct Column {
    place: usize,
    name: String,
    to_si: f64,
}

/// The column of one of these names; two of them, or one twice, are a fault.
fn column(cells: &Cells, names: &[(&str, f64)], faults: &mut Vec<CurveFault>) -> Option<Column> {
    let mut found = (0..).zip(&cells.header).filter_map(|(place, name)| {
        let known = names.iter().find(|(known, _)| known == name)?;
        Some(Column {
            place,
            name: name.clone(),
            to_si: known.1,
        })
    });
    let first = found.next()?;
    if let Some(second) = found.next() {
        faults.push(CurveFault::at(
            cells.header_line,
            &second.name,
            if second.name == first.name {
                "the header names it twice".to_owned()
            } else {
                format!("the header names both {} and this", first.name)
            },
            "keep one of them",
        ));
    }
    Some(first)
}

/// A needed column that is not there; a near miss is named.
fn missing(cells: &Cells, quantity: &str, wanted: &str) -> CurveFault {
    // 'stress' or 'viscosity' without its unit; 'rate'
    let words: &[&str] = if quantity.ends_with("stress") {
        &["stress", "viscosity"]
    } else {
        &["rate"]
    };
    let meant = cells.header.iter().find(|name| {
        let name = name.to_lowercase();
        words.iter().any(|word| name.contains(word))
    });
    CurveFault::on_line(
        cells.header_line,
        format!("no column holds the {quantity}"),
        match meant {
            Some(name) => format!("is {name} meant? write {wanted}: the unit stands in the header"),
            None => format!("name it {wanted}"),
        },
    )
}

/// A number above zero, in SI.
fn positive(
    column: &Column,
    line: usize,
    cells: &[String],
    decimal_comma: bool,
    faults: &mut Vec<CurveFault>,
) -> Option<f64> {
    let text = cells.get(column.place).map_or("", String::as_str);
    match number_of(text, decimal_comma) {
        Ok(number) if number > 0.0 => Some(number * column.to_si),
        Ok(_) => {
            let what = if text.trim_start().starts_with(['-', '\u{2212}']) {
                "is negative"
            } else {
                "is zero"
            };
            faults.push(CurveFault::at(
                line,
                &column.name,
                format!("{text} {what}"),
                "leave out readings at rest and readings below what the instrument resolves",
            ));
            None
        }
        Err((message, remedy)) => {
            faults.push(CurveFault::at(line, &column.name, message, remedy));
            None
        }
    }
}
