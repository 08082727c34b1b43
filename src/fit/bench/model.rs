//! The kinetic model of a bench as a separable least-squares model, with exact derivatives.

use super::rows::BenchRows;
use crate::fit::least_squares::SeparableModel;
use crate::kinetics::{FirmnessLaw, ReactionOrder, conversion};
use crate::thermal::{TemperatureHistory, WarmUp, relative_rate};
use serde::{Deserialize, Serialize};

/// How readings scatter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, Default)]
#[serde(rename_all = "kebab-case")]
pub enum ErrorModel {
    /// By the same share of the reading everywhere: the logarithm is fitted.
    #[default]
    Relative,
    /// By the same amount everywhere.
    Absolute,
    /// By the standard deviation stated for each reading.
    Given,
}

/// Parameters held at a value instead of fitted, in SI on the natural scale.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Held {
    /// Reading before any heat.
    pub initial: Option<f64>,
    /// Reading when all has set.
    pub plateau: Option<f64>,
    /// Rate at the reference temperature, in 1/s.
    pub rate_ref_per_s: Option<f64>,
    /// Activation energy, in J/mol.
    pub activation_energy_j_per_mol: Option<f64>,
    /// Flow index of the set gel.
    pub flow_index_plateau: Option<f64>,
}

/// Law, errors and history under which a bench is fitted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shape {
    /// Firmness law.
    pub law: FirmnessLaw,
    /// Order of the setting reaction.
    pub order: ReactionOrder,
    /// How readings scatter.
    pub errors: ErrorModel,
    /// Warm-up of the gel.
    pub warm_up: WarmUp,
    /// Reference temperature, in K.
    pub reference_kelvin: f64,
    /// What is held.
    pub held: Held,
}

/// Which of the parameters other than rate and energy are searched, and which are projected out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Slot {
    Held,
    Projected(usize),
    Searched(usize),
    Absent,
}

/// The bench model: `SeparableModel` over (ln k_ref, E, ...).
///
/// Searched parameters stand in the order ln k_ref, E/RT_ref, then those of initial, plateau and
/// flow index that no projection takes. The energy is searched as the pure number `E/(R T_ref)`,
/// which is of the size of the other unknowns.
#[derive(Debug, Clone)]
pub struct BenchModel<'a> {
    rows: &'a BenchRows,
    shape: Shape,
    thermal_energy_j_per_mol: f64,
    rate_slot: Option<usize>,
    energy_slot: Option<usize>,
    initial: Slot,
    plateau: Slot,
    thinning: Slot,
    search_count: usize,
    linear_count: usize,
    weighted_response: Vec<f64>,
    weights: Vec<f64>,
    response_norm: f64,
    conversion: Vec<f64>,
    unset: Vec<f64>,
    by_ln_rate: Vec<f64>,
    by_energy: Vec<f64>,
    point_values: Vec<[f64; 4]>,
}

