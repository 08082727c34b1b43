//! The bench table in memory: numeric columns as arrays in SI, the rest row by row.

use ndarray::Array1;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

pub use super::kind::ReadingKind;
pub use super::row::{Content, NeedleDetails, PLAIN_BLEND, RowDetails, RunWithoutGel};

use super::error::{Counted, FaultList, Problem, ReadingsError};
use super::limits::Limit;
use crate::units::display;

/// Temperatures nearer than this are the same set temperature, written in another unit.
const SAME_TEMPERATURE_KELVIN: f64 = 1e-6;

/// One file that readings came from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Source {
    /// The file as it was named.
    pub file: String,
    /// SHA-256 of its bytes, in hexadecimal digits.
    pub sha256: String,
    /// Rows read.
    pub rows: usize,
    /// Rows that take part in the fit.
    pub used: usize,
    /// The worksheet of a workbook that was read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub worksheet: Option<String>,
}

/// Rows of measured readings, checked. Every array and `rows` have the same length.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchTable {
    /// The files, in the order named.
    pub sources: Vec<Source>,
    /// The kind of reading, as measured.
    pub kind: ReadingKind,
    /// Set temperature of the block.
    pub heat_temp_kelvin: Array1<f64>,
    /// Heat time on the clock.
    pub heat_time_s: Array1<f64>,
    /// The reading in the SI unit of its kind; a force stays in N.
    pub reading: Array1<f64>,
    /// The rest of every row.
    pub rows: Vec<RowDetails>,
    /// Pushes without gel, which tell of syringe and needle; no fit sees them.
    pub runs_without_gel: Vec<RunWithoutGel>,
    /// Columns that mean nothing here, each named once; their text is in the notes.
    pub unknown_columns: Vec<String>,
    /// True when a source says of itself that it is invented data.
    pub invented: bool,
}

impl BenchTable {
    /// A table from arrays in SI, all rows used.
    ///
    /// # Errors
    /// Arrays of different lengths; the values that a file would be refused for.
    ///
    /// # Example
    /// ```
    /// use heatset::readings::{BenchTable, ReadingKind};
    /// let table = BenchTable::from_arrays(
    ///     ReadingKind::Viscosity,
    ///     vec![353.15, 363.15],
    ///     vec![60.0, 60.0],
    ///     vec![0.002, 0.05],
    /// )?;
    /// assert_eq!(table.len(), 2);
    /// # Ok::<(), heatset::readings::ReadingsError>(())
    /// ```
    pub fn from_arrays(
        kind: ReadingKind,
        heat_temp_kelvin: impl Into<Array1<f64>>,
        heat_time_s: impl Into<Array1<f64>>,
        reading: impl Into<Array1<f64>>,
    ) -> Result<BenchTable, ReadingsError> {
        let heat_temp_kelvin = heat_temp_kelvin.into();
        let heat_time_s = heat_time_s.into();
        let reading = reading.into();
        let count = reading.len();
        if heat_temp_kelvin.len() != count || heat_time_s.len() != count {
            return Err(ReadingsError::UnequalLengths {
                temperatures: heat_temp_kelvin.len(),
                times: heat_time_s.len(),
                readings: count,
            });
        }
        let mut faults = FaultList::default();
        let mut hash = Sha256::new();
        for (row, ((temperature, time), value)) in heat_temp_kelvin
            .iter()
            .zip(&heat_time_s)
            .zip(&reading)
            .enumerate()
        {
            for (column, number, limit) in [
                ("heat_temp_kelvin", *temperature, Limit::Temperature),
                ("heat_time_s", *time, Limit::NotNegative),
                (kind.name(), *value, kind.limit()),
            ] {
                hash.update(number.to_le_bytes());
                if let Some(words) = limit.fault(number) {
                    faults.push(Problem {
                        line: Some(row + 1),
                        counted: Counted::Row,
                        column: Some(column.to_string()),
                        found: Some(display::plain(number)),
                        message: format!("{} {words}", display::plain(number)),
                        ..Problem::default()
                    });
                }
            }
        }
        if count == 0 {
            faults.push(Problem {
                message: "there are no rows".to_string(),
                remedy: Some("give one row a reading".to_string()),
                ..Problem::default()
            });
        }
        let file = "arrays in memory".to_string();
        if !faults.is_empty() {
            return Err(ReadingsError::Faults { file, faults });
        }
        let rows = (1..=count)
            .map(|line| RowDetails {
                line,
                ..RowDetails::default()
            })
            .collect();
        Ok(BenchTable {
            sources: vec![Source {
                file,
                sha256: hexadecimal(&hash.finalize()),
                rows: count,
                used: count,
                worksheet: None,
            }],
            kind,
            heat_temp_kelvin,
            heat_time_s,
            reading,
            rows,
            runs_without_gel: Vec::new(),
            unknown_columns: Vec::new(),
            invented: false,
        })
    }

