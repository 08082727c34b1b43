//! The rows of one blend, laid out for the fit.

/// Temperatures of the gel when it was read.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadTemperatures {
    /// Temperature to which initial and plateau refer, in K.
    pub reference_kelvin: f64,
    /// `T_ref/T_read - 1` of each row; 0 for a row that does not say.
    pub ratios: Vec<f64>,
}

impl ReadTemperatures {
    /// Of rows that say it, or not, in K.
    #[must_use]
    pub fn new(reference_kelvin: f64, read_kelvin: impl IntoIterator<Item = Option<f64>>) -> Self {
        Self {
            reference_kelvin,
            ratios: read_kelvin
                .into_iter()
                .map(|kelvin| kelvin.map_or(0.0, |kelvin| reference_kelvin / kelvin - 1.0))
                .collect(),
        }
    }
}

/// Rows of one blend: the response, its weight, and which dose each row belongs to.
///
/// Rows that share temperature and time share a dose, so that replicates cost nothing.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BenchRows {
    /// Distinct set temperatures, in K, rising.
    pub temperatures_kelvin: Vec<f64>,
    /// Distinct doses: index of the temperature and clock time in s.
    pub points: Vec<(usize, f64)>,
    /// Which of `points` each row belongs to.
    pub point_of_row: Vec<usize>,
    /// Readings in SI (or their own unit).
    pub readings: Vec<f64>,
    /// Standard deviation of each reading where given.
    pub reading_sds: Vec<Option<f64>>,
    /// `ln(g/g_ref)` of each row; empty where every row has the reference shear rate.
    pub ln_shear_ratios: Vec<f64>,
    /// The temperatures at which rows were read, where they differ enough to tell.
    pub read_temperatures: Option<ReadTemperatures>,
    /// Row of the bench table that each row came from.
    pub table_rows: Vec<usize>,
}

impl BenchRows {
    /// Lays out rows given as (set temperature in K, clock time in s, reading).
    #[must_use]
    pub fn new(rows: &[(f64, f64, f64)]) -> Self {
        let mut temperatures_kelvin: Vec<f64> = rows.iter().map(|r| r.0).collect();
        temperatures_kelvin.sort_by(f64::total_cmp);
        temperatures_kelvin.dedup();
        // Rows mostly come sorted: the place of the row before, or the next, is tried first.
        let mut last = 0;
        let mut points: Vec<(usize, f64)> = Vec::with_capacity(rows.len());
        for &(kelvin, time_s, _) in rows {
            if temperatures_kelvin[last] != kelvin {
                last = temperatures_kelvin
                    .partition_point(|t| *t < kelvin)
                    .min(temperatures_kelvin.len() - 1);
            }
            points.push((last, time_s));
        }
        let of_row = points.clone();
        points.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        points.dedup();
        let mut next = 0;
        let point_of_row = of_row
            .iter()
            .map(|p| {
                let found = if points.get(next) == Some(p) {
                    next
                } else {
                    points.partition_point(|q| q.0 < p.0 || (q.0 == p.0 && q.1 < p.1))
                };
                next = found + 1;
                found
            })
            .collect();
        Self {
            temperatures_kelvin,
            points,
            point_of_row,
            readings: rows.iter().map(|r| r.2).collect(),
            reading_sds: vec![None; rows.len()],
            ln_shear_ratios: Vec::new(),
            read_temperatures: None,
            table_rows: (0..rows.len()).collect(),
        }
    }

    /// Some of the rows, in the given order; shear ratios and temperatures of reading stay where the
    /// whole has them.
    #[must_use]
    pub fn subset(&self, members: &[usize]) -> Self {
        let triples: Vec<(f64, f64, f64)> = members
            .iter()
            .map(|&row| {
                (
                    self.set_kelvin(row),
                    self.clock_time_s(row),
                    self.readings[row],
                )
            })
            .collect();
        let mut part = Self::new(&triples);
        part.reading_sds = members.iter().map(|&row| self.reading_sds[row]).collect();
        part.table_rows = members.iter().map(|&row| self.table_rows[row]).collect();
        if !self.ln_shear_ratios.is_empty() {
            part.ln_shear_ratios = members
                .iter()
                .map(|&row| self.ln_shear_ratios[row])
                .collect();
        }
        part.read_temperatures = self
            .read_temperatures
            .as_ref()
            .map(|read| ReadTemperatures {
                reference_kelvin: read.reference_kelvin,
                ratios: members.iter().map(|&row| read.ratios[row]).collect(),
            });
        part
    }

    /// Number of rows.
    #[must_use]
    pub fn len(&self) -> usize {
        self.readings.len()
    }

    /// Whether there is no row.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.readings.is_empty()
    }

    /// Set temperature of a row, in K.
    #[must_use]
    pub fn set_kelvin(&self, row: usize) -> f64 {
        self.temperatures_kelvin[self.points[self.point_of_row[row]].0]
    }

    /// Clock time of a row, in s.
    #[must_use]
    pub fn clock_time_s(&self, row: usize) -> f64 {
        self.points[self.point_of_row[row]].1
    }

    /// Harmonic mean of the rows' temperatures, rounded to a whole degree Celsius, in K: where
    /// the estimates of rate and activation energy depend least on each other.
    #[must_use]
    pub fn reference_kelvin(&self) -> f64 {
        let inverse_sum: f64 = (0..self.len()).map(|row| 1.0 / self.set_kelvin(row)).sum();
        let harmonic = self.len() as f64 / inverse_sum;
        let zero = crate::reference::constants::ZERO_CELSIUS_KELVIN;
        (harmonic - zero).round() + zero
    }
}
