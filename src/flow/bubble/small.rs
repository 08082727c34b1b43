//! A bubble smaller than the bore: what yield stress holds it, what viscosity hides it.

use crate::reference::constants::STANDARD_GRAVITY_M_PER_S2;

/// tau_y/(rho g R_b) from which on a bubble that stays round is held, by computation.
///
/// Source: J. Tsamopoulos, Y. Dimakopoulos, N. Chatzidai, G. Karapetsas, M. Pavlidis, Steady
/// bubble rise and deformation in Newtonian and viscoplastic fluids and conditions for bubble
/// entrapment, Journal of Fluid Mechanics 601, 2008, 123-164, abstract, seen: 0.143.
pub const COMPUTED_YIELD_NUMBER: f64 = 0.143;
/// The same from experiments in a gel.
///
/// Source: D. Sikorski, H. Tabuteau, J. R. de Bruyn, Motion and shape of bubbles rising
/// through a yield-stress fluid, Journal of Non-Newtonian Fluid Mechanics 159, 2009, 10-16,
/// from memory: 0.50.
pub const MEASURED_YIELD_NUMBER: f64 = 0.50;
/// Diameter of bubble over bore up to which [`wall_slowing_ratio`] is taken.
pub const LARGEST_WALL_RATIO: f64 = 0.6;

/// Yield stress that a held bubble shows at least, by two published criteria.
///
/// # Equation
/// tau_y >= Y rho g R_b, Y = 0.143 and 0.50
///
/// | symbol | field | unit |
/// |---|---|---|
/// | tau_y | returned, lower and higher | Pa |
/// | R_b | `bubble_radius_m` | m |
/// | rho | `density_kg_per_m3` | kg/m3 |
///
/// # Valid for
/// One bubble far from walls, of which R_b is the radius of a sphere with the same volume.
/// A long thin bubble rises earlier, a gel that is elastic before it yields later.
///
/// # Source
/// [`COMPUTED_YIELD_NUMBER`], [`MEASURED_YIELD_NUMBER`].
///
/// # Example
/// ```
/// use heatset::flow::bubble::small::held_yield_stress_pa;
/// // a bubble of 2 mm in diameter in plasma: 0.143 and 0.50 of 1025 x 9.80665 x 1e-3 Pa
/// let (lower, higher) = held_yield_stress_pa(1e-3, 1025.0);
/// assert!((lower - 1.4374).abs() < 1e-4 && (higher - 5.0259).abs() < 1e-4);
/// ```
#[must_use]
pub fn held_yield_stress_pa(bubble_radius_m: f64, density_kg_per_m3: f64) -> (f64, f64) {
    let buoyancy_pa = density_kg_per_m3 * STANDARD_GRAVITY_M_PER_S2 * bubble_radius_m;
    (
        COMPUTED_YIELD_NUMBER * buoyancy_pa,
        MEASURED_YIELD_NUMBER * buoyancy_pa,
    )
}

/// Yield stress that holds a bubble of any length in a tube.
///
/// # Equation
/// tau_y = rho g D/4: the buoyancy of a long slug, rho g (pi D^2/4) L, on the wall's pi D L
///
/// | symbol | field | unit |
/// |---|---|---|
/// | tau_y | returned | Pa |
/// | D | `bore_m` | m |
/// | rho | `density_kg_per_m3` | kg/m3 |
///
/// # Valid for
/// An upright tube whose gel sticks to the wall. It is enough; less may do.
///
/// # Source
/// Balance of forces.
///
/// # Example
/// ```
/// use heatset::flow::bubble::small::slug_yield_stress_pa;
/// // 1025 x 9.80665 x 4.7e-3/4 = 11.81 Pa
/// assert!((slug_yield_stress_pa(4.7e-3, 1025.0) - 11.81).abs() < 0.005);
/// ```
#[must_use]
pub fn slug_yield_stress_pa(bore_m: f64, density_kg_per_m3: f64) -> f64 {
    0.25 * density_kg_per_m3 * STANDARD_GRAVITY_M_PER_S2 * bore_m
}

/// Viscosity at which a bubble rises just so fast, far from walls: with a surface that
/// proteins have made stiff (Stokes), and with a clean one (Hadamard, Rybczynski).
///
/// # Equation
/// mu = 2 rho g R_b^2/(9 U) and rho g R_b^2/(3 U)
///
/// | symbol | field | unit |
/// |---|---|---|
/// | mu | returned, stiff and clean | Pa s |
/// | R_b | `bubble_radius_m` | m |
/// | rho | `density_kg_per_m3` | kg/m3 |
/// | U | `speed_m_per_s` | m/s |
///
/// # Valid for
/// A round bubble that creeps, in a Newtonian liquid without walls. Walls slow it: times
/// [`wall_slowing_ratio`] for the viscosity that is needed beside them.
///
/// # Source
/// Stokes; Hadamard 1911, Rybczynski 1911, in R. Clift, J. R. Grace, M. E. Weber, Bubbles,
/// Drops, and Particles, 1978, chapter 3 (from memory).
///
/// # Example
/// ```
/// use heatset::flow::bubble::small::hiding_viscosity_pa_s;
/// // radius 1 mm at 0.1 mm/s: 1025 x 9.80665 x 1e-6/(3 x 1e-4) = 33.5 Pa.s
/// let [stiff, clean] = hiding_viscosity_pa_s(1e-3, 1025.0, 1e-4);
/// assert!((clean - 33.5).abs() < 0.05 && (stiff / clean - 2.0 / 3.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn hiding_viscosity_pa_s(
    bubble_radius_m: f64,
    density_kg_per_m3: f64,
    speed_m_per_s: f64,
) -> [f64; 2] {
    let weight = density_kg_per_m3 * STANDARD_GRAVITY_M_PER_S2;
    let drive = weight * bubble_radius_m * bubble_radius_m / speed_m_per_s;
    [2.0 / 9.0 * drive, drive / 3.0]
}

/// Speed of a stiff sphere on the axis of a tube over that in a wide vessel.
///
/// # Equation
/// (1 - 2.105 x + 2.0865 x^3 - 1.7068 x^5 + 0.72603 x^6)/(1 - 0.75857 x^5)
///
/// | symbol | field | unit |
/// |---|---|---|
/// | x | `diameter_over_bore_ratio` | 1 |
///
/// # Valid for
/// Creeping flow, x up to 0.6: to 2 % up to 0.5, to 5 % at 0.6 (against the table of Happel &
/// Brenner, from memory).
///
/// # Source
/// W. L. Haberman, R. M. Sayre, David Taylor Model Basin report 1143, 1958, in J. Happel,
/// H. Brenner, Low Reynolds Number Hydrodynamics, section 7-3 (from memory).
///
/// # Example
/// ```
/// use heatset::flow::bubble::small::wall_slowing_ratio;
/// // Happel & Brenner, table 7-3.1 (from memory): 1.680 times slower at 0.2, 3.596 at 0.4
/// assert!((wall_slowing_ratio(0.2) * 1.680 - 1.0).abs() < 0.01);
/// assert!((wall_slowing_ratio(0.4) * 3.596 - 1.0).abs() < 0.01);
/// ```
#[must_use]
pub fn wall_slowing_ratio(diameter_over_bore_ratio: f64) -> f64 {
    let x = diameter_over_bore_ratio;
    (1.0 - 2.105 * x + 2.0865 * x.powi(3) - 1.7068 * x.powi(5) + 0.72603 * x.powi(6))
        / (1.0 - 0.75857 * x.powi(5))
}
