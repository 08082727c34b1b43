//! Steady laminar flow in a round tube: Hagen-Poiseuille, power law, Buckingham-Reiner,
//! Herschel-Bulkley, and the general integral for what has no closed form.
//!
//! The functions here take values that [`super::PushConditions`] and
//! [`super::FlowCurve::checked`] or [`super::MeasuredCurve::new`] have let through (lengths, bores and flow rates finite
//! and above zero) and cannot fail on them; other values give a number without meaning.

use std::f64::consts::PI;

use super::tube_curve::TubeCurve;

/// A round tube: the needle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tube {
    /// Inner diameter.
    pub bore_m: f64,
    /// Length.
    pub length_m: f64,
}

impl Tube {
    /// Inner radius.
    #[must_use]
    pub const fn radius_m(&self) -> f64 {
        0.5 * self.bore_m
    }
}

/// What the gel meets at the tube's wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WallState {
    /// Shear stress at the wall.
    pub shear_stress_pa: f64,
    /// True shear rate at the wall.
    pub shear_rate_per_s: f64,
}

/// Shear stress at the wall under a pressure drop.
///
/// # Equation
/// tau_w = dP R/(2 L)
///
/// | symbol | field | unit |
/// |---|---|---|
/// | tau_w | returned | Pa |
/// | dP | `pressure_pa` | Pa |
/// | R | half of `tube.bore_m` | m |
/// | L | `tube.length_m` | m |
///
/// # Valid for
/// Any steady developed flow: it is a balance of forces.
///
/// # Source
/// R. B. Bird, W. E. Stewart, E. N. Lightfoot, Transport Phenomena, 2nd ed., 2002,
/// section 2.3.
///
/// # Example
/// ```
/// use heatset::flow::pipe::{Tube, wall_shear_stress_pa};
/// // Coulson & Richardson, Chemical Engineering vol. 1, problem 3.40: 350 Pa
/// let tube = Tube { bore_m: 70e-3, length_m: 2.0 };
/// assert!((wall_shear_stress_pa(tube, 4e4) - 350.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn wall_shear_stress_pa(tube: Tube, pressure_pa: f64) -> f64 {
    pressure_pa * tube.bore_m / (4.0 * tube.length_m)
}

/// Pressure drop that goes with a shear stress at the wall: [`wall_shear_stress_pa`] turned round.
#[must_use]
pub fn pressure_from_wall_shear_stress_pa(tube: Tube, wall_shear_stress_pa: f64) -> f64 {
    4.0 * tube.length_m * wall_shear_stress_pa / tube.bore_m
}

/// Mean velocity in a tube.
#[must_use]
pub fn mean_velocity_m_per_s(bore_m: f64, flow_rate_m3_per_s: f64) -> f64 {
    4.0 * flow_rate_m3_per_s / (PI * bore_m * bore_m)
}

/// Apparent shear rate at the wall: what a Newtonian liquid would have there.
///
/// # Equation
/// g_a = 4 Q/(pi R^3) = 8 V/D
///
/// | symbol | field | unit |
/// |---|---|---|
/// | g_a | returned | 1/s |
/// | Q | `flow_rate_m3_per_s` | m3/s |
/// | R, D | half of, and whole `bore_m` | m |
///
/// # Valid for
/// Laminar flow; true shear rate of a Newtonian liquid only.
///
/// # Source
/// Bird, Stewart & Lightfoot 2002, section 2.3.
///
/// # Example
/// ```
/// use heatset::flow::pipe::apparent_shear_rate_per_s;
/// // Chhabra & Richardson 2008, Example 3.1: true rate 526.4 1/s at n = 0.5, which is
/// // (3n+1)/(4n) = 1.25 of the apparent one
/// let rate_per_s = apparent_shear_rate_per_s(25e-3, 2500.0 / 3600.0 / 1075.0);
/// assert!((1.25 * rate_per_s - 526.4).abs() < 0.05);
/// ```
#[must_use]
pub fn apparent_shear_rate_per_s(bore_m: f64, flow_rate_m3_per_s: f64) -> f64 {
    32.0 * flow_rate_m3_per_s / (PI * bore_m * bore_m * bore_m)
}

