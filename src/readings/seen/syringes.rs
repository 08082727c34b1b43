//! The looks at one syringe, joined: not set until, set by.

use super::table::{Seen, SeenRow, SeenTable};
use crate::readings::error::{Counted, FaultList, Problem};
use crate::units::display;

/// What is known of one syringe by one criterion.
///
/// # Equation
/// `after_s < t_set <= by_s`: the last look at which it was not set, the first at which it was
#[derive(Debug, Clone, PartialEq)]
pub struct SeenSyringe {
    /// Places of its rows in the table.
    pub rows: Vec<usize>,
    /// Set temperature of the block.
    pub heat_temp_kelvin: f64,
    /// Latest time at which it was not set; 0 where none.
    pub after_s: f64,
    /// Earliest time at which it was set; infinite where none.
    pub by_s: f64,
    /// What counted as set.
    pub criterion: String,
    /// Its lot.
    pub lot: Option<String>,
    /// Its blend.
    pub blend: String,
    /// Its code, where it has one.
    pub syringe: Option<String>,
}

impl SeenTable {
    /// The syringes of a blend: rows with the same code in `syringe`, and the same file, session, lot,
    /// temperature and criterion, are looks at one syringe; a row without a code is a syringe.
    #[must_use]
    pub fn syringes(&self, blend: &str) -> Vec<SeenSyringe> {
        groups(&self.rows)
            .into_iter()
            .filter_map(|group| {
                let first = self.rows.get(*group.first()?)?;
                if first.details.blend_name() != blend {
                    return None;
                }
                let (after_s, by_s) = ends(&self.rows, &group);
                Some(SeenSyringe {
                    heat_temp_kelvin: first.heat_temp_kelvin,
                    after_s,
                    by_s,
                    criterion: first.criterion.clone(),
                    lot: first.details.lot.clone(),
                    blend: blend.to_owned(),
                    syringe: first.syringe.clone(),
                    rows: group,
                })
            })
            .collect()
    }
}

/// Places of used rows that say what was seen, one group a syringe and criterion.
fn groups(rows: &[SeenRow]) -> Vec<Vec<usize>> {
    let mut found: Vec<Vec<usize>> = Vec::new();
    let mut by_code: std::collections::HashMap<String, usize> = std::collections::HashMap::new();
    for (place, row) in rows.iter().enumerate() {
        if !row.details.used || row.seen.is_none() {
            continue;
        }
        let Some(code) = &row.syringe else {
            found.push(vec![place]);
            continue;
        };
        let d = &row.details;
        let key = format!(
            "{}\u{1f}{code}\u{1f}{}\u{1f}{:?}\u{1f}{:?}\u{1f}{}\u{1f}{:.6}",
            d.source,
            row.criterion,
            d.session,
            d.lot,
            d.blend_name(),
            row.heat_temp_kelvin
        );
        let group = *by_code.entry(key).or_insert_with(|| {
            found.push(Vec::new());
            found.len() - 1
        });
        if let Some(group) = found.get_mut(group) {
            group.push(place);
        }
    }
    found
}

fn ends(rows: &[SeenRow], group: &[usize]) -> (f64, f64) {
    let times = |seen: Seen| {
        group
            .iter()
            .filter_map(move |place| rows.get(*place))
            .filter(move |row| row.seen == Some(seen))
            .map(|row| row.heat_time_s)
    };
    (
        times(Seen::NotSet).fold(0.0, f64::max),
        times(Seen::Set).fold(f64::INFINITY, f64::min),
    )
}

/// Syringes that were set and later, or at the same time, were not.
pub(super) fn contradictions(rows: &[SeenRow], counted: Counted, faults: &mut FaultList) {
    for group in groups(rows) {
        let (after_s, by_s) = ends(rows, &group);
        if after_s < by_s {
            continue;
        }
        let line = |seen: Seen, time_s: f64| {
            group
                .iter()
                .filter_map(|place| rows.get(*place))
                .find(|row| row.seen == Some(seen) && row.heat_time_s == time_s)
        };
        let (Some(set), Some(not)) = (line(Seen::Set, by_s), line(Seen::NotSet, after_s)) else {
            continue;
        };
        faults.push(Problem {
            line: Some(not.details.line),
            counted,
            column: Some("seen".to_string()),
            found: Some(Seen::NotSet.to_string()),
            message: format!(
                "syringe \"{}\" was set at {} ({counted} {}) and is not-set here at {}",
                not.syringe.as_deref().unwrap_or_default(),
                display::duration(set.heat_time_s),
                set.details.line,
                display::duration(not.heat_time_s)
            ),
            remedy: Some(
                "check both looks; another syringe needs another code, or another session"
                    .to_string(),
            ),
            ..Problem::default()
        });
    }
}
