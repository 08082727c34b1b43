//! What the ends of the needle cost beyond the developed flow in it.

use std::f64::consts::PI;

use serde::Serialize;

use super::pipe::Tube;

/// Kinetic loss as a multiple of rho V^2.
///
/// Source: 1.12 to 1.16 in the literature of capillary viscometers, from memory.
const KINETIC_FACTOR: f64 = 1.16;

/// Pressure lost outside the developed flow in the needle, each part by its name.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct EndLosses {
    /// Creeping entrance and exit.
    #[serde(rename = "creeping")]
    pub creeping_pa: f64,
    /// Kinetic energy of the jet and of the developing profile.
    #[serde(rename = "kinetic")]
    pub kinetic_pa: f64,
    /// Developed flow in the hub; zero where no hub was stated.
    #[serde(rename = "hub")]
    pub hub_pa: f64,
}

impl EndLosses {
    /// All together.
    #[must_use]
    pub const fn total_pa(&self) -> f64 {
        self.creeping_pa + self.kinetic_pa + self.hub_pa
    }
}

/// Creeping end loss as a share of the developed loss: 3 pi R/(8 L).
pub(super) fn creeping_share(tube: Tube) -> f64 {
    3.0 * PI * tube.radius_m() / (8.0 * tube.length_m)
}

/// Kinetic end loss, Pa.
pub(super) fn kinetic_pa(density_kg_per_m3: f64, mean_velocity_m_per_s: f64) -> f64 {
    KINETIC_FACTOR * density_kg_per_m3 * mean_velocity_m_per_s * mean_velocity_m_per_s
}

/// Pressure lost at entrance and exit.
///
/// # Equation
/// creeping: 3 Q mu/R^3, which is 3 pi R/(8 L) of the developed loss 8 mu L Q/(pi R^4);
/// kinetic: 1.16 rho V^2.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | R, L | `tube` | m |
/// | mu | by `developed_pressure_pa` | Pa s |
/// | rho | `density_kg_per_m3` | kg/m3 |
/// | V | `mean_velocity_m_per_s` | m/s |
///
/// # Valid for
/// Newtonian liquids. For any other curve mu is the viscosity of the Newtonian liquid
/// with the same developed loss: a size, not a value. The hub is wide and is left out:
/// where it is not, [`super::hub_loss_pa`].
///
/// # Source
/// Z. Dagan, S. Weinbaum, R. Pfeffer, An infinite-series solution for the creeping motion
/// through an orifice of finite length, Journal of Fluid Mechanics 115, 1982, 505-523:
/// dP = (Q mu/R^3)(8 L/(pi R) + 3) in all, from memory.
///
/// # Example
/// ```
/// use heatset::flow::{Tube, end_losses, pipe::hagen_poiseuille_pressure_pa};
/// let (tube, flow_rate_m3_per_s) = (Tube { bore_m: 0.2e-3, length_m: 13e-3 }, 1e-9);
/// let developed_pa = hagen_poiseuille_pressure_pa(tube, 1.0, flow_rate_m3_per_s);
/// let ends = end_losses(tube, developed_pa, 1025.0, 0.0);
/// // 3 Q mu/R^3 = 3 x 1e-9 x 1/(1e-4)^3 = 3000 Pa
/// assert!((ends.total_pa() - 3000.0).abs() < 1e-6);
/// ```
#[must_use]
pub fn end_losses(
    tube: Tube,
    developed_pressure_pa: f64,
    density_kg_per_m3: f64,
    mean_velocity_m_per_s: f64,
) -> EndLosses {
    EndLosses {
        creeping_pa: creeping_share(tube) * developed_pressure_pa,
        kinetic_pa: kinetic_pa(density_kg_per_m3, mean_velocity_m_per_s),
        hub_pa: 0.0,
    }
}
