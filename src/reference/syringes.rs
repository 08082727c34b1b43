//! Syringe barrels.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::error::ReferenceError;
use super::source::Source;
use super::table::{Embedded, Parsed, Row, rows_of};

static SYRINGES: Parsed<Syringe> = Parsed::new();
const FILE: Embedded = Embedded {
    name: "syringes.csv",
    text: include_str!("../../shared/syringes.csv"),
};

/// What a barrel is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum BarrelMaterial {
    /// Disposable luer syringe of polypropylene.
    Polypropylene,
    /// Glass barrel.
    Glass,
}

impl BarrelMaterial {
    /// Every material of the table.
    pub const ALL: [Self; 2] = [Self::Polypropylene, Self::Glass];

    /// The word for the material, as it is typed.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Polypropylene => "polypropylene",
            Self::Glass => "glass",
        }
    }

    fn from_word(word: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|material| material.as_str().eq_ignore_ascii_case(word))
    }
}

impl fmt::Display for BarrelMaterial {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.pad(self.as_str())
    }
}

/// One row of the syringe table.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Syringe {
    /// What the barrel is made of.
    pub material: BarrelMaterial,
    /// Nominal volume.
    pub nominal_volume_m3: f64,
    /// Size as it is typed, such as `1mL` or `1mL-long`.
    pub label: &'static str,
    /// Inner diameter of the barrel.
    pub bore_m: f64,
    /// Least and greatest bore that makers or the standard give.
    pub bore_range_m: Option<(f64, f64)>,
    /// Thickness of the barrel's wall.
    pub wall_thickness_m: f64,
    /// Where the row comes from.
    #[serde(flatten)]
    pub source: Source,
}

impl Syringe {
    /// The name that [`find_syringe`] answers to: `1mL` for polypropylene, `glass:1mL` for glass.
    #[must_use]
    pub fn name(&self) -> String {
        match self.material {
            BarrelMaterial::Polypropylene => self.label.to_owned(),
            BarrelMaterial::Glass => format!("{}:{}", self.material, self.label),
        }
    }
}

impl FromStr for Syringe {
    type Err = ReferenceError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        find_syringe(text)
    }
}

fn syringe(row: &Row<'_>) -> Result<Syringe, ReferenceError> {
    let bore_m = row.positive_si("bore_mm")?;
    let bore_range_m = row
        .optional_si("bore_min_mm")?
        .zip(row.optional_si("bore_max_mm")?);
    if bore_range_m.is_some_and(|(least, greatest)| bore_m < least || bore_m > greatest) {
        return Err(row.fault("bore_mm", "the bore lies outside its own range"));
    }
    Ok(Syringe {
        material: row.parsed("material", BarrelMaterial::from_word)?,
        nominal_volume_m3: row.positive_si("nominal_mL")?,
        label: row.text("label")?,
        bore_m,
        bore_range_m,
        wall_thickness_m: row.positive_si("wall_thickness_mm")?,
        source: row.source()?,
    })
}

/// Every row of the syringe table.
///
/// # Errors
/// [`ReferenceError::BrokenTable`] where the embedded table cannot be read.
pub fn all_syringes() -> Result<&'static [Syringe], ReferenceError> {
    rows_of(&SYRINGES, FILE, syringe)
}

/// The syringe of a name: `1mL` (polypropylene), `polypropylene:5mL`, `glass:1mL-long`.
///
/// # Valid for
/// The rows of `shared/syringes.csv`. Makers differ: the bore of a 1 mL polypropylene
/// barrel is tabled from 4.61 to 4.90 mm, which is 13 % of force.
///
/// # Errors
/// [`ReferenceError::UnknownSyringe`] lists every name that the table answers to.
///
/// # Source
/// Polypropylene: open tables for syringe pumps. Glass: ISO 11040-4:2015, from memory.
///
/// # Example
/// ```
/// use heatset::reference::find_syringe;
/// assert_eq!(find_syringe("glass:1mL-long")?.bore_m, 6.35e-3);
/// # Ok::<(), heatset::reference::ReferenceError>(())
/// ```
pub fn find_syringe(name: &str) -> Result<Syringe, ReferenceError> {
    let syringes = all_syringes()?;
    let given = name.trim();
    let (material, label) = match given.split_once(':') {
        Some((material, label)) => (BarrelMaterial::from_word(material.trim()), label.trim()),
        None => (Some(BarrelMaterial::Polypropylene), given),
    };
    syringes
        .iter()
        .find(|row| Some(row.material) == material && row.label.eq_ignore_ascii_case(label))
        .copied()
        .ok_or_else(|| {
            let known: Vec<String> = syringes.iter().map(Syringe::name).collect();
            ReferenceError::UnknownSyringe {
                given: given.to_owned(),
                known: known.join(", "),
            }
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_syringe_table_parses_whole() {
        assert_eq!(all_syringes().unwrap().len(), FILE.text.lines().count() - 1);
    }

    #[test]
    fn every_syringe_answers_to_its_own_name() {
        for row in all_syringes().unwrap() {
            assert_eq!(find_syringe(&row.name()).unwrap(), *row);
        }
    }
}
