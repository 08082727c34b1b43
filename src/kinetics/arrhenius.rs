//! Arrhenius rate of setting, and the figures derived from it.

use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
use crate::thermal::relative_rate;

/// Rate constant over temperature, centred on a reference temperature.
///
/// # Equation
/// `k(T) = k_ref exp[-(E/R)(1/T - 1/T_ref)]`
///
/// | symbol | field | unit |
/// |---|---|---|
/// | k_ref | `rate_ref_per_s` | 1/s |
/// | E | `activation_energy_j_per_mol` | J/mol |
/// | T_ref | `reference_kelvin` | K |
///
/// # Valid for
/// The temperatures that were measured. `k_ref` and `E` are fitted, never the pre-exponential
/// factor: its logarithm and `E` are nearly collinear.
///
/// # Source
/// IUPAC Gold Book, Arrhenius equation, doi:10.1351/goldbook.A00446.
///
/// # Example
/// Carbonic anhydrase II, k = (1/60) exp[529000/R (1/335.8 - 1/T)] 1/s (Amani et al. 2011):
/// ```
/// use heatset::kinetics::ArrheniusRate;
/// let rate = ArrheniusRate {
///     rate_ref_per_s: 1.0 / 60.0,
///     activation_energy_j_per_mol: 529_000.0,
///     reference_kelvin: 335.8,
/// };
/// approx::assert_relative_eq!(rate.rate_per_s(330.8), 9.508e-4, max_relative = 1e-3);
/// approx::assert_relative_eq!(rate.rate_per_s(340.8), 0.26859, max_relative = 1e-4);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArrheniusRate {
    /// Rate constant at the reference temperature, in 1/s.
    pub rate_ref_per_s: f64,
    /// Activation energy, in J/mol.
    pub activation_energy_j_per_mol: f64,
    /// Reference temperature, in K.
    pub reference_kelvin: f64,
}

impl ArrheniusRate {
    /// Rate constant at a temperature, in 1/s.
    #[must_use]
    pub fn rate_per_s(&self, temperature_kelvin: f64) -> f64 {
        self.rate_ref_per_s
            * relative_rate(
                temperature_kelvin,
                self.reference_kelvin,
                self.activation_energy_j_per_mol,
            )
    }

    /// Pre-exponential factor `A = k_ref exp(E/(R T_ref))`, in 1/s; a derived figure.
    #[must_use]
    pub fn pre_exponential_per_s(&self) -> f64 {
        self.rate_ref_per_s
            * (self.activation_energy_j_per_mol
                / (GAS_CONSTANT_J_PER_MOL_K * self.reference_kelvin))
                .exp()
    }
}

/// Temperature step that changes the rate tenfold, in K.
///
/// # Equation
/// `z = ln(10) R T^2 / E`
///
/// | symbol | argument | unit |
/// |---|---|---|
/// | E | `activation_energy_j_per_mol` | J/mol |
/// | T | `temperature_kelvin` | K |
///
/// # Valid for
/// Small steps about `T`; it falls with the square of the temperature.
///
/// # Source
/// Lactoperoxidase at 73.5 °C, J. Food Eng. 113 (2012) 47: E 560.87 kJ/mol with z 4.11 K.
///
/// # Example
/// ```
/// let z = heatset::kinetics::z_value_kelvin(560_870.0, 346.65);
/// approx::assert_abs_diff_eq!(z, 4.11, epsilon = 0.01);
/// ```
#[must_use]
pub fn z_value_kelvin(activation_energy_j_per_mol: f64, temperature_kelvin: f64) -> f64 {
    std::f64::consts::LN_10 * GAS_CONSTANT_J_PER_MOL_K * temperature_kelvin * temperature_kelvin
        / activation_energy_j_per_mol
}

/// Activation energy of a z-value, in J/mol: the inverse of [`z_value_kelvin`].
#[must_use]
pub fn activation_energy_from_z_value(z_value_kelvin: f64, temperature_kelvin: f64) -> f64 {
    self::z_value_kelvin(z_value_kelvin, temperature_kelvin)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    /// Lactoperoxidase at 73.5 °C, J. Food Eng. 113 (2012) 47: printed pairs of E and z.
    #[test]
    fn printed_pairs_of_activation_energy_and_z_value_agree() {
        for (energy_kj_per_mol, z_kelvin) in [(678.96, 3.38), (560.87, 4.11), (641.56, 3.58)] {
            let ours = z_value_kelvin(energy_kj_per_mol * 1e3, 346.65);
            assert_abs_diff_eq!(ours, z_kelvin, epsilon = 0.01);
            let back = activation_energy_from_z_value(ours, 346.65);
            assert_abs_diff_eq!(back, energy_kj_per_mol * 1e3, epsilon = 1e-6);
        }
    }

    /// Pasteurisation units, z = 7 °C, reference 60 °C (computed from the definition
    /// PU = t 10^((T-60)/z)): 62 °C for 10 min 19.307; 72 °C for 15 s 12.949. The Arrhenius rate with the
    /// activation energy of that z agrees near the reference and falls behind further off.
    #[test]
    fn a_z_value_law_is_the_tangent_of_the_arrhenius_rate() {
        let reference_kelvin = 333.15;
        let rate = ArrheniusRate {
            rate_ref_per_s: 1.0,
            activation_energy_j_per_mol: activation_energy_from_z_value(7.0, reference_kelvin),
            reference_kelvin,
        };
        let near = rate.rate_per_s(335.15) * 10.0;
        let far = rate.rate_per_s(345.15) * 0.25;
        assert!((near / 19.307 - 1.0).abs() < 0.01, "{near}");
        assert!(far < 12.949 && far > 0.8 * 12.949, "{far}");
    }
}
