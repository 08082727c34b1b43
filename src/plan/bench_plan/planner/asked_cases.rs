//! One case of what is believed: what each candidate would tell of its heat times.

use super::{AskedCase, Planner, WIDE_UNITS};
use crate::fit::Predictor;
use crate::plan::bench_plan::beliefs::BeliefCase;
use crate::plan::bench_plan::believed_blend::believed_blend;
use crate::plan::bench_plan::error::BenchPlanError;
use crate::plan::bench_plan::exchange::CaseReadings;
use crate::plan::next_reading::scatter_variance;
use crate::plan::{AskedHeatTime, PlanError, heat_time_gradient};

impl Planner<'_> {
    pub(super) fn take_in(&mut self, case: &BeliefCase) -> Result<(), BenchPlanError> {
        let question = self.question;
        let beliefs = &question.beliefs;
        let longest_s = question.limits.session_s;
        let blend = believed_blend(
            beliefs,
            case,
            question.limits.block_kelvin,
            longest_s,
            &question.warm_up,
        );
        let mut found = Vec::new();
        for kelvin in &question.asked_kelvin {
            let asked = AskedHeatTime {
                set_kelvin: *kelvin,
                setup: question.setup.clone(),
                thinning: question.thinning,
                warm_up: None,
            };
            let gradient = match heat_time_gradient(&blend, &asked) {
                Ok(gradient) => gradient,
                Err(PlanError::NoTimeToNarrow { .. }) => continue,
                Err(error) => return Err(error.into()),
            };
            let by = |place: usize| gradient.by_parameter.get(place).copied().unwrap_or(0.0);
            let between = [
                beliefs.lot_spread_initial_ratio,
                beliefs.lot_spread_plateau_ratio,
                beliefs.lot_spread_rate_ratio,
            ];
            found.push(AskedCase {
                case: *case,
                place: self.cases.len(),
                heat_temp_k: *kelvin,
                heat_time_s: gradient.heat_time_s,
                gradient: in_wide_units(&gradient.by_parameter),
                between_lots_variance: between
                    .iter()
                    .enumerate()
                    .map(|(place, sd)| (by(place) * sd).powi(2))
                    .sum(),
                syringe_variance: scatter_variance(&blend, &asked, &gradient),
            });
        }
        if found.is_empty() {
            self.without_heat_time += 1;
            return Ok(());
        }
        let predictor = Predictor::new(&blend).map_err(PlanError::Fit)?;
        let mut derivatives = Vec::with_capacity(self.candidates.len());
        for same in self
            .candidates
            .chunk_by(|a, b| a.heat_temp_k == b.heat_temp_k)
        {
            let times_s: Vec<f64> = same.iter().map(|s| s.heat_time_s).collect();
            let kelvin = same.first().map_or(0.0, |s| s.heat_temp_k);
            for row in predictor.derivatives(kelvin, &times_s, 0.0) {
                let mut row = in_wide_units(&row);
                row.iter_mut()
                    .for_each(|value| *value /= beliefs.reading_scatter_ratio);
                derivatives.push(row);
            }
        }
        self.cases.push(CaseReadings {
            derivatives,
            gradients: found.iter().map(|one| one.gradient.clone()).collect(),
        });
        self.asked.extend(found);
        Ok(())
    }
}

fn in_wide_units(row: &[f64]) -> Vec<f64> {
    row.iter()
        .zip(WIDE_UNITS)
        .map(|(value, unit)| value * unit)
        .collect()
}