impl<'a> BenchModel<'a> {
    /// Sets the model up for the rows; weights are 1 unless standard deviations are given.
    #[must_use]
    pub fn new(rows: &'a BenchRows, shape: Shape) -> Self {
        let count = rows.len();
        let weights: Vec<f64> = match shape.errors {
            ErrorModel::Given => rows
                .reading_sds
                .iter()
                .map(|sd| sd.map_or(0.0, |sd| 1.0 / sd))
                .collect(),
            ErrorModel::Relative | ErrorModel::Absolute => vec![1.0; count],
        };
        let weighted_response: Vec<f64> = rows
            .readings
            .iter()
            .zip(&weights)
            .map(|(reading, weight)| match shape.errors {
                ErrorModel::Relative => reading.ln(),
                ErrorModel::Absolute | ErrorModel::Given => reading * weight,
            })
            .collect();
        let response_norm = weighted_response.iter().map(|y| y * y).sum::<f64>().sqrt();
        let mut search_count = 0;
        let mut next_search = |free: bool| {
            free.then(|| {
                search_count += 1;
                search_count - 1
            })
        };
        let rate_slot = next_search(shape.held.rate_ref_per_s.is_none());
        let energy_slot = next_search(shape.held.activation_energy_j_per_mol.is_none());
        let thinning_is_there = !rows.ln_shear_ratios.is_empty();
        let both_linear = match (shape.law, shape.errors) {
            (FirmnessLaw::Log, ErrorModel::Relative) => true,
            (FirmnessLaw::Linear, ErrorModel::Absolute | ErrorModel::Given) => !thinning_is_there,
            (FirmnessLaw::Linear, ErrorModel::Relative) | (FirmnessLaw::Log, _) => false,
        };
        let mut linear_count = 0;
        let mut slot = |there: bool, held: bool, linear: bool| {
            if !there {
                Slot::Absent
            } else if held {
                Slot::Held
            } else if linear {
                linear_count += 1;
                Slot::Projected(linear_count - 1)
            } else {
                next_search(true).map_or(Slot::Absent, Slot::Searched)
            }
        };
        let initial = slot(true, shape.held.initial.is_some(), both_linear);
        let plateau = slot(true, shape.held.plateau.is_some(), both_linear);
        let thinning = slot(
            thinning_is_there,
            shape.held.flow_index_plateau.is_some(),
            shape.errors == ErrorModel::Relative,
        );
        Self {
            rows,
            shape,
            thermal_energy_j_per_mol: crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K
                * shape.reference_kelvin,
            rate_slot,
            energy_slot,
            initial,
            plateau,
            thinning,
            search_count,
            linear_count,
            weighted_response,
            weights,
            response_norm,
            conversion: vec![0.0; count],
            unset: vec![0.0; count],
            by_ln_rate: vec![0.0; count],
            by_energy: vec![0.0; count],
            point_values: vec![[0.0; 4]; rows.points.len()],
        }
    }

    /// The shape that the model was set up with.
    #[must_use]
    pub fn shape(&self) -> Shape {
        self.shape
    }

    /// Place of ln k_ref among the searched parameters, unless held.
    #[must_use]
    pub fn rate_slot(&self) -> Option<usize> {
        self.rate_slot
    }

    /// Place of the energy among the searched parameters, unless held.
    #[must_use]
    pub fn energy_slot(&self) -> Option<usize> {
        self.energy_slot
    }

    /// `R T_ref`, in J/mol: the unit in which the energy is searched.
    #[must_use]
    pub fn thermal_energy_j_per_mol(&self) -> f64 {
        self.thermal_energy_j_per_mol
    }

    /// Whether initial and plateau are projected out, so that the grid needs no guess for them.
    #[must_use]
    pub fn projects_ends(&self) -> bool {
        !matches!(self.initial, Slot::Searched(_)) && !matches!(self.plateau, Slot::Searched(_))
    }

    /// Weighted readings, on the scale that is fitted.
    #[must_use]
    pub fn weighted_response(&self) -> &[f64] {
        &self.weighted_response
    }

    /// Whether rows have several shear rates, so that a flow index belongs to the model.
    #[must_use]
    pub fn has_shear_rates(&self) -> bool {
        self.thinning != Slot::Absent
    }

    /// Conversion of each row at the point asked for last.
    #[must_use]
    pub fn conversions(&self) -> &[f64] {
        &self.conversion
    }

    /// ln k_ref and E (J/mol) at a searched point.
    #[must_use]
    pub fn rate_and_energy(&self, search: &[f64]) -> (f64, f64) {
        let ln_rate = match (self.rate_slot, self.shape.held.rate_ref_per_s) {
            (Some(slot), _) => search[slot],
            (None, held) => held.unwrap_or(f64::NAN).ln(),
        };
        let energy = match (
            self.energy_slot,
            self.shape.held.activation_energy_j_per_mol,
        ) {
            (Some(slot), _) => search[slot] * self.thermal_energy_j_per_mol,
            (None, held) => held.unwrap_or(f64::NAN),
        };
        (ln_rate, energy)
    }

