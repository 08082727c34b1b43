//! Plunger force for a heat time, through one needle or all of them.

use super::assumptions::{Assumptions, answer_warnings};
use super::crossing::conditions_with_bore;
use super::draws::{DrawSource, Varied};
use super::error::PlanError;
use super::gel::{Gel, StatedThinning};
use super::hand_over::{CoolingAsked, HandOver, hand_over};
use super::heat_time::{ready_for_draws, spread};
use super::range_check::{check_temperature, check_time};
use super::setup::{NeedleUsed, PushSetup};
use super::thinning_consequence::{ThinningConsequence, thinning_consequences};
use super::time_question::Spread;
use crate::fit::{BlendCalibration, Warning};
use crate::flow::{FlowWarning, PushConditions, push, warnings as flow_warnings};
use crate::reference::{PushBand, Wall, hands};
use crate::thermal::WarmUp;
use rayon::prelude::*;
use serde::Serialize;

/// A question about force.
#[derive(Debug, Clone, PartialEq)]
pub struct ForceQuestion {
    /// Set temperature, in K.
    pub set_kelvin: f64,
    /// Heat time, in s.
    pub heat_time_s: f64,
    /// Push; its needle is only used where `needles` is empty.
    pub setup: PushSetup,
    /// Needles to answer for; the setup's own where empty.
    pub needles: Vec<NeedleUsed>,
    /// Shear thinning as stated.
    pub thinning: StatedThinning,
    /// Warm-up in place of the calibration's.
    pub warm_up: Option<WarmUp>,
    /// Warm-ups over the range of the contact coefficient, all as likely as each other; none where
    /// it is not uncertain.
    pub contact_histories: Vec<WarmUp>,
    /// Cooling after the block.
    pub cooling: CoolingAsked,
    /// Altitude, in m.
    pub altitude_m: f64,
    /// Whether answers outside the measured range are wanted.
    pub extrapolate: bool,
    /// Number of draws.
    pub draws: usize,
    /// Seed.
    pub seed: u64,
    /// Whether the calibration stands on invented data.
    pub invented: bool,
}

/// Force at the estimates, and over the draws.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ForceSpread {
    /// At the estimates.
    pub point: f64,
    /// Median.
    pub median: f64,
    /// 95 % interval.
    pub interval95: [f64; 2],
}

/// One needle of the answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NeedleForce {
    /// Gauge.
    pub gauge: Option<u8>,
    /// Wall.
    pub wall: Option<Wall>,
    /// Bore, in m.
    pub bore_m: f64,
    /// Length, in m.
    pub length_m: f64,
    /// Plunger force, in N.
    #[serde(rename = "plunger_force_N")]
    pub plunger_force_n: ForceSpread,
    /// How hard a hand finds the median push, by the published bands.
    pub hand_band: PushBand,
    /// Shear rate at the wall, in 1/s.
    pub wall_shear_rate_per_s: f64,
    /// Reynolds number.
    pub reynolds: f64,
    /// Pressure in the needle, in Pa.
    #[serde(rename = "pressure_Pa")]
    pub pressure_pa: f64,
    /// Whether at least 95 % of the draws stay under the limit.
    pub passes: bool,
    /// Probability of staying under the limit.
    pub probability: f64,
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ForceAnswer {
    /// Set temperature, in K.
    #[serde(rename = "heat_temp_K")]
    pub heat_temp_k: f64,
    /// Heat time, in s.
    pub heat_time_s: f64,
    /// The needles.
    pub needles: Vec<NeedleForce>,
    /// Reading at the estimates.
    pub reading: f64,
    /// Conversion at the estimates.
    pub conversion: f64,
    /// The push without thinning and with it, through the needle asked for or the finest that
    /// passes, where the flow index is not fitted.
    pub if_flow_index: Vec<ThinningConsequence>,
    /// How hot the gel is handed over, and how long it cools.
    #[serde(flatten)]
    pub hand_over: HandOver,
    /// What is taken for granted.
    pub assumptions: Assumptions,
    /// What the reader should know.
    pub warnings: Vec<Warning>,
}

/// Draws for the push through the question's own needle; see [`DrawSource::with_lots_weighed`].
pub(super) fn weighed_for_push(
    source: DrawSource,
    question: &ForceQuestion,
) -> Result<DrawSource, PlanError> {
    let stated = question.setup.conditions()?;
    Ok(source.with_lots_weighed(Varied::ALL, |draw| {
        let fraction = draw
            .gel
            .setting
            .conversion(question.set_kelvin, question.heat_time_s);
        let own = conditions_with_bore(draw, draw.bore_ratio, &stated);
        let curve = draw.gel.curve(draw.reading(fraction), fraction);
        [push(&curve, &own).plunger_force_n.ln()]
    }))
}

