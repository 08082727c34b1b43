//! The heat time that sets a gel as far as another protocol does: other temperature, other syringe.

use super::draws::{DrawSource, Varied, quantile};
use super::error::PlanError;
use super::gel::Gel;
use super::hand_over::{CoolingAsked, HandOver, hand_over};
use super::heat_time::{no_warm_up, ready_for_draws};
use super::range_check::check_temperature;
use super::setup::BarrelUsed;
use crate::fit::{BlendCalibration, ParameterName, Warning};
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
use crate::thermal::WarmUp;
use crate::units::display;
use serde::Serialize;

/// A heating: so long at so much, warmed up in some way.
#[derive(Debug, Clone, PartialEq)]
pub struct Protocol {
    /// Set temperature of the block, in K.
    pub set_kelvin: f64,
    /// Warm-up of the gel.
    pub warm_up: WarmUp,
    /// Warm-ups over the range of the contact coefficient, all as likely as each other, in the
    /// same order in both protocols: it is the same block.
    pub contact_histories: Vec<WarmUp>,
}

/// What is asked: which heat time of `to` sets the gel as far as `heat_time_s` of `from` does.
#[derive(Debug, Clone, PartialEq)]
pub struct SameAsQuestion {
    /// The known protocol.
    pub from: Protocol,
    /// Its heat time on the clock, in s.
    pub heat_time_s: f64,
    /// The protocol that is to do the same.
    pub to: Protocol,
    /// Barrel of that protocol.
    pub barrel: BarrelUsed,
    /// Cooling after its block.
    pub cooling: CoolingAsked,
    /// Altitude of the place, in m.
    pub altitude_m: f64,
    /// Whether answers outside the measured temperatures are asked for.
    pub extrapolate: bool,
    /// Monte Carlo draws.
    pub draws: usize,
    /// Seed of the draws.
    pub seed: u64,
    /// Whether the calibration was made from invented readings.
    pub invented: bool,
}

/// Two protocols that set the gel alike.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SameAsAnswer {
    /// Set temperature of the known protocol, in K.
    #[serde(rename = "same_as_temp_K")]
    pub same_as_temp_k: f64,
    /// Its heat time, in s.
    pub same_as_time_s: f64,
    /// Set temperature of the other protocol, in K.
    #[serde(rename = "heat_temp_K")]
    pub heat_temp_k: f64,
    /// Its heat time by the point estimates, in s; null where it never gets as far.
    pub heat_time_s_point: Option<f64>,
    /// Median over the draws, in s; null where it never gets as far.
    pub heat_time_s_median: Option<f64>,
    /// 95 % interval, in s.
    pub heat_time_s_interval95: [Option<f64>; 2],
    /// Volume mean of the conversion in both.
    pub conversion: f64,
    /// Least and greatest conversion in the gel of the known protocol.
    pub same_as_conversion_extremes: [f64; 2],
    /// The same in the other protocol.
    pub conversion_extremes: Option<[f64; 2]>,
    /// Reading that goes with the conversion, in the calibration's unit.
    pub reading: f64,
    /// How hot the gel of the other protocol is handed over, and how long it cools; absent where it
    /// never sets as far.
    #[serde(flatten)]
    pub hand_over: Option<HandOver>,
    /// Whether one of the temperatures lies outside the measured ones.
    pub extrapolated: bool,
    /// What the reader should know.
    pub warnings: Vec<Warning>,
}

