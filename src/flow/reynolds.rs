//! Where laminar flow ends, and how far behind the entrance it is developed.

/// Reynolds number up to which the laminar law is taken to hold.
///
/// Source: A. B. Metzner, J. C. Reed, AIChE Journal 1, 1955, 434-440: 2100 for the
/// generalised number; Bird, Stewart & Lightfoot 2002, section 2.3, for Newtonian liquids.
pub const LAMINAR_LIMIT_REYNOLDS: f64 = 2100.0;

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
/// Metzner & Reed 1955, as cited at [`LAMINAR_LIMIT_REYNOLDS`].
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
