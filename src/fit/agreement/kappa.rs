//! Two readers of a card of steps: Cohen's kappa, plain and weighted.

use super::error::AgreementError;
use super::{LEVEL_RATIO, NORMAL_975};
use crate::fit::share_interval;
use serde::Serialize;

/// How much two steps that differ still agree.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum KappaWeights {
    /// Not at all.
    Unweighted,
    /// Less by equal amounts for each step apart.
    Linear,
    /// Less by the square of the steps apart.
    Quadratic,
}

impl KappaWeights {
    /// Weight of agreement of two steps on a card of so many, 1 for the same step.
    ///
    /// # Equation
    /// 1 if i = j else 0; 1 - |i - j|/(k - 1); 1 - (i - j)^2/(k - 1)^2.
    ///
    /// # Source
    /// D. Cicchetti, T. Allison, Am. J. EEG Technol. 11 (1971) 101 (linear); J. Fleiss, J. Cohen,
    /// Educ. Psychol. Meas. 33 (1973) 613 (quadratic).
    #[must_use]
    pub fn agreement_ratio(self, first_step: usize, second_step: usize, steps: usize) -> f64 {
        let apart = first_step.abs_diff(second_step) as f64;
        let widest = (steps.saturating_sub(1)).max(1) as f64;
        match self {
            Self::Unweighted => f64::from(u8::from(first_step == second_step)),
            Self::Linear => 1.0 - apart / widest,
            Self::Quadratic => 1.0 - (apart / widest) * (apart / widest),
        }
    }
}

/// Agreement beyond chance of two readers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Kappa {
    /// Weights.
    pub weights: KappaWeights,
    /// Samples that both judged.
    pub samples: usize,
    /// Weighted share of agreement that was seen.
    pub observed_ratio: f64,
    /// That which chance alone would give, each reader keeping to his own shares of steps.
    pub chance_ratio: f64,
    /// Kappa: 1 for full agreement, 0 for chance.
    pub estimate: f64,
    /// Its standard error.
    pub std_error: f64,
    /// Standard error if there were no agreement beyond chance.
    pub std_error_without_agreement: f64,
    /// 95 % interval, of the normal distribution.
    pub interval95: [f64; 2],
    /// Samples given exactly the same step.
    pub same_step: usize,
    /// Samples given steps at most one apart.
    pub within_one_step: usize,
    /// 95 % interval of the share given exactly the same step.
    pub same_step_ratio_interval95: [f64; 2],
}

