//! Both probabilities of the heat window over heat time, for charts.

use super::draws::quantile;
use super::error::PlanError;
use super::heat_time::{Times, draw_times, prepare};
use super::time_question::TimeQuestion;
use super::window::{RawWindow, probability_of_firmness, probability_of_passing, raw_window};
use crate::fit::BlendCalibration;

/// Share of the draws before which nothing is told apart.
const EARLY: f64 = 0.005;
/// Share of the draws that a curve need not show at its late end: few lots have a long tail there.
const LATE: f64 = 0.03;

/// Both probabilities at one heat time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WindowPoint {
    /// Heat time, in s.
    pub heat_time_s: f64,
    /// Probability that a syringe passes under the force limit.
    pub probability_of_passing: f64,
    /// Probability that it is firm enough; none where nothing was asked.
    pub probability_of_firmness: Option<f64>,
}

/// The draws behind a heat window, to be asked at any heat time.
pub struct WindowCurve {
    times: Times,
}

impl WindowCurve {
    /// Both probabilities at each heat time, in s.
    #[must_use]
    pub fn points(&self, times_s: &[f64]) -> Vec<WindowPoint> {
        times_s
            .iter()
            .map(|&heat_time_s| WindowPoint {
                heat_time_s,
                probability_of_passing: probability_of_passing(
                    &self.times.passes_until_s,
                    heat_time_s,
                ),
                probability_of_firmness: self
                    .times
                    .firm_from_s
                    .as_deref()
                    .map(|firm| probability_of_firmness(firm, heat_time_s)),
            })
            .collect()
    }

    /// Ends and aim before any range is looked at.
    #[must_use]
    pub fn window(&self) -> RawWindow {
        raw_window(
            &self.times.passes_until_s,
            self.times.firm_from_s.as_deref(),
        )
    }

    /// Heat times between which the probabilities move, in s; an end is infinite where they never
    /// come to rest.
    #[must_use]
    pub fn moving_s(&self) -> [f64; 2] {
        let passes = &self.times.passes_until_s;
        let ends = [quantile(passes, EARLY), quantile(passes, 1.0 - LATE)];
        match &self.times.firm_from_s {
            None => ends,
            Some(firm) => [
                ends[0].min(quantile(firm, EARLY)),
                ends[1].max(quantile(firm, 1.0 - LATE)),
            ],
        }
    }
}

/// The draws behind the window of a question: the same that [`super::heat_time`] answers from, so
/// that a chart and an answer say the same.
///
/// # Errors
/// As for [`super::heat_time`], short of its checks of force and range.
pub fn window_curve(
    blend: &BlendCalibration,
    question: &TimeQuestion,
) -> Result<WindowCurve, PlanError> {
    let prepared = prepare(blend, question)?;
    Ok(WindowCurve {
        times: draw_times(question, &prepared, question.varied, question.draws),
    })
}
