//! The hub between syringe and needle, where it is narrow enough to count.

use serde::Serialize;

use super::error::{FlowError, FlowQuantity};
use super::gauss::panel_integral;
use super::pipe::{Tube, pressure_drop_pa, wall_state};
use super::tube_curve::TubeCurve;

/// A cone narrower than this at one end than at the other is cut into more panels.
const PANEL_RATIO: f64 = 2.0;
/// Two bores that differ by less are one.
const SAME_BORE_RATIO: f64 = 1e-6;

/// The inside of a hub: a cylinder, or a cone from the joint's bore to the needle's end of it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Hub {
    /// Bore at the joint.
    pub bore_m: f64,
    /// Bore where the needle begins; the same for a cylinder.
    pub needle_end_bore_m: f64,
    /// Length.
    pub length_m: f64,
}

impl Hub {
    /// A hub of one bore.
    ///
    /// # Errors
    /// [`FlowError`] for a bore or a length that is not finite and above zero.
    pub fn cylinder(bore_m: f64, length_m: f64) -> Result<Self, FlowError> {
        Self::cone(bore_m, bore_m, length_m)
    }

    /// A hub that narrows evenly.
    ///
    /// # Errors
    /// [`FlowError`] for a bore or a length that is not finite and above zero.
    pub fn cone(bore_m: f64, needle_end_bore_m: f64, length_m: f64) -> Result<Self, FlowError> {
        Ok(Self {
            bore_m: FlowQuantity::HubBore.positive(bore_m)?,
            needle_end_bore_m: FlowQuantity::HubBore.positive(needle_end_bore_m)?,
            length_m: FlowQuantity::HubLength.positive(length_m)?,
        })
    }
}

/// Pressure lost by the developed flow in a hub.
///
/// # Equation
/// dP = integral over the length of (2 tau_w(R)/R) dz, tau_w by
/// [`super::pipe::wall_state`] at the local radius R, which runs evenly from one end to the
/// other; for a cylinder 2 L tau_w/R.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | dP | returned | Pa |
/// | R | half of `bore_m` to half of `needle_end_bore_m` | m |
/// | z | `length_m` | m |
///
/// # Valid for
/// Laminar flow in a hub that narrows slowly (half angle under some 10 degrees); in a
/// steeper one stretching costs more than this.
///
/// # Source
/// Lubrication approximation: Bird, Stewart & Lightfoot 2002, problem 2B.10 for a Newtonian
/// liquid in a slightly tapered tube (number from memory).
///
/// # Example
/// ```
/// use heatset::flow::{FlowCurve, Hub, hub_loss_pa};
/// // Newtonian cone, in closed form: 8 mu Q L (R1^2 + R1 R2 + R2^2)/(3 pi R1^3 R2^3)
/// let (wide, narrow) = (1e-3_f64, 0.25e-3_f64);
/// let hub = Hub::cone(2.0 * wide, 2.0 * narrow, 8e-3)?;
/// let found_pa = hub_loss_pa(&FlowCurve::newtonian(0.5)?, &hub, 1e-8);
/// let closed_pa = 8.0 * 0.5 * 1e-8 * 8e-3 * (wide * wide + wide * narrow + narrow * narrow)
///     / (3.0 * std::f64::consts::PI * wide.powi(3) * narrow.powi(3));
/// assert!((found_pa / closed_pa - 1.0).abs() < 1e-9);
/// # Ok::<(), heatset::flow::FlowError>(())
/// ```
#[must_use]
pub fn hub_loss_pa<C: TubeCurve + ?Sized>(curve: &C, hub: &Hub, flow_rate_m3_per_s: f64) -> f64 {
    let narrowing = hub.bore_m - hub.needle_end_bore_m;
    if narrowing.abs() <= SAME_BORE_RATIO * hub.bore_m {
        let tube = Tube {
            bore_m: hub.bore_m,
            length_m: hub.length_m,
        };
        return pressure_drop_pa(curve, tube, flow_rate_m3_per_s);
    }
    // with ln D as the variable dz = L D/(D1 - D2) d ln D, and 4 tau_w/D becomes
    // 4 tau_w L/(D1 - D2)
    let (from, to) = (hub.needle_end_bore_m.ln(), hub.bore_m.ln());
    let panels = ((to - from).abs() / PANEL_RATIO.ln())
        .ceil()
        .clamp(1.0, 1e3);
    let step = (to - from) / panels;
    let sum: f64 = (0..panels as u32)
        .map(|number| {
            let start = from + f64::from(number) * step;
            panel_integral(start, start + step, |ln_bore| {
                wall_state(curve, ln_bore.exp(), flow_rate_m3_per_s).shear_stress_pa
            })
        })
        .sum();
    4.0 * hub.length_m * sum / narrowing
}