    /// Initial, plateau (natural scale) and flow index at a point.
    #[must_use]
    pub fn ends(&self, search: &[f64], linear: &[f64]) -> (f64, f64, f64) {
        let relative = self.shape.errors == ErrorModel::Relative;
        let natural = |slot: Slot, held: Option<f64>| match slot {
            Slot::Projected(j) if relative => linear[j].exp(),
            Slot::Searched(j) if relative => search[j].exp(),
            Slot::Projected(j) => linear[j],
            Slot::Searched(j) => search[j],
            Slot::Held | Slot::Absent => held.unwrap_or(f64::NAN),
        };
        let index = match self.thinning {
            Slot::Projected(j) => 1.0 - linear[j],
            Slot::Searched(j) => 1.0 - search[j],
            Slot::Held => self.shape.held.flow_index_plateau.unwrap_or(1.0),
            Slot::Absent => 1.0,
        };
        (
            natural(self.initial, self.shape.held.initial),
            natural(self.plateau, self.shape.held.plateau),
            index,
        )
    }

    /// Searched and linear parameters that stand for the given estimates (natural scales).
    #[must_use]
    pub fn point(
        &self,
        rate_ref_per_s: f64,
        activation_energy_j_per_mol: f64,
        initial: f64,
        plateau: f64,
        flow_index_plateau: f64,
    ) -> (Vec<f64>, Vec<f64>) {
        let mut search = vec![0.0; self.search_count];
        let mut linear = vec![0.0; self.linear_count];
        if let Some(slot) = self.rate_slot {
            search[slot] = rate_ref_per_s.ln();
        }
        if let Some(slot) = self.energy_slot {
            search[slot] = activation_energy_j_per_mol / self.thermal_energy_j_per_mol;
        }
        let relative = self.shape.errors == ErrorModel::Relative;
        let on_scale = |value: f64| if relative { value.ln() } else { value };
        for (slot, value) in [
            (self.initial, on_scale(initial)),
            (self.plateau, on_scale(plateau)),
            (self.thinning, 1.0 - flow_index_plateau),
        ] {
            match slot {
                Slot::Projected(j) => linear[j] = value,
                Slot::Searched(j) => search[j] = value,
                Slot::Held | Slot::Absent => {}
            }
        }
        (search, linear)
    }

    /// Places initial, plateau and thinning guesses (natural scale) into a searched point.
    pub fn set_ends(&self, search: &mut [f64], initial: f64, plateau: f64) {
        let relative = self.shape.errors == ErrorModel::Relative;
        let mut put = |slot: Slot, value: f64| {
            if let Slot::Searched(j) = slot {
                search[j] = if relative { value.ln() } else { value };
            }
        };
        put(self.initial, initial);
        put(self.plateau, plateau);
        if let Slot::Searched(j) = self.thinning {
            search[j] = 0.0;
        }
    }

    /// Conversion and its derivatives for every row.
    fn convert(&mut self, search: &[f64]) {
        let (ln_rate, energy) = self.rate_and_energy(search);
        let rate = ln_rate.exp();
        let reference = self.shape.reference_kelvin;
        let isothermal = self.shape.warm_up == WarmUp::None;
        // Doses first, temperature by temperature: the points stand in that order.
        let mut place_before = usize::MAX;
        let mut clock = None;
        let mut relative = 0.0;
        let mut energy_share = 0.0;
        for (value, &(place, time_s)) in self.point_values.iter_mut().zip(&self.rows.points) {
            if place != place_before {
                place_before = place;
                let kelvin = self.rows.temperatures_kelvin[place];
                if isothermal {
                    relative = rate * relative_rate(kelvin, reference, energy);
                    energy_share = -(1.0 / kelvin - 1.0 / reference)
                        / crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K
                        * self.thermal_energy_j_per_mol;
                } else {
                    clock = Some(self.shape.warm_up.dose_clock(kelvin, energy, reference));
                }
            }
            let rate_dose = match &clock {
                None => relative * time_s,
                Some(clock) => {
                    let dose = clock.dose(time_s);
                    energy_share = if dose.dose_s > 0.0 {
                        dose.by_activation_energy_s_mol_per_j / dose.dose_s
                            * self.thermal_energy_j_per_mol
                    } else {
                        0.0
                    };
                    rate * dose.dose_s
                }
            };
            *value = [rate_dose, 0.0, 0.0, energy_share];
        }
        if self.shape.order.0 == 1.0 {
            for value in &mut self.point_values {
                let [rate_dose, .., energy_share] = *value;
                let unset = (-rate_dose).exp();
                let by_ln = rate_dose * unset;
                *value = [1.0 - unset, unset, by_ln, by_ln * energy_share];
            }
        } else {
            for value in &mut self.point_values {
                let [rate_dose, .., energy_share] = *value;
                let c = conversion(self.shape.order, rate_dose);
                let by_ln = c.by_ln_rate_dose;
                *value = [c.fraction, 1.0 - c.fraction, by_ln, by_ln * energy_share];
            }
        }
        let targets = self
            .conversion
            .iter_mut()
            .zip(&mut self.unset)
            .zip(self.by_ln_rate.iter_mut().zip(&mut self.by_energy));
        for (&point, ((a, u), (k, e))) in self.rows.point_of_row.iter().zip(targets) {
            [*a, *u, *k, *e] = self.point_values[point];
        }
    }

