//! Relative centrifugal force from the speed of a rotor, and back.

use crate::reference::constants::STANDARD_GRAVITY_M_PER_S2;
use std::f64::consts::TAU;

/// Acceleration at a radius of a rotor, in multiples of the standard acceleration of gravity.
///
/// # Equation
/// RCF = omega^2 r/g, omega = 2 pi n; which is 1.118e-5 r n^2 with r in cm and n in rpm
///
/// | symbol | field | unit |
/// |---|---|---|
/// | RCF | returned | 1 |
/// | n | `speed_per_s`, revolutions a second | 1/s |
/// | r | `radius_m`, from the axis | m |
/// | g | standard gravity, 9.80665 | m/s2 |
///
/// # Valid for
/// The radius that is named: at the bottom of a tube it is larger than at the surface.
///
/// # Source
/// The constant 1.118e-5 of rotor handbooks and nomograms (from memory); g by the 3rd General
/// Conference on Weights and Measures, 1901.
///
/// # Example
/// ```
/// use heatset::plan::sheet::centrifuge::relative_centrifugal_force_ratio;
/// // 1 rpm at 1 cm is 1.118e-5, the constant of every nomogram
/// let ratio = relative_centrifugal_force_ratio(1.0 / 60.0, 0.01);
/// // (four digits: half a unit of the last is 0.0005)
/// assert!((ratio / 1e-5 - 1.118).abs() < 0.0005);
/// ```
#[must_use]
pub fn relative_centrifugal_force_ratio(speed_per_s: f64, radius_m: f64) -> f64 {
    let angular_speed_per_s = TAU * speed_per_s;
    angular_speed_per_s * angular_speed_per_s * radius_m / STANDARD_GRAVITY_M_PER_S2
}

/// Speed of a rotor, in revolutions a second, that gives a relative centrifugal force:
/// [`relative_centrifugal_force_ratio`] turned round.
#[must_use]
pub fn speed_for_relative_centrifugal_force_per_s(ratio: f64, radius_m: f64) -> f64 {
    (ratio * STANDARD_GRAVITY_M_PER_S2 / radius_m).sqrt() / TAU
}
