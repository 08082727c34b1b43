//! Heat times of equal plunger force over the block's temperature, for charts.

use super::crossing::first_conversion;
use super::error::PlanError;
use super::heat_time::{draw_times, point_draw, prepare};
use super::range_check::check_temperature;
use super::time_question::TimeQuestion;
use super::window::raw_window;
use crate::fit::BlendCalibration;

/// Heat times at one set temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct IsoForceTimes {
    /// Set temperature of the block, in K.
    pub set_kelvin: f64,
    /// Heat time at which the push first takes each force, by the point estimates, in s and in the
    /// order of the forces: 0 where it does from the first moment, infinite where it never does.
    pub heat_time_s: Vec<f64>,
    /// Heat time until which 19 syringes of 20 pass under the question's force limit, in s: 0 and
    /// infinite as above; none where no draws were asked for.
    pub not_beyond_s: Option<f64>,
}

/// Heat time on the clock at which the push first takes each force, at each set temperature: the
/// question's own temperature is not looked at. With draws also the end of the window there, from
/// as many of the draws that [`super::heat_time`] answers from.
///
/// # Equation
/// `F(conversion) = F` is solved for the conversion (in closed form where the flow index stays, else
/// by a bracketed root search), then the heat dose of that conversion for the clock.
///
/// # Valid for
/// Where a gel that thins as it sets takes a force more than once, the first time counts.
///
/// # Errors
/// As for [`super::heat_time`]: a temperature outside the measured ones unless the question asks for
/// it, one at boiling, a force limit that friction takes up.
pub fn iso_force_times(
    blend: &BlendCalibration,
    question: &TimeQuestion,
    set_kelvins: &[f64],
    plunger_forces_n: &[f64],
    draws: usize,
) -> Result<Vec<IsoForceTimes>, PlanError> {
    question.setup.check_force(question.setup.force_limit_n)?;
    set_kelvins
        .iter()
        .map(|&set_kelvin| {
            check_temperature(blend, set_kelvin, question.altitude_m, question.extrapolate)?;
            let here = TimeQuestion {
                set_kelvin,
                least: None,
                ..question.clone()
            };
            let prepared = prepare(blend, &here)?;
            let draw = point_draw(&prepared.gel);
            let setting = &prepared.gel.setting;
            let heat_time_s = plunger_forces_n
                .iter()
                .map(|&force_n| {
                    let fraction = first_conversion(&draw, &prepared.conditions, force_n);
                    setting.clock_time_for_conversion_s(set_kelvin, fraction)
                })
                .collect();
            let not_beyond_s = (draws > 0).then(|| {
                let times = draw_times(&here, &prepared, here.varied, draws);
                raw_window(&times.passes_until_s, None).not_beyond_s
            });
            Ok(IsoForceTimes {
                set_kelvin,
                heat_time_s,
                not_beyond_s,
            })
        })
        .collect()
}
