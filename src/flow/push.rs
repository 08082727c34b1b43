//! Needle, barrel, stopper and gel together: the force of the thumb.

use std::f64::consts::PI;

use serde::Serialize;

use super::end_losses::{EndLosses, creeping_share, end_losses, kinetic_pa};
use super::error::{FlowError, FlowQuantity};
use super::hub::{Hub, hub_loss_pa};
use super::pipe::{
    Tube, apparent_shear_rate_per_s, mean_velocity_m_per_s, pressure_from_wall_shear_stress_pa,
    rabinowitsch_ratio, wall_shear_stress_pa,
};
use super::reynolds::{entrance_length_m, metzner_reed_reynolds};
use super::tube_curve::TubeCurve;

/// What a push is made with.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PushInputs {
    /// Bore of the needle.
    pub bore_m: f64,
    /// Length of the needle.
    pub length_m: f64,
    /// Bore of the syringe's barrel.
    pub barrel_bore_m: f64,
    /// Flow rate.
    pub flow_rate_m3_per_s: f64,
    /// Friction of the stopper.
    pub friction_n: f64,
    /// Pressure at the needle's tip.
    pub tissue_pressure_pa: f64,
    /// Density of the gel.
    pub density_kg_per_m3: f64,
    /// Whether the losses at the needle's ends enter the force.
    pub include_end_losses: bool,
}

/// Inputs of a push that were looked at once; everything after it is free of refusals.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(transparent)]
pub struct PushConditions(PushInputs);

impl PushConditions {
    /// Looks at the inputs.
    ///
    /// # Errors
    /// [`FlowError`] where bore, length, barrel, flow rate or density is not finite and
    /// above zero, or friction or tissue pressure is not finite or is negative.
    pub fn new(inputs: PushInputs) -> Result<Self, FlowError> {
        FlowQuantity::Bore.positive(inputs.bore_m)?;
        FlowQuantity::Length.positive(inputs.length_m)?;
        FlowQuantity::BarrelBore.positive(inputs.barrel_bore_m)?;
        FlowQuantity::FlowRate.positive(inputs.flow_rate_m3_per_s)?;
        FlowQuantity::Density.positive(inputs.density_kg_per_m3)?;
        FlowQuantity::Friction.not_negative(inputs.friction_n)?;
        FlowQuantity::TissuePressure.not_negative(inputs.tissue_pressure_pa)?;
        Ok(Self(inputs))
    }

    /// The inputs as they were given.
    #[must_use]
    pub const fn inputs(&self) -> &PushInputs {
        &self.0
    }

    /// The needle.
    #[must_use]
    pub const fn tube(&self) -> Tube {
        Tube {
            bore_m: self.0.bore_m,
            length_m: self.0.length_m,
        }
    }

    /// Area that the plunger pushes on.
    #[must_use]
    pub fn barrel_area_m2(&self) -> f64 {
        0.25 * PI * self.0.barrel_bore_m * self.0.barrel_bore_m
    }

    /// Mean velocity in the needle.
    #[must_use]
    pub fn mean_velocity_m_per_s(&self) -> f64 {
        mean_velocity_m_per_s(self.0.bore_m, self.0.flow_rate_m3_per_s)
    }

    /// Shear rate at the needle's wall for a flow index; 1 for a Newtonian liquid.
    #[must_use]
    pub fn wall_shear_rate_per_s(&self, flow_index: f64) -> f64 {
        rabinowitsch_ratio(flow_index)
            * apparent_shear_rate_per_s(self.0.bore_m, self.0.flow_rate_m3_per_s)
    }
}

/// What a push takes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Push {
    /// Loss of the developed laminar flow in the needle.
    pub pressure_pa: f64,
    /// Pressure in the barrel, which the luer joint must hold: needle, tissue, and the
    /// ends where they are counted.
    pub joint_pressure_pa: f64,
    /// Force of the thumb on the plunger rod.
    pub plunger_force_n: f64,
    /// Shear stress at the needle's wall.
    pub wall_shear_stress_pa: f64,
    /// True shear rate at the needle's wall.
    pub wall_shear_rate_per_s: f64,
    /// Viscosity at that shear rate.
    pub apparent_viscosity_pa_s: f64,
    /// Generalised Reynolds number.
    pub reynolds: f64,
    /// The value of it up to which this curve flows laminar.
    pub critical_reynolds: f64,
    /// Whether the laminar law holds: the one number is not above the other.
    pub laminar: bool,
    /// Loss at entrance, exit and hub; in the force only where the inputs ask for it.
    pub end_loss_pa: f64,
    /// The same by its parts.
    pub end_losses: EndLosses,
    /// Length behind the entrance after which the flow is developed.
    pub entrance_length_m: f64,
}

