//! Whether the heat that came through the outside is the heat that is stored.

use super::time_stepping::HeatPassed;

/// Heat stored against heat passed, summed over the steps; in a radial field for one metre of barrel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeatBalance {
    /// Change of the heat stored in gel and wall.
    pub stored_j: f64,
    /// Heat that came through the outside, what left taken off.
    pub through_outside_j: f64,
    /// Heat that passed the outside in either direction.
    pub exchanged_j: f64,
}

impl HeatBalance {
    pub(super) fn new(stored_j: f64, passed: HeatPassed) -> Self {
        Self {
            stored_j,
            through_outside_j: passed.net,
            exchanged_j: passed.gross,
        }
    }

    /// What does not balance, as a share of the heat exchanged.
    ///
    /// # Equation
    /// `|stored - through|/exchanged`; 0 where no heat passed and none was stored.
    #[must_use]
    pub fn imbalance_ratio(&self) -> f64 {
        let difference = (self.stored_j - self.through_outside_j).abs();
        if difference == 0.0 {
            0.0
        } else {
            difference / self.exchanged_j
        }
    }
}
