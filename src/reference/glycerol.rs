//! Glycerol and water: viscosity and density of their mixtures, and the mixture of a viscosity.

use super::constants::ZERO_CELSIUS_KELVIN;
use super::error::ReferenceError;

/// Upper end of the formulas, 100 °C.
const TO_KELVIN: f64 = ZERO_CELSIUS_KELVIN + 100.0;

/// How far viscosities by [`glycerol_viscosity_pa_s`] and those of the usual table lie apart at most, as
/// a share.
///
/// Source: the table of J. Segur and H. Oberstar, Industrial and Engineering Chemistry 43 (1951) 2117,
/// 0 to 100 % by mass and 0 to 40 °C, against the formula (`tests/data/glycerol.csv`).
pub const GLYCEROL_VISCOSITY_DOUBT_RATIO: f64 = 0.035;

/// How far densities by [`glycerol_density_kg_per_m3`] and measured ones lie apart at most, as a share.
///
/// Source: N. Cheng, as [`glycerol_viscosity_pa_s`]: 0.8 %, from memory.
pub const GLYCEROL_DENSITY_DOUBT_RATIO: f64 = 0.008;

/// Viscosity of a mixture of glycerol and water.
///
/// # Equation
/// mu = mu_w^alpha mu_g^(1 - alpha), with mu_w = 1.790 exp[(-1230 - T) T/(36100 + 360 T)] and
/// mu_g = 12100 exp[(-1233 + T) T/(9900 + 70 T)] in mPa s,
/// alpha = 1 - C + a b C (1 - C)/(a C + b (1 - C)), a = 0.705 - 0.0017 T,
/// b = (4.9 + 0.036 T) a^2.5, T in °C.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | mu | returned | Pa s |
/// | C | `glycerol_mass_fraction` | 1 |
/// | T | `temperature_kelvin`, taken to °C | K |
///
/// # Valid for
/// Mass fractions from 0 to 1 and 0 to 100 °C; against the table of Segur and Oberstar (0 to 40 °C)
/// it lies within 3.5 % ([`GLYCEROL_VISCOSITY_DOUBT_RATIO`]).
///
/// # Errors
/// [`ReferenceError::GlycerolOutOfRange`] outside of that.
///
/// # Source
/// N. Cheng, Formula for the viscosity of a glycerol-water mixture, Industrial and Engineering
/// Chemistry Research 47 (2008) 3285, doi:10.1021/ie071349z; coefficients from memory, confirmed by
/// values that others computed from it.
///
/// # Example
/// ```
/// use heatset::reference::glycerol_viscosity_pa_s;
/// // 60 % at 20 °C: 10.8 mPa s (Segur and Oberstar 1951)
/// let viscosity_pa_s = glycerol_viscosity_pa_s(0.60, 293.15)?;
/// assert!((viscosity_pa_s / 10.8e-3 - 1.0).abs() < 0.035);
/// # Ok::<(), heatset::reference::ReferenceError>(())
/// ```
pub fn glycerol_viscosity_pa_s(
    glycerol_mass_fraction: f64,
    temperature_kelvin: f64,
) -> Result<f64, ReferenceError> {
    let celsius = celsius_in_range(glycerol_mass_fraction, temperature_kelvin)?;
    let glycerol = glycerol_mass_fraction;
    let water = 1.0 - glycerol;
    let of_water_mpa_s =
        1.790 * ((-1230.0 - celsius) * celsius / (36100.0 + 360.0 * celsius)).exp();
    let of_glycerol_mpa_s =
        12100.0 * ((-1233.0 + celsius) * celsius / (9900.0 + 70.0 * celsius)).exp();
    let first = 0.705 - 0.0017 * celsius;
    let second = (4.9 + 0.036 * celsius) * first.powf(2.5);
    let weight = water + first * second * glycerol * water / (first * glycerol + second * water);
    Ok(1e-3 * of_water_mpa_s.powf(weight) * of_glycerol_mpa_s.powf(1.0 - weight))
}

