//! The fit of set times over temperature to what was seen, file formats apart.

use super::likelihood::{Known, LotPosterior, SetTimeModel};
use super::observation::SetTimeObservation;
use super::scatter::ScatterForm;
use super::search::{SearchEnd, covariance, search};
use crate::fit::least_squares::Termination;
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
use ndarray::Array2;

/// Energies of the search are counted in this, so that all parameters are of one size, in J/mol.
const ENERGY_UNIT_J_PER_MOL: f64 = 1e5;
/// A scatter under this is none: what was set and what was not are parted by a line.
const LEAST_SCATTER: f64 = 0.003;
/// A scatter over this is no setting: what was heated longer is not set more often.
const LARGEST_SCATTER: f64 = 8.0;
/// A log-likelihood above this leaves no syringe in doubt.
const ALL_TOLD_APART: f64 = -1e-3;
/// Energies beyond this are no setting: nothing holds them.
const LARGEST_ENERGY_J_PER_MOL: f64 = 3e6;
/// A standard error of the energy over this is none: nothing holds it.
const LARGEST_ENERGY_SE_J_PER_MOL: f64 = 5e5;
/// The same of the other parameters, which are logarithms.
const LARGEST_LN_SE: f64 = 5.0;
const ENERGY_STARTS_J_PER_MOL: [f64; 7] = [0.0, 60e3, 120e3, 200e3, 300e3, 420e3, 560e3];
const SCATTER_STARTS: [f64; 3] = [0.1, 0.3, 0.9];
/// Standard deviations between lots to start from, over the scatter.
const LOT_STARTS: [f64; 3] = [0.3, 1.0, 3.0];
/// A standard deviation between lots under this share of the scatter is none.
const NO_LOT_SPREAD_RATIO: f64 = 1e-3;

/// What is held or known beforehand.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SetTimeKnowledge {
    /// Activation energy held, in J/mol.
    pub held_energy_j_per_mol: Option<f64>,
    /// Scatter held.
    pub held_scatter: Option<f64>,
    /// Published activation energy and its standard deviation, in J/mol.
    pub prior_energy_j_per_mol: Option<(f64, f64)>,
}

/// Syringes, how they were heated, and what tells them apart.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SetTimeRows {
    /// What was seen.
    pub observations: Vec<SetTimeObservation>,
    /// Set temperature of each, in K.
    pub heat_temp_kelvin: Vec<f64>,
    /// Criterion of each, by number from 0.
    pub criterion: Vec<usize>,
    /// Lot of each, by number from 0; empty where they are not told apart.
    pub lot: Vec<usize>,
}

/// A fitted set time.
#[derive(Debug, Clone, PartialEq)]
pub struct SetTimeFit {
    /// Form of the scatter.
    pub form: ScatterForm,
    /// Reference temperature, in K.
    pub reference_kelvin: f64,
    /// ln of the place at the reference temperature, t in s, for the first criterion.
    pub ln_place: f64,
    /// Activation energy, in J/mol.
    pub activation_energy_j_per_mol: f64,
    /// ln of each further criterion's place over the first's.
    pub shifts: Vec<f64>,
    /// Scatter of ln t.
    pub scatter: f64,
    /// Standard deviation of ln t between lots; 0 where lots show none or are not told apart.
    pub lot_sd: f64,
    /// Whether lots were told apart.
    pub has_lots: bool,
    /// Mean and variance of each lot's deviation of ln t.
    pub lot_effects: Vec<(f64, f64)>,
    /// Whether activation energy, scatter were held.
    pub held: [bool; 2],
    /// Covariance of ln place, energy in J/mol, shifts, ln scatter, lot sd, of those that are free
    /// and not at their bound.
    pub covariance: Array2<f64>,
    /// Log-likelihood, a prior counted.
    pub log_likelihood: f64,
    /// Free parameters.
    pub free_parameters: usize,
    /// Steps of the search.
    pub iterations: usize,
}

/// Why there is no fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoSetTime {
    /// What was set and what was not are parted without overlap: the scatter runs to zero.
    Parted,
    /// Lot by lot they are.
    PartedByLot,
    /// Nothing holds the activation energy.
    EnergyNotHeld,
    /// What was heated longer is not set more often.
    NotBySetting,
    /// The search ended elsewhere than at a greatest likelihood.
    NotFound(Termination),
}

