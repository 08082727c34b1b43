//! The linear mixed-effects model at the present point, for given relative standard deviations.

use super::block::{Block, Projection, Shape, back_substituted};
use super::model::Likelihood;
use crate::fit::least_squares::PivotedQr;

/// Least diagonal ratio of the triangle of the fixed effects that still tells them apart.
const RANK_TOLERANCE_RATIO: f64 = 1e-13;

/// What stays the same from one set of standard deviations to the next.
#[derive(Debug, Clone, Copy)]
pub(super) struct Setting<'a> {
    pub shape: Shape<'a>,
    /// Readings over all groups.
    pub rows: usize,
    /// Sum of squares of the rounding of the readings: it stands in for scatter where there is none.
    pub rounding_squares: f64,
    pub likelihood: Likelihood,
}

impl Setting<'_> {
    /// Whether a sum of squares is no more than the rounding of readings and model.
    pub fn is_rounding(&self, sum_of_squares: f64) -> bool {
        sum_of_squares <= 64.0 * self.rounding_squares
    }

    /// Readings, less the fixed effects where the likelihood is the restricted one.
    pub fn effective_rows(&self) -> f64 {
        let rows = match self.likelihood {
            Likelihood::Full => self.rows,
            Likelihood::Restricted => self.rows - self.shape.parameters,
        };
        rows as f64
    }
}

/// The linear model solved for given relative standard deviations `lambda_k = sd_k / sigma`.
#[derive(Debug, Clone)]
pub(super) struct LinearFit {
    /// Step of the fixed effects from the present point.
    pub step: Vec<f64>,
    /// Residuals, penalty and rounding together, at the least.
    pub sum_of_squares: f64,
    /// Maximised over the fixed effects and the residual standard deviation.
    pub log_likelihood: f64,
    pub projections: Vec<Projection>,
    /// `(sum X^T V^-1 X)^-1`, row by row.
    pub unscaled: Vec<f64>,
}

/// First and second derivatives of the log-likelihood by `lambda_k^2`.
#[derive(Debug, Clone)]
pub(super) struct Curvature {
    pub gradient: Vec<f64>,
    /// Row by row.
    pub hessian: Vec<f64>,
    /// Derivatives of the sum of squares.
    pub square_gradient: Vec<f64>,
}

impl LinearFit {
    /// Solves by generalised least squares; `None` where the fixed effects cannot be told apart.
    ///
    /// # Equation
    /// `l = -1/2 [N (1 + ln(2 pi s^2)) + sum ln det V_i]`, `s^2 = r^T V^-1 r / N`,
    /// `V_i = I + Z_i Lambda^2 Z_i^T`; the restricted likelihood has N - p for N and adds
    /// `ln det sum X_i^T V_i^-1 X_i` in the brackets.
    ///
    /// # Source
    /// M. Lindstrom, D. Bates, Nonlinear mixed effects models for repeated measures data,
    /// Biometrics 46 (1990) 673, section 4, doi:10.2307/2532087.
    pub fn solve(blocks: &[Block], relative_sds: &[f64], setting: Setting<'_>) -> Option<Self> {
        let shape = setting.shape;
        let parameters = shape.parameters;
        let mut projections = vec![Projection::default(); blocks.len()];
        let mut rest = 0.0;
        let mut log_determinant = 0.0;
        for (block, projection) in blocks.iter().zip(&mut projections) {
            projection.project(block, relative_sds, shape);
            rest += block.rest_squared;
            log_determinant += projection.log_determinant;
        }
        let rows: usize = projections.iter().map(|p| p.kept).sum();
        if rows < parameters {
            return None;
        }
        let mut stacked = Vec::with_capacity(rows * (parameters + 1));
        for column in 0..=parameters {
            for projection in &projections {
                let kept = projection.kept;
                stacked.extend_from_slice(&projection.below[column * kept..(column + 1) * kept]);
            }
        }
        let mut response = stacked.split_off(rows * parameters);
        let mut lengths = Vec::with_capacity(parameters);
        for column in stacked.chunks_exact_mut(rows) {
            let length = column.iter().map(|v| v * v).sum::<f64>().sqrt();
            if length == 0.0 || !length.is_finite() {
                return None;
            }
            for value in column {
                *value /= length;
            }
            lengths.push(length);
        }
        let mut qr = PivotedQr::default();
        qr.factor(&stacked, rows, parameters);
        if qr.smallest_diagonal_ratio() < RANK_TOLERANCE_RATIO {
            return None;
        }
        qr.apply_transpose(&mut response);
        let mut step = back_substituted(&qr, &response);
        for (value, length) in step.iter_mut().zip(&lengths) {
            *value /= length;
        }
        let outside: f64 = response[parameters..].iter().map(|v| v * v).sum();
        let sum_of_squares = rest + outside + setting.rounding_squares;

        let count = setting.effective_rows();
        let variance = sum_of_squares / count;
        let mut bracket =
            count * (1.0 + (2.0 * std::f64::consts::PI * variance).ln()) + log_determinant;
        if setting.likelihood == Likelihood::Restricted {
            bracket += (0..parameters)
                .map(|j| 2.0 * (qr.r(j, j).abs() * lengths[qr.pivots()[j]]).ln())
                .sum::<f64>();
        }
        let log_likelihood = -0.5 * bracket;
        if !log_likelihood.is_finite() || step.iter().any(|v| !v.is_finite()) {
            return None;
        }
        Some(Self {
            step,
            sum_of_squares,
            log_likelihood,
            projections,
            unscaled: inverse_of_products(&qr, &lengths),
        })
    }

