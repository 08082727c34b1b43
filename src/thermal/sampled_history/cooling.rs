//! From where cooling is looked at, how finely, and what no cooling can be.

use crate::thermal::declared_history::DeclaredCooling;
use crate::thermal::warm_up::ThermalError;

/// Intervals of a cooling that counts.
pub(super) const COOLING_INTERVALS: usize = 16;
/// Every so many nodes of the warm-up, cooling is looked at.
const COOLING_EVERY: usize = 2;

pub(in crate::thermal) fn cooling_starts(nodes: usize) -> Vec<usize> {
    (0..nodes).step_by(COOLING_EVERY).collect()
}

pub(in crate::thermal) fn check_cooling(cooling: &DeclaredCooling) -> Result<(), ThermalError> {
    if cooling.cool_time_s.is_finite() && cooling.cool_time_s > 0.0 {
        Ok(())
    } else {
        Err(ThermalError::CoolTime {
            cool_time_s: cooling.cool_time_s,
        })
    }
}
