//! Gel at the set temperature from the first moment: readings already corrected for warm-up.

use super::temperature_history::{HeatDose, TemperatureHistory, relative_rate};
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;

/// A gel that is at the set temperature from `t = 0`.
///
/// # Equation
/// `theta = t exp[-(E/R)(1/T_set - 1/T_ref)]`
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Isothermal;

impl TemperatureHistory for Isothermal {
    fn temperature_kelvin(&self, set_kelvin: f64, _clock_time_s: f64) -> f64 {
        set_kelvin
    }

    fn heat_dose(
        &self,
        set_kelvin: f64,
        clock_time_s: f64,
        activation_energy_j_per_mol: f64,
        reference_kelvin: f64,
    ) -> HeatDose {
        let dose_s = clock_time_s
            * relative_rate(set_kelvin, reference_kelvin, activation_energy_j_per_mol);
        let inverse_temperature_difference = 1.0 / set_kelvin - 1.0 / reference_kelvin;
        HeatDose {
            dose_s,
            by_activation_energy_s_mol_per_j: -dose_s * inverse_temperature_difference
                / GAS_CONSTANT_J_PER_MOL_K,
            by_lag_ratio: 0.0,
        }
    }

    fn clock_time_for_dose_s(
        &self,
        set_kelvin: f64,
        dose_s: f64,
        activation_energy_j_per_mol: f64,
        reference_kelvin: f64,
    ) -> f64 {
        if dose_s <= 0.0 {
            return 0.0;
        }
        dose_s / relative_rate(set_kelvin, reference_kelvin, activation_energy_j_per_mol)
    }
}
