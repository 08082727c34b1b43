//! Designs: the readings of a lot that serve best, and the temperatures to take them at.

use super::{Planner, WIDE_UNITS};
use crate::plan::bench_plan::error::BenchPlanError;
use crate::plan::bench_plan::exchange::{DesignWeights, best_settings, worth_of};
use crate::plan::bench_plan::information::Information;
use rayon::prelude::*;

/// Weight of all parameters together beside the heat time.
const PARAMETERS_WEIGHT: f64 = 0.1;
/// Readings at which choices of temperatures are compared.
const PROBE_READINGS: usize = 8;
/// Choices of temperatures that are looked at with every number of readings.
const CHOICES_KEPT: usize = 3;
/// What a shorter heat time may cost: of the logarithm of the variance, so half of it of a width.
const SHORTER_COSTS: f64 = 0.02;

impl Planner<'_> {
    /// The choices of so many temperatures that serve best, the best first.
    pub(in crate::plan::bench_plan) fn choices(
        &self,
        temperatures: usize,
    ) -> Result<Vec<Vec<f64>>, BenchPlanError> {
        let [low_kelvin, high_kelvin] = self.question.limits.block_kelvin;
        let found = self.temperatures_kelvin.len();
        if temperatures < 2 || found < temperatures {
            return Err(BenchPlanError::TooFewTemperatures {
                low_kelvin,
                high_kelvin,
                found,
                needed: temperatures,
            });
        }
        let mut choices: Vec<(f64, Vec<f64>)> = subsets(&self.temperatures_kelvin, temperatures)
            .into_par_iter()
            .map(|choice| {
                let places = self.design_of(&choice, PROBE_READINGS.max(temperatures + 3));
                (self.worth(&places), choice)
            })
            .collect();
        choices.sort_by(|a, b| a.0.total_cmp(&b.0));
        choices.truncate(CHOICES_KEPT);
        Ok(choices.into_iter().map(|(_, choice)| choice).collect())
    }

    fn weights(&self) -> DesignWeights {
        DesignWeights {
            parameters: PARAMETERS_WEIGHT,
            aggregate: self.question.aggregate,
        }
    }

    /// The best readings at a choice of temperatures, at least one at each that tells a rate.
    fn design_of(&self, choice: &[f64], readings: usize) -> Vec<usize> {
        let own: Vec<Vec<usize>> = choice
            .iter()
            .map(|kelvin| {
                let telling = self.own_places(*kelvin, true);
                if telling.is_empty() {
                    self.own_places(*kelvin, false)
                } else {
                    telling
                }
            })
            .collect();
        let mut any: Vec<usize> = choice
            .iter()
            .flat_map(|kelvin| self.own_places(*kelvin, false))
            .collect();
        let unheated: Vec<usize> = (0..self.candidates.len())
            .filter(|place| self.candidates[*place].heat_time_s == 0.0)
            .collect();
        any.extend(&unheated);
        let levelled: Vec<usize> = any
            .iter()
            .copied()
            .filter(|place| self.levels_off[*place])
            .collect();
        let mut allowed: Vec<&[usize]> = own.iter().map(Vec::as_slice).collect();
        // Where no reading tells the beginning, a fit of a small bench is often refused.
        allowed.push(&unheated);
        // Nor where none tells the plateau.
        if !levelled.is_empty() {
            allowed.push(&levelled);
        }
        let needed = allowed.len();
        allowed.resize(readings.max(needed), any.as_slice());
        self.shortened(best_settings(&self.cases, &allowed, self.weights()))
    }

    /// The same design with shorter heat times where they cost next to nothing: an hour at the plateau
    /// tells as much as two.
    fn shortened(&self, mut places: Vec<usize>) -> Vec<usize> {
        let mut now = worth_of(&self.cases, &places, self.weights());
        for spot in 0..places.len() {
            let Some(own) = places
                .get(spot)
                .and_then(|place| self.candidates.get(*place))
            else {
                continue;
            };
            // Candidates of a temperature stand by their times, the shortest first; a reading that tells a
            // rate, or the plateau, stays one.
            let now_at = places[spot];
            let shorter: Vec<usize> = self
                .own_places(own.heat_temp_k, self.tells_rate[now_at])
                .into_iter()
                .filter(|place| !self.levels_off[now_at] || self.levels_off[*place])
                .filter(|place| self.candidates[*place].heat_time_s < own.heat_time_s)
                .collect();
            for place in shorter {
                let mut tried = places.clone();
                tried[spot] = place;
                let worth = worth_of(&self.cases, &tried, self.weights());
                if worth <= now + SHORTER_COSTS {
                    places = tried;
                    now = worth;
                    break;
                }
            }
        }
        places.sort_unstable();
        places
    }

    pub(in crate::plan::bench_plan) fn design(
        &self,
        choices: &[Vec<f64>],
        readings: usize,
    ) -> Vec<usize> {
        choices
            .iter()
            .map(|choice| self.design_of(choice, readings))
            .min_by(|a, b| self.worth(a).total_cmp(&self.worth(b)))
            .unwrap_or_default()
    }

    /// What the designs are told apart by: the logarithm of the variance within a lot.
    fn worth(&self, places: &[usize]) -> f64 {
        let variances: Vec<f64> = self
            .within_lot(places)
            .iter()
            .map(|v| v.max(f64::MIN_POSITIVE).ln())
            .collect();
        self.question.aggregate.of(&variances)
    }

    /// Variance within a lot of every asked case.
    pub(super) fn within_lot(&self, places: &[usize]) -> Vec<f64> {
        let told: Vec<Information> = self
            .cases
            .iter()
            .map(|case| {
                let mut told = Information::of_none(WIDE_UNITS.len());
                for place in places {
                    told.add(&case.derivatives[*place]);
                }
                told
            })
            .collect();
        self.asked
            .iter()
            .map(|one| {
                told.get(one.place)
                    .map_or(f64::INFINITY, |t| t.between(&one.gradient, &one.gradient))
            })
            .collect()
    }
}

/// All choices of so many of the values.
fn subsets(values: &[f64], size: usize) -> Vec<Vec<f64>> {
    match (size, values.split_first()) {
        (0, _) => vec![Vec::new()],
        (_, None) => Vec::new(),
        (_, Some((first, rest))) => {
            let mut found: Vec<Vec<f64>> = subsets(rest, size - 1)
                .into_iter()
                .map(|mut others| {
                    others.insert(0, *first);
                    others
                })
                .collect();
            found.extend(subsets(rest, size));
            found
        }
    }
}
