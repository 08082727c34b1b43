//! What the engine asks of a problem.

use super::vector::dot;

/// A sum of squares to be made least.
///
/// Residuals are model less reading, each divided by its standard deviation where weights are
/// wanted. The engine passes `&mut self`, so that a problem may keep what it computed for the
/// residuals and use it again for the derivatives at the same point.
pub trait LeastSquaresProblem {
    /// Number of residuals, priors included.
    fn residual_count(&self) -> usize;

    /// Number of parameters that are searched.
    fn parameter_count(&self) -> usize;

    /// Writes the residuals at `parameters`; anything not finite marks the point as out of reach.
    fn residuals(&mut self, parameters: &[f64], residuals: &mut [f64]);

    /// Writes the derivatives at `parameters`, column by column:
    /// `jacobian[j * residual_count + i]` is the derivative of residual i by parameter j.
    ///
    /// Always called at a point whose residuals were asked for just before.
    fn jacobian(&mut self, parameters: &[f64], jacobian: &mut [f64]);

    /// Writes the gradient `J^T r` at the point whose residuals were asked for just before; may
    /// leave anything in `jacobian`.
    fn gradient(
        &mut self,
        parameters: &[f64],
        residuals: &[f64],
        jacobian: &mut [f64],
        gradient: &mut [f64],
    ) {
        self.jacobian(parameters, jacobian);
        let columns = jacobian.chunks_exact(residuals.len().max(1));
        for (slope, column) in gradient.iter_mut().zip(columns) {
            *slope = dot(column, residuals);
        }
    }

    /// Size of the readings, for telling a residual from the rounding of doubles: the norm of the
    /// weighted readings, or 0 where it is not known.
    fn response_norm(&self) -> f64 {
        0.0
    }
}

impl<P: LeastSquaresProblem + ?Sized> LeastSquaresProblem for &mut P {
    fn residual_count(&self) -> usize {
        (**self).residual_count()
    }

    fn parameter_count(&self) -> usize {
        (**self).parameter_count()
    }

    fn residuals(&mut self, parameters: &[f64], residuals: &mut [f64]) {
        (**self).residuals(parameters, residuals);
    }

    fn jacobian(&mut self, parameters: &[f64], jacobian: &mut [f64]) {
        (**self).jacobian(parameters, jacobian);
    }

    fn gradient(
        &mut self,
        parameters: &[f64],
        residuals: &[f64],
        jacobian: &mut [f64],
        gradient: &mut [f64],
    ) {
        (**self).gradient(parameters, residuals, jacobian, gradient);
    }

    fn response_norm(&self) -> f64 {
        (**self).response_norm()
    }
}
