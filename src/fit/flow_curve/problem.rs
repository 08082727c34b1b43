//! The sum of squares of one law over one table.

use super::model::{CurveModel, ShearErrors};
use crate::fit::least_squares::LeastSquaresProblem;
use crate::flow::ShearPoint;

/// Residuals of a law.
pub(super) struct CurveProblem<'a> {
    pub model: CurveModel,
    pub errors: ShearErrors,
    pub floor_pa_s: f64,
    pub points: &'a [ShearPoint],
}

impl CurveProblem<'_> {
    fn residual(&self, stress: f64, measured: f64) -> f64 {
        match self.errors {
            ShearErrors::Relative => (stress - measured) / measured,
            ShearErrors::Log => (stress / measured).ln(),
            ShearErrors::Absolute => stress - measured,
        }
    }

    /// d residual/d stress
    fn weight(&self, stress: f64, measured: f64) -> f64 {
        match self.errors {
            ShearErrors::Relative => 1.0 / measured,
            ShearErrors::Log => 1.0 / stress,
            ShearErrors::Absolute => 1.0,
        }
    }
}

impl LeastSquaresProblem for CurveProblem<'_> {
    fn residual_count(&self) -> usize {
        self.points.len()
    }

    fn parameter_count(&self) -> usize {
        self.model.parameter_count()
    }

    fn residuals(&mut self, parameters: &[f64], residuals: &mut [f64]) {
        let mut slopes = [0.0; 4];
        for (residual, point) in residuals.iter_mut().zip(self.points) {
            let stress = self.model.stress(
                parameters,
                self.floor_pa_s,
                point.shear_rate_per_s,
                &mut slopes,
            );
            *residual = self.residual(stress, point.shear_stress_pa);
        }
    }

    fn jacobian(&mut self, parameters: &[f64], jacobian: &mut [f64]) {
        let rows = self.points.len();
        let mut slopes = [0.0; 4];
        for (row, point) in self.points.iter().enumerate() {
            let stress = self.model.stress(
                parameters,
                self.floor_pa_s,
                point.shear_rate_per_s,
                &mut slopes,
            );
            let weight = self.weight(stress, point.shear_stress_pa);
            for (column, slope) in jacobian.chunks_exact_mut(rows.max(1)).zip(slopes) {
                if let Some(cell) = column.get_mut(row) {
                    *cell = weight * slope;
                }
            }
        }
    }

    fn response_norm(&self) -> f64 {
        let rows = self.points.len() as f64;
        match self.errors {
            ShearErrors::Relative => rows.sqrt(),
            ShearErrors::Log => 0.0,
            ShearErrors::Absolute => self
                .points
                .iter()
                .map(|point| point.shear_stress_pa * point.shear_stress_pa)
                .sum::<f64>()
                .sqrt(),
        }
    }
}
