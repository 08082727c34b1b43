//! Candidates, and what they tell in every case: the work behind the smallest bench.

use super::beliefs::BeliefCase;
use super::believed_blend::believed_blend;
use super::error::BenchPlanError;
use super::exchange::{CaseReadings, DesignWeights, best_settings, worth_of};
use super::information::Information;
use super::settings::{BenchSetting, candidate_temperatures_kelvin, candidate_times_s};
use super::smallest::{
    AskedWidth, BenchPlanQuestion, CaseWidths, ForWhom, LEAST_READINGS, PlanStep, WidthFloor,
};
use super::widths::{LotWidths, WidthParts, half_width_ratio, lot_widths};
use crate::fit::Predictor;
use crate::plan::next_reading::scatter_variance;
use crate::plan::{AskedHeatTime, PlanError, heat_time_gradient};
use crate::thermal::hottest_block_kelvin;
use rayon::prelude::*;

/// Units so wide that one of doubt in ln initial, ln plateau, ln rate and energy (J/mol) is none.
const WIDE_UNITS: [f64; 4] = [10.0, 10.0, 10.0, 1e6];
/// Weight of all parameters together beside the heat time.
const PARAMETERS_WEIGHT: f64 = 0.1;
/// Readings at which choices of temperatures are compared.
const PROBE_READINGS: usize = 8;
/// Choices of temperatures that are looked at with every number of readings.
const CHOICES_KEPT: usize = 3;
/// What a shorter heat time may cost: of the logarithm of the variance, so half of it of a width.
const SHORTER_COSTS: f64 = 0.02;
/// Conversions between which a reading tells a rate, in the middle gel: each temperature is read once
/// there at least.
const TELLS_RATE: std::ops::RangeInclusive<f64> = 0.2..=0.9;
/// Conversion from which a reading tells the plateau: of the slowest gel, else of the middle one.
const LEVELS_OFF: f64 = 0.9;
/// Half-widths of a logarithm past this count as this: a factor of 150 either way tells nothing.
const WIDEST_LN: f64 = 5.0;