    /// Derivatives of the log-likelihood by the squares of the relative standard deviations.
    ///
    /// # Equation
    /// With `g_k` the products of column `z_k` with all columns in the inverse covariance, and
    /// `t_k = z_k^T V^-1 r`: `d V^-1 / d lambda_k^2 = -V^-1 z_k z_k^T V^-1`, so that group by group
    /// `d ln det V = g_kk`, `d2 ln det V = -g_kl^2`, `d rss = -t_k^2`,
    /// `d2 rss = 2 g_kl t_k t_l` less `2 c_k^T (X^T V^-1 X)^-1 c_l`, `c_k = sum g_k t_k`.
    ///
    /// # Source
    /// S. Searle, G. Casella, C. McCulloch, Variance Components, Wiley 1992, chapter 6 (first and
    /// second derivatives of both likelihoods; equation numbers not seen).
    pub fn curvature(&self, setting: Setting<'_>) -> Curvature {
        let shape = setting.shape;
        let (parameters, effects) = (shape.parameters, shape.random.len());
        let count = setting.effective_rows();
        let restricted = setting.likelihood == Likelihood::Restricted;
        let total = self.sum_of_squares;
        let mut log_gradient = vec![0.0; effects];
        let mut log_hessian = vec![0.0; effects * effects];
        let mut square_gradient = vec![0.0; effects];
        let mut square_hessian = vec![0.0; effects * effects];
        let mut crossed = vec![0.0; effects * parameters];
        // Products g_k of every group and random effect, kept for the restricted likelihood.
        let mut products = Vec::new();
        for projection in &self.projections {
            let (own, t) = self.group_products(projection, shape);
            for k in 0..effects {
                let g = &own[k * parameters..(k + 1) * parameters];
                log_gradient[k] += g[shape.random[k]];
                square_gradient[k] -= t[k] * t[k];
                for (target, value) in crossed[k * parameters..].iter_mut().zip(g) {
                    *target += value * t[k];
                }
                for l in 0..effects {
                    let shared = g[shape.random[l]];
                    log_hessian[k * effects + l] -= shared * shared;
                    square_hessian[k * effects + l] += 2.0 * shared * t[k] * t[l];
                    if restricted {
                        let other = &own[l * parameters..(l + 1) * parameters];
                        log_hessian[k * effects + l] += 2.0 * shared * self.product(g, other);
                    }
                }
                if restricted {
                    log_gradient[k] -= self.product(g, g);
                }
            }
            products.push(own);
        }
        for k in 0..effects {
            for l in 0..effects {
                let (ck, cl) = (
                    &crossed[k * parameters..(k + 1) * parameters],
                    &crossed[l * parameters..(l + 1) * parameters],
                );
                square_hessian[k * effects + l] -= 2.0 * self.product(ck, cl);
                if restricted {
                    for one in &products {
                        for other in &products {
                            let value = self.product(
                                &one[k * parameters..(k + 1) * parameters],
                                &other[l * parameters..(l + 1) * parameters],
                            );
                            log_hessian[k * effects + l] -= value * value;
                        }
                    }
                }
            }
        }
        let gradient = (0..effects)
            .map(|k| -0.5 * (count * square_gradient[k] / total + log_gradient[k]))
            .collect();
        let mut hessian = vec![0.0; effects * effects];
        for k in 0..effects {
            for l in 0..effects {
                let place = k * effects + l;
                let ratio = (square_gradient[k] / total) * (square_gradient[l] / total);
                hessian[place] =
                    -0.5 * (count * (square_hessian[place] / total - ratio) + log_hessian[place]);
            }
        }
        Curvature {
            gradient,
            hessian,
            square_gradient,
        }
    }

    /// `z_k^T V^-1 X` and `z_k^T V^-1 r` of one group.
    fn group_products(&self, projection: &Projection, shape: Shape<'_>) -> (Vec<f64>, Vec<f64>) {
        let (parameters, kept) = (shape.parameters, projection.kept);
        let column = |j: usize| &projection.below[j * kept..(j + 1) * kept];
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
        let mut residuals = column(parameters).to_vec();
        for (j, step) in self.step.iter().enumerate() {
            for (target, value) in residuals.iter_mut().zip(column(j)) {
                *target -= step * value;
            }
        }
        let mut products = Vec::with_capacity(shape.random.len() * parameters);
        let mut t = Vec::with_capacity(shape.random.len());
        for &component in shape.random {
            for j in 0..parameters {
                products.push(dot(column(component), column(j)));
            }
            t.push(dot(column(component), &residuals));
        }
        (products, t)
    }

    /// `left^T (X^T V^-1 X)^-1 right`.
    fn product(&self, left: &[f64], right: &[f64]) -> f64 {
        let parameters = left.len();
        left.iter()
            .zip(self.unscaled.chunks_exact(parameters))
            .map(|(l, row)| l * row.iter().zip(right).map(|(u, r)| u * r).sum::<f64>())
            .sum()
    }
}

/// `(X^T X)^-1` from the triangle of `X` with its columns divided by `lengths`.
fn inverse_of_products(qr: &PivotedQr, lengths: &[f64]) -> Vec<f64> {
    let n = lengths.len();
    let mut inverse = vec![0.0; n * n];
    let mut unit = vec![0.0; n];
    for place in 0..n {
        unit.fill(0.0);
        unit[place] = 1.0;
        let column = back_substituted(qr, &unit);
        for a in 0..n {
            for b in 0..n {
                inverse[a * n + b] += (column[a] / lengths[a]) * (column[b] / lengths[b]);
            }
        }
    }
    inverse
}
