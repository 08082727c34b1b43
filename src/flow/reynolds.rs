//! Where laminar flow ends, and how far behind the entrance it is developed.

use super::pipe::{Tube, apparent_shear_rate_per_s};
use super::tube_curve::TubeCurve;

/// Reynolds number up to which the laminar law holds for a Newtonian liquid.
///
/// Source: Bird, Stewart & Lightfoot 2002, section 2.3: 2100. Other curves:
/// [`critical_reynolds`].
pub const LAMINAR_LIMIT_REYNOLDS: f64 = 2100.0;

/// Value of Ryan and Johnson's stability parameter at which laminar flow ends.
///
/// Source: N. W. Ryan, M. M. Johnson, AIChE Journal 5, 1959, 433-435, from memory: 808,
/// chosen so that a Newtonian liquid has 2100.
pub(super) const RYAN_JOHNSON_LIMIT: f64 = 808.0;

/// Metzner-Reed number at which the flow of a power-law liquid ceases to be laminar.
///
/// # Equation
/// Re_c = 6464 n (n + 2)^((n+2)/(n+1))/(3n + 1)^2
///
/// | symbol | field | unit |
/// |---|---|---|
/// | Re_c | returned | 1 |
/// | n | `flow_index` | 1 |
///
/// # Valid for
/// Inelastic liquids. It runs through 2400 near n = 0.4 and falls to 1600 at n = 0.1, where
/// measurements are scarce: laminar flow was seen up to 3100 at n = 0.38 (Dodge & Metzner
/// 1959), and up to 10 000 in viscoelastic solutions (Metzner & Park 1964). For other curves
/// n is the local index of the tube, d ln tau_w/d ln (8V/D).
///
/// # Source
/// Ryan & Johnson 1959, in R. P. Chhabra, J. F. Richardson, Non-Newtonian Flow in the Process
/// Industries, 1999, section 3.3; the formula from memory, its values 2100, 2400 and 1600 seen.
///
/// # Example
/// ```
/// use heatset::flow::reynolds::ryan_johnson_critical_reynolds;
/// // Chhabra & Richardson 1999, section 3.3: 2100, about 2400 at 0.4, 1600 at 0.1
/// assert!((ryan_johnson_critical_reynolds(1.0) - 2100.0).abs() < 5.0);
/// assert!((ryan_johnson_critical_reynolds(0.4) - 2400.0).abs() < 50.0);
/// assert!((ryan_johnson_critical_reynolds(0.1) - 1600.0).abs() < 50.0);
/// ```
#[must_use]
pub fn ryan_johnson_critical_reynolds(flow_index: f64) -> f64 {
    let n = flow_index;
    6464.0 * n * (n + 2.0).powf((n + 2.0) / (n + 1.0)) / (3.0 * n + 1.0).powi(2)
}

/// Metzner-Reed number at which the flow of a curve through a tube ceases to be laminar.
///
/// # Equation
/// Laminar while Z = (rho R/tau_w) max over r of u |du/dr| is under 808 (Ryan & Johnson).
/// - Power law: [`ryan_johnson_critical_reynolds`].
/// - Bingham: the plug fraction f where Z = 808 obeys f/(1 - f)^3 = He/16 800 with
///   He = rho D^2 tau_y/mu^2, and Re_c = (He/8f)(1 - 4/3 f + f^4/3)^2 (Hanks).
/// - Herschel-Bulkley: Z = rho R^2 (tau_w/K)^(2m) (1-f)^(2m+1)/tau_w
///   [m/(2m+1)]^(m/(m+1))/(2m+1), m = 1/n.
/// - Carreau-Yasuda and measured curves: the power law's, with the local index of the tube
///   at this flow.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | Re_c | returned | 1 |
/// | rho | `density_kg_per_m3` | kg/m3 |
/// | R, D | half of, and whole `tube.bore_m` | m |
/// | tau_y, mu, K, n | `curve` | |
///
/// # Valid for
/// Inelastic liquids in smooth tubes. For a flow index above 1.5 the yield stress is left
/// out. The number that it is held against is [`metzner_reed_reynolds`], not the one with
/// the plastic viscosity, (1 - 4/3 f + f^4/3) times as large, that Hanks used.
///
/// # Source
/// Ryan & Johnson 1959; R. W. Hanks, The laminar-turbulent transition for fluids with a
/// yield stress, AIChE Journal 9, 1963, 306-309, and R. W. Hanks, B. L. Ricks, Journal of
/// Hydronautics 8, 1974, 163 (both from memory; that they are one criterion was worked out
/// by hand, 404 of Hanks being half of 808, and is held by a test).
///
/// # Example
/// ```
/// use heatset::flow::{FlowCurve, Tube, reynolds::critical_reynolds};
/// // without its yield stress a Bingham liquid is Newtonian: 2100
/// let tube = Tube { bore_m: 34.8e-3, length_m: 1.0 };
/// let thin = FlowCurve::bingham(1e-6, 0.34)?;
/// assert!((critical_reynolds(&thin, tube, 1250.0, 1e-3) - 2100.0).abs() < 5.0);
/// # Ok::<(), heatset::flow::FlowError>(())
/// ```
#[must_use]
pub fn critical_reynolds<C: TubeCurve + ?Sized>(
    curve: &C,
    tube: Tube,
    density_kg_per_m3: f64,
    flow_rate_m3_per_s: f64,
) -> f64 {
    let reduced_per_s = 0.25 * apparent_shear_rate_per_s(tube.bore_m, flow_rate_m3_per_s);
    let wall = curve.wall_at(reduced_per_s);
    curve.critical_reynolds(tube.radius_m(), density_kg_per_m3, reduced_per_s, wall)
}

