//! The kinetic model of a bench as a separable least-squares model, with exact derivatives.

use super::conversions::{Conversions, TIMING, Timing};
use super::estimates::Estimates;
use super::first_order::FirstOrder;
use super::response::{Ends, Read, response};
use super::roles::{Role, roles};
use super::rows::BenchRows;
use super::shape::{ErrorModel, Shape};
use crate::fit::least_squares::{MAX_LINEAR, SeparableModel};
use crate::fit::parameter::ParameterName;
use crate::kinetics::FirmnessLaw;
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
use crate::thermal::WarmUp;

/// The bench model.
///
/// Searched are ln k_ref, `E/(R T_ref)` (a pure number of the size of the others), order, ln dose
/// lag, ln tau, gel conversion, and those of initial, plateau, gel exponent, `1 - n` and
/// `E_flow/(R T_ref)` that no projection takes. Priors follow the readings as further rows.
#[derive(Debug, Clone)]
pub struct BenchModel<'a> {
    rows: &'a BenchRows,
    shape: Shape,
    thermal_energy_j_per_mol: f64,
    /// The same at the reference temperature of reading; 1 where rows are not read apart.
    flow_thermal_energy_j_per_mol: f64,
    roles: [Role; ParameterName::COUNT],
    search_count: usize,
    linear_count: usize,
    /// `1/sd` where given, times any weight set later.
    base_weights: Vec<f64>,
    weights: Vec<f64>,
    readings: Vec<f64>,
    weighted_response: Vec<f64>,
    prior_weights: Vec<f64>,
    response_norm: f64,
    conversions: Conversions,
    /// The lean path, where the shape allows it. Its linear parameters are the response at the
    /// start and its rise from there to the plateau.
    lean: Option<FirstOrder>,
}

impl<'a> BenchModel<'a> {
    /// Sets the model up for the rows; weights are 1 unless standard deviations are given.
    #[must_use]
    pub fn new(rows: &'a BenchRows, shape: Shape) -> Self {
        let (roles, search_count, linear_count) = roles(rows, &shape);
        let relative = shape.errors == ErrorModel::Relative;
        let base_weights: Vec<f64> = match shape.errors {
            ErrorModel::Given => rows
                .reading_sds
                .iter()
                .map(|sd| sd.map_or(0.0, |sd| 1.0 / sd))
                .collect(),
            ErrorModel::Relative | ErrorModel::Absolute => vec![1.0; rows.len()],
        };
        let readings: Vec<f64> = rows
            .readings
            .iter()
            .map(|r| if relative { r.ln() } else { *r })
            .collect();
        let extended = shape.fits_order || shape.fits_dose_lag || shape.fits_warm_up;
        let is_lean = allows_lean_path(&shape, &roles);
        let mut model = Self {
            thermal_energy_j_per_mol: GAS_CONSTANT_J_PER_MOL_K * shape.reference_kelvin,
            flow_thermal_energy_j_per_mol: rows
                .read_temperatures
                .as_ref()
                .map_or(1.0, |read| GAS_CONSTANT_J_PER_MOL_K * read.reference_kelvin),
            conversions: if is_lean {
                Conversions::default()
            } else {
                Conversions::new(rows, extended)
            },
            weights: base_weights.clone(),
            weighted_response: readings.clone(),
            prior_weights: shape.priors.iter().map(|p| 1.0 / p.sd).collect(),
            lean: is_lean.then(|| FirstOrder::new(rows, shape.reference_kelvin)),
            response_norm: 0.0,
            rows,
            shape,
            roles,
            search_count,
            linear_count,
            base_weights,
            readings,
        };
        model.refresh_response();
        model
    }

    fn refresh_response(&mut self) {
        for ((y, reading), weight) in self
            .weighted_response
            .iter_mut()
            .zip(&self.readings)
            .zip(&self.weights)
        {
            *y = reading * weight;
        }
        self.response_norm = self
            .weighted_response
            .iter()
            .map(|y| y * y)
            .sum::<f64>()
            .sqrt();
    }

