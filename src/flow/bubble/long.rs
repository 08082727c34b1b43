//! A bubble that fills the bore: stuck, or creeping along a film.

use super::super::root::{Sample, increasing_root};
use crate::reference::constants::STANDARD_GRAVITY_M_PER_S2;

/// rho g r^2/gamma below which a long bubble does not rise in a sealed vertical tube.
///
/// Source: F. P. Bretherton, The motion of long bubbles in tubes, Journal of Fluid Mechanics
/// 10, 1961, 166-188, abstract, doi 10.1017/S0022112061000160, seen: 0.842.
pub const CRITICAL_BOND_NUMBER: f64 = 0.842;
/// The same source's end of its relation for the speed: 1.04.
pub const LARGEST_BOND_NUMBER: f64 = 1.04;

/// What a bubble that fills the bore does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LongBubble {
    /// It does not rise, whatever the viscosity.
    Stuck,
    /// It rises at this speed.
    Creeps {
        /// Speed.
        speed_m_per_s: f64,
    },
    /// It rises faster than this, the speed at the end of the relation.
    FasterThan {
        /// Speed at the end of the relation.
        speed_m_per_s: f64,
    },
}

impl LongBubble {
    /// The speed, at least; zero where it is stuck.
    #[must_use]
    pub const fn speed_m_per_s(&self) -> f64 {
        match *self {
            Self::Stuck => 0.0,
            Self::Creeps { speed_m_per_s } | Self::FasterThan { speed_m_per_s } => speed_m_per_s,
        }
    }
}

/// Weight of the liquid against its surface tension, in a bore.
///
/// # Equation
/// Bo = rho g r^2/gamma
///
/// | symbol | field | unit |
/// |---|---|---|
/// | Bo | returned | 1 |
/// | r | half of `bore_m` | m |
/// | rho | `density_kg_per_m3` | kg/m3 |
/// | gamma | `surface_tension_n_per_m` | N/m |
///
/// # Valid for
/// Gas of no density to speak of.
///
/// # Source
/// Bretherton 1961, as cited at [`CRITICAL_BOND_NUMBER`].
#[must_use]
pub fn bond_number(bore_m: f64, density_kg_per_m3: f64, surface_tension_n_per_m: f64) -> f64 {
    density_kg_per_m3 * STANDARD_GRAVITY_M_PER_S2 * 0.25 * bore_m * bore_m / surface_tension_n_per_m
}

/// Bore up to which a long bubble is stuck in any liquid, water and unset plasma included.
///
/// # Equation
/// D_c = 2 sqrt(0.842 gamma/(rho g))
///
/// | symbol | field | unit |
/// |---|---|---|
/// | D_c | returned | m |
/// | gamma | `surface_tension_n_per_m` | N/m |
/// | rho | `density_kg_per_m3` | kg/m3 |
///
/// # Valid for
/// A vertical tube, sealed at one end, that the liquid wets.
///
/// # Source
/// Bretherton 1961, as cited at [`CRITICAL_BOND_NUMBER`].
///
/// # Example
/// ```
/// use heatset::flow::bubble::long::critical_bore_m;
/// // Bretherton's radius is 0.918 capillary lengths (Lamstaes & Eggers, 69th meeting of the
/// // APS Division of Fluid Dynamics, 2016, abstract)
/// let capillary_m = (56e-3_f64 / (1025.0 * 9.80665)).sqrt();
/// assert!((critical_bore_m(1025.0, 56e-3) / (2.0 * capillary_m) - 0.918).abs() < 0.0005);
/// ```
#[must_use]
pub fn critical_bore_m(density_kg_per_m3: f64, surface_tension_n_per_m: f64) -> f64 {
    let weight = density_kg_per_m3 * STANDARD_GRAVITY_M_PER_S2;
    2.0 * (CRITICAL_BOND_NUMBER * surface_tension_n_per_m / weight).sqrt()
}

/// How fast a bubble that fills the bore rises in a Newtonian liquid.
///
/// # Equation
/// Bo - 0.842 = 1.25 Ca^(2/9) + 2.24 Ca^(1/3), Ca = mu U/gamma; stuck for Bo under 0.842
///
/// | symbol | field | unit |
/// |---|---|---|
/// | U | `speed_m_per_s` | m/s |
/// | Bo | [`bond_number`] | 1 |
/// | mu | `viscosity_pa_s` | Pa s |
/// | gamma | `surface_tension_n_per_m` | N/m |
///
/// # Valid for
/// 0.842 < Bo < 1.04, to 10 % in Bo - 0.842; above it the bubble is faster than at 1.04,
/// which is what is returned.
///
/// # Source
/// Bretherton 1961, as cited at [`CRITICAL_BOND_NUMBER`].
///
/// # Example
/// ```
/// use heatset::flow::bubble::long::long_bubble;
/// // where Ca is 1e-6 the abstract's relation gives Bo = 0.842 + 0.058020 + 0.0224
/// let (tension, viscosity) = (56e-3_f64, 1.3e-3);
/// let bore_m = 2.0 * (0.922420 * tension / (1025.0 * 9.80665)).sqrt();
/// let speed = long_bubble(bore_m, 1025.0, tension, viscosity).speed_m_per_s();
/// assert!((viscosity * speed / tension / 1e-6 - 1.0).abs() < 1e-3);
/// ```
#[must_use]
pub fn long_bubble(
    bore_m: f64,
    density_kg_per_m3: f64,
    surface_tension_n_per_m: f64,
    viscosity_pa_s: f64,
) -> LongBubble {
    let bond = bond_number(bore_m, density_kg_per_m3, surface_tension_n_per_m);
    if bond <= CRITICAL_BOND_NUMBER {
        return LongBubble::Stuck;
    }
    let excess = bond.min(LARGEST_BOND_NUMBER) - CRITICAL_BOND_NUMBER;
    // y = Ca^(1/9): 1.25 y^2 + 2.24 y^3 rises from nothing, and is over the excess at 1
    let root = increasing_root(0.0, 1.0, (excess / 1.25).sqrt(), |y| Sample {
        value: y * y * (1.25 + 2.24 * y) - excess,
        slope: y * (2.5 + 6.72 * y),
    });
    let speed_m_per_s = root.powi(9) * surface_tension_n_per_m / viscosity_pa_s;
    if bond > LARGEST_BOND_NUMBER {
        LongBubble::FasterThan { speed_m_per_s }
    } else {
        LongBubble::Creeps { speed_m_per_s }
    }
}
