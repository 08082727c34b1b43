//! A practice fluid: the mixture of glycerol and water that pushes like a gel, for empty training
//! syringes. It is never injected and never mixed with a gel.

use super::error::PlanError;
use super::force_table::ForceSpread;
use super::gel::Gel;
use super::setup::PushSetup;
use crate::fit::Warning;
use crate::flow::{
    FlowCurve, Push, PushConditions, PushInputs, consistency_for_force, push,
    warnings as flow_warnings,
};
use crate::reference::{
    GLYCEROL_VISCOSITY_DOUBT_RATIO, glycerol_density_kg_per_m3, glycerol_mass_fraction,
    glycerol_viscosity_pa_s,
};
use crate::units::display;
use serde::Serialize;

/// Speeds at which the two are held against each other, as shares of the speed asked for.
const OTHER_SPEEDS: [f64; 2] = [0.5, 2.0];
/// A step of the mass fraction that a scale and a drop make.
const FRACTION_STEP: f64 = 0.01;
/// Share of friction in a push from which the mixture matters little. Common practice, no source.
const MOSTLY_FRICTION_RATIO: f64 = 0.5;
/// A step of the room's temperature.
const TEMPERATURE_STEP_K: f64 = 1.0;

/// What the fluid is to match.
#[derive(Debug, Clone, PartialEq)]
pub enum PracticeTarget {
    /// The push of a gel at a conversion.
    Gel {
        /// The gel.
        gel: Box<Gel>,
        /// Its conversion.
        conversion: f64,
        /// Its push, with what the draws say of it.
        plunger_force_n: ForceSpread,
    },
    /// A stated push.
    Push {
        /// Force, in N.
        plunger_force_n: f64,
    },
    /// A stated viscosity.
    Viscosity {
        /// Viscosity, in Pa s.
        viscosity_pa_s: f64,
    },
}

/// A question about a practice fluid.
#[derive(Debug, Clone, PartialEq)]
pub struct PracticeQuestion {
    /// What it is to match.
    pub target: PracticeTarget,
    /// Needle, syringe and push; the practice fluid is pushed into the open, not into tissue.
    pub setup: PushSetup,
    /// Temperature of the fluid when it is pushed, in K.
    pub room_kelvin: f64,
    /// How much is made, in m³.
    pub volume_m3: f64,
    /// Mass fraction of glycerol in what is sold as glycerol.
    pub stock_mass_fraction: f64,
}

/// The two pushes at another speed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct AtOtherSpeed {
    /// Speed over the speed asked for.
    pub flow_ratio: f64,
    /// Flow rate, in m³/s.
    pub flow_rate_m3_per_s: f64,
    /// Push of the practice fluid, in N.
    #[serde(rename = "practice_force_N")]
    pub practice_force_n: f64,
    /// Push of the gel at the estimates, in N; none where no gel was named.
    #[serde(rename = "gel_force_N")]
    pub gel_force_n: Option<f64>,
}

/// What a small mistake does to the push, in N: the lesser side first.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PracticeSensitivity {
    /// One degree colder and one warmer; none past the ends of the formula.
    #[serde(rename = "one_degree_colder_and_warmer_N")]
    pub one_degree_n: [Option<f64>; 2],
    /// One percent by mass less glycerol and one more; none below none and past all.
    #[serde(rename = "one_percent_less_and_more_glycerol_N")]
    pub one_percent_n: [Option<f64>; 2],
    /// The formula for the viscosity itself, as it may be off either way.
    #[serde(rename = "formula_off_N")]
    pub formula_n: [f64; 2],
}

/// What goes into the vessel.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PracticeRecipe {
    /// How much it makes, in m³.
    pub volume_m3: f64,
    /// Density of the mixture, in kg/m³.
    pub density_kg_per_m3: f64,
    /// Mass fraction of glycerol in what is sold as glycerol.
    pub stock_mass_fraction: f64,
    /// Mass of what is sold as glycerol, in kg.
    pub stock_kg: f64,
    /// Its volume, in m³.
    pub stock_m3: f64,
    /// Mass of water, in kg.
    pub water_kg: f64,
    /// Its volume, in m³.
    pub water_m3: f64,
}

