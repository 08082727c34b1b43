//! Robust losses: rows that lie far off count less, and are named.

use super::bench::{BenchFit, BenchModel, BenchRows, Shape, fit_bench, fit_problem};
use super::least_squares::Projection;
use serde::{Deserialize, Serialize};
use statrs::function::gamma::ln_gamma;

/// Loss by which residuals count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, Default)]
#[serde(rename_all = "kebab-case")]
pub enum RobustLoss {
    /// Squares.
    #[default]
    None,
    /// Squares near the curve, straight lines further off (Huber).
    Huber,
    /// Squares near the curve, nothing far off (Tukey's biweight).
    Tukey,
    /// The logarithm of a Student t density with four degrees of freedom.
    Student,
}

/// Residuals over their scale at which each loss keeps 95 % efficiency for normal scatter.
const HUBER_CORNER: f64 = 1.345;
const TUKEY_CORNER: f64 = 4.685;
/// Degrees of freedom of the Student loss.
const STUDENT_FREEDOM: f64 = 4.0;
/// Median absolute deviation of a normal distribution of sd 1.
const NORMAL_MAD: f64 = 0.674_489_750_196_081_7;
/// Rows with less weight than this are named.
const NAMED_WEIGHT: f64 = 0.5;

impl RobustLoss {
    /// Weight of a residual over its scale, 1 near zero.
    ///
    /// # Source
    /// P. Huber, E. Ronchetti, Robust Statistics, 2nd ed. 2009, sections 4.5 and 7.8; K. Lange,
    /// R. Little, J. Taylor, J. Am. Stat. Assoc. 84 (1989) 881 for the Student loss.
    #[must_use]
    pub fn weight(self, residual_ratio: f64) -> f64 {
        let r = residual_ratio.abs();
        match self {
            Self::None => 1.0,
            Self::Huber => {
                if r <= HUBER_CORNER {
                    1.0
                } else {
                    HUBER_CORNER / r
                }
            }
            Self::Tukey => {
                let share = r / TUKEY_CORNER;
                if share >= 1.0 {
                    0.0
                } else {
                    (1.0 - share * share).powi(2)
                }
            }
            // (nu + 1)/(nu + r^2), divided by its value at zero.
            Self::Student => STUDENT_FREEDOM / (STUDENT_FREEDOM + r * r),
        }
    }

    /// Loss of a residual over its scale: half its square near zero.
    fn loss(self, residual_ratio: f64) -> f64 {
        let r = residual_ratio.abs();
        match self {
            Self::None => 0.5 * r * r,
            Self::Huber => {
                if r <= HUBER_CORNER {
                    0.5 * r * r
                } else {
                    HUBER_CORNER * (r - 0.5 * HUBER_CORNER)
                }
            }
            Self::Tukey => {
                let share = (r / TUKEY_CORNER).min(1.0);
                TUKEY_CORNER * TUKEY_CORNER / 6.0 * (1.0 - (1.0 - share * share).powi(3))
            }
            Self::Student => 0.5 * (STUDENT_FREEDOM + 1.0) * (r * r / STUDENT_FREEDOM).ln_1p(),
        }
    }

    /// Slope of `weight(r) r`.
    fn influence_slope(self, residual_ratio: f64) -> f64 {
        let r = residual_ratio.abs();
        match self {
            Self::None => 1.0,
            Self::Huber => f64::from(u8::from(r <= HUBER_CORNER)),
            Self::Tukey => {
                let square = (r / TUKEY_CORNER).powi(2);
                if square >= 1.0 {
                    0.0
                } else {
                    (1.0 - square) * (1.0 - 5.0 * square)
                }
            }
            Self::Student => {
                STUDENT_FREEDOM * (STUDENT_FREEDOM - r * r) / (STUDENT_FREEDOM + r * r).powi(2)
            }
        }
    }
}

/// A fit with its robust weights.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct RobustFit {
    /// Fit; its residuals and derivatives are unweighted again, its covariance is that of the loss.
    pub(super) fit: BenchFit,
    /// Scale of the residuals, by their median absolute deviation.
    pub(super) scale: f64,
    /// Log-likelihood that the loss stands for.
    pub(super) log_likelihood: f64,
    /// Rows of the bench table with little weight, counted from 1.
    pub(super) downweighted: Vec<usize>,
}

