//! Whether the readings can say what was asked of them, and in which words they cannot.

use super::bench::{BenchFit, BenchRows, ErrorModel};
use super::error::FitError;
use super::interval::t_quantile;
use super::parameter::ParameterName;

/// A 95 % interval that reaches this factor to either side says nothing about a parameter.
const USELESS_FACTOR: f64 = 10.0;

/// Refuses a bench whose temperatures cannot give the activation energy, before any fit.
///
/// # Errors
/// One temperature, and no activation energy held or known beforehand.
pub(super) fn check_temperatures(
    blend: &str,
    rows: &BenchRows,
    energy_is_known: bool,
) -> Result<(), FitError> {
    let coolest = rows
        .temperatures_kelvin
        .first()
        .copied()
        .unwrap_or(f64::NAN);
    let hottest = rows.temperatures_kelvin.last().copied().unwrap_or(f64::NAN);
    if energy_is_known || hottest - coolest > 0.5 {
        return Ok(());
    }
    Err(FitError::OneTemperature {
        blend: blend.to_owned(),
        rows: rows.len(),
        temp_kelvin: coolest,
    })
}

/// Refuses a fit whose parameters the readings do not pin down.
///
/// # Errors
/// No plateau, no beginning, or a search that ended elsewhere than in a minimum.
pub(super) fn check_fit(blend: &str, rows: &BenchRows, fit: &BenchFit) -> Result<(), FitError> {
    let (smallest, largest) = fit
        .conversions
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(s, l), a| {
            (s.min(*a), l.max(*a))
        });
    let no_plateau = || FitError::NoPlateau {
        blend: blend.to_owned(),
        largest_conversion: largest,
        hottest_kelvin: rows.temperatures_kelvin.last().copied().unwrap_or(f64::NAN),
    };
    let no_beginning = || FitError::NoBeginning {
        blend: blend.to_owned(),
        smallest_conversion: smallest,
        coolest_kelvin: rows
            .temperatures_kelvin
            .first()
            .copied()
            .unwrap_or(f64::NAN),
    };
    let found = fit.termination.was_successful() && fit.covariance.is_some();
    if !found {
        return Err(
            if largest < 0.5 && fit.free.contains(&ParameterName::Plateau) {
                no_plateau()
            } else if smallest > 0.5 && fit.free.contains(&ParameterName::Initial) {
                no_beginning()
            } else {
                FitError::NotFitted {
                    blend: blend.to_owned(),
                    law: fit.shape.law.name(),
                    termination: fit.termination,
                }
            },
        );
    }
    if fit.is_exact() {
        return Ok(());
    }
    let mut worst: Option<(ParameterName, f64)> = None;
    for (place, name) in fit.free.iter().enumerate() {
        let width = ln_half_width(fit, place, *name);
        if width > USELESS_FACTOR.ln() && worst.is_none_or(|(_, w)| width > w) {
            worst = Some((*name, width));
        }
    }
    match worst {
        None => Ok(()),
        Some((ParameterName::WarmUp, width)) => Err(FitError::WarmUpUnknown {
            blend: blend.to_owned(),
            why: format!(
                "its interval reaches a factor of {} to either side",
                crate::units::display::significant(width.exp(), 2)
            ),
        }),
        Some((ParameterName::Plateau, _)) => Err(no_plateau()),
        Some(_) if smallest > 0.5 => Err(no_beginning()),
        Some(_) if largest < 0.8 => Err(no_plateau()),
        Some(_) => Err(no_beginning()),
    }
}

/// Half-width of the 95 % interval on the logarithm; 0 for parameters that have no use of one.
fn ln_half_width(fit: &BenchFit, place: usize, name: ParameterName) -> f64 {
    let (Some(covariance), Some(t)) =
        (&fit.covariance, t_quantile(0.975, fit.degrees_of_freedom()))
    else {
        return f64::INFINITY;
    };
    let error = covariance.unscaled[[place, place]].sqrt() * fit.residual_sd();
    let relative = match (name, fit.shape.errors) {
        (ParameterName::RateRef | ParameterName::WarmUp, _) => error,
        (ParameterName::Initial | ParameterName::Plateau, ErrorModel::Relative) => error,
        // An initial reading near zero is common under additive errors and harms nothing; a
        // plateau must stand out of its own error.
        (ParameterName::Plateau, _) => {
            error
                / fit
                    .estimates
                    .get(ParameterName::Plateau)
                    .abs()
                    .max(f64::MIN_POSITIVE)
        }
        _ => 0.0,
    };
    t * relative
}