/// Cohen's kappa of two readers of the same samples, steps counting from 0.
///
/// # Equation
/// kappa = (p_o - p_e)/(1 - p_e), p_o = sum w_ij p_ij, p_e = sum w_ij p_i. p_.j
///
/// var = { sum p_ij [w_ij (1 - p_e) - (w_i. + w_.j)(1 - p_o)]^2 - (p_o p_e - 2 p_e + p_o)^2 }
/// / [n (1 - p_e)^4], w_i. = sum_j w_ij p_.j, w_.j = sum_i w_ij p_i.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | p_ij | share of samples given step i by the first and j by the second reader | 1 |
/// | w_ij | [`KappaWeights::agreement_ratio`] | 1 |
/// | n | `samples` | 1 |
/// | p_o, p_e | `observed_ratio`, `chance_ratio` | 1 |
///
/// # Valid for
/// Samples judged apart from each other and without knowing the other's step. The interval is that of
/// many samples; with full agreement it has no width, and the share's interval tells more. Kappa
/// goes with how often the steps occur: figures from other samples are not comparable.
///
/// # Errors
/// Lists of different lengths; fewer than two samples; steps off the card; every judgement the same.
///
/// # Source
/// J. Cohen, Psychol. Bull. 70 (1968) 213, doi:10.1037/h0026256; standard errors: J. Fleiss, J. Cohen,
/// B. Everitt, Psychol. Bull. 72 (1969) 323, doi:10.1037/h0028106.
///
/// # Example
/// ```
/// use heatset::fit::agreement::{KappaWeights, kappa};
/// // rows of the table [[0, 4, 1], [0, 8, 0], [0, 1, 5]]: simple kappa 0.4842, its standard error
/// // 0.1380 (printout of SAS, as kept in the tests of statsmodels 0.14)
/// let first = [0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1, 1, 1, 2, 2, 2, 2, 2, 2];
/// let second = [1, 1, 1, 1, 2, 1, 1, 1, 1, 1, 1, 1, 1, 1, 2, 2, 2, 2, 2];
/// let found = kappa(&first, &second, 3, KappaWeights::Unweighted)?;
/// approx::assert_abs_diff_eq!(found.estimate, 0.4842, epsilon = 5e-5);
/// approx::assert_abs_diff_eq!(found.std_error, 0.1380, epsilon = 5e-5);
/// # Ok::<(), heatset::fit::agreement::AgreementError>(())
/// ```
pub fn kappa(
    first: &[usize],
    second: &[usize],
    steps: usize,
    weights: KappaWeights,
) -> Result<Kappa, AgreementError> {
    if first.len() != second.len() {
        return Err(AgreementError::UnequalLengths {
            first: first.len(),
            second: second.len(),
        });
    }
    let samples = first.len();
    if samples < 2 {
        return Err(AgreementError::TooFewSamples { samples, needed: 2 });
    }
    if let Some(step) = first.iter().chain(second).copied().find(|s| *s >= steps) {
        return Err(AgreementError::OutsideCard { step, steps });
    }
    let n = samples as f64;
    let mut joint = vec![vec![0.0; steps]; steps];
    let (mut of_first, mut of_second) = (vec![0.0; steps], vec![0.0; steps]);
    for (&i, &j) in first.iter().zip(second) {
        joint[i][j] += 1.0 / n;
        of_first[i] += 1.0 / n;
        of_second[j] += 1.0 / n;
    }
    let weight = |i: usize, j: usize| weights.agreement_ratio(i, j, steps);
    let mean_first: Vec<f64> = (0..steps)
        .map(|i| (0..steps).map(|j| weight(i, j) * of_second[j]).sum())
        .collect();
    let mean_second: Vec<f64> = (0..steps)
        .map(|j| (0..steps).map(|i| weight(i, j) * of_first[i]).sum())
        .collect();
    let (mut observed, mut chance) = (0.0, 0.0);
    for i in 0..steps {
        for j in 0..steps {
            observed += weight(i, j) * joint[i][j];
            chance += weight(i, j) * of_first[i] * of_second[j];
        }
    }
    let beyond = 1.0 - chance;
    if beyond <= 1e-12 {
        return Err(AgreementError::NoSpread);
    }
    let (mut squares, mut squares_without) = (0.0, 0.0);
    for i in 0..steps {
        for j in 0..steps {
            let both = mean_first[i] + mean_second[j];
            let term = weight(i, j) * beyond - both * (1.0 - observed);
            squares += joint[i][j] * term * term;
            let without = weight(i, j) - both;
            squares_without += of_first[i] * of_second[j] * without * without;
        }
    }
    let centre = observed * chance - 2.0 * chance + observed;
    let variance = (squares - centre * centre) / (n * beyond.powi(4));
    let variance_without = (squares_without - chance * chance) / (n * beyond * beyond);
    let estimate = (observed - chance) / beyond;
    let std_error = variance.max(0.0).sqrt();
    let same_step = first.iter().zip(second).filter(|(a, b)| a == b).count();
    Ok(Kappa {
        weights,
        samples,
        observed_ratio: observed,
        chance_ratio: chance,
        estimate,
        std_error,
        std_error_without_agreement: variance_without.max(0.0).sqrt(),
        interval95: [
            estimate - NORMAL_975 * std_error,
            (estimate + NORMAL_975 * std_error).min(1.0),
        ],
        same_step,
        within_one_step: first
            .iter()
            .zip(second)
            .filter(|(a, b)| a.abs_diff(**b) <= 1)
            .count(),
        same_step_ratio_interval95: share_interval(same_step, samples, LEVEL_RATIO)
            .unwrap_or([0.0, 1.0]),
    })
}
