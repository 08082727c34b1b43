//! The temperature up to which a barrel's material is rated.

use serde::Serialize;

use super::error::ReferenceError;
use super::source::Source;
use super::syringes::BarrelMaterial;
use super::table::{Embedded, Parsed, Row, rows_of};

static ROWS: Parsed<(&'static str, RatedTemperature)> = Parsed::new();
const FILE: Embedded = Embedded {
    name: "rated_temperatures.csv",
    text: include_str!("../../shared/rated_temperatures.csv"),
};

/// The temperature that a material is rated for under lasting load, with what charts give.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RatedTemperature {
    /// Rated temperature.
    pub rated_kelvin: f64,
    /// Least and greatest figure of the charts.
    pub rated_range_kelvin: (f64, f64),
    /// Where it comes from.
    #[serde(flatten)]
    pub source: Source,
}

fn rated_row(row: &Row<'_>) -> Result<(&'static str, RatedTemperature), ReferenceError> {
    let rated_kelvin = row.positive_si("rated_temp_C")?;
    let range = (
        row.positive_si("rated_low_C")?,
        row.positive_si("rated_high_C")?,
    );
    if rated_kelvin < range.0 || rated_kelvin > range.1 {
        return Err(row.fault("rated_temp_C", "the temperature lies outside its own range"));
    }
    Ok((
        row.text("material")?,
        RatedTemperature {
            rated_kelvin,
            rated_range_kelvin: range,
            source: row.source()?,
        },
    ))
}

/// The temperature up to which a barrel is rated: warn above it.
///
/// # Valid for
/// The barrel's material. Stopper, lubricant and hub are not covered; a maker's own figure goes
/// before this one.
///
/// # Errors
/// [`ReferenceError::BrokenTable`] where the embedded table cannot be read.
///
/// # Source
/// Charts of plastics for laboratory vessels, seen; borosilicate from memory.
///
/// # Example
/// ```
/// use heatset::reference::{BarrelMaterial, rated_temperature};
/// let rated = rated_temperature(BarrelMaterial::Polypropylene)?;
/// assert_eq!(rated.rated_kelvin, 373.15);
/// # Ok::<(), heatset::reference::ReferenceError>(())
/// ```
pub fn rated_temperature(material: BarrelMaterial) -> Result<RatedTemperature, ReferenceError> {
    let name = match material {
        BarrelMaterial::Polypropylene => "polypropylene",
        BarrelMaterial::Glass => "borosilicate",
    };
    rows_of(&ROWS, FILE, rated_row)?
        .iter()
        .find(|(material, _)| *material == name)
        .map(|(_, rated)| *rated)
        .ok_or(ReferenceError::MissingProperty {
            material: name,
            property: "rated temperature",
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_of_rated_temperatures_parses_whole() {
        let rows = rows_of(&ROWS, FILE, rated_row).unwrap();
        assert_eq!(rows.len(), FILE.text.lines().count() - 1);
    }
}
