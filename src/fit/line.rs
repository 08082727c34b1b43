//! Straight line through points, for ln k over 1/T.

use super::error::FitError;
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;

/// Activation energy and pre-exponential factor from rates at several temperatures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArrheniusLine {
    /// Activation energy, in J/mol.
    pub activation_energy_j_per_mol: f64,
    /// Its standard error, in J/mol; not finite for two points.
    pub activation_energy_error_j_per_mol: f64,
    /// Logarithm of the pre-exponential factor in the rates' unit.
    pub ln_pre_exponential: f64,
    /// Its standard error.
    pub ln_pre_exponential_error: f64,
    /// Standard deviation of ln k about the line.
    pub residual_sd: f64,
}

/// Unweighted straight line of ln k over 1/T.
///
/// # Equation
/// `ln k = ln A - (E/R)(1/T)`
///
/// | symbol | argument | unit |
/// |---|---|---|
/// | T, k | `rates` | K, any one unit |
///
/// # Valid for
/// Two temperatures or more; standard errors need three.
///
/// # Errors
/// Fewer than two temperatures, or a rate that is not above zero.
///
/// # Source
/// Ordinary least squares: Bates & Watts 1988, chapter 1.
///
/// # Example
/// Benzenediazonium chloride, H. Fogler, Elements of Chemical Reaction Engineering, Example 3-1:
/// ```
/// let rates = [(313.0, 0.00043), (319.0, 0.00103), (323.0, 0.00180), (328.0, 0.00355), (333.0, 0.00717)];
/// let line = heatset::fit::arrhenius_line(&rates).unwrap();
/// // Computed with SciPy from the book's table: 121.488 (0.839) kJ/mol, ln A 38.9246 (0.3123).
/// approx::assert_relative_eq!(line.activation_energy_j_per_mol, 121_488.0, max_relative = 5e-6);
/// approx::assert_relative_eq!(line.ln_pre_exponential, 38.9246, max_relative = 5e-6);
/// ```
pub fn arrhenius_line(rates: &[(f64, f64)]) -> Result<ArrheniusLine, FitError> {
    let usable = rates
        .iter()
        .all(|(t, k)| *t > 0.0 && *k > 0.0 && t.is_finite() && k.is_finite());
    let n = rates.len() as f64;
    let mean_x = rates.iter().map(|(t, _)| 1.0 / t).sum::<f64>() / n;
    let mean_y = rates.iter().map(|(_, k)| k.ln()).sum::<f64>() / n;
    let (mut sxx, mut sxy) = (0.0, 0.0);
    for (t, k) in rates {
        sxx += (1.0 / t - mean_x) * (1.0 / t - mean_x);
        sxy += (1.0 / t - mean_x) * (k.ln() - mean_y);
    }
    if rates.len() < 2 || !usable || sxx <= 1e-24 {
        return Err(FitError::OneTemperature {
            blend: "rates".to_owned(),
            rows: rates.len(),
            temp_kelvin: rates.first().map_or(0.0, |r| r.0),
        });
    }
    let slope = sxy / sxx;
    let intercept = mean_y - slope * mean_x;
    let rss: f64 = rates
        .iter()
        .map(|(t, k)| {
            let residual = k.ln() - intercept - slope / t;
            residual * residual
        })
        .sum();
    let residual_sd = (rss / (n - 2.0)).sqrt();
    Ok(ArrheniusLine {
        activation_energy_j_per_mol: -slope * GAS_CONSTANT_J_PER_MOL_K,
        activation_energy_error_j_per_mol: residual_sd / sxx.sqrt() * GAS_CONSTANT_J_PER_MOL_K,
        ln_pre_exponential: intercept,
        ln_pre_exponential_error: residual_sd * (1.0 / n + mean_x * mean_x / sxx).sqrt(),
        residual_sd,
    })
}
