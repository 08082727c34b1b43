//! From a flow rate to the wall, for a curve of any shape.
//!
//! Everything hangs on one number between 0 and 1, the share
//! J = (1/(tau_w^3 g_w)) integral_0^g_w tau(g)^3 dg, with which the Weissenberg-Rabinowitsch
//! integral reads G = Q/(pi R^3) = g_w (1 - J)/3. It is 1/4 for a Newtonian liquid and
//! 1/(3n + 1) for a power law.

use super::root::{Sample, increasing_root};

/// What the search has to know of a curve at a shear rate at the wall.
pub(super) struct Wall {
    /// J.
    pub share: f64,
    /// d ln tau/d ln g there.
    pub local_index: f64,
}

/// G = Q/(pi R^3) at a shear rate at the wall.
pub(super) fn reduced_flow_per_s(wall_shear_rate_per_s: f64, share: f64) -> f64 {
    wall_shear_rate_per_s * (1.0 - share) / 3.0
}

/// ln of the shear rate at the wall for a G, between `low` and `high`.
pub(super) fn ln_wall_rate(
    reduced_flow_per_s: f64,
    (low, high): (f64, f64),
    start: f64,
    mut wall_at: impl FnMut(f64) -> Wall,
) -> f64 {
    let ln_target = (3.0 * reduced_flow_per_s).ln();
    increasing_root(low, high, start, |ln_rate| {
        let Wall { share, local_index } = wall_at(ln_rate);
        Sample {
            value: ln_rate + (-share).ln_1p() - ln_target,
            // d ln G/d ln tau_w = (g_w - 3 G)/G
            slope: 3.0 * share / (1.0 - share) * local_index,
        }
    })
}

/// Local flow index of the tube, n' = d ln tau_w/d ln (8V/D), from the wall.
pub(super) fn tube_index(wall_shear_rate_per_s: f64, reduced_flow_per_s: f64) -> f64 {
    reduced_flow_per_s / (wall_shear_rate_per_s - 3.0 * reduced_flow_per_s)
}
