//! Forces that people push with.

use std::fmt;
use std::sync::OnceLock;

use serde::Serialize;

use super::error::ReferenceError;
use super::source::Source;
use super::table::{Embedded, Parsed, Row, rows_of};

static ROWS: Parsed<HandForce> = Parsed::new();
static HANDS: OnceLock<Result<Hands, ReferenceError>> = OnceLock::new();
const FILE: Embedded = Embedded {
    name: "hands.csv",
    text: include_str!("../../shared/hands.csv"),
};

struct HandForce {
    name: &'static str,
    from_n: Option<f64>,
    to_n: Option<f64>,
    source: Source,
}

fn hand_force(row: &Row<'_>) -> Result<HandForce, ReferenceError> {
    Ok(HandForce {
        name: row.text("name")?,
        from_n: row.optional_si("from_N")?,
        to_n: row.optional_si("to_N")?,
        source: row.source()?,
    })
}

/// How hard a push is, in the words of the publication.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PushBand {
    /// Under 12 N.
    Easy,
    /// 12 to 38 N.
    ConsiderableEffort,
    /// 38 to 64 N.
    GreatEffort,
    /// Over 64 N: not injectable, in the words of the publication.
    NotInjectable,
}

impl PushBand {
    /// The words of the publication.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Easy => "easy",
            Self::ConsiderableEffort => "considerable effort",
            Self::GreatEffort => "great effort",
            Self::NotInjectable => "not injectable",
        }
    }
}

impl fmt::Display for PushBand {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.pad(self.as_str())
    }
}

/// The published bands and limits of a push by hand. They speak of the hand only:
/// a push in an easy band says nothing of what is fit to inject.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Hands {
    /// Under this force a push is easy.
    pub easy_below_n: f64,
    /// From here on a push takes great effort; between is considerable effort.
    pub great_effort_from_n: f64,
    /// From here on the hands of the publication did not manage.
    pub not_injectable_from_n: f64,
    /// Where the bands come from.
    pub band_source: Source,
    /// Force to aim at: the default force limit of answers.
    pub target_n: f64,
    /// Greatest force; answers warn above it.
    pub at_most_n: f64,
    /// Where target and greatest force come from.
    pub limit_source: Source,
}

impl Hands {
    /// The band that a force falls in.
    #[must_use]
    pub fn band(&self, plunger_force_n: f64) -> PushBand {
        if plunger_force_n < self.easy_below_n {
            PushBand::Easy
        } else if plunger_force_n < self.great_effort_from_n {
            PushBand::ConsiderableEffort
        } else if plunger_force_n <= self.not_injectable_from_n {
            PushBand::GreatEffort
        } else {
            PushBand::NotInjectable
        }
    }
}

fn read_hands() -> Result<Hands, ReferenceError> {
    let rows = rows_of(&ROWS, FILE, hand_force)?;
    let find = |name: &'static str, end: fn(&HandForce) -> Option<f64>| {
        rows.iter()
            .find(|row| row.name == name)
            .and_then(|row| Some((end(row)?, row.source)))
            .ok_or(ReferenceError::MissingHandForce { name })
    };
    let (easy_below_n, band_source) = find(PushBand::Easy.as_str(), |row| row.to_n)?;
    let (great_effort_from_n, _) = find(PushBand::GreatEffort.as_str(), |row| row.from_n)?;
    let (not_injectable_from_n, _) = find(PushBand::NotInjectable.as_str(), |row| row.from_n)?;
    let (target_n, limit_source) = find("target", |row| row.to_n)?;
    let (at_most_n, _) = find("at most", |row| row.to_n)?;
    Ok(Hands {
        easy_below_n,
        great_effort_from_n,
        not_injectable_from_n,
        band_source,
        target_n,
        at_most_n,
        limit_source,
    })
}

/// The published bands and limits of a push by hand.
///
/// # Valid for
/// What the publications measured: adults, one thumb, short pushes. No range is given for others.
///
/// # Errors
/// A [`ReferenceError`] where the embedded table cannot be read.
///
/// # Source
/// Robinson et al. 2020: under 12 N easy, 12 to 38 considerable effort, 38 to 64 great
/// effort, over 64 not injectable. Watt et al. 2019: target 20 N, at most 40 N.
///
/// # Example
/// ```
/// let hands = heatset::reference::hands()?;
/// assert_eq!((hands.easy_below_n, hands.target_n, hands.at_most_n), (12.0, 20.0, 40.0));
/// # Ok::<(), heatset::reference::ReferenceError>(())
/// ```
pub fn hands() -> Result<Hands, ReferenceError> {
    HANDS.get_or_init(read_hands).clone()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_of_hand_forces_parses_whole_and_its_bands_meet() {
        let rows = rows_of(&ROWS, FILE, hand_force).unwrap();
        assert_eq!(rows.len(), FILE.text.lines().count() - 1);
        for pair in rows[..4].windows(2) {
            assert_eq!(pair[0].to_n, pair[1].from_n);
        }
        hands().unwrap();
    }
}
