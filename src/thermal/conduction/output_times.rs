//! The times a caller asks for, and fields interpolated to them.

use super::error::ConductionError;
use super::time_stepping::StepTaken;

/// How far after the end of a schedule an output time may fall and still mean the end.
const END_SLACK_RATIO: f64 = 1e-9;

/// Times from 0 on in rising order, checked (two equal ones are allowed).
pub(super) fn checked_times(times_s: &[f64]) -> Result<(), ConductionError> {
    let mut before_s = 0.0;
    for (i, time_s) in times_s.iter().copied().enumerate() {
        if !(time_s.is_finite() && time_s >= before_s) {
            return Err(ConductionError::OutputTimes {
                place: i + 1,
                count: times_s.len(),
                time_s,
                before_s,
            });
        }
        before_s = time_s;
    }
    Ok(())
}

/// Times that also lie inside the schedule.
pub(super) fn checked_times_until(times_s: &[f64], end_s: f64) -> Result<(), ConductionError> {
    checked_times(times_s)?;
    match times_s.last() {
        Some(last) if *last > end_s * (1.0 + END_SLACK_RATIO) => {
            Err(ConductionError::OutputPastEnd {
                time_s: *last,
                end_s,
            })
        }
        _ => Ok(()),
    }
}

/// Collects fields at the asked times while steps are taken.
pub(super) struct Recorder<'a> {
    times_s: &'a [f64],
    next: usize,
    fields: Vec<f64>,
}

impl<'a> Recorder<'a> {
    /// A recorder that has already taken the start for every time at 0.
    pub(super) fn new(times_s: &'a [f64], start: &[f64]) -> Self {
        let mut recorder = Self {
            times_s,
            next: 0,
            fields: Vec::with_capacity(times_s.len() * start.len()),
        };
        while times_s
            .get(recorder.next)
            .is_some_and(|time_s| *time_s <= 0.0)
        {
            recorder.fields.extend_from_slice(start);
            recorder.next += 1;
        }
        recorder
    }

    /// Takes the fields of all asked times inside this step.
    ///
    /// # Equation
    /// Cubic Hermite with both ends' temperatures and slopes, `x` from 0 to 1 through the step `dt`:
    /// `T = T_0 + x^2 (3 - 2x) (T_1 - T_0) + dt x (1 - x) [(1 - x) T_0' - x T_1']`.
    pub(super) fn take(&mut self, offset_s: f64, step: &StepTaken<'_>) {
        let step_s = step.to_s - step.from_s;
        while let Some(time_s) = self.times_s.get(self.next) {
            let inside_s = time_s - offset_s - step.from_s;
            if inside_s > step_s {
                return;
            }
            let x = (inside_s / step_s).max(0.0);
            let rise = x * x * (3.0 - 2.0 * x);
            let by_first = step_s * x * (1.0 - x) * (1.0 - x);
            let by_second = -step_s * x * x * (1.0 - x);
            self.fields.extend(
                step.before
                    .iter()
                    .zip(step.after)
                    .zip(step.slope_before.iter().zip(step.slope_after))
                    .map(|((before, after), (first, second))| {
                        before + rise * (after - before) + by_first * first + by_second * second
                    }),
            );
            self.next += 1;
        }
    }

    /// All fields, one after the other; times that rounding left behind the end take the last field.
    pub(super) fn finish(mut self, last: &[f64]) -> Vec<f64> {
        while self.next < self.times_s.len() {
            self.fields.extend_from_slice(last);
            self.next += 1;
        }
        self.fields
    }
}
