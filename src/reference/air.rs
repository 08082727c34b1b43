//! Dry air at one atmosphere, and air that blows across a cylinder.

use serde::Serialize;

use super::error::ReferenceError;

/// Standard atmosphere, in Pa.
const ATMOSPHERE_PA: f64 = 101_325.0;
/// Specific gas constant of dry air, in J/kgK.
const AIR_GAS_CONSTANT_J_PER_KG_KELVIN: f64 = 287.05;
/// Specific heat of dry air, in J/kgK: 1005 to 1009 from 250 to 350 K.
const AIR_SPECIFIC_HEAT_J_PER_KG_KELVIN: f64 = 1007.0;
/// Stefan-Boltzmann constant, in W/m2K4.
const STEFAN_BOLTZMANN_W_PER_M2_KELVIN4: f64 = 5.670_374_419e-8;
/// Standard gravity, in m/s2.
const GRAVITY_M_PER_S2: f64 = 9.806_65;
/// The formulae agree with tables between these temperatures, in K.
const PROPERTIES_FROM_KELVIN: f64 = 250.0;
const PROPERTIES_TO_KELVIN: f64 = 400.0;

/// Dry air at one atmosphere.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct AirProperties {
    /// Density.
    pub density_kg_per_m3: f64,
    /// Viscosity.
    pub viscosity_pa_s: f64,
    /// Viscosity over density.
    pub kinematic_viscosity_m2_per_s: f64,
    /// Thermal conductivity.
    pub conductivity_w_per_m_kelvin: f64,
    /// Prandtl number.
    pub prandtl_ratio: f64,
    /// Whether the temperature lies outside 250 to 400 K, where the formulae were held against
    /// tables.
    pub extrapolated: bool,
}

/// Dry air at one atmosphere.
///
/// # Equation
/// `mu = 1.458e-6 T^1.5/(T + 110.4)`, `k = 2.64638e-3 T^1.5/(T + 245.4 10^(-12/T))`,
/// `rho = p/(287.05 T)`, `Pr = mu c_p/k`, `c_p` 1007 J/kgK.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | T | `temperature_kelvin` | K |
/// | mu | `viscosity_pa_s` | Pa s |
/// | k | `conductivity_w_per_m_kelvin` | W/mK |
/// | rho | `density_kg_per_m3` | kg/m3 |
/// | Pr | `prandtl_ratio` | 1 |
///
/// # Valid for
/// 250 to 400 K, within 2 % of the tables of textbooks; outside of it marked `extrapolated`.
///
/// # Errors
/// [`ReferenceError::SizeNotInTable`] for a temperature that is not above zero.
///
/// # Source
/// U.S. Standard Atmosphere, 1976, eqs. 51 and 53 (from memory).
///
/// # Example
/// At 20 °C: 1.204 kg/m3, 1.825e-5 Pa s, 0.02514 W/mK (Çengel, table A-15, as printed).
/// ```
/// let air = heatset::reference::air_properties(293.15)?;
/// assert!((air.density_kg_per_m3 / 1.204 - 1.0).abs() < 1e-3);
/// assert!((air.viscosity_pa_s / 1.825e-5 - 1.0).abs() < 1e-2);
/// assert!((air.conductivity_w_per_m_kelvin / 0.02514 - 1.0).abs() < 3e-2);
/// # Ok::<(), heatset::reference::ReferenceError>(())
/// ```
pub fn air_properties(temperature_kelvin: f64) -> Result<AirProperties, ReferenceError> {
    if !(temperature_kelvin.is_finite() && temperature_kelvin > 0.0) {
        return Err(ReferenceError::SizeNotInTable {
            quantity: "temperature of air in K",
            value: temperature_kelvin,
        });
    }
    let t = temperature_kelvin;
    let density_kg_per_m3 = ATMOSPHERE_PA / (AIR_GAS_CONSTANT_J_PER_KG_KELVIN * t);
    let viscosity_pa_s = 1.458e-6 * t.powf(1.5) / (t + 110.4);
    let conductivity_w_per_m_kelvin =
        2.646_38e-3 * t.powf(1.5) / (t + 245.4 * 10f64.powf(-12.0 / t));
    Ok(AirProperties {
        density_kg_per_m3,
        viscosity_pa_s,
        kinematic_viscosity_m2_per_s: viscosity_pa_s / density_kg_per_m3,
        conductivity_w_per_m_kelvin,
        prandtl_ratio: viscosity_pa_s * AIR_SPECIFIC_HEAT_J_PER_KG_KELVIN
            / conductivity_w_per_m_kelvin,
        extrapolated: !(PROPERTIES_FROM_KELVIN..=PROPERTIES_TO_KELVIN).contains(&t),
    })
}