    /// Multiplies the weight of each row by the given factor: square roots of robust weights or of
    /// how often a row was drawn.
    pub fn set_weights(&mut self, factors: &[f64]) {
        for ((weight, base), factor) in self.weights.iter_mut().zip(&self.base_weights).zip(factors)
        {
            *weight = base * factor;
        }
        self.refresh_response();
    }

    /// Replaces the response of each row (on the scale that is fitted, unweighted).
    pub fn set_response(&mut self, response: &[f64]) {
        self.readings.copy_from_slice(response);
        self.refresh_response();
    }

    /// Scale of the priors' rows: a prior row is a deviation over its sd, times the residual sd of
    /// the readings, so that both weigh by their own uncertainty.
    pub fn set_prior_scale(&mut self, residual_sd: f64) {
        for (weight, prior) in self.prior_weights.iter_mut().zip(&self.shape.priors) {
            let (_, sd) = prior.on(prior.name.scale(self.shape.errors));
            *weight = residual_sd / sd;
        }
    }

    /// Weight of each row.
    #[must_use]
    pub fn weights(&self) -> &[f64] {
        &self.weights
    }

    /// The shape that the model was set up with.
    #[must_use]
    pub fn shape(&self) -> &Shape {
        &self.shape
    }

    /// Response of each row on the scale that is fitted, unweighted.
    #[must_use]
    pub fn response(&self) -> &[f64] {
        &self.readings
    }

    /// Weighted response of each row.
    #[must_use]
    pub fn weighted_response(&self) -> &[f64] {
        &self.weighted_response
    }

    /// Conversion of each row at the point asked for last.
    #[must_use]
    pub fn conversions(&self) -> Vec<f64> {
        match &self.lean {
            Some(lean) => lean.unset().iter().map(|u| 1.0 - u).collect(),
            None => self.conversions.fraction.clone(),
        }
    }

    /// The free parameters in the document's order.
    #[must_use]
    pub fn free(&self) -> Vec<ParameterName> {
        ParameterName::ALL
            .into_iter()
            .filter(|name| {
                matches!(
                    self.roles[name.index()],
                    Role::Projected(_) | Role::Searched(_)
                )
            })
            .collect()
    }

    /// Place of a parameter among the searched ones.
    #[must_use]
    pub fn search_slot(&self, name: ParameterName) -> Option<usize> {
        match self.roles[name.index()] {
            Role::Searched(slot) => Some(slot),
            _ => None,
        }
    }

    /// Whether neither end of the firmness law is searched, so that the grid needs no guess.
    #[must_use]
    pub fn projects_ends(&self) -> bool {
        [
            ParameterName::Initial,
            ParameterName::Plateau,
            ParameterName::GelExponent,
        ]
        .into_iter()
        .all(|name| self.search_slot(name).is_none())
    }

    /// Whether the response is a straight line in the conversion of a first-order reaction without
    /// lag, with both ends solved for.
    pub(super) fn is_lean(&self) -> bool {
        self.lean.is_some()
    }

    /// Whether rows have several shear rates, so that a flow index belongs to the model.
    #[must_use]
    pub fn has_shear_rates(&self) -> bool {
        self.roles[ParameterName::FlowIndexPlateau.index()] != Role::Absent
    }

    /// A value as the search sees it.
    fn inward(&self, name: ParameterName, natural: f64) -> f64 {
        match name {
            ParameterName::ActivationEnergy => natural / self.thermal_energy_j_per_mol,
            ParameterName::FlowActivationEnergy => natural / self.flow_thermal_energy_j_per_mol,
            ParameterName::FlowIndexPlateau => 1.0 - natural,
            _ => name.scale(self.shape.errors).of(natural),
        }
    }

    /// A value as the document states it.
    fn outward(&self, name: ParameterName, inner: f64) -> f64 {
        match name {
            ParameterName::ActivationEnergy => inner * self.thermal_energy_j_per_mol,
            ParameterName::FlowActivationEnergy => inner * self.flow_thermal_energy_j_per_mol,
            ParameterName::FlowIndexPlateau => 1.0 - inner,
            _ => name.scale(self.shape.errors).back(inner),
        }
    }

