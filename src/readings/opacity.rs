//! Reads what people saw: steps of a contrast card, or ratios read from a grey reference card.
//!
//! One row a judgement. Columns `sample` and `reader` (codes), and one of `opacity_step` (0 to 4) and
//! `opacity_ratio` (grey of the gel over grey of the card beside it); `round` where a reader looked again;
//! `lot`, and a `force_N` or `viscosity_Pa_s` that was measured on the same sample. Every fault of a table is
//! told at once.

use std::path::Path;

use sha2::{Digest, Sha256};

use super::columns::{CellColumn, ColumnTable, SheetCell};
use super::error::system_words;
use super::error::{FaultList, Problem, ReadingsError};
use super::files::check_size;
use super::number::read_number;
use super::table::hexadecimal;
use super::text::columns_of_text;
use crate::units::display;
use crate::units::quantity::excerpt;

/// Steps of the contrast card: 0 to 4.
pub const CARD_STEPS: usize = 5;

/// What a judgement was.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Opacity {
    /// Step of the contrast card, from 0 (clear) to 4 (nothing seen behind it).
    Step(usize),
    /// Grey of the gel over grey of the card.
    Ratio(f64),
}

/// Another measure of the same sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MeasuredPush {
    /// Plunger force, in N.
    ForceN(f64),
    /// Viscosity, in Pa.s.
    ViscosityPaS(f64),
}

impl MeasuredPush {
    /// The number, in the SI unit of its kind.
    #[must_use]
    pub const fn value_in_unit(self) -> f64 {
        match self {
            Self::ForceN(value) | Self::ViscosityPaS(value) => value,
        }
    }

    /// The word for it.
    #[must_use]
    pub const fn quantity(self) -> &'static str {
        match self {
            Self::ForceN(_) => "plunger force",
            Self::ViscosityPaS(_) => "viscosity",
        }
    }
}

/// One judgement.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// Its line.
    pub line: usize,
    /// Code of the sample.
    pub sample: String,
    /// Code of the reader.
    pub reader: String,
    /// Round; `1` where none is given.
    pub round: String,
    /// Code of the lot.
    pub lot: Option<String>,
    /// What was seen.
    pub opacity: Opacity,
    /// What was measured of the sample.
    pub push: Option<MeasuredPush>,
}

/// A table of judgements, checked: all steps, or all ratios.
#[derive(Debug, Clone, PartialEq)]
pub struct OpacityTable {
    /// The file as it was named.
    pub file: String,
    /// SHA-256 of its bytes, in hexadecimal digits.
    pub sha256: String,
    /// The judgements, in the order of the file; at least one.
    pub judgements: Vec<Judgement>,
    /// Whether they are steps; else they are ratios.
    pub steps: bool,
    /// Columns that mean nothing here.
    pub unknown_columns: Vec<String>,
    /// Whether the file says of itself that its data are invented.
    pub invented: bool,
}

/// Reads a table of judgements from a file: CSV, TSV or semicolon-separated text.
///
/// # Errors
/// As [`read_opacity_text`]; a file that cannot be opened.
pub fn read_opacity(path: &Path) -> Result<OpacityTable, ReadingsError> {
    let file = path.display().to_string();
    let bytes = std::fs::read(path).map_err(|error| ReadingsError::Unreadable {
        file: file.clone(),
        reason: system_words(&error),
    })?;
    read_opacity_text(&file, &bytes)
}

/// Reads a table of judgements from its bytes; `name` names it in messages.
///
/// # Errors
/// Every fault at once: a missing or doubled column, both kinds of opacity, a step that is none of the
/// card's, a ratio that is not above zero, the same reader twice for one sample and round, two measures of one
/// sample that differ, no rows.
///
/// # Example
/// ```
/// use heatset::readings::{Opacity, read_opacity_text};
/// let text = "sample,reader,opacity_step\nS1,R1,3\nS1,R2,4\n";
/// let table = read_opacity_text("seen.csv", text.as_bytes())?;
/// assert_eq!(table.judgements[1].opacity, Opacity::Step(4));
/// let refused = read_opacity_text("seen.csv", b"sample,reader,opacity_step\nS1,R1,5\n").unwrap_err();
/// assert_eq!(
///     refused.to_string(),
///     "seen.csv cannot be read: 1 fault\n  line 2, column opacity_step: 5 is no step of the card (0, 1, 2, 3 or 4)",
/// );
/// # Ok::<(), heatset::readings::ReadingsError>(())
/// ```
pub fn read_opacity_text(name: &str, bytes: &[u8]) -> Result<OpacityTable, ReadingsError> {
    check_size(name, bytes.len() as u64)?;
    let sha256 = hexadecimal(&Sha256::digest(bytes));
    let table = columns_of_text(name, sha256, bytes)?;
    let mut reader = Reader::new(&table);
    let judgements = reader.judgements();
    let mut faults = table.faults.clone();
    faults.merge(reader.faults);
    if !faults.is_empty() {
        return Err(ReadingsError::Faults {
            file: name.to_owned(),
            faults,
        });
    }
    Ok(OpacityTable {
        file: name.to_owned(),
        sha256: table.sha256.clone(),
        steps: judgements
            .iter()
            .any(|j| matches!(j.opacity, Opacity::Step(_))),
        judgements,
        unknown_columns: reader.unknown,
        invented: table.invented,
    })
}