/// Finds the heat time of equal volume-mean conversion.
///
/// # Equation
/// `sum v_i a_i(t; to) = sum v_i a_i(heat_time; from)`, solved for t in each draw of the parameters.
///
/// # Errors
/// Temperatures outside what was measured, unless asked for; a calibration that does not read.
pub fn same_as(
    blend: &BlendCalibration,
    question: &SameAsQuestion,
) -> Result<SameAsAnswer, PlanError> {
    let mut extrapolated = false;
    for set_kelvin in [question.from.set_kelvin, question.to.set_kelvin] {
        extrapolated |=
            check_temperature(blend, set_kelvin, question.altitude_m, question.extrapolate)?;
    }
    let gel = Gel::of_setting(blend.setting()?);
    let mut from = gel.setting.clone();
    from.warm_up = question.from.warm_up.clone();
    let mut to = gel.setting.clone();
    to.warm_up = question.to.warm_up.clone();
    let conversion = from.conversion(question.from.set_kelvin, question.heat_time_s);
    let point = to.clock_time_for_conversion_s(question.to.set_kelvin, conversion);

    // The contact of both is that of one block, so it is drawn for both at once.
    let strata: Vec<(WarmUp, WarmUp)> = if question.from.contact_histories.is_empty() {
        vec![(question.from.warm_up.clone(), question.to.warm_up.clone())]
    } else {
        question
            .from
            .contact_histories
            .iter()
            .cloned()
            .zip(question.to.contact_histories.iter().cloned())
            .collect()
    };
    let share = question.draws.div_ceil(strata.len().max(1));
    let mut times: Vec<f64> = Vec::with_capacity(question.draws);
    for (place, (from_warm_up, to_warm_up)) in strata.iter().enumerate() {
        let from_warm_up = ready_for_draws(from_warm_up, blend, question.from.set_kelvin);
        let to_warm_up = ready_for_draws(to_warm_up, blend, question.to.set_kelvin);
        let source = DrawSource::without_needle(
            blend,
            gel.clone(),
            question.seed.wrapping_add(place as u64),
        );
        times.extend(source.answer(share, Varied::ALL, |draw| {
            let mut setting = draw.gel.setting.clone();
            setting.warm_up = from_warm_up.clone();
            let fraction = setting.conversion(question.from.set_kelvin, question.heat_time_s);
            setting.warm_up = to_warm_up.clone();
            setting.clock_time_for_conversion_s(question.to.set_kelvin, fraction)
        }));
    }
    times.sort_by(f64::total_cmp);
    let finite = |t: f64| t.is_finite().then_some(t);
    let mut warnings = Vec::new();
    if question.to.warm_up == WarmUp::None || question.from.warm_up == WarmUp::None {
        warnings.push(no_warm_up());
    }
    if let Some(energy) = blend.parameter(ParameterName::ActivationEnergy) {
        let slope_per_k = energy.estimate
            / (GAS_CONSTANT_J_PER_MOL_K * question.to.set_kelvin * question.to.set_kelvin);
        warnings.push(Warning::new(
            "block_not_counted",
            format!(
                "Both blocks are taken to be at their set temperature: half a degree in either moves this time by some {} %, which the interval leaves out. What helps: check both blocks with one thermometer ('heatset blockcheck').",
                display::significant(100.0 * (0.5 * slope_per_k).exp_m1().abs(), 1)
            ),
        ));
    }
    if conversion > 0.98 {
        warnings.push(Warning::new(
            "nearly_all_set",
            "Nearly all is set in the known protocol, so a little more of it takes much longer elsewhere: the time is not sharp.",
        ));
    }
    Ok(SameAsAnswer {
        same_as_temp_k: question.from.set_kelvin,
        same_as_time_s: question.heat_time_s,
        heat_temp_k: question.to.set_kelvin,
        heat_time_s_point: finite(point),
        heat_time_s_median: finite(quantile(&times, 0.5)),
        heat_time_s_interval95: [
            finite(quantile(&times, 0.025)),
            finite(quantile(&times, 0.975)),
        ],
        conversion,
        same_as_conversion_extremes: from
            .conversion_extremes(question.from.set_kelvin, question.heat_time_s),
        conversion_extremes: finite(point)
            .map(|t| to.conversion_extremes(question.to.set_kelvin, t)),
        reading: gel.setting.reading_at_conversion(conversion),
        hand_over: finite(point)
            .map(|time_s| {
                hand_over(
                    &question.to.warm_up,
                    &question.barrel,
                    question.to.set_kelvin,
                    time_s,
                    &question.cooling,
                )
            })
            .transpose()?,
        extrapolated,
        warnings,
    })
}
