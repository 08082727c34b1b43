//! Variable projection: parameters that enter linearly are solved for, not searched.

use super::problem::LeastSquaresProblem;
use super::vector::{add_scaled, dot, norm};

/// Most parameters that may enter linearly.
pub const MAX_LINEAR: usize = 3;

/// A model `y = offset(alpha) + sum_j c_j phi_j(alpha)` with few linear parameters `c`.
pub trait SeparableModel {
    /// Number of rows.
    fn row_count(&self) -> usize;
    /// Number of linear parameters, at most [`MAX_LINEAR`].
    fn linear_count(&self) -> usize;
    /// Number of searched parameters.
    fn search_count(&self) -> usize;
    /// Writes the weighted readings less the offset into `target`, and the weighted functions
    /// into `basis`, column by column.
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
        }
    }

    /// The model inside.
    pub fn model(&self) -> &M {
        &self.model
    }

    /// The model inside, to be changed.
    pub fn model_mut(&mut self) -> &mut M {
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

    /// Orthonormal columns by Gram-Schmidt, done again for a column that lost more than half of
    /// itself: twice is enough, to rounding (L. Giraud, J. Langou, M. Rozložník, Numer. Math. 101
    /// (2005) 87).
    fn orthonormalise(&mut self) {
        let rows = self.target.len();
        let count = self.model.linear_count();
        self.full_rank = true;
        for j in 0..count {
            let (before, rest) = self.orthonormal.split_at_mut(j * rows);
            let column = &mut rest[..rows];
            let length_before = norm(column);
            let mut coefficients = [0.0; MAX_LINEAR];
            let mut length = length_before;
            for _ in 0..2 {
                let shorter = length;
                for (coefficient, other) in coefficients
                    .iter_mut()
                    .zip(before.chunks_exact(rows.max(1)))
                {
                    let share = dot(other, column);
                    *coefficient += share;
                    add_scaled(column, -share, other);
                }
                if j > 0 {
                    length = norm(column);
                }
                if length > 0.7 * shorter {
                    break;
                }
            }
            if length <= 1e-13 * length_before || !length.is_finite() {
                self.full_rank = false;
                return;
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
        self.model
            .basis(parameters, &mut self.target, &mut self.orthonormal);
        self.orthonormalise();
        if !self.full_rank {
            residuals.fill(f64::NAN);
            return;
        }
        let rows = self.target.len();
        let count = self.model.linear_count();
        for (r, t) in residuals.iter_mut().zip(&self.target) {
            *r = -t;
        }
        let mut shares = [0.0; MAX_LINEAR];
        for (share, column) in shares
            .iter_mut()
            .zip(self.orthonormal.chunks_exact(rows.max(1)))
        {
            let part = -dot(column, residuals);
            *share += part;
            add_scaled(residuals, part, column);
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
        for column in jacobian.chunks_exact_mut(rows) {
            for other in self.orthonormal.chunks_exact(rows) {
                let share = dot(other, column);
                add_scaled(column, -share, other);
            }
        }
    }

    fn response_norm(&self) -> f64 {
        self.model.response_norm()
    }
}
