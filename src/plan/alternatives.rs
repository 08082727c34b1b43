//! What would open a closed window: each alternative computed, none of them a harder push.

use super::error::PlanError;
use super::heat_time::{Verdict, draw_times, judge, prepare};
use super::heated::{Heated, syringe_of};
use super::setup::{BarrelUsed, NeedleUsed, PushSetup};
use super::time_question::{TimeQuestion, Window};
use crate::fit::BlendCalibration;
use crate::reference::{BoreBasis, Wall, block_contact};
use crate::thermal::{DeclaredHistory, DeclaredSyringe, HistorySource, WarmUp};
use crate::units::display;
use serde::Serialize;

/// Draws of an alternative: enough for a choice, not for a record.
const DRAWS: usize = 2000;
/// Slower pushes that are tried, as a share of the asked flow rate.
const SLOWER_RATIOS: [f64; 5] = [0.7, 0.5, 0.35, 0.25, 0.1];

/// Something else than a harder push.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Alternative {
    /// `needle`, `flow` or `syringe`.
    pub change: String,
    /// In words: '27G x 13 mm'.
    pub to: String,
    /// Gauge, where the needle changes.
    pub gauge: Option<u8>,
    /// Flow rate, in m³/s, where the push changes.
    pub flow_rate_m3_per_s: Option<f64>,
    /// Syringe, where it changes.
    pub syringe: Option<String>,
    /// The window that it opens, in s.
    pub heat_time_s: Window,
    /// What ends that window.
    pub limited_by: String,
}

/// Wider needles, slower pushes and a smaller syringe that open the window: the least change of
/// each kind.
///
/// # Errors
/// As for the question itself.
pub(super) fn alternatives(
    blend: &BlendCalibration,
    question: &TimeQuestion,
) -> Result<Vec<Alternative>, PlanError> {
    let mut found = Vec::new();
    found.extend(wider_needle(blend, question)?);
    found.extend(slower_push(blend, question)?);
    found.extend(smaller_syringe(blend, question)?);
    Ok(found)
}

fn try_setup(
    blend: &BlendCalibration,
    question: &TimeQuestion,
    setup: PushSetup,
) -> Result<Option<Verdict>, PlanError> {
    let mut changed = TimeQuestion {
        setup,
        draws: DRAWS,
        ..question.clone()
    };
    if changed.setup.barrel != question.setup.barrel
        && let Some(heated) = heated_in(&changed.setup.barrel, question)?
    {
        changed.warm_up = heated.warm_up;
        changed.contact_histories = heated.contact_histories;
    }
    if changed
        .setup
        .check_force(changed.setup.force_limit_n)
        .is_err()
    {
        return Ok(None);
    }
    let prepared = prepare(blend, &changed)?;
    let times = draw_times(&changed, &prepared, changed.varied, DRAWS);
    let [shortest, longest] = blend.range.heat_time_s;
    let verdict = judge(&times, shortest, longest, changed.extrapolate);
    Ok(verdict.open.then_some(verdict))
}

/// The question's warm-up in another barrel, where it was computed by conduction: another syringe
/// warms up otherwise.
fn heated_in(barrel: &BarrelUsed, question: &TimeQuestion) -> Result<Option<Heated>, PlanError> {
    let Some(history) = question.warm_up.as_ref().and_then(WarmUp::as_sampled) else {
        return Ok(None);
    };
    let HistorySource::Syringe(of_question) = &history.declared().source else {
        return Ok(None);
    };
    let declared = DeclaredHistory {
        source: HistorySource::Syringe(DeclaredSyringe {
            contact_w_per_m2_kelvin: of_question.contact_w_per_m2_kelvin,
            air_w_per_m2_kelvin: of_question.air_w_per_m2_kelvin,
            ..syringe_of(barrel)?
        }),
        ..history.declared().clone()
    };
    let contact_histories = if question.contact_histories.is_empty() {
        Vec::new()
    } else {
        declared.over_contact(block_contact()?.coefficient_range_w_per_m2_kelvin)?
    };
    Ok(Some(Heated {
        warm_up: Some(WarmUp::sampled(declared)?),
        contact_histories,
        warnings: Vec::new(),
    }))
}

fn wider_needle(
    blend: &BlendCalibration,
    question: &TimeQuestion,
) -> Result<Option<Alternative>, PlanError> {
    let asked = &question.setup.needle;
    let finest = asked.gauge.unwrap_or(34);
    for gauge in (18..=finest).rev() {
        let needle =
            NeedleUsed::of_gauge(gauge, Wall::Regular, BoreBasis::Nominal, asked.length_m)?;
        if needle.bore_m <= asked.bore_m {
            continue;
        }
        let to = needle.label();
        if let Some(verdict) = try_setup(blend, question, question.setup.through(needle))? {
            return Ok(Some(Alternative {
                change: "needle".to_owned(),
                to,
                gauge: Some(gauge),
                flow_rate_m3_per_s: None,
                syringe: None,
                heat_time_s: verdict.window,
                limited_by: verdict.limited_by.to_owned(),
            }));
        }
    }
    Ok(None)
}

fn slower_push(
    blend: &BlendCalibration,
    question: &TimeQuestion,
) -> Result<Option<Alternative>, PlanError> {
    for ratio in SLOWER_RATIOS {
        let flow_rate_m3_per_s = ratio * question.setup.flow_rate_m3_per_s;
        let setup = PushSetup {
            flow_rate_m3_per_s,
            ..question.setup.clone()
        };
        if let Some(verdict) = try_setup(blend, question, setup)? {
            return Ok(Some(Alternative {
                change: "flow".to_owned(),
                to: display::flow_rate(flow_rate_m3_per_s),
                gauge: None,
                flow_rate_m3_per_s: Some(flow_rate_m3_per_s),
                syringe: None,
                heat_time_s: verdict.window,
                limited_by: verdict.limited_by.to_owned(),
            }));
        }
    }
    Ok(None)
}

fn smaller_syringe(
    blend: &BlendCalibration,
    question: &TimeQuestion,
) -> Result<Option<Alternative>, PlanError> {
    for name in ["5mL", "3mL", "1mL"] {
        let barrel = BarrelUsed::of_syringe(name)?;
        if barrel.bore_m >= 0.95 * question.setup.barrel.bore_m {
            continue;
        }
        let mut setup = PushSetup {
            barrel,
            ..question.setup.clone()
        };
        if setup.friction_is_default {
            (setup.friction_n, setup.doubts.friction_tolerance_n) =
                setup.barrel.default_friction_n()?;
        }
        let to = setup.barrel.label();
        let syringe = setup.barrel.syringe.clone();
        if let Some(verdict) = try_setup(blend, question, setup)? {
            return Ok(Some(Alternative {
                change: "syringe".to_owned(),
                to,
                gauge: None,
                flow_rate_m3_per_s: None,
                syringe,
                heat_time_s: verdict.window,
                limited_by: verdict.limited_by.to_owned(),
            }));
        }
    }
    Ok(None)
}