    /// Number of rows, used or not.
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// True where there is no row.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// Several tables as one, their rows in the order given.
    ///
    /// # Errors
    /// No table; tables with different kinds of reading; the same table twice.
    pub fn concat(tables: Vec<BenchTable>) -> Result<BenchTable, ReadingsError> {
        let mut tables = tables.into_iter();
        let Some(mut whole) = tables.next() else {
            return Err(ReadingsError::NoFile);
        };
        let mut temperatures = whole.heat_temp_kelvin.to_vec();
        let mut times = whole.heat_time_s.to_vec();
        let mut readings = whole.reading.to_vec();
        for table in tables {
            if table.kind != whole.kind {
                return Err(ReadingsError::DifferentKinds {
                    first_file: whole.file_names(),
                    first_kind: whole.kind,
                    second_file: table.file_names(),
                    second_kind: table.kind,
                });
            }
            for source in &table.sources {
                if let Some(same) = whole
                    .sources
                    .iter()
                    .find(|known| known.sha256 == source.sha256)
                {
                    return Err(ReadingsError::SameTableTwice {
                        first_file: same.file.clone(),
                        second_file: source.file.clone(),
                    });
                }
            }
            let shift = whole.sources.len();
            whole.sources.extend(table.sources);
            temperatures.extend(table.heat_temp_kelvin);
            times.extend(table.heat_time_s);
            readings.extend(table.reading);
            whole
                .rows
                .extend(table.rows.into_iter().map(|row| RowDetails {
                    source: row.source + shift,
                    ..row
                }));
            whole
                .runs_without_gel
                .extend(table.runs_without_gel.into_iter().map(|mut run| {
                    run.details.source += shift;
                    run
                }));
            for column in table.unknown_columns {
                if !whole.unknown_columns.contains(&column) {
                    whole.unknown_columns.push(column);
                }
            }
            whole.invented |= table.invented;
        }
        whole.heat_temp_kelvin = temperatures.into();
        whole.heat_time_s = times.into();
        whole.reading = readings.into();
        Ok(whole)
    }

    /// The rows of those numbers, in that order; numbers past the end are passed over.
    pub fn select(&self, numbers: &[usize]) -> BenchTable {
        let kept: Vec<usize> = numbers
            .iter()
            .copied()
            .filter(|&row| row < self.len())
            .collect();
        let pick = |values: &Array1<f64>| -> Array1<f64> {
            kept.iter()
                .filter_map(|&row| values.get(row).copied())
                .collect()
        };
        BenchTable {
            sources: self.sources.clone(),
            kind: self.kind,
            heat_temp_kelvin: pick(&self.heat_temp_kelvin),
            heat_time_s: pick(&self.heat_time_s),
            reading: pick(&self.reading),
            rows: kept
                .iter()
                .filter_map(|&row| self.rows.get(row).cloned())
                .collect(),
            runs_without_gel: self.runs_without_gel.clone(),
            unknown_columns: self.unknown_columns.clone(),
            invented: self.invented,
        }
    }

    /// The numbers of the rows that take part in the fit.
    pub fn used_rows(&self) -> Vec<usize> {
        self.rows
            .iter()
            .enumerate()
            .filter(|(_, row)| row.used)
            .map(|(number, _)| number)
            .collect()
    }

    /// The blend that a row belongs to: its name; without one `HA 0.2` by its fraction, or `plain`.
    pub fn blend_of(&self, row: usize) -> String {
        self.rows
            .get(row)
            .map_or_else(|| PLAIN_BLEND.to_string(), RowDetails::blend_name)
    }

    /// The blends, in the order in which they first stand in the table.
    pub fn blends(&self) -> Vec<String> {
        distinct(self.rows.iter().map(RowDetails::blend_name))
    }

    /// The numbers of the rows of one blend, used or not.
    pub fn rows_of_blend(&self, blend: &str) -> Vec<usize> {
        self.rows
            .iter()
            .enumerate()
            .filter(|(_, row)| row.blend_name() == blend)
            .map(|(number, _)| number)
            .collect()
    }

    /// The numbers of the used rows of one blend.
    pub fn used_rows_of_blend(&self, blend: &str) -> Vec<usize> {
        let mut numbers = self.rows_of_blend(blend);
        numbers.retain(|&number| self.rows.get(number).is_some_and(|row| row.used));
        numbers
    }

    /// The lots of the used rows, in the order in which they first stand in the table.
    pub fn lots(&self) -> Vec<String> {
        distinct(
            self.rows
                .iter()
                .filter(|row| row.used)
                .filter_map(|row| row.lot.clone()),
        )
    }

    /// The set temperatures of the used rows, rising, each once.
    pub fn temperatures(&self) -> Vec<f64> {
        let mut temperatures: Vec<f64> = self
            .heat_temp_kelvin
            .iter()
            .zip(&self.rows)
            .filter(|(_, row)| row.used)
            .map(|(temperature, _)| *temperature)
            .collect();
        temperatures.sort_by(f64::total_cmp);
        temperatures.dedup_by(|later, earlier| (*later - *earlier).abs() < SAME_TEMPERATURE_KELVIN);
        temperatures
    }

    /// Refuses a table whose used readings are all the same number.
    ///
    /// # Errors
    /// [`ReadingsError::ReadingsDoNotChange`].
    pub fn check_readings_change(&self) -> Result<(), ReadingsError> {
        let used: Vec<f64> = self
            .reading
            .iter()
            .zip(&self.rows)
            .filter(|(_, row)| row.used)
            .map(|(reading, _)| *reading)
            .collect();
        match used.first() {
            Some(&first) if used.len() > 1 && used.iter().all(|&reading| reading == first) => {
                Err(ReadingsError::ReadingsDoNotChange {
                    file: self.file_names(),
                    rows: used.len(),
                    reading: first,
                    unit: self.kind.unit(),
                })
            }
            _ => Ok(()),
        }
    }

    /// The names of the files, for a sentence.
    pub fn file_names(&self) -> String {
        self.sources
            .iter()
            .map(|source| source.file.as_str())
            .collect::<Vec<_>>()
            .join(", ")
    }
}

fn distinct(names: impl Iterator<Item = String>) -> Vec<String> {
    let mut seen = std::collections::HashSet::new();
    names.filter(|name| seen.insert(name.clone())).collect()
}

pub(crate) fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
