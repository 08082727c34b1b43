//! The linear step: the relative standard deviations that make the likelihood largest.

use super::block::Block;
use super::linear::{Curvature, LinearFit, Setting};

/// Longest step of the logarithm of a standard deviation.
const LONGEST_STEP: f64 = 2.0;

/// Squared length of Newton's step, in standard errors of the logarithms, that is the last one: it
/// leaves an error of its own square.
const LAST_STEP: f64 = 1e-11;

/// Derivative by a logarithm, in units of log-likelihood, that is worth a try of zero.
const WORTH_A_TRY: f64 = 1e-6;

/// Spread that moves readings by a tenth of their scatter or less, squared: zero is tried for it.
const SLIGHT_SQUARE: f64 = 1e-2;

/// Gain of log-likelihood that a standard deviation other than zero must have to count.
pub(super) const WORTHLESS_GAIN: f64 = 1e-9;

/// Most Newton steps, releases from zero included.
const MOST_STEPS: usize = 200;

/// The relative standard deviations of the largest likelihood and the linear fit there.
///
/// Newton's method on the logarithms, each step shortened until the likelihood rises. A logarithm
/// cannot reach a standard deviation of zero, so zero is tried by itself: a component goes there
/// when that is no less likely, and leaves it when the derivative by its square is positive there.
pub(super) fn maximise(
    blocks: &[Block],
    start: &[f64],
    setting: Setting<'_>,
) -> Option<(Vec<f64>, LinearFit)> {
    let mut relative = start.to_vec();
    let mut fit = LinearFit::solve(blocks, &relative, setting)?;
    for _ in 0..MOST_STEPS {
        let curvature = fit.curvature(setting);
        if let Some((reduced, better)) = drop_to_zero(blocks, &relative, &fit, &curvature, setting)
        {
            (relative, fit) = (reduced, better);
            continue;
        }
        let (gradient, hessian) = by_logarithms(&relative, &curvature);
        let direction = ascent(&gradient, &hessian);
        let slope: f64 = direction.iter().zip(&gradient).map(|(d, g)| d * g).sum();
        let after = |length: f64| -> Vec<f64> {
            let steps = relative.iter().zip(&direction);
            steps.map(|(r, d)| r * (length * d).exp()).collect()
        };
        let last = slope <= LAST_STEP;
        let rounding = 1e-13 * fit.log_likelihood.abs();
        let mut length = 1.0;
        let mut moved = None;
        // A last step gains less than the rounding of the likelihood and is taken unasked.
        for _ in 0..if last { 1 } else { 40 } {
            let trial = after(length);
            if let Some(tried) = LinearFit::solve(blocks, &trial, setting)
                && (last
                    || tried.log_likelihood + rounding
                        >= fit.log_likelihood + 1e-4 * length * slope)
            {
                moved = Some((trial, tried));
                break;
            }
            length *= 0.5;
        }
        let ends = last || moved.is_none();
        if let Some((trial, tried)) = moved {
            (relative, fit) = (trial, tried);
        }
        if ends {
            match release(blocks, &relative, &fit, &curvature, setting) {
                Some((released, better)) => (relative, fit) = (released, better),
                None => break,
            }
        }
    }
    Some((relative, fit))
}

/// Tries zero for a component whose likelihood falls with its spread.
fn drop_to_zero(
    blocks: &[Block],
    relative: &[f64],
    fit: &LinearFit,
    curvature: &Curvature,
    setting: Setting<'_>,
) -> Option<(Vec<f64>, LinearFit)> {
    for k in 0..relative.len() {
        let square = relative[k].powi(2);
        let falls = 2.0 * square * curvature.gradient[k] < -WORTH_A_TRY;
        let is_slight = square > 0.0 && square * mean_squared_length(blocks, k) < SLIGHT_SQUARE;
        if falls || is_slight {
            let mut trial = relative.to_vec();
            trial[k] = 0.0;
            if let Some(tried) = LinearFit::solve(blocks, &trial, setting)
                && tried.log_likelihood + WORTHLESS_GAIN >= fit.log_likelihood
            {
                return Some((trial, tried));
            }
        }
    }
    None
}

