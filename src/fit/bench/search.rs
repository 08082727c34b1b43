//! The global fit of one bench under one shape.

use super::grid::{Start, starts};
use super::model::{BenchModel, Held, Shape};
use super::rows::BenchRows;
use crate::fit::least_squares::{
    Covariance, LeastSquaresProblem, LevenbergMarquardt, Projection, SeparableModel, Settings,
    Termination, covariance_from_jacobian, minimize,
};
use crate::fit::parameter::ParameterName;

/// A fitted bench: estimates, their covariance, and what the fit left over.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchFit {
    /// The shape that was fitted.
    pub shape: Shape,
    /// Reading before any heat, natural scale.
    pub initial: f64,
    /// Reading when all has set, natural scale.
    pub plateau: f64,
    /// Rate at the reference temperature, in 1/s.
    pub rate_ref_per_s: f64,
    /// Activation energy, in J/mol.
    pub activation_energy_j_per_mol: f64,
    /// Flow index of the set gel; 1 where the bench has one shear rate.
    pub flow_index_plateau: f64,
    /// The fitted parameters in the order of the covariance.
    pub free: Vec<ParameterName>,
    /// Unscaled covariance and condition; `None` where the derivatives are dependent.
    pub covariance: Option<Covariance>,
    /// Weighted sum of squares.
    pub sum_of_squares: f64,
    /// Weighted residuals, model less reading, a row each.
    pub residuals: Vec<f64>,
    /// Weighted derivatives by the free parameters, column by column.
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
        self.residuals.len().saturating_sub(self.free.len())
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
pub fn free_parameter_count(rows: &BenchRows, shape: Shape) -> usize {
    let model = BenchModel::new(rows, shape);
    model.search_count() + model.linear_count()
}

/// Fits the rows under one shape, with no start given: grid, then search through argmin's executor.
#[must_use]
pub fn fit_bench(rows: &BenchRows, shape: Shape) -> BenchFit {
    let mut problem = Projection::new(BenchModel::new(rows, shape));
    let mut candidates = starts(&mut problem, rows);
    if candidates.is_empty() {
        // Nothing to start from, such as a bench that was never heated: the search says so.
        let search = vec![0.0; problem.parameter_count()];
        candidates.push(Start {
            search,
            sum_of_squares: f64::INFINITY,
        });
    }
    let (start, tried) = deepest_basin(&mut problem, &candidates);
    let minimum = minimize(problem.clone(), &start, Settings::default());
    let iterations = tried + minimum.iterations;
    finish(
        problem,
        minimum.parameters,
        shape,
        iterations,
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
    let mut engine = LevenbergMarquardt::new(Settings::batch());
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
    mut problem: Projection<BenchModel<'_>>,
    search: Vec<f64>,
    shape: Shape,
    iterations: usize,
    termination: Termination,
) -> BenchFit {
    let mut scratch = vec![0.0; problem.residual_count()];
    if search.len() == problem.parameter_count() {
        problem.residuals(&search, &mut scratch);
    }
    let linear = problem.linear().to_vec();
    let mut model = problem.into_model();
    let (derivatives, residuals) = model.full_derivatives(&search, &linear);
    let (ln_rate, energy) = model.rate_and_energy(&search);
    let (initial, plateau, flow_index_plateau) = model.ends(&search, &linear);
    let Held {
        initial: held_initial,
        plateau: held_plateau,
        rate_ref_per_s: held_rate,
        activation_energy_j_per_mol: held_energy,
        flow_index_plateau: held_index,
    } = shape.held;
    let thins = model.has_shear_rates();
    let free: Vec<ParameterName> = [
        (ParameterName::Initial, held_initial.is_none()),
        (ParameterName::Plateau, held_plateau.is_none()),
        (ParameterName::RateRef, held_rate.is_none()),
        (ParameterName::ActivationEnergy, held_energy.is_none()),
        (
            ParameterName::FlowIndexPlateau,
            thins && held_index.is_none(),
        ),
    ]
    .into_iter()
    .filter_map(|(name, is_free)| is_free.then_some(name))
    .collect();
    let covariance = covariance_from_jacobian(&derivatives, residuals.len(), free.len());
    BenchFit {
        shape,
        initial,
        plateau,
        rate_ref_per_s: ln_rate.exp(),
        activation_energy_j_per_mol: energy,
        flow_index_plateau,
        sum_of_squares: residuals.iter().map(|r| r * r).sum(),
        free,
        covariance,
        conversions: model.conversions().to_vec(),
        response_norm: model.response_norm(),
        residuals,
        derivatives,
        iterations,
        termination,
    }
}
