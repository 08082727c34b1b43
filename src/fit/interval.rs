//! Quantiles that the intervals are made of.

use statrs::distribution::{ContinuousCDF, FisherSnedecor, Normal, StudentsT};

/// Quantile of Student's t; that of the normal distribution where the degrees of freedom are too
/// many to matter.
///
/// # Source
/// Table of Student's t, for instance NIST/SEMATECH e-Handbook 1.3.6.7.2.
///
/// # Example
/// ```
/// let t = heatset::fit::t_quantile(0.975, 10).unwrap();
/// approx::assert_abs_diff_eq!(t, 2.228, epsilon = 5e-4); // NIST e-Handbook 1.3.6.7.2
/// ```
#[must_use]
pub fn t_quantile(probability: f64, degrees_of_freedom: usize) -> Option<f64> {
    if degrees_of_freedom == 0 || !(probability > 0.0 && probability < 1.0) {
        return None;
    }
    if degrees_of_freedom > 100_000 {
        return Normal::new(0.0, 1.0)
            .ok()
            .map(|n| n.inverse_cdf(probability));
    }
    StudentsT::new(0.0, 1.0, degrees_of_freedom as f64)
        .ok()
        .map(|t| t.inverse_cdf(probability))
}

/// Probability that an F ratio is larger.
///
/// # Example
/// ```
/// // NIST e-Handbook 1.3.6.7.3: upper 5 % point of F(7, 18) is 2.577.
/// let p = heatset::fit::f_tail(2.577, 7, 18).unwrap();
/// approx::assert_abs_diff_eq!(p, 0.05, epsilon = 2e-4);
/// ```
#[must_use]
pub fn f_tail(ratio: f64, numerator: usize, denominator: usize) -> Option<f64> {
    if numerator == 0 || denominator == 0 || !ratio.is_finite() || ratio < 0.0 {
        return None;
    }
    FisherSnedecor::new(numerator as f64, denominator as f64)
        .ok()
        .map(|f| f.sf(ratio))
}

/// Two-sided probability of a standard normal deviate.
#[must_use]
pub fn normal_two_sided(deviate: f64) -> Option<f64> {
    Normal::new(0.0, 1.0)
        .ok()
        .map(|n| 2.0 * n.sf(deviate.abs()))
}

/// Cumulative probability of a standard normal deviate.
#[must_use]
pub fn normal_cumulative(deviate: f64) -> Option<f64> {
    Normal::new(0.0, 1.0).ok().map(|n| n.cdf(deviate))
}

/// Deviate that a standard normal one stays under with a probability.
///
/// # Example
/// ```
/// // NIST/SEMATECH e-Handbook 1.3.6.7.1: 0.975 at 1.96.
/// let deviate = heatset::fit::normal_quantile(0.975).unwrap();
/// approx::assert_abs_diff_eq!(deviate, 1.96, epsilon = 5e-5);
/// ```
#[must_use]
pub fn normal_quantile(probability: f64) -> Option<f64> {
    if !(probability > 0.0 && probability < 1.0) {
        return None;
    }
    Normal::new(0.0, 1.0)
        .ok()
        .map(|n| n.inverse_cdf(probability))
}
