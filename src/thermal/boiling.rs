//! The hottest block that is answered for.

use super::input_error::ThermalInputError;
use crate::reference::constants::ZERO_CELSIUS_KELVIN;

/// Highest set temperature at sea level, in °C: a closed syringe must not boil.
const HIGHEST_CELSIUS: f64 = 99.0;
/// How much lower water boils per metre of altitude, in K/m: about one degree in 300 m.
const BOILING_FALL_KELVIN_PER_M: f64 = 1.0 / 295.0;

/// The hottest block that is answered for at an altitude, in K.
///
/// # Equation
/// `99 °C - altitude/(295 m/K)`
///
/// # Valid for
/// 0 to 3000 m.
///
/// # Source
/// Common practice of cookery and mountaineering tables, from memory; the exact fall is 0.31 to
/// 0.34 K per 100 m up to 3000 m.
#[must_use]
pub fn hottest_block_kelvin(altitude_m: f64) -> f64 {
    ZERO_CELSIUS_KELVIN + HIGHEST_CELSIUS - altitude_m.max(0.0) * BOILING_FALL_KELVIN_PER_M
}

/// Refuses a block at boiling.
///
/// # Errors
/// [`ThermalInputError::Boiling`] above [`hottest_block_kelvin`].
pub fn check_not_boiling(set_kelvin: f64, altitude_m: f64) -> Result<(), ThermalInputError> {
    let limit_kelvin = hottest_block_kelvin(altitude_m);
    if set_kelvin > limit_kelvin {
        Err(ThermalInputError::Boiling {
            asked_kelvin: set_kelvin,
            limit_kelvin,
        })
    } else {
        Ok(())
    }
}
