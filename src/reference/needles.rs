//! Needle tubing by gauge, wall and basis of the bore.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::error::ReferenceError;
use super::source::Source;
use super::table::{Embedded, Parsed, Row, rows_of};

static NEEDLES: Parsed<Needle> = Parsed::new();
const FILE: Embedded = Embedded {
    name: "needle_tubing.csv",
    text: include_str!("../../shared/needle_tubing.csv"),
};

/// Wall of a needle. A thinner wall leaves a wider bore in the same gauge.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Serialize, Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum Wall {
    /// Regular wall.
    #[default]
    Regular,
    /// Thin wall.
    Thin,
    /// Extra-thin wall.
    ExtraThin,
    /// Ultra-thin wall.
    UltraThin,
}

impl Wall {
    /// Every wall, from thick to thin.
    pub const ALL: [Self; 4] = [Self::Regular, Self::Thin, Self::ExtraThin, Self::UltraThin];

    /// The word for the wall, as it is typed.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Regular => "regular",
            Self::Thin => "thin",
            Self::ExtraThin => "extra-thin",
            Self::UltraThin => "ultra-thin",
        }
    }
}

impl fmt::Display for Wall {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.pad(self.as_str())
    }
}

impl FromStr for Wall {
    type Err = ReferenceError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let given = text.trim();
        Self::ALL
            .into_iter()
            .find(|wall| wall.as_str().eq_ignore_ascii_case(given))
            .ok_or_else(|| ReferenceError::UnknownWall {
                given: given.to_owned(),
            })
    }
}

/// What a tabled bore is: the figure of the usual chart, or the least that the standard allows.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Serialize, Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum BoreBasis {
    /// The usual chart's bore, with its tolerance; regular wall only.
    #[default]
    Nominal,
    /// The least bore that ISO 9626 allows.
    Minimum,
}

impl BoreBasis {
    /// Both bases.
    pub const ALL: [Self; 2] = [Self::Nominal, Self::Minimum];

    /// The word for the basis, as it is typed.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Nominal => "nominal",
            Self::Minimum => "minimum",
        }
    }
}

impl fmt::Display for BoreBasis {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.pad(self.as_str())
    }
}

impl FromStr for BoreBasis {
    type Err = ReferenceError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let given = text.trim();
        Self::ALL
            .into_iter()
            .find(|basis| basis.as_str().eq_ignore_ascii_case(given))
            .ok_or_else(|| ReferenceError::UnknownBoreBasis {
                given: given.to_owned(),
            })
    }
}

/// One row of the needle table.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Needle {
    /// Gauge number: the larger, the finer.
    pub gauge: u8,
    /// Wall.
    pub wall: Wall,
    /// Inner diameter.
    pub bore_m: f64,
    /// What the bore is.
    pub bore_basis: BoreBasis,
    /// Half width of the bore's tolerance (plus or minus); a minimum has none.
    pub bore_tolerance_m: Option<f64>,
    /// Outer diameter: the chart's for a nominal row, the designated metric size for a
    /// row of the standard.
    pub outer_diameter_m: f64,
    /// Least and greatest outer diameter.
    pub outer_diameter_range_m: (f64, f64),
    /// Where the row comes from.
    #[serde(flatten)]
    pub source: Source,
}

fn needle(row: &Row<'_>) -> Result<Needle, ReferenceError> {
    let bore_m = row.positive_si("bore_mm")?;
    let outer_diameter_range_m = (
        row.positive_si("outer_diameter_min_mm")?,
        row.positive_si("outer_diameter_max_mm")?,
    );
    if bore_m >= outer_diameter_range_m.0 {
        return Err(row.fault("bore_mm", "the bore is not smaller than the outer diameter"));
    }
    Ok(Needle {
        gauge: row.parsed("gauge", |text| text.parse().ok())?,
        wall: row.parsed("wall", |text| text.parse().ok())?,
        bore_m,
        bore_basis: row.parsed("bore_basis", |text| text.parse().ok())?,
        bore_tolerance_m: row.optional_si("bore_tolerance_mm")?,
        outer_diameter_m: row.positive_si("outer_diameter_mm")?,
        outer_diameter_range_m,
        source: row.source()?,
    })
}

