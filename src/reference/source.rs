//! Where a figure comes from, and how well it is known.

use std::fmt;

use serde::Serialize;

/// How a figure of the reference tables is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Provenance {
    /// The figure was seen in the source named.
    #[serde(rename = "seen")]
    Seen,
    /// The figure was seen in a text that quotes the source named.
    #[serde(rename = "seen quoted")]
    SeenQuoted,
    /// The figure is remembered and was not looked up again.
    #[serde(rename = "from memory")]
    FromMemory,
    /// The figure was computed by the general packages named.
    #[serde(rename = "computed")]
    Computed,
    /// A figure of the trade, or a round default of ours.
    #[serde(rename = "common practice, no source")]
    CommonPractice,
}

impl Provenance {
    /// Every way in which a figure can be known.
    pub const ALL: [Self; 5] = [
        Self::Seen,
        Self::SeenQuoted,
        Self::FromMemory,
        Self::Computed,
        Self::CommonPractice,
    ];

    /// The words that stand in the column `how`.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Seen => "seen",
            Self::SeenQuoted => "seen quoted",
            Self::FromMemory => "from memory",
            Self::Computed => "computed",
            Self::CommonPractice => "common practice, no source",
        }
    }

    pub(super) fn from_words(words: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|how| how.as_str() == words)
    }
}

impl fmt::Display for Provenance {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.as_str())
    }
}

/// The source of one row of a reference table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Source {
    /// Title, standard, or author and year.
    #[serde(rename = "source")]
    pub text: &'static str,
    /// How the figure is known.
    pub how: Provenance,
    /// What else a reader must know of the figure.
    pub note: Option<&'static str>,
}

impl fmt::Display for Source {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{} ({})", self.text, self.how)?;
        match self.note {
            Some(note) => write!(out, "; {note}"),
            None => Ok(()),
        }
    }
}
