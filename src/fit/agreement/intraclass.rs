//! Readers who give numbers: intraclass correlation.

use super::error::AgreementError;
use crate::fit::f_quantile;
use serde::Serialize;

/// One intraclass correlation.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Intraclass {
    /// Share of the scatter of single judgements that is between the samples.
    pub estimate: f64,
    /// 95 % interval.
    pub interval95: [f64; 2],
}

/// The three questions an intraclass correlation answers, of a single reader's judgement.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct IntraclassSet {
    /// Samples.
    pub samples: usize,
    /// Readers.
    pub readers: usize,
    /// ICC(1,1): every sample has readers of its own.
    pub any_readers: Intraclass,
    /// ICC(2,1): the same readers throughout, drawn from many; their bias counts as disagreement.
    pub agreement: Intraclass,
    /// ICC(3,1): these readers only; a bias between them does not count.
    pub consistency: Intraclass,
    /// Mean square between samples, in the unit of the judgement squared.
    pub mean_square_samples: f64,
    /// Mean square between readers.
    pub mean_square_readers: f64,
    /// Mean square of the rest.
    pub mean_square_rest: f64,
}

/// Intraclass correlations of `judgements[sample][reader]`, complete.
///
/// # Equation
/// ICC(1,1) = (B - W)/[B + (k - 1) W]; ICC(2,1) = (B - E)/[B + (k - 1) E + k (J - E)/n];
/// ICC(3,1) = (B - E)/[B + (k - 1) E]
///
/// | symbol | field | unit |
/// |---|---|---|
/// | B, J, E | `mean_square_samples`, `mean_square_readers`, `mean_square_rest` | unit² |
/// | W | mean square within samples | unit² |
/// | n, k | `samples`, `readers` | 1 |
///
/// # Valid for
/// Normal scatter of equal size. The figure goes with how different the samples are: with samples all
/// alike it is near 0 however well readers agree.
///
/// # Errors
/// Fewer than two samples or readers; rows of different lengths; no scatter at all.
///
/// # Source
/// P. Shrout, J. Fleiss, Psychol. Bull. 86 (1979) 420, doi:10.1037/0033-2909.86.2.420.
///
/// # Example
/// ```
/// use heatset::fit::agreement::intraclass;
/// // Shrout and Fleiss 1979, table 2: six targets, four judges; .17, .29, .71
/// let judgements = [
///     [9.0, 2.0, 5.0, 8.0], [6.0, 1.0, 3.0, 2.0], [8.0, 4.0, 6.0, 8.0],
///     [7.0, 1.0, 2.0, 6.0], [10.0, 5.0, 6.0, 9.0], [6.0, 2.0, 4.0, 7.0],
/// ].map(|row| row.to_vec());
/// let found = intraclass(&judgements)?;
/// approx::assert_abs_diff_eq!(found.any_readers.estimate, 0.17, epsilon = 5e-3);
/// approx::assert_abs_diff_eq!(found.agreement.estimate, 0.29, epsilon = 5e-3);
/// approx::assert_abs_diff_eq!(found.consistency.estimate, 0.71, epsilon = 5e-3);
/// # Ok::<(), heatset::fit::agreement::AgreementError>(())
/// ```
pub fn intraclass(judgements: &[Vec<f64>]) -> Result<IntraclassSet, AgreementError> {
    let samples = judgements.len();
    if samples < 2 {
        return Err(AgreementError::TooFewSamples { samples, needed: 2 });
    }
    let readers = judgements.first().map_or(0, Vec::len);
    if readers < 2 {
        return Err(AgreementError::TooFewReaders { readers });
    }
    if let Some(row) = judgements.iter().find(|row| row.len() != readers) {
        return Err(AgreementError::UnequalLengths {
            first: readers,
            second: row.len(),
        });
    }
    if let Some(place) = judgements.iter().flatten().position(|v| !v.is_finite()) {
        return Err(AgreementError::NotFinite { number: place + 1 });
    }
    let (n, k) = (samples as f64, readers as f64);
    let grand = judgements.iter().flatten().sum::<f64>() / (n * k);
    let of_sample: Vec<f64> = judgements
        .iter()
        .map(|row| row.iter().sum::<f64>() / k)
        .collect();
    let of_reader: Vec<f64> = (0..readers)
        .map(|j| judgements.iter().map(|row| row[j]).sum::<f64>() / n)
        .collect();
    let between = k * of_sample.iter().map(|m| (m - grand).powi(2)).sum::<f64>();
    let between_readers = n * of_reader.iter().map(|m| (m - grand).powi(2)).sum::<f64>();
    let (mut within, mut rest) = (0.0, 0.0);
    for (row, mean) in judgements.iter().zip(&of_sample) {
        for (value, reader) in row.iter().zip(&of_reader) {
            within += (value - mean).powi(2);
            rest += (value - mean - reader + grand).powi(2);
        }
    }
    let b = between / (n - 1.0);
    let w = within / (n * (k - 1.0));
    let j = between_readers / (k - 1.0);
    let e = rest / ((n - 1.0) * (k - 1.0));
    if b <= 0.0 && w <= 0.0 {
        return Err(AgreementError::NoSpread);
    }
    Ok(IntraclassSet {
        samples,
        readers,
        any_readers: one_mean_square(b, w, n - 1.0, n * (k - 1.0), k),
        agreement: agreement(b, j, e, n, k),
        consistency: one_mean_square(b, e, n - 1.0, (n - 1.0) * (k - 1.0), k),
        mean_square_samples: b,
        mean_square_readers: j,
        mean_square_rest: e,
    })
}

