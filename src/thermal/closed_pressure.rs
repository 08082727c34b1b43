//! The pressure that a closed syringe builds when it is heated.
//!
//! The trapped air grows warmer at constant amount, water evaporates into it until it is
//! saturated, and the liquid expands into the space of the air. Reported apart, so that a reader
//! sees what expelling the air would take away. Not counted: gas that comes out of solution
//! (dissolved air; carbon dioxide from a buffer), which adds to it.

use serde::Serialize;

use super::input_error::ThermalInputError;
use super::monotone_cubic::MonotoneCubic;
use super::water_vapour::water_saturation_pressure_pa;
use crate::reference::water_table;

/// A closed syringe before it is heated.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ClosedSyringe {
    /// Temperature at which it was closed, in K.
    #[serde(rename = "start_temp_K")]
    pub start_kelvin: f64,
    /// Temperature that it is heated to, in K.
    #[serde(rename = "hot_temp_K")]
    pub hot_kelvin: f64,
    /// Pressure outside, in Pa: 101325 at sea level.
    #[serde(rename = "ambient_Pa")]
    pub ambient_pa: f64,
    /// Volume of the air in it, in m3; zero where it was expelled.
    pub air_gap_m3: f64,
    /// Volume of the liquid in it, in m3.
    pub filled_m3: f64,
    /// Bore of the barrel, in m.
    pub barrel_bore_m: f64,
    /// Linear expansion of the barrel, in 1/K. Zero, a rigid barrel, gives the upper bound of
    /// pressure and travel; polypropylene is given as 0.7e-4 to 1.8e-4 by texts (from memory).
    #[serde(rename = "barrel_expansion_per_K")]
    pub barrel_expansion_per_kelvin: f64,
}

/// Where the pressure comes from. The three add up to the gauge pressure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PressureParts {
    /// The trapped air grows warmer in the space that it had, in Pa.
    #[serde(rename = "air_heated_Pa")]
    pub air_heated_pa: f64,
    /// The liquid expands and takes some of that space, in Pa.
    #[serde(rename = "air_compressed_Pa")]
    pub air_compressed_pa: f64,
    /// More water vapour than at the start, in Pa.
    #[serde(rename = "vapour_Pa")]
    pub vapour_pa: f64,
}

/// How far a stopper without friction would go until nothing presses on it any more.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct StopperTravel {
    /// Volume by which it gives way, in m3.
    pub volume_m3: f64,
    /// Distance, in m.
    pub travel_m: f64,
}

/// What becomes of a closed syringe that is heated.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "kind")]
pub enum ClosedPressure {
    /// Air remains over the liquid.
    Gas {
        /// Pressure over that outside, the stopper held, in Pa.
        #[serde(rename = "gauge_Pa")]
        gauge_pa: f64,
        /// Where it comes from.
        parts: PressureParts,
        /// Force with which it presses on the stopper, in N.
        #[serde(rename = "stopper_force_N")]
        stopper_force_n: f64,
        /// Volume left to the air, the stopper held, in m3.
        hot_gap_m3: f64,
        /// Travel of a free stopper; nothing where the water boils and no travel ends it.
        free_stopper: Option<StopperTravel>,
    },
    /// The liquid fills the whole space: a liquid gives way to no pressure that a syringe could
    /// hold, so the stopper moves, or the joint or the barrel gives. No pressure is stated.
    LiquidFills {
        /// Liquid for which a held stopper leaves no room, in m3; zero or less where there was no
        /// air and the barrel widens at least as much as the liquid: nothing presses then.
        excess_m3: f64,
        /// Travel of a free stopper; nothing where the water boils and no travel ends it.
        free_stopper: Option<StopperTravel>,
    },
}

impl ClosedPressure {
    /// Whether the stopper moves against a friction: always where the liquid needs more space than
    /// there is.
    #[must_use]
    pub fn moves_stopper(&self, friction_n: f64) -> bool {
        match self {
            Self::Gas {
                stopper_force_n, ..
            } => *stopper_force_n > friction_n,
            Self::LiquidFills { excess_m3, .. } => *excess_m3 > 0.0,
        }
    }
}

