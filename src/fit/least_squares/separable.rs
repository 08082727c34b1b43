//! Variable projection: parameters that enter linearly are solved for, not searched.

use super::problem::LeastSquaresProblem;
use super::vector::{add_scaled, dot, in_wide_registers, norm};

/// Most parameters that may enter linearly.
pub const MAX_LINEAR: usize = 4;

/// A model `y = offset(alpha) + sum_j c_j phi_j(alpha)` with few linear parameters `c`.
pub trait SeparableModel {
    /// Number of rows.
    fn row_count(&self) -> usize;
    /// Number of linear parameters, at most [`MAX_LINEAR`].
    fn linear_count(&self) -> usize;
    /// Number of searched parameters.
    fn search_count(&self) -> usize;
    /// Of the linear parameters, how many come first whose functions stay the same whatever is
    /// searched; only where the offset stays the same too.
    fn fixed_count(&self) -> usize {
        0
    }
    /// Writes the weighted readings less the offset, and the fixed functions. Asked for once, until
    /// the model is changed, and only where there are any.
    fn fixed(&mut self, _target: &mut [f64], _basis: &mut [f64]) {}
    /// Writes the weighted readings less the offset into `target`, and the weighted functions
    /// into `basis`, column by column. Where there are fixed functions, `target` is empty and
    /// `basis` holds the others alone.
    fn basis(&mut self, search: &[f64], target: &mut [f64], basis: &mut [f64]);
    /// Writes the weighted derivatives of the model by the searched parameters at the given linear
    /// ones, column by column. Called at the point that [`SeparableModel::basis`] was called at last.
    fn derivatives(&mut self, search: &[f64], linear: &[f64], derivatives: &mut [f64]);
    /// Norm of the weighted readings.
    fn response_norm(&self) -> f64;
}

/// The projected problem: residuals left after the best linear parameters.
///
/// # Equation
/// `r(alpha) = -P(alpha) y`, `P = I - Phi Phi^+`; derivatives after Kaufman,
/// `J_k = P (d Phi / d alpha_k) c`. The part that Kaufman leaves out lies in the span of `Phi`,
/// to which the residuals are orthogonal, so the gradient is exact.
///
/// # Source
/// G. Golub, V. Pereyra, SIAM J. Numer. Anal. 10 (1973) 413, doi:10.1137/0710036;
/// L. Kaufman, BIT 15 (1975) 49, doi:10.1007/BF01932995.
#[derive(Debug, Clone)]
pub struct Projection<M> {
    model: M,
    target: Vec<f64>,
    /// Orthonormal columns that span the model's functions.
    orthonormal: Vec<f64>,
    /// R of `Phi = Q R`, row by row.
    triangle: [[f64; MAX_LINEAR]; MAX_LINEAR],
    linear: [f64; MAX_LINEAR],
    full_rank: bool,
    /// Shares of the fixed functions, and the readings less them with the sign of residuals: kept
    /// until the model is changed.
    fixed_shares: [f64; MAX_LINEAR],
    left: Vec<f64>,
    fixed_is_current: bool,
}

impl<M: SeparableModel> Projection<M> {
    /// Wraps a model.
    pub fn new(model: M) -> Self {
        let (rows, linear) = (model.row_count(), model.linear_count());
        Self {
            model,
            target: vec![0.0; rows],
            orthonormal: vec![0.0; rows * linear],
            triangle: [[0.0; MAX_LINEAR]; MAX_LINEAR],
            linear: [0.0; MAX_LINEAR],
            full_rank: false,
            fixed_shares: [0.0; MAX_LINEAR],
            left: vec![0.0; rows],
            fixed_is_current: false,
        }
    }

    /// The model inside.
    pub fn model(&self) -> &M {
        &self.model
    }

    /// The model inside, to be changed.
    pub fn model_mut(&mut self) -> &mut M {
        self.fixed_is_current = false;
        &mut self.model
    }

    /// The model, given back.
    pub fn into_model(self) -> M {
        self.model
    }

    /// Linear parameters that belong to the residuals asked for last.
    #[must_use]
    pub fn linear(&self) -> &[f64] {
        &self.linear[..self.model.linear_count()]
    }

    /// Takes the fixed functions out of the readings, once for many points.
    fn take_out_fixed(&mut self, fixed: usize) {
        let rows = self.target.len();
        self.model
            .fixed(&mut self.target, &mut self.orthonormal[..fixed * rows]);
        self.full_rank = self.orthonormalise(0, fixed);
        for (left, target) in self.left.iter_mut().zip(&self.target) {
            *left = -target;
        }
        self.fixed_shares = [0.0; MAX_LINEAR];
        let columns = self.orthonormal.chunks_exact(rows.max(1)).take(fixed);
        for (share, column) in self.fixed_shares.iter_mut().zip(columns) {
            let part = -dot(column, &self.left);
            *share = part;
            add_scaled(&mut self.left, part, column);
        }
        self.fixed_is_current = self.full_rank;
    }

