//! The lean path: which benches it serves, and its derivatives by every free parameter.

use super::BenchModel;
use crate::fit::bench::roles::Role;
use crate::fit::bench::shape::{ErrorModel, Shape};
use crate::fit::parameter::ParameterName;
use crate::kinetics::FirmnessLaw;

/// Whether the lean path serves: first order, no lag, a straight line in the conversion with both
/// ends solved for, and no row beside the readings.
pub(super) fn allows_lean_path(shape: &Shape, roles: &[Role; ParameterName::COUNT]) -> bool {
    let straight = matches!(
        (shape.law, shape.errors),
        (FirmnessLaw::Log, ErrorModel::Relative)
            | (
                FirmnessLaw::Linear,
                ErrorModel::Absolute | ErrorModel::Given
            )
    );
    let role = |name: ParameterName| roles[name.index()];
    let solved = role(ParameterName::Initial) == Role::Projected(0)
        && role(ParameterName::Plateau) == Role::Projected(1);
    let plain = [
        ParameterName::Order,
        ParameterName::DoseLag,
        ParameterName::WarmUp,
        ParameterName::FlowIndexPlateau,
        ParameterName::FlowActivationEnergy,
        ParameterName::YieldSharePlateau,
    ]
    .into_iter()
    .all(|name| role(name) == Role::Absent);
    let even = !shape.warm_up.is_declared();
    straight && solved && plain && even && shape.priors.is_empty()
}

impl BenchModel<'_> {
    /// [`BenchModel::full_derivatives`] on the lean path, whose linear parameters are the response
    /// at the start and its rise from there to the plateau.
    pub(super) fn lean_derivatives(
        &mut self,
        search: &[f64],
        linear: &[f64],
    ) -> (Vec<f64>, Vec<f64>) {
        let ln_rate = self.inner(ParameterName::RateRef, search);
        let energy_ratio = self.inner(ParameterName::ActivationEnergy, search);
        let (free, rows) = (self.free(), self.rows.len());
        let mut jacobian = vec![0.0; rows * free.len()];
        let Some(lean) = &mut self.lean else {
            return (jacobian, Vec::new());
        };
        let (initial, rise) = (linear[0], linear[1]);
        lean.compute(ln_rate, energy_ratio);
        for (name, column) in free.iter().zip(jacobian.chunks_exact_mut(rows.max(1))) {
            match name {
                ParameterName::Initial => lean.write_unset(&self.weights, column),
                ParameterName::Plateau => lean.write_fractions(&self.weights, column),
                ParameterName::RateRef => lean.write_by_rate(rise, &self.weights, column),
                _ => {
                    let rise_per_energy = rise / self.thermal_energy_j_per_mol;
                    lean.write_by_rate(rise_per_energy, &self.weights, column);
                    lean.scale_by_energy(column);
                }
            }
        }
        let cells = lean.unset().iter().zip(&self.weights);
        let residuals = cells
            .zip(&self.weighted_response)
            .map(|((u, weight), y)| weight * (initial + rise * (1.0 - u)) - y)
            .collect();
        (jacobian, residuals)
    }
}
