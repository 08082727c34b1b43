//! Mandel's marks of consistency: h of a group's mean, k of its scatter.

use crate::fit::{f_quantile, t_quantile_real};
use serde::Serialize;

/// h and k of one group of a cell.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MandelMark {
    /// Deviation of the group's mean in standard deviations of the means.
    pub h: f64,
    /// Scatter of the group over that of all; none with fewer than two readings.
    pub k: Option<f64>,
}

/// Marks of the groups of one cell, in their order; none with fewer than three groups.
///
/// # Equation
/// h_i = (y_i - y)/s(y_i); k_i = s_i/sqrt(sum s_i^2/p)
///
/// | symbol | field | unit |
/// |---|---|---|
/// | y_i, s_i | mean and standard deviation of group i | that of the readings |
/// | y, s(y_i) | mean and standard deviation of the means | that of the readings |
/// | p | groups; for k those with two readings or more | 1 |
///
/// # Valid for
/// Groups of about equal size: the means count alike.
///
/// # Source
/// ISO 5725-2:1994, 7.3.1 (h there from the weighted mean; the two are one for equal groups).
#[must_use]
pub fn mandel(groups: &[Vec<f64>]) -> Option<Vec<MandelMark>> {
    let p = groups.len();
    if p < 3 || groups.iter().any(Vec::is_empty) {
        return None;
    }
    let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len() as f64;
    let means: Vec<f64> = groups.iter().map(|g| mean(g)).collect();
    let centre = mean(&means);
    let spread = (means.iter().map(|m| (m - centre).powi(2)).sum::<f64>() / (p - 1) as f64).sqrt();
    let variances: Vec<Option<f64>> = groups
        .iter()
        .zip(&means)
        .map(|(group, own)| {
            (group.len() >= 2).then(|| {
                group.iter().map(|v| (v - own).powi(2)).sum::<f64>() / (group.len() - 1) as f64
            })
        })
        .collect();
    let told = variances.iter().flatten().count();
    let pooled = variances.iter().flatten().sum::<f64>() / told.max(1) as f64;
    if spread <= 0.0 {
        return None;
    }
    Some(
        means
            .iter()
            .zip(variances)
            .map(|(own, variance)| MandelMark {
                h: (own - centre) / spread,
                k: variance
                    .filter(|_| pooled > 0.0)
                    .map(|v| (v / pooled).sqrt()),
            })
            .collect(),
    )
}

/// Value that |h| passes by chance alone with the probability given.
///
/// # Equation
/// h = (p - 1) t/sqrt[p (t^2 + p - 2)], t = t(1 - a/2; p - 2)
///
/// | symbol | field | unit |
/// |---|---|---|
/// | p, a | `groups`, `probability` | 1 |
///
/// # Valid for
/// Three groups or more.
///
/// # Source
/// P.-T. Wilrich, AStA Adv. Stat. Anal. 97 (2013) 1, doi:10.1007/s10182-011-0185-y.
///
/// # Example
/// ```
/// // ASTM E691, table of critical values at 0.5 %: 8 laboratories, h 2.15 (from memory)
/// let h = heatset::fit::precision::mandel_h_critical(8, 0.005).unwrap();
/// approx::assert_abs_diff_eq!(h, 2.15, epsilon = 5e-3);
/// ```
#[must_use]
pub fn mandel_h_critical(groups: usize, probability: f64) -> Option<f64> {
    if groups < 3 {
        return None;
    }
    let p = groups as f64;
    let t = t_quantile_real(1.0 - probability / 2.0, p - 2.0)?;
    Some((p - 1.0) * t / (p * (t * t + p - 2.0)).sqrt())
}

/// Value that k passes by chance alone with the probability given.
///
/// # Equation
/// k = sqrt[p F/(F + p - 1)], F = F(1 - a; n - 1, (p - 1)(n - 1))
///
/// | symbol | field | unit |
/// |---|---|---|
/// | p, n, a | `groups`, `readings_each`, `probability` | 1 |
///
/// # Valid for
/// Groups of equal size.
///
/// # Source
/// P.-T. Wilrich as for [`mandel_h_critical`].
///
/// # Example
/// ```
/// // ASTM E691, table of critical values at 0.5 %: 8 laboratories, 3 results, k 2.06 (from memory)
/// let k = heatset::fit::precision::mandel_k_critical(8, 3, 0.005).unwrap();
/// approx::assert_abs_diff_eq!(k, 2.06, epsilon = 5e-3);
/// ```
#[must_use]
pub fn mandel_k_critical(groups: usize, readings_each: usize, probability: f64) -> Option<f64> {
    if groups < 2 || readings_each < 2 {
        return None;
    }
    let (p, n) = (groups as f64, readings_each as f64);
    let f = f_quantile(1.0 - probability, n - 1.0, (p - 1.0) * (n - 1.0))?;
    Some((p * f / (f + p - 1.0)).sqrt())
}
