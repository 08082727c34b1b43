//! When a push is that of an anchor again, and what the anchor's gel takes through another needle.

use super::answer::this_lot;
use super::draws::SetTimeSource;
use super::question::{SetTimeQuestion, check_temperature, warnings};
use crate::fit::Warning;
use crate::fit::set_time::{Anchor, SetTimeBlend};
use crate::flow::{FlowCurve, push};
use crate::plan::draws::quantile;
use crate::plan::error::PlanError;
use crate::plan::monte_carlo::monte_carlo;
use crate::plan::setup::PushSetup;
use crate::plan::thinning_consequence::EXAMPLE_FLOW_INDEX;
use crate::plan::time_question::Spread;
use rand::RngExt as _;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal, StudentT};
use serde::Serialize;
use std::f64::consts::PI;

/// Pushes alike to this share are repeats of one another.
const SAME_RATIO: f64 = 0.005;
/// Temperatures alike to this are one, in K.
const SAME_KELVIN: f64 = 0.05;

/// When a push is that of an anchor again.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SamePushAnswer {
    /// Blend.
    pub blend: String,
    /// Number of the anchor, from 1.
    pub anchor: usize,
    /// Pushes of just that heat, needle and rate, this one counted.
    pub anchor_pushes: usize,
    /// Temperature of the anchor, in K.
    #[serde(rename = "anchor_temp_K")]
    pub anchor_temp_k: f64,
    /// Heat time of the anchor, in s.
    pub anchor_time_s: f64,
    /// Plunger force of the anchor, in N; the geometric mean of repeats.
    #[serde(rename = "anchor_plunger_force_N")]
    pub anchor_plunger_force_n: f64,
    /// Set temperature asked about, in K.
    #[serde(rename = "heat_temp_K")]
    pub heat_temp_k: f64,
    /// Time there of the same dose, by the estimates, in s.
    pub heat_time_s_point: f64,
    /// Where it lies with 95 %, in s.
    pub heat_time_interval95: SamePushInterval,
    /// What that gel takes through the needle asked about; null where none is named.
    pub push: Option<AnchorPush>,
    /// Whether the temperature lies outside those looked at.
    pub extrapolated: bool,
    /// Draws.
    pub draws: usize,
    /// Seed.
    pub seed: u64,
    /// Whether the looks are invented.
    pub invented: bool,
    /// What the reader should know.
    pub warnings: Vec<Warning>,
}

/// Intervals of a time of equal dose.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SamePushInterval {
    /// Of the dose: the doubt of the activation energy alone.
    pub dose_s: [f64; 2],
    /// Of one syringe: that it, and the anchor's, set sooner or later than the usual one.
    pub syringe_s: [f64; 2],
}

/// What an anchor's gel takes through a needle.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AnchorPush {
    /// Needle.
    pub needle: String,
    /// Whether needle, barrel and rate are the anchor's own.
    pub is_the_anchors_own: bool,
    /// Plunger force, in N.
    #[serde(rename = "plunger_force_N")]
    pub plunger_force_n: Spread,
    /// Standard deviation of ln of the stress from one push of that heat to the next; null where one
    /// push is all there is.
    pub push_to_push_sd_ratio: Option<f64>,
    /// Flow index that it goes by.
    pub flow_index: f64,
    /// Whether that index is assumed rather than stated.
    pub flow_index_is_assumed: bool,
    /// What it would be with another index; empty where needle and rate are the anchor's own.
    pub if_flow_index: Vec<PushAtIndex>,
    /// Pressure in the needle, in Pa.
    #[serde(rename = "pressure_Pa")]
    pub pressure_pa: f64,
    /// Shear rate at the wall, in 1/s.
    pub wall_shear_rate_per_s: f64,
    /// Reynolds number.
    pub reynolds: f64,
    /// Force limit, in N.
    #[serde(rename = "force_limit_N")]
    pub force_limit_n: f64,
    /// Share of draws that stay under the limit.
    pub passes_probability: f64,
}

/// A push by another flow index.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PushAtIndex {
    /// Flow index.
    pub flow_index: f64,
    /// Plunger force, in N.
    #[serde(rename = "plunger_force_N")]
    pub plunger_force_n: f64,
}