/// Density of a mixture of glycerol and water.
///
/// # Equation
/// rho = rho_g C + rho_w (1 - C), rho_g = 1277 - 0.654 T, rho_w = 1000 (1 - |(T - 4)/622|^1.7),
/// T in °C.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | rho | returned | kg/m3 |
/// | C | `glycerol_mass_fraction` | 1 |
/// | T | `temperature_kelvin`, taken to °C | K |
///
/// # Valid for
/// As [`glycerol_viscosity_pa_s`]; within 0.8 % of measured densities
/// ([`GLYCEROL_DENSITY_DOUBT_RATIO`]).
///
/// # Errors
/// [`ReferenceError::GlycerolOutOfRange`] outside of that.
///
/// # Source
/// As [`glycerol_viscosity_pa_s`], its equations for density; coefficients from memory.
///
/// # Example
/// ```
/// use heatset::reference::glycerol_density_kg_per_m3;
/// // glycerol at 20 °C: 1261 kg/m3; water: 998.2 kg/m3 (handbooks, from memory)
/// assert!((glycerol_density_kg_per_m3(1.0, 293.15)? / 1261.0 - 1.0).abs() < 0.008);
/// assert!((glycerol_density_kg_per_m3(0.0, 293.15)? / 998.2 - 1.0).abs() < 0.001);
/// # Ok::<(), heatset::reference::ReferenceError>(())
/// ```
pub fn glycerol_density_kg_per_m3(
    glycerol_mass_fraction: f64,
    temperature_kelvin: f64,
) -> Result<f64, ReferenceError> {
    let celsius = celsius_in_range(glycerol_mass_fraction, temperature_kelvin)?;
    let of_glycerol = 1277.0 - 0.654 * celsius;
    let of_water = 1000.0 * (1.0 - ((celsius - 4.0) / 622.0).abs().powf(1.7));
    Ok(of_glycerol * glycerol_mass_fraction + of_water * (1.0 - glycerol_mass_fraction))
}

/// Mass fraction of glycerol in the mixture that has a viscosity at a temperature.
///
/// # Equation
/// The root of [`glycerol_viscosity_pa_s`] = mu in C, which rises with C; by halving.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | C | returned | 1 |
/// | mu | `viscosity_pa_s` | Pa s |
/// | T | `temperature_kelvin` | K |
///
/// # Valid for
/// As [`glycerol_viscosity_pa_s`].
///
/// # Errors
/// [`ReferenceError::ThinnerThanWater`], [`ReferenceError::ThickerThanGlycerol`]; a temperature
/// out of range.
///
/// # Source
/// As [`glycerol_viscosity_pa_s`].
///
/// # Example
/// ```
/// use heatset::reference::glycerol_mass_fraction;
/// // 22.5 mPa s at 20 °C is 70 % (Segur and Oberstar 1951)
/// assert!((glycerol_mass_fraction(22.5e-3, 293.15)? - 0.70).abs() < 0.005);
/// # Ok::<(), heatset::reference::ReferenceError>(())
/// ```
pub fn glycerol_mass_fraction(
    viscosity_pa_s: f64,
    temperature_kelvin: f64,
) -> Result<f64, ReferenceError> {
    let thinnest_pa_s = glycerol_viscosity_pa_s(0.0, temperature_kelvin)?;
    let thickest_pa_s = glycerol_viscosity_pa_s(1.0, temperature_kelvin)?;
    if viscosity_pa_s.is_nan() || viscosity_pa_s < thinnest_pa_s {
        return Err(ReferenceError::ThinnerThanWater {
            viscosity_pa_s,
            thinnest_pa_s,
            temperature_kelvin,
        });
    }
    if viscosity_pa_s > thickest_pa_s {
        return Err(ReferenceError::ThickerThanGlycerol {
            viscosity_pa_s,
            thickest_pa_s,
            temperature_kelvin,
        });
    }
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    // Sixty halvings leave nothing that a number could hold.
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if glycerol_viscosity_pa_s(middle, temperature_kelvin)? < viscosity_pa_s {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(0.5 * (low + high))
}

fn celsius_in_range(
    glycerol_mass_fraction: f64,
    temperature_kelvin: f64,
) -> Result<f64, ReferenceError> {
    let known = (ZERO_CELSIUS_KELVIN..=TO_KELVIN).contains(&temperature_kelvin)
        && (0.0..=1.0).contains(&glycerol_mass_fraction);
    if known {
        Ok(temperature_kelvin - ZERO_CELSIUS_KELVIN)
    } else {
        Err(ReferenceError::GlycerolOutOfRange {
            glycerol_mass_fraction,
            temperature_kelvin,
        })
    }
}