/// True shear rate at the wall of a power-law liquid over the apparent one.
///
/// # Equation
/// g_w/g_a = (3 n + 1)/(4 n)
///
/// | symbol | field | unit |
/// |---|---|---|
/// | g_w/g_a | returned | 1 |
/// | n | `flow_index` | 1 |
///
/// # Valid for
/// Laminar flow, any n above zero.
///
/// # Source
/// Rabinowitsch's correction; Chhabra & Richardson 2008, equation 3.5 (number from memory).
#[must_use]
pub fn rabinowitsch_ratio(flow_index: f64) -> f64 {
    (3.0 * flow_index + 1.0) / (4.0 * flow_index)
}

/// Pressure drop of a Newtonian liquid (Hagen-Poiseuille).
///
/// # Equation
/// dP = 128 eta L Q/(pi D^4)
///
/// | symbol | field | unit |
/// |---|---|---|
/// | dP | returned | Pa |
/// | eta | `viscosity_pa_s` | Pa s |
/// | L, D | `tube` | m |
/// | Q | `flow_rate_m3_per_s` | m3/s |
///
/// # Valid for
/// Laminar developed flow: Reynolds number under 2100.
///
/// # Source
/// Bird, Stewart & Lightfoot 2002, equation 2.3-21 (number from memory).
///
/// # Example
/// ```
/// use heatset::flow::pipe::{Tube, hagen_poiseuille_pressure_pa};
/// // a textbook needle: 31.4 mm, 0.35 mm, 1 mPa s, 1 mL/s: 85 254.55 Pa
/// let tube = Tube { bore_m: 0.35e-3, length_m: 31.4e-3 };
/// let pressure_pa = hagen_poiseuille_pressure_pa(tube, 1e-3, 1e-6);
/// assert!((pressure_pa - 85_254.55).abs() < 0.01);
/// ```
#[must_use]
pub fn hagen_poiseuille_pressure_pa(
    tube: Tube,
    viscosity_pa_s: f64,
    flow_rate_m3_per_s: f64,
) -> f64 {
    let rate_per_s = apparent_shear_rate_per_s(tube.bore_m, flow_rate_m3_per_s);
    pressure_from_wall_shear_stress_pa(tube, viscosity_pa_s * rate_per_s)
}

/// Shear stress and shear rate at the wall for a flow rate.
///
/// # Equation
/// With G = Q/(pi R^3):
/// - Newtonian: g_w = 4 G, tau_w = eta g_w.
/// - Power law: g_w = (3n+1)/n G, tau_w = K g_w^n.
/// - Herschel-Bulkley, with f = tau_y/tau_w:
///   G = (tau_w/K)^(1/n) (1-f)^(1/n+1) [(1-f)^2/(1/n+3) + 2 f (1-f)/(1/n+2) + f^2/(1/n+1)].
/// - Bingham (Buckingham-Reiner): the same with n = 1,
///   G = tau_w/(4 mu) (1 - 4/3 f + f^4/3).
/// - Carreau-Yasuda, and any measured curve:
///   G = (1/3) [g_w - (1/tau_w^3) integral_0^g_w tau(g)^3 dg].
///
/// The last three are solved for the wall by a bracketed root. As Q goes to nothing,
/// tau_w goes to the yield stress.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | tau_w | `shear_stress_pa` | Pa |
/// | g_w | `shear_rate_per_s` | 1/s |
/// | Q | `flow_rate_m3_per_s` | m3/s |
/// | R | half of `bore_m` | m |
/// | eta, K, n, tau_y, mu | `curve` | |
///
/// # Valid for
/// Laminar developed flow without slip at the wall.
///
/// # Source
/// Chhabra & Richardson 2008, section 3.2 (power law equation 3.5, Bingham 3.13,
/// Herschel-Bulkley 3.14; equation numbers from memory); general integral: Weissenberg,
/// Rabinowitsch, in Bird, Armstrong & Hassager, Dynamics of Polymeric Liquids, vol. 1,
/// 2nd ed., 1987, section 10.2.
///
/// # Example
/// ```
/// use heatset::flow::{FlowCurve, pipe::wall_state};
/// // Steffe & Singh 1997, case 5: Bingham, tau_y 50 Pa, mu 0.34 Pa.s, 34.8 mm,
/// // 1.66 m/s, 1250 kg/m3: Fanning factor 0.114
/// let curve = FlowCurve::bingham(50.0, 0.34)?;
/// let flow_rate_m3_per_s = 1.66 * std::f64::consts::PI * 34.8e-3_f64.powi(2) / 4.0;
/// let wall = wall_state(&curve, 34.8e-3, flow_rate_m3_per_s);
/// let fanning = wall.shear_stress_pa / (0.5 * 1250.0 * 1.66_f64.powi(2));
/// assert!((fanning - 0.114).abs() < 0.0005);
/// # Ok::<(), heatset::flow::FlowError>(())
/// ```
#[must_use]
pub fn wall_state<C: TubeCurve + ?Sized>(
    curve: &C,
    bore_m: f64,
    flow_rate_m3_per_s: f64,
) -> WallState {
    curve.wall_at(0.25 * apparent_shear_rate_per_s(bore_m, flow_rate_m3_per_s))
}