/// When a push is that of an anchor again; `setup` names another needle to push its gel through.
///
/// # Equation
/// Equal dose, equal gel: `ln t = ln t_0 + (E/R)(1/T - 1/T_0)`; of one syringe `+ (b - b_0) + s (e -
/// e_0)`, `b` and `e` the deviations of a new lot and its syringe, `b_0` and `e_0` those of the anchor.
/// Through another needle: `tau = tau_0 (G/G_0)^n`, `F = A (4 L tau/D + p) + F_f`, `G = 32 Q/(pi D^3)`.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | t_0, T_0 | heat of the anchor | s, K |
/// | tau_0, G_0 | `wall_shear_stress_pa`, `apparent_shear_rate_per_s` of the anchor | Pa, 1/s |
/// | n | flow index | 1 |
/// | D, L, Q, A | needle, rate and barrel of `setup` | m, m³/s, m² |
///
/// # Valid for
/// The anchor's dose and no other: one push says nothing of how firmness goes with the dose. That a
/// criterion is reached at one conversion whatever the temperature is taken for granted, and that a
/// lot that sets sooner is the same gel sooner.
///
/// # Errors
/// No anchor, one that is not there, a temperature outside those looked at, boiling; a push that cannot be.
///
/// # Source
/// A. Metzner, J. Reed, AIChE J. 1 (1955) 434 (stress at the wall against 8 V/D).
pub fn same_push(
    blend: &SetTimeBlend,
    question: &SetTimeQuestion,
    number: Option<usize>,
    setup: Option<&PushSetup>,
    flow_index: Option<f64>,
) -> Result<SamePushAnswer, PlanError> {
    let (number, anchor) = chosen(blend, number)?;
    let extrapolated = check_temperature(blend, question, question.set_kelvin)?;
    let repeats: Vec<&Anchor> = blend
        .anchors
        .iter()
        .filter(|other| are_repeats(anchor, other))
        .collect();
    let lot = this_lot(blend, question.lot.as_deref())?;
    let source = SetTimeSource::new(blend, lot);
    let by_estimates = source
        .estimate()
        .ln_time_ratio(anchor.heat_temp_k, question.set_kelvin);
    let drawn = source.answers(question.draws, question.seed, |draw, random| {
        let ratio = draw.ln_time_ratio(anchor.heat_temp_k, question.set_kelvin);
        let own = question.lot.as_deref().filter(|_| lot.is_some());
        let new = if own.is_some() {
            draw.own_lot_deviation
        } else {
            draw.lot_deviation(random)
        };
        // A lot deviates once, however many of its syringes were pushed.
        let mut lots = vec![(own, new)];
        let old: f64 = repeats
            .iter()
            .map(|anchor| {
                let deviation = anchor_lot_deviation(blend, anchor, &mut lots, draw, random);
                deviation + draw.syringe_deviation(random)
            })
            .sum();
        let new = new + draw.syringe_deviation(random);
        (ratio, ratio + new - old / repeats.len() as f64)
    });
    let (mut doses, mut syringes): (Vec<f64>, Vec<f64>) = drawn.into_iter().unzip();
    doses.sort_by(f64::total_cmp);
    syringes.sort_by(f64::total_cmp);
    let interval = |sorted: &[f64]| {
        [0.025, 0.975].map(|share| anchor.heat_time_s * quantile(sorted, share).exp())
    };
    let mean_ln = |of: fn(&Anchor) -> f64| {
        repeats.iter().map(|a| of(a).ln()).sum::<f64>() / repeats.len() as f64
    };
    let mut found = warnings(blend, question, extrapolated);
    found.push(Warning::new(
        "one_dose_only",
        if repeats.len() < 2 {
            "An anchor says how firm the gel is at its own dose and at no other. How much the push varies from gel to gel at that dose is not in the force: one push does not tell. What helps: two or three more pushes of just that heat."
        } else {
            "An anchor says how firm the gel is at its own dose and at no other."
        },
    ));
    let push = setup
        .map(|setup| push_through(&repeats, setup, flow_index, question))
        .transpose()?;
    Ok(SamePushAnswer {
        blend: blend.blend.clone(),
        anchor: number,
        anchor_pushes: repeats.len(),
        anchor_temp_k: anchor.heat_temp_k,
        anchor_time_s: anchor.heat_time_s,
        anchor_plunger_force_n: mean_ln(|a| a.plunger_force_n).exp(),
        heat_temp_k: question.set_kelvin,
        heat_time_s_point: anchor.heat_time_s * by_estimates.exp(),
        heat_time_interval95: SamePushInterval {
            dose_s: interval(&doses),
            syringe_s: interval(&syringes),
        },
        push,
        extrapolated,
        draws: question.draws,
        seed: question.seed,
        invented: question.invented,
        warnings: found,
    })
}