/// Lets a component at zero go where the likelihood rises with its spread.
fn release(
    blocks: &[Block],
    relative: &[f64],
    fit: &LinearFit,
    curvature: &Curvature,
    setting: Setting<'_>,
) -> Option<(Vec<f64>, LinearFit)> {
    for k in 0..relative.len() {
        let squared_length = mean_squared_length(blocks, k);
        let rise = curvature.gradient[k];
        if relative[k] > 0.0 || squared_length == 0.0 || rise <= 1e-6 * squared_length {
            continue;
        }
        let mut square = 1.0 / squared_length;
        for _ in 0..40 {
            let mut trial = relative.to_vec();
            trial[k] = square.sqrt();
            if let Some(tried) = LinearFit::solve(blocks, &trial, setting)
                && tried.log_likelihood > fit.log_likelihood + WORTHLESS_GAIN
            {
                return Some((trial, tried));
            }
            square *= 0.25;
        }
    }
    None
}

/// Mean over the groups of the squared length of the derivatives by a varying component.
pub(super) fn mean_squared_length(blocks: &[Block], effect: usize) -> f64 {
    let sum: f64 = blocks.iter().map(|b| b.lengths[effect].powi(2)).sum();
    sum / blocks.len().max(1) as f64
}

/// Gradient and Hessian by `ln lambda` from those by `lambda^2`; zero for components at zero.
pub(super) fn by_logarithms(relative: &[f64], curvature: &Curvature) -> (Vec<f64>, Vec<f64>) {
    let n = relative.len();
    let squares: Vec<f64> = relative.iter().map(|r| r * r).collect();
    let gradient: Vec<f64> = (0..n)
        .map(|k| 2.0 * squares[k] * curvature.gradient[k])
        .collect();
    let mut hessian = vec![0.0; n * n];
    for k in 0..n {
        for l in 0..n {
            hessian[k * n + l] = 4.0 * squares[k] * squares[l] * curvature.hessian[k * n + l];
        }
        hessian[k * n + k] += 2.0 * gradient[k];
    }
    (gradient, hessian)
}

/// Newton's direction, the curvature made negative where it is not, and not too long.
fn ascent(gradient: &[f64], hessian: &[f64]) -> Vec<f64> {
    let n = gradient.len();
    let largest = (0..n).fold(0.0_f64, |m, k| m.max(hessian[k * n + k].abs()));
    let mut shift = 0.0;
    for _ in 0..60 {
        let mut matrix: Vec<f64> = hessian.iter().map(|h| -h).collect();
        for k in 0..n {
            // A component at zero takes no part.
            let idle = gradient[k] == 0.0 && hessian[k * n + k] == 0.0;
            matrix[k * n + k] += if idle { 1.0 } else { shift };
        }
        if let Some(direction) = solved_positive(&matrix, gradient) {
            let longest = direction.iter().fold(0.0_f64, |m, d| m.max(d.abs()));
            let ratio = (LONGEST_STEP / longest).min(1.0);
            return direction.iter().map(|d| ratio * d).collect();
        }
        shift = (4.0 * shift).max(1e-3 * largest.max(1e-12));
    }
    gradient.to_vec()
}

/// Solves a positive definite system by Cholesky factors; `None` where it is not positive.
pub(super) fn solved_positive(matrix: &[f64], right: &[f64]) -> Option<Vec<f64>> {
    let n = right.len();
    let mut factor = matrix.to_vec();
    for j in 0..n {
        for i in j..n {
            let mut value = factor[i * n + j];
            for k in 0..j {
                value -= factor[i * n + k] * factor[j * n + k];
            }
            if i == j {
                // Less than this of the diagonal left is rounding.
                if value.is_nan() || value <= 1e-12 * matrix[j * n + j].abs() {
                    return None;
                }
                factor[j * n + j] = value.sqrt();
            } else {
                factor[i * n + j] = value / factor[j * n + j];
            }
        }
    }
    let mut found = right.to_vec();
    for i in 0..n {
        for k in 0..i {
            found[i] -= factor[i * n + k] * found[k];
        }
        found[i] /= factor[i * n + i];
    }
    for i in (0..n).rev() {
        for k in i + 1..n {
            found[i] -= factor[k * n + i] * found[k];
        }
        found[i] /= factor[i * n + i];
    }
    Some(found)
}