    /// Orthonormal columns `first..end` by Gram-Schmidt, those before `first` being so already;
    /// done again for a column that lost nine tenths of itself: twice is enough, to rounding
    /// (L. Giraud, J. Langou, M. Rozložník, Numer. Math. 101 (2005) 87). False where a column
    /// depends on those before it.
    #[inline(always)]
    fn orthonormalise(&mut self, first: usize, end: usize) -> bool {
        let rows = self.target.len();
        for j in first..end {
            let (before, rest) = self.orthonormal.split_at_mut(j * rows);
            let column = &mut rest[..rows];
            let mut coefficients = [0.0; MAX_LINEAR];
            let mut length = 0.0;
            let mut length_before = 0.0;
            for pass in 0..2 {
                let mut removed = 0.0;
                for (coefficient, other) in coefficients
                    .iter_mut()
                    .zip(before.chunks_exact(rows.max(1)))
                {
                    let share = dot(other, column);
                    *coefficient += share;
                    removed += share * share;
                    add_scaled(column, -share, other);
                }
                length = norm(column);
                // What was removed stands at right angles to what is left.
                let whole = (removed + length * length).sqrt();
                if pass == 0 {
                    length_before = whole.max(length);
                }
                if length > 0.1 * whole {
                    break;
                }
            }
            if length <= 1e-13 * length_before || !length.is_finite() {
                return false;
            }
            for (i, coefficient) in coefficients.iter().enumerate().take(j) {
                self.triangle[i][j] = *coefficient;
            }
            self.triangle[j][j] = length;
            let inverse = 1.0 / length;
            for value in column {
                *value *= inverse;
            }
        }
        true
    }

    /// Takes the functions from `first` on out of `residuals`, and writes down their shares; false
    /// where one depends on those before it.
    #[inline(always)]
    fn project(
        &mut self,
        first: usize,
        residuals: &mut [f64],
        shares: &mut [f64; MAX_LINEAR],
    ) -> bool {
        let count = self.model.linear_count();
        if !self.orthonormalise(first, count) {
            return false;
        }
        let rows = self.target.len().max(1);
        let columns = self.orthonormal.chunks_exact(rows);
        for (share, column) in shares.iter_mut().zip(columns).skip(first) {
            let part = -dot(column, residuals);
            *share = part;
            add_scaled(residuals, part, column);
        }
        true
    }
}

impl<M: SeparableModel> LeastSquaresProblem for Projection<M> {
    fn residual_count(&self) -> usize {
        self.model.row_count()
    }

    fn parameter_count(&self) -> usize {
        self.model.search_count()
    }

    fn residuals(&mut self, parameters: &[f64], residuals: &mut [f64]) {
        let rows = self.target.len();
        let count = self.model.linear_count();
        let fixed = self.model.fixed_count();
        let mut shares = [0.0; MAX_LINEAR];
        if fixed == 0 {
            self.model
                .basis(parameters, &mut self.target, &mut self.orthonormal);
            for (r, t) in residuals.iter_mut().zip(&self.target) {
                *r = -t;
            }
        } else {
            if !self.fixed_is_current {
                self.take_out_fixed(fixed);
            }
            self.model
                .basis(parameters, &mut [], &mut self.orthonormal[fixed * rows..]);
            residuals.copy_from_slice(&self.left);
            shares = self.fixed_shares;
        }
        let stands = fixed == 0 || self.fixed_is_current;
        self.full_rank = stands
            && in_wide_registers(
                #[inline(always)]
                || self.project(fixed, residuals, &mut shares),
            );
        if !self.full_rank {
            residuals.fill(f64::NAN);
            return;
        }
        for j in (0..count).rev() {
            let mut value = shares[j];
            for k in j + 1..count {
                value -= self.triangle[j][k] * self.linear[k];
            }
            self.linear[j] = value / self.triangle[j][j];
        }
    }

    fn jacobian(&mut self, parameters: &[f64], jacobian: &mut [f64]) {
        let linear = self.linear;
        let count = self.model.linear_count();
        self.model
            .derivatives(parameters, &linear[..count], jacobian);
        let rows = self.target.len().max(1);
        in_wide_registers(
            #[inline(always)]
            || {
                for column in jacobian.chunks_exact_mut(rows) {
                    for other in self.orthonormal.chunks_exact(rows) {
                        let share = dot(other, column);
                        add_scaled(column, -share, other);
                    }
                }
            },
        );
    }

    /// The residuals stand at right angles to the functions, so the derivatives need no projection.
    fn gradient(
        &mut self,
        parameters: &[f64],
        residuals: &[f64],
        jacobian: &mut [f64],
        gradient: &mut [f64],
    ) {
        let linear = self.linear;
        let count = self.model.linear_count();
        self.model
            .derivatives(parameters, &linear[..count], jacobian);
        let rows = self.target.len().max(1);
        in_wide_registers(
            #[inline(always)]
            || {
                for (slope, column) in gradient.iter_mut().zip(jacobian.chunks_exact(rows)) {
                    *slope = dot(column, residuals);
                }
            },
        );
    }

    fn response_norm(&self) -> f64 {
        self.model.response_norm()
    }
}
