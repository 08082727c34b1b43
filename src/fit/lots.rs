//! Lots: what varies from donor to donor, by nonlinear mixed effects.

use super::bench::{BenchFit, BenchModel, BenchRows, ErrorModel, Estimates};
use super::calibration_parts::{LotEffect, Lots};
use super::mixed::{Likelihood, MixedFit, MixedModel, MixedSettings, fit_mixed};
use super::parameter::ParameterName;
use ndarray::Array2;

/// Parameters that may vary from lot to lot: on the logarithm, as the spread of people is.
const VARYING: [ParameterName; 3] = [
    ParameterName::Initial,
    ParameterName::Plateau,
    ParameterName::RateRef,
];

/// Fit of several lots: a typical lot, the spread between lots, and each lot.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct LotFit {
    /// The typical lot, natural scale.
    pub(super) estimates: Estimates,
    /// Covariance of the free parameters on their scales, spread between lots included.
    pub(super) covariance: Array2<f64>,
    /// Scatter of single readings within a lot.
    pub(super) residual_sd: f64,
    /// Residuals of the rows about the curve of their own lot, model less reading.
    pub(super) residuals: Vec<f64>,
    /// Lot of each row as a number.
    pub(super) lot_of_row: Vec<usize>,
    /// Parameters in all: the shared ones, and those of each lot.
    pub(super) parameters: usize,
    /// For the document.
    pub(super) lots: Lots,
}

/// The bench, lot by lot, as a mixed model over the free parameters on their scales.
struct LotModel<'a> {
    free: &'a [ParameterName],
    held: Estimates,
    errors: ErrorModel,
    models: Vec<BenchModel<'a>>,
}

impl LotModel<'_> {
    fn estimates(&self, parameters: &[f64]) -> Estimates {
        self.free
            .iter()
            .zip(parameters)
            .fold(self.held, |values, (name, value)| {
                values.with(*name, name.scale(self.errors).back(*value))
            })
    }
}

impl MixedModel for LotModel<'_> {
    fn parameter_count(&self) -> usize {
        self.free.len()
    }

    fn group_count(&self) -> usize {
        self.models.len()
    }

    fn rows(&self, group: usize) -> usize {
        self.models.get(group).map_or(0, |m| m.response().len())
    }

    fn response(&self, group: usize) -> &[f64] {
        self.models.get(group).map_or(&[], |m| m.response())
    }

    fn predict(
        &mut self,
        group: usize,
        parameters: &[f64],
        values: &mut [f64],
        derivatives: &mut [f64],
    ) {
        let estimates = self.estimates(parameters);
        let Some(model) = self.models.get_mut(group) else {
            return;
        };
        let (search, linear) = model.point(&estimates);
        let (jacobian, residuals) = model.full_derivatives(&search, &linear);
        for ((value, residual), reading) in values.iter_mut().zip(&residuals).zip(model.response())
        {
            *value = residual + reading;
        }
        derivatives.copy_from_slice(&jacobian);
    }
}

