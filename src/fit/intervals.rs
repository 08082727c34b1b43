//! Intervals of the parameters: Student's t, profile likelihood, bootstrap.

use super::bench::{BenchFit, BenchModel, BenchRows, Shape, fit_bench};
use super::interval::t_quantile;
use super::least_squares::{LevenbergMarquardt, Projection, Settings};
use super::parameter::{ParameterName, Scale};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

/// Kind of the parameters' intervals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, Default)]
#[serde(rename_all = "kebab-case")]
pub enum IntervalKind {
    /// Student's t on the scale of each parameter: quick, right where the model is near to linear.
    #[default]
    T,
    /// Profile likelihood: follows the curvature; an end that is never reached is open.
    Profile,
    /// Bootstrap: by lot where lots are named, else by row.
    Bootstrap,
}

/// Draws to a chunk of the bootstrap: each has its own random stream.
const CHUNK: usize = 64;

/// Profile-likelihood interval of one free parameter, natural scale; an end is `None` where the
/// profile never rises enough within a factor of `exp(20)`, or 60 standard errors.
///
/// # Equation
/// The ends are where `[S(theta) - S(theta_hat)]/s^2 = t(1 - alpha/2; n - p)^2`, `S` the least sum of
/// squares with the parameter held at `theta`.
///
/// # Source
/// D. Bates, D. Watts, Nonlinear Regression Analysis and Its Applications, 1988, section 6.1.
#[must_use]
pub fn profile_interval(
    rows: &BenchRows,
    fit: &BenchFit,
    name: ParameterName,
    probability: f64,
) -> [Option<f64>; 2] {
    let scale = name.scale(fit.shape.errors);
    let Some(place) = fit.free.iter().position(|free| *free == name) else {
        return [None; 2];
    };
    let Some(covariance) = &fit.covariance else {
        return [None; 2];
    };
    let Some(t) = t_quantile(0.5 + 0.5 * probability, fit.degrees_of_freedom()) else {
        return [None; 2];
    };
    let sd = fit.residual_sd();
    let error = covariance.unscaled[[place, place]].sqrt() * sd;
    let centre = scale.of(fit.estimates.get(name));
    let threshold = t * t * sd * sd;
    let excess = |value: f64| {
        let held = fit.shape.held.with(name, scale.back(value));
        let shape = Shape {
            held,
            fits_order: fit.shape.fits_order && name != ParameterName::Order,
            fits_dose_lag: fit.shape.fits_dose_lag && name != ParameterName::DoseLag,
            fits_warm_up: fit.shape.fits_warm_up && name != ParameterName::WarmUp,
            ..fit.shape.clone()
        };
        let refit = fit_bench(rows, &shape);
        // Where no refit ends well the profile cannot be followed: taken as open.
        if refit.sum_of_squares.is_finite() {
            refit.sum_of_squares - fit.sum_of_squares - threshold
        } else {
            f64::NAN
        }
    };
    [-1.0, 1.0]
        .map(|side| profile_end(&excess, centre, side * t * error, scale).map(|v| scale.back(v)))
}

/// One end: outward in growing steps until the excess is positive, then halving.
fn profile_end(excess: &impl Fn(f64) -> f64, centre: f64, step: f64, scale: Scale) -> Option<f64> {
    let mut inside = centre;
    let mut reach = 1.0;
    let mut outside = None;
    for _ in 0..24 {
        let candidate = centre + step * reach;
        let limit = if scale == Scale::Log {
            20.0
        } else {
            60.0 * step.abs()
        };
        if (candidate - centre).abs() > limit {
            break;
        }
        let value = excess(candidate);
        if value.is_nan() {
            return None;
        }
        if value > 0.0 {
            outside = Some(candidate);
            break;
        }
        inside = candidate;
        reach *= 1.3;
    }
    let mut outside = outside?;
    for _ in 0..60 {
        let middle = 0.5 * (inside + outside);
        if (outside - inside).abs() <= 1e-9 * step.abs() {
            break;
        }
        if excess(middle) > 0.0 {
            outside = middle;
        } else {
            inside = middle;
        }
    }
    Some(0.5 * (inside + outside))
}

/// What is drawn again in a bootstrap.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Resample {
    /// Residuals, each divided by `sqrt(1 - h)`: the settings stand, the scatter is alike.
    Residuals,
    /// Rows.
    Rows,
    /// Whole groups of rows, such as lots; the group of each row.
    Groups(Vec<usize>),
}