/// The pressure that a closed syringe builds when it is heated, the stopper held.
///
/// # Equation
/// `p = p_air T1/T0 V0/V1 + p_sat(T1)`, `p_air = p_out - p_sat(T0)`,
/// `V1 = (V0 + L0)(1 + alpha (T1 - T0))^3 - L0 rho(T0)/rho(T1)`; gauge pressure `p - p_out`.
/// Free stopper: the air takes `V = p_air V0 (T1/T0)/(p_out - p_sat(T1))`.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | T0, T1 | `start_kelvin`, `hot_kelvin` | K |
/// | p_out | `ambient_pa` | Pa |
/// | V0 | `air_gap_m3` | m3 |
/// | L0 | `filled_m3` | m3 |
/// | alpha | `barrel_expansion_per_kelvin` | 1/K |
/// | rho | density of water | kg/m3 |
///
/// # Valid for
/// 0.01 to 99.6 °C; air as an ideal gas, saturated when it was closed in; a gel that expands as
/// water does (plasma expands a little more); all of it at the hot temperature, the whole barrel
/// heated. Evaporated water is taken from the liquid without changing its volume.
///
/// # Errors
/// [`ThermalInputError::OutOfRange`] for temperatures outside of that, a pressure outside at which
/// the water would boil at the start, negative volumes, a bore that is not above zero.
///
/// # Source
/// Ideal gas and Dalton's law; saturation pressure IAPWS R7-97(2012), region 4; densities
/// IAPWS-95 as in the project's water table.
///
/// # Example
/// Air alone from 22 to 86 °C: (101.325 - 2.645) kPa 359.15/295.15 + 60.17 kPa = 180.2 kPa, so
/// 78.9 kPa over the outside (steam tables: 2.645 and 60.17 kPa, from memory).
/// ```
/// use heatset::thermal::{ClosedPressure, ClosedSyringe, closed_pressure};
/// let heated = closed_pressure(&ClosedSyringe {
///     start_kelvin: 295.15,
///     hot_kelvin: 359.15,
///     ambient_pa: 101_325.0,
///     air_gap_m3: 1e-6,
///     filled_m3: 0.0,
///     barrel_bore_m: 4.7e-3,
///     barrel_expansion_per_kelvin: 0.0,
/// })?;
/// let ClosedPressure::Gas { gauge_pa, stopper_force_n, .. } = heated else { unreachable!() };
/// assert!((gauge_pa - 78.9e3).abs() < 0.1e3);
/// assert!((stopper_force_n - 1.37).abs() < 0.01);
/// # Ok::<(), heatset::thermal::ThermalInputError>(())
/// ```
pub fn closed_pressure(syringe: &ClosedSyringe) -> Result<ClosedPressure, ThermalInputError> {
    let densities = Densities::of_water()?;
    let start_density = densities.at("the temperature at the start", syringe.start_kelvin)?;
    let hot_density = densities.at("the hot temperature", syringe.hot_kelvin)?;
    for (quantity, value) in [
        ("the volume of air", syringe.air_gap_m3),
        ("the filled volume", syringe.filled_m3),
    ] {
        within(quantity, value, "m3", 0.0, 1.0)?;
    }
    within(
        "the bore of the barrel",
        syringe.barrel_bore_m,
        "m",
        1e-5,
        1.0,
    )?;
    within(
        "the expansion of the barrel",
        syringe.barrel_expansion_per_kelvin,
        "1/K",
        0.0,
        1e-3,
    )?;
    let start_vapour_pa = water_saturation_pressure_pa(syringe.start_kelvin)?;
    let hot_vapour_pa = water_saturation_pressure_pa(syringe.hot_kelvin)?;
    within(
        "the pressure outside",
        syringe.ambient_pa,
        "Pa",
        start_vapour_pa,
        1e6,
    )?;

    let warming_ratio = syringe.hot_kelvin / syringe.start_kelvin;
    let widening_ratio = (1.0
        + syringe.barrel_expansion_per_kelvin * (syringe.hot_kelvin - syringe.start_kelvin))
        .powi(3);
    let space_m3 = (syringe.air_gap_m3 + syringe.filled_m3) * widening_ratio;
    let hot_liquid_m3 = syringe.filled_m3 * start_density / hot_density;
    let hot_gap_m3 = space_m3 - hot_liquid_m3;
    let air_pa = syringe.ambient_pa - start_vapour_pa;
    let section_m2 = 0.25 * std::f64::consts::PI * syringe.barrel_bore_m.powi(2);

    // Without air the liquid alone stands under the stopper, and boils only where its vapour
    // could lift it.
    let free_stopper = (hot_vapour_pa < syringe.ambient_pa).then(|| {
        let free_air_m3 =
            air_pa * syringe.air_gap_m3 * warming_ratio / (syringe.ambient_pa - hot_vapour_pa);
        let volume_m3 = free_air_m3 + hot_liquid_m3 - space_m3;
        StopperTravel {
            volume_m3,
            travel_m: volume_m3 / section_m2,
        }
    });
    if syringe.air_gap_m3 == 0.0 || hot_gap_m3 <= 0.0 {
        return Ok(ClosedPressure::LiquidFills {
            excess_m3: -hot_gap_m3,
            free_stopper,
        });
    }
    let heated_pa = air_pa * warming_ratio;
    let parts = PressureParts {
        air_heated_pa: heated_pa - air_pa,
        air_compressed_pa: heated_pa * (syringe.air_gap_m3 / hot_gap_m3 - 1.0),
        vapour_pa: hot_vapour_pa - start_vapour_pa,
    };
    let gauge_pa = parts.air_heated_pa + parts.air_compressed_pa + parts.vapour_pa;
    Ok(ClosedPressure::Gas {
        gauge_pa,
        parts,
        stopper_force_n: gauge_pa * section_m2,
        hot_gap_m3,
        free_stopper,
    })
}

