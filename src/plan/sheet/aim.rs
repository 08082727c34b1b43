//! The heat time that a sheet uses: the aim of an answer, as a clock is read.

use crate::plan::Window;

/// The aim rounded down to a step, so that nobody heats longer than the answer says; to the second, or
/// not at all, where the step would leave the window or the measured times.
///
/// # Equation
/// t = floor(aim/step) step, if t >= max(not before, shortest measured)
///
/// # Source
/// Common practice, no source.
#[must_use]
pub fn usable_aim_s(window: &Window, step_s: f64, shortest_s: f64) -> Option<f64> {
    let aim_s = window.aim.filter(|aim_s| aim_s.is_finite())?;
    let least_s = window.not_before.unwrap_or(0.0).max(shortest_s);
    let down = |step_s: f64| (aim_s / step_s + 1e-9).floor() * step_s;
    [down(step_s.max(1.0)), down(1.0)]
        .into_iter()
        .find(|t| *t >= least_s && *t > 0.0)
        .or(Some(aim_s))
}