/// Every row of the needle table, by gauge, nominal before minimum, walls from thick to thin.
///
/// # Errors
/// [`ReferenceError::BrokenTable`] where the embedded table cannot be read.
pub fn all_needles() -> Result<&'static [Needle], ReferenceError> {
    rows_of(&NEEDLES, FILE, needle)
}

/// The needle of a gauge, a wall and a basis of the bore.
///
/// A nominal bore is tabled for the regular wall only: asked for the nominal bore of
/// another wall, the answer is the minimum, and its `bore_basis` says so.
///
/// # Valid for
/// The rows of `shared/needle_tubing.csv`: 10G to 34G.
///
/// # Errors
/// [`ReferenceError::UnknownGauge`] names the range of gauges,
/// [`ReferenceError::WallNotInTable`] the walls that the gauge has.
///
/// # Source
/// Nominal: the usual needle gauge chart (27G: 0.00825 in, 0.2095 mm).
/// Minimum: ISO 9626:2016, from memory (27G regular wall: 0.184 mm).
///
/// # Example
/// ```
/// use heatset::reference::{BoreBasis, Wall, find_needle};
/// let needle = find_needle(27, Wall::Regular, BoreBasis::Minimum)?;
/// assert_eq!(needle.bore_m, 0.184e-3);
/// # Ok::<(), heatset::reference::ReferenceError>(())
/// ```
pub fn find_needle(gauge: u8, wall: Wall, basis: BoreBasis) -> Result<Needle, ReferenceError> {
    let needles = all_needles()?;
    let same = |needle: &&Needle| needle.gauge == gauge && needle.wall == wall;
    let found = needles
        .iter()
        .filter(same)
        .find(|needle| needle.bore_basis == basis)
        .or_else(|| needles.iter().find(same));
    if let Some(needle) = found {
        return Ok(*needle);
    }
    let mut walls: Vec<Wall> = needles
        .iter()
        .filter(|needle| needle.gauge == gauge)
        .map(|needle| needle.wall)
        .collect();
    if walls.is_empty() {
        return Err(ReferenceError::UnknownGauge {
            gauge,
            widest_gauge: needles
                .iter()
                .map(|needle| needle.gauge)
                .min()
                .unwrap_or_default(),
            finest_gauge: needles
                .iter()
                .map(|needle| needle.gauge)
                .max()
                .unwrap_or_default(),
        });
    }
    walls.sort_unstable();
    walls.dedup();
    let walls: Vec<&str> = walls.into_iter().map(Wall::as_str).collect();
    Err(ReferenceError::WallNotInTable {
        gauge,
        wall,
        walls: walls.join(", "),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_needle_table_parses_whole() {
        let lines = FILE.text.lines().count() - 1;
        assert_eq!(all_needles().unwrap().len(), lines);
    }

    #[test]
    fn no_gauge_wall_and_basis_stands_twice() {
        let mut keys: Vec<_> = all_needles()
            .unwrap()
            .iter()
            .map(|n| (n.gauge, n.wall, n.bore_basis))
            .collect();
        let rows = keys.len();
        keys.sort_unstable();
        keys.dedup();
        assert_eq!(keys.len(), rows);
    }

    #[test]
    fn walls_and_bases_read_back_what_they_print() {
        for wall in Wall::ALL {
            assert_eq!(wall.to_string().parse::<Wall>().unwrap(), wall);
            assert_eq!(serde_json::to_string(&wall).unwrap(), format!("\"{wall}\""));
        }
        for basis in BoreBasis::ALL {
            assert_eq!(basis.to_string().parse::<BoreBasis>().unwrap(), basis);
        }
        assert!(
            "slim"
                .parse::<Wall>()
                .unwrap_err()
                .to_string()
                .contains("extra-thin")
        );
    }
}
