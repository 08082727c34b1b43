//! Gel at the set temperature from the first moment: readings already corrected for warm-up.

use super::dose_clock::DoseClock;
use super::even_clock::EvenClock;
use super::temperature_history::TemperatureHistory;

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

    fn dose_clock(
        &self,
        set_kelvin: f64,
        activation_energy_j_per_mol: f64,
        reference_kelvin: f64,
    ) -> DoseClock {
        DoseClock::Even(EvenClock::new(
            None,
            set_kelvin,
            activation_energy_j_per_mol,
            reference_kelvin,
        ))
    }
}
