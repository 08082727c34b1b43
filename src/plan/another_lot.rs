//! What another lot would buy.

use crate::fit::t_quantile;
use serde::Serialize;
use statrs::function::gamma::ln_gamma;

/// The interval for a new lot, as far as lots differ, with the lots at hand and with one more.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LotFactors {
    /// Half the 95 % interval over the standard deviation between the lots at hand.
    pub half_width_over_lot_sd_ratio_now: f64,
    /// The same with one more lot.
    pub half_width_over_lot_sd_ratio_after: f64,
    /// Mean width of the interval with one more lot over that with the lots at hand.
    pub mean_width_ratio: f64,
}

/// Half the 95 % interval for a new lot over the standard deviation between `lots` lots.
///
/// # Equation
/// `t(L-1; 0.975) sqrt(1 + 1/L)`
///
/// # Valid for
/// Two lots and more, their answers (ln heat time) normally distributed; `None` for fewer.
///
/// # Source
/// Prediction interval for one further observation: G. Hahn, W. Meeker, Statistical Intervals,
/// 1991, section 4.7 (from memory).
///
/// # Example
/// Three lots: Student's t is 4.303 with 2 degrees of freedom (NIST/SEMATECH e-Handbook 1.3.6.7.2),
/// times sqrt(4/3).
/// ```
/// let factor = heatset::plan::new_lot_factor(3).unwrap();
/// approx::assert_abs_diff_eq!(factor, 4.303 * (4.0_f64 / 3.0).sqrt(), epsilon = 1e-3);
/// ```
#[must_use]
pub fn new_lot_factor(lots: usize) -> Option<f64> {
    let t = t_quantile(0.975, lots.checked_sub(1)?)?;
    Some(t * (1.0 + 1.0 / lots as f64).sqrt())
}

/// Mean of the standard deviation of so many normal values over the true one: few lots tend to
/// show too little spread.
///
/// # Equation
/// `c4(L) = sqrt(2/(L-1)) Gamma(L/2) / Gamma((L-1)/2)`
///
/// # Valid for
/// Two values and more; `None` for fewer.
///
/// # Source
/// NIST/SEMATECH e-Handbook 6.3.2, c4.
#[must_use]
pub fn mean_sd_ratio(values: usize) -> Option<f64> {
    if values < 2 {
        return None;
    }
    let n = values as f64;
    Some((2.0 / (n - 1.0)).sqrt() * (ln_gamma(n / 2.0) - ln_gamma((n - 1.0) / 2.0)).exp())
}

/// What another lot does to the interval for a new one; `None` with fewer than two lots.
#[must_use]
pub fn another_lot(lots: usize) -> Option<LotFactors> {
    let (now, after) = (new_lot_factor(lots)?, new_lot_factor(lots + 1)?);
    Some(LotFactors {
        half_width_over_lot_sd_ratio_now: now,
        half_width_over_lot_sd_ratio_after: after,
        mean_width_ratio: after * mean_sd_ratio(lots + 1)? / (now * mean_sd_ratio(lots)?),
    })
}