    /// All values at a point.
    #[must_use]
    pub fn estimates(&self, search: &[f64], linear: &[f64]) -> Estimates {
        let mut found = Estimates::neutral();
        for name in ParameterName::ALL {
            let value = match self.roles[name.index()] {
                Role::Absent => continue,
                Role::Held => self.held_value(name),
                Role::Projected(j) if j > 0 && self.lean.is_some() => {
                    self.outward(name, linear[0] + linear[j])
                }
                Role::Projected(j) => self.outward(name, linear[j]),
                Role::Searched(j) => self.outward(name, search[j]),
            };
            found = found.with(name, value);
        }
        found
    }

    fn held_value(&self, name: ParameterName) -> f64 {
        if let Some(value) = self.shape.held.get(name) {
            return value;
        }
        match (name, &self.shape.warm_up) {
            (
                ParameterName::WarmUp,
                WarmUp::Lag {
                    time_constant_s, ..
                },
            ) => *time_constant_s,
            _ => Estimates::neutral().get(name),
        }
    }

    /// Searched and linear parameters that stand for the given values.
    #[must_use]
    pub fn point(&self, values: &Estimates) -> (Vec<f64>, Vec<f64>) {
        let mut search = vec![0.0; self.search_count];
        let mut linear = vec![0.0; self.linear_count];
        for name in ParameterName::ALL {
            let inner = self.inward(name, values.get(name));
            match self.roles[name.index()] {
                Role::Projected(j) => linear[j] = inner,
                Role::Searched(j) => search[j] = inner,
                Role::Held | Role::Absent => {}
            }
        }
        if self.lean.is_some()
            && let [initial, plateau] = linear.as_mut_slice()
        {
            *plateau -= *initial;
        }
        (search, linear)
    }

    fn timing(&self, values: &Estimates) -> Timing {
        Timing {
            ln_rate: values.get(ParameterName::RateRef).ln(),
            energy_j_per_mol: values.get(ParameterName::ActivationEnergy),
            order: values.get(ParameterName::Order),
            dose_lag_s: values.get(ParameterName::DoseLag),
            warm_up: match &self.shape.warm_up {
                WarmUp::Lag { start_temp_k, .. } => WarmUp::Lag {
                    time_constant_s: values.get(ParameterName::WarmUp),
                    start_temp_k: *start_temp_k,
                },
                other => other.clone(),
            },
            reference_kelvin: self.shape.reference_kelvin,
        }
    }

    fn ends(&self, values: &Estimates) -> Ends {
        Ends {
            initial: values.get(ParameterName::Initial),
            plateau: values.get(ParameterName::Plateau),
            gel_conversion: values.get(ParameterName::GelConversion),
            gel_exponent: values.get(ParameterName::GelExponent),
            thinning: 1.0 - values.get(ParameterName::FlowIndexPlateau),
            yield_share: values.get(ParameterName::YieldSharePlateau),
            flow_energy: self.inward(
                ParameterName::FlowActivationEnergy,
                values.get(ParameterName::FlowActivationEnergy),
            ),
        }
    }

    fn row_response(&self, row: usize, ends: &Ends) -> super::response::Response {
        let read = Read {
            ln_shear: self.rows.ln_shear_ratios.get(row).copied().unwrap_or(0.0),
            temperature_ratio: self
                .rows
                .read_temperatures
                .as_ref()
                .and_then(|read| read.ratios.get(row).copied())
                .unwrap_or(0.0),
        };
        let conversion = (self.conversions.fraction[row], self.conversions.unset[row]);
        response(self.shape.law, self.shape.errors, ends, conversion, read)
    }

    /// A searched or held value as the search sees it.
    fn inner(&self, name: ParameterName, search: &[f64]) -> f64 {
        match self.roles[name.index()] {
            Role::Searched(slot) => search[slot],
            _ => self.inward(name, self.held_value(name)),
        }
    }

