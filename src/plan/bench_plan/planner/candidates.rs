//! Candidate readings: at which temperatures they lie, and which of them tell a rate or a plateau.

use super::Planner;
use crate::plan::PlanError;
use crate::plan::bench_plan::beliefs::BeliefCase;
use crate::plan::bench_plan::believed_blend::believed_blend;
use crate::plan::bench_plan::error::BenchPlanError;
use crate::plan::bench_plan::settings::BenchSetting;

/// Conversions between which a reading tells a rate, in the middle gel: each temperature is read once
/// there at least.
const TELLS_RATE: std::ops::RangeInclusive<f64> = 0.2..=0.9;
/// Conversion from which a reading tells the plateau: of the slowest gel, else of the middle one.
const LEVELS_OFF: f64 = 0.9;

/// Heated temperatures among settings, each once.
pub(in crate::plan::bench_plan) fn temperatures_of(settings: &[BenchSetting]) -> Vec<f64> {
    let mut kelvin: Vec<f64> = settings
        .iter()
        .filter(|s| s.heat_time_s > 0.0)
        .map(|s| s.heat_temp_k)
        .collect();
    kelvin.sort_by(f64::total_cmp);
    kelvin.dedup();
    kelvin
}

impl Planner<'_> {
    /// Marks the candidates that tell a rate in the middle gel, and leaves out the temperatures at which
    /// none does, as long as enough others are left.
    pub(super) fn find_telling(&mut self, cases: &[BeliefCase]) -> Result<(), BenchPlanError> {
        let question = self.question;
        let mut slowest = vec![1.0_f64; self.candidates.len()];
        let mut of_middle = Vec::new();
        for case in cases {
            let model = believed_blend(
                &question.beliefs,
                case,
                question.limits.block_kelvin,
                question.limits.session_s,
                &question.warm_up,
            )
            .setting()
            .map_err(PlanError::Fit)?;
            let conversions: Vec<f64> = self
                .candidates
                .iter()
                .map(|c| model.conversion(c.heat_temp_k, c.heat_time_s))
                .collect();
            for (least, conversion) in slowest.iter_mut().zip(&conversions) {
                *least = least.min(*conversion);
            }
            // The middle of all ranges comes first.
            if of_middle.is_empty() {
                of_middle = conversions;
            }
        }
        self.tells_rate = of_middle.iter().map(|a| TELLS_RATE.contains(a)).collect();
        let levels = |conversions: &[f64]| -> Vec<bool> {
            conversions.iter().map(|a| *a >= LEVELS_OFF).collect()
        };
        self.levels_off = levels(&slowest);
        if !self.levels_off.contains(&true) {
            self.levels_off = levels(&of_middle);
        }
        let telling: Vec<f64> = self
            .temperatures_kelvin
            .iter()
            .copied()
            .filter(|kelvin| !self.own_places(*kelvin, true).is_empty())
            .collect();
        if telling.len() > question.temperatures {
            self.temperatures_kelvin = telling;
        }
        Ok(())
    }

    /// Heated candidates of a temperature; those that tell a rate alone, where asked.
    pub(super) fn own_places(&self, kelvin: f64, telling: bool) -> Vec<usize> {
        self.candidates
            .iter()
            .zip(&self.tells_rate)
            .enumerate()
            .filter(|(_, (candidate, tells))| {
                candidate.heat_temp_k == kelvin
                    && candidate.heat_time_s > 0.0
                    && (!telling || **tells)
            })
            .map(|(place, _)| place)
            .collect()
    }

    pub(in crate::plan::bench_plan) fn settings_of(&self, places: &[usize]) -> Vec<BenchSetting> {
        places
            .iter()
            .filter_map(|place| self.candidates.get(*place).copied())
            .collect()
    }
}
