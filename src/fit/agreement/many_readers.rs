//! More than two readers of a card of steps: Fleiss' kappa, plain and weighted.

use super::error::AgreementError;
use super::kappa::KappaWeights;
use crate::fit::t_quantile;
use serde::Serialize;

/// Agreement beyond chance of several readers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ManyReaders {
    /// Weights.
    pub weights: KappaWeights,
    /// Samples that two readers or more judged.
    pub samples: usize,
    /// Weighted share of agreeing pairs of judgements.
    pub observed_ratio: f64,
    /// That which chance alone would give.
    pub chance_ratio: f64,
    /// Kappa: 1 for full agreement, 0 for chance.
    pub estimate: f64,
    /// Its standard error, the readers being these and the samples others.
    pub std_error: f64,
    /// 95 % interval, of Student's t with one degree of freedom less than samples.
    pub interval95: [f64; 2],
}

/// Fleiss' kappa: `counts[sample][step]` is how many readers gave the sample that step.
///
/// # Equation
/// p_o = mean over samples of sum_k r_ik (r*_ik - 1)/[r_i (r_i - 1)], r*_ik = sum_l w_kl r_il;
/// p_e = sum w_kl pi_k pi_l; kappa = (p_o - p_e)/(1 - p_e).
///
/// var = sum (kappa*_i - kappa)^2 / [n (n - 1)], kappa*_i = kappa_i - 2 (1 - kappa)(p_ei - p_e)/(1 - p_e)
///
/// | symbol | field | unit |
/// |---|---|---|
/// | r_ik | `counts[i][k]` | 1 |
/// | r_i | readers of sample i | 1 |
/// | pi_k | mean share of step k | 1 |
/// | n | samples | 1 |
///
/// # Valid for
/// Samples judged apart from each other; readers may differ from sample to sample. The interval
/// holds for these readers, not for others.
///
/// # Errors
/// Fewer than two samples with two readers or more; every judgement the same.
///
/// # Source
/// J. Fleiss, Psychol. Bull. 76 (1971) 378, doi:10.1037/h0031619; weights, missing judgements and the
/// standard error: K. Gwet, Handbook of Inter-Rater Reliability, 4th ed. 2014, chapters 2 and 5.
///
/// # Example
/// ```
/// use heatset::fit::agreement::{KappaWeights, fleiss};
/// // 10 samples, 14 readers, 5 steps: kappa 0.210 (worked example of the encyclopaedia's article on
/// // Fleiss' kappa, as kept in the tests of statsmodels 0.14)
/// let counts = [
///     [0, 0, 0, 0, 14], [0, 2, 6, 4, 2], [0, 0, 3, 5, 6], [0, 3, 9, 2, 0], [2, 2, 8, 1, 1],
///     [7, 7, 0, 0, 0], [3, 2, 6, 3, 0], [2, 5, 3, 2, 2], [6, 5, 2, 1, 0], [0, 2, 2, 3, 7],
/// ].map(|row| row.to_vec());
/// let found = fleiss(&counts, KappaWeights::Unweighted)?;
/// approx::assert_abs_diff_eq!(found.estimate, 0.210, epsilon = 5e-4);
/// # Ok::<(), heatset::fit::agreement::AgreementError>(())
/// ```
pub fn fleiss(counts: &[Vec<usize>], weights: KappaWeights) -> Result<ManyReaders, AgreementError> {
    let steps = counts.iter().map(Vec::len).max().unwrap_or(0);
    let rows: Vec<Vec<f64>> = counts
        .iter()
        .map(|row| {
            (0..steps)
                .map(|k| row.get(k).copied().unwrap_or(0) as f64)
                .collect::<Vec<f64>>()
        })
        .filter(|row: &Vec<f64>| row.iter().sum::<f64>() > 0.0)
        .collect();
    let readers_of = |row: &[f64]| row.iter().sum::<f64>();
    let compared = rows.iter().filter(|row| readers_of(row) >= 2.0).count();
    if compared < 2 {
        return Err(AgreementError::TooFewSamples {
            samples: compared,
            needed: 2,
        });
    }
    let weight = |k: usize, l: usize| weights.agreement_ratio(k, l, steps);
    let agreement = |row: &[f64]| {
        let readers = readers_of(row);
        if readers < 2.0 {
            return 0.0;
        }
        (0..steps)
            .map(|k| {
                let near: f64 = (0..steps).map(|l| weight(k, l) * row[l]).sum();
                row[k] * (near - 1.0)
            })
            .sum::<f64>()
            / (readers * (readers - 1.0))
    };
    let n = rows.len() as f64;
    let n_compared = compared as f64;
    let observed = rows.iter().map(|row| agreement(row)).sum::<f64>() / n_compared;
    let share: Vec<f64> = (0..steps)
        .map(|k| rows.iter().map(|row| row[k] / readers_of(row)).sum::<f64>() / n)
        .collect();
    let near_share: Vec<f64> = (0..steps)
        .map(|k| (0..steps).map(|l| weight(k, l) * share[l]).sum())
        .collect();
    let chance: f64 = share.iter().zip(&near_share).map(|(a, b)| a * b).sum();
    let beyond = 1.0 - chance;
    if beyond <= 1e-12 {
        return Err(AgreementError::NoSpread);
    }
    let estimate = (observed - chance) / beyond;
    let squares: f64 = rows
        .iter()
        .map(|row| {
            let readers = readers_of(row);
            let chance_here = if readers >= 2.0 { chance } else { 0.0 };
            let own = (n / n_compared) * (agreement(row) - chance_here) / beyond;
            let by_steps: f64 = near_share
                .iter()
                .zip(row)
                .map(|(near, count)| near * count / readers)
                .sum();
            let linear = own - 2.0 * (1.0 - estimate) * (by_steps - chance) / beyond;
            (linear - estimate).powi(2)
        })
        .sum();
    let std_error = (squares / (n * (n - 1.0))).sqrt();
    let t = t_quantile(0.975, rows.len() - 1).unwrap_or(f64::INFINITY);
    Ok(ManyReaders {
        weights,
        samples: compared,
        observed_ratio: observed,
        chance_ratio: chance,
        estimate,
        std_error,
        interval95: [
            estimate - t * std_error,
            (estimate + t * std_error).min(1.0),
        ],
    })
}
