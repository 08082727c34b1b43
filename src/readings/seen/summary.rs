//! What a table of what was seen covers, and what it cannot tell. Gaps are advice, never a refusal.

use super::syringes::SeenSyringe;
use super::table::{SeenTable, distinct};
use crate::units::display;

/// Temperatures nearer than this are one.
const SAME_KELVIN: f64 = 0.05;

/// What was seen at one temperature by one criterion of one blend.
#[derive(Debug, Clone, PartialEq)]
pub struct SeenAt {
    /// Blend.
    pub blend: String,
    /// What counted as set.
    pub criterion: String,
    /// Set temperature.
    pub heat_temp_kelvin: f64,
    /// Syringes that were set by some time and never seen not set.
    pub set_by: usize,
    /// Syringes that were never seen set.
    pub not_set: usize,
    /// Syringes seen not set and, later, set.
    pub between: usize,
    /// Latest time at which one was not set; none where none was.
    pub latest_not_set_s: Option<f64>,
    /// Earliest time at which one was set; none where none was.
    pub earliest_set_s: Option<f64>,
}

/// Something that what was seen cannot tell.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum SeenGap {
    /// All heated at one temperature.
    SingleTemperature {
        /// Blend.
        blend: String,
        /// The temperature.
        heat_temp_kelvin: f64,
    },
    /// Nothing but one answer at a temperature.
    OneSided(SeenAt),
    /// No overlap at any temperature: the scatter is not told.
    NoOverlap {
        /// Blend.
        blend: String,
        /// What counted as set.
        criterion: String,
    },
    /// One lot, or none named.
    OneLot,
    /// Pushes by which the set time is anchored to a force are missing.
    NoAnchor,
}

impl SeenGap {
    /// A short code, for programs.
    #[must_use]
    pub fn code(&self) -> &'static str {
        match self {
            Self::SingleTemperature { .. } => "single_temperature",
            Self::OneSided(_) => "one_sided",
            Self::NoOverlap { .. } => "no_overlap",
            Self::OneLot => "one_lot",
            Self::NoAnchor => "no_anchor",
        }
    }

    /// What is missing, what that means, and what to do.
    #[must_use]
    pub fn message(&self) -> String {
        match self {
            Self::SingleTemperature { blend, heat_temp_kelvin } => format!(
                "{blend}: all heated at {}: the activation energy cannot be found. Look at a few syringes five to ten degrees colder and hotter",
                display::temperature(*heat_temp_kelvin)
            ),
            Self::OneSided(at) => {
                let (all, helps) = match (at.earliest_set_s, at.latest_not_set_s) {
                    (Some(earliest), _) => (
                        "set",
                        format!("look before {}", display::duration(earliest)),
                    ),
                    (None, latest) => (
                        "not set",
                        format!("look after {}", display::duration(latest.unwrap_or(0.0))),
                    ),
                };
                format!(
                    "{}: every syringe at {} was {all} by '{}': when they set there is known from one side only. {}",
                    at.blend,
                    display::temperature(at.heat_temp_kelvin),
                    at.criterion,
                    capital(&helps)
                )
            }
            Self::NoOverlap { blend, criterion } => format!(
                "{blend}: at every temperature the last syringe that was not set by '{criterion}' comes before the first that was: how much set times scatter cannot be found. Look at several syringes at times between the two, or state the scatter: --hold scatter=0.15"
            ),
            Self::OneLot => {
                "one lot only, or none named: nothing is known about the next person's. Look at syringes of a second lot, better of four".to_owned()
            }
            Self::NoAnchor => {
                "no push was measured: the table tells when the gel sets, not how firm. One push of a syringe of known heat time through a known needle (force_N with the needle's columns) anchors it to a force".to_owned()
            }
        }
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().collect::<String>() + letters.as_str()
    })
}

/// What a table holds.
#[derive(Debug, Clone, PartialEq)]
pub struct SeenSummary {
    /// Rows, used or not.
    pub rows: usize,
    /// Rows that take part in the fit.
    pub used: usize,
    /// Syringes by blend, criterion and temperature, rising.
    pub at: Vec<SeenAt>,
    /// Rows by lot.
    pub by_lot: Vec<(Option<String>, usize)>,
    /// Pushes that anchor it to a force.
    pub anchors: usize,
    /// Gaps.
    pub gaps: Vec<SeenGap>,
}

