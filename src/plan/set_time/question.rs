//! What is asked of a calibration of set times.

use crate::fit::Warning;
use crate::fit::set_time::{SetTimeBlend, SetTimeName};
use crate::plan::error::PlanError;
use crate::thermal::hottest_block_kelvin;
use crate::units::display;

/// Temperatures this near to one that was looked at count as looked at, in K.
const SAME_KELVIN: f64 = 0.05;

/// A question about a block temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct SetTimeQuestion {
    /// Set temperature of the block, in K.
    pub set_kelvin: f64,
    /// Criterion; the only one where none.
    pub criterion: Option<String>,
    /// A lot that was looked at; a new one where none.
    pub lot: Option<String>,
    /// Altitude of the place, in m.
    pub altitude_m: f64,
    /// Answer outside the temperatures that were looked at.
    pub extrapolate: bool,
    /// Draws.
    pub draws: usize,
    /// Seed.
    pub seed: u64,
    /// Whether the calibration is of invented looks.
    pub invented: bool,
}

/// Refuses a block at boiling, and one outside the temperatures looked at unless asked for.
pub(super) fn check_temperature(
    blend: &SetTimeBlend,
    question: &SetTimeQuestion,
    kelvin: f64,
) -> Result<bool, PlanError> {
    let limit_kelvin = hottest_block_kelvin(question.altitude_m);
    if kelvin > limit_kelvin {
        return Err(PlanError::Boiling {
            asked_kelvin: kelvin,
            limit_kelvin,
            altitude_m: question.altitude_m,
        });
    }
    let [low, high] = blend.range.heat_temp_k;
    let outside = kelvin < low - SAME_KELVIN || kelvin > high + SAME_KELVIN;
    if outside && !question.extrapolate {
        return Err(PlanError::TemperatureOutside {
            asked_kelvin: kelvin,
            low_kelvin: low,
            high_kelvin: high,
        });
    }
    Ok(outside)
}

/// Warnings that every answer of a calibration of set times carries.
pub(super) fn warnings(
    blend: &SetTimeBlend,
    question: &SetTimeQuestion,
    extrapolated: bool,
) -> Vec<Warning> {
    let mut found = Vec::new();
    if question.invented {
        found.push(Warning::new(
            "invented_data",
            "This answer comes from invented data and is no ground for use.",
        ));
    }
    if extrapolated {
        found.push(Warning::new(
            "extrapolated",
            format!(
                "Nobody looked at this temperature ({} to {} was): the answer rests on the activation energy alone.",
                display::temperature(blend.range.heat_temp_k[0]),
                display::temperature(blend.range.heat_temp_k[1])
            ),
        ));
    }
    let energy_j_per_mol = blend.estimate(SetTimeName::ActivationEnergy);
    if energy_j_per_mol <= 0.0 {
        found.push(Warning::new(
            "heat_sets_later",
            format!(
                "By this calibration a hotter block sets this gel later, or no sooner (activation energy {}): its looks tell nothing of temperature that can be true. What helps: look at temperatures and times, and at how long the syringe takes to warm up; ask at no temperature but one that was looked at.",
                display::energy_to(energy_j_per_mol, 3)
            ),
        ));
    }
    found.push(Warning::new(
        "clock_includes_warm_up",
        "Times are times on the clock, warm-up included: they hold for the syringe and the block that were looked at.",
    ));
    found
}