/// Fits by iteratively reweighted least squares, the scale by the median absolute deviation.
///
/// The covariance is that of an M-estimator,
/// `K^2 s^2 [sum psi^2/(n-p)]/[mean psi']^2 (J^T J)^-1`, `K = 1 + (p/n) var(psi')/[mean psi']^2`.
///
/// # Source
/// P. Holland, R. Welsch, Commun. Stat. A 6 (1977) 813, doi:10.1080/03610927708827533; Huber &
/// Ronchetti 2009, eq. 7.8.
pub(super) fn robust_fit(rows: &BenchRows, shape: &Shape, loss: RobustLoss) -> RobustFit {
    let plain = fit_bench(rows, shape);
    let mut problem = Projection::new(BenchModel::new(rows, shape.clone()));
    // Tukey's weight may hold on to a bad start: it begins where Huber's ends.
    let stages: &[RobustLoss] = match loss {
        RobustLoss::Tukey => &[RobustLoss::Huber, RobustLoss::Tukey],
        RobustLoss::Huber => &[RobustLoss::Huber],
        RobustLoss::Student => &[RobustLoss::Student],
        RobustLoss::None => &[],
    };
    let mut fit = plain;
    let mut scale = residual_scale(&fit.residuals);
    for stage in stages {
        for _ in 0..300 {
            if scale <= 0.0 || !fit.termination.was_successful() {
                break;
            }
            let factors: Vec<f64> = fit
                .residuals
                .iter()
                .map(|r| stage.weight(r / scale).sqrt())
                .collect();
            problem.model_mut().set_weights(&factors);
            let next = fit_problem(&mut problem, rows, Some(&fit.search));
            let residuals = unweighted(&next.residuals, &factors, &mut problem, &next);
            let moved = next
                .free
                .iter()
                .map(|name| {
                    let (new, old) = (next.estimates.get(*name), fit.estimates.get(*name));
                    (new - old).abs() / old.abs().max(f64::MIN_POSITIVE)
                })
                .fold(0.0_f64, f64::max);
            fit = BenchFit { residuals, ..next };
            scale = residual_scale(&fit.residuals);
            if moved < 1e-11 {
                break;
            }
        }
    }
    finish(rows, shape, loss, fit, scale)
}

/// Residuals without their robust weights; where a weight is zero, from the model itself.
fn unweighted(
    residuals: &[f64],
    factors: &[f64],
    problem: &mut Projection<BenchModel<'_>>,
    fit: &BenchFit,
) -> Vec<f64> {
    if factors.iter().all(|f| *f > 1e-150) {
        return residuals.iter().zip(factors).map(|(r, f)| r / f).collect();
    }
    let ones = vec![1.0; factors.len()];
    problem.model_mut().set_weights(&ones);
    let (search, linear) = problem.model().point(&fit.estimates);
    problem.model_mut().full_derivatives(&search, &linear).1[..factors.len()].to_vec()
}