/// Fits the lots with random effects on ln initial, ln plateau and ln rate, from the pooled fit.
///
/// Standard deviations are by restricted likelihood, which does not take few lots for equal lots.
/// `None` where the bench does not serve: fewer than two lots, rows without a lot, errors that are
/// not relative, priors, an exact fit, or lots whose spread the readings do not tell.
///
/// # Source
/// J. Pinheiro, D. Bates, Mixed-Effects Models in S and S-PLUS, 2000, chapter 7.
pub(super) fn fit_lots(
    rows: &BenchRows,
    lot_of_row: &[Option<&str>],
    pooled: &BenchFit,
) -> Option<LotFit> {
    let names: Vec<&str> = lot_of_row.iter().copied().collect::<Option<Vec<_>>>()?;
    let mut distinct = names.clone();
    distinct.sort_unstable();
    distinct.dedup();
    let serves = distinct.len() >= 2
        && pooled.shape.errors == ErrorModel::Relative
        && pooled.shape.priors.is_empty()
        && !pooled.is_exact();
    if !serves {
        return None;
    }
    let by_lot: Vec<BenchRows> = distinct
        .iter()
        .map(|lot| {
            let members: Vec<usize> = names
                .iter()
                .enumerate()
                .filter(|(_, n)| *n == lot)
                .map(|(row, _)| row)
                .collect();
            rows.subset(&members)
        })
        .collect();
    let free = &pooled.free;
    let mut model = LotModel {
        free,
        held: pooled.estimates,
        errors: pooled.shape.errors,
        models: by_lot
            .iter()
            .map(|r| BenchModel::new(r, pooled.shape.clone()))
            .collect(),
    };
    let random: Vec<usize> = free
        .iter()
        .enumerate()
        .filter(|(_, name)| VARYING.contains(name))
        .map(|(place, _)| place)
        .collect();
    let start: Vec<f64> = free
        .iter()
        .map(|name| {
            name.scale(pooled.shape.errors)
                .of(pooled.estimates.get(*name))
        })
        .collect();
    let settings = MixedSettings {
        likelihood: Likelihood::Restricted,
        ..MixedSettings::with_random(&random)
    };
    let fit = fit_mixed(&mut model, &start, &settings)
        .ok()
        .filter(|fit| fit.converged)?;
    let uncertainty = fit.uncertainty.as_ref()?;
    let effects = distinct
        .iter()
        .enumerate()
        .map(|(group, lot)| {
            let covariance = uncertainty.group_covariances.get(group)?;
            Some(LotEffect {
                lot: (*lot).to_owned(),
                rows: by_lot.get(group)?.len(),
                estimates: free
                    .iter()
                    .zip(fit.group_parameters(group)?)
                    .map(|(name, value)| {
                        (
                            name.to_string(),
                            name.scale(pooled.shape.errors).back(value),
                        )
                    })
                    .collect(),
                covariance: covariance
                    .rows()
                    .into_iter()
                    .map(|row| row.to_vec())
                    .collect(),
            })
        })
        .collect::<Option<Vec<_>>>()?;
    let lot_of_row: Vec<usize> = names
        .iter()
        .map(|name| distinct.partition_point(|lot| lot < name))
        .collect();
    let residuals = own_residuals(&mut model, &fit, &lot_of_row)?;
    Some(LotFit {
        parameters: free.len() + random.len() * (distinct.len() - 1),
        residuals,
        lot_of_row,
        estimates: model.estimates(&fit.fixed),
        covariance: uncertainty.fixed_covariance.clone(),
        residual_sd: fit.residual_sd,
        lots: Lots {
            count: distinct.len(),
            sd: random
                .iter()
                .zip(&fit.random_sd)
                .filter_map(|(place, sd)| Some((free.get(*place)?.to_string(), *sd)))
                .collect(),
            log_likelihood: Some(fit.log_likelihood),
            effects,
        },
    })
}

/// Residuals of all rows about the curve of their own lot, in the rows' order.
fn own_residuals(
    model: &mut LotModel<'_>,
    fit: &MixedFit,
    lot_of_row: &[usize],
) -> Option<Vec<f64>> {
    let mut by_lot = Vec::with_capacity(model.group_count());
    for group in 0..model.group_count() {
        let rows = model.rows(group);
        let parameters = fit.group_parameters(group)?;
        let (mut values, mut derivatives) = (vec![0.0; rows], vec![0.0; rows * parameters.len()]);
        model.predict(group, &parameters, &mut values, &mut derivatives);
        let own: Vec<f64> = values
            .iter()
            .zip(model.response(group))
            .map(|(v, y)| v - y)
            .collect();
        by_lot.push(own.into_iter());
    }
    lot_of_row
        .iter()
        .map(|lot| by_lot.get_mut(*lot)?.next())
        .collect()
}
