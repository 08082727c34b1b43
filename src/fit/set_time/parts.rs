//! The pieces of the document that are figures of the fit.

use super::document::{
    SetTimeAt, SetTimeDerived, SetTimeLotEffect, SetTimeName, SetTimeParameter,
    error_correction_ratio,
};
use super::refusals::temperatures;
use super::regression::SetTimeFit;
use crate::fit::interval::{normal_quantile, t_quantile};
use crate::fit::parameter::Scale;
use crate::kinetics::z_value_kelvin;
use crate::readings::SeenSyringe;
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;

/// Deviate of a 95 % interval of what does not vary with lots.
fn deviate() -> f64 {
    normal_quantile(0.975).unwrap_or(1.96)
}

/// The same of what does: Student's t with lots - 1 degrees of freedom.
fn lot_deviate(lots: usize) -> f64 {
    match lots.checked_sub(1) {
        Some(freedom) if freedom > 0 => t_quantile(0.975, freedom).unwrap_or_else(deviate),
        _ => deviate(),
    }
}

/// What standard errors of the place are widened by.
fn correction(fit: &SetTimeFit) -> f64 {
    let coefficients = 1 + usize::from(!fit.held[0]) + fit.shifts.len();
    let variance = if fit.held[1] {
        0.0
    } else {
        fit.covariance
            .get([coefficients, coefficients])
            .copied()
            .unwrap_or(0.0)
    };
    error_correction_ratio(coefficients, variance)
}

/// Standard error of each parameter on its scale, in the order of the document; none where held.
fn standard_errors(fit: &SetTimeFit) -> Vec<Option<f64>> {
    let mut next = 0;
    let mut take = |is_free: bool| {
        is_free.then(|| {
            next += 1;
            let place = next - 1;
            fit.covariance
                .get([place, place])
                .map_or(f64::NAN, |variance| variance.sqrt())
        })
    };
    let mut found = vec![take(true), take(!fit.held[0])];
    found.extend(fit.shifts.iter().map(|_| take(true)));
    found.push(take(!fit.held[1]));
    if fit.has_lots {
        let at_bound = fit.lot_sd == 0.0;
        found.push(take(!at_bound).map(|error| error / fit.lot_sd));
    }
    found
}

/// The parameters of a fit.
pub(super) fn parameters(
    fit: &SetTimeFit,
    criteria: &[String],
    lots: usize,
) -> Vec<SetTimeParameter> {
    let errors = standard_errors(fit);
    let wider = correction(fit);
    let mut found: Vec<SetTimeParameter> = Vec::new();
    let mut put =
        |name, criterion: Option<&String>, unit: &str, scale: Scale, estimate: f64, held| {
            let std_error = errors.get(found.len()).copied().flatten();
            let width = match name {
                SetTimeName::SetTimeRef => lot_deviate(lots) * wider,
                SetTimeName::LotSd => lot_deviate(lots),
                SetTimeName::Scatter => deviate(),
                SetTimeName::ActivationEnergy | SetTimeName::CriterionRatio => deviate() * wider,
            };
            let centre = scale.of(estimate);
            found.push(SetTimeParameter {
                name,
                criterion: criterion.cloned(),
                unit: unit.to_owned(),
                scale,
                estimate,
                std_error,
                ci95: std_error
                    .map(|error| [-1.0, 1.0].map(|side| scale.back(centre + side * width * error))),
                held,
            });
        };
    put(
        SetTimeName::SetTimeRef,
        None,
        "s",
        Scale::Log,
        fit.ln_place.exp(),
        false,
    );
    let energy = fit.activation_energy_j_per_mol;
    put(
        SetTimeName::ActivationEnergy,
        None,
        "J/mol",
        Scale::Linear,
        energy,
        fit.held[0],
    );
    for (criterion, shift) in criteria.iter().skip(1).zip(&fit.shifts) {
        put(
            SetTimeName::CriterionRatio,
            Some(criterion),
            "1",
            Scale::Log,
            shift.exp(),
            false,
        );
    }
    put(
        SetTimeName::Scatter,
        None,
        "1",
        Scale::Log,
        fit.scatter,
        fit.held[1],
    );
    if fit.has_lots {
        let scale = if fit.lot_sd > 0.0 {
            Scale::Log
        } else {
            Scale::Linear
        };
        put(SetTimeName::LotSd, None, "1", scale, fit.lot_sd, false);
    }
    found
}

/// The covariance on the scales of the document.
pub(super) fn covariance_of(fit: &SetTimeFit) -> Vec<Vec<f64>> {
    let size = fit.covariance.nrows();
    let factor = |place: usize| {
        if fit.has_lots && fit.lot_sd > 0.0 && place + 1 == size {
            1.0 / fit.lot_sd
        } else {
            1.0
        }
    };
    (0..size)
        .map(|row| {
            (0..size)
                .map(|column| fit.covariance[[row, column]] * factor(row) * factor(column))
                .collect()
        })
        .collect()
}

/// What is known of each lot.
pub(super) fn lot_effects(fit: &SetTimeFit, lots: &[String]) -> Vec<SetTimeLotEffect> {
    lots.iter()
        .zip(&fit.lot_effects)
        .map(|(lot, (mean, variance))| SetTimeLotEffect {
            lot: lot.clone(),
            ratio: mean.exp(),
            sd_ln_ratio: variance.sqrt(),
        })
        .collect()
}

/// Derived figures; intervals by first-order propagation on ln of the time.
pub(super) fn derived(
    fit: &SetTimeFit,
    criteria: &[String],
    lots: usize,
    syringes: &[SeenSyringe],
) -> SetTimeDerived {
    let mut set_time_s = Vec::new();
    for (place, criterion) in criteria.iter().enumerate() {
        for kelvin in temperatures(syringes) {
            let ln_median = fit.ln_time(kelvin, place, 0.5);
            let half =
                lot_deviate(lots) * correction(fit) * ln_median_variance(fit, kelvin, place).sqrt();
            set_time_s.push(SetTimeAt {
                criterion: criterion.clone(),
                temp_k: kelvin,
                median: ln_median.exp(),
                median_ci95: [(ln_median - half).exp(), (ln_median + half).exp()],
                by_95_percent: fit.ln_time(kelvin, place, 0.95).exp(),
            });
        }
    }
    SetTimeDerived {
        z_value_k: z_value_kelvin(fit.activation_energy_j_per_mol, fit.reference_kelvin),
        set_time_s,
    }
}

/// Variance of ln of a median.
///
/// # Equation
/// `g^T C g`, `g` = 1, (1/T - 1/T_ref)/R, 1 of the criterion, `s F^-1(1/2)` of ln scatter
fn ln_median_variance(fit: &SetTimeFit, kelvin: f64, criterion: usize) -> f64 {
    let inverse = (1.0 / kelvin - 1.0 / fit.reference_kelvin) / GAS_CONSTANT_J_PER_MOL_K;
    let mut slopes = vec![1.0];
    if !fit.held[0] {
        slopes.push(inverse);
    }
    slopes.extend((1..=fit.shifts.len()).map(|place| f64::from(u8::from(place == criterion))));
    if !fit.held[1] {
        slopes.push(fit.scatter * fit.form.deviate(0.5));
    }
    slopes.resize(fit.covariance.nrows(), 0.0);
    let g = ndarray::Array1::from_vec(slopes);
    g.dot(&fit.covariance.dot(&g)).max(0.0)
}