/// Median of the residuals' sizes over that of a normal distribution of sd 1.
fn residual_scale(residuals: &[f64]) -> f64 {
    let mut sizes: Vec<f64> = residuals.iter().map(|r| r.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    let middle = sizes.len() / 2;
    let median = match (
        sizes.len() % 2,
        sizes.get(middle),
        sizes.get(middle.wrapping_sub(1)),
    ) {
        (0, Some(high), Some(low)) => 0.5 * (low + high),
        (_, Some(value), _) => *value,
        _ => return 0.0,
    };
    median / NORMAL_MAD
}

fn finish(
    rows: &BenchRows,
    shape: &Shape,
    loss: RobustLoss,
    fit: BenchFit,
    scale: f64,
) -> RobustFit {
    let mut model = BenchModel::new(rows, shape.clone());
    let (search, linear) = model.point(&fit.estimates);
    let (derivatives, residuals) = model.full_derivatives(&search, &linear);
    let count = rows.len();
    let covariance = super::least_squares::covariance_from_jacobian(
        &derivatives,
        residuals.len(),
        fit.free.len(),
    );
    let ratios: Vec<f64> = residuals[..count].iter().map(|r| r / scale).collect();
    let freedom = (count as f64 - fit.free.len() as f64).max(1.0);
    let squares: f64 = ratios
        .iter()
        .map(|r| (loss.weight(*r) * r).powi(2))
        .sum::<f64>()
        / freedom;
    let slopes: Vec<f64> = ratios.iter().map(|r| loss.influence_slope(*r)).collect();
    let slope = slopes.iter().sum::<f64>() / count as f64;
    let spread = slopes
        .iter()
        .map(|s| (s - slope) * (s - slope))
        .sum::<f64>()
        / count as f64;
    // Huber's correction for few rows (Huber & Ronchetti 2009, eq. 7.83).
    let correction =
        1.0 + fit.free.len() as f64 / count as f64 * spread / (slope * slope).max(1e-6);
    // The document multiplies the covariance by residual_sd^2 = RSS/(n-p); here that variance is
    // the M-estimator's, so the sum of squares is set to it.
    let variance = correction * correction * scale * scale * squares / (slope * slope).max(1e-6);
    let losses: f64 = ratios.iter().map(|r| loss.loss(*r)).sum();
    let n = count as f64;
    let norming = match loss {
        RobustLoss::Student => {
            let nu = STUDENT_FREEDOM;
            n * (ln_gamma(0.5 * (nu + 1.0))
                - ln_gamma(0.5 * nu)
                - 0.5 * (nu * std::f64::consts::PI).ln())
        }
        _ => -0.5 * n * (2.0 * std::f64::consts::PI).ln(),
    };
    let downweighted = ratios
        .iter()
        .enumerate()
        .filter(|(_, r)| loss.weight(**r) < NAMED_WEIGHT)
        .map(|(row, _)| rows.table_rows[row] + 1)
        .collect();
    let plain_derivatives = derivatives
        .chunks_exact(residuals.len().max(1))
        .flat_map(|column| &column[..count])
        .copied()
        .collect();
    RobustFit {
        scale,
        log_likelihood: norming - n * scale.ln() - losses,
        downweighted,
        fit: BenchFit {
            residuals: residuals[..count].to_vec(),
            derivatives: plain_derivatives,
            covariance,
            sum_of_squares: variance * fit.degrees_of_freedom().max(1) as f64,
            ..fit
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Derivative of the loss is weight times residual, and its slope the second derivative.
    #[test]
    fn weights_are_the_slopes_of_their_losses() {
        for loss in [
            RobustLoss::None,
            RobustLoss::Huber,
            RobustLoss::Tukey,
            RobustLoss::Student,
        ] {
            for r in [0.1, 0.9, 1.3, 2.0, 4.0, 6.0] {
                let h = 1e-6;
                let slope = (loss.loss(r + h) - loss.loss(r - h)) / (2.0 * h);
                // The Student weight is divided by its value at zero, (nu + 1)/nu.
                let factor = if loss == RobustLoss::Student {
                    1.25
                } else {
                    1.0
                };
                assert!(
                    (slope - factor * loss.weight(r) * r).abs() < 1e-7,
                    "{loss:?} {r}"
                );
                let psi = |r: f64| loss.weight(r) * r;
                let second = (psi(r + h) - psi(r - h)) / (2.0 * h);
                assert!(
                    (second - loss.influence_slope(r)).abs() < 1e-6,
                    "{loss:?} {r}"
                );
            }
        }
    }

    /// 95 % efficiency for normal scatter, the property that both corners are published for
    /// (Huber & Ronchetti 2009): E[psi']^2/E[psi^2] by plain quadrature over the normal density.
    #[test]
    fn the_corners_keep_95_percent_efficiency() {
        for loss in [RobustLoss::Huber, RobustLoss::Tukey] {
            let (mut squares, mut slopes) = (0.0, 0.0);
            let step = 1e-3;
            for i in -8000..8000 {
                let r = (f64::from(i) + 0.5) * step;
                let density = (-0.5 * r * r).exp() / (2.0 * std::f64::consts::PI).sqrt() * step;
                squares += density * (loss.weight(r) * r).powi(2);
                slopes += density * loss.influence_slope(r);
            }
            assert!((slopes * slopes / squares - 0.95).abs() < 5e-4, "{loss:?}");
        }
    }
}
