//! The rows of a fit of standing: gels, where each begins, and what was read of it.

use ndarray::Array2;

/// One reading of a gel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandingRow {
    /// Which of the gels.
    pub gel: usize,
    /// Standing time, in s; 0 for a reading taken at once.
    pub stand_time_s: f64,
    /// Storage temperature, in K; plays no part at standing time 0.
    pub stand_temp_kelvin: f64,
    /// Natural logarithm of the reading.
    pub ln_reading: f64,
}

/// Where a gel begins.
#[derive(Debug, Clone, PartialEq)]
pub enum GelStart {
    /// `ln P(0)` is fitted from its own readings.
    Own,
    /// `ln P(0)` is known from a fitted curve.
    Curve {
        /// Natural logarithm of the reading at standing time 0.
        ln_reading: f64,
        /// Derivatives of it by the parameters of the curve, and which of the curves.
        doubt: Option<(usize, Vec<f64>)>,
    },
}

/// One gel.
#[derive(Debug, Clone, PartialEq)]
pub struct StandingGel {
    /// Where it begins.
    pub start: GelStart,
}

/// How well a curve is known that gels begin on.
#[derive(Debug, Clone, PartialEq)]
pub struct CurveDoubt {
    /// Covariance of its parameters.
    pub covariance: Array2<f64>,
}

/// Gels and their readings.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StandingRows {
    /// The gels.
    pub gels: Vec<StandingGel>,
    /// The readings.
    pub rows: Vec<StandingRow>,
    /// The curves that gels begin on.
    pub curves: Vec<CurveDoubt>,
}

impl StandingRows {
    /// Number of gels whose beginning is fitted.
    #[must_use]
    pub fn own_starts(&self) -> usize {
        self.gels
            .iter()
            .filter(|gel| gel.start == GelStart::Own)
            .count()
    }

    /// Readings after standing.
    pub fn stood(&self) -> impl Iterator<Item = &StandingRow> {
        self.rows.iter().filter(|row| row.stand_time_s > 0.0)
    }

    /// Least and greatest storage temperature, in K.
    #[must_use]
    pub fn storage_kelvin(&self) -> [f64; 2] {
        self.stood()
            .fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], row| {
                [
                    low.min(row.stand_temp_kelvin),
                    high.max(row.stand_temp_kelvin),
                ]
            })
    }

    /// Shortest and longest standing time, in s.
    #[must_use]
    pub fn stand_times_s(&self) -> [f64; 2] {
        self.stood()
            .fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], row| {
                [low.min(row.stand_time_s), high.max(row.stand_time_s)]
            })
    }

    /// Harmonic mean of the storage temperatures, rounded to a whole degree Celsius, in K.
    #[must_use]
    pub fn reference_kelvin(&self) -> f64 {
        let (count, inverse) = self.stood().fold((0.0, 0.0), |(count, inverse), row| {
            (count + 1.0, inverse + 1.0 / row.stand_temp_kelvin)
        });
        let zero = crate::reference::constants::ZERO_CELSIUS_KELVIN;
        (count / inverse - zero).round() + zero
    }

    /// Takes the mean of each gel with a beginning of its own out of a value a row: what is left is
    /// what the gel's own beginning cannot explain.
    pub(super) fn centre(&self, values: &mut [f64]) {
        for (place, gel) in self.gels.iter().enumerate() {
            if gel.start != GelStart::Own {
                continue;
            }
            let members = || self.rows.iter().map(move |row| row.gel == place);
            let (count, sum) = members()
                .zip(values.iter())
                .filter(|(is_member, _)| *is_member)
                .fold((0.0, 0.0), |(count, sum), (_, value)| {
                    (count + 1.0, sum + value)
                });
            let mean = sum / f64::max(count, 1.0);
            for (_, value) in members()
                .zip(values.iter_mut())
                .filter(|(is_member, _)| *is_member)
            {
                *value -= mean;
            }
        }
    }

    /// Logarithms of the readings less the known beginnings, own beginnings taken out.
    pub(super) fn targets(&self) -> Vec<f64> {
        let mut targets: Vec<f64> = self
            .rows
            .iter()
            .map(|row| row.ln_reading - self.known_start(row.gel))
            .collect();
        self.centre(&mut targets);
        targets
    }

    /// `ln P(0)` of a gel that begins on a curve; 0 where it is its own.
    pub(super) fn known_start(&self, gel: usize) -> f64 {
        match self.gels.get(gel).map(|gel| &gel.start) {
            Some(GelStart::Curve { ln_reading, .. }) => *ln_reading,
            _ => 0.0,
        }
    }
}
