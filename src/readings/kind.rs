//! The kinds of reading that a bench table can hold.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::limits::Limit;

/// The kind of reading that a table holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ReadingKind {
    /// Viscosity, Pa.s.
    Viscosity,
    /// Storage modulus, Pa.
    Modulus,
    /// Plunger force, N.
    Force,
    /// Any other measure that changes as the gel sets, in its own unit.
    Firmness,
    /// Time of a stated volume under a dead weight on the plunger, s.
    #[serde(rename = "run_time")]
    RunTime,
}

impl ReadingKind {
    /// The name in tables and documents: `viscosity`.
    pub fn name(self) -> &'static str {
        match self {
            ReadingKind::Viscosity => "viscosity",
            ReadingKind::Modulus => "modulus",
            ReadingKind::Force => "force",
            ReadingKind::Firmness => "firmness",
            ReadingKind::RunTime => "run_time",
        }
    }

    /// The SI unit, `au` for firmness.
    pub fn unit(self) -> &'static str {
        match self {
            ReadingKind::Viscosity => "Pa.s",
            ReadingKind::Modulus => "Pa",
            ReadingKind::Force => "N",
            ReadingKind::Firmness => "au",
            ReadingKind::RunTime => "s",
        }
    }

    /// The words for an axis or a sentence: `storage modulus`.
    pub fn quantity(self) -> &'static str {
        match self {
            ReadingKind::Viscosity => "viscosity",
            ReadingKind::Modulus => "storage modulus",
            ReadingKind::Force => "plunger force",
            ReadingKind::Firmness => "firmness",
            ReadingKind::RunTime => "run time",
        }
    }

    /// Whether a reading of this kind becomes a viscosity by way of its needle.
    #[must_use]
    pub fn is_push(self) -> bool {
        matches!(self, ReadingKind::Force | ReadingKind::RunTime)
    }

    /// What a reading of this kind may be.
    pub(crate) fn limit(self) -> Limit {
        match self {
            ReadingKind::Firmness => Limit::Any,
            _ => Limit::Positive,
        }
    }
}

impl fmt::Display for ReadingKind {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(self.name())
    }
}
