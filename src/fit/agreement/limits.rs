//! Two readers who give numbers: how far apart two judgements of one sample lie.

use super::error::AgreementError;
use crate::fit::t_quantile;
use serde::Serialize;

/// Bias and limits of agreement of two readers, in the unit of the judgement.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LimitsOfAgreement {
    /// Samples that both judged.
    pub samples: usize,
    /// Mean difference, first less second.
    pub bias: f64,
    /// Its 95 % interval.
    pub bias_interval95: [f64; 2],
    /// Standard deviation of the differences.
    pub difference_sd: f64,
    /// Between these 19 of 20 differences are expected.
    pub limits: [f64; 2],
    /// 95 % interval of the lower limit.
    pub lower_limit_interval95: [f64; 2],
    /// 95 % interval of the upper limit.
    pub upper_limit_interval95: [f64; 2],
}

/// Limits of agreement of two lists of judgements of the same samples.
///
/// # Equation
/// d +- 1.96 s; standard error of d: s/sqrt(n), of a limit: sqrt(3) s/sqrt(n); Student's t with n - 1.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | d | `bias` | that of the judgement |
/// | s | `difference_sd` | that of the judgement |
/// | n | `samples` | 1 |
///
/// # Valid for
/// Differences that are about normal and no larger for large judgements than for small ones. The paper
/// writes 2 for 1.96 in its first example.
///
/// # Errors
/// Lists of different lengths; fewer than three samples; numbers that are not finite.
///
/// # Source
/// J. Bland, D. Altman, Lancet 327 (1986) 307, doi:10.1016/S0140-6736(86)90837-8.
///
/// # Example
/// ```
/// use heatset::fit::agreement::limits_of_agreement;
/// let found = limits_of_agreement(&[1.0, 2.0, 3.0], &[1.5, 2.5, 3.5])?;
/// assert_eq!(found.bias, -0.5);
/// assert_eq!(found.difference_sd, 0.0);
/// # Ok::<(), heatset::fit::agreement::AgreementError>(())
/// ```
pub fn limits_of_agreement(
    first: &[f64],
    second: &[f64],
) -> Result<LimitsOfAgreement, AgreementError> {
    if first.len() != second.len() {
        return Err(AgreementError::UnequalLengths {
            first: first.len(),
            second: second.len(),
        });
    }
    let samples = first.len();
    if samples < 3 {
        return Err(AgreementError::TooFewSamples { samples, needed: 3 });
    }
    let differences: Vec<f64> = first.iter().zip(second).map(|(a, b)| a - b).collect();
    if let Some(place) = differences.iter().position(|d| !d.is_finite()) {
        return Err(AgreementError::NotFinite { number: place + 1 });
    }
    let n = samples as f64;
    let bias = differences.iter().sum::<f64>() / n;
    let squares: f64 = differences.iter().map(|d| (d - bias).powi(2)).sum();
    let sd = (squares / (n - 1.0)).sqrt();
    let t = t_quantile(0.975, samples - 1).unwrap_or(f64::INFINITY);
    let around = |centre: f64, error: f64| [centre - t * error, centre + t * error];
    let limits = [bias - super::NORMAL_975 * sd, bias + super::NORMAL_975 * sd];
    let of_limit = 3.0_f64.sqrt() * sd / n.sqrt();
    Ok(LimitsOfAgreement {
        samples,
        bias,
        bias_interval95: around(bias, sd / n.sqrt()),
        difference_sd: sd,
        limits,
        lower_limit_interval95: around(limits[0], of_limit),
        upper_limit_interval95: around(limits[1], of_limit),
    })
}
