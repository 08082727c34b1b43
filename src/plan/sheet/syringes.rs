//! How many syringes a volume fills, and what they take.

use serde::Serialize;

/// What does not come out again.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Losses {
    /// In each syringe with its plunger home, in m³: it is filled beside the graduated volume, and
    /// stays.
    pub dead_space_m3: f64,
    /// Once a session, in mixing and drawing up, in m³.
    pub session_m3: f64,
}

/// Gel that a number of syringes take.
///
/// # Equation
/// V = N (V_fill + V_dead) + V_loss
///
/// | symbol | field | unit |
/// |---|---|---|
/// | V | returned | m3 |
/// | N | `syringes` | 1 |
/// | V_fill | `fill_m3`, by the graduation | m3 |
/// | V_dead, V_loss | `losses` | m3 |
///
/// # Valid for
/// A nozzle that is filled, as it is where the air has been expelled.
///
/// # Source
/// Balance of volumes; the greatest dead space is that of ISO 7886-1 (`shared/dead_space.csv`).
///
/// # Example
/// ```
/// use heatset::plan::sheet::syringes::{Losses, gel_needed_m3};
/// // By hand: 8 (0.8 + 0.07) + 0.5 = 7.46 mL
/// let losses = Losses { dead_space_m3: 0.07e-6, session_m3: 0.5e-6 };
/// assert!((gel_needed_m3(8, 0.8e-6, &losses) - 7.46e-6).abs() < 1e-15);
/// ```
#[must_use]
pub fn gel_needed_m3(syringes: usize, fill_m3: f64, losses: &Losses) -> f64 {
    syringes as f64 * (fill_m3 + losses.dead_space_m3) + losses.session_m3
}

/// How many syringes a volume of gel fills: [`gel_needed_m3`] turned round, whole syringes.
#[must_use]
pub fn syringes_filled(gel_m3: f64, fill_m3: f64, losses: &Losses) -> usize {
    let each_m3 = fill_m3 + losses.dead_space_m3;
    // A hair of slack, so that what was reckoned backwards fills as many forwards.
    let count = (gel_m3 - losses.session_m3) / each_m3 + 1e-9;
    if count.is_finite() && count >= 1.0 {
        count.floor() as usize
    } else {
        0
    }
}

/// Gel that plasma and buffer make with the solution of hyaluronic acid.
///
/// # Equation
/// V = (V_p + V_buffer)/(1 - x)
///
/// | symbol | field | unit |
/// |---|---|---|
/// | V | returned | m3 |
/// | V_p, V_buffer | `plasma_m3`, `buffer_m3` | m3 |
/// | x | `ha_fraction`, of the whole | 1 |
///
/// # Valid for
/// Volumes that add when they are mixed; x under 1.
///
/// # Source
/// Definition of the volume fraction.
#[must_use]
pub fn gel_from_plasma_m3(plasma_m3: f64, buffer_m3: f64, ha_fraction: f64) -> f64 {
    (plasma_m3 + buffer_m3) / (1.0 - ha_fraction)
}

/// Plasma that a volume of gel takes: [`gel_from_plasma_m3`] turned round.
#[must_use]
pub fn plasma_for_gel_m3(gel_m3: f64, buffer_m3: f64, ha_fraction: f64) -> f64 {
    gel_m3 * (1.0 - ha_fraction) - buffer_m3
}
