//! A needle as a viscometer: a plunger force turned into a viscosity.

use serde::Serialize;

use super::error::FlowError;
use super::pipe::wall_shear_stress_pa;
use super::push::{PushConditions, pressure_for_force};

/// What a plunger force at a steady rate tells.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CapillaryReading {
    /// Apparent viscosity at the wall's apparent shear rate.
    pub viscosity_pa_s: f64,
    /// Shear stress at the needle's wall; true for every flow curve.
    pub wall_shear_stress_pa: f64,
    /// Apparent shear rate at the needle's wall; true for a Newtonian liquid.
    pub wall_shear_rate_per_s: f64,
}

/// Apparent viscosity from the plunger force of a push through a known needle.
///
/// # Equation
/// eta = (F - F_f)/(pi D_b^2/4) pi D^4/(128 L Q), at 32 Q/(pi D^3)
///
/// | symbol | field | unit |
/// |---|---|---|
/// | eta | `viscosity_pa_s` | Pa s |
/// | F | `plunger_force_n` | N |
/// | F_f | `friction_n` | N |
/// | D_b | `barrel_bore_m` | m |
/// | D, L | `bore_m`, `length_m` | m |
/// | Q | `flow_rate_m3_per_s` | m3/s |
///
/// Tissue pressure and end losses are taken off as well where the conditions carry them.
///
/// # Valid for
/// A Newtonian liquid in laminar flow. One rate cannot tell the flow index: for a gel that
/// thins, the true rate at the wall is (3n+1)/(4n) of this one, and the viscosity there
/// lower by as much. Several rates tell it: [`super::wall_slope`]; several lengths tell what the
/// ends take: [`super::end_correction()`].
///
/// # Errors
/// [`FlowError::NothingLeftForTheGel`] for a force at or under the friction.
///
/// # Source
/// Hagen-Poiseuille turned round: Bird, Stewart & Lightfoot 2002, Example 2.3-1.
///
/// # Example
/// ```
/// use heatset::flow::{PushConditions, PushInputs, viscosity_from_force};
/// // the textbook needle of 85 254.55 Pa at 1 mPa s (31.4 mm, 0.35 mm, 1 mL/s), on a
/// // plunger of 1 cm2 with 2 N of friction
/// let conditions = PushConditions::new(PushInputs {
///     bore_m: 0.35e-3,
///     length_m: 31.4e-3,
///     barrel_bore_m: (4e-4 / std::f64::consts::PI).sqrt(),
///     flow_rate_m3_per_s: 1e-6,
///     friction_n: 2.0,
///     tissue_pressure_pa: 0.0,
///     density_kg_per_m3: 1000.0,
///     include_end_losses: false,
/// })?;
/// let reading = viscosity_from_force(&conditions, 2.0 + 8.525455)?;
/// assert!((reading.viscosity_pa_s - 1e-3).abs() < 1e-9);
/// assert!(viscosity_from_force(&conditions, 2.0).is_err());
/// # Ok::<(), heatset::flow::FlowError>(())
/// ```
pub fn viscosity_from_force(
    conditions: &PushConditions,
    plunger_force_n: f64,
) -> Result<CapillaryReading, FlowError> {
    let pressure_pa = pressure_for_force(conditions, plunger_force_n)?;
    let stress_pa = wall_shear_stress_pa(conditions.tube(), pressure_pa);
    let rate_per_s = conditions.wall_shear_rate_per_s(1.0);
    Ok(CapillaryReading {
        viscosity_pa_s: stress_pa / rate_per_s,
        wall_shear_stress_pa: stress_pa,
        wall_shear_rate_per_s: rate_per_s,
    })
}