/// The anchor asked for; where none is named the only heat there is.
fn chosen(blend: &SetTimeBlend, number: Option<usize>) -> Result<(usize, &Anchor), PlanError> {
    let Some(first) = blend.anchors.first() else {
        return Err(PlanError::NoAnchor {
            blend: blend.blend.clone(),
        });
    };
    match number {
        None if blend.anchors.iter().all(|other| are_repeats(first, other)) => Ok((1, first)),
        Some(number) if number >= 1 && number <= blend.anchors.len() => blend
            .anchors
            .get(number - 1)
            .map(|anchor| (number, anchor))
            .ok_or_else(|| PlanError::NoAnchor {
                blend: blend.blend.clone(),
            }),
        _ => Err(PlanError::AnchorNotNamed {
            anchors: blend
                .anchors
                .iter()
                .map(|a| (a.heat_time_s, a.heat_temp_k, a.plunger_force_n))
                .collect(),
        }),
    }
}

/// Whether two pushes are of one heat, through one needle, at one rate.
fn are_repeats(one: &Anchor, other: &Anchor) -> bool {
    let alike = |a: f64, b: f64| (a / b).ln().abs() < SAME_RATIO;
    (one.heat_temp_k - other.heat_temp_k).abs() < SAME_KELVIN
        && alike(one.heat_time_s, other.heat_time_s)
        && alike(one.bore_m, other.bore_m)
        && alike(one.needle_length_m, other.needle_length_m)
        && alike(one.barrel_bore_m, other.barrel_bore_m)
        && alike(one.flow_rate_m3_per_s, other.flow_rate_m3_per_s)
}

/// How much sooner or later, on ln t, the anchor's lot sets than the usual one. `lots` holds what was drawn
/// already, by name, the lot asked about first (without a name where it is a new one); anchors that name
/// none are taken as of one lot.
fn anchor_lot_deviation<'a>(
    blend: &'a SetTimeBlend,
    anchor: &'a Anchor,
    lots: &mut Vec<(Option<&'a str>, f64)>,
    draw: &super::SetTimeDraw,
    random: &mut ChaCha8Rng,
) -> f64 {
    let name = anchor.lot.as_deref();
    let asked_about = lots
        .first()
        .filter(|(own, _)| own.is_some() && *own == name);
    let drawn = asked_about.or_else(|| lots.iter().skip(1).find(|(known, _)| *known == name));
    if let Some((_, deviation)) = drawn {
        return *deviation;
    }
    let effects = blend.lots.as_ref().map_or(&[][..], |lots| &lots.effects);
    let known = effects
        .iter()
        .find(|effect| name == Some(effect.lot.as_str()));
    let deviation = match known {
        Some(effect) => {
            let z: f64 = StandardNormal.sample(random);
            effect.ratio.ln() + effect.sd_ln_ratio * z
        }
        None => draw.other_lot_deviation(random),
    };
    lots.push((name, deviation));
    deviation
}

/// One push of the anchor's gel.
struct Drawn {
    ln_stress_shift: f64,
    bore_ratio: f64,
    friction_n: f64,
    flow_ratio: f64,
}

/// Standard deviation of ln of the stress from one repeat to the next, with its degrees of freedom.
fn push_to_push(repeats: &[&Anchor]) -> Option<(f64, f64)> {
    let count = repeats.len() as f64;
    if repeats.len() < 2 {
        return None;
    }
    let logs: Vec<f64> = repeats
        .iter()
        .map(|a| a.wall_shear_stress_pa.ln())
        .collect();
    let mean = logs.iter().sum::<f64>() / count;
    let squares: f64 = logs.iter().map(|log| (log - mean) * (log - mean)).sum();
    Some(((squares / (count - 1.0)).sqrt(), count - 1.0))
}

