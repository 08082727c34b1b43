//! How the warm-up of a bench or of an answer is declared.

use super::isothermal::Isothermal;
use super::lag::WarmUpLag;
use super::temperature_history::{HeatDose, TemperatureHistory};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// What cannot be a warm-up.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum ThermalError {
    /// A time constant that is no positive time.
    #[error(
        "a warm-up of {time_constant_s} s is no time constant; give the time in which the gel covers 63 % of the way to the block's temperature, for instance 40s, or none"
    )]
    TimeConstant {
        /// The refused value, in s.
        time_constant_s: f64,
    },
    /// A start temperature that is none.
    #[error("a start temperature of {start_kelvin} K is below absolute zero or not a number")]
    StartTemperature {
        /// The refused value, in K.
        start_kelvin: f64,
    },
}

/// Warm-up of the gel in the block: none, or a first-order lag.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, Default)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum WarmUp {
    /// The gel is at the set temperature from the first moment.
    #[default]
    None,
    /// The gel follows the block with one time constant.
    Lag {
        /// Time constant, in s.
        time_constant_s: f64,
        /// Temperature of the gel at insertion, in K.
        start_temp_k: f64,
    },
}

impl WarmUp {
    /// A first-order lag, checked.
    ///
    /// # Errors
    /// A time constant that is not positive and finite; a start temperature not above 0 K.
    pub fn lag(time_constant_s: f64, start_kelvin: f64) -> Result<Self, ThermalError> {
        if !(time_constant_s.is_finite() && time_constant_s > 0.0) {
            return Err(ThermalError::TimeConstant { time_constant_s });
        }
        if !(start_kelvin.is_finite() && start_kelvin > 0.0) {
            return Err(ThermalError::StartTemperature { start_kelvin });
        }
        Ok(Self::Lag { time_constant_s, start_temp_k: start_kelvin })
    }

    /// Whether a warm-up is declared.
    #[must_use]
    pub fn is_declared(self) -> bool {
        self != Self::None
    }
}

impl WarmUp {
    /// Asks the history that this warm-up stands for.
    fn ask<Answer>(self, question: impl FnOnce(&dyn TemperatureHistory) -> Answer) -> Answer {
        match self {
            Self::None => question(&Isothermal),
            Self::Lag { time_constant_s, start_temp_k } => {
                question(&WarmUpLag { time_constant_s, start_kelvin: start_temp_k })
            }
        }
    }
}

impl TemperatureHistory for WarmUp {
    fn temperature_kelvin(&self, set_kelvin: f64, clock_time_s: f64) -> f64 {
        self.ask(|history| history.temperature_kelvin(set_kelvin, clock_time_s))
    }

    fn heat_dose(
        &self,
        set_kelvin: f64,
        clock_time_s: f64,
        activation_energy_j_per_mol: f64,
        reference_kelvin: f64,
    ) -> HeatDose {
        self.ask(|history| {
            history.heat_dose(
                set_kelvin,
                clock_time_s,
                activation_energy_j_per_mol,
                reference_kelvin,
            )
        })
    }

    fn clock_time_for_dose_s(
        &self,
        set_kelvin: f64,
        dose_s: f64,
        activation_energy_j_per_mol: f64,
        reference_kelvin: f64,
    ) -> f64 {
        self.ask(|history| {
            history.clock_time_for_dose_s(
                set_kelvin,
                dose_s,
                activation_energy_j_per_mol,
                reference_kelvin,
            )
        })
    }
}
