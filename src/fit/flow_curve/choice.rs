//! The fit of every law that is asked for, and the choice among them.

use super::error::CurveFitError;
use super::model::{CurveModel, ShearErrors};
use super::problem::CurveProblem;
use super::start::starts;
use crate::fit::least_squares::{Minimum, Settings, covariance_from_jacobian, minimize};
use crate::fit::{Scale, aicc, akaike_weights, log_likelihood, t_quantile};
use crate::flow::{FlowCurve, ShearPoint};

/// Laws within this much of the least AICc are equals, and the simplest is taken.
/// Source: K. Burnham, D. Anderson, Model Selection and Multimodel Inference, 2nd ed. 2002,
/// section 2.6: 'substantial support'.
const EQUAL_AICC: f64 = 2.0;
/// Relative residuals this small are rounding: such a law is exact.
const EXACT_RESIDUAL: f64 = 1e-11;
/// Greatest condition of the scaled derivatives at which every unknown is still told apart.
const WORST_CONDITION: f64 = 1e7;

/// What a fit is asked with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurveFitOptions {
    /// The law; `None` for the best of all by AICc.
    pub model: Option<CurveModel>,
    /// How readings scatter.
    pub errors: ShearErrors,
    /// Viscosity at great shear rates of the Carreau-Yasuda law, which is held.
    pub infinite_shear_viscosity_pa_s: f64,
}

impl Default for CurveFitOptions {
    fn default() -> Self {
        Self {
            model: None,
            errors: ShearErrors::Relative,
            infinite_shear_viscosity_pa_s: 0.0,
        }
    }
}

/// A parameter of a fitted law.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurveParameter {
    /// Its name.
    pub name: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// The scale that it was searched on.
    pub scale: Scale,
    /// Estimate, on the natural scale, in `unit`.
    pub estimate: f64,
    /// Standard error on `scale`; none for an exact fit of as many readings as unknowns.
    pub std_error: Option<f64>,
    /// 95 % interval by Student's t, on the natural scale.
    pub ci95: Option<[f64; 2]>,
}

/// A fitted law.
#[derive(Debug, Clone, PartialEq)]
pub struct FittedCurve {
    /// The law.
    pub model: CurveModel,
    /// The curve to compute with.
    pub curve: FlowCurve,
    /// Its parameters.
    pub parameters: Vec<CurveParameter>,
    /// Sum of the squared residuals.
    pub weighted_rss: f64,
    /// Standard deviation of a residual.
    pub residual_sd: f64,
    /// Readings less unknowns.
    pub degrees_of_freedom: usize,
    /// AICc; none where there are too few readings.
    pub aicc: Option<f64>,
    /// Steps of the search.
    pub iterations: usize,
    /// Whether the search found the least sum of squares; false where it ended before because
    /// the law meets every reading to rounding.
    pub converged: bool,
}

/// A law that was tried.
#[derive(Debug, Clone, PartialEq)]
pub struct CurveCandidate {
    /// The law.
    pub model: CurveModel,
    /// AICc; none where it was not found or has too few readings.
    pub aicc: Option<f64>,
    /// Akaike weight.
    pub weight: Option<f64>,
    /// Why it was not found, where it was not.
    pub not_found: Option<String>,
}

/// The law of a measured flow curve.
#[derive(Debug, Clone, PartialEq)]
pub struct CurveFit {
    /// The law that was asked for, or the best.
    pub chosen: FittedCurve,
    /// Every law tried, in the order of [`CurveModel::ALL`].
    pub candidates: Vec<CurveCandidate>,
    /// Least and greatest shear rate.
    pub shear_rate_range_per_s: (f64, f64),
    /// Least and greatest stress.
    pub shear_stress_range_pa: (f64, f64),
}

