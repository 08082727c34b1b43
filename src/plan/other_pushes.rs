//! The windows of other pushes of the same gel: another needle, another speed.

use super::error::PlanError;
use super::heat_time::{draw_times, judge, prepare};
use super::setup::PushSetup;
use super::time_question::{TimeQuestion, Window};
use crate::fit::BlendCalibration;
use serde::Serialize;

/// The window of one push.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PushWindow {
    /// Whether there is a window.
    pub window_open: bool,
    /// The window, in s.
    pub heat_time_s: Window,
    /// What ends or closes it.
    pub limited_by: String,
}

/// The window of each of these pushes, by the draws that [`super::heat_time`] answers from, so that it
/// says the same when it is asked; nothing for a push that friction takes up.
///
/// # Errors
/// As for the question itself.
pub fn other_pushes(
    blend: &BlendCalibration,
    question: &TimeQuestion,
    setups: &[PushSetup],
) -> Result<Vec<Option<PushWindow>>, PlanError> {
    let [shortest, longest] = blend.range.heat_time_s;
    setups
        .iter()
        .map(|setup| {
            if setup.check_force(setup.force_limit_n).is_err() {
                return Ok(None);
            }
            let asked = TimeQuestion {
                setup: setup.clone(),
                ..question.clone()
            };
            let prepared = prepare(blend, &asked)?;
            let times = draw_times(&asked, &prepared, asked.varied, asked.draws);
            let verdict = judge(&times, shortest, longest, asked.extrapolate);
            Ok(Some(PushWindow {
                window_open: verdict.open,
                heat_time_s: verdict.window,
                limited_by: verdict.limited_by.to_owned(),
            }))
        })
        .collect()
}