    /// Slope of the response by the conversion where it is the same for every row: the laws that
    /// are straight lines in the conversion, without shear thinning.
    fn common_slope(&self, ends: (f64, f64, f64)) -> Option<f64> {
        if self.has_shear_rates() {
            return None;
        }
        match (self.shape.law, self.shape.errors) {
            (FirmnessLaw::Log, ErrorModel::Relative) => Some(ends.1.ln() - ends.0.ln()),
            (FirmnessLaw::Linear, ErrorModel::Absolute) => Some(ends.1 - ends.0),
            _ => None,
        }
    }

    /// Response of a row and its derivatives by initial, plateau (on their scales), flow index
    /// share `1 - n` and conversion.
    fn response(&self, row: usize, ends: (f64, f64, f64)) -> [f64; 5] {
        let (initial, plateau, index) = ends;
        let (a, u) = (self.conversion[row], self.unset[row]);
        let ln_shear = self.rows.ln_shear_ratios.get(row).copied().unwrap_or(0.0);
        let thinning = 1.0 - index;
        let factor_ln = -thinning * a * ln_shear;
        match (self.shape.law, self.shape.errors) {
            (FirmnessLaw::Log, errors) => {
                let (ln_initial, ln_plateau) = (initial.ln(), plateau.ln());
                let ln_reading = u * ln_initial + a * ln_plateau + factor_ln;
                let by_a = ln_plateau - ln_initial - thinning * ln_shear;
                if errors == ErrorModel::Relative {
                    [ln_reading, u, a, -a * ln_shear, by_a]
                } else {
                    let p = ln_reading.exp();
                    [
                        p,
                        p * u / initial,
                        p * a / plateau,
                        -p * a * ln_shear,
                        p * by_a,
                    ]
                }
            }
            (FirmnessLaw::Linear, errors) => {
                let plain = initial * u + plateau * a;
                if errors == ErrorModel::Relative {
                    [
                        plain.ln() + factor_ln,
                        initial * u / plain,
                        plateau * a / plain,
                        -a * ln_shear,
                        (plateau - initial) / plain - thinning * ln_shear,
                    ]
                } else {
                    let factor = factor_ln.exp();
                    [
                        plain * factor,
                        u * factor,
                        a * factor,
                        -plain * factor * a * ln_shear,
                        factor * (plateau - initial - plain * thinning * ln_shear),
                    ]
                }
            }
        }
    }

