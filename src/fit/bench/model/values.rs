//! The parameters as the search sees them, and as the document states them.

use super::BenchModel;
use crate::fit::bench::estimates::Estimates;
use crate::fit::bench::roles::Role;
use crate::fit::parameter::ParameterName;
use crate::thermal::WarmUp;

impl BenchModel<'_> {
    /// A value as the search sees it.
    #[inline]
    pub(super) fn inward(&self, name: ParameterName, natural: f64) -> f64 {
        match name {
            ParameterName::ActivationEnergy => natural / self.thermal_energy_j_per_mol,
            ParameterName::FlowActivationEnergy => natural / self.flow_thermal_energy_j_per_mol,
            ParameterName::FlowIndexPlateau => 1.0 - natural,
            _ => name.scale(self.shape.errors).of(natural),
        }
    }

    /// A value as the document states it.
    #[inline]
    fn outward(&self, name: ParameterName, inner: f64) -> f64 {
        match name {
            ParameterName::ActivationEnergy => inner * self.thermal_energy_j_per_mol,
            ParameterName::FlowActivationEnergy => inner * self.flow_thermal_energy_j_per_mol,
            ParameterName::FlowIndexPlateau => 1.0 - inner,
            _ => name.scale(self.shape.errors).back(inner),
        }
    }

    /// All values at a point.
    #[must_use]
    #[inline]
    pub fn estimates(&self, search: &[f64], linear: &[f64]) -> Estimates {
        let mut found = Estimates::neutral();
        for name in ParameterName::ALL {
            let value = match self.roles[name.index()] {
                Role::Absent => continue,
                Role::Held => self.held_value(name),
                Role::Projected(j) if j > 0 && self.lean.is_some() => {
                    self.outward(name, linear[0] + linear[j])
                }
                Role::Projected(j) => self.outward(name, linear[j]),
                Role::Searched(j) => self.outward(name, search[j]),
            };
            found = found.with(name, value);
        }
        found
    }

    #[inline]
    fn held_value(&self, name: ParameterName) -> f64 {
        if let Some(value) = self.shape.held.get(name) {
            return value;
        }
        match (name, &self.shape.warm_up) {
            (
                ParameterName::WarmUp,
                WarmUp::Lag {
                    time_constant_s, ..
                },
            ) => *time_constant_s,
            _ => Estimates::neutral().get(name),
        }
    }

    /// Searched and linear parameters that stand for the given values.
    #[must_use]
    pub fn point(&self, values: &Estimates) -> (Vec<f64>, Vec<f64>) {
        let mut search = vec![0.0; self.search_count];
        let mut linear = vec![0.0; self.linear_count];
        for name in ParameterName::ALL {
            let inner = self.inward(name, values.get(name));
            match self.roles[name.index()] {
                Role::Projected(j) => linear[j] = inner,
                Role::Searched(j) => search[j] = inner,
                Role::Held | Role::Absent => {}
            }
        }
        if self.lean.is_some()
            && let [initial, plateau] = linear.as_mut_slice()
        {
            *plateau -= *initial;
        }
        (search, linear)
    }

    /// A searched or held value as the search sees it.
    #[inline]
    pub(super) fn inner(&self, name: ParameterName, search: &[f64]) -> f64 {
        match self.roles[name.index()] {
            Role::Searched(slot) => search[slot],
            _ => self.inward(name, self.held_value(name)),
        }
    }
}
