//! The search for the greatest likelihood: Newton's steps, damped where they would overshoot.

use super::likelihood::{Evaluation, SetTimeModel};
use crate::fit::least_squares::Termination;
use ndarray::Array2;

const ITERATION_LIMIT: usize = 200;
/// The search ends where a whole Newton step would gain less than this in log-likelihood.
const LEAST_GAIN: f64 = 1e-18;
/// Of a pivot: less than this of the diagonal left is rounding, and nothing tells the parameter.
const FLAT_RATIO: f64 = 1e-11;
/// A step moves no parameter further than this at once, on its scale.
const LONGEST_STEP: f64 = 2.0;

/// Where a search ended.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct SearchEnd {
    pub(super) point: Vec<f64>,
    pub(super) evaluation: Evaluation,
    pub(super) termination: Termination,
    pub(super) iterations: usize,
}

/// The greatest likelihood from a start; `free` names the parameters that may move.
///
/// # Equation
/// `(-H + l diag(-H)) d = g`; `l` falls with every step that gains and rises with every one that
/// does not. Converged: `g^T (-H)^-1 g / 2 < 1e-18` with `-H` positive definite, which is tested
/// whatever stopped the search.
///
/// # Source
/// K. Levenberg, Q. Appl. Math. 2 (1944) 164; J. Nocedal, S. Wright, Numerical Optimization, 2nd ed.
/// 2006, section 3.4 (Newton's method with a modified Hessian) and 9.5 of S. Boyd, L. Vandenberghe,
/// Convex Optimization, 2004 (the decrement).
pub(super) fn search(model: &SetTimeModel, start: &[f64], free: &[usize]) -> SearchEnd {
    let mut point = start.to_vec();
    let mut evaluation = model.evaluate(&point);
    let mut damping = 1e-3;
    let mut iterations = 0;
    if !is_finite(&evaluation) {
        return SearchEnd {
            point,
            evaluation,
            termination: Termination::NotFinite,
            iterations,
        };
    }
    let mut termination = Termination::IterationLimit;
    while iterations < ITERATION_LIMIT {
        iterations += 1;
        if gain_left(&evaluation, free).is_some_and(|gain| gain < LEAST_GAIN) {
            termination = Termination::Converged;
            break;
        }
        let Some((next, found)) = step(model, &point, &evaluation, free, &mut damping) else {
            termination = Termination::Stalled;
            break;
        };
        point = next;
        evaluation = found;
    }
    if termination != Termination::Converged {
        // Rounding can hold a search an inch before the end.
        termination = match gain_left(&evaluation, free) {
            Some(gain) if gain < 1e-12 => Termination::Converged,
            Some(_) => termination,
            None if largest(&evaluation.gradient, free) < 1e-6 => Termination::Flat,
            None => termination,
        };
    }
    SearchEnd {
        point,
        evaluation,
        termination,
        iterations,
    }
}

/// One step that gains; none where no damping gives one.
fn step(
    model: &SetTimeModel,
    point: &[f64],
    evaluation: &Evaluation,
    free: &[usize],
    damping: &mut f64,
) -> Option<(Vec<f64>, Evaluation)> {
    let information = information(evaluation, free);
    let gradient: Vec<f64> = free.iter().map(|j| evaluation.gradient[*j]).collect();
    for _ in 0..60 {
        let mut damped = information.clone();
        for j in 0..free.len() {
            let own = information[[j, j]].abs().max(1e-10);
            damped[[j, j]] += *damping * own;
        }
        let candidate = Cholesky::of(&damped).map(|factors| factors.solve(&gradient));
        if let Some(mut shift) = candidate {
            let longest = shift.iter().fold(0.0_f64, |most, s| most.max(s.abs()));
            if longest > LONGEST_STEP {
                shift.iter_mut().for_each(|s| *s *= LONGEST_STEP / longest);
            }
            let mut next = point.to_vec();
            for (j, s) in free.iter().zip(&shift) {
                next[*j] += s;
            }
            let found = model.evaluate(&next);
            let slack = 1e-14 * evaluation.value.abs();
            if is_finite(&found) && found.value >= evaluation.value - slack {
                *damping = if *damping < 1e-12 {
                    0.0
                } else {
                    *damping * 0.1
                };
                return Some((next, found));
            }
        }
        *damping = (*damping * 10.0).max(1e-6);
    }
    None
}

