//! Friction of the stopper: what was measured, and what is assumed when nobody measured.

use serde::Serialize;

use super::error::ReferenceError;
use super::source::Source;
use super::table::{Embedded, Parsed, Row, rows_of};

static ROWS: Parsed<FrictionRow> = Parsed::new();
const FILE: Embedded = Embedded {
    name: "stopper_friction.csv",
    text: include_str!("../../shared/stopper_friction.csv"),
};

/// Slack of a size against the end of its row, so that 3 mL typed and 3 mL tabled agree.
const SIZE_SLACK_RATIO: f64 = 1e-9;

struct FrictionRow {
    kind: &'static str,
    volume_above_m3: Option<f64>,
    volume_up_to_m3: Option<f64>,
    bore_above_m: Option<f64>,
    bore_up_to_m: Option<f64>,
    friction: DefaultFriction,
}

/// A stopper friction with its range.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DefaultFriction {
    /// Friction.
    pub friction_n: f64,
    /// Least and greatest friction.
    pub friction_range_n: (f64, f64),
    /// Whether the value is carried on from other sizes, with nothing measured at this one.
    pub extrapolated: bool,
    /// Where the row comes from.
    #[serde(flatten)]
    pub source: Source,
}

fn friction_row(row: &Row<'_>) -> Result<FrictionRow, ReferenceError> {
    let friction_n = row.positive_si("friction_N")?;
    let friction_range_n = (
        row.positive_si("friction_low_N")?,
        row.positive_si("friction_high_N")?,
    );
    if friction_n < friction_range_n.0 || friction_n > friction_range_n.1 {
        return Err(row.fault("friction_N", "the friction lies outside its own range"));
    }
    Ok(FrictionRow {
        kind: row.text("kind")?,
        volume_above_m3: row.optional_si("volume_above_mL")?,
        volume_up_to_m3: row.optional_si("volume_up_to_mL")?,
        bore_above_m: row.optional_si("bore_above_mm")?,
        bore_up_to_m: row.optional_si("bore_up_to_mm")?,
        friction: DefaultFriction {
            friction_n,
            friction_range_n,
            extrapolated: row.parsed("extrapolated", |text| match text {
                "yes" => Some(true),
                "no" => Some(false),
                _ => None,
            })?,
            source: row.source()?,
        },
    })
}

fn default_row(
    quantity: &'static str,
    value: f64,
    ends: fn(&FrictionRow) -> (Option<f64>, Option<f64>),
) -> Result<DefaultFriction, ReferenceError> {
    let size = value * (1.0 - SIZE_SLACK_RATIO);
    rows_of(&ROWS, FILE, friction_row)?
        .iter()
        .filter(|row| row.kind == "default")
        .find(|row| {
            let (above, up_to) = ends(row);
            above.is_some_and(|above| size > above) && up_to.is_none_or(|up_to| size <= up_to)
        })
        .map(|row| row.friction)
        .ok_or(ReferenceError::SizeNotInTable { quantity, value })
}

/// The stopper friction that is assumed for a syringe of this volume when none was measured.
///
/// Measure it where you can: the plunger force of the empty or water-filled syringe.
///
/// # Valid for
/// 2 N up to 1 mL, 4 N above 1 and up to 10 mL; above 10 mL 6 N, `extrapolated`.
///
/// # Errors
/// [`ReferenceError::SizeNotInTable`] for a volume that is not above zero.
///
/// # Source
/// Common practice, no source. Measured beside it (Kiselev 2020): three-part syringe
/// about 2.3 N, dry two-part syringe 5.5 N.
///
/// # Example
/// ```
/// use heatset::reference::default_friction_n;
/// assert_eq!(default_friction_n(1e-6)?.friction_n, 2.0);
/// assert_eq!(default_friction_n(5e-6)?.friction_n, 4.0);
/// assert!(default_friction_n(20e-6)?.extrapolated);
/// # Ok::<(), heatset::reference::ReferenceError>(())
/// ```
pub fn default_friction_n(nominal_volume_m3: f64) -> Result<DefaultFriction, ReferenceError> {
    default_row("syringe volume in m3", nominal_volume_m3, |row| {
        (row.volume_above_m3, row.volume_up_to_m3)
    })
}

/// The stopper friction that is assumed for a barrel of this bore, where no volume is named.
///
/// # Valid for
/// Barrels up to 6.5 mm count as 1 mL syringes, up to 16 mm as 3 to 10 mL; above that
/// the value is `extrapolated`.
///
/// # Errors
/// [`ReferenceError::SizeNotInTable`] for a bore that is not above zero.
///
/// # Source
/// Common practice, no source.
///
/// # Example
/// ```
/// use heatset::reference::default_friction_for_bore_n;
/// assert_eq!(default_friction_for_bore_n(4.7e-3)?.friction_n, 2.0);
/// # Ok::<(), heatset::reference::ReferenceError>(())
/// ```
pub fn default_friction_for_bore_n(barrel_bore_m: f64) -> Result<DefaultFriction, ReferenceError> {
    default_row("barrel bore in m", barrel_bore_m, |row| {
        (row.bore_above_m, row.bore_up_to_m)
    })
}

/// The measured frictions of the table: kind of stopper and friction.
///
/// # Errors
/// [`ReferenceError::BrokenTable`] where the embedded table cannot be read.
///
/// # Source
/// Kiselev 2020.
pub fn measured_frictions() -> Result<Vec<(&'static str, DefaultFriction)>, ReferenceError> {
    Ok(rows_of(&ROWS, FILE, friction_row)?
        .iter()
        .filter(|row| row.kind != "default")
        .map(|row| (row.kind, row.friction))
        .collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_friction_table_parses_whole_and_its_default_rows_meet() {
        let rows = rows_of(&ROWS, FILE, friction_row).unwrap();
        assert_eq!(rows.len(), FILE.text.lines().count() - 1);
        let defaults: Vec<_> = rows.iter().filter(|row| row.kind == "default").collect();
        for pair in defaults.windows(2) {
            assert_eq!(pair[0].volume_up_to_m3, pair[1].volume_above_m3);
            assert_eq!(pair[0].bore_up_to_m, pair[1].bore_above_m);
        }
    }

    #[test]
    fn a_size_that_is_not_above_zero_has_no_default() {
        for size in [0.0, -1.0, f64::NAN] {
            assert!(default_friction_n(size).is_err());
            assert!(default_friction_for_bore_n(size).is_err());
        }
    }
}