    /// Weighted derivatives of the model by every free parameter in the document's order
    /// (initial, plateau, rate, energy in J/mol, flow index), column by column, and the weighted
    /// residuals.
    pub fn full_derivatives(&mut self, search: &[f64], linear: &[f64]) -> (Vec<f64>, Vec<f64>) {
        self.convert(search);
        let ends = self.ends(search, linear);
        let rows = self.rows.len();
        let free = |slot: Slot| matches!(slot, Slot::Projected(_) | Slot::Searched(_));
        let mut residuals = vec![0.0; rows];
        let mut columns: Vec<Vec<f64>> = vec![vec![0.0; rows]; 5];
        for row in 0..rows {
            let weight = self.weights[row];
            let [value, by_initial, by_plateau, by_thinning, by_a] = self.response(row, ends);
            residuals[row] = value * weight - self.weighted_response[row];
            let energy = self.by_energy[row] / self.thermal_energy_j_per_mol;
            let parts = [
                by_initial,
                by_plateau,
                by_a * self.by_ln_rate[row],
                by_a * energy,
                -by_thinning,
            ];
            for (column, part) in columns.iter_mut().zip(parts) {
                column[row] = weight * part;
            }
        }
        let kept = [
            free(self.initial),
            free(self.plateau),
            self.rate_slot.is_some(),
            self.energy_slot.is_some(),
            free(self.thinning),
        ];
        let jacobian = columns
            .into_iter()
            .zip(kept)
            .filter(|(_, kept)| *kept)
            .flat_map(|(column, _)| column)
            .collect();
        (jacobian, residuals)
    }
}

impl SeparableModel for BenchModel<'_> {
    fn row_count(&self) -> usize {
        self.rows.len()
    }

    fn linear_count(&self) -> usize {
        self.linear_count
    }

    fn search_count(&self) -> usize {
        self.search_count
    }

    fn basis(&mut self, search: &[f64], target: &mut [f64], basis: &mut [f64]) {
        self.convert(search);
        let rows = self.rows.len();
        // Held and searched parts form the offset; projected ones are taken at 0 in it.
        let zeros = [0.0; crate::fit::least_squares::MAX_LINEAR];
        let ends = self.ends(search, &zeros);
        let no_offset = matches!(self.initial, Slot::Projected(_))
            && matches!(self.plateau, Slot::Projected(_))
            && !matches!(self.thinning, Slot::Held);
        if no_offset {
            target.copy_from_slice(&self.weighted_response);
        } else {
            for (row, slot) in target.iter_mut().enumerate() {
                // A projected end contributes nothing: ln 1 = 0 on the logarithm, 0 otherwise.
                let [value, ..] = self.response(row, ends);
                *slot = self.weighted_response[row] - self.weights[row] * value;
            }
        }
        for (slot, part) in [
            (self.initial, &self.unset),
            (self.plateau, &self.conversion),
        ] {
            if let Slot::Projected(j) = slot {
                let column = &mut basis[j * rows..(j + 1) * rows];
                for ((value, p), weight) in column.iter_mut().zip(part).zip(&self.weights) {
                    *value = weight * p;
                }
            }
        }
        if let Slot::Projected(j) = self.thinning {
            let column = &mut basis[j * rows..(j + 1) * rows];
            for (row, value) in column.iter_mut().enumerate() {
                *value = -self.weights[row] * self.conversion[row] * self.rows.ln_shear_ratios[row];
            }
        }
    }

    fn derivatives(&mut self, search: &[f64], linear: &[f64], derivatives: &mut [f64]) {
        let rows = self.rows.len();
        let ends = self.ends(search, linear);
        if let (Some(slope), true) = (self.common_slope(ends), self.projects_ends()) {
            let columns = [
                (self.rate_slot, &self.by_ln_rate),
                (self.energy_slot, &self.by_energy),
            ];
            for (slot, source) in columns {
                if let Some(slot) = slot {
                    let target = &mut derivatives[slot * rows..(slot + 1) * rows];
                    for (t, s) in target.iter_mut().zip(source) {
                        *t = slope * s;
                    }
                }
            }
            return;
        }
        for row in 0..rows {
            let weight = self.weights[row];
            let [_, by_initial, by_plateau, by_thinning, by_a] = self.response(row, ends);
            if let Some(slot) = self.rate_slot {
                derivatives[slot * rows + row] = weight * by_a * self.by_ln_rate[row];
            }
            if let Some(slot) = self.energy_slot {
                derivatives[slot * rows + row] = weight * by_a * self.by_energy[row];
            }
            for (slot, part) in [
                (self.initial, by_initial),
                (self.plateau, by_plateau),
                (self.thinning, by_thinning),
            ] {
                if let Slot::Searched(j) = slot {
                    derivatives[j * rows + row] = weight * part;
                }
            }
        }
    }

    fn response_norm(&self) -> f64 {
        self.response_norm
    }
}
