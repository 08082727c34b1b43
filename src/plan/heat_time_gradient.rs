//! How the heat time of an answer follows the fitted parameters.

use super::crossing::first_conversion;
use super::draws::Draw;
use super::error::PlanError;
use super::gel::{Gel, StatedThinning};
use super::setup::PushSetup;
use crate::fit::{BlendCalibration, ErrorModel, ParameterName};
use crate::thermal::WarmUp;

/// Step of the central differences on a logarithm; on another scale it is that share of the value.
const STEP: f64 = 1e-4;

/// Step of the block's temperature, in K.
const BLOCK_STEP_K: f64 = 0.01;

/// A heat time that is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct AskedHeatTime {
    /// Set temperature of the block, in K.
    pub set_kelvin: f64,
    /// Needle, syringe and push, with the force limit.
    pub setup: PushSetup,
    /// Shear thinning as stated.
    pub thinning: StatedThinning,
    /// Warm-up in place of the calibration's.
    pub warm_up: Option<WarmUp>,
}

/// A heat time at the estimates, and the slopes of its logarithm.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatTimeGradient {
    /// Heat time at which the estimates alone give the force, in s.
    pub heat_time_s: f64,
    /// Slope of ln heat time by each free parameter on its scale, in the order of the covariance.
    pub by_parameter: Vec<f64>,
    /// Slope by the deviation of a reading from the curve: by that of ln P under relative errors,
    /// else by that of the reading.
    pub by_deviation: f64,
    /// Slope by the logarithm of the bore.
    pub by_ln_bore: f64,
    /// Slope by the friction, in 1/N.
    pub by_friction_n: f64,
    /// Slope by the logarithm of the flow rate.
    pub by_ln_flow: f64,
    /// Slope by the temperature of the block, in 1/K.
    pub by_set_kelvin: f64,
}

/// Heat time of an answer at the estimates, and its slopes by central differences.
///
/// # Equation
/// `d ln t / d theta = (ln t(theta + h) - ln t(theta - h)) / 2 h`; where the force follows from the
/// reading alone that is the implicit function theorem's
/// `-(d ln P / d theta) / (d ln P / d ln t)` at the heat time.
///
/// # Valid for
/// Heat times above zero and short of infinity; the warm-up that a question declares in place of
/// the fitted one has no slope.
///
/// # Errors
/// A force that is reached from the first moment, or never; and as for any push.
///
/// # Source
/// JCGM 100:2008, 5.1.3, note 2 (sensitivity coefficients by differences).
pub fn heat_time_gradient(
    blend: &BlendCalibration,
    question: &AskedHeatTime,
) -> Result<HeatTimeGradient, PlanError> {
    let own_warm_up = question
        .warm_up
        .as_ref()
        .is_none_or(|w| *w == blend.warm_up());
    let asked = AskedHeatTime {
        warm_up: question.warm_up.clone().filter(|_| !own_warm_up),
        ..question.clone()
    };
    let mut bare = blend.clone();
    bare.readings.clear();
    let ln_time = |blend: &BlendCalibration, deviation: f64, bore_ratio: f64| {
        ln_heat_time(blend, &asked, deviation, bore_ratio)
    };
    let by_parameter = (0..bare.parameters.len())
        .filter(|place| !bare.parameters[*place].held)
        .map(|place| {
            let scale = bare.parameters[place].scale;
            let value = scale.of(bare.parameters[place].estimate);
            let step = match scale {
                crate::fit::Scale::Log => STEP,
                crate::fit::Scale::Linear => STEP * value.abs().max(f64::MIN_POSITIVE.sqrt()),
            };
            let up = ln_time(&moved(&bare, place, step), 0.0, 1.0)?;
            let down = ln_time(&moved(&bare, place, -step), 0.0, 1.0)?;
            Ok((up - down) / (2.0 * step))
        })
        .collect::<Result<Vec<f64>, PlanError>>()?;
    let here = ln_time(&bare, 0.0, 1.0)?;
    let deviation = match bare.error {
        ErrorModel::Relative => STEP,
        ErrorModel::Absolute | ErrorModel::Given => {
            let model = bare.setting()?;
            STEP * model.reading(question.set_kelvin, here.exp()).abs()
        }
    };
    let by_deviation =
        (ln_time(&bare, deviation, 1.0)? - ln_time(&bare, -deviation, 1.0)?) / (2.0 * deviation);
    let by_ln_bore =
        (ln_time(&bare, 0.0, STEP.exp())? - ln_time(&bare, 0.0, (-STEP).exp())?) / (2.0 * STEP);
    let slope = |step: f64, moved: &dyn Fn(f64) -> AskedHeatTime| -> Result<f64, PlanError> {
        let up = ln_heat_time(&bare, &moved(step), 0.0, 1.0)?;
        let down = ln_heat_time(&bare, &moved(-step), 0.0, 1.0)?;
        Ok((up - down) / (2.0 * step))
    };
    let by_friction_n = slope(STEP, &|shift| {
        let mut moved = asked.clone();
        moved.setup.friction_n += shift;
        moved
    });
    let by_ln_flow = slope(STEP, &|shift| {
        let mut moved = asked.clone();
        moved.setup.flow_rate_m3_per_s *= shift.exp();
        moved
    })?;
    let by_set_kelvin = slope(BLOCK_STEP_K, &|shift| AskedHeatTime {
        set_kelvin: asked.set_kelvin + shift,
        ..asked.clone()
    })?;
    Ok(HeatTimeGradient {
        // A push without friction has none below it to differ from.
        by_friction_n: by_friction_n.unwrap_or(0.0),
        by_ln_flow,
        by_set_kelvin,
        heat_time_s: here.exp(),
        by_parameter,
        by_deviation,
        by_ln_bore,
    })
}

/// The calibration with one parameter moved on its scale.
fn moved(blend: &BlendCalibration, place: usize, shift: f64) -> BlendCalibration {
    let mut moved = blend.clone();
    if let Some(parameter) = moved.parameters.get_mut(place) {
        parameter.estimate = parameter
            .scale
            .back(parameter.scale.of(parameter.estimate) + shift);
        if parameter.name == ParameterName::Order {
            moved.order = parameter.estimate;
        }
    }
    moved
}

fn ln_heat_time(
    blend: &BlendCalibration,
    asked: &AskedHeatTime,
    deviation: f64,
    bore_ratio: f64,
) -> Result<f64, PlanError> {
    let mut gel = Gel::new(blend, &asked.setup, asked.thinning)?;
    if let Some(warm_up) = &asked.warm_up {
        gel.setting.warm_up = warm_up.clone();
    }
    let draw = Draw {
        gel: gel.clone(),
        deviation,
        deviation_is_relative: blend.error == ErrorModel::Relative,
        bore_ratio,
        ..Draw::of_estimates(gel.clone())
    };
    let limit_n = asked.setup.force_limit_n;
    let fraction = first_conversion(&draw, &asked.setup.conditions()?, limit_n);
    let time_s = gel
        .setting
        .clock_time_for_conversion_s(asked.set_kelvin, fraction);
    if time_s > 0.0 && time_s.is_finite() {
        Ok(time_s.ln())
    } else {
        Err(PlanError::NoTimeToNarrow {
            set_kelvin: asked.set_kelvin,
            limit_n,
            needle: asked.setup.needle.label(),
            from_the_first: time_s <= 0.0,
        })
    }
}