/// Pressure and plunger force for a flow curve.
///
/// Never refuses: see [`super::warnings`] for where the figures stop holding.
///
/// # Equation
/// F = (dP + p_t [+ dP_ends]) pi D_b^2/4 + F_f
///
/// | symbol | field | unit |
/// |---|---|---|
/// | F | `plunger_force_n` | N |
/// | dP | `pressure_pa` | Pa |
/// | p_t | `tissue_pressure_pa` | Pa |
/// | dP_ends | `end_loss_pa` | Pa |
/// | D_b | `barrel_bore_m` | m |
/// | F_f | `friction_n` | N |
///
/// # Valid for
/// Steady laminar flow of a curve that [`super::FlowCurve::checked`] or
/// [`super::MeasuredCurve::new`] lets through; the hub is wide and left out.
///
/// # Source
/// Balance of forces on the plunger; dP as [`super::pipe::wall_state`], ends as
/// [`end_losses`], Reynolds number as [`metzner_reed_reynolds`], its limit as
/// [`super::reynolds::critical_reynolds`].
///
/// # Example
/// ```
/// use heatset::flow::{FlowCurve, PushConditions, PushInputs, push};
/// // water, 20 mL in 20 s through 0.2 mm x 40 mm from a 10 mm barrel: the laminar law
/// // would say 80.16 N, but a Reynolds number of 6342 forbids it
/// let conditions = PushConditions::new(PushInputs {
///     bore_m: 0.2e-3,
///     length_m: 40e-3,
///     barrel_bore_m: 10e-3,
///     flow_rate_m3_per_s: 1e-6,
///     friction_n: 0.0,
///     tissue_pressure_pa: 0.0,
///     density_kg_per_m3: 998.21,
///     include_end_losses: false,
/// })?;
/// let water = push(&FlowCurve::newtonian(1.002e-3)?, &conditions);
/// assert!((water.plunger_force_n - 80.16).abs() < 0.01);
/// assert!((water.reynolds - 6342.0).abs() < 1.0);
/// assert!(!water.laminar);
/// # Ok::<(), heatset::flow::FlowError>(())
/// ```
#[must_use]
pub fn push<C: TubeCurve + ?Sized>(curve: &C, conditions: &PushConditions) -> Push {
    push_through_hub(curve, conditions, None)
}

/// The same with the hub's own loss, where its size is stated.
///
/// # Equation
/// As [`push`], with dP_ends the sum of the creeping, the kinetic and the hub's loss.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | dP_hub | `end_losses.hub_pa` | Pa |
///
/// # Valid for
/// As [`push`] and [`hub_loss_pa`].
///
/// # Source
/// As [`push`] and [`hub_loss_pa`].
///
/// # Example
/// ```
/// use heatset::flow::{FlowCurve, Hub, PushConditions, PushInputs, push, push_through_hub};
/// // a hub as narrow as the needle is so much more needle
/// let inputs = PushInputs {
///     bore_m: 0.2e-3,
///     length_m: 13e-3,
///     barrel_bore_m: 4.7e-3,
///     flow_rate_m3_per_s: 1e-6 / 60.0,
///     friction_n: 2.0,
///     tissue_pressure_pa: 0.0,
///     density_kg_per_m3: 1025.0,
///     include_end_losses: true,
/// };
/// let gel = FlowCurve::newtonian(0.1)?;
/// let conditions = PushConditions::new(inputs)?;
/// let with = push_through_hub(&gel, &conditions, Some(&Hub::cylinder(0.2e-3, 13e-3)?));
/// assert!((with.end_losses.hub_pa / with.pressure_pa - 1.0).abs() < 1e-12);
/// assert_eq!(push(&gel, &conditions).end_losses.hub_pa, 0.0);
/// # Ok::<(), heatset::flow::FlowError>(())
/// ```
#[must_use]
pub fn push_through_hub<C: TubeCurve + ?Sized>(
    curve: &C,
    conditions: &PushConditions,
    hub: Option<&Hub>,
) -> Push {
    let inputs = conditions.inputs();
    let tube = conditions.tube();
    let reduced_flow_per_s =
        0.25 * apparent_shear_rate_per_s(inputs.bore_m, inputs.flow_rate_m3_per_s);
    let wall = curve.wall_at(reduced_flow_per_s);
    let velocity_m_per_s = conditions.mean_velocity_m_per_s();
    let pressure_pa = pressure_from_wall_shear_stress_pa(tube, wall.shear_stress_pa);
    let density_kg_per_m3 = inputs.density_kg_per_m3;
    let end_losses = EndLosses {
        hub_pa: hub.map_or(0.0, |hub| {
            hub_loss_pa(curve, hub, inputs.flow_rate_m3_per_s)
        }),
        ..end_losses(tube, pressure_pa, density_kg_per_m3, velocity_m_per_s)
    };
    let end_loss_pa = end_losses.total_pa();
    let counted_pa = if inputs.include_end_losses {
        end_loss_pa
    } else {
        0.0
    };
    let joint_pressure_pa = pressure_pa + inputs.tissue_pressure_pa + counted_pa;
    let reynolds = metzner_reed_reynolds(density_kg_per_m3, velocity_m_per_s, wall.shear_stress_pa);
    let critical_reynolds =
        curve.critical_reynolds(tube.radius_m(), density_kg_per_m3, reduced_flow_per_s, wall);
    Push {
        pressure_pa,
        joint_pressure_pa,
        plunger_force_n: joint_pressure_pa * conditions.barrel_area_m2() + inputs.friction_n,
        wall_shear_stress_pa: wall.shear_stress_pa,
        wall_shear_rate_per_s: wall.shear_rate_per_s,
        apparent_viscosity_pa_s: wall.shear_stress_pa / wall.shear_rate_per_s,
        reynolds,
        critical_reynolds,
        laminar: reynolds <= critical_reynolds,
        end_loss_pa,
        end_losses,
        entrance_length_m: entrance_length_m(inputs.bore_m, reynolds),
    }
}