/// Air that blows across a cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ForcedAir {
    /// Mean heat transfer coefficient over the circumference, radiation not included.
    pub coefficient_w_per_m2_kelvin: f64,
    /// Reynolds number on the diameter.
    pub reynolds_ratio: f64,
    /// Nusselt number on the diameter.
    pub nusselt_ratio: f64,
    /// The air at the mean of surface and air temperature.
    pub air: AirProperties,
    /// Whether the product of Reynolds and Prandtl number lies under 0.2, or the temperature
    /// outside what the properties hold for.
    pub extrapolated: bool,
}

/// Mean Nusselt number of a cylinder in cross flow.
///
/// # Equation
/// `Nu = 0.3 + 0.62 Re^(1/2) Pr^(1/3) [1 + (0.4/Pr)^(2/3)]^(-1/4) [1 + (Re/282000)^(5/8)]^(4/5)`
///
/// | symbol | field | unit |
/// |---|---|---|
/// | Nu | returned | 1 |
/// | Re | `reynolds_ratio` | 1 |
/// | Pr | `prandtl_ratio` | 1 |
///
/// # Valid for
/// `Re Pr > 0.2`; within about 20 % of measurements.
///
/// # Errors
/// None: a flow of zero gives 0.3.
///
/// # Source
/// S. W. Churchill, M. Bernstein, J. Heat Transfer 99 (1977) 300, eq. 9, doi 10.1115/1.3450685
/// (equation as quoted in textbooks).
///
/// # Example
/// A steam pipe of 8 cm in a wind of 50 km/h: Re 6.228e4, Pr 0.7232, Nu 159.1 (Çengel & Turner,
/// Fundamentals of Thermal-Fluid Sciences, chapter 19, as printed in its solutions).
/// ```
/// let nusselt = heatset::reference::cross_flow_nusselt_ratio(6.228e4, 0.7232);
/// assert!((nusselt - 159.1).abs() < 0.1);
/// ```
#[must_use]
pub fn cross_flow_nusselt_ratio(reynolds_ratio: f64, prandtl_ratio: f64) -> f64 {
    0.3 + 0.62 * reynolds_ratio.sqrt() * prandtl_ratio.cbrt()
        / (1.0 + (0.4 / prandtl_ratio).powf(2.0 / 3.0)).powf(0.25)
        * (1.0 + (reynolds_ratio / 282_000.0).powf(0.625)).powf(0.8)
}

/// The coefficient of air that blows across a barrel.
///
/// # Equation
/// `h = Nu k/D`, `Re = v D/nu`, `Nu` as [`cross_flow_nusselt_ratio`], air as [`air_properties`] at
/// the film temperature.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | v | `air_speed_m_per_s` | m/s |
/// | D | `diameter_m` | m |
/// | h | `coefficient_w_per_m2_kelvin` | W/m2K |
///
/// # Valid for
/// `Re Pr > 0.2`; a barrel across the wind. A fan that blows along the barrel cools less.
///
/// # Errors
/// [`ReferenceError::SizeNotInTable`] for a speed, diameter or temperature that is not above zero.
///
/// # Source
/// S. W. Churchill, M. Bernstein, J. Heat Transfer 99 (1977) 300.
///
/// # Example
/// A cylinder of 12.7 mm in air at 10 m/s, film temperature 350 K: 96 W/m2K (Incropera & DeWitt,
/// Fundamentals of Heat and Mass Transfer, example 7.4; from memory).
/// ```
/// let air = heatset::reference::forced_air(10.0, 12.7e-3, 350.0)?;
/// assert!((air.coefficient_w_per_m2_kelvin / 96.0 - 1.0).abs() < 0.01);
/// # Ok::<(), heatset::reference::ReferenceError>(())
/// ```
pub fn forced_air(
    air_speed_m_per_s: f64,
    diameter_m: f64,
    film_kelvin: f64,
) -> Result<ForcedAir, ReferenceError> {
    for (quantity, value) in [
        ("speed of air in m/s", air_speed_m_per_s),
        ("barrel diameter in m", diameter_m),
    ] {
        if !(value.is_finite() && value > 0.0) {
            return Err(ReferenceError::SizeNotInTable { quantity, value });
        }
    }
    let air = air_properties(film_kelvin)?;
    let reynolds_ratio = air_speed_m_per_s * diameter_m / air.kinematic_viscosity_m2_per_s;
    let nusselt_ratio = cross_flow_nusselt_ratio(reynolds_ratio, air.prandtl_ratio);
    Ok(ForcedAir {
        coefficient_w_per_m2_kelvin: nusselt_ratio * air.conductivity_w_per_m_kelvin / diameter_m,
        reynolds_ratio,
        nusselt_ratio,
        air,
        extrapolated: air.extrapolated || reynolds_ratio * air.prandtl_ratio <= 0.2,
    })
}