    /// Weighted derivatives of the model by every free parameter on the document's scales, column
    /// by column, and the weighted residuals; priors are the last rows of both.
    pub fn full_derivatives(&mut self, search: &[f64], linear: &[f64]) -> (Vec<f64>, Vec<f64>) {
        if self.lean.is_some() {
            return self.lean_derivatives(search, linear);
        }
        let values = self.estimates(search, linear);
        self.conversions.compute(self.rows, &self.timing(&values));
        let ends = self.ends(&values);
        let free = self.free();
        let (rows, total) = (self.rows.len(), self.row_count());
        let mut residuals = vec![0.0; total];
        let mut jacobian = vec![0.0; total * free.len()];
        for row in 0..rows {
            let weight = self.weights[row];
            let r = self.row_response(row, &ends);
            residuals[row] = r.value * weight - self.weighted_response[row];
            for (column, name) in free.iter().enumerate() {
                let part = match name {
                    ParameterName::Initial => r.by_initial,
                    ParameterName::Plateau => r.by_plateau,
                    ParameterName::GelConversion => r.by_gel_conversion,
                    ParameterName::GelExponent => r.by_gel_exponent,
                    ParameterName::FlowIndexPlateau => -r.by_thinning,
                    ParameterName::YieldSharePlateau => r.by_yield_share,
                    ParameterName::FlowActivationEnergy => {
                        r.by_flow_energy / self.flow_thermal_energy_j_per_mol
                    }
                    ParameterName::ActivationEnergy => {
                        r.by_conversion * self.conversions.by[1][row]
                            / self.thermal_energy_j_per_mol
                    }
                    timing => TIMING
                        .iter()
                        .position(|t| t == timing)
                        .map_or(0.0, |t| r.by_conversion * self.conversions.by[t][row]),
                };
                jacobian[column * total + row] = weight * part;
            }
        }
        for (place, prior) in self.shape.priors.iter().enumerate() {
            let scale = prior.name.scale(self.shape.errors);
            let (target, _) = prior.on(scale);
            let weight = self.prior_weights[place];
            residuals[rows + place] = weight * (scale.of(values.get(prior.name)) - target);
            if let Some(column) = free.iter().position(|name| *name == prior.name) {
                jacobian[column * total + rows + place] = weight;
            }
        }
        (jacobian, residuals)
    }
}

impl BenchModel<'_> {
    /// [`BenchModel::full_derivatives`] on the lean path, whose linear parameters are the response
    /// at the start and its rise from there to the plateau.
    fn lean_derivatives(&mut self, search: &[f64], linear: &[f64]) -> (Vec<f64>, Vec<f64>) {
        let ln_rate = self.inner(ParameterName::RateRef, search);
        let energy_ratio = self.inner(ParameterName::ActivationEnergy, search);
        let (free, rows) = (self.free(), self.rows.len());
        let mut jacobian = vec![0.0; rows * free.len()];
        let Some(lean) = &mut self.lean else {
            return (jacobian, Vec::new());
        };
        let (initial, rise) = (linear[0], linear[1]);
        lean.compute(ln_rate, energy_ratio);
        for (name, column) in free.iter().zip(jacobian.chunks_exact_mut(rows.max(1))) {
            match name {
                ParameterName::Initial => lean.write_unset(&self.weights, column),
                ParameterName::Plateau => lean.write_fractions(&self.weights, column),
                ParameterName::RateRef => lean.write_by_rate(rise, &self.weights, column),
                _ => {
                    let rise_per_energy = rise / self.thermal_energy_j_per_mol;
                    lean.write_by_rate(rise_per_energy, &self.weights, column);
                    lean.scale_by_energy(column);
                }
            }
        }
        let cells = lean.unset().iter().zip(&self.weights);
        let residuals = cells
            .zip(&self.weighted_response)
            .map(|((u, weight), y)| weight * (initial + rise * (1.0 - u)) - y)
            .collect();
        (jacobian, residuals)
    }
}