/// (B - E)/(B + (k - 1) E) with the limits that the F distribution gives.
fn one_mean_square(b: f64, e: f64, of_b: f64, of_e: f64, k: f64) -> Intraclass {
    let estimate = (b - e) / (b + (k - 1.0) * e);
    let share = |f: f64| (f - 1.0) / (f + k - 1.0);
    let limits = (
        f_quantile(0.975, of_b, of_e),
        f_quantile(0.975, of_e, of_b),
        e > 0.0,
    );
    let interval95 = match limits {
        (Some(lower), Some(upper), true) => [share(b / e / lower), share(b / e * upper)],
        // Without any rest the ratio has no end.
        (_, _, false) => [1.0, 1.0],
        _ => [-1.0 / (k - 1.0), 1.0],
    };
    Intraclass {
        estimate,
        interval95,
    }
}

/// ICC(2,1), its limits by the approximate degrees of freedom of Satterthwaite.
fn agreement(b: f64, j: f64, e: f64, n: f64, k: f64) -> Intraclass {
    let estimate = (b - e) / (b + (k - 1.0) * e + k * (j - e) / n);
    if e <= 0.0 {
        return Intraclass {
            estimate,
            // Without any rest, and readers alike, the ratio has no end.
            interval95: [if j <= 0.0 { 1.0 } else { -1.0 / (k - 1.0) }, 1.0],
        };
    }
    let ratio = j / e;
    let common = n * (1.0 + (k - 1.0) * estimate) - k * estimate;
    let above = (k - 1.0) * (n - 1.0) * (k * estimate * ratio + common).powi(2);
    let below = (n - 1.0) * (k * estimate * ratio).powi(2) + common.powi(2);
    let freedom = above / below;
    let spread = k * j + (k * n - k - n) * e;
    let interval95 = match (
        f_quantile(0.975, n - 1.0, freedom),
        f_quantile(0.975, freedom, n - 1.0),
    ) {
        (Some(down), Some(up)) => [
            n * (b - down * e) / (down * spread + n * b),
            n * (up * b - e) / (spread + n * up * b),
        ],
        _ => [-1.0 / (k - 1.0), 1.0],
    };
    Intraclass {
        estimate,
        interval95,
    }
}