/// Sorted forces of each needle over the same draws: each gel is set once and pushed through all.
pub(super) fn forces(
    question: &ForceQuestion,
    source: &DrawSource,
    needles: &[NeedleUsed],
    conditions: &[PushConditions],
) -> Vec<Vec<f64>> {
    let by_draw: Vec<Vec<f64>> =
        source
            .for_all_needles()
            .answer(question.draws, Varied::ALL, |draw| {
                let fraction = draw
                    .gel
                    .setting
                    .conversion(question.set_kelvin, question.heat_time_s);
                let curve = draw.gel.curve(draw.reading(fraction), fraction);
                let through = |(needle, stated): (&NeedleUsed, &PushConditions)| {
                    let own = conditions_with_bore(draw, draw.bore_ratio_of(needle), stated);
                    push(&curve, &own).plunger_force_n
                };
                needles.iter().zip(conditions).map(through).collect()
            });
    (0..needles.len())
        .into_par_iter()
        .map(|place| {
            let mut forces: Vec<f64> = by_draw.iter().map(|forces| forces[place]).collect();
            forces.sort_unstable_by(f64::total_cmp);
            forces
        })
        .collect()
}

/// Answers which force a heat time asks for.
///
/// # Errors
/// Questions that [`PlanError`] names.
pub fn force_for_heat_time(
    blend: &BlendCalibration,
    question: &ForceQuestion,
) -> Result<ForceAnswer, PlanError> {
    let mut gel = Gel::new(blend, &question.setup, question.thinning)?;
    let outside_temperature = check_temperature(
        blend,
        question.set_kelvin,
        question.altitude_m,
        question.extrapolate,
    )?;
    let outside_time = check_time(blend, question.heat_time_s, question.extrapolate)?;
    question.setup.check_force(question.setup.force_limit_n)?;
    let warm_up = question.warm_up.clone().unwrap_or(gel.setting.warm_up);
    let ready = |warm_up: &WarmUp| ready_for_draws(warm_up, blend, question.set_kelvin);
    gel.setting.warm_up = ready_for_draws(&warm_up, blend, question.set_kelvin);
    let conversion = gel
        .setting
        .conversion(question.set_kelvin, question.heat_time_s);
    let needles = if question.needles.is_empty() {
        vec![question.setup.needle.clone()]
    } else {
        question.needles.clone()
    };
    let source = DrawSource::new(
        blend,
        gel.clone(),
        &question.setup,
        question.set_kelvin,
        question.seed,
    )
    .with_contact(question.contact_histories.iter().map(ready).collect());
    let source = weighed_for_push(source, question)?;
    let conditions: Vec<PushConditions> = needles
        .iter()
        .map(|needle| question.setup.through(needle.clone()).conditions())
        .collect::<Result<_, _>>()?;
    let by_needle = forces(question, &source, &needles, &conditions);
    let mut answers = Vec::with_capacity(needles.len());
    let mut flow: Vec<FlowWarning> = Vec::new();
    for ((needle, conditions), forces) in needles.iter().zip(&conditions).zip(by_needle) {
        let push = gel.push(conditions, conversion);
        let under = forces.partition_point(|f| *f <= question.setup.force_limit_n);
        let probability = under as f64 / forces.len().max(1) as f64;
        let Spread { median, interval95 } = spread(&forces);
        if needles.len() == 1 {
            flow = flow_warnings(&push, conditions)?;
        }
        answers.push(NeedleForce {
            gauge: needle.gauge,
            wall: needle.wall,
            bore_m: needle.bore_m,
            length_m: needle.length_m,
            plunger_force_n: ForceSpread {
                point: push.plunger_force_n,
                median,
                interval95,
            },
            hand_band: hands()?.band(median),
            wall_shear_rate_per_s: push.wall_shear_rate_per_s,
            reynolds: push.reynolds,
            pressure_pa: push.pressure_pa,
            passes: probability >= 0.95,
            probability,
        });
    }
    // Of several the finest needle that passes is the one whose shear rate matters most.
    let spoken_of = match needles.as_slice() {
        [only] => Some(only),
        _ => answers
            .iter()
            .zip(&needles)
            .filter(|(answer, _)| answer.passes)
            .map(|(_, needle)| needle)
            .next_back(),
    };
    let mut push_of_one = None;
    let mut if_flow_index = Vec::new();
    if let Some(needle) = spoken_of {
        let conditions = question.setup.through(needle.clone()).conditions()?;
        push_of_one = Some(gel.push(&conditions, conversion));
        let stated = question.thinning.shear_rate_per_s;
        if_flow_index = thinning_consequences(
            &gel,
            &conditions,
            conversion,
            stated.or(blend.reference_shear_rate_per_s),
        );
    }
    let extrapolated = outside_temperature || outside_time;
    let mut warnings = answer_warnings(
        blend,
        &gel,
        push_of_one.as_ref(),
        &flow,
        extrapolated,
        question.invented,
    );
    if warm_up == WarmUp::None {
        warnings.push(super::heat_time::no_warm_up());
    }
    Ok(ForceAnswer {
        heat_temp_k: question.set_kelvin,
        heat_time_s: question.heat_time_s,
        reading: gel.setting.reading_at_conversion(conversion),
        if_flow_index,
        conversion,
        hand_over: hand_over(
            &warm_up,
            &question.setup.barrel,
            question.set_kelvin,
            question.heat_time_s,
            &question.cooling,
        )?,
        assumptions: Assumptions::new(
            blend,
            &question.setup,
            &gel,
            question.thinning,
            &warm_up,
            question.draws,
            question.seed,
            question.invented,
            extrapolated,
        ),
        needles: answers,
        warnings,
    })
}
