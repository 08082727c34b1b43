//! How the warm-up of a bench or of an answer is declared.

use super::dose_clock::DoseClock;
use super::isothermal::Isothermal;
use super::lag::WarmUpLag;
use super::temperature_history::TemperatureHistory;
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
        Ok(Self::Lag {
            time_constant_s,
            start_temp_k: start_kelvin,
        })
    }

    /// The lag, where there is one.
    #[must_use]
    pub fn as_lag(self) -> Option<WarmUpLag> {
        match self {
            Self::None => None,
            Self::Lag {
                time_constant_s,
                start_temp_k,
            } => Some(WarmUpLag {
                time_constant_s,
                start_kelvin: start_temp_k,
            }),
        }
    }

    /// Whether a warm-up is declared.
    #[must_use]
    pub fn is_declared(self) -> bool {
        self != Self::None
    }
}

impl TemperatureHistory for WarmUp {
    fn temperature_kelvin(&self, set_kelvin: f64, clock_time_s: f64) -> f64 {
        match self.as_lag() {
            None => Isothermal.temperature_kelvin(set_kelvin, clock_time_s),
            Some(lag) => lag.temperature_kelvin(set_kelvin, clock_time_s),
        }
    }

    fn dose_clock(
        &self,
        set_kelvin: f64,
        activation_energy_j_per_mol: f64,
        reference_kelvin: f64,
    ) -> DoseClock {
        DoseClock::new(
            self.as_lag(),
            set_kelvin,
            activation_energy_j_per_mol,
            reference_kelvin,
        )
    }
}