/// The mixture, and how far it can be trusted.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PracticeFluid {
    /// Mass fraction of glycerol.
    pub glycerol_mass_fraction: f64,
    /// Of the gel's 95 % interval; none at an end that no mixture matches, and where no gel is
    /// named.
    pub glycerol_mass_fraction_interval95: Option<[Option<f64>; 2]>,
    /// Viscosity, in Pa s.
    #[serde(rename = "viscosity_Pa_s")]
    pub viscosity_pa_s: f64,
    /// Temperature at which it matches, in K.
    #[serde(rename = "room_temp_K")]
    pub room_kelvin: f64,
    /// Its push, in N.
    #[serde(rename = "practice_force_N")]
    pub practice_force_n: f64,
    /// The gel's push, in N; none where no gel was named.
    #[serde(rename = "gel_force_N")]
    pub gel_force_n: Option<ForceSpread>,
    /// Shear rate at the needle's wall, in 1/s.
    pub wall_shear_rate_per_s: f64,
    /// Reynolds number.
    pub reynolds: f64,
    /// The same syringe pushed slower and faster.
    pub at_other_speeds: [AtOtherSpeed; 2],
    /// What a small mistake does.
    pub sensitivity: PracticeSensitivity,
    /// What goes into the vessel.
    pub recipe: PracticeRecipe,
    /// Where figures stop holding.
    pub warnings: Vec<Warning>,
}

/// The mixture of glycerol and water that is pushed like the target.
///
/// # Errors
/// A push that no mixture matches, thinner than water or thicker than glycerol; one that friction
/// uses up; a temperature outside of 0 to 100 °C; a stock that is too thin for it.
pub fn practice_fluid(question: &PracticeQuestion) -> Result<PracticeFluid, PlanError> {
    let room_kelvin = question.room_kelvin;
    let mixture = match &question.target {
        PracticeTarget::Viscosity { viscosity_pa_s } => Mixture {
            glycerol_mass_fraction: glycerol_mass_fraction(*viscosity_pa_s, room_kelvin)?,
            viscosity_pa_s: *viscosity_pa_s,
        },
        PracticeTarget::Push { plunger_force_n } => matching(question, *plunger_force_n)?,
        PracticeTarget::Gel {
            plunger_force_n, ..
        } => matching(question, plunger_force_n.point)?,
    };
    let fraction = mixture.glycerol_mass_fraction;
    let recipe = recipe(question, fraction)?;
    let conditions = conditions(question, fraction, 1.0)?;
    let own = push_of(mixture.viscosity_pa_s, &conditions);
    let forces_of = |fraction: f64, kelvin: f64| {
        let viscosity_pa_s = glycerol_viscosity_pa_s(fraction, kelvin).ok()?;
        Some(push_of(viscosity_pa_s, &conditions).plunger_force_n)
    };
    let gel_force_n = match &question.target {
        PracticeTarget::Gel {
            plunger_force_n, ..
        } => Some(*plunger_force_n),
        _ => None,
    };
    let mut at_other_speeds = [AtOtherSpeed {
        flow_ratio: 1.0,
        flow_rate_m3_per_s: question.setup.flow_rate_m3_per_s,
        practice_force_n: own.plunger_force_n,
        gel_force_n: None,
    }; 2];
    for (at, flow_ratio) in at_other_speeds.iter_mut().zip(OTHER_SPEEDS) {
        *at = other_speed(question, &mixture, flow_ratio)?;
    }
    let moved = |ratio: f64| push_of(ratio * mixture.viscosity_pa_s, &conditions).plunger_force_n;
    Ok(PracticeFluid {
        glycerol_mass_fraction: fraction,
        glycerol_mass_fraction_interval95: gel_force_n.map(|force| {
            force.interval95.map(|force_n| {
                matching(question, force_n)
                    .ok()
                    .map(|mixture| mixture.glycerol_mass_fraction)
            })
        }),
        viscosity_pa_s: mixture.viscosity_pa_s,
        room_kelvin,
        practice_force_n: own.plunger_force_n,
        gel_force_n,
        wall_shear_rate_per_s: own.wall_shear_rate_per_s,
        reynolds: own.reynolds,
        at_other_speeds,
        sensitivity: PracticeSensitivity {
            one_degree_n: [-TEMPERATURE_STEP_K, TEMPERATURE_STEP_K]
                .map(|step| forces_of(fraction, room_kelvin + step)),
            one_percent_n: [-FRACTION_STEP, FRACTION_STEP]
                .map(|step| forces_of(fraction + step, room_kelvin)),
            formula_n: [
                moved(1.0 - GLYCEROL_VISCOSITY_DOUBT_RATIO),
                moved(1.0 + GLYCEROL_VISCOSITY_DOUBT_RATIO),
            ],
        },
        recipe,
        warnings: warnings(&own, &conditions)?,
    })
}