/// Fits a law to a measured flow curve.
///
/// # Equation
/// Least sum over the readings of r^2, with r = (law - reading)/reading, ln(law/reading) or
/// law - reading; standard errors from s^2 (J^T J)^-1, intervals by Student's t on the scale
/// of the search; among laws the least AICc, of those within 2 of it the one with fewest
/// unknowns.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | reading | `shear_stress_pa` | Pa |
/// | r | `errors` | 1 or Pa |
///
/// # Valid for
/// Readings that scatter independently of each other. A law that has its yield stress at or
/// under zero is not taken, nor one whose unknowns cannot be told apart. It says nothing
/// outside the shear rates measured.
///
/// # Errors
/// [`CurveFitError`] for too few readings, one shear rate alone, readings not above zero, or a
/// law asked for that cannot be found.
///
/// # Source
/// D. Bates, D. Watts, Nonlinear Regression Analysis and Its Applications, 1988, chapter 2;
/// laws as [`FlowCurve`].
///
/// # Example
/// ```
/// use heatset::fit::flow_curve::{CurveFitOptions, CurveModel, fit_curve};
/// use heatset::flow::{FlowCurve, ShearPoint};
/// // readings on a power law of 3 Pa.s^0.5 give that power law back
/// let points = [1.0, 3.0, 10.0, 30.0, 100.0_f64]
///     .map(|rate| ShearPoint { shear_rate_per_s: rate, shear_stress_pa: 3.0 * rate.sqrt() });
/// let fit = fit_curve(&points, &CurveFitOptions::default())?;
/// assert_eq!(fit.chosen.model, CurveModel::PowerLaw);
/// assert!((fit.chosen.parameters[0].estimate - 3.0).abs() < 1e-9);
/// # Ok::<(), heatset::fit::flow_curve::CurveFitError>(())
/// ```
pub fn fit_curve(
    points: &[ShearPoint],
    options: &CurveFitOptions,
) -> Result<CurveFit, CurveFitError> {
    let (rates, stresses) = ranges(points)?;
    let models: Vec<CurveModel> = match options.model {
        Some(model) => vec![model],
        None => CurveModel::ALL.to_vec(),
    };
    let simplest = models.first().copied().unwrap_or(CurveModel::Newtonian);
    let needed = simplest.parameter_count() + 1;
    if points.len() < needed {
        return Err(CurveFitError::TooFewRows {
            model: simplest,
            rows: points.len(),
            needed,
        });
    }
    if rates.0 == rates.1 {
        return Err(CurveFitError::OneShearRate {
            rows: points.len(),
            shear_rate_per_s: rates.0,
        });
    }
    let tried: Vec<Result<FittedCurve, String>> = models
        .iter()
        .map(|model| fit_one(*model, points, options))
        .collect();
    let criteria: Vec<Option<f64>> = tried
        .iter()
        .map(|fit| fit.as_ref().ok().and_then(|fit| fit.aicc))
        .collect();
    let weights = akaike_weights(&criteria);
    let candidates = models
        .iter()
        .zip(&tried)
        .zip(criteria.iter().zip(weights))
        .map(|((model, fit), (aicc, weight))| CurveCandidate {
            model: *model,
            aicc: *aicc,
            weight,
            not_found: fit.as_ref().err().cloned(),
        })
        .collect();
    let least = criteria
        .iter()
        .flatten()
        .copied()
        .fold(f64::INFINITY, f64::min);
    let mut refusal = None;
    let mut found: Vec<FittedCurve> = Vec::new();
    for (model, fit) in models.iter().zip(tried) {
        match fit {
            Ok(fit) => found.push(fit),
            Err(reason) => {
                refusal.get_or_insert(CurveFitError::NotFound {
                    model: *model,
                    reason,
                });
            }
        }
    }
    let chosen = found
        .iter()
        .filter(|fit| fit.aicc.is_some_and(|own| own <= least + EQUAL_AICC))
        .min_by_key(|fit| (fit.parameters.len(), ranked(fit)))
        .or_else(|| found.first())
        .cloned();
    match (chosen, refusal) {
        (Some(chosen), _) => Ok(CurveFit {
            chosen,
            candidates,
            shear_rate_range_per_s: rates,
            shear_stress_range_pa: stresses,
        }),
        (None, Some(refusal)) => Err(refusal),
        (None, None) => Err(CurveFitError::NotFound {
            model: simplest,
            reason: "no law was tried".to_owned(),
        }),
    }
}

/// Among laws with as many unknowns the one with the lower AICc, as a sortable key.
fn ranked(fit: &FittedCurve) -> i64 {
    fit.aicc.map_or(i64::MAX, |aicc| (aicc * 1e6) as i64)
}

type Range = (f64, f64);

