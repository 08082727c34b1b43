//! The global fit of one bench under one shape.

use super::estimates::Estimates;
use super::grid::{Start, starts};
use super::model::BenchModel;
use super::rows::BenchRows;
use super::shape::Shape;
use crate::fit::least_squares::{
    Covariance, LeastSquaresProblem, LevenbergMarquardt, Projection, SeparableModel, Settings,
    Termination, covariance_from_jacobian, minimize_from_near,
};
use crate::fit::parameter::ParameterName;

/// Most iterations from a start of the grid: fits take 5 to 50, and what takes longer creeps along a
/// valley that has no lowest point, such as a gel point that runs away to where it is the log law.
const MOST_ITERATIONS: usize = 120;

/// A fitted bench: estimates, their covariance, and what the fit left over.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchFit {
    /// The shape that was fitted.
    pub shape: Shape,
    /// Estimates, natural scale.
    pub estimates: Estimates,
    /// The searched point that they stand for: the start of refits.
    pub search: Vec<f64>,
    /// The fitted parameters in the order of the covariance.
    pub free: Vec<ParameterName>,
    /// Unscaled covariance and condition; `None` where the derivatives are dependent.
    pub covariance: Option<Covariance>,
    /// Weighted sum of squares, priors included.
    pub sum_of_squares: f64,
    /// Weighted residuals, model less reading, a row each; without the priors' rows.
    pub residuals: Vec<f64>,
    /// Weighted derivatives by the free parameters, column by column, without the priors' rows.
    pub derivatives: Vec<f64>,
    /// Conversion of each row.
    pub conversions: Vec<f64>,
    /// Norm of the weighted readings.
    pub response_norm: f64,
    /// Iterations of the search.
    pub iterations: usize,
    /// Why the search ended.
    pub termination: Termination,
}

impl BenchFit {
    /// Rows less free parameters.
    #[must_use]
    pub fn degrees_of_freedom(&self) -> usize {
        (self.residuals.len() + self.shape.priors.len()).saturating_sub(self.free.len())
    }

    /// Standard deviation of the residuals, on the scale that was fitted.
    #[must_use]
    pub fn residual_sd(&self) -> f64 {
        (self.sum_of_squares / self.degrees_of_freedom().max(1) as f64).sqrt()
    }

    /// Whether the residuals are nothing but rounding.
    #[must_use]
    pub fn is_exact(&self) -> bool {
        self.sum_of_squares.sqrt() <= 1e-12 * self.response_norm
    }
}

/// Number of parameters that a shape leaves free on these rows.
#[must_use]
pub fn free_parameter_count(rows: &BenchRows, shape: &Shape) -> usize {
    BenchModel::new(rows, shape.clone()).free().len()
}

/// Fits the rows under one shape, with no start given: grid, then search through argmin's executor.
///
/// A prior weighs by its own standard deviation against that of the residuals, which the fit finds
/// on the way: the fit is repeated until that stands still.
#[must_use]
pub fn fit_bench(rows: &BenchRows, shape: &Shape) -> BenchFit {
    let mut problem = Projection::new(BenchModel::new(rows, shape.clone()));
    let mut fit = fit_problem(&mut problem, rows, None);
    if shape.priors.is_empty() {
        return fit;
    }
    for _ in 0..30 {
        let before = fit.residual_sd();
        problem.model_mut().set_prior_scale(before);
        fit = fit_problem(&mut problem, rows, None);
        if (fit.residual_sd() - before).abs() <= 1e-10 * before {
            break;
        }
    }
    fit
}

/// Fits a problem that is set up: from a known start where one is given, else from the grid.
#[must_use]
pub fn fit_problem(
    problem: &mut Projection<BenchModel<'_>>,
    rows: &BenchRows,
    start: Option<&[f64]>,
) -> BenchFit {
    let (start, tried) = match start {
        Some(start) => (start.to_vec(), 0),
        None => {
            let mut candidates = starts(problem, rows);
            if candidates.is_empty() {
                // Nothing to start from, such as a bench that was never heated: the search says so.
                let search = vec![0.0; problem.parameter_count()];
                candidates.push(Start {
                    search,
                    sum_of_squares: f64::INFINITY,
                });
            }
            match candidates.as_slice() {
                // One valley, and nothing to compare it with.
                [only] => (only.search.clone(), 0),
                _ => deepest_basin(problem, &candidates),
            }
        }
    };
    // Lent to argmin's executor, which wants to own what it minimises.
    let minimum = minimize_from_near(
        &mut *problem,
        &start,
        Settings {
            max_iterations: MOST_ITERATIONS,
            ..Settings::default()
        },
    );
    finish(
        problem,
        minimum.parameters,
        tried + minimum.iterations,
        minimum.termination,
    )
}

/// Follows the grid's starts by the batch path and gives the end of the deepest, and the
/// iterations that took. A start that lies half as high again as the best has lost already, unless
/// that one failed.
fn deepest_basin(
    problem: &mut Projection<BenchModel<'_>>,
    candidates: &[Start],
) -> (Vec<f64>, usize) {
    let mut engine = LevenbergMarquardt::new(Settings {
        max_iterations: MOST_ITERATIONS,
        ..Settings::batch()
    });
    let lowest = candidates[0].sum_of_squares;
    let mut best: Option<(bool, f64, Vec<f64>)> = None;
    let mut iterations = 0;
    for start in candidates {
        let found = best.as_ref().is_some_and(|b| b.0);
        if found && start.sum_of_squares > 1.5 * lowest {
            break;
        }
        let success = engine.run(problem, &start.search).was_successful();
        iterations += engine.iterations();
        let sum = engine.sum_of_squares();
        let better = best
            .as_ref()
            .is_none_or(|b| (success && !b.0) || (success == b.0 && sum < b.1 * (1.0 - 1e-12)));
        if better {
            best = Some((success, sum, engine.parameters().to_vec()));
        }
    }
    match best {
        Some((true, _, end)) => (end, iterations),
        // No end was a minimum: the careful search starts where the grid was lowest.
        _ => (candidates[0].search.clone(), iterations),
    }
}

fn finish(
    problem: &mut Projection<BenchModel<'_>>,
    search: Vec<f64>,
    iterations: usize,
    termination: Termination,
) -> BenchFit {
    let mut scratch = vec![0.0; problem.residual_count()];
    problem.residuals(&search, &mut scratch);
    let linear = problem.linear().to_vec();
    let model = problem.model_mut();
    let (whole_derivatives, whole_residuals) = model.full_derivatives(&search, &linear);
    let free = model.free();
    let total = whole_residuals.len();
    let rows = total - model.shape().priors.len();
    let covariance = covariance_from_jacobian(&whole_derivatives, total, free.len());
    let derivatives = if rows == total {
        whole_derivatives
    } else {
        whole_derivatives
            .chunks_exact(total)
            .flat_map(|column| &column[..rows])
            .copied()
            .collect()
    };
    BenchFit {
        shape: model.shape().clone(),
        estimates: model.estimates(&search, &linear),
        sum_of_squares: whole_residuals.iter().map(|r| r * r).sum(),
        free,
        covariance,
        conversions: model.conversions().to_vec(),
        response_norm: model.response_norm(),
        residuals: whole_residuals[..rows].to_vec(),
        derivatives,
        search,
        iterations,
        termination,
    }
}