/// Still air about a barrel that lies or hangs in a room.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct StillAir {
    /// Convection and radiation together.
    pub coefficient_w_per_m2_kelvin: f64,
    /// What the air that rises by itself takes.
    pub convection_w_per_m2_kelvin: f64,
    /// What the surface radiates to a room of the air's temperature.
    pub radiation_w_per_m2_kelvin: f64,
    /// Rayleigh number on the diameter.
    pub rayleigh_ratio: f64,
    /// Whether the mean temperature lies outside what the properties of air hold for.
    pub extrapolated: bool,
}

/// The coefficient of still air about a barrel, radiation included.
///
/// # Equation
/// `Nu = {0.60 + 0.387 Ra^(1/6) [1 + (0.559/Pr)^(9/16)]^(-8/27)}^2`,
/// `Ra = g |T_s - T_a| D^3 Pr/(T_f nu^2)`, `h = Nu k/D + e s (T_s^2 + T_a^2)(T_s + T_a)`.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | D | `diameter_m` | m |
/// | T_s, T_a | `barrel_kelvin`, `air_kelvin` | K |
/// | T_f | their mean | K |
/// | e | `emissivity_fraction` | 1 |
/// | s | Stefan-Boltzmann constant | W/m2K4 |
///
/// # Valid for
/// `Ra` under 1e12, a horizontal cylinder; a thin one that hangs is a little under it. Plastics and
/// glass: `e` 0.9 to 0.95.
///
/// # Errors
/// [`ReferenceError::SizeNotInTable`] for a diameter, temperature or emissivity that is not above
/// zero.
///
/// # Source
/// S. W. Churchill, H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1049, eq. 10 (from memory).
///
/// # Example
/// A steam pipe of 8 cm at 70 °C in a room at 20 °C: Ra 1.869e6, Nu 17.40, 5.869 W/m2K (Çengel,
/// Heat and Mass Transfer, example 9-1, properties of its table; from memory).
/// ```
/// let air = heatset::reference::still_air_about_barrel(0.08, 343.15, 293.15, 1.0)?;
/// assert!((air.rayleigh_ratio / 1.869e6 - 1.0).abs() < 0.05);
/// assert!((air.convection_w_per_m2_kelvin / 5.869 - 1.0).abs() < 0.03);
/// # Ok::<(), heatset::reference::ReferenceError>(())
/// ```
pub fn still_air_about_barrel(
    diameter_m: f64,
    barrel_kelvin: f64,
    air_kelvin: f64,
    emissivity_fraction: f64,
) -> Result<StillAir, ReferenceError> {
    for (quantity, value) in [
        ("barrel diameter in m", diameter_m),
        ("temperature of the barrel in K", barrel_kelvin),
        ("temperature of air in K", air_kelvin),
        ("emissivity", emissivity_fraction),
    ] {
        if !(value.is_finite() && value > 0.0) {
            return Err(ReferenceError::SizeNotInTable { quantity, value });
        }
    }
    let film_kelvin = 0.5 * (barrel_kelvin + air_kelvin);
    let air = air_properties(film_kelvin)?;
    let rayleigh_ratio = GRAVITY_M_PER_S2 / film_kelvin
        * (barrel_kelvin - air_kelvin).abs()
        * diameter_m.powi(3)
        * air.prandtl_ratio
        / air.kinematic_viscosity_m2_per_s.powi(2);
    let nusselt_ratio = (0.6
        + 0.387 * rayleigh_ratio.powf(1.0 / 6.0)
            / (1.0 + (0.559 / air.prandtl_ratio).powf(9.0 / 16.0)).powf(8.0 / 27.0))
    .powi(2);
    let convection_w_per_m2_kelvin = nusselt_ratio * air.conductivity_w_per_m_kelvin / diameter_m;
    let radiation_w_per_m2_kelvin = emissivity_fraction
        * STEFAN_BOLTZMANN_W_PER_M2_KELVIN4
        * (barrel_kelvin.powi(2) + air_kelvin.powi(2))
        * (barrel_kelvin + air_kelvin);
    Ok(StillAir {
        coefficient_w_per_m2_kelvin: convection_w_per_m2_kelvin + radiation_w_per_m2_kelvin,
        convection_w_per_m2_kelvin,
        radiation_w_per_m2_kelvin,
        rayleigh_ratio,
        extrapolated: air.extrapolated,
    })
}
