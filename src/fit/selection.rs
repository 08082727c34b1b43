//! Likelihood, AICc and Akaike weights.

/// Log-likelihood of normal residuals at the standard deviation of greatest likelihood.
///
/// # Equation
/// `ln L = -(n/2) [ln(2 pi RSS/n) + 1]`
///
/// | symbol | argument | unit |
/// |---|---|---|
/// | RSS | `sum_of_squares` | that of the residuals, squared |
/// | n | `rows` | 1 |
///
/// # Valid for
/// A sum of squares above zero.
///
/// # Source
/// K. Burnham, D. Anderson, Model Selection and Multimodel Inference, 2nd ed. 2002, section 1.2.2.
#[must_use]
pub fn log_likelihood(sum_of_squares: f64, rows: usize) -> f64 {
    let n = rows as f64;
    -0.5 * n * ((2.0 * std::f64::consts::PI * sum_of_squares / n).ln() + 1.0)
}

/// Akaike's criterion with the correction for few rows; the residual sd counts as a parameter.
///
/// # Equation
/// `AICc = -2 ln L + 2 k + 2 k (k+1)/(n - k - 1)`, `k` = free parameters + 1
///
/// # Valid for
/// More rows than `k + 1`; `None` otherwise.
///
/// # Source
/// C. Hurvich, C. Tsai, Biometrika 76 (1989) 297, doi:10.1093/biomet/76.2.297.
///
/// # Example
/// Calcium uptake (Davison & Hinkley 1997, ex. 7.7), two parameters, 27 rows, residual sd
/// 0.546425: AICc 48.95289 (computed with R).
/// ```
/// use heatset::fit::{aicc, log_likelihood};
/// let rss = 0.546425_f64.powi(2) * 25.0;
/// let found = aicc(log_likelihood(rss, 27), 2, 27).unwrap();
/// approx::assert_relative_eq!(found, 48.95289, max_relative = 1e-5);
/// ```
#[must_use]
pub fn aicc(log_likelihood: f64, free_parameters: usize, rows: usize) -> Option<f64> {
    let k = free_parameters as f64 + 1.0;
    let spare = rows as f64 - k - 1.0;
    (spare > 0.0).then(|| -2.0 * log_likelihood + 2.0 * k + 2.0 * k * (k + 1.0) / spare)
}

/// Akaike weights: the share of the evidence that each candidate has.
///
/// # Equation
/// `w_i = exp(-d_i/2) / sum_j exp(-d_j/2)`, `d_i = AICc_i - least AICc`
///
/// # Source
/// Burnham & Anderson 2002, section 2.9.
#[must_use]
pub fn akaike_weights(criteria: &[Option<f64>]) -> Vec<Option<f64>> {
    let least = criteria
        .iter()
        .flatten()
        .copied()
        .fold(f64::INFINITY, f64::min);
    let relative = |value: f64| (-0.5 * (value - least)).exp();
    let whole: f64 = criteria.iter().flatten().map(|v| relative(*v)).sum();
    criteria
        .iter()
        .map(|c| c.map(|v| relative(v) / whole))
        .collect()
}