fn push_through(
    repeats: &[&Anchor],
    setup: &PushSetup,
    stated_index: Option<f64>,
    question: &SetTimeQuestion,
) -> Result<AnchorPush, PlanError> {
    let count = repeats.len() as f64;
    let ln_mean = |of: fn(&Anchor) -> f64| repeats.iter().map(|a| of(a).ln()).sum::<f64>() / count;
    let stress_pa = ln_mean(|a| a.wall_shear_stress_pa).exp();
    let rate_per_s = ln_mean(|a| a.apparent_shear_rate_per_s).exp();
    // Bore and friction are common to repeats: their doubt does not shrink with the number.
    let stress_sd = repeats
        .iter()
        .map(|a| a.wall_shear_stress_sd_ratio)
        .fold(0.0, f64::max);
    let index = stated_index.unwrap_or(1.0);
    let first = repeats.first();
    let alike = |a: f64, b: f64| (a / b).ln().abs() < SAME_RATIO;
    let same_barrel = first.is_some_and(|a| alike(a.barrel_bore_m, setup.barrel.bore_m));
    // A stopper of the anchor's own kind has the anchor's friction, where nobody states another.
    let setup = &PushSetup {
        friction_n: match first {
            Some(anchor) if same_barrel && setup.friction_is_default => anchor.friction_n,
            _ => setup.friction_n,
        },
        ..setup.clone()
    };
    let conditions = setup.conditions()?;
    let inputs = *conditions.inputs();
    let area_m2 = PI * inputs.barrel_bore_m.powi(2) / 4.0;
    let force_n = |n: f64, drawn: &Drawn| {
        let bore_m = inputs.bore_m * drawn.bore_ratio;
        let flow = inputs.flow_rate_m3_per_s * drawn.flow_ratio;
        let apparent = 32.0 * flow / (PI * bore_m.powi(3));
        let stress = stress_pa * drawn.ln_stress_shift.exp() * (apparent / rate_per_s).powf(n);
        let pressure = 4.0 * inputs.length_m * stress / bore_m;
        area_m2 * (pressure + inputs.tissue_pressure_pa) + drawn.friction_n
    };
    let point = Drawn {
        ln_stress_shift: 0.0,
        bore_ratio: 1.0,
        friction_n: inputs.friction_n,
        flow_ratio: 1.0,
    };
    let is_own = first.is_some_and(|a| {
        alike(a.bore_m, inputs.bore_m)
            && alike(a.needle_length_m, inputs.length_m)
            && alike(a.barrel_bore_m, inputs.barrel_bore_m)
            && alike(a.flow_rate_m3_per_s, inputs.flow_rate_m3_per_s)
    });
    let same_needle = first.is_some_and(|a| alike(a.bore_m, inputs.bore_m));
    let bore_tolerance = setup
        .needle
        .bore_tolerance_m
        .map_or(0.0, |tolerance| tolerance / setup.needle.bore_m);
    let scatter = push_to_push(repeats);
    let mut forces = monte_carlo(question.draws, question.seed, |random, chunk| {
        (0..chunk)
            .map(|_| {
                let even = |random: &mut ChaCha8Rng, half: f64| {
                    half * (2.0 * random.random::<f64>() - 1.0)
                };
                let z: f64 = StandardNormal.sample(random);
                // From one gel of that dose to the next, as far as repeats show it.
                let next = scatter.map_or(0.0, |(sd, freedom)| {
                    StudentT::new(freedom).map_or(0.0, |t| {
                        sd * (1.0 + 1.0 / (freedom + 1.0)).sqrt() * t.sample(random)
                    })
                });
                // Through the anchor's own needle what is not known of the push cancels.
                let common = if is_own { 0.0 } else { stress_sd * z };
                let friction = even(random, setup.doubts.friction_tolerance_n);
                let drawn = Drawn {
                    ln_stress_shift: common + next,
                    bore_ratio: if same_needle {
                        1.0
                    } else {
                        1.0 + even(random, bore_tolerance)
                    },
                    friction_n: if is_own {
                        inputs.friction_n
                    } else {
                        (inputs.friction_n + friction).max(0.0)
                    },
                    flow_ratio: 1.0 + even(random, setup.doubts.flow_tolerance_ratio),
                };
                force_n(index, &drawn)
            })
            .collect()
    });
    forces.sort_by(f64::total_cmp);
    let under = forces.iter().filter(|f| **f <= setup.force_limit_n).count();
    // K g^n has the anchor's stress at the anchor's apparent rate.
    let curve = FlowCurve::PowerLaw {
        consistency_pa_s_n: stress_pa
            / (rate_per_s * (3.0 * index + 1.0) / (4.0 * index)).powf(index),
        flow_index: index,
    };
    let pushed = push(&curve, &conditions);
    let others: Vec<f64> = match stated_index {
        None if !is_own => vec![1.0, EXAMPLE_FLOW_INDEX],
        _ => Vec::new(),
    };
    Ok(AnchorPush {
        needle: setup.needle.label(),
        is_the_anchors_own: is_own,
        plunger_force_n: Spread {
            median: quantile(&forces, 0.5),
            interval95: [quantile(&forces, 0.025), quantile(&forces, 0.975)],
        },
        push_to_push_sd_ratio: scatter.map(|(sd, _)| sd),
        flow_index: index,
        flow_index_is_assumed: stated_index.is_none(),
        if_flow_index: others
            .into_iter()
            .map(|n| PushAtIndex {
                flow_index: n,
                plunger_force_n: force_n(n, &point),
            })
            .collect(),
        pressure_pa: pushed.pressure_pa,
        wall_shear_rate_per_s: pushed.wall_shear_rate_per_s,
        reynolds: pushed.reynolds,
        force_limit_n: setup.force_limit_n,
        passes_probability: under as f64 / forces.len().max(1) as f64,
    })
}
