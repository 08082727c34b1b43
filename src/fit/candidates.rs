//! The shapes that a fit tries, and which of them the readings ask for.

use super::bench::{BenchFit, BenchRows, Shape, fit_bench};
use super::options::{DoseLagChoice, FitOptions, OrderChoice, WarmUpChoice};
use super::parameter::ParameterName;
use super::robust::{RobustFit, RobustLoss, robust_fit};
use super::selection::{aicc, log_likelihood};
use crate::kinetics::FirmnessLaw;
use crate::thermal::WarmUp;

/// Candidates that lie closer together than this in AICc are taken for equals, and the simpler of
/// equals is kept: 'substantial support' in Burnham & Anderson 2002, section 2.6.
pub(super) const TIE: f64 = 2.0;

/// A candidate and its fit.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tried {
    pub(super) fit: BenchFit,
    pub(super) aicc: Option<f64>,
    pub(super) log_likelihood: Option<f64>,
    /// Rows that a robust loss gave little weight.
    pub(super) downweighted: Vec<usize>,
}

/// The shapes that are tried: they span only what is `auto`, the simplest first.
pub(super) fn shapes(
    options: &FitOptions,
    laws: &[FirmnessLaw],
    reference_kelvin: f64,
) -> Vec<Shape> {
    let mut found = Vec::new();
    let orders: &[bool] = if options.order == OrderChoice::Auto {
        &[false, true]
    } else {
        &[false]
    };
    let lags: &[bool] = if options.dose_lag == DoseLagChoice::Auto {
        &[false, true]
    } else {
        &[false]
    };
    for &fits_dose_lag in lags {
        for &fits_order in orders {
            for &law in laws {
                let mut shape = Shape {
                    held: options.held,
                    priors: options.priors.clone(),
                    fits_order,
                    fits_dose_lag,
                    ..Shape::new(law, options.errors, reference_kelvin)
                };
                match &options.warm_up {
                    WarmUpChoice::Declared(warm_up) => shape.warm_up = warm_up.clone(),
                    WarmUpChoice::Fitted => {
                        shape.fits_warm_up = true;
                        shape.warm_up = WarmUp::Lag {
                            time_constant_s: 30.0,
                            start_temp_k: options.start_kelvin,
                        };
                    }
                }
                if let OrderChoice::Fixed(order) = options.order
                    && order != 1.0
                {
                    shape.held = shape.held.with(ParameterName::Order, order);
                }
                if let DoseLagChoice::Fixed(dose_lag_s) = options.dose_lag {
                    shape.held = shape.held.with(ParameterName::DoseLag, dose_lag_s);
                }
                found.push(shape);
            }
        }
    }
    found
}

/// Fits a shape under a loss.
pub(super) fn try_shape(rows: &BenchRows, shape: &Shape, loss: RobustLoss) -> Tried {
    if loss == RobustLoss::None {
        let fit = fit_bench(rows, shape);
        let usable = !fit.is_exact() && fit.sum_of_squares.is_finite();
        let likelihood = usable.then(|| log_likelihood(fit.sum_of_squares, rows.len()));
        return tried(fit, likelihood, rows.len(), Vec::new());
    }
    let RobustFit {
        fit,
        scale,
        log_likelihood,
        downweighted,
    } = robust_fit(rows, shape, loss);
    let usable = !fit.is_exact() && scale > 0.0 && log_likelihood.is_finite();
    tried(
        fit,
        usable.then_some(log_likelihood),
        rows.len(),
        downweighted,
    )
}

fn tried(
    fit: BenchFit,
    log_likelihood: Option<f64>,
    rows: usize,
    downweighted: Vec<usize>,
) -> Tried {
    Tried {
        aicc: log_likelihood.and_then(|l| aicc(l, fit.free.len(), rows)),
        log_likelihood,
        downweighted,
        fit,
    }
}

/// The candidate that the readings ask for: of those within [`TIE`] of the least AICc the one with
/// fewest free parameters; of those, the least AICc; then the first. `passes` says whether the
/// readings pin a candidate's parameters down; one that they do not is only taken where no other
/// comes near.
pub(super) fn choose(tried: &[Tried], passes: impl Fn(&BenchFit) -> bool) -> Option<usize> {
    let value = |i: usize| {
        let criterion = tried[i].aicc.unwrap_or(tried[i].fit.sum_of_squares);
        if criterion.is_nan() {
            f64::INFINITY
        } else {
            criterion
        }
    };
    if tried.is_empty() {
        return None;
    }
    let ended = |i: &usize| tried[*i].fit.termination.was_successful();
    let any_ended = (0..tried.len()).any(|i| ended(&i));
    // A search that found no minimum has no criterion to beat the others with.
    let counts = |i: &usize| ended(i) || !any_ended;
    let least = (0..tried.len())
        .filter(counts)
        .map(value)
        .fold(f64::INFINITY, f64::min);
    // An exact fit has no criterion: among those the smallest sum of squares stands alone.
    let near =
        |i: &usize| counts(i) && value(*i) <= least + if least.is_finite() { TIE } else { 0.0 };
    let best = |wanted: &dyn Fn(&usize) -> bool| {
        (0..tried.len()).filter(|i| wanted(i)).min_by(|a, b| {
            let size = |i: usize| tried[i].fit.free.len();
            size(*a)
                .cmp(&size(*b))
                .then(value(*a).total_cmp(&value(*b)))
        })
    };
    best(&|i| near(i) && passes(&tried[*i].fit))
        .or_else(|| best(&near))
        .or(Some(0))
}
