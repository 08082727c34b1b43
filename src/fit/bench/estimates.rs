//! Values by parameter.

use crate::fit::parameter::ParameterName;

/// Estimates by parameter, natural scale; what a shape does not have is at its neutral value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimates([f64; ParameterName::COUNT]);

impl Estimates {
    /// Neutral values: order 1, no lag, no thinning, no yield stress, no temperature of reading, no gel point within
    /// reach.
    #[must_use]
    pub fn neutral() -> Self {
        let mut values = [f64::NAN; ParameterName::COUNT];
        values[ParameterName::Order.index()] = 1.0;
        values[ParameterName::DoseLag.index()] = 0.0;
        values[ParameterName::FlowIndexPlateau.index()] = 1.0;
        values[ParameterName::FlowActivationEnergy.index()] = 0.0;
        values[ParameterName::YieldSharePlateau.index()] = 0.0;
        Self(values)
    }

    /// The value of a parameter.
    #[must_use]
    pub fn get(&self, name: ParameterName) -> f64 {
        self.0[name.index()]
    }

    /// The same with another value.
    #[must_use]
    pub fn with(mut self, name: ParameterName, value: f64) -> Self {
        self.0[name.index()] = value;
        self
    }
}
