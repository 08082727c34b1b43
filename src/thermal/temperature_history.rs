//! The one trait through which the fit and the answers ask what a gel felt.

use super::dose_clock::DoseClock;
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;

/// Heat dose and how it answers to the numbers that shaped it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct HeatDose {
    /// Equivalent time at the reference temperature, in s.
    pub dose_s: f64,
    /// Derivative of the dose by the activation energy, in s per J/mol.
    pub by_activation_energy_s_mol_per_j: f64,
    /// Derivative of the dose by the lag's time constant, in s per s; zero where there is no lag.
    pub by_lag_ratio: f64,
}

/// Rate at a temperature over the rate at the reference temperature.
///
/// # Equation
/// `k(T)/k(T_ref) = exp[-(E/R)(1/T - 1/T_ref)]`
///
/// | symbol | argument | unit |
/// |---|---|---|
/// | T | `temperature_kelvin` | K |
/// | T_ref | `reference_kelvin` | K |
/// | E | `activation_energy_j_per_mol` | J/mol |
/// | R | gas constant | 8.314462618 J/mol/K |
///
/// # Valid for
/// Any temperatures above 0 K; the Arrhenius form itself holds over the measured temperatures.
///
/// # Source
/// S. Arrhenius, Z. phys. Chem. 4 (1889) 226; centred form: D. Himmelblau, C. Jones, K. Bischoff,
/// Ind. Eng. Chem. Fundam. 6 (1967) 539 (from memory).
///
/// # Example
/// Myoglobin, E = 290 kJ/mol (Geileskey et al. 1998, as quoted): 0.02715 1/min at 60 °C and
/// 0.5738 1/min at 70 °C, from k0 = 7.98e43 1/min.
/// ```
/// use heatset::thermal::relative_rate;
/// let ratio = relative_rate(343.15, 333.15, 290_000.0);
/// approx::assert_relative_eq!(ratio, 0.5738 / 0.02715, max_relative = 2e-3);
/// ```
#[must_use]
pub fn relative_rate(
    temperature_kelvin: f64,
    reference_kelvin: f64,
    activation_energy_j_per_mol: f64,
) -> f64 {
    (-activation_energy_j_per_mol / GAS_CONSTANT_J_PER_MOL_K
        * (1.0 / temperature_kelvin - 1.0 / reference_kelvin))
        .exp()
}

/// The temperature that a gel felt, as a function of the block's set temperature and its clock.
pub trait TemperatureHistory {
    /// Temperature of the gel after `clock_time_s` in a block set to `set_kelvin`, in K.
    fn temperature_kelvin(&self, set_kelvin: f64, clock_time_s: f64) -> f64;

    /// Dose over clock time at one set temperature, with all that depends on no time done once.
    fn dose_clock(
        &self,
        set_kelvin: f64,
        activation_energy_j_per_mol: f64,
        reference_kelvin: f64,
    ) -> DoseClock;

    /// Heat dose after `clock_time_s` in a block set to `set_kelvin`, with its derivatives.
    ///
    /// # Equation
    /// `theta(t) = integral from 0 to t of exp[-(E/R)(1/T(s) - 1/T_ref)] ds`
    fn heat_dose(
        &self,
        set_kelvin: f64,
        clock_time_s: f64,
        activation_energy_j_per_mol: f64,
        reference_kelvin: f64,
    ) -> HeatDose {
        self.dose_clock(set_kelvin, activation_energy_j_per_mol, reference_kelvin)
            .dose(clock_time_s)
    }

    /// Clock time at which the heat dose reaches `dose_s`, in s; infinite where it never does.
    fn clock_time_for_dose_s(
        &self,
        set_kelvin: f64,
        dose_s: f64,
        activation_energy_j_per_mol: f64,
        reference_kelvin: f64,
    ) -> f64 {
        self.dose_clock(set_kelvin, activation_energy_j_per_mol, reference_kelvin)
            .clock_time_s(dose_s)
    }
}
