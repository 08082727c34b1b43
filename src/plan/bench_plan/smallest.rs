//! The smallest bench that tells a heat time as well as asked: question and answer.

use super::beliefs::{BeliefCase, Beliefs};
use super::error::BenchPlanError;
use super::exchange::Aggregate;
use super::planner::Planner;
use super::sessions::{BenchSession, laid_out_in_sessions};
use super::settings::{BenchLimits, BenchSetting};
use super::widths::WidthParts;
use crate::plan::{PushSetup, StatedThinning};
use crate::thermal::WarmUp;
use rayon::prelude::*;
use serde::Serialize;
use std::collections::BTreeMap;

/// Least readings of a lot: two more than its four numbers.
pub(super) const LEAST_READINGS: usize = 6;

/// How well the heat time is to be told: half the 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum AskedWidth {
    /// As a share of the heat time.
    Ratio(f64),
    /// In seconds.
    #[serde(rename = "s")]
    Seconds(f64),
}

/// Whose heat time is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ForWhom {
    /// A syringe of a lot that was not on the bench.
    NewLot,
    /// The curve of the typical lot.
    TypicalLot,
}

/// A question about a bench that is not there yet.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchPlanQuestion {
    /// What is believed of the gel.
    pub beliefs: Beliefs,
    /// What bench and days allow.
    pub limits: BenchLimits,
    /// Set temperatures at which heat times will be asked, in K.
    pub asked_kelvin: Vec<f64>,
    /// Needle, syringe and push with its limit.
    pub setup: PushSetup,
    /// Shear thinning as stated.
    pub thinning: StatedThinning,
    /// Warm-up of the bench's gels: none or a lag.
    pub warm_up: WarmUp,
    /// The width asked for.
    pub width: AskedWidth,
    /// Whose heat time.
    pub for_whom: ForWhom,
    /// How the cases of the belief are taken together.
    pub aggregate: Aggregate,
    /// Temperatures of the bench.
    pub temperatures: usize,
    /// Altitude of the place, in m.
    pub altitude_m: f64,
    /// Seed of the random order.
    pub seed: u64,
}

/// What a bench would tell in one case.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CaseWidths {
    /// The case.
    #[serde(flatten)]
    pub case: BeliefCase,
    /// Set temperature asked about, in K.
    #[serde(rename = "heat_temp_K")]
    pub heat_temp_k: f64,
    /// Heat time that would be told, in s.
    pub heat_time_s: f64,
    /// Expected half-width for a new lot over the heat time.
    pub new_lot_half_width_ratio: f64,
    /// The same in the bench that is wider than nine of ten.
    pub new_lot_half_width_ratio_nine_of_ten: f64,
    /// Expected half-width of the typical lot's curve over the heat time.
    pub typical_lot_half_width_ratio: f64,
    /// What the doubt is made of.
    #[serde(flatten)]
    pub parts: WidthParts,
}

/// Another bench beside the proposed one, and what it would tell.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlanStep {
    /// What is changed: `one-lot-more`, `one-lot-less`, `one-reading-more`, `one-reading-less`,
    /// `every-setting-twice`, `one-temperature-more`, `one-temperature-less`.
    pub change: &'static str,
    /// Lots.
    pub lots: usize,
    /// Readings of each lot.
    pub readings_a_lot: usize,
    /// Readings in all.
    pub readings: usize,
    /// Temperatures.
    pub temperatures: usize,
    /// Expected half-width over the heat time, in the cases taken together.
    pub half_width_ratio: f64,
    /// The same in s.
    pub half_width_s: f64,
}

/// What no number of readings goes below.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WidthFloor {
    /// Over the heat time.
    pub half_width_ratio: f64,
    /// In s.
    pub half_width_s: f64,
}

/// The proposed bench.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BenchPlan {
    /// Whether the asked width is reached within the limits; else this is the largest bench they allow.
    pub reached: bool,
    /// Lots.
    pub lots: usize,
    /// Readings of each lot.
    pub readings_a_lot: usize,
    /// Readings in all.
    pub readings: usize,
    /// Temperatures, in K.
    #[serde(rename = "heat_temps_K")]
    pub temperatures_kelvin: Vec<f64>,
    /// Settings of each lot; one that is read again stands again.
    pub settings: Vec<BenchSetting>,
    /// Expected half-width over the heat time, in the cases taken together.
    pub half_width_ratio: f64,
    /// The same in s.
    pub half_width_s: f64,
    /// The same as a share, in the bench that is wider than nine of ten.
    pub half_width_ratio_nine_of_ten: f64,
    /// What no number of readings goes below.
    pub floor: WidthFloor,
    /// What one more or one less of each would do.
    pub steps: Vec<PlanStep>,
    /// Every case that was held against it.
    pub cases: Vec<CaseWidths>,
    /// Cases in which the gel never takes the force, left out.
    pub cases_without_heat_time: usize,
    /// The sessions.
    pub sessions: Vec<BenchSession>,
}

/// Plans the smallest bench.
///
/// # Errors
/// What [`BenchPlanError`] names.
pub fn smallest_bench(question: &BenchPlanQuestion) -> Result<BenchPlan, BenchPlanError> {
    question.beliefs.check()?;
    let limits = &question.limits;
    let fewest = LEAST_READINGS.max(question.temperatures + 3);
    if limits.readings_a_lot < fewest {
        return Err(BenchPlanError::TooFewReadings {
            readings: limits.readings_a_lot,
            least: fewest,
        });
    }
    let planner = Planner::new(question)?;
    let choices = planner.choices(question.temperatures)?;
    let designs: BTreeMap<usize, Vec<usize>> = (fewest..=limits.readings_a_lot)
        .into_par_iter()
        .map(|readings| (readings, planner.design(&choices, readings)))
        .collect();
    let cost =
        |lots: usize, readings: usize| lots as f64 * (readings as f64 + limits.lot_costs_readings);
    let mut best: Option<(f64, usize, usize)> = None;
    for lots in 2..=limits.lots.max(2) {
        // The fewest readings that reach the width with so many lots.
        let enough = designs
            .iter()
            .find(|(_, places)| planner.is_reached(places, lots));
        if let Some((readings, _)) = enough
            && best.is_none_or(|(least, _, _)| cost(lots, *readings) < least)
        {
            best = Some((cost(lots, *readings), lots, *readings));
        }
    }
    let reached = best.is_some();
    let (lots, readings) = best.map_or(
        (limits.lots.max(2), limits.readings_a_lot),
        |(_, lots, readings)| (lots, readings),
    );
    let places = designs.get(&readings).cloned().unwrap_or_default();
    let settings = planner.settings_of(&places);
    Ok(BenchPlan {
        reached,
        lots,
        readings_a_lot: places.len(),
        readings: lots * places.len(),
        temperatures_kelvin: super::planner::temperatures_of(&settings),
        half_width_ratio: planner.ratio(&places, lots, |w| planner.expected_ln(w)),
        half_width_s: planner.seconds(&places, lots),
        half_width_ratio_nine_of_ten: planner.ratio(&places, lots, |w| planner.careful_ln(w)),
        floor: planner.floor(&places),
        steps: planner.steps(&places, lots)?,
        cases: planner.case_widths(&places, lots),
        cases_without_heat_time: planner.without_heat_time,
        sessions: laid_out_in_sessions(&settings, lots, limits, question.seed),
        settings,
    })
}
