//! The table of what was seen, in memory.

use crate::readings::kind::ReadingKind;
use crate::readings::row::{RowDetails, RunWithoutGel};
use crate::readings::table::{BenchTable, Source};
use serde::{Deserialize, Serialize};
use std::fmt;

/// What a table without a column `criterion` goes by.
pub const SEEN_CRITERION: &str = "set";

/// What somebody saw.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Seen {
    /// Not set yet.
    NotSet,
    /// Set.
    Set,
}

impl Seen {
    /// The word in the table.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::NotSet => "not-set",
            Self::Set => "set",
        }
    }

    /// Reads a word, blanks and underscores taken for hyphens.
    pub(crate) fn of_word(text: &str) -> Option<Self> {
        let word = text.trim().to_lowercase().replace([' ', '_'], "-");
        [Self::NotSet, Self::Set]
            .into_iter()
            .find(|seen| seen.as_str() == word)
    }
}

impl fmt::Display for Seen {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(self.as_str())
    }
}

/// One look at a syringe, or a push of one.
#[derive(Debug, Clone, PartialEq)]
pub struct SeenRow {
    /// Set temperature of the block.
    pub heat_temp_kelvin: f64,
    /// Heat time on the clock when it was looked at.
    pub heat_time_s: f64,
    /// What was seen; none on a row that was only pushed.
    pub seen: Option<Seen>,
    /// What counted as set.
    pub criterion: String,
    /// Code of the syringe, where it was looked at more than once.
    pub syringe: Option<String>,
    /// Plunger force of its push through the row's needle, in N: an anchor.
    pub force_n: Option<f64>,
    /// The rest of the row.
    pub details: RowDetails,
}

/// Rows of what was seen, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct SeenTable {
    /// The files, in the order named.
    pub sources: Vec<Source>,
    /// The rows.
    pub rows: Vec<SeenRow>,
    /// Pushes without gel, which tell the friction of the anchors' syringes.
    pub runs_without_gel: Vec<RunWithoutGel>,
    /// Columns that mean nothing here, each named once.
    pub unknown_columns: Vec<String>,
    /// True when a source says of itself that it is invented data.
    pub invented: bool,
}

impl SeenTable {
    /// The names of the files, for a sentence.
    #[must_use]
    pub fn file_names(&self) -> String {
        self.sources
            .iter()
            .map(|source| source.file.as_str())
            .collect::<Vec<_>>()
            .join(", ")
    }

    /// The blends, in the order in which they first stand in the table.
    #[must_use]
    pub fn blends(&self) -> Vec<String> {
        distinct(self.rows.iter().map(|row| row.details.blend_name()))
    }

    /// The criteria of the used rows of a blend, in the order in which they first stand.
    #[must_use]
    pub fn criteria(&self, blend: &str) -> Vec<String> {
        distinct(
            self.rows
                .iter()
                .filter(|row| row.details.used && row.seen.is_some())
                .filter(|row| row.details.blend_name() == blend)
                .map(|row| row.criterion.clone()),
        )
    }

    /// The pushes of a blend as a bench of plunger forces, and the places of its rows here; none where
    /// nothing was pushed.
    #[must_use]
    pub fn pushes(&self, blend: &str) -> Option<(BenchTable, Vec<usize>)> {
        let places: Vec<usize> = (0..self.rows.len())
            .filter(|place| {
                self.rows.get(*place).is_some_and(|row| {
                    row.force_n.is_some() && row.details.used && row.details.blend_name() == blend
                })
            })
            .collect();
        let rows: Vec<&SeenRow> = places.iter().filter_map(|p| self.rows.get(*p)).collect();
        if rows.is_empty() {
            return None;
        }
        let table = BenchTable {
            sources: self.sources.clone(),
            kind: ReadingKind::Force,
            heat_temp_kelvin: rows.iter().map(|row| row.heat_temp_kelvin).collect(),
            heat_time_s: rows.iter().map(|row| row.heat_time_s).collect(),
            reading: rows.iter().filter_map(|row| row.force_n).collect(),
            rows: rows.iter().map(|row| row.details.clone()).collect(),
            runs_without_gel: self.runs_without_gel.clone(),
            unknown_columns: Vec::new(),
            invented: self.invented,
        };
        Some((table, places))
    }
}

/// Names, each once, in the order in which they come.
pub(super) fn distinct(names: impl Iterator<Item = String>) -> Vec<String> {
    let mut seen = std::collections::HashSet::new();
    names.filter(|name| seen.insert(name.clone())).collect()
}
