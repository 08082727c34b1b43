//! Plunger force over standing time, for charts.

use super::error::PlanError;
use super::force_table::ForceSpread;
use super::gel::Gel;
use super::stand::push_after;
use super::stand_draws::{heat, standing_of};
use super::stand_question::StandQuestion;
use crate::fit::BlendCalibration;
use crate::flow::push;

/// Push after a standing time, for a chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandingPoint {
    /// Standing time, in s.
    pub stand_time_s: f64,
    /// Plunger force, in N.
    pub plunger_force_n: ForceSpread,
}

/// Plunger force over standing time at one storage temperature, over the same draws at each time.
///
/// # Errors
/// As for [`super::stand`].
pub fn standing_curve(
    blend: &BlendCalibration,
    question: &StandQuestion,
    stand_kelvin: f64,
    times_s: &[f64],
) -> Result<Vec<StandingPoint>, PlanError> {
    let standing = standing_of(blend)?;
    let heated = heat(blend, question, standing)?;
    Ok(times_s
        .iter()
        .map(|&stand_time_s| StandingPoint {
            stand_time_s,
            plunger_force_n: push_after(
                &heated,
                stand_kelvin,
                stand_time_s,
                question.setup.force_limit_n,
            )
            .plunger_force_n,
        })
        .collect())
}

/// A measured reading as the push that it makes through the question's needle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StandingReadingAsPush {
    /// Standing time, in s.
    pub stand_time_s: f64,
    /// Storage temperature, in K; none for a reading taken at once.
    pub stand_temp_kelvin: Option<f64>,
    /// Plunger force, in N.
    pub plunger_force_n: f64,
}

/// The readings of gels that were heated as the question's, as pushes through its needle: those read at
/// the reference shear rate.
///
/// # Errors
/// As for [`super::stand`].
pub fn standing_readings(
    blend: &BlendCalibration,
    question: &StandQuestion,
) -> Result<Vec<StandingReadingAsPush>, PlanError> {
    let standing = standing_of(blend)?;
    let mut gel = Gel::new(blend, &question.setup, question.thinning)?;
    if let Some(warm_up) = &question.warm_up {
        gel.setting.warm_up = warm_up.clone();
    }
    let conditions = question.setup.conditions()?;
    let fraction = gel
        .setting
        .conversion(question.set_kelvin, question.heat_time_s);
    let at_reference = |rate: Option<f64>| match (rate, blend.reference_shear_rate_per_s) {
        (Some(rate), Some(reference)) => (rate / reference).ln().abs() < 0.05,
        _ => true,
    };
    Ok(standing
        .readings
        .iter()
        .filter(|reading| {
            (reading.heat_temp_k - question.set_kelvin).abs() < 0.05
                && (reading.heat_time_s - question.heat_time_s).abs() < 0.5
                && at_reference(reading.shear_rate_per_s)
        })
        .map(|reading| StandingReadingAsPush {
            stand_time_s: reading.stand_time_s,
            stand_temp_kelvin: reading.stand_temp_k,
            plunger_force_n: push(&gel.curve(reading.reading, fraction), &conditions)
                .plunger_force_n,
        })
        .collect())
}