/// Density of water over the project's table.
struct Densities {
    curve: MonotoneCubic,
    from_kelvin: f64,
    to_kelvin: f64,
}

impl Densities {
    fn of_water() -> Result<Self, ThermalInputError> {
        let table = water_table()?;
        Ok(Self {
            curve: MonotoneCubic::through(
                table
                    .iter()
                    .map(|point| (point.temperature_kelvin, point.density_kg_per_m3)),
            ),
            from_kelvin: table.first().map_or(0.0, |point| point.temperature_kelvin),
            to_kelvin: table.last().map_or(0.0, |point| point.temperature_kelvin),
        })
    }

    fn at(&self, quantity: &'static str, kelvin: f64) -> Result<f64, ThermalInputError> {
        within(quantity, kelvin, "K", self.from_kelvin, self.to_kelvin)?;
        Ok(self.curve.at(kelvin).0)
    }
}

fn within(
    quantity: &'static str,
    value: f64,
    unit: &'static str,
    low: f64,
    high: f64,
) -> Result<(), ThermalInputError> {
    if (low..=high).contains(&value) {
        Ok(())
    } else {
        Err(ThermalInputError::OutOfRange {
            quantity,
            value,
            unit,
            low,
            high,
            remedy: "look at the number and its unit",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// G. S. Kell, J. Chem. Eng. Data 20 (1975) 97, density of water at one atmosphere, 0 to
    /// 150 °C (equation from memory); it lies within 0.015 kg/m3 of IAPWS-95 to 100 °C.
    fn kell_kg_per_m3(celsius: f64) -> f64 {
        let powers = [
            999.839_52,
            16.945_176,
            -7.987_040_1e-3,
            -46.170_461e-6,
            105.563_02e-9,
            -280.542_53e-12,
        ];
        let top: f64 = (0..)
            .zip(powers)
            .map(|(power, factor)| factor * celsius.powi(power))
            .sum();
        top / (1.0 + 16.879_850e-3 * celsius)
    }

    #[test]
    fn densities_between_the_rows_of_the_water_table_are_kells() {
        let densities = Densities::of_water().unwrap();
        for tenth in 1..=995 {
            let celsius = 0.1 * f64::from(tenth);
            let ours = densities.at("", celsius + 273.15).unwrap();
            let theirs = kell_kg_per_m3(celsius);
            assert!((ours - theirs).abs() < 0.02, "{celsius}: {ours} {theirs}");
        }
    }
}
