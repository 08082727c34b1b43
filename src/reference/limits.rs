//! What ISO 7886-1 allows of a hypodermic syringe: plunger forces and dead space.

use serde::Serialize;

use super::error::ReferenceError;
use super::source::Source;
use super::table::{Embedded, Parsed, Row, rows_of};

static FORCES: Parsed<PlungerForceLimit> = Parsed::new();
static DEAD_SPACES: Parsed<DeadSpace> = Parsed::new();
const FORCE_FILE: Embedded = Embedded {
    name: "plunger_force_limits.csv",
    text: include_str!("../../shared/plunger_force_limits.csv"),
};
const DEAD_SPACE_FILE: Embedded = Embedded {
    name: "dead_space.csv",
    text: include_str!("../../shared/dead_space.csv"),
};

/// Forces that the standard allows for moving the plunger of an empty syringe.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PlungerForceLimit {
    /// The row holds from this nominal volume on.
    pub nominal_from_m3: f64,
    /// The row holds below this nominal volume; nothing where it is open.
    pub nominal_below_m3: Option<f64>,
    /// Greatest force to start the plunger.
    pub initial_force_max_n: f64,
    /// Greatest mean force while it moves.
    pub mean_force_max_n: f64,
    /// Greatest force while it moves, as a ratio to the measured mean ...
    pub greatest_to_mean_ratio: f64,
    /// ... or as this much above the measured mean, whichever is larger.
    pub greatest_above_mean_n: f64,
    /// Where the row comes from.
    #[serde(flatten)]
    pub source: Source,
}

struct DeadSpace {
    nominal_from_m3: f64,
    nominal_below_m3: Option<f64>,
    greatest_m3: f64,
    source: Source,
}

fn force(row: &Row<'_>) -> Result<PlungerForceLimit, ReferenceError> {
    Ok(PlungerForceLimit {
        nominal_from_m3: row.si("nominal_from_mL")?,
        nominal_below_m3: row.optional_si("nominal_below_mL")?,
        initial_force_max_n: row.positive_si("initial_force_max_N")?,
        mean_force_max_n: row.positive_si("mean_force_max_N")?,
        greatest_to_mean_ratio: row.positive_si("greatest_to_mean_ratio")?,
        greatest_above_mean_n: row.positive_si("greatest_above_mean_N")?,
        source: row.source()?,
    })
}

fn dead_space(row: &Row<'_>) -> Result<DeadSpace, ReferenceError> {
    Ok(DeadSpace {
        nominal_from_m3: row.si("nominal_from_mL")?,
        nominal_below_m3: row.optional_si("nominal_below_mL")?,
        greatest_m3: row.positive_si("dead_space_max_mL")?,
        source: row.source()?,
    })
}

fn covers(from_m3: f64, below_m3: Option<f64>, volume_m3: f64) -> bool {
    volume_m3 > 0.0 && volume_m3 >= from_m3 && below_m3.is_none_or(|below| volume_m3 < below)
}

fn no_row(value: f64) -> ReferenceError {
    ReferenceError::SizeNotInTable {
        quantity: "syringe volume in m3",
        value,
    }
}

/// The plunger forces that the standard allows for a nominal volume.
///
/// # Valid for
/// Sterile hypodermic syringes for single use, empty.
///
/// # Errors
/// [`ReferenceError::SizeNotInTable`] for a volume that is not above zero.
///
/// # Source
/// ISO 7886-1:1993, Annex G, Table G.1 (informative), from memory.
///
/// # Example
/// ```
/// let limit = heatset::reference::plunger_force_limit(1e-6)?;
/// assert_eq!((limit.initial_force_max_n, limit.mean_force_max_n), (10.0, 5.0));
/// # Ok::<(), heatset::reference::ReferenceError>(())
/// ```
pub fn plunger_force_limit(nominal_volume_m3: f64) -> Result<PlungerForceLimit, ReferenceError> {
    rows_of(&FORCES, FORCE_FILE, force)?
        .iter()
        .find(|row| covers(row.nominal_from_m3, row.nominal_below_m3, nominal_volume_m3))
        .copied()
        .ok_or_else(|| no_row(nominal_volume_m3))
}

/// The greatest volume that may stay in a syringe when its plunger is home, with its source.
///
/// # Valid for
/// Sterile hypodermic syringes for single use.
///
/// # Errors
/// [`ReferenceError::SizeNotInTable`] for a volume that is not above zero.
///
/// # Source
/// ISO 7886-1:2018, partly seen quoted, partly from memory.
///
/// # Example
/// ```
/// let (dead_space_m3, _source) = heatset::reference::dead_space_max_m3(1e-6)?;
/// assert_eq!(dead_space_m3, 0.07e-6);
/// # Ok::<(), heatset::reference::ReferenceError>(())
/// ```
pub fn dead_space_max_m3(nominal_volume_m3: f64) -> Result<(f64, Source), ReferenceError> {
    rows_of(&DEAD_SPACES, DEAD_SPACE_FILE, dead_space)?
        .iter()
        .find(|row| covers(row.nominal_from_m3, row.nominal_below_m3, nominal_volume_m3))
        .map(|row| (row.greatest_m3, row.source))
        .ok_or_else(|| no_row(nominal_volume_m3))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_tables_of_the_syringe_standard_parse_whole_and_leave_no_gap() {
        let forces = rows_of(&FORCES, FORCE_FILE, force).unwrap();
        let spaces = rows_of(&DEAD_SPACES, DEAD_SPACE_FILE, dead_space).unwrap();
        assert_eq!(forces.len(), FORCE_FILE.text.lines().count() - 1);
        assert_eq!(spaces.len(), DEAD_SPACE_FILE.text.lines().count() - 1);
        for pair in forces.windows(2) {
            assert_eq!(pair[0].nominal_below_m3, Some(pair[1].nominal_from_m3));
        }
        for pair in spaces.windows(2) {
            assert_eq!(pair[0].nominal_below_m3, Some(pair[1].nominal_from_m3));
        }
    }

    #[test]
    fn a_volume_that_is_not_above_zero_has_no_row() {
        for volume in [0.0, -1e-6, f64::NAN] {
            assert!(plunger_force_limit(volume).is_err());
            assert!(dead_space_max_m3(volume).is_err());
        }
    }
}