/// Pressure drop of a tube for a flow rate: the stress of [`wall_state`] over the wall.
///
/// # Equation
/// dP = 2 L tau_w/R
///
/// | symbol | field | unit |
/// |---|---|---|
/// | dP | returned | Pa |
/// | L, R | `tube` | m |
/// | tau_w | [`wall_state`] | Pa |
///
/// # Valid for
/// As [`wall_state`].
///
/// # Source
/// As [`wall_state`].
///
/// # Example
/// ```
/// use heatset::flow::{FlowCurve, pipe::{Tube, pressure_drop_pa}};
/// // Chhabra & Richardson 2008, Example 3.1: 2500 kg/h, 1075 kg/m3, 25 mm, 10 m: 110 kPa
/// let curve = FlowCurve::power_law(3.0, 0.5)?;
/// let tube = Tube { bore_m: 25e-3, length_m: 10.0 };
/// let pressure_pa = pressure_drop_pa(&curve, tube, 2500.0 / 3600.0 / 1075.0);
/// assert!((pressure_pa - 110e3).abs() < 0.5e3);
/// # Ok::<(), heatset::flow::FlowError>(())
/// ```
#[must_use]
pub fn pressure_drop_pa<C: TubeCurve + ?Sized>(
    curve: &C,
    tube: Tube,
    flow_rate_m3_per_s: f64,
) -> f64 {
    let wall = wall_state(curve, tube.bore_m, flow_rate_m3_per_s);
    pressure_from_wall_shear_stress_pa(tube, wall.shear_stress_pa)
}

/// Flow rate under a pressure drop: [`pressure_drop_pa`] turned round.
///
/// # Equation
/// Q = pi R^3 G(tau_w), with G of [`wall_state`] and tau_w = dP R/(2 L). No flow at or
/// under the yield stress.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | Q | returned | m3/s |
/// | dP | `pressure_pa` | Pa |
/// | L, R | `tube` | m |
///
/// # Valid for
/// As [`wall_state`].
///
/// # Source
/// As [`wall_state`].
///
/// # Example
/// ```
/// use heatset::flow::{FlowCurve, pipe::{Tube, flow_rate_m3_per_s}};
/// // Schaum's College Physics, 12th ed., chapter 14, problem 29: 15 mL in 17 s
/// let blood = FlowCurve::newtonian(4e-3)?;
/// let needle = Tube { bore_m: 0.45e-3, length_m: 30e-3 };
/// let rate_m3_per_s = flow_rate_m3_per_s(&blood, needle, 80.0 * 1333.22);
/// assert!((15e-6 / rate_m3_per_s - 17.0).abs() < 0.5);
/// # Ok::<(), heatset::flow::FlowError>(())
/// ```
#[must_use]
pub fn flow_rate_m3_per_s<C: TubeCurve + ?Sized>(curve: &C, tube: Tube, pressure_pa: f64) -> f64 {
    let stress_pa = wall_shear_stress_pa(tube, pressure_pa);
    if stress_pa <= curve.yield_stress_pa() {
        return 0.0;
    }
    PI * tube.radius_m().powi(3) * curve.reduced_flow_per_s(stress_pa)
}
