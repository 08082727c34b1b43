//! Heat transfer coefficients at the outside of a barrel: in the block, in still and in moving air.

use serde::Serialize;

use super::air::{air_properties, forced_air, still_air_about_barrel};
use super::error::ReferenceError;
use super::source::Source;
use super::table::{Embedded, Parsed, Row, rows_of};

static ROWS: Parsed<OutsideRow> = Parsed::new();
const FILE: Embedded = Embedded {
    name: "outside_coefficients.csv",
    text: include_str!("../../shared/outside_coefficients.csv"),
};

struct OutsideRow {
    place: &'static str,
    air_speed_m_per_s: Option<f64>,
    diameter_m: Option<f64>,
    coefficient: OutsideCoefficient,
}

/// A heat transfer coefficient with its range.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct OutsideCoefficient {
    /// Coefficient, at the outer face of the barrel.
    pub coefficient_w_per_m2_kelvin: f64,
    /// Least and greatest coefficient.
    pub coefficient_range_w_per_m2_kelvin: (f64, f64),
    /// Where it comes from.
    #[serde(flatten)]
    pub source: Source,
}

/// A coefficient of moving air as the table holds it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MovingAirRow {
    /// Speed of the air across the barrel.
    pub air_speed_m_per_s: f64,
    /// Outer diameter of the barrel.
    pub diameter_m: f64,
    /// The coefficient.
    #[serde(flatten)]
    pub coefficient: OutsideCoefficient,
}

fn outside_row(row: &Row<'_>) -> Result<OutsideRow, ReferenceError> {
    let coefficient = row.positive_si("coefficient_W_per_m2_K")?;
    let range = (
        row.positive_si("coefficient_low_W_per_m2_K")?,
        row.positive_si("coefficient_high_W_per_m2_K")?,
    );
    if coefficient < range.0 || coefficient > range.1 {
        return Err(row.fault(
            "coefficient_W_per_m2_K",
            "the coefficient lies outside its own range",
        ));
    }
    Ok(OutsideRow {
        place: row.text("place")?,
        air_speed_m_per_s: row.optional_si("air_speed_m_per_s")?,
        diameter_m: row.optional_si("diameter_mm")?,
        coefficient: OutsideCoefficient {
            coefficient_w_per_m2_kelvin: coefficient,
            coefficient_range_w_per_m2_kelvin: range,
            source: row.source()?,
        },
    })
}

fn of_place(place: &'static str) -> Result<OutsideCoefficient, ReferenceError> {
    rows_of(&ROWS, FILE, outside_row)?
        .iter()
        .find(|row| row.place == place)
        .map(|row| row.coefficient)
        .ok_or(ReferenceError::MissingProperty {
            material: place,
            property: "coefficient",
        })
}

/// The coefficient between a barrel and the well of a block.
///
/// # Valid for
/// A dry well that fits the barrel; 100 to 300 W/m2K. It is the least certain figure of a warm-up:
/// measure it.
///
/// # Errors
/// [`ReferenceError::BrokenTable`] where the embedded table cannot be read.
///
/// # Source
/// Texts on heat transfer, from memory. An air gap alone: [`air_gap_w_per_m2_kelvin`].
///
/// # Example
/// ```
/// let contact = heatset::reference::block_contact()?;
/// assert_eq!(contact.coefficient_w_per_m2_kelvin, 150.0);
/// assert_eq!(contact.coefficient_range_w_per_m2_kelvin, (100.0, 300.0));
/// # Ok::<(), heatset::reference::ReferenceError>(())
/// ```
pub fn block_contact() -> Result<OutsideCoefficient, ReferenceError> {
    of_place("block contact")
}

/// The coefficient that is assumed in air when nobody says what air.
///
/// # Valid for
/// Room air, from still (12) to 5 m/s (85 W/m2K).
///
/// # Errors
/// [`ReferenceError::BrokenTable`] where the embedded table cannot be read.
///
/// # Source
/// Common practice, no source.
pub fn default_air() -> Result<OutsideCoefficient, ReferenceError> {
    of_place("default air")
}

/// The coefficient of a barrel in still air, radiation included.
///
/// # Valid for
/// Barrels of 6 to 15 mm at 40 to 80 °C in a room. For one barrel and temperature:
/// [`still_air_about_barrel`].
///
/// # Errors
/// [`ReferenceError::BrokenTable`] where the embedded table cannot be read.
///
/// # Source
/// S. W. Churchill, H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1049, and radiation.
pub fn still_air() -> Result<OutsideCoefficient, ReferenceError> {
    of_place("still air with radiation")
}