/// Estimates of the free parameters over bootstrap refits, a row each, natural scale; refits that
/// end elsewhere than in a minimum are left out.
///
/// # Source
/// A. Davison, D. Hinkley, Bootstrap Methods and their Application, 1997, sections 6.2.3, 6.2.4
/// and 3.8 (groups).
#[must_use]
pub fn bootstrap(
    rows: &BenchRows,
    fit: &BenchFit,
    resample: &Resample,
    draws: usize,
    seed: u64,
) -> Vec<Vec<f64>> {
    let residuals = modified_residuals(fit);
    let fitted: Vec<f64> = fitted_response(rows, fit);
    (0..draws.div_ceil(CHUNK))
        .into_par_iter()
        .flat_map_iter(|chunk| {
            let mut random = ChaCha8Rng::seed_from_u64(seed);
            random.set_stream(chunk as u64);
            let mut problem = Projection::new(BenchModel::new(rows, fit.shape.clone()));
            problem
                .model_mut()
                .set_prior_scale(fit.residual_sd().max(f64::MIN_POSITIVE));
            let mut engine = LevenbergMarquardt::new(Settings::batch());
            let size = CHUNK.min(draws - chunk * CHUNK);
            let mut found = Vec::with_capacity(size);
            let mut response = Vec::with_capacity(fitted.len());
            // 32 random bits a draw are plenty for a place among a bench's rows.
            let last = u32::try_from(residuals.len()).unwrap_or(u32::MAX);
            let draw = |random: &mut ChaCha8Rng| random.random_range(0..last) as usize;
            for _ in 0..size {
                match resample {
                    Resample::Residuals => {
                        response.clear();
                        response.extend(fitted.iter().map(|y| y + residuals[draw(&mut random)]));
                        problem.model_mut().set_response(&response);
                    }
                    Resample::Rows => {
                        let mut counts = vec![0.0_f64; rows.len()];
                        for _ in 0..rows.len() {
                            counts[random.random_range(0..rows.len())] += 1.0;
                        }
                        problem.model_mut().set_weights(&roots(&counts));
                    }
                    Resample::Groups(group_of_row) => {
                        let groups = group_of_row.iter().max().map_or(0, |g| g + 1);
                        let mut counts = vec![0.0_f64; groups];
                        for _ in 0..groups {
                            counts[random.random_range(0..groups)] += 1.0;
                        }
                        let by_row: Vec<f64> = group_of_row.iter().map(|g| counts[*g]).collect();
                        problem.model_mut().set_weights(&roots(&by_row));
                    }
                }
                if engine.run(&mut problem, &fit.search).was_successful() {
                    let values = problem
                        .model()
                        .estimates(engine.parameters(), problem.linear());
                    found.push(fit.free.iter().map(|name| values.get(*name)).collect());
                }
            }
            found
        })
        .collect()
}

fn roots(counts: &[f64]) -> Vec<f64> {
    counts.iter().map(|c| c.sqrt()).collect()
}

/// Fitted response of each row, unweighted.
fn fitted_response(rows: &BenchRows, fit: &BenchFit) -> Vec<f64> {
    let model = BenchModel::new(rows, fit.shape.clone());
    let weights = model.weights();
    model
        .response()
        .iter()
        .zip(&fit.residuals)
        .zip(weights)
        .map(|((y, r), w)| if *w > 0.0 { y + r / w } else { *y })
        .collect()
}

/// Residuals reading less model, over `sqrt(1 - h)` and about their mean, unweighted.
fn modified_residuals(fit: &BenchFit) -> Vec<f64> {
    let (count, free) = (fit.residuals.len(), fit.free.len());
    let leverage = |row: usize| {
        fit.covariance.as_ref().map_or(0.0, |covariance| {
            let mut sum = 0.0;
            for i in 0..free {
                for j in 0..free {
                    sum += fit.derivatives[i * count + row]
                        * covariance.unscaled[[i, j]]
                        * fit.derivatives[j * count + row];
                }
            }
            sum.min(0.99)
        })
    };
    let mut found: Vec<f64> = fit
        .residuals
        .iter()
        .enumerate()
        .map(|(row, r)| -r / (1.0 - leverage(row)).sqrt())
        .collect();
    let mean = found.iter().sum::<f64>() / count.max(1) as f64;
    found.iter_mut().for_each(|r| *r -= mean);
    found
}

/// Percentile interval of each free parameter from bootstrap estimates.
///
/// # Source
/// Davison & Hinkley 1997, section 5.3.1 (percentiles).
pub(super) fn percentile_intervals(estimates: &[Vec<f64>], free: usize) -> Vec<Option<[f64; 2]>> {
    (0..free)
        .map(|column| {
            let mut values: Vec<f64> = estimates.iter().map(|row| row[column]).collect();
            values.sort_by(f64::total_cmp);
            let last = values.len().checked_sub(1)?;
            let at = |p: f64| {
                let place = p * last as f64;
                let below = place.floor() as usize;
                let high = values.get(below + 1).unwrap_or(&values[last]);
                values[below] + (place - place.floor()) * (high - values[below])
            };
            (values.len() >= 40).then(|| [at(0.025), at(0.975)])
        })
        .collect()
}