fn ranges(points: &[ShearPoint]) -> Result<(Range, Range), CurveFitError> {
    let mut rates = (f64::INFINITY, 0.0_f64);
    let mut stresses = (f64::INFINITY, 0.0_f64);
    for (reading, point) in (1..).zip(points) {
        let usable = |value: f64| value.is_finite() && value > 0.0;
        let (rate, stress) = (point.shear_rate_per_s, point.shear_stress_pa);
        if !usable(rate) || !usable(stress) {
            return Err(CurveFitError::UnusableReading {
                reading,
                shear_rate_per_s: rate,
                shear_stress_pa: stress,
            });
        }
        rates = (rates.0.min(rate), rates.1.max(rate));
        stresses = (stresses.0.min(stress), stresses.1.max(stress));
    }
    Ok((rates, stresses))
}

/// One law by least squares, or why it was not found.
fn fit_one(
    model: CurveModel,
    points: &[ShearPoint],
    options: &CurveFitOptions,
) -> Result<FittedCurve, String> {
    let unknowns = model.parameter_count();
    if points.len() < unknowns + 1 {
        return Err(format!(
            "it has {unknowns} unknowns and there are {} readings",
            points.len()
        ));
    }
    let floor_pa_s = options.infinite_shear_viscosity_pa_s;
    let best = starts(model, points, options.errors, floor_pa_s)
        .iter()
        .map(|start| {
            let problem = CurveProblem {
                model,
                errors: options.errors,
                floor_pa_s,
                points,
            };
            minimize(problem, start, Settings::default())
        })
        .filter(|minimum| minimum.sum_of_squares.is_finite())
        .min_by(|a, b| a.sum_of_squares.total_cmp(&b.sum_of_squares))
        .ok_or("no start leads anywhere")?;
    let exact = exact_sum_of_squares(points, options.errors);
    if !best.termination.was_successful() && best.sum_of_squares > exact {
        return Err(format!("the search {}", best.termination.in_words()));
    }
    fitted(model, &best, points, floor_pa_s, exact)
}

/// Sum of squares under which a fit is exact to rounding.
fn exact_sum_of_squares(points: &[ShearPoint], errors: ShearErrors) -> f64 {
    points
        .iter()
        .map(|point| match errors {
            ShearErrors::Absolute => (EXACT_RESIDUAL * point.shear_stress_pa).powi(2),
            ShearErrors::Relative | ShearErrors::Log => EXACT_RESIDUAL.powi(2),
        })
        .sum()
}

fn fitted(
    model: CurveModel,
    minimum: &Minimum,
    points: &[ShearPoint],
    floor_pa_s: f64,
    exact: f64,
) -> Result<FittedCurve, String> {
    let kinds = model.parameters();
    let searched = &minimum.parameters;
    for (kind, value) in kinds.iter().zip(searched) {
        if kind.name == "yield_stress" && *value <= 0.0 {
            return Err("no yield stress shows, its best value is not above zero".to_owned());
        }
    }
    let curve = model
        .curve(searched, floor_pa_s)
        .map_err(|error| error.to_string())?;
    let unknowns = kinds.len();
    let degrees_of_freedom = points.len() - unknowns;
    let residual_sd = (minimum.sum_of_squares / degrees_of_freedom as f64).sqrt();
    let covariance = covariance_from_jacobian(&minimum.jacobian, points.len(), unknowns)
        .filter(|covariance| covariance.condition < WORST_CONDITION)
        .ok_or("its unknowns cannot be told apart")?;
    let quantile = t_quantile(0.975, degrees_of_freedom);
    let parameters = kinds
        .iter()
        .zip(searched)
        .zip(covariance.unscaled.diag())
        .map(|((kind, value), variance)| {
            let natural = |value: f64| match kind.scale {
                Scale::Log => value.exp(),
                Scale::Linear => value,
            };
            let std_error = residual_sd * variance.sqrt();
            CurveParameter {
                name: kind.name,
                unit: kind.unit,
                scale: kind.scale,
                estimate: natural(*value),
                std_error: Some(std_error),
                ci95: quantile.map(|t| {
                    [
                        natural(value - t * std_error),
                        natural(value + t * std_error),
                    ]
                }),
            }
        })
        .collect();
    let counted = minimum.sum_of_squares.max(exact);
    Ok(FittedCurve {
        model,
        curve,
        parameters,
        weighted_rss: minimum.sum_of_squares,
        residual_sd,
        degrees_of_freedom,
        aicc: aicc(
            log_likelihood(counted, points.len()),
            unknowns,
            points.len(),
        ),
        iterations: minimum.iterations,
        converged: minimum.termination.was_successful(),
    })
}
