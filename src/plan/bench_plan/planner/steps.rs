//! What one lot, reading or temperature more or less would buy.

use super::Planner;
use super::candidates::temperatures_of;
use crate::plan::bench_plan::error::BenchPlanError;
use crate::plan::bench_plan::smallest::{LEAST_READINGS, PlanStep};

impl Planner<'_> {
    pub(in crate::plan::bench_plan) fn steps(
        &self,
        places: &[usize],
        lots: usize,
    ) -> Result<Vec<PlanStep>, BenchPlanError> {
        let readings = places.len();
        let temperatures = self.question.temperatures;
        let own = self.choices(temperatures)?;
        let mut asked: Vec<(&'static str, usize, Vec<usize>)> =
            vec![("one-lot-more", lots + 1, places.to_vec())];
        if lots > 2 {
            asked.push(("one-lot-less", lots - 1, places.to_vec()));
        }
        asked.push(("one-reading-more", lots, self.design(&own, readings + 1)));
        if readings > LEAST_READINGS.max(temperatures + 3) {
            asked.push(("one-reading-less", lots, self.design(&own, readings - 1)));
        }
        let mut twice = places.to_vec();
        twice.extend_from_slice(places);
        twice.sort_unstable();
        asked.push(("every-setting-twice", lots, twice));
        for (change, other) in [
            ("one-temperature-more", temperatures + 1),
            ("one-temperature-less", temperatures - 1),
        ] {
            if let Ok(choices) = self.choices(other)
                && readings > other + 2
            {
                asked.push((change, lots, self.design(&choices, readings)));
            }
        }
        Ok(asked
            .into_iter()
            .map(|(change, lots, places)| PlanStep {
                change,
                lots,
                readings_a_lot: places.len(),
                readings: lots * places.len(),
                temperatures: temperatures_of(&self.settings_of(&places)).len(),
                half_width_ratio: self.ratio(&places, lots, |w| self.expected_ln(w)),
                half_width_s: self.seconds(&places, lots),
            })
            .collect())
    }
}
