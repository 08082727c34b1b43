//! Candidates, and what they tell in every case: the work behind the smallest bench.

mod asked_cases;
mod candidates;
mod designs;
mod expected_widths;
mod steps;

pub(super) use candidates::temperatures_of;

use super::beliefs::BeliefCase;
use super::error::BenchPlanError;
use super::exchange::CaseReadings;
use super::settings::{BenchSetting, candidate_temperatures_kelvin, candidate_times_s};
use super::smallest::BenchPlanQuestion;
use crate::plan::PlanError;
use crate::thermal::hottest_block_kelvin;

/// Units so wide that one of doubt in ln initial, ln plateau, ln rate and energy (J/mol) is none.
const WIDE_UNITS: [f64; 4] = [10.0, 10.0, 10.0, 1e6];

/// One case at one asked temperature.
struct AskedCase {
    case: BeliefCase,
    /// Which of the designs' cases.
    place: usize,
    heat_temp_k: f64,
    heat_time_s: f64,
    gradient: Vec<f64>,
    between_lots_variance: f64,
    syringe_variance: f64,
}

/// Candidates with what they tell in every case.
pub(super) struct Planner<'a> {
    question: &'a BenchPlanQuestion,
    temperatures_kelvin: Vec<f64>,
    candidates: Vec<BenchSetting>,
    /// Whether a candidate tells a rate in the middle gel.
    tells_rate: Vec<bool>,
    /// Whether a candidate has levelled off, in every gel where there are such, else in the middle one.
    levels_off: Vec<bool>,
    cases: Vec<CaseReadings>,
    asked: Vec<AskedCase>,
    pub(super) without_heat_time: usize,
}

impl<'a> Planner<'a> {
    pub(super) fn new(question: &'a BenchPlanQuestion) -> Result<Self, BenchPlanError> {
        let limits = &question.limits;
        let hottest = hottest_block_kelvin(question.altitude_m);
        for kelvin in question.asked_kelvin.iter().chain(&limits.block_kelvin) {
            if *kelvin > hottest {
                return Err(PlanError::Boiling {
                    asked_kelvin: *kelvin,
                    limit_kelvin: hottest,
                    altitude_m: question.altitude_m,
                }
                .into());
            }
        }
        question
            .setup
            .check_force(question.setup.force_limit_n)
            .map_err(BenchPlanError::Plan)?;
        let temperatures_kelvin =
            candidate_temperatures_kelvin(limits.block_kelvin, &question.asked_kelvin);
        let times_s = candidate_times_s(limits)?;
        let mut candidates = vec![BenchSetting {
            heat_temp_k: limits.block_kelvin[0],
            heat_time_s: 0.0,
        }];
        for heat_temp_k in &temperatures_kelvin {
            candidates.extend(times_s.iter().map(|heat_time_s| BenchSetting {
                heat_temp_k: *heat_temp_k,
                heat_time_s: *heat_time_s,
            }));
        }
        let mut planner = Self {
            question,
            tells_rate: vec![false; candidates.len()],
            levels_off: vec![false; candidates.len()],
            temperatures_kelvin,
            candidates,
            cases: Vec::new(),
            asked: Vec::new(),
            without_heat_time: 0,
        };
        let cases = question.beliefs.cases();
        planner.find_telling(&cases)?;
        for case in cases {
            planner.take_in(&case)?;
        }
        if planner.asked.is_empty() {
            return Err(BenchPlanError::NoHeatTime {
                needle: question.setup.needle.label(),
                limit_n: question.setup.force_limit_n,
            });
        }
        Ok(planner)
    }
}