impl SeparableModel for BenchModel<'_> {
    fn row_count(&self) -> usize {
        self.rows.len() + self.shape.priors.len()
    }

    fn linear_count(&self) -> usize {
        self.linear_count
    }

    fn search_count(&self) -> usize {
        self.search_count
    }

    fn fixed_count(&self) -> usize {
        usize::from(self.lean.is_some())
    }

    fn fixed(&mut self, target: &mut [f64], basis: &mut [f64]) {
        target.copy_from_slice(&self.weighted_response);
        basis.copy_from_slice(&self.weights);
    }

    fn basis(&mut self, search: &[f64], target: &mut [f64], basis: &mut [f64]) {
        let ln_rate = self.inner(ParameterName::RateRef, search);
        let energy_ratio = self.inner(ParameterName::ActivationEnergy, search);
        if let Some(lean) = &mut self.lean {
            lean.compute(ln_rate, energy_ratio);
            lean.write_fractions(&self.weights, basis);
            return;
        }
        // Projected parameters are taken at zero in the offset: ln 1 = 0 for a logarithm.
        let values = self.estimates(search, &[0.0; MAX_LINEAR]);
        self.conversions.compute(self.rows, &self.timing(&values));
        let rows = self.rows.len();
        let total = self.row_count();
        let projected =
            |name: ParameterName| matches!(self.roles[name.index()], Role::Projected(_));
        let held = |name: ParameterName| self.roles[name.index()] == Role::Held;
        let no_offset = projected(ParameterName::Initial)
            && (projected(ParameterName::Plateau) || projected(ParameterName::GelExponent))
            && !held(ParameterName::FlowActivationEnergy)
            && matches!(
                self.roles[ParameterName::FlowIndexPlateau.index()],
                Role::Absent | Role::Projected(_)
            );
        target[..rows].copy_from_slice(&self.weighted_response);
        let ends = self.ends(&values);
        if !no_offset {
            for (row, slot) in target[..rows].iter_mut().enumerate() {
                *slot -= self.weights[row] * self.row_response(row, &ends).value;
            }
        }
        let unset = &self.conversions.unset;
        let fraction = &self.conversions.fraction;
        let gel_point = self.shape.law == FirmnessLaw::GelPoint;
        for name in ParameterName::ALL {
            let Role::Projected(j) = self.roles[name.index()] else {
                continue;
            };
            let column = &mut basis[j * total..(j + 1) * total];
            column[rows..].fill(0.0);
            let cells = column.iter_mut().zip(&self.weights);
            match name {
                ParameterName::Initial if gel_point => {
                    cells.for_each(|(value, weight)| *value = *weight);
                }
                ParameterName::Initial => {
                    cells
                        .zip(unset)
                        .for_each(|((value, weight), u)| *value = weight * u);
                }
                ParameterName::Plateau => {
                    cells
                        .zip(fraction)
                        .for_each(|((value, weight), a)| *value = weight * a);
                }
                ParameterName::GelExponent => {
                    let gel = values.get(ParameterName::GelConversion);
                    cells
                        .zip(fraction)
                        .for_each(|((value, weight), a)| *value = -weight * (-a / gel).ln_1p());
                }
                ParameterName::FlowActivationEnergy => {
                    let ratios = self.rows.read_temperatures.iter().flat_map(|r| &r.ratios);
                    cells
                        .zip(ratios)
                        .for_each(|((value, weight), ratio)| *value = weight * ratio);
                }
                _ => {
                    cells
                        .zip(fraction.iter().zip(&self.rows.ln_shear_ratios))
                        .for_each(|((value, weight), (a, ln_shear))| {
                            *value = -weight * a * ln_shear
                        });
                }
            }
        }
        for (place, prior) in self.shape.priors.iter().enumerate() {
            let row = rows + place;
            let weight = self.prior_weights[place];
            let scale = prior.name.scale(self.shape.errors);
            let (known, _) = prior.on(scale);
            target[row] = match self.roles[prior.name.index()] {
                // 1 - n is projected: its row is minus that of n.
                Role::Projected(j) if prior.name == ParameterName::FlowIndexPlateau => {
                    basis[j * total + row] = weight;
                    weight * (1.0 - known)
                }
                // The search sees the energy over R T_ref.
                Role::Projected(j) if prior.name == ParameterName::FlowActivationEnergy => {
                    basis[j * total + row] = weight * self.flow_thermal_energy_j_per_mol;
                    weight * known
                }
                Role::Projected(j) => {
                    basis[j * total + row] = weight;
                    weight * known
                }
                _ => weight * (known - scale.of(values.get(prior.name))),
            };
        }
    }

    fn derivatives(&mut self, search: &[f64], linear: &[f64], derivatives: &mut [f64]) {
        let rows = self.rows.len();
        let total = self.row_count();
        if let Some(lean) = &self.lean {
            let rate = self.search_slot(ParameterName::RateRef);
            let energy = self.search_slot(ParameterName::ActivationEnergy);
            // The rate is always searched before the energy; where it is held, the energy's own
            // column takes both in turn.
            let (first, second) = derivatives.split_at_mut(derivatives.len().min(total));
            lean.write_by_rate(linear[1], &self.weights, first);
            match (rate, energy) {
                (Some(_), Some(_)) => lean.write_by_energy(first, second),
                (None, Some(_)) => lean.scale_by_energy(first),
                _ => {}
            }
            return;
        }
        let values = self.estimates(search, linear);
        let ends = self.ends(&values);
        for row in 0..rows {
            let weight = self.weights[row];
            let r = self.row_response(row, &ends);
            for (name, source) in TIMING.iter().zip(&self.conversions.by) {
                if let Role::Searched(slot) = self.roles[name.index()] {
                    derivatives[slot * total + row] = weight * r.by_conversion * source[row];
                }
            }
            for (name, part) in [
                (ParameterName::Initial, r.by_initial),
                (ParameterName::Plateau, r.by_plateau),
                (ParameterName::GelConversion, r.by_gel_conversion),
                (ParameterName::GelExponent, r.by_gel_exponent),
                (ParameterName::FlowIndexPlateau, r.by_thinning),
                (ParameterName::YieldSharePlateau, r.by_yield_share),
                (ParameterName::FlowActivationEnergy, r.by_flow_energy),
            ] {
                if let Role::Searched(slot) = self.roles[name.index()] {
                    derivatives[slot * total + row] = weight * part;
                }
            }
        }
        for (place, prior) in self.shape.priors.iter().enumerate() {
            for slot in 0..self.search_count {
                derivatives[slot * total + rows + place] = 0.0;
            }
            if let Role::Searched(slot) = self.roles[prior.name.index()] {
                // The search sees the energy over R T_ref, and 1 - n for the index.
                let inner = match prior.name {
                    ParameterName::ActivationEnergy => self.thermal_energy_j_per_mol,
                    ParameterName::FlowActivationEnergy => self.flow_thermal_energy_j_per_mol,
                    ParameterName::FlowIndexPlateau => -1.0,
                    _ => 1.0,
                };
                derivatives[slot * total + rows + place] = self.prior_weights[place] * inner;
            }
        }
    }

    fn response_norm(&self) -> f64 {
        self.response_norm
    }
}

/// Whether the lean path serves: first order, no lag, a straight line in the conversion with both
/// ends solved for, and no row beside the readings.
fn allows_lean_path(shape: &Shape, roles: &[Role; ParameterName::COUNT]) -> bool {
    let straight = matches!(
        (shape.law, shape.errors),
        (FirmnessLaw::Log, ErrorModel::Relative)
            | (
                FirmnessLaw::Linear,
                ErrorModel::Absolute | ErrorModel::Given
            )
    );
    let role = |name: ParameterName| roles[name.index()];
    let solved = role(ParameterName::Initial) == Role::Projected(0)
        && role(ParameterName::Plateau) == Role::Projected(1);
    let plain = [
        ParameterName::Order,
        ParameterName::DoseLag,
        ParameterName::WarmUp,
        ParameterName::FlowIndexPlateau,
        ParameterName::FlowActivationEnergy,
        ParameterName::YieldSharePlateau,
    ]
    .into_iter()
    .all(|name| role(name) == Role::Absent);
    let even = !shape.warm_up.is_declared();
    straight && solved && plain && even && shape.priors.is_empty()
}
