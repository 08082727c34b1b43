//! Two measures of the same samples: how they go together.

use super::NORMAL_975;
use super::error::AgreementError;
use serde::Serialize;

/// One correlation with its interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Correlation {
    /// From -1 to 1.
    pub estimate: f64,
    /// 95 % interval; none where the samples are too few for one.
    pub interval95: Option<[f64; 2]>,
}

/// How two measures of the same samples go together.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Association {
    /// Samples with both measures.
    pub samples: usize,
    /// Spearman's rank correlation.
    pub spearman: Correlation,
    /// Kendall's tau-b.
    pub kendall: Correlation,
    /// Pearson's correlation of the numbers as they were given.
    pub pearson: Correlation,
}

/// Rank and linear correlations of two measures of the same samples.
///
/// # Equation
/// Spearman: Pearson's correlation of mid-ranks. Kendall: (C - D)/sqrt((N - T_x)(N - T_y)), N = n(n - 1)/2.
/// Intervals on atanh(r): standard error sqrt((1 + r^2/2)/(n - 3)), sqrt(0.437/(n - 4)) and
/// 1/sqrt(n - 3) for Spearman, Kendall and Pearson.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | C, D | pairs of samples in the same, in opposite order | 1 |
/// | T_x, T_y | pairs tied in the first, in the second | 1 |
/// | n | `samples` | 1 |
///
/// # Valid for
/// Samples that are independent; several of one lot are not, and their interval is too narrow. With many
/// ties the intervals are rough.
///
/// # Errors
/// Lists of different lengths; fewer than four samples; a measure that is the same in every sample.
///
/// # Source
/// M. Kendall, Biometrika 33 (1945) 239 (tau-b); D. Bonett, T. Wright, Psychometrika 65 (2000) 23,
/// doi:10.1007/BF02294183 (intervals; that of Kendall's after E. Fieller, H. Hartley, E. Pearson,
/// Biometrika 44 (1957) 470).
///
/// # Example
/// ```
/// use heatset::fit::agreement::association;
/// let found = association(&[1.0, 2.0, 3.0, 4.0, 5.0], &[5.0, 6.0, 7.0, 8.0, 7.0])?;
/// // SciPy's documentation of spearmanr, as remembered: 0.8208 for these five pairs
/// approx::assert_abs_diff_eq!(found.spearman.estimate, 0.8207826817, epsilon = 1e-9);
/// # Ok::<(), heatset::fit::agreement::AgreementError>(())
/// ```
pub fn association(first: &[f64], second: &[f64]) -> Result<Association, AgreementError> {
    if first.len() != second.len() {
        return Err(AgreementError::UnequalLengths {
            first: first.len(),
            second: second.len(),
        });
    }
    let samples = first.len();
    if samples < 4 {
        return Err(AgreementError::TooFewSamples { samples, needed: 4 });
    }
    if let Some(place) = first.iter().chain(second).position(|v| !v.is_finite()) {
        return Err(AgreementError::NotFinite {
            number: place % samples + 1,
        });
    }
    let linear = pearson(first, second).ok_or(AgreementError::NoSpread)?;
    let ranks = pearson(&mid_ranks(first), &mid_ranks(second)).ok_or(AgreementError::NoSpread)?;
    let tau = kendall(first, second).ok_or(AgreementError::NoSpread)?;
    let n = samples as f64;
    Ok(Association {
        samples,
        spearman: with_interval(ranks, (1.0 + ranks * ranks / 2.0) / (n - 3.0)),
        kendall: with_interval(tau, 0.437 / (n - 4.0)),
        pearson: with_interval(linear, 1.0 / (n - 3.0)),
    })
}

fn with_interval(estimate: f64, variance: f64) -> Correlation {
    let inside = estimate.abs() < 1.0 - 1e-12 && variance.is_finite() && variance > 0.0;
    Correlation {
        estimate,
        interval95: inside.then(|| {
            let (centre, half) = (estimate.atanh(), NORMAL_975 * variance.sqrt());
            [(centre - half).tanh(), (centre + half).tanh()]
        }),
    }
}

fn pearson(first: &[f64], second: &[f64]) -> Option<f64> {
    let n = first.len() as f64;
    let mean = |values: &[f64]| values.iter().sum::<f64>() / n;
    let (of_first, of_second) = (mean(first), mean(second));
    let (mut both, mut one, mut other) = (0.0, 0.0, 0.0);
    for (x, y) in first.iter().zip(second) {
        let (dx, dy) = (x - of_first, y - of_second);
        both += dx * dy;
        one += dx * dx;
        other += dy * dy;
    }
    let product = one * other;
    (product > 0.0).then(|| (both / product.sqrt()).clamp(-1.0, 1.0))
}

/// Ranks from 1; equal values share the mean of theirs.
fn mid_ranks(values: &[f64]) -> Vec<f64> {
    values
        .iter()
        .map(|value| {
            let below = values.iter().filter(|v| *v < value).count() as f64;
            let equal = values.iter().filter(|v| *v == value).count() as f64;
            below + (equal + 1.0) / 2.0
        })
        .collect()
}

fn kendall(first: &[f64], second: &[f64]) -> Option<f64> {
    let n = first.len();
    let (mut balance, mut untied_first, mut untied_second) = (0.0, 0.0, 0.0);
    for i in 0..n {
        for j in 0..i {
            let sign = |values: &[f64]| {
                let difference = values[i] - values[j];
                if difference == 0.0 {
                    0.0
                } else {
                    difference.signum()
                }
            };
            let (x, y) = (sign(first), sign(second));
            balance += x * y;
            untied_first += x * x;
            untied_second += y * y;
        }
    }
    let product: f64 = untied_first * untied_second;
    (product > 0.0).then(|| balance / product.sqrt())
}