/// Fits the time at which syringes set to what was seen of them, by greatest likelihood.
///
/// # Equation
/// `ln t_set = m + (E/R)(1/T - 1/T_ref) + d_c + b_lot + s e`, `b_lot` normal with standard deviation
/// w; a syringe not set at `t1` and set by `t2` has the probability `F(ln t2) - F(ln t1)`
///
/// | symbol | field | unit |
/// |---|---|---|
/// | m | `ln_place`, t in s | 1 |
/// | E | `activation_energy_j_per_mol` | J/mol |
/// | T, T_ref | `heat_temp_kelvin`, `reference_kelvin` | K |
/// | d_c | `shifts`, 0 for the first criterion | 1 |
/// | b, w | `lot_effects`, `lot_sd` | 1 |
/// | s, e | `scatter`, [`ScatterForm`] | 1 |
///
/// # Valid for
/// Syringes that are looked at by themselves, at times that were not chosen by how they looked; one
/// activation energy and one scatter for all criteria.
///
/// # Errors
/// [`NoSetTime`] where the likelihood has no greatest value.
///
/// # Source
/// J. Schmee, G. Hahn, Technometrics 21 (1979) 417 (censored Arrhenius lives); Meeker & Escobar 1998,
/// chapters 8 and 17.
pub fn fit_set_time(
    rows: &SetTimeRows,
    form: ScatterForm,
    reference_kelvin: f64,
    knowledge: &SetTimeKnowledge,
) -> Result<SetTimeFit, NoSetTime> {
    let layout = Layout::new(rows, reference_kelvin, knowledge);
    let alone = layout.model(rows, form, false);
    let end = layout.best(&alone, layout.starts(&alone, rows))?;
    if !layout.tells_lots {
        return layout.fit(&alone, &end, form, false);
    }
    let apart = layout.model(rows, form, true);
    let scatter = end.point.get(layout.scale()).copied().unwrap_or(0.0);
    let starts = LOT_STARTS
        .iter()
        .map(|ratio| {
            let mut start = end.point.clone();
            if let (Some(ln_scale), false) = (start.get_mut(layout.scale()), layout.holds_scatter) {
                *ln_scale -= 0.5 * (1.0 + ratio * ratio).ln();
            }
            start.push(ratio * scatter.exp() / (1.0 + ratio * ratio).sqrt());
            start
        })
        .collect();
    let with_lots = layout.best(&apart, starts).map_err(|why| match why {
        NoSetTime::Parted => NoSetTime::PartedByLot,
        other => other,
    })?;
    let lot_sd = with_lots.point.last().copied().unwrap_or(0.0).abs();
    let scale = with_lots.point.get(layout.scale()).copied().unwrap_or(0.0);
    if lot_sd < NO_LOT_SPREAD_RATIO * scale.exp() {
        // The greatest likelihood is at no spread: the parameter is at its bound.
        return layout.fit(&alone, &end, form, true);
    }
    layout.fit(&apart, &with_lots, form, true)
}

/// Which parameters there are, and in which order.
struct Layout {
    reference_kelvin: f64,
    columns: Vec<Vec<f64>>,
    known: Vec<Known>,
    tells_lots: bool,
    /// No set time is known to the second.
    all_censored: bool,
    holds_scatter: bool,
    held_energy: Option<f64>,
    held_scatter: Option<f64>,
}

impl Layout {
    fn new(rows: &SetTimeRows, reference_kelvin: f64, knowledge: &SetTimeKnowledge) -> Self {
        let inverse = |kelvin: &f64| {
            (1.0 / kelvin - 1.0 / reference_kelvin) / GAS_CONSTANT_J_PER_MOL_K
                * ENERGY_UNIT_J_PER_MOL
        };
        let mut columns = vec![
            vec![1.0; rows.observations.len()],
            rows.heat_temp_kelvin.iter().map(inverse).collect(),
        ];
        let criteria = rows.criterion.iter().max().map_or(0, |last| *last);
        for number in 1..=criteria {
            let is_one = |criterion: &usize| f64::from(u8::from(*criterion == number));
            columns.push(rows.criterion.iter().map(is_one).collect());
        }
        let known = knowledge
            .prior_energy_j_per_mol
            .map(|(value, sd)| Known {
                place: 1,
                value: value / ENERGY_UNIT_J_PER_MOL,
                sd: sd / ENERGY_UNIT_J_PER_MOL,
            })
            .into_iter()
            .collect();
        Self {
            reference_kelvin,
            columns,
            known,
            tells_lots: rows.lot.iter().any(|lot| *lot > 0),
            all_censored: !rows.observations.iter().any(SetTimeObservation::is_exact),
            holds_scatter: knowledge.held_scatter.is_some(),
            held_energy: knowledge
                .held_energy_j_per_mol
                .map(|energy| energy / ENERGY_UNIT_J_PER_MOL),
            held_scatter: knowledge.held_scatter,
        }
    }

