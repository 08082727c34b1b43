//! The global fit of one bench under one shape.

use super::grid::{Start, starts};
use super::model::{BenchModel, Held, Shape};
use super::rows::BenchRows;
use crate::fit::least_squares::{
    Covariance, Minimum, Projection, Settings, Termination,
    LeastSquaresProblem, SeparableModel, covariance_from_jacobian, minimize,
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
        candidates.push(Start { search, sum_of_squares: f64::INFINITY });
    }
    let deepest = candidates[0].sum_of_squares;
    let mut best: Option<Minimum> = None;
    let mut iterations = 0;
    for start in &candidates {
        // A start four times as high as the best has lost already, unless that one failed.
        let hopeless = start.sum_of_squares > 4.0 * deepest;
        if hopeless && best.as_ref().is_some_and(|b| b.termination.was_successful()) {
            break;
        }
        let minimum = minimize(problem.clone(), &start.search, Settings::default());
        iterations += minimum.iterations;
        let better = best.as_ref().is_none_or(|b| {
            let (new, old) =
                (minimum.termination.was_successful(), b.termination.was_successful());
            (new && !old)
                || (new == old && minimum.sum_of_squares < b.sum_of_squares * (1.0 - 1e-12))
        });
        if better {
            best = Some(minimum);
        }
    }
    let (search, termination) = best.map_or_else(
        || (candidates[0].search.clone(), Termination::NotFinite),
        |b| (b.parameters, b.termination),
    );
    finish(problem, search, shape, iterations, termination)
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
        (ParameterName::FlowIndexPlateau, thins && held_index.is_none()),
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