/// What a whole Newton step would still gain; none where the information is not positive definite.
fn gain_left(evaluation: &Evaluation, free: &[usize]) -> Option<f64> {
    let gradient: Vec<f64> = free.iter().map(|j| evaluation.gradient[*j]).collect();
    let factors = Cholesky::of(&information(evaluation, free))?;
    let step = factors.solve(&gradient);
    Some(0.5 * step.iter().zip(&gradient).map(|(s, g)| s * g).sum::<f64>())
}

/// Covariance: the inverse of the observed information.
///
/// # Equation
/// `C = (-H)^-1` at the greatest likelihood
///
/// # Source
/// B. Efron, D. Hinkley, Biometrika 65 (1978) 457.
pub(super) fn covariance(evaluation: &Evaluation, free: &[usize]) -> Option<Array2<f64>> {
    let factors = Cholesky::of(&information(evaluation, free))?;
    let size = free.len();
    let mut found = Array2::zeros((size, size));
    for column in 0..size {
        let mut unit = vec![0.0; size];
        unit[column] = 1.0;
        for (row, value) in factors.solve(&unit).into_iter().enumerate() {
            found[[row, column]] = value;
        }
    }
    Some(found)
}

fn information(evaluation: &Evaluation, free: &[usize]) -> Array2<f64> {
    Array2::from_shape_fn((free.len(), free.len()), |(row, column)| {
        -0.5 * (evaluation.hessian[[free[row], free[column]]]
            + evaluation.hessian[[free[column], free[row]]])
    })
}

fn is_finite(evaluation: &Evaluation) -> bool {
    evaluation.value.is_finite()
        && evaluation.gradient.iter().all(|v| v.is_finite())
        && evaluation.hessian.iter().all(|v| v.is_finite())
}

fn largest(values: &[f64], free: &[usize]) -> f64 {
    free.iter()
        .fold(0.0_f64, |most, j| most.max(values[*j].abs()))
}

/// Cholesky factors of a positive definite matrix.
///
/// # Source
/// G. Golub, C. Van Loan, Matrix Computations, 4th ed. 2013, section 4.2.
struct Cholesky {
    lower: Array2<f64>,
}

impl Cholesky {
    /// None where the matrix is not positive definite.
    fn of(matrix: &Array2<f64>) -> Option<Self> {
        let size = matrix.nrows();
        let mut lower = Array2::<f64>::zeros((size, size));
        for j in 0..size {
            for i in j..size {
                let before: f64 = (0..j).map(|k| lower[[i, k]] * lower[[j, k]]).sum();
                let left = matrix[[i, j]] - before;
                if i > j {
                    lower[[i, j]] = left / lower[[j, j]];
                } else if left > FLAT_RATIO * matrix[[j, j]].abs() && left.is_finite() {
                    lower[[j, j]] = left.sqrt();
                } else {
                    return None;
                }
            }
        }
        Some(Self { lower })
    }

    fn solve(&self, right: &[f64]) -> Vec<f64> {
        let size = right.len();
        let mut found = right.to_vec();
        for i in 0..size {
            for k in 0..i {
                found[i] -= self.lower[[i, k]] * found[k];
            }
            found[i] /= self.lower[[i, i]];
        }
        for i in (0..size).rev() {
            for k in i + 1..size {
                found[i] -= self.lower[[k, i]] * found[k];
            }
            found[i] /= self.lower[[i, i]];
        }
        found
    }
}
