//! Whether two means agree within a margin: two one-sided tests, their power, and the readings they take.

use crate::fit::{normal_cumulative, t_quantile_real};
use serde::Serialize;
use statrs::distribution::{ContinuousCDF, StudentsT};
use statrs::function::gamma::ln_gamma;

/// Panels of Simpson's rule over the scatter of an estimated standard deviation.
const PANELS: usize = 200;
/// More readings than anybody takes.
const MOST: usize = 5000;

/// What two one-sided tests come to.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Tost {
    /// Deviate from the lower margin.
    pub t_lower: f64,
    /// Deviate from the upper margin.
    pub t_upper: f64,
    /// Probability of such readings if the difference were at or under the lower margin.
    pub p_lower: f64,
    /// Probability of such readings if the difference were at or over the upper margin.
    pub p_upper: f64,
    /// The larger of both: under 0.05 the difference lies within the margins.
    pub p: f64,
    /// 90 % interval of the difference: within the margins just when `p` is under 0.05.
    pub interval90: [f64; 2],
}

/// Two one-sided tests of a difference with its standard error.
///
/// # Equation
/// t_lower = (d - lower)/se, t_upper = (upper - d)/se; p = max[P(T > t_lower), P(T > t_upper)]
///
/// | symbol | field | unit |
/// |---|---|---|
/// | d, se | `difference`, `std_error` | any |
/// | lower, upper | `margins` | the same |
/// | T | Student's t with `degrees_of_freedom` | 1 |
///
/// # Valid for
/// Normal differences. None for a standard error that is not above zero, or no degree of freedom.
///
/// # Source
/// D. Schuirmann, J. Pharmacokinet. Biopharm. 15 (1987) 657, doi:10.1007/BF01068419.
///
/// # Example
/// ```
/// // documentation of pingouin 0.6.1, tost: paired, margins +-0.5: p 0.954854
/// let (a, b) = ([4.0, 7.0, 8.0, 6.0, 3.0, 2.0], [6.0, 8.0, 7.0, 10.0, 11.0, 9.0]);
/// let differences: Vec<f64> = a.iter().zip(b).map(|(x, y)| x - y).collect();
/// let mean = differences.iter().sum::<f64>() / 6.0;
/// let variance = differences.iter().map(|d| (d - mean).powi(2)).sum::<f64>() / 5.0;
/// let found = heatset::fit::precision::tost(mean, (variance / 6.0).sqrt(), 5.0, [-0.5, 0.5]).unwrap();
/// approx::assert_abs_diff_eq!(found.p, 0.954854, epsilon = 1e-6);
/// ```
#[must_use]
pub fn tost(
    difference: f64,
    std_error: f64,
    degrees_of_freedom: f64,
    margins: [f64; 2],
) -> Option<Tost> {
    if !(std_error > 0.0 && std_error.is_finite() && difference.is_finite()) {
        return None;
    }
    let student = StudentsT::new(0.0, 1.0, degrees_of_freedom).ok()?;
    let t_lower = (difference - margins[0]) / std_error;
    let t_upper = (margins[1] - difference) / std_error;
    let (p_lower, p_upper) = (student.sf(t_lower), student.sf(t_upper));
    let half = t_quantile_real(0.95, degrees_of_freedom)? * std_error;
    Some(Tost {
        t_lower,
        t_upper,
        p_lower,
        p_upper,
        p: p_lower.max(p_upper),
        interval90: [difference - half, difference + half],
    })
}

