//! Which is the finest needle that a gel can be heated for.

use super::error::PlanError;
use super::heat_time::{draw_times, heat_time, judge, prepare};
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
/// As for [`heat_time`]; no needle at all.
pub fn finest_needle(
    blend: &BlendCalibration,
    question: &TimeQuestion,
    needles: &[NeedleUsed],
) -> Result<(TimeAnswer, TimeQuestion), PlanError> {
    let mut by_bore: Vec<&NeedleUsed> = needles.iter().collect();
    by_bore.sort_by(|a, b| b.bore_m.total_cmp(&a.bore_m));
    let through = |needle: &NeedleUsed| TimeQuestion {
        setup: question.setup.through(needle.clone()),
        ..question.clone()
    };
    let [shortest, longest] = blend.range.heat_time_s;
    let mut windows = Vec::with_capacity(by_bore.len());
    for needle in &by_bore {
        let asked = through(needle);
        let prepared = prepare(blend, &asked)?;
        let times = draw_times(&asked, &prepared, asked.varied, asked.draws);
        let verdict = judge(&times, shortest, longest, asked.extrapolate);
        windows.push(NeedleWindow {
            gauge: needle.gauge,
            wall: needle.wall,
            bore_m: needle.bore_m,
            bore_tolerance_m: needle.bore_tolerance_m,
            length_m: needle.length_m,
            window_open: verdict.open,
            heat_time_s: verdict.window,
            limited_by: verdict.limited_by.to_owned(),
        });
    }
    let finest = windows.iter().rposition(|w| w.window_open).unwrap_or(0);
    let asked = match by_bore.get(finest) {
        Some(needle) => through(needle),
        None => question.clone(),
    };
    let mut answer = heat_time(blend, &asked)?;
    answer.needles = Some(windows);
    Ok((answer, asked))
}