/// Headers that are known, with what they are and what their numbers are multiplied by.
const KNOWN: [(&str, Column, f64); 11] = [
    ("sample", Column::Sample, 1.0),
    ("reader", Column::Reader, 1.0),
    ("round", Column::Round, 1.0),
    ("lot", Column::Lot, 1.0),
    ("opacity_step", Column::Step, 1.0),
    ("opacity_ratio", Column::Ratio, 1.0),
    ("force_N", Column::Force, 1.0),
    ("force_gf", Column::Force, 9.806_65e-3),
    ("viscosity_Pa_s", Column::Viscosity, 1.0),
    ("viscosity_mPa_s", Column::Viscosity, 1e-3),
    ("viscosity_cP", Column::Viscosity, 1e-3),
];

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Column {
    Sample,
    Reader,
    Round,
    Lot,
    Step,
    Ratio,
    Force,
    Viscosity,
}

struct Reader<'a> {
    table: &'a ColumnTable,
    /// What is known, at which place of the table.
    columns: Vec<(Column, usize, f64)>,
    unknown: Vec<String>,
    faults: FaultList,
}

impl<'a> Reader<'a> {
    fn new(table: &'a ColumnTable) -> Self {
        let mut reader = Self {
            table,
            columns: Vec::new(),
            unknown: Vec::new(),
            faults: FaultList::default(),
        };
        for (place, (header, _)) in table.columns.iter().enumerate() {
            let Some((_, column, factor)) = KNOWN.iter().find(|(name, _, _)| name == header) else {
                if !header.is_empty() {
                    reader.unknown.push(header.clone());
                }
                continue;
            };
            let twice = reader.columns.iter().find(|(known, _, _)| known == column);
            if let Some((_, first, _)) = twice {
                let first = table.columns.get(*first).map_or("", |(name, _)| name);
                let message = if first == header {
                    "the header names it twice".to_owned()
                } else {
                    format!("the header names both {first} and this")
                };
                reader.of_header(Some(header), message, "keep one of them");
            } else {
                reader.columns.push((*column, place, *factor));
            }
        }
        for (column, name) in [(Column::Sample, "sample"), (Column::Reader, "reader")] {
            if reader.column(column).is_none() {
                let remedy = format!("name it {name}: a code in every row, never a name");
                reader.of_header(None, format!("there is no column {name}"), &remedy);
            }
        }
        let has = |column: Column| reader.columns.iter().any(|(known, _, _)| *known == column);
        let (step, ratio) = (has(Column::Step), has(Column::Ratio));
        let (force, viscosity) = (has(Column::Force), has(Column::Viscosity));
        match (step, ratio) {
            (false, false) => reader.of_header(
                None,
                "no column holds what was seen".to_owned(),
                "opacity_step, 0 to 4 on the contrast card; or opacity_ratio, grey of the gel over grey of the card",
            ),
            (true, true) => reader.of_header(
                Some("opacity_ratio"),
                "the header names both opacity_step and this".to_owned(),
                "steps and ratios are told apart: one table each",
            ),
            _ => {}
        }
        if force && viscosity {
            reader.of_header(
                Some("viscosity"),
                "the header names both a force and this".to_owned(),
                "keep the one that was measured",
            );
        }
        reader
    }

    fn of_header(&mut self, column: Option<&str>, message: String, remedy: &str) {
        self.faults.push(Problem {
            line: self.table.header_line,
            column: column.map(str::to_owned),
            message,
            remedy: Some(remedy.to_owned()),
            ..Problem::default()
        });
    }

    fn column(&self, column: Column) -> Option<(usize, f64)> {
        self.columns
            .iter()
            .find(|(known, _, _)| *known == column)
            .map(|(_, place, factor)| (*place, *factor))
    }

    fn text(&self, column: Column, row: usize) -> Option<String> {
        let (place, _) = self.column(column)?;
        match self.table.columns.get(place) {
            Some((_, CellColumn::Text(cells))) => cells.get(row)?.clone(),
            Some((_, CellColumn::Number(cells))) => {
                cells.get(row).copied().flatten().map(display::plain)
            }
            Some((_, CellColumn::Sheet(cells))) => cells.get(row).and_then(SheetCell::text),
            None => None,
        }
    }