fn warnings(own: &Push, conditions: &PushConditions) -> Result<Vec<Warning>, PlanError> {
    let mut warnings: Vec<Warning> = flow_warnings(own, conditions)?
        .iter()
        .map(|warning| Warning::new(warning.code(), warning.to_string()))
        .collect();
    let friction_ratio = conditions.inputs().friction_n / own.plunger_force_n;
    if friction_ratio > MOSTLY_FRICTION_RATIO {
        warnings.push(Warning::new(
            "mostly_friction",
            format!(
                "{} of this push is the stopper's friction, which no mixture changes: the syringe decides how it feels. What helps: the gel's own kind of syringe, and its friction measured (--friction).",
                display::percent(friction_ratio)
            ),
        ));
    }
    Ok(warnings)
}

#[derive(Debug, Clone, Copy)]
struct Mixture {
    glycerol_mass_fraction: f64,
    viscosity_pa_s: f64,
}

/// The mixture whose push is this force.
///
/// Its density counts only with the losses at the needle's ends, and changes little: a few rounds
/// settle it.
fn matching(question: &PracticeQuestion, plunger_force_n: f64) -> Result<Mixture, PlanError> {
    let mut fraction = 0.5;
    let mut viscosity_pa_s = 0.0;
    for _ in 0..4 {
        let conditions = conditions(question, fraction, 1.0)?;
        viscosity_pa_s = consistency_for_force(&conditions, 1.0, plunger_force_n)?;
        fraction = glycerol_mass_fraction(viscosity_pa_s, question.room_kelvin)?;
    }
    Ok(Mixture {
        glycerol_mass_fraction: fraction,
        viscosity_pa_s,
    })
}

/// The push of the practice fluid: into the open, with the mixture's density.
fn conditions(
    question: &PracticeQuestion,
    fraction: f64,
    flow_ratio: f64,
) -> Result<PushConditions, PlanError> {
    let inputs = *question.setup.conditions()?.inputs();
    Ok(PushConditions::new(PushInputs {
        flow_rate_m3_per_s: flow_ratio * inputs.flow_rate_m3_per_s,
        tissue_pressure_pa: 0.0,
        density_kg_per_m3: glycerol_density_kg_per_m3(fraction, question.room_kelvin)?,
        ..inputs
    })?)
}

fn push_of(viscosity_pa_s: f64, conditions: &PushConditions) -> Push {
    push(&FlowCurve::Newtonian { viscosity_pa_s }, conditions)
}

fn other_speed(
    question: &PracticeQuestion,
    mixture: &Mixture,
    flow_ratio: f64,
) -> Result<AtOtherSpeed, PlanError> {
    let own = conditions(question, mixture.glycerol_mass_fraction, flow_ratio)?;
    let gel_force_n = match &question.target {
        PracticeTarget::Gel {
            gel, conversion, ..
        } => {
            let inputs = *question.setup.conditions()?.inputs();
            let conditions = PushConditions::new(PushInputs {
                flow_rate_m3_per_s: flow_ratio * inputs.flow_rate_m3_per_s,
                ..inputs
            })?;
            Some(gel.push(&conditions, *conversion).plunger_force_n)
        }
        _ => None,
    };
    Ok(AtOtherSpeed {
        flow_ratio,
        flow_rate_m3_per_s: own.inputs().flow_rate_m3_per_s,
        practice_force_n: push_of(mixture.viscosity_pa_s, &own).plunger_force_n,
        gel_force_n,
    })
}

/// Masses and volumes of a volume of the mixture.
///
/// # Equation
/// m = rho(C) V, m_stock = C m/C_stock, m_water = m - m_stock, volumes by the densities of each.
fn recipe(question: &PracticeQuestion, fraction: f64) -> Result<PracticeRecipe, PlanError> {
    let kelvin = question.room_kelvin;
    let stock = question.stock_mass_fraction;
    // A hair of slack, for a fraction that was found by halving.
    if fraction > stock + 1e-9 {
        return Err(PlanError::StockTooThin {
            stock_mass_fraction: stock,
            glycerol_mass_fraction: fraction,
        });
    }
    let density_kg_per_m3 = glycerol_density_kg_per_m3(fraction, kelvin)?;
    let whole_kg = density_kg_per_m3 * question.volume_m3;
    let stock_kg = (fraction / stock * whole_kg).min(whole_kg);
    let water_kg = whole_kg - stock_kg;
    Ok(PracticeRecipe {
        volume_m3: question.volume_m3,
        density_kg_per_m3,
        stock_mass_fraction: stock,
        stock_kg,
        stock_m3: stock_kg / glycerol_density_kg_per_m3(stock, kelvin)?,
        water_kg,
        water_m3: water_kg / glycerol_density_kg_per_m3(0.0, kelvin)?,
    })
}
