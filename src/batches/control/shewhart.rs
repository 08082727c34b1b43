//! Shewhart's chart of single values.

use super::run_length::normal_below;

/// Mean range of two standard normal deviates, `2/sqrt(pi)`: the constant d2 of two.
const MEAN_RANGE_OF_TWO: f64 = std::f64::consts::FRAC_2_SQRT_PI;

/// Standard deviation from the differences of neighbours, which a slow drift leaves alone; none
/// under two values.
///
/// # Equation
/// `sigma = mean |x_i - x_(i-1)| / d2`, `d2 = 2/sqrt(pi) = 1.128`
///
/// | symbol | argument | unit |
/// |---|---|---|
/// | x | `values_in_unit` | that of the chart |
///
/// # Valid for
/// Values that are normal and independent of their neighbours.
///
/// # Source
/// NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2.
///
/// # Example
/// ```
/// use heatset::batches::control::moving_range_sigma;
/// // The handbook's flow rates: mean moving range 1.8778.
/// let rates = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
/// let sigma = moving_range_sigma(&rates).unwrap();
/// assert!((sigma * 1.128 - 1.8778).abs() < 1e-3);
/// ```
#[must_use]
pub fn moving_range_sigma(values_in_unit: &[f64]) -> Option<f64> {
    let pairs = values_in_unit.len().checked_sub(1).filter(|n| *n > 0)?;
    let sum: f64 = values_in_unit
        .iter()
        .zip(values_in_unit.iter().skip(1))
        .map(|(before, after)| (after - before).abs())
        .sum();
    Some(sum / pairs as f64 / MEAN_RANGE_OF_TWO)
}

/// Limits about a centre, for single values.
///
/// # Equation
/// `limits = centre ± width sigma`
///
/// # Valid for
/// Independent values; the run length is for normal ones whose centre and sigma are known.
///
/// # Source
/// W. Shewhart, Economic Control of Quality of Manufactured Product, 1931; NIST/SEMATECH
/// e-Handbook of Statistical Methods, 6.3.2.2.
///
/// # Example
/// ```
/// use heatset::batches::control::ShewhartLimits;
/// // The handbook's flow rates, with its mean of 50.81: limits 55.8041 and 45.8159.
/// let rates = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
/// let limits = ShewhartLimits::of_moving_ranges(50.81, &rates, 3.0).unwrap();
/// assert!((limits.upper_in_unit() - 55.8041).abs() < 0.002);
/// assert!((limits.lower_in_unit() - 45.8159).abs() < 0.002);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShewhartLimits {
    /// Centre, in the chart's unit.
    pub centre_in_unit: f64,
    /// Standard deviation of one value, in the chart's unit.
    pub sigma_in_unit: f64,
    /// Half the width between the limits, in standard deviations.
    pub width_sigmas: f64,
}

impl ShewhartLimits {
    /// Limits where no standard deviation is known: from the moving ranges; none under two values.
    #[must_use]
    pub fn of_moving_ranges(
        centre_in_unit: f64,
        values_in_unit: &[f64],
        width_sigmas: f64,
    ) -> Option<Self> {
        Some(Self {
            centre_in_unit,
            sigma_in_unit: moving_range_sigma(values_in_unit)?,
            width_sigmas,
        })
    }

    /// Lower limit, in the chart's unit.
    #[must_use]
    pub fn lower_in_unit(&self) -> f64 {
        self.centre_in_unit - self.width_sigmas * self.sigma_in_unit
    }

    /// Upper limit, in the chart's unit.
    #[must_use]
    pub fn upper_in_unit(&self) -> f64 {
        self.centre_in_unit + self.width_sigmas * self.sigma_in_unit
    }

    /// Whether a value lies beyond the limits.
    #[must_use]
    pub fn is_beyond(&self, value_in_unit: f64) -> bool {
        value_in_unit > self.upper_in_unit() || value_in_unit < self.lower_in_unit()
    }

    /// Mean number of batches until one lies beyond the limits, all of them shifted by so many
    /// standard deviations.
    ///
    /// # Equation
    /// `ARL = 1/[1 - Phi(w - d) + Phi(-w - d)]`
    ///
    /// | symbol | argument | unit |
    /// |---|---|---|
    /// | w | `width_sigmas` | standard deviations |
    /// | d | `shift_sigmas` | standard deviations |
    ///
    /// # Valid for
    /// Independent normal values, centre and sigma known.
    ///
    /// # Source
    /// D. Montgomery, Introduction to Statistical Quality Control, control charts for variables.
    ///
    /// # Example
    /// ```
    /// use heatset::batches::control::ShewhartLimits;
    /// assert!((ShewhartLimits::run_length_batches(3.0, 0.0) - 370.4).abs() < 0.05);
    /// assert!((ShewhartLimits::run_length_batches(3.0, 1.0) - 43.9).abs() < 0.05);
    /// ```
    #[must_use]
    pub fn run_length_batches(width_sigmas: f64, shift_sigmas: f64) -> f64 {
        1.0 / (normal_below(shift_sigmas - width_sigmas)
            + normal_below(-width_sigmas - shift_sigmas))
    }

