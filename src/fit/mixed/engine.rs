//! The way in: what is asked is looked over, the turns are run, and their end is reported.

use super::block::Shape;
use super::error::MixedError;
use super::linear::Setting;
use super::model::{MixedModel, MixedSettings};
use super::outcome::MixedFit;
use super::penalised::Present;
use super::point::{Evaluated, Groups, Point};
use super::turns::Turns;

/// Fits a model whose parameters vary from group to group, by maximum likelihood after Lindstrom
/// and Bates.
///
/// # Equation
/// `y_ij = f(beta + b_i, x_ij) + e_ij`, `b_i ~ N(0, diag(sd_k^2))`, `e_ij ~ N(0, sigma^2)`.
/// In turns: (1) `beta`, `b` minimise `sum (y - f)^2 + sum (sigma b_k / sd_k)^2`; (2) `sd_k`,
/// `sigma` maximise the likelihood of the linear model `y - f + Z b ~ N(X step, sigma^2 I +
/// Z diag(sd_k^2) Z^T)`, the fixed effects and sigma profiled out. The end is where a further turn
/// changes no standard deviation by more than `tolerance_ratio` of its standard error.
///
/// # Valid for
/// Two groups or more, more readings than parameters, normal scatter of one standard deviation,
/// and random effects that are small against the curvature of the model. The standard deviations
/// of full likelihood are too small where groups are few; see [`super::Likelihood`].
///
/// # Errors
/// [`MixedError`] for input that cannot be used. A fit that ends badly is a [`MixedFit`] that says
/// so.
///
/// # Source
/// M. Lindstrom, D. Bates, Nonlinear mixed effects models for repeated measures data, Biometrics
/// 46 (1990) 673, doi:10.2307/2532087; J. Pinheiro, D. Bates, Mixed-Effects Models in S and
/// S-PLUS, Springer 2000, section 7.2, doi:10.1007/b98882.
///
/// # Example
/// Yield of dyestuff in g, six batches of five (O. Davies, Statistical Methods in Research and
/// Production, 1947, table 6.1); the estimates as printed in the documentation of the R package
/// lme4 (mean 1527.50, sds 37.260 and 49.510; both from memory).
/// ```
/// use heatset::fit::mixed::{MixedModel, MixedSettings, fit_mixed};
///
/// struct Batches([[f64; 5]; 6]);
/// impl MixedModel for Batches {
///     fn parameter_count(&self) -> usize { 1 }
///     fn group_count(&self) -> usize { 6 }
///     fn rows(&self, _: usize) -> usize { 5 }
///     fn response(&self, group: usize) -> &[f64] { &self.0[group] }
///     fn predict(&mut self, _: usize, mean: &[f64], values: &mut [f64], derivatives: &mut [f64]) {
///         values.fill(mean[0]);
///         derivatives.fill(1.0);
///     }
/// }
/// let mut yields = Batches([
///     [1545.0, 1440.0, 1440.0, 1520.0, 1580.0],
///     [1540.0, 1555.0, 1490.0, 1560.0, 1495.0],
///     [1595.0, 1550.0, 1605.0, 1510.0, 1560.0],
///     [1445.0, 1440.0, 1595.0, 1465.0, 1545.0],
///     [1595.0, 1630.0, 1515.0, 1635.0, 1625.0],
///     [1520.0, 1455.0, 1450.0, 1480.0, 1445.0],
/// ]);
/// let fit = fit_mixed(&mut yields, &[1500.0], &MixedSettings::with_random(&[0])).unwrap();
/// assert!(fit.converged);
/// assert!((fit.fixed[0] - 1527.50).abs() < 0.005);
/// assert!((fit.random_sd[0] - 37.260).abs() < 0.0005);
/// assert!((fit.residual_sd - 49.510).abs() < 0.0005);
/// ```
pub fn fit_mixed<M: MixedModel + ?Sized>(
    model: &mut M,
    start: &[f64],
    settings: &MixedSettings,
) -> Result<MixedFit, MixedError> {
    check(model, start, settings)?;
    let shape = Shape {
        parameters: start.len(),
        random: &settings.random,
    };
    let squares: f64 = (0..model.group_count())
        .flat_map(|group| model.response(group))
        .map(|y| y * y)
        .sum();
    let mut groups = Groups::new(model, shape);
    let setting = Setting {
        shape,
        rows: groups.rows(),
        rounding_squares: (64.0 * squares * f64::EPSILON.powi(2)).max(f64::MIN_POSITIVE),
        likelihood: settings.likelihood,
    };
    let begin = Point {
        fixed: start.to_vec(),
        effects: vec![0.0; groups.count() * settings.random.len()],
    };
    check_start(&mut groups, &begin)?;
    let mut present = Present::at(&mut groups, begin);
    let mut turns = Turns::begin(&present, setting);
    let termination = turns.run(&mut groups, &mut present, setting, settings);
    Ok(turns.report(&present, setting, termination))
}

fn check<M: MixedModel + ?Sized>(
    model: &M,
    start: &[f64],
    settings: &MixedSettings,
) -> Result<(), MixedError> {
    let parameters = model.parameter_count();
    if start.len() != parameters {
        return Err(MixedError::StartLength {
            parameters,
            found: start.len(),
        });
    }
    for (place, &component) in settings.random.iter().enumerate() {
        if component >= parameters {
            return Err(MixedError::NoSuchComponent {
                component: component + 1,
                parameters,
            });
        }
        if settings.random[..place].contains(&component) {
            return Err(MixedError::RepeatedComponent {
                component: component + 1,
            });
        }
    }
    let groups = model.group_count();
    if groups < 2 {
        return Err(MixedError::TooFewGroups { groups });
    }
    let mut total = 0;
    for group in 0..groups {
        let (rows, response) = (model.rows(group), model.response(group));
        if rows == 0 {
            return Err(MixedError::EmptyGroup { group: group + 1 });
        }
        if response.len() != rows {
            return Err(MixedError::ReadingCount {
                group: group + 1,
                rows,
                found: response.len(),
            });
        }
        if let Some(row) = response.iter().position(|y| !y.is_finite()) {
            return Err(MixedError::ReadingNotFinite {
                group: group + 1,
                row: row + 1,
                reading: response[row],
            });
        }
        total += rows;
    }
    if total <= parameters {
        return Err(MixedError::TooFewRows {
            rows: total,
            parameters,
        });
    }
    Ok(())
}

/// Names the first reading for which the model has no finite value or derivative at the start.
fn check_start<M: MixedModel + ?Sized>(
    groups: &mut Groups<'_, M>,
    begin: &Point,
) -> Result<(), MixedError> {
    let mut evaluated = Evaluated::default();
    if groups.evaluate(begin, &mut evaluated).is_finite() {
        return Ok(());
    }
    let columns = groups.shape.parameters;
    for group in 0..groups.count() {
        let (from, to) = (groups.offsets[group], groups.offsets[group + 1]);
        let rows = to - from;
        for row in 0..rows {
            let finite = evaluated.residuals[from + row].is_finite()
                && (0..columns)
                    .all(|j| evaluated.derivatives[from * columns + j * rows + row].is_finite());
            if !finite {
                return Err(MixedError::StartOutOfReach {
                    group: group + 1,
                    row: row + 1,
                });
            }
        }
    }
    // Every value is finite and their squares are not: the first reading stands for all.
    Err(MixedError::StartOutOfReach { group: 1, row: 1 })
}
