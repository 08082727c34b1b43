//! Quantiles of the distributions that variances and shares have.

use statrs::distribution::{Beta, ChiSquared, ContinuousCDF, FisherSnedecor, StudentsT};

/// From here on a chi squared distribution is as good as fixed at its mean.
const MANY: f64 = 1e7;

fn is_inside(probability: f64, freedoms: &[f64]) -> bool {
    probability > 0.0 && probability < 1.0 && freedoms.iter().all(|f| *f > 0.0 && f.is_finite())
}

/// Quantile of the F distribution; degrees of freedom need not be whole.
///
/// # Source
/// Table of F, for instance NIST/SEMATECH e-Handbook 1.3.6.7.3.
///
/// # Example
/// ```
/// let f = heatset::fit::f_quantile(0.95, 7.0, 18.0).unwrap();
/// approx::assert_abs_diff_eq!(f, 2.577, epsilon = 5e-4); // NIST e-Handbook 1.3.6.7.3
/// ```
#[must_use]
pub fn f_quantile(probability: f64, numerator: f64, denominator: f64) -> Option<f64> {
    if !is_inside(probability, &[numerator, denominator]) {
        return None;
    }
    let quantile = FisherSnedecor::new(numerator, denominator)
        .ok()?
        .inverse_cdf(probability);
    quantile.is_finite().then_some(quantile)
}

/// Quantile of chi squared; degrees of freedom need not be whole.
///
/// # Source
/// Table of chi squared, for instance NIST/SEMATECH e-Handbook 1.3.6.7.4.
///
/// # Example
/// ```
/// let q = heatset::fit::chi_squared_quantile(0.95, 10.0).unwrap();
/// approx::assert_abs_diff_eq!(q, 18.307, epsilon = 5e-4); // NIST e-Handbook 1.3.6.7.4
/// ```
#[must_use]
pub fn chi_squared_quantile(probability: f64, degrees_of_freedom: f64) -> Option<f64> {
    if !is_inside(probability, &[degrees_of_freedom]) {
        return None;
    }
    if degrees_of_freedom > MANY {
        return Some(degrees_of_freedom);
    }
    let quantile = ChiSquared::new(degrees_of_freedom)
        .ok()?
        .inverse_cdf(probability);
    quantile.is_finite().then_some(quantile)
}

/// Quantile of Student's t where the degrees of freedom are not whole.
#[must_use]
pub fn t_quantile_real(probability: f64, degrees_of_freedom: f64) -> Option<f64> {
    if !is_inside(probability, &[degrees_of_freedom]) {
        return None;
    }
    let quantile = StudentsT::new(0.0, 1.0, degrees_of_freedom)
        .ok()?
        .inverse_cdf(probability);
    quantile.is_finite().then_some(quantile)
}

/// Limits of a share of which `successes` of `trials` were counted, by Clopper and Pearson.
///
/// # Equation
/// lower: quantile (1 - level)/2 of Beta(x, n - x + 1); upper: quantile (1 + level)/2 of
/// Beta(x + 1, n - x).
///
/// # Valid for
/// Independent trials; it never covers less than it says.
///
/// # Source
/// C. Clopper, E. Pearson, Biometrika 26 (1934) 404, doi:10.1093/biomet/26.4.404; in this form
/// NIST/SEMATECH e-Handbook 7.2.4.1.
///
/// # Example
/// ```
/// // NIST/SEMATECH e-Handbook 7.2.4.1: 4 of 20, 90 %: 0.071354 to 0.401029.
/// let [lower, upper] = heatset::fit::share_interval(4, 20, 0.90).unwrap();
/// approx::assert_abs_diff_eq!(lower, 0.071354, epsilon = 1e-6);
/// approx::assert_abs_diff_eq!(upper, 0.401029, epsilon = 1e-6);
/// ```
#[must_use]
pub fn share_interval(successes: usize, trials: usize, level_ratio: f64) -> Option<[f64; 2]> {
    if trials == 0 || successes > trials || !(level_ratio > 0.0 && level_ratio < 1.0) {
        return None;
    }
    let (x, n) = (successes as f64, trials as f64);
    let tail = (1.0 - level_ratio) / 2.0;
    let lower = if successes == 0 {
        0.0
    } else {
        Beta::new(x, n - x + 1.0).ok()?.inverse_cdf(tail)
    };
    let upper = if successes == trials {
        1.0
    } else {
        Beta::new(x + 1.0, n - x).ok()?.inverse_cdf(1.0 - tail)
    };
    Some([lower, upper])
}