/// Heated temperatures among settings, each once.
pub(super) fn temperatures_of(settings: &[BenchSetting]) -> Vec<f64> {
    let mut kelvin: Vec<f64> = settings
        .iter()
        .filter(|s| s.heat_time_s > 0.0)
        .map(|s| s.heat_temp_k)
        .collect();
    kelvin.sort_by(f64::total_cmp);
    kelvin.dedup();
    kelvin
}

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

    /// Marks the candidates that tell a rate in the middle gel, and leaves out the temperatures at which
    /// none does, as long as enough others are left.
    fn find_telling(&mut self, cases: &[BeliefCase]) -> Result<(), BenchPlanError> {
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
    fn own_places(&self, kelvin: f64, telling: bool) -> Vec<usize> {
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

    fn take_in(&mut self, case: &BeliefCase) -> Result<(), BenchPlanError> {
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

    /// The choices of so many temperatures that serve best, the best first.
    pub(super) fn choices(&self, temperatures: usize) -> Result<Vec<Vec<f64>>, BenchPlanError> {
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

    pub(super) fn design(&self, choices: &[Vec<f64>], readings: usize) -> Vec<usize> {
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
    fn within_lot(&self, places: &[usize]) -> Vec<f64> {
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

    fn widths(&self, places: &[usize], lots: usize) -> Vec<Option<LotWidths>> {
        self.parts(places)
            .iter()
            .map(|parts| lot_widths(parts, lots))
            .collect()
    }

    fn parts(&self, places: &[usize]) -> Vec<WidthParts> {
        self.within_lot(places)
            .into_iter()
            .zip(&self.asked)
            .map(|(within_lot_variance, one)| WidthParts {
                within_lot_variance,
                between_lots_variance: one.between_lots_variance,
                syringe_variance: one.syringe_variance,
            })
            .collect()
    }

    pub(super) fn expected_ln(&self, widths: &LotWidths) -> f64 {
        match self.question.for_whom {
            ForWhom::NewLot => widths.new_lot_ln,
            ForWhom::TypicalLot => widths.typical_lot_ln,
        }
    }

    pub(super) fn careful_ln(&self, widths: &LotWidths) -> f64 {
        match self.question.for_whom {
            ForWhom::NewLot => widths.new_lot_nine_of_ten_ln,
            ForWhom::TypicalLot => widths.typical_lot_nine_of_ten_ln,
        }
    }

    /// Half-width as a share, in the cases taken together.
    pub(super) fn ratio(
        &self,
        places: &[usize],
        lots: usize,
        ln: impl Fn(&LotWidths) -> f64,
    ) -> f64 {
        self.together(places, lots, |widths, _| {
            half_width_ratio(ln(widths).min(WIDEST_LN))
        })
    }

    /// Half-width in s, in the cases taken together.
    pub(super) fn seconds(&self, places: &[usize], lots: usize) -> f64 {
        self.together(places, lots, |widths, one| {
            one.heat_time_s * half_width_ratio(self.expected_ln(widths).min(WIDEST_LN))
        })
    }

    fn together(
        &self,
        places: &[usize],
        lots: usize,
        value: impl Fn(&LotWidths, &AskedCase) -> f64,
    ) -> f64 {
        let values: Vec<f64> = self
            .widths(places, lots)
            .iter()
            .zip(&self.asked)
            .map(|(widths, one)| widths.as_ref().map_or(f64::INFINITY, |w| value(w, one)))
            .collect();
        self.question.aggregate.of(&values)
    }

    pub(super) fn is_reached(&self, places: &[usize], lots: usize) -> bool {
        match self.question.width {
            AskedWidth::Ratio(asked) => self.ratio(places, lots, |w| self.expected_ln(w)) <= asked,
            AskedWidth::Seconds(asked) => self.seconds(places, lots) <= asked,
        }
    }

    /// What no number of readings goes below: for a new lot the spread between lots and what differs
    /// from syringe to syringe; for the typical lot nothing.
    pub(super) fn floor(&self, places: &[usize]) -> WidthFloor {
        let least = |widths: &LotWidths| match self.question.for_whom {
            ForWhom::NewLot => widths.least_new_lot_ln,
            ForWhom::TypicalLot => 0.0,
        };
        let lots = self.question.limits.lots.max(2);
        WidthFloor {
            half_width_ratio: self.together(places, lots, |w, _| half_width_ratio(least(w))),
            half_width_s: self.together(places, lots, |w, one| {
                one.heat_time_s * half_width_ratio(least(w))
            }),
        }
    }

    pub(super) fn steps(
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

    pub(super) fn case_widths(&self, places: &[usize], lots: usize) -> Vec<CaseWidths> {
        self.widths(places, lots)
            .into_iter()
            .zip(self.parts(places))
            .zip(&self.asked)
            .filter_map(|((widths, parts), one)| {
                let widths = widths?;
                Some(CaseWidths {
                    case: one.case,
                    heat_temp_k: one.heat_temp_k,
                    heat_time_s: one.heat_time_s,
                    new_lot_half_width_ratio: half_width_ratio(widths.new_lot_ln.min(WIDEST_LN)),
                    new_lot_half_width_ratio_nine_of_ten: half_width_ratio(
                        widths.new_lot_nine_of_ten_ln.min(WIDEST_LN),
                    ),
                    typical_lot_half_width_ratio: half_width_ratio(
                        widths.typical_lot_ln.min(WIDEST_LN),
                    ),
                    parts,
                })
            })
            .collect()
    }

    pub(super) fn settings_of(&self, places: &[usize]) -> Vec<BenchSetting> {
        places
            .iter()
            .filter_map(|place| self.candidates.get(*place).copied())
            .collect()
    }
}

fn in_wide_units(row: &[f64]) -> Vec<f64> {
    row.iter()
        .zip(WIDE_UNITS)
        .map(|(value, unit)| value * unit)
        .collect()
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