/// Counts the syringes of a table and says what they cannot tell.
#[must_use]
pub fn summarise_seen(table: &SeenTable) -> SeenSummary {
    let mut at = Vec::new();
    let mut gaps = Vec::new();
    for blend in table.blends() {
        let syringes = table.syringes(&blend);
        let own = by_temperature(&syringes);
        let mut kelvins: Vec<f64> = own.iter().map(|at| at.heat_temp_kelvin).collect();
        kelvins.sort_by(f64::total_cmp);
        kelvins.dedup_by(|b, a| (*b - *a).abs() < SAME_KELVIN);
        if let [only] = kelvins.as_slice() {
            gaps.push(SeenGap::SingleTemperature {
                blend: blend.clone(),
                heat_temp_kelvin: *only,
            });
        }
        let one_sided = |at: &&SeenAt| at.earliest_set_s.is_none() || at.latest_not_set_s.is_none();
        gaps.extend(own.iter().filter(one_sided).cloned().map(SeenGap::OneSided));
        for criterion in distinct(own.iter().map(|at| at.criterion.clone())) {
            let overlaps = own
                .iter()
                .filter(|at| at.criterion == criterion)
                .any(overlap);
            if !overlaps {
                gaps.push(SeenGap::NoOverlap {
                    blend: blend.clone(),
                    criterion,
                });
            }
        }
        at.extend(own);
    }
    let used = table.rows.iter().filter(|row| row.details.used);
    let mut by_lot: Vec<(Option<String>, usize)> = Vec::new();
    for row in used.clone() {
        match by_lot.iter_mut().find(|(lot, _)| *lot == row.details.lot) {
            Some((_, rows)) => *rows += 1,
            None => by_lot.push((row.details.lot.clone(), 1)),
        }
    }
    if by_lot.iter().filter(|(lot, _)| lot.is_some()).count() < 2 {
        gaps.push(SeenGap::OneLot);
    }
    let anchors = used.clone().filter(|row| row.force_n.is_some()).count();
    if anchors == 0 {
        gaps.push(SeenGap::NoAnchor);
    }
    SeenSummary {
        rows: table.rows.len(),
        used: used.count(),
        at,
        by_lot,
        anchors,
        gaps,
    }
}

/// Whether some syringe was not set at a time by which another was, or several were looked at twice.
fn overlap(at: &SeenAt) -> bool {
    at.between > 1
        || at
            .latest_not_set_s
            .zip(at.earliest_set_s)
            .is_some_and(|(not, set)| not >= set)
}

fn by_temperature(syringes: &[SeenSyringe]) -> Vec<SeenAt> {
    let mut found: Vec<SeenAt> = Vec::new();
    for seen in syringes {
        let same = |at: &&mut SeenAt| {
            at.criterion == seen.criterion
                && (at.heat_temp_kelvin - seen.heat_temp_kelvin).abs() < SAME_KELVIN
        };
        let place = match found.iter_mut().find(same) {
            Some(at) => at,
            None => {
                found.push(SeenAt {
                    blend: seen.blend.clone(),
                    criterion: seen.criterion.clone(),
                    heat_temp_kelvin: seen.heat_temp_kelvin,
                    set_by: 0,
                    not_set: 0,
                    between: 0,
                    latest_not_set_s: None,
                    earliest_set_s: None,
                });
                let Some(last) = found.last_mut() else {
                    continue;
                };
                last
            }
        };
        let (below, above) = (seen.after_s > 0.0, seen.by_s.is_finite());
        match (below, above) {
            (true, true) => place.between += 1,
            (false, true) => place.set_by += 1,
            _ => place.not_set += 1,
        }
        if below || !above {
            let latest = place.latest_not_set_s.unwrap_or(0.0).max(seen.after_s);
            place.latest_not_set_s = Some(latest);
        }
        if above {
            let earliest = place.earliest_set_s.unwrap_or(f64::INFINITY).min(seen.by_s);
            place.earliest_set_s = Some(earliest);
        }
    }
    found.sort_by(|a, b| {
        a.criterion
            .cmp(&b.criterion)
            .then(a.heat_temp_kelvin.total_cmp(&b.heat_temp_kelvin))
    });
    found
}