    /// Place of ln scatter.
    fn scale(&self) -> usize {
        self.columns.len()
    }

    fn model(&self, rows: &SetTimeRows, form: ScatterForm, lots: bool) -> SetTimeModel {
        SetTimeModel::new(
            form,
            rows.observations.clone(),
            self.columns.clone(),
            if lots { &rows.lot } else { &[] },
            self.known.clone(),
        )
    }

    fn free(&self, model: &SetTimeModel) -> Vec<usize> {
        (0..model.parameters())
            .filter(|place| !(*place == 1 && self.held_energy.is_some()))
            .filter(|place| !(*place == self.scale() && self.holds_scatter))
            .collect()
    }

    /// A coarse grid over energy, place and scatter; the four likeliest.
    fn starts(&self, model: &SetTimeModel, rows: &SetTimeRows) -> Vec<Vec<f64>> {
        let energies: Vec<f64> = match (self.held_energy, self.known.first()) {
            (Some(held), _) => vec![held],
            (None, Some(known)) => vec![known.value],
            (None, None) => ENERGY_STARTS_J_PER_MOL
                .iter()
                .map(|energy| energy / ENERGY_UNIT_J_PER_MOL)
                .collect(),
        };
        let scatters: Vec<f64> = match self.held_scatter {
            Some(held) => vec![held],
            None => SCATTER_STARTS.to_vec(),
        };
        let mut found: Vec<(f64, Vec<f64>)> = Vec::new();
        for energy in energies {
            let mut places: Vec<f64> = rows
                .observations
                .iter()
                .zip(&self.columns[1])
                .filter(|(seen, _)| seen.says_something())
                .map(|(seen, x)| ln_between(seen) - energy * x)
                .collect();
            places.sort_by(f64::total_cmp);
            for share in [0.1, 0.3, 0.5, 0.7, 0.9] {
                let at = ((places.len().max(1) - 1) as f64 * share) as usize;
                for scatter in &scatters {
                    let mut start = vec![0.0; model.parameters()];
                    start[0] = places.get(at).copied().unwrap_or(0.0);
                    start[1] = energy;
                    start[self.scale()] = scatter.ln();
                    found.push((model.evaluate(&start).value, start));
                }
            }
        }
        found.retain(|(value, _)| value.is_finite());
        found.sort_by(|a, b| b.0.total_cmp(&a.0));
        found.into_iter().take(4).map(|(_, start)| start).collect()
    }

    /// The best end of searches from several starts.
    fn best(&self, model: &SetTimeModel, starts: Vec<Vec<f64>>) -> Result<SearchEnd, NoSetTime> {
        let free = self.free(model);
        let mut best: Option<SearchEnd> = None;
        for start in starts {
            let end = search(model, &start, &free);
            let better = |kept: &SearchEnd| {
                let (new, old) = (end.termination, kept.termination);
                match (new.was_successful(), old.was_successful()) {
                    (true, false) => true,
                    (false, true) => false,
                    _ => end.evaluation.value > kept.evaluation.value,
                }
            };
            if best.as_ref().is_none_or(better) {
                best = Some(end);
            }
            // Without lots the likelihood has one top (Burridge 1981): one good end is enough.
            let one_top = model.parameters() == self.scale() + 1;
            if one_top
                && best
                    .as_ref()
                    .is_some_and(|end| end.termination.was_successful())
            {
                break;
            }
        }
        let end = best.ok_or(NoSetTime::NotFound(Termination::NotFinite))?;
        self.refuse(&end)?;
        Ok(end)
    }

