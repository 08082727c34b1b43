//! A block that is not at what it is set to: what its check says, and what its places do to a time.

use super::error::PlanError;
use super::heat_time::heat_time;
use super::time_question::TimeQuestion;
use crate::fit::{BlendCalibration, Warning};
use crate::thermal::SetCheck;
use crate::units::display;
use serde::Serialize;

/// Set temperatures of question and check that lie farther apart than this, in K, are not the same.
const SAME_SET_KELVIN: f64 = 3.0;
/// Draws for the times of two places, of which only the point estimates are used.
const FEWEST_DRAWS: usize = 1000;

/// What the check of a block says of the temperature that is asked about.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BlockSays {
    /// What the block is set to, in K.
    #[serde(rename = "block_set_temp_K")]
    pub block_set_temp_k: f64,
    /// Mean of its places less that, in K: the answer is for their sum.
    #[serde(rename = "block_offset_K")]
    pub block_offset_k: f64,
    /// Hottest less coldest place, in K; null with one place.
    #[serde(rename = "place_spread_K")]
    pub place_spread_k: Option<f64>,
    /// Time at which the point estimates give the force, in the hottest and the coldest place, in
    /// s; null where one never gets there.
    pub heat_time_s_point_by_place: Option<[f64; 2]>,
}

/// The temperature that a block has where it is set to another, in K, and what is worth a warning.
#[must_use]
pub fn corrected_kelvin(set_kelvin: f64, check: &SetCheck) -> (f64, Vec<Warning>) {
    let mut warnings = Vec::new();
    let apart = (check.set_kelvin - set_kelvin).abs();
    if apart > SAME_SET_KELVIN {
        warnings.push(Warning::new(
            "block_checked_elsewhere",
            format!(
                "The block was checked at {}, and the question is for {}: its offset there may be another. What helps: a check at {}.",
                display::temperature(check.set_kelvin),
                display::temperature(set_kelvin),
                display::temperature(set_kelvin)
            ),
        ));
    }
    (set_kelvin + check.offset_kelvin, warnings)
}

/// What the places of the block do to an answer for their mean temperature.
///
/// # Errors
/// As for the question itself.
pub fn block_says(
    blend: &BlendCalibration,
    question: &TimeQuestion,
    block_set_kelvin: f64,
    check: &SetCheck,
) -> Result<BlockSays, PlanError> {
    let by_place = check
        .place_spread_kelvin
        .map(|spread| -> Result<Option<[f64; 2]>, PlanError> {
            let point_s = |shift: f64| -> Result<Option<f64>, PlanError> {
                let moved = TimeQuestion {
                    set_kelvin: question.set_kelvin + shift,
                    draws: FEWEST_DRAWS,
                    extrapolate: true,
                    ..question.clone()
                };
                Ok(heat_time(blend, &moved)?.heat_time_s_point)
            };
            let (hot, cold) = (point_s(0.5 * spread)?, point_s(-0.5 * spread)?);
            Ok(hot.zip(cold).map(|(hot, cold)| [hot, cold]))
        })
        .transpose()?
        .flatten();
    Ok(BlockSays {
        block_set_temp_k: block_set_kelvin,
        block_offset_k: check.offset_kelvin,
        place_spread_k: check.place_spread_kelvin,
        heat_time_s_point_by_place: by_place,
    })
}
