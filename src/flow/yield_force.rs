//! The plunger force under which a gel with a yield stress does not move.

use super::pipe::pressure_from_wall_shear_stress_pa;
use super::push::PushConditions;
use super::tube_curve::TubeCurve;

/// Plunger force below which nothing flows.
///
/// # Equation
/// F_0 = (2 L tau_y/R + p_t) pi D_b^2/4 + F_f
///
/// | symbol | field | unit |
/// |---|---|---|
/// | F_0 | returned | N |
/// | tau_y | of the curve | Pa |
/// | R, L | of the needle | m |
/// | p_t | `tissue_pressure_pa` | Pa |
/// | D_b | `barrel_bore_m` | m |
/// | F_f | `friction_n` | N |
///
/// # Valid for
/// A gel that sticks to the wall of the needle: one that slips moves earlier. Entrance, exit
/// and hub would add to it and are left out. Without a yield stress tissue and friction are
/// all that is left.
///
/// # Source
/// Balance of forces on a plug, Chhabra & Richardson 2008, section 3.2.
///
/// # Example
/// ```
/// use heatset::flow::{FlowCurve, PushConditions, PushInputs, yield_force_n};
/// // 2 L tau_y/R = 2 x 13e-3 x 50/1e-4 = 13 kPa on 1 cm2 is 1.3 N, and 2 N of friction
/// let conditions = PushConditions::new(PushInputs {
///     bore_m: 0.2e-3,
///     length_m: 13e-3,
///     barrel_bore_m: (4e-4 / std::f64::consts::PI).sqrt(),
///     flow_rate_m3_per_s: 1e-6 / 60.0,
///     friction_n: 2.0,
///     tissue_pressure_pa: 0.0,
///     density_kg_per_m3: 1025.0,
///     include_end_losses: false,
/// })?;
/// let gel = FlowCurve::bingham(50.0, 1.0)?;
/// assert!((yield_force_n(&gel, &conditions) - 3.3).abs() < 1e-12);
/// # Ok::<(), heatset::flow::FlowError>(())
/// ```
#[must_use]
pub fn yield_force_n<C: TubeCurve + ?Sized>(curve: &C, conditions: &PushConditions) -> f64 {
    let inputs = conditions.inputs();
    let plug_pa = pressure_from_wall_shear_stress_pa(conditions.tube(), curve.yield_stress_pa());
    (plug_pa + inputs.tissue_pressure_pa) * conditions.barrel_area_m2() + inputs.friction_n
}