    /// Ends that are no fit.
    fn refuse(&self, end: &SearchEnd) -> Result<(), NoSetTime> {
        let at = |place: usize| end.point.get(place).copied().unwrap_or(f64::NAN);
        let scatter = at(self.scale()).exp();
        if scatter < LEAST_SCATTER && !self.holds_scatter {
            return Err(NoSetTime::Parted);
        }
        // A likelihood that tells everything apart is on its way to no scatter.
        if end.evaluation.value > ALL_TOLD_APART && self.all_censored && !self.holds_scatter {
            return Err(NoSetTime::Parted);
        }
        if scatter > LARGEST_SCATTER {
            return Err(NoSetTime::NotBySetting);
        }
        if (at(1) * ENERGY_UNIT_J_PER_MOL).abs() > LARGEST_ENERGY_J_PER_MOL {
            return Err(NoSetTime::EnergyNotHeld);
        }
        match end.termination {
            Termination::Converged => Ok(()),
            other => Err(NoSetTime::NotFound(other)),
        }
    }

    fn fit(
        &self,
        model: &SetTimeModel,
        end: &SearchEnd,
        form: ScatterForm,
        has_lots: bool,
    ) -> Result<SetTimeFit, NoSetTime> {
        let free = self.free(model);
        let mut spread =
            covariance(&end.evaluation, &free).ok_or(NoSetTime::NotFound(Termination::Flat))?;
        if let Some(energy) = free.iter().position(|place| *place == 1) {
            for other in 0..free.len() {
                spread[[energy, other]] *= ENERGY_UNIT_J_PER_MOL;
                spread[[other, energy]] *= ENERGY_UNIT_J_PER_MOL;
            }
        }
        // A likelihood that levels off has an end without a top.
        for (place, parameter) in free.iter().enumerate() {
            let error = spread[[place, place]].sqrt();
            if *parameter == 1 && error > LARGEST_ENERGY_SE_J_PER_MOL {
                return Err(NoSetTime::EnergyNotHeld);
            }
            if *parameter == self.scale() && error > LARGEST_LN_SE {
                return Err(NoSetTime::Parted);
            }
            if *parameter != 1 && error > LARGEST_LN_SE {
                return Err(NoSetTime::NotFound(Termination::Flat));
            }
        }
        let at = |place: usize| end.point.get(place).copied().unwrap_or(f64::NAN);
        let scale = self.scale();
        let lot_sd = end.point.get(scale + 1).copied().unwrap_or(0.0);
        // The likelihood does not know the sign of a standard deviation.
        if lot_sd < 0.0 {
            let last = free.len() - 1;
            for other in 0..last {
                spread[[last, other]] *= -1.0;
                spread[[other, last]] *= -1.0;
            }
        }
        Ok(SetTimeFit {
            form,
            reference_kelvin: self.reference_kelvin,
            ln_place: at(0),
            activation_energy_j_per_mol: at(1) * ENERGY_UNIT_J_PER_MOL,
            shifts: (2..model.coefficients()).map(at).collect(),
            scatter: at(scale).exp(),
            lot_sd: lot_sd.abs(),
            has_lots,
            lot_effects: model
                .lots(&end.point)
                .iter()
                .map(|LotPosterior { mean, variance }| (lot_sd * mean, lot_sd * lot_sd * variance))
                .collect(),
            held: [self.held_energy.is_some(), self.holds_scatter],
            covariance: spread,
            log_likelihood: end.evaluation.value,
            free_parameters: free.len() + usize::from(has_lots && model.parameters() == scale + 1),
            iterations: end.iterations,
        })
    }
}

/// A time within what was seen, on its logarithm.
fn ln_between(seen: &SetTimeObservation) -> f64 {
    match (seen.has_lower(), seen.has_upper()) {
        (true, true) => 0.5 * (seen.after_s.ln() + seen.by_s.ln()),
        (true, false) => seen.after_s.ln(),
        _ => seen.by_s.ln(),
    }
}

impl SetTimeFit {
    /// ln of the time, in s, at which a share of syringes has set at a temperature.
    ///
    /// # Equation
    /// `m + (E/R)(1/T - 1/T_ref) + d_c + s F^-1(p)`
    #[must_use]
    pub fn ln_time(&self, kelvin: f64, criterion: usize, share: f64) -> f64 {
        let inverse = (1.0 / kelvin - 1.0 / self.reference_kelvin) / GAS_CONSTANT_J_PER_MOL_K;
        let shift = criterion
            .checked_sub(1)
            .and_then(|place| self.shifts.get(place))
            .copied()
            .unwrap_or(0.0);
        self.ln_place
            + self.activation_energy_j_per_mol * inverse
            + shift
            + self.scatter * self.form.deviate(share)
    }
}
