//! A reading held against what was predicted of it.

use statrs::distribution::{ContinuousCDF, Normal};

/// What was predicted of a batch, and how its reading lies in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prediction {
    /// Median of the prediction, in the SI unit of the reading.
    pub median_in_unit: f64,
    /// Its 95 % interval for a new lot, in the SI unit of the reading.
    pub interval95_in_unit: [f64; 2],
    /// Number of draws behind it.
    pub draws: u64,
    /// Standardised deviation of the reading, in standard deviations.
    pub z_sd: f64,
    /// Natural logarithm of the reading over the median.
    pub ln_ratio: f64,
    /// Whether the reading lies inside the interval.
    pub inside: bool,
}

impl Prediction {
    /// Holds a reading against sorted draws of the prediction, whose median and interval are given.
    ///
    /// # Equation
    /// `z = Phi^-1[ (r + 1/2)/(n + 1) ]`, with r draws under the reading (ties by half) of n: normal
    /// of mean 0 and standard deviation 1 where the prediction holds, whatever its shape.
    ///
    /// # Valid for
    /// Draws enough for the tail: a reading beyond them all gets the z of the outermost, 3.9 with
    /// 10 000 draws, whatever its distance.
    ///
    /// # Errors
    /// None without draws, or for a reading or a median that is not above zero.
    ///
    /// # Source
    /// The probability integral transform: A. Dawid, Statistical theory: the prequential approach,
    /// J. R. Stat. Soc. A 147 (1984) 278, doi:10.2307/2981683 (from memory).
    ///
    /// # Example
    /// ```
    /// use heatset::batches::Prediction;
    /// // Of the draws 1 to 999 one is 975 itself: rank 974.5, (974.5 + 0.5)/1000 = 0.975, and
    /// // Phi^-1(0.975) = 1.960 (any table of the normal law).
    /// let draws: Vec<f64> = (1..=999).map(f64::from).collect();
    /// let held = Prediction::of_reading(975.0, &draws, 500.0, [25.0, 975.0]).unwrap();
    /// assert!((held.z_sd - 1.960).abs() < 5e-4);
    /// assert!(held.inside);
    /// ```
    #[must_use]
    pub fn of_reading(
        reading_in_unit: f64,
        sorted_draws: &[f64],
        median_in_unit: f64,
        interval95_in_unit: [f64; 2],
    ) -> Option<Self> {
        let usable = |value: f64| value.is_finite() && value > 0.0;
        if sorted_draws.is_empty() || !usable(reading_in_unit) || !usable(median_in_unit) {
            return None;
        }
        let under = sorted_draws.partition_point(|draw| *draw < reading_in_unit);
        let to_there = sorted_draws.partition_point(|draw| *draw <= reading_in_unit);
        let rank = 0.5 * (under + to_there) as f64;
        let probability = (rank + 0.5) / (sorted_draws.len() as f64 + 1.0);
        let [low, high] = interval95_in_unit;
        Some(Self {
            median_in_unit,
            interval95_in_unit,
            draws: sorted_draws.len() as u64,
            z_sd: Normal::standard().inverse_cdf(probability),
            ln_ratio: (reading_in_unit / median_in_unit).ln(),
            inside: (low..=high).contains(&reading_in_unit),
        })
    }
}
