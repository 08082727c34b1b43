//! Surface tension of serum and blood, which decides what a held bubble proves.

use serde::Serialize;

use super::error::ReferenceError;
use super::source::Source;
use super::table::{Embedded, Parsed, Row, rows_of};

static ROWS: Parsed<SurfaceTension> = Parsed::new();
const FILE: Embedded = Embedded {
    name: "surface_tension.csv",
    text: include_str!("../../shared/surface_tension.csv"),
};
/// A row up to this temperature counts as one of the room.
const WARMEST_ROOM_KELVIN: f64 = 298.15;

/// A measured surface tension.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SurfaceTension {
    /// Liquid.
    pub liquid: &'static str,
    /// Temperature.
    pub temperature_kelvin: f64,
    /// Surface tension.
    pub surface_tension_n_per_m: f64,
    /// Where it comes from.
    #[serde(flatten)]
    pub source: Source,
}

fn tension(row: &Row<'_>) -> Result<SurfaceTension, ReferenceError> {
    Ok(SurfaceTension {
        liquid: row.text("liquid")?,
        temperature_kelvin: row.positive_si("temp_C")?,
        surface_tension_n_per_m: row.positive_si("surface_tension_mN_per_m")? / 1e3,
        source: row.source()?,
    })
}

/// Every measured surface tension.
///
/// # Errors
/// A [`ReferenceError`] where the embedded table cannot be read.
pub fn surface_tensions() -> Result<&'static [SurfaceTension], ReferenceError> {
    rows_of(&ROWS, FILE, tension)
}

/// Least and greatest surface tension of the table at room temperature (up to 25 C).
///
/// None was found for plasma by itself: serum and blood stand for it, and the range is that
/// of the methods and the people.
///
/// # Errors
/// A [`ReferenceError`] where the embedded table cannot be read.
///
/// # Source
/// Rosina et al. 2007; Hrncir & Rosina 1997; and an older measurement by drop weight (seen).
///
/// # Example
/// ```
/// let (least, greatest) = heatset::reference::room_surface_tension_n_per_m()?;
/// assert_eq!((least, greatest), (52e-3, 58.71e-3));
/// # Ok::<(), heatset::reference::ReferenceError>(())
/// ```
pub fn room_surface_tension_n_per_m() -> Result<(f64, f64), ReferenceError> {
    let room = surface_tensions()?
        .iter()
        .filter(|row| row.temperature_kelvin <= WARMEST_ROOM_KELVIN)
        .map(|row| row.surface_tension_n_per_m);
    let (least, greatest) = room.fold((f64::INFINITY, 0.0_f64), |(low, high), value| {
        (low.min(value), high.max(value))
    });
    if least <= greatest {
        Ok((least, greatest))
    } else {
        Err(ReferenceError::MissingProperty {
            material: "serum",
            property: "surface_tension_mN_per_m",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_of_surface_tensions_parses_whole() {
        let rows = surface_tensions().unwrap();
        assert_eq!(rows.len(), FILE.text.lines().count() - 1);
    }

    #[test]
    fn the_serum_rows_are_the_published_line() {
        // Rosina et al. 2007: serum 66.072 - 0.368 t mN/m, t in C, printed to three decimals
        for (celsius, row) in [(20.0, 0), (37.0, 1)] {
            let line = 1e-3 * (66.072 - 0.368 * celsius);
            let found = surface_tensions().unwrap()[row].surface_tension_n_per_m;
            assert!((found - line).abs() < 0.006e-3, "{celsius}: {found}");
        }
    }
}
