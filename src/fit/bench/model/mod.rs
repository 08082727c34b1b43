//! The kinetic model of a bench as a separable least-squares model, with exact derivatives.

mod full_derivatives;
mod lean_path;
mod separable;
mod values;

use self::lean_path::allows_lean_path;
use super::conversions::Conversions;
use super::first_order::FirstOrder;
use super::roles::{Role, roles};
use super::rows::BenchRows;
use super::shape::{ErrorModel, Shape};
use crate::fit::parameter::ParameterName;
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;

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
}
