//! Derivatives by every free parameter on the document's scales, once the search has ended.

use super::BenchModel;
use crate::fit::bench::conversions::TIMING;
use crate::fit::least_squares::SeparableModel;
use crate::fit::parameter::ParameterName;

impl BenchModel<'_> {
    /// Weighted derivatives of the model by every free parameter on the document's scales, column
    /// by column, and the weighted residuals; priors are the last rows of both.
    pub fn full_derivatives(&mut self, search: &[f64], linear: &[f64]) -> (Vec<f64>, Vec<f64>) {
        if self.lean.is_some() {
            return self.lean_derivatives(search, linear);
        }
        let values = self.estimates(search, linear);
        self.conversions.compute(self.rows, &self.timing(&values));
        let ends = self.ends(&values);
        let free = self.free();
        let (rows, total) = (self.rows.len(), self.row_count());
        let mut residuals = vec![0.0; total];
        let mut jacobian = vec![0.0; total * free.len()];
        for row in 0..rows {
            let weight = self.weights[row];
            let r = self.row_response(row, &ends);
            residuals[row] = r.value * weight - self.weighted_response[row];
            for (column, name) in free.iter().enumerate() {
                let part = match name {
                    ParameterName::Initial => r.by_initial,
                    ParameterName::Plateau => r.by_plateau,
                    ParameterName::GelConversion => r.by_gel_conversion,
                    ParameterName::GelExponent => r.by_gel_exponent,
                    ParameterName::FlowIndexPlateau => -r.by_thinning,
                    ParameterName::YieldSharePlateau => r.by_yield_share,
                    ParameterName::FlowActivationEnergy => {
                        r.by_flow_energy / self.flow_thermal_energy_j_per_mol
                    }
                    ParameterName::ActivationEnergy => {
                        r.by_conversion * self.conversions.by[1][row]
                            / self.thermal_energy_j_per_mol
                    }
                    timing => TIMING
                        .iter()
                        .position(|t| t == timing)
                        .map_or(0.0, |t| r.by_conversion * self.conversions.by[t][row]),
                };
                jacobian[column * total + row] = weight * part;
            }
        }
        for (place, prior) in self.shape.priors.iter().enumerate() {
            let scale = prior.name.scale(self.shape.errors);
            let (target, _) = prior.on(scale);
            let weight = self.prior_weights[place];
            residuals[rows + place] = weight * (scale.of(values.get(prior.name)) - target);
            if let Some(column) = free.iter().position(|name| *name == prior.name) {
                jacobian[column * total + rows + place] = weight;
            }
        }
        (jacobian, residuals)
    }
}