    /// The same, where two of three values in a row beyond two thirds of the width, on one side,
    /// signal too.
    ///
    /// # Equation
    /// A Markov chain whose states are how many batches ago a value lay between two thirds of the
    /// width and the limit, above and below: `(I - Q) ARL = 1` over the states that have not
    /// signalled.
    ///
    /// # Valid for
    /// Independent normal values, centre and sigma known.
    ///
    /// # Source
    /// C. Champ, W. Woodall, Exact results for Shewhart control charts with supplementary runs
    /// rules, Technometrics 29 (1987) 393, doi:10.1080/00401706.1987.10488266.
    ///
    /// # Example
    /// ```
    /// use heatset::batches::control::ShewhartLimits;
    /// // Champ and Woodall give 225.44 for both rules together (from memory).
    /// let batches = ShewhartLimits::run_length_with_two_of_three_batches(3.0, 0.0);
    /// assert!((batches - 225.44).abs() < 0.01);
    /// ```
    #[must_use]
    pub fn run_length_with_two_of_three_batches(width_sigmas: f64, shift_sigmas: f64) -> f64 {
        let warning = width_sigmas * 2.0 / 3.0;
        let high = normal_below(shift_sigmas - warning) - normal_below(shift_sigmas - width_sigmas);
        let low =
            normal_below(-warning - shift_sigmas) - normal_below(-width_sigmas - shift_sigmas);
        let between = normal_below(warning - shift_sigmas) - normal_below(-warning - shift_sigmas);
        // Batches for which a warning value still counts, above and below: 0, 1 or 2.
        let state = |above: usize, under: usize| 3 * above + under;
        let mut matrix = vec![vec![0.0; 9]; 9];
        for above in 0..3_usize {
            for under in 0..3_usize {
                let row = &mut matrix[state(above, under)];
                let (later_above, later_under) = (above.saturating_sub(1), under.saturating_sub(1));
                row[state(later_above, later_under)] -= between;
                if above == 0 {
                    row[state(2, later_under)] -= high;
                }
                if under == 0 {
                    row[state(later_above, 2)] -= low;
                }
                row[state(above, under)] += 1.0;
            }
        }
        super::run_length::solved(matrix, vec![1.0; 9])
            .and_then(|lengths| lengths.first().copied())
            .unwrap_or(f64::INFINITY)
    }
}

/// Where the rule 'two of three in a row beyond two standard deviations, on one side' signals: at
/// the value that completes the two.
///
/// # Source
/// Western Electric, Statistical Quality Control Handbook, 1956.
///
/// # Example
/// ```
/// use heatset::batches::control::two_of_three;
/// assert_eq!(two_of_three(&[2.1, 0.0, 2.1, -2.1], 0.0, 1.0), [false, false, true, false]);
/// ```
#[must_use]
pub fn two_of_three(values_in_unit: &[f64], centre_in_unit: f64, sigma_in_unit: f64) -> Vec<bool> {
    let side = |value: f64| {
        let away = (value - centre_in_unit) / sigma_in_unit;
        match away.abs() > 2.0 {
            true if away > 0.0 => 1,
            true => -1,
            false => 0,
        }
    };
    let (mut before, mut two_before) = (0, 0);
    values_in_unit
        .iter()
        .map(|value| {
            let here = side(*value);
            let completes = here != 0 && (here == before || here == two_before);
            (two_before, before) = (before, here);
            completes
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// D. Montgomery, Introduction to Statistical Quality Control (from memory): 370.4 in control,
    /// 155.2 at half a sigma, 43.9 at one, 6.3 at two, 2.0 at three.
    #[test]
    fn three_sigma_limits_wait_as_published() {
        for (shift, expected, digit) in [
            (0.0, 370.4, 0.05),
            (0.5, 155.2, 0.05),
            (1.0, 43.9, 0.05),
            (2.0, 6.3, 0.05),
            (3.0, 2.0, 0.05),
        ] {
            let found = ShewhartLimits::run_length_batches(3.0, shift);
            assert!((found - expected).abs() <= digit, "{shift}: {found}");
        }
    }

    /// Two on different sides, or three batches apart, complete nothing.
    #[test]
    fn two_of_three_asks_for_one_side_and_three_in_a_row() {
        let found = two_of_three(&[2.5, -2.5, 0.0, 0.0, -2.5, 0.0, -2.5, -2.5], 0.0, 1.0);
        assert_eq!(
            found,
            [false, false, false, false, false, false, true, true]
        );
    }
}