    fn fault(&mut self, row: usize, column: Column, message: String, remedy: Option<String>) {
        let header = self
            .column(column)
            .and_then(|(place, _)| self.table.columns.get(place))
            .map(|(name, _)| name.clone());
        self.faults.push(Problem {
            line: self.table.lines.get(row).copied(),
            counted: self.table.counted,
            column: header,
            found: self.text(column, row).map(|text| excerpt(&text)),
            message,
            remedy,
            ..Problem::default()
        });
    }

    fn number(&mut self, column: Column, row: usize) -> Option<f64> {
        let (_, factor) = self.column(column)?;
        let text = self.text(column, row)?;
        match read_number(&text, self.table.decimal_comma) {
            Ok(number) => Some(number * factor),
            Err((message, remedy)) => {
                self.fault(row, column, message, remedy);
                None
            }
        }
    }

    fn needed_text(&mut self, column: Column, row: usize) -> Option<String> {
        let found = self.text(column, row);
        if found.is_none() && self.column(column).is_some() {
            self.fault(row, column, "the code is missing".to_owned(), None);
        }
        found
    }

    fn opacity(&mut self, row: usize) -> Option<Opacity> {
        for column in [Column::Step, Column::Ratio] {
            if self.column(column).is_none() {
                continue;
            }
            if self.text(column, row).is_none() {
                self.fault(
                    row,
                    column,
                    "the judgement is missing".to_owned(),
                    Some("leave the row out".to_owned()),
                );
                return None;
            }
            let number = self.number(column, row)?;
            if column == Column::Step {
                let step = (0..CARD_STEPS).find(|step| *step as f64 == number);
                if step.is_none() {
                    let message = format!("{} is no step of the card", display::plain(number));
                    self.fault(row, column, message, Some("0, 1, 2, 3 or 4".to_owned()));
                }
                return step.map(Opacity::Step);
            }
            if number <= 0.0 {
                let message = format!("{} is not above zero", display::plain(number));
                let remedy =
                    "grey of the gel over grey of the card, both read from the same picture";
                self.fault(row, column, message, Some(remedy.to_owned()));
                return None;
            }
            return Some(Opacity::Ratio(number));
        }
        None
    }

    fn push(&mut self, row: usize) -> Option<MeasuredPush> {
        for column in [Column::Force, Column::Viscosity] {
            let Some(number) = self.number(column, row) else {
                continue;
            };
            if number <= 0.0 {
                let message = format!("{} is not above zero", display::plain(number));
                self.fault(row, column, message, None);
                return None;
            }
            return Some(if column == Column::Force {
                MeasuredPush::ForceN(number)
            } else {
                MeasuredPush::ViscosityPaS(number)
            });
        }
        None
    }

    fn judgements(&mut self) -> Vec<Judgement> {
        let rows = self.table.lines.len();
        let mut found: Vec<Judgement> = Vec::with_capacity(rows);
        for row in 0..rows {
            let sample = self.needed_text(Column::Sample, row);
            let reader = self.needed_text(Column::Reader, row);
            let opacity = self.opacity(row);
            let push = self.push(row);
            let (Some(sample), Some(reader), Some(opacity)) = (sample, reader, opacity) else {
                continue;
            };
            let judgement = Judgement {
                line: self.table.lines.get(row).copied().unwrap_or(0),
                round: self
                    .text(Column::Round, row)
                    .unwrap_or_else(|| "1".to_owned()),
                lot: self.text(Column::Lot, row),
                sample,
                reader,
                opacity,
                push,
            };
            let twice = found.iter().find(|known| {
                known.sample == judgement.sample
                    && known.reader == judgement.reader
                    && known.round == judgement.round
            });
            if let Some(line) = twice.map(|known| known.line) {
                self.fault(
                    row,
                    Column::Reader,
                    format!(
                        "{} judged {} already, on line {line}",
                        judgement.reader, judgement.sample
                    ),
                    Some("who looks again writes 2 in a column round".to_owned()),
                );
                continue;
            }
            let other = found.iter().find(|known| {
                known.sample == judgement.sample
                    && known.push.is_some()
                    && judgement.push.is_some()
                    && known.push != judgement.push
            });
            if let Some(line) = other.map(|known| known.line) {
                let column = match judgement.push {
                    Some(MeasuredPush::ViscosityPaS(_)) => Column::Viscosity,
                    _ => Column::Force,
                };
                self.fault(
                    row,
                    column,
                    format!("{} has another value on line {line}", judgement.sample),
                    Some(
                        "one measured value a sample: repeat it or leave the cell empty".to_owned(),
                    ),
                );
                continue;
            }
            found.push(judgement);
        }
        if rows == 0 {
            self.faults.push(Problem {
                message: "there are no rows under the header".to_owned(),
                remedy: Some("one row a judgement".to_owned()),
                ..Problem::default()
            });
        }
        found
    }
}
