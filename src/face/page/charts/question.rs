//! What an address asks to be drawn, with what a first look needs where the address says nothing.

use super::kinds::{self, Kind, OF_ALL, OWN_SIZE, SIZE};
use crate::chart::ChartSize;
use crate::face::cli::for_page::Stated;
use crate::face::page::fields::{self, Typed};
use crate::face::page::pictures::check_size;
use crate::face::page::query::Asked;
use crate::face::page::shelf::Shelved;
use crate::units::display;

/// Key of the kind of chart.
pub(super) const KIND: &str = "kind";
/// The needle of a first look, where one is needed: a common one, no advice.
const FIRST_GAUGE: &str = "27";
/// Step of the heat time of a first look, in s.
const FIRST_STEP_S: f64 = 30.0;

/// What is to be drawn.
#[derive(Debug, Clone)]
pub(super) struct Question {
    /// The kind.
    pub(super) kind: &'static Kind,
    /// What was typed.
    pub(super) typed: Typed,
    /// The options that it states.
    pub(super) stated: Vec<Stated>,
}

impl Question {
    /// What an address asks.
    pub(super) fn of(asked: &Asked, shelved: &Shelved) -> Self {
        let kind = kinds::kind(asked.get(KIND));
        let fields = kind.fields.iter().chain(kind.more).chain(&OF_ALL).copied();
        let mut typed = Typed::of(asked, fields, &presets(kind, asked, shelved));
        let mut stated = typed.stated();
        let size = typed.value(OWN_SIZE.key()).or(typed.value(SIZE.key()));
        let read = size.map(|size| {
            let read = ChartSize::parse(size).map_err(|error| error.to_string());
            read.and_then(check_size).map(|()| size.to_owned())
        });
        match read {
            Some(Ok(size)) => stated.push(Stated {
                option: "size",
                value: Some(size),
            }),
            Some(Err(words)) if typed.value(OWN_SIZE.key()).is_some() => {
                typed.blame(OWN_SIZE.key(), words);
            }
            Some(Err(words)) => typed.blame(SIZE.key(), words),
            None => {}
        }
        Self {
            kind,
            typed,
            stated,
        }
    }
}

/// What stands in fields that an address leaves blank and the chart needs.
fn presets(kind: &Kind, asked: &Asked, shelved: &Shelved) -> Vec<(&'static str, String)> {
    let mut presets: Vec<_> = fields::first_blend(asked, shelved).into_iter().collect();
    let has = |keys: &[&str]| keys.iter().any(|key| asked.get(key).is_some());
    if kind.needs_needle && !has(&["bore_mm", "bore"]) {
        presets.push((fields::GAUGE.key(), FIRST_GAUGE.to_owned()));
    }
    // Syringes are compared through a needle or after a heat time, never both.
    let through_needle = kind.word == "syringes" && has(&["gauge", "bore_mm", "bore"]);
    if kind.needs_heat_time
        && !through_needle
        && let Some(blend) = fields::blend_of(asked.get(fields::BLEND.key()), shelved)
    {
        let [shortest_s, longest_s] = blend.range.heat_time_s;
        let middle_s = (shortest_s * longest_s).sqrt();
        let rounded_s = (middle_s / FIRST_STEP_S).round() * FIRST_STEP_S;
        let first_s = rounded_s.clamp(shortest_s, longest_s);
        presets.push((fields::HEAT_TIME.key(), display::at_most(first_s / 60.0, 4)));
    }
    presets
}
