//! Whether a bench shows a yield stress beside its flow index.

use super::bench::{BenchFit, BenchRows, Shape, free_parameter_count};
use super::candidates::{TIE, Tried, try_shape};
use super::interval::t_quantile;
use super::options::{FitOptions, YieldStressChoice};
use super::parameter::ParameterName;

/// Shear rates without which a yield stress and a power law cannot be told apart: two give a slope,
/// a third its bend.
const LEAST_SHEAR_RATES: usize = 3;

/// The chosen candidate once more with a yield stress, where the shear rates can tell one; it is
/// added to those tried, and the place of the better of the two comes back.
///
/// The yield stress is kept where AICc is better by more than a tie, and its share lies above zero
/// with 95 % confidence and under one.
pub(super) fn with_yield_stress(
    rows: &BenchRows,
    tried: &mut Vec<Tried>,
    best: usize,
    options: &FitOptions,
) -> usize {
    let plain = &tried[best];
    let shape = Shape {
        fits_yield_stress: true,
        ..plain.fit.shape.clone()
    };
    let held = shape.held.get(ParameterName::YieldSharePlateau).is_some();
    if held
        || options.yield_stress == YieldStressChoice::None
        || distinct(&rows.ln_shear_ratios) < LEAST_SHEAR_RATES
        || rows.len() + options.priors.len() <= free_parameter_count(rows, &shape)
    {
        return best;
    }
    let with = try_shape(rows, &shape, options.robust);
    let better = match (with.aicc, plain.aicc) {
        (Some(with), Some(plain)) => with < plain - TIE,
        // An exact fit has no criterion: nothing is left for a yield stress to explain.
        (None, Some(_)) => with.fit.is_exact(),
        _ => false,
    };
    let kept = better && with.fit.termination.was_successful() && is_pinned(&with.fit);
    tried.push(with);
    if kept { tried.len() - 1 } else { best }
}

fn is_pinned(fit: &BenchFit) -> bool {
    let name = ParameterName::YieldSharePlateau;
    let share = fit.estimates.get(name);
    let error = fit
        .free
        .iter()
        .position(|free| *free == name)
        .zip(fit.covariance.as_ref())
        .map(|(place, covariance)| covariance.unscaled[[place, place]].sqrt() * fit.residual_sd());
    let t = t_quantile(0.975, fit.degrees_of_freedom()).unwrap_or(f64::INFINITY);
    error.is_some_and(|error| share - t * error > 0.0 && share < 1.0)
}

fn distinct(values: &[f64]) -> usize {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    // Rates within 1 % of each other are one.
    sorted.chunk_by(|a, b| b - a < 0.01).count()
}