/// Probability that two one-sided tests at 5 % find a true difference within the margins.
///
/// # Equation
/// integral over u of { Phi[(upper - d)/se - t u] - Phi[(lower - d)/se + t u] } f(u) du, from 0 to
/// (upper - lower)/(2 t se), f the density of sqrt(chi^2_n/n)
///
/// | symbol | field | unit |
/// |---|---|---|
/// | d, se | `difference`, `std_error`, both true | any |
/// | lower, upper | `margins` | the same |
/// | n | `degrees_of_freedom` | 1 |
/// | t | t(0.95; n) | 1 |
///
/// # Valid for
/// Normal differences. Exact but for the quadrature (1e-7).
///
/// # Source
/// D. Owen, Biometrika 52 (1965) 437, doi:10.2307/2333696; K. Phillips, J. Pharmacokinet. Biopharm. 18
/// (1990) 137, doi:10.1007/BF01063556.
///
/// # Example
/// ```
/// // readme of the R package PowerTOST: power.TOST(CV = 0.35, n = c(52, 49), design = "parallel"),
/// // true ratio 0.95, margins 0.80 and 1.25: 0.8011186
/// let sd = (1.0_f64 + 0.35 * 0.35).ln().sqrt();
/// let se = sd * (1.0_f64 / 52.0 + 1.0 / 49.0).sqrt();
/// let power = heatset::fit::precision::tost_power(
///     0.95_f64.ln(), se, 99.0, [0.8_f64.ln(), 1.25_f64.ln()],
/// ).unwrap();
/// approx::assert_abs_diff_eq!(power, 0.8011186, epsilon = 1e-6);
/// ```
#[must_use]
pub fn tost_power(
    difference: f64,
    std_error: f64,
    degrees_of_freedom: f64,
    margins: [f64; 2],
) -> Option<f64> {
    let t = t_quantile_real(0.95, degrees_of_freedom)?;
    if !(std_error > 0.0 && std_error.is_finite() && margins[1] > margins[0]) {
        return None;
    }
    let n = degrees_of_freedom;
    // Beyond ten of its own standard deviations the density is nothing.
    let reach = 10.0 / (2.0 * n).sqrt();
    let from = (1.0 - reach).max(0.0);
    let to = ((margins[1] - margins[0]) / (2.0 * t * std_error)).min(1.0 + reach);
    if to <= from {
        return Some(0.0);
    }
    let constant = std::f64::consts::LN_2 * (1.0 - n / 2.0) - ln_gamma(n / 2.0) + 0.5 * n.ln();
    let value = |u: f64| -> f64 {
        let x = u * n.sqrt();
        // n = 1 has its density's foot at zero.
        let density = if x > 0.0 {
            (constant + (n - 1.0) * x.ln() - x * x / 2.0).exp()
        } else if n == 1.0 {
            constant.exp()
        } else {
            0.0
        };
        let upper = normal_cumulative((margins[1] - difference) / std_error - t * u);
        let lower = normal_cumulative((margins[0] - difference) / std_error + t * u);
        (upper.unwrap_or(1.0) - lower.unwrap_or(0.0)).max(0.0) * density
    };
    let step = (to - from) / (2 * PANELS) as f64;
    let mut sum = value(from) + value(to);
    for k in 1..2 * PANELS {
        let weight = if k % 2 == 1 { 4.0 } else { 2.0 };
        sum += weight * value(from + step * k as f64);
    }
    Some((sum * step / 3.0).clamp(0.0, 1.0))
}

/// Least number of pairs (or of readings a side, where they are not paired) with which the tests find a
/// true difference within the margins with the power asked; none where it lies outside, or over 5000.
///
/// # Equation
/// Pairs: se = sd/sqrt(n), n - 1 degrees of freedom; sides: se = sd sqrt(2/n), 2 n - 2.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | sd | `sd`, of a difference of a pair or of a reading of one side | any |
///
/// # Valid for
/// As [`tost_power`]; the standard deviation is taken as known, and few readings know it badly.
///
/// # Source
/// As [`tost_power`].
///
/// # Example
/// ```
/// // readme of the R package PowerTOST: sampleN.TOST(CV = 0.20): 20 subjects in a 2x2 crossover, which
/// // compares 10 halved differences with 10, each of the standard deviation within subjects over root 2
/// let sd = (1.0_f64 + 0.2 * 0.2).ln().sqrt() / 2.0_f64.sqrt();
/// let margins = [0.8_f64.ln(), 1.25_f64.ln()];
/// let n = heatset::fit::precision::tost_sample_size(0.95_f64.ln(), sd, margins, 0.8, false);
/// assert_eq!(n, Some(10));
/// ```
#[must_use]
pub fn tost_sample_size(
    difference: f64,
    sd: f64,
    margins: [f64; 2],
    power_ratio: f64,
    paired: bool,
) -> Option<usize> {
    if !(margins[0] < difference && difference < margins[1]) {
        return None;
    }
    let reaches = |n: usize| {
        let count = n as f64;
        let (se, freedom) = if paired {
            (sd / count.sqrt(), count - 1.0)
        } else {
            (sd * (2.0 / count).sqrt(), 2.0 * count - 2.0)
        };
        tost_power(difference, se, freedom, margins).is_some_and(|p| p >= power_ratio)
    };
    // The power rises with n: doubled until it is enough, then halved back.
    let mut enough = 2;
    while !reaches(enough) {
        if enough >= MOST {
            return None;
        }
        enough = (enough * 2).min(MOST);
    }
    let mut short = enough / 2;
    if enough == 2 {
        return Some(2);
    }
    while enough - short > 1 {
        let middle = (enough + short) / 2;
        if reaches(middle) {
            enough = middle;
        } else {
            short = middle;
        }
    }
    Some(enough)
}