/// Developed laminar loss in the needle that a plunger force leaves room for.
///
/// The inverse of [`push`] up to the flow curve (and without a hub): friction, tissue pressure and, where the
/// inputs ask for them, end losses are taken off.
///
/// # Equation
/// dP = ((F - F_f)/(pi D_b^2/4) - p_t [- 1.16 rho V^2]) [/(1 + 3 pi R/(8 L))]
///
/// | symbol | field | unit |
/// |---|---|---|
/// | dP | returned | Pa |
/// | F | `plunger_force_n` | N |
/// | others | as [`push`] | |
///
/// # Valid for
/// As [`push`].
///
/// # Errors
/// [`FlowError::NothingLeftForTheGel`] where the force is used up before.
///
/// # Source
/// As [`push`].
pub fn pressure_for_force(
    conditions: &PushConditions,
    plunger_force_n: f64,
) -> Result<f64, FlowError> {
    let inputs = conditions.inputs();
    FlowQuantity::PlungerForce.positive(plunger_force_n)?;
    let area_m2 = conditions.barrel_area_m2();
    let mut taken_n = inputs.friction_n + inputs.tissue_pressure_pa * area_m2;
    let mut share = 1.0;
    if inputs.include_end_losses {
        let velocity_m_per_s = conditions.mean_velocity_m_per_s();
        taken_n += kinetic_pa(inputs.density_kg_per_m3, velocity_m_per_s) * area_m2;
        share += creeping_share(conditions.tube());
    }
    let left_n = plunger_force_n - taken_n;
    if left_n > 0.0 {
        Ok(left_n / area_m2 / share)
    } else {
        Err(FlowError::NothingLeftForTheGel {
            plunger_force_n,
            taken_n,
        })
    }
}

/// Consistency of the power law that needs exactly this plunger force.
///
/// # Equation
/// K = tau_w/g_w^n, tau_w = dP R/(2 L), g_w = (3n+1)/(4n) 4 Q/(pi R^3); with n = 1 it is
/// the viscosity of Hagen-Poiseuille.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | K | returned | Pa s^n |
/// | n | `flow_index` | 1 |
/// | dP | [`pressure_for_force`] | Pa |
/// | Q, R, L | `conditions` | m3/s, m, m |
///
/// # Valid for
/// As [`push`].
///
/// # Errors
/// [`FlowError`] where the force is used up before the gel gets any, or the flow index is
/// not above zero.
///
/// # Source
/// As [`push`].
pub fn consistency_for_force(
    conditions: &PushConditions,
    flow_index: f64,
    plunger_force_n: f64,
) -> Result<f64, FlowError> {
    FlowQuantity::FlowIndex.positive(flow_index)?;
    let pressure_pa = pressure_for_force(conditions, plunger_force_n)?;
    let stress_pa = wall_shear_stress_pa(conditions.tube(), pressure_pa);
    Ok(stress_pa
        / conditions
            .wall_shear_rate_per_s(flow_index)
            .powf(flow_index))
}

/// Viscosity at a reference shear rate that needs exactly this plunger force.
///
/// # Equation
/// eta_ref = K g_ref^(n-1), K as [`consistency_for_force`]; for n = 1 the reference shear
/// rate plays no part.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | eta_ref | returned | Pa s |
/// | n | `flow_index` | 1 |
/// | g_ref | `reference_shear_rate_per_s` | 1/s |
///
/// # Valid for
/// As [`push`].
///
/// # Errors
/// As [`consistency_for_force`], or a reference shear rate that is not above zero.
///
/// # Source
/// As [`push`].
pub fn viscosity_for_force(
    conditions: &PushConditions,
    flow_index: f64,
    reference_shear_rate_per_s: f64,
    plunger_force_n: f64,
) -> Result<f64, FlowError> {
    let reference_per_s = FlowQuantity::ShearRate.positive(reference_shear_rate_per_s)?;
    let consistency_pa_s_n = consistency_for_force(conditions, flow_index, plunger_force_n)?;
    Ok(consistency_pa_s_n * reference_per_s.powf(flow_index - 1.0))
}
