//! Which is the finest needle that a gel can be heated for.

use super::error::PlanError;
use super::heat_time::{Prepared, Times, answer_from, draw_times, heat_time, judge, prepare};
use super::setup::NeedleUsed;
use super::time_question::{TimeAnswer, TimeQuestion, Window};
use crate::fit::BlendCalibration;
use crate::reference::Wall;
use serde::Serialize;

/// The window of one needle.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NeedleWindow {
    /// Gauge.
    pub gauge: Option<u8>,
    /// Wall.
    pub wall: Option<Wall>,
    /// Bore, in m.
    pub bore_m: f64,
    /// Half-width of its rectangular tolerance, in m.
    pub bore_tolerance_m: Option<f64>,
    /// Length, in m.
    pub length_m: f64,
    /// Whether there is a window.
    pub window_open: bool,
    /// The window, in s.
    pub heat_time_s: Window,
    /// What ends or closes it.
    pub limited_by: String,
}

/// The answer for the finest of these needles whose window is open, with the windows of all; for
/// the widest where none is. The question comes back with the needle that it was answered for.
///
/// # Errors
/// As for [`heat_time`]. Without any needle the question's own is answered for.
pub fn finest_needle(
    blend: &BlendCalibration,
    question: &TimeQuestion,
    needles: &[NeedleUsed],
) -> Result<(TimeAnswer, TimeQuestion), PlanError> {
    let by_bore = widest_first(needles);
    let windows = needle_windows(blend, question, needles)?;
    let finest = windows.iter().rposition(|w| w.window_open).unwrap_or(0);
    let asked = by_bore
        .get(finest)
        .map_or_else(|| question.clone(), |needle| through(question, needle));
    let mut answer = heat_time(blend, &asked)?;
    answer.needles = Some(windows);
    Ok((answer, asked))
}

/// The same answer with the windows of those needles alone that had to be looked at for it: from the
/// finest on, until one is open.
///
/// # Errors
/// As for [`finest_needle`].
pub fn finest_needle_alone(
    blend: &BlendCalibration,
    question: &TimeQuestion,
    needles: &[NeedleUsed],
) -> Result<(TimeAnswer, TimeQuestion), PlanError> {
    let mut windows = Vec::new();
    let mut looked_at = None;
    for needle in widest_first(needles).into_iter().rev() {
        let looked = Looked::at(blend, question, needle)?;
        let window = looked.window(blend, needle);
        let open = window.window_open;
        windows.insert(0, window);
        looked_at = Some(looked);
        if open {
            break;
        }
    }
    // The finest that is open; where none is, the widest, which was the last that was looked at.
    let Some(looked) = looked_at else {
        return Ok((heat_time(blend, question)?, question.clone()));
    };
    let mut answer = answer_from(blend, &looked.asked, &looked.prepared, &looked.times)?;
    answer.needles = Some(windows);
    Ok((answer, looked.asked))
}

/// The window of each of these needles, the widest first.
///
/// # Errors
/// As for [`heat_time`].
pub fn needle_windows(
    blend: &BlendCalibration,
    question: &TimeQuestion,
    needles: &[NeedleUsed],
) -> Result<Vec<NeedleWindow>, PlanError> {
    widest_first(needles)
        .into_iter()
        .map(|needle| Ok(Looked::at(blend, question, needle)?.window(blend, needle)))
        .collect()
}

fn widest_first(needles: &[NeedleUsed]) -> Vec<&NeedleUsed> {
    let mut by_bore: Vec<&NeedleUsed> = needles.iter().collect();
    by_bore.sort_by(|a, b| b.bore_m.total_cmp(&a.bore_m));
    by_bore
}

fn through(question: &TimeQuestion, needle: &NeedleUsed) -> TimeQuestion {
    TimeQuestion {
        setup: question.setup.through(needle.clone()),
        ..question.clone()
    }
}

/// The draws through one needle.
struct Looked {
    asked: TimeQuestion,
    prepared: Prepared,
    times: Times,
}

impl Looked {
    fn at(
        blend: &BlendCalibration,
        question: &TimeQuestion,
        needle: &NeedleUsed,
    ) -> Result<Self, PlanError> {
        let asked = through(question, needle);
        let prepared = prepare(blend, &asked)?;
        let times = draw_times(&asked, &prepared, asked.varied, asked.draws);
        Ok(Self {
            asked,
            prepared,
            times,
        })
    }

    fn window(&self, blend: &BlendCalibration, needle: &NeedleUsed) -> NeedleWindow {
        let [shortest, longest] = blend.range.heat_time_s;
        let verdict = judge(&self.times, shortest, longest, self.asked.extrapolate);
        NeedleWindow {
            gauge: needle.gauge,
            wall: needle.wall,
            bore_m: needle.bore_m,
            bore_tolerance_m: needle.bore_tolerance_m,
            length_m: needle.length_m,
            window_open: verdict.open,
            heat_time_s: verdict.window,
            limited_by: verdict.limited_by.to_owned(),
        }
    }
}
