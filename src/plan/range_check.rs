//! What may be asked: inside what was measured, and under boiling.

use super::error::PlanError;
use crate::fit::BlendCalibration;
use crate::thermal::hottest_block_kelvin;

/// Temperatures this near to a measured one count as measured, in K.
const SAME_KELVIN: f64 = 0.05;

/// Refuses a block at boiling, and one outside the measured temperatures unless asked for.
///
/// # Errors
/// A set temperature above 99 °C (lower at altitude), or outside the measured ones.
pub(super) fn check_temperature(
    blend: &BlendCalibration,
    set_kelvin: f64,
    altitude_m: f64,
    extrapolate: bool,
) -> Result<bool, PlanError> {
    let limit_kelvin = hottest_block_kelvin(altitude_m);
    if set_kelvin > limit_kelvin {
        return Err(PlanError::Boiling {
            asked_kelvin: set_kelvin,
            limit_kelvin,
            altitude_m,
        });
    }
    let [low, high] = blend.range.heat_temp_k;
    let outside = set_kelvin < low - SAME_KELVIN || set_kelvin > high + SAME_KELVIN;
    if outside && !extrapolate {
        return Err(PlanError::TemperatureOutside {
            asked_kelvin: set_kelvin,
            low_kelvin: low,
            high_kelvin: high,
        });
    }
    Ok(outside)
}

/// Refuses a heat time outside the measured ones unless asked for.
///
/// # Errors
/// A heat time outside the measured ones.
pub(super) fn check_time(
    blend: &BlendCalibration,
    heat_time_s: f64,
    extrapolate: bool,
) -> Result<bool, PlanError> {
    let [low, high] = blend.range.heat_time_s;
    let outside = heat_time_s < low * (1.0 - 1e-9) || heat_time_s > high * (1.0 + 1e-9);
    if outside && !extrapolate {
        return Err(PlanError::TimeOutside {
            asked_s: heat_time_s,
            low_s: low,
            high_s: high,
        });
    }
    Ok(outside)
}