/// The coefficients of moving air that the table holds, by rising speed, for an 8 mm barrel.
///
/// # Errors
/// [`ReferenceError::BrokenTable`] where the embedded table cannot be read.
///
/// # Source
/// S. W. Churchill, M. Bernstein, J. Heat Transfer 99 (1977) 300. Other speeds and barrels:
/// [`forced_air`].
pub fn moving_air_table() -> Result<Vec<MovingAirRow>, ReferenceError> {
    Ok(rows_of(&ROWS, FILE, outside_row)?
        .iter()
        .filter_map(|row| {
            Some(MovingAirRow {
                air_speed_m_per_s: row.air_speed_m_per_s?,
                diameter_m: row.diameter_m?,
                coefficient: row.coefficient,
            })
        })
        .collect())
}

/// The coefficient of air that moves across a barrel of any size at any speed, with the range of
/// the correlation. Where still air with radiation takes more, that is returned, and the source
/// says so.
///
/// # Equation
/// As [`forced_air`] at the mean of barrel and air temperature; range plus and minus 20 %.
///
/// # Valid for
/// As [`forced_air`].
///
/// # Errors
/// As [`forced_air`]; [`ReferenceError::BrokenTable`] where the embedded table cannot be read.
///
/// # Source
/// As [`forced_air`]; range: the scatter of the data that the correlation was made from, as
/// textbooks state it (from memory).
pub fn moving_air(
    air_speed_m_per_s: f64,
    diameter_m: f64,
    barrel_kelvin: f64,
    air_kelvin: f64,
) -> Result<OutsideCoefficient, ReferenceError> {
    let forced = forced_air(
        air_speed_m_per_s,
        diameter_m,
        0.5 * (barrel_kelvin + air_kelvin),
    )?;
    let still = still_air()?;
    let still_w_per_m2_kelvin = still_air_about_barrel(diameter_m, barrel_kelvin, air_kelvin, 0.9)?
        .coefficient_w_per_m2_kelvin;
    let moving = rows_of(&ROWS, FILE, outside_row)?
        .iter()
        .find(|row| row.air_speed_m_per_s.is_some())
        .map_or(still.source, |row| row.coefficient.source);
    let (h, source) = if forced.coefficient_w_per_m2_kelvin < still_w_per_m2_kelvin {
        (still_w_per_m2_kelvin, still.source)
    } else {
        (forced.coefficient_w_per_m2_kelvin, moving)
    };
    Ok(OutsideCoefficient {
        coefficient_w_per_m2_kelvin: h,
        coefficient_range_w_per_m2_kelvin: (0.8 * h, 1.2 * h),
        source,
    })
}

/// The coefficient of a thin gap of still air between a barrel and its well.
///
/// # Equation
/// `h = k / [R ln(1 + d/R)]`, referred to the barrel's outer face; `h = k/d` for a thin gap.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | k | conductivity of air at the gap's temperature | W/mK |
/// | d | `gap_m` | m |
/// | R | `barrel_outer_radius_m` | m |
///
/// # Valid for
/// Gaps under about 3 mm, in which air does not circulate, the barrel centred. Radiation adds 6 to
/// 9 W/m2K and is left out; a barrel that leans on the well's side gains.
///
/// # Errors
/// [`ReferenceError::SizeNotInTable`] for a gap, radius or temperature that is not above zero.
///
/// # Source
/// Conduction through a cylindrical layer: Incropera & DeWitt, Fundamentals of Heat and Mass
/// Transfer, eq. 3.28 (from memory).
///
/// # Example
/// A tenth of a millimetre of air at 300 K (26.3 mW/mK by the usual tables) lets 263 W/m2K through
/// a flat gap; a little less about a barrel of 3.25 mm.
/// ```
/// let h = heatset::reference::air_gap_w_per_m2_kelvin(1e-4, 3.25e-3, 300.0)?;
/// assert!((h / 263.0 - 1.0).abs() < 0.02);
/// # Ok::<(), heatset::reference::ReferenceError>(())
/// ```
pub fn air_gap_w_per_m2_kelvin(
    gap_m: f64,
    barrel_outer_radius_m: f64,
    gap_kelvin: f64,
) -> Result<f64, ReferenceError> {
    for (quantity, value) in [
        ("gap of air in m", gap_m),
        ("barrel radius in m", barrel_outer_radius_m),
    ] {
        if !(value.is_finite() && value > 0.0) {
            return Err(ReferenceError::SizeNotInTable { quantity, value });
        }
    }
    let air = air_properties(gap_kelvin)?;
    Ok(air.conductivity_w_per_m_kelvin
        / (barrel_outer_radius_m * (gap_m / barrel_outer_radius_m).ln_1p()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_of_coefficients_parses_whole_and_moving_air_rises_with_speed() {
        let rows = rows_of(&ROWS, FILE, outside_row).unwrap();
        assert_eq!(rows.len(), FILE.text.lines().count() - 1);
        let moving = moving_air_table().unwrap();
        assert_eq!(moving.len(), 4);
        for pair in moving.windows(2) {
            assert!(pair[0].air_speed_m_per_s < pair[1].air_speed_m_per_s);
            assert!(
                pair[0].coefficient.coefficient_w_per_m2_kelvin
                    < pair[1].coefficient.coefficient_w_per_m2_kelvin
            );
        }
    }
}
