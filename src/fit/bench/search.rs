//! The global fit of one bench under one shape.

use super::estimates::Estimates;
use super::grid::{SURELY_LOST_RATIO, Start, is_plain, starts, valley_starts};
use super::model::BenchModel;
use super::rows::BenchRows;
use super::shape::Shape;
use crate::fit::least_squares::{
    Covariance, LeastSquaresProblem, LevenbergMarquardt, NearMinimum, Projection, SeparableModel,
    Settings, Termination, covariance_from_jacobian, minimize_from_near,
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
    let (minimum, tried) = match start {
        Some(start) => (sharpen(problem, start), 0),
        None => lowest_minimum(problem, rows),
    };
    finish(
        problem,
        minimum.parameters,
        tried + minimum.iterations,
        minimum.termination,
    )
}

/// The lowest minimum that the grid's starts lead to, and the iterations that the others took.
fn lowest_minimum(
    problem: &mut Projection<BenchModel<'_>>,
    rows: &BenchRows,
) -> (NearMinimum, usize) {
    let mut candidates = starts(problem, rows);
    if candidates.is_empty() {
        // Nothing to start from, such as a bench that was never heated: the search says so.
        candidates.push(Start {
            search: vec![0.0; problem.parameter_count()],
            sum_of_squares: f64::INFINITY,
        });
    }
    let plain = is_plain(problem.model());
    let limit = SURELY_LOST_RATIO * candidates[0].sum_of_squares;
    let has_rival = match candidates.get(1) {
        Some(next) => !plain || next.sum_of_squares <= limit,
        None => false,
    };
    if !has_rival {
        // One valley, and nothing to compare it with.
        let minimum = sharpen(problem, &candidates[0].search);
        if minimum.termination.was_successful() || !plain {
            return (minimum, 0);
        }
    }
    let mut basins = Basins::new(candidates[0].sum_of_squares, plain);
    basins.follow(problem, &candidates);
    if plain && basins.runs_off() {
        basins.follow(problem, &valley_starts(problem.model(), rows));
    }
    let end = match &basins.best {
        Some((_, end)) => end,
        // No end was a minimum: the careful search starts where the grid was lowest.
        None => &candidates[0].search,
    };
    (sharpen(problem, end), basins.iterations)
}

/// The careful search: lent to argmin's executor, which wants to own what it minimises.
fn sharpen(problem: &mut Projection<BenchModel<'_>>, start: &[f64]) -> NearMinimum {
    let mut search = LevenbergMarquardt::new(Settings {
        max_iterations: MOST_ITERATIONS,
        keep_factors: true,
        ..Settings::default()
    });
    minimize_from_near(&mut search, problem, start)
}

/// Ends of the starts followed so far, by the batch path.
struct Basins {
    engine: LevenbergMarquardt,
    /// Boldness of the first steps that are tried.
    step_ratios: &'static [f64],
    /// Least sum of squares of all starts.
    lowest_start: f64,
    /// Sum of squares and place of the deepest minimum.
    best: Option<(f64, Vec<f64>)>,
    /// Least sum of squares of the ends that are no minimum.
    lowest_failure: f64,
    iterations: usize,
}

impl Basins {
    fn new(lowest_start: f64, from_plane: bool) -> Self {
        Self {
            engine: LevenbergMarquardt::default(),
            // Starts from the plane lie near their minima.
            step_ratios: if from_plane { &[1.0, 0.1] } else { &[100.0] },
            lowest_start,
            best: None,
            lowest_failure: f64::INFINITY,
            iterations: 0,
        }
    }

    /// Follows starts to their ends, the lowest first, those that have lost already only as long as
    /// no end was a minimum.
    fn follow(&mut self, problem: &mut Projection<BenchModel<'_>>, starts: &[Start]) {
        for start in starts {
            if self.best.is_some() && start.sum_of_squares > SURELY_LOST_RATIO * self.lowest_start {
                break;
            }
            for &initial_step_ratio in self.step_ratios {
                self.engine.set_settings(Settings {
                    initial_step_ratio,
                    max_iterations: MOST_ITERATIONS,
                    ..Settings::batch()
                });
                let success = self.engine.run(problem, &start.search).was_successful();
                self.iterations += self.engine.iterations();
                let sum = self.engine.sum_of_squares();
                if !success {
                    self.lowest_failure = self.lowest_failure.min(sum);
                    continue;
                }
                let better = self
                    .best
                    .as_ref()
                    .is_none_or(|best| sum < best.0 * (1.0 - 1e-12));
                if better {
                    self.best = Some((sum, self.engine.parameters().to_vec()));
                }
                break;
            }
        }
    }

    /// Whether a way led down below all minima found, to no end.
    fn runs_off(&self) -> bool {
        self.best
            .as_ref()
            .is_none_or(|best| self.lowest_failure < best.0 * (1.0 - 1e-6))
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
    let (whole_derivatives, mut residuals) = model.full_derivatives(&search, &linear);
    let free = model.free();
    let total = residuals.len();
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
    let sum_of_squares = residuals.iter().map(|r| r * r).sum();
    residuals.truncate(rows);
    BenchFit {
        shape: model.shape().clone(),
        estimates: model.estimates(&search, &linear),
        sum_of_squares,
        free,
        covariance,
        conversions: model.conversions(),
        response_norm: model.response_norm(),
        residuals,
        derivatives,
        search,
        iterations,
        termination,
    }
}