/// Generalised Reynolds number of Metzner and Reed.
///
/// # Equation
/// Re = 8 rho V^2/tau_w, so that the laminar Fanning friction factor is 16/Re for every
/// flow curve. For a Newtonian liquid it is rho V D/eta; for a power law
/// rho V^(2-n) D^n / (8^(n-1) K [(3n+1)/(4n)]^n).
///
/// | symbol | field | unit |
/// |---|---|---|
/// | Re | returned | 1 |
/// | rho | `density_kg_per_m3` | kg/m3 |
/// | V | `mean_velocity_m_per_s` | m/s |
/// | tau_w | `wall_shear_stress_pa` | Pa |
///
/// # Valid for
/// The stress of laminar flow, whatever the number that comes out.
///
/// # Source
/// A. B. Metzner, J. C. Reed, AIChE Journal 1, 1955, 434-440.
///
/// # Example
/// ```
/// use heatset::flow::reynolds::metzner_reed_reynolds;
/// // Steffe & Singh 1997, case 3: Re 323.9 at a wall stress of 85.0824 Pa
/// assert!((metzner_reed_reynolds(1250.0, 1.66, 85.0824) - 323.9).abs() < 0.05);
/// ```
#[must_use]
pub fn metzner_reed_reynolds(
    density_kg_per_m3: f64,
    mean_velocity_m_per_s: f64,
    wall_shear_stress_pa: f64,
) -> f64 {
    8.0 * density_kg_per_m3 * mean_velocity_m_per_s * mean_velocity_m_per_s / wall_shear_stress_pa
}

/// Length behind the entrance after which the flow is developed.
///
/// # Equation
/// L_e/D = [0.619^1.6 + (0.0567 Re)^1.6]^(1/1.6)
///
/// | symbol | field | unit |
/// |---|---|---|
/// | L_e | returned | m |
/// | D | `bore_m` | m |
/// | Re | `reynolds` | 1 |
///
/// # Valid for
/// Newtonian laminar flow from a flat profile; taken with the generalised Reynolds number
/// for the other curves, where it is a size, not a value.
///
/// # Source
/// F. Durst, S. Ray, B. Unsal, O. A. Bayoumi, The development lengths of laminar pipe and
/// channel flows, Journal of Fluids Engineering 127, 2005, 1154-1160, from memory. At
/// large Re it runs to 0.057 Re D, beside the 0.06 Re D of the textbooks.
///
/// # Example
/// ```
/// use heatset::flow::reynolds::entrance_length_m;
/// assert!((entrance_length_m(1.0, 1e-6) - 0.619).abs() < 1e-6);
/// assert!((entrance_length_m(1.0, 2000.0) / (0.06 * 2000.0) - 1.0).abs() < 0.06);
/// ```
#[must_use]
pub fn entrance_length_m(bore_m: f64, reynolds: f64) -> f64 {
    bore_m * (0.619_f64.powf(1.6) + (0.0567 * reynolds).powf(1.6)).powf(1.0 / 1.6)
}
