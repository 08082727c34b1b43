//! The search as an argmin solver, so that its executor, limits and observers serve.

use super::levenberg_marquardt::{LevenbergMarquardt, Settings};
use super::problem::LeastSquaresProblem;
use super::termination::Termination;
use argmin::core::{Error, Executor, IterState, KV, Problem, Solver, State, TerminationReason};

/// State that argmin's executor hands from iteration to iteration.
type SearchState = IterState<Vec<f64>, (), (), (), (), f64>;

/// The end of a search.
#[derive(Debug, Clone, PartialEq)]
pub struct Minimum {
    /// The point reached.
    pub parameters: Vec<f64>,
    /// Sum of squares there.
    pub sum_of_squares: f64,
    /// Residuals there.
    pub residuals: Vec<f64>,
    /// Derivatives there, column by column.
    pub jacobian: Vec<f64>,
    /// Relative offset there.
    pub offset_ratio: f64,
    /// Iterations over all tries.
    pub iterations: usize,
    /// Why it ended; only `Converged` is a minimum.
    pub termination: Termination,
}

impl<P: LeastSquaresProblem> Solver<P, SearchState> for LevenbergMarquardt {
    fn name(&self) -> &str {
        "Levenberg-Marquardt"
    }

    fn init(
        &mut self,
        problem: &mut Problem<P>,
        mut state: SearchState,
    ) -> Result<(SearchState, Option<KV>), Error> {
        let start = state
            .take_param()
            .ok_or_else(|| Error::msg("the search has no start"))?;
        if let Some(problem) = problem.problem.as_mut() {
            self.start(problem, &start);
        }
        let cost = self.sum_of_squares();
        Ok((state.param(start).cost(cost), None))
    }

    fn next_iter(
        &mut self,
        problem: &mut Problem<P>,
        state: SearchState,
    ) -> Result<(SearchState, Option<KV>), Error> {
        let end = problem
            .problem
            .as_mut()
            .and_then(|problem| self.advance(problem));
        let state = state
            .param(self.parameters().to_vec())
            .cost(self.sum_of_squares());
        let state = match end {
            None => state,
            Some(Termination::Converged) => {
                state.terminate_with(TerminationReason::SolverConverged)
            }
            Some(other) => {
                state.terminate_with(TerminationReason::SolverExit(other.in_words().to_owned()))
            }
        };
        self.end = end;
        Ok((state, None))
    }
}

/// Searches from one start through argmin's executor.
#[must_use]
pub fn minimize_from<P: LeastSquaresProblem>(
    problem: P,
    start: &[f64],
    settings: Settings,
) -> (Minimum, Option<P>) {
    let search = LevenbergMarquardt::new(settings);
    let limit = settings.max_iterations as u64 + 2;
    let outcome = Executor::new(problem, search)
        .configure(|state: SearchState| state.param(start.to_vec()).max_iters(limit))
        .ctrlc(false)
        .run();
    match outcome {
        Ok(result) => {
            let search = result.solver;
            let minimum = Minimum {
                parameters: search.parameters().to_vec(),
                sum_of_squares: search.sum_of_squares(),
                residuals: search.residuals().to_vec(),
                jacobian: search.jacobian().to_vec(),
                offset_ratio: search.offset_ratio(),
                iterations: search.iterations(),
                termination: search.end.unwrap_or(Termination::IterationLimit),
            };
            (minimum, result.problem.problem)
        }
        // Our own init and steps return no error; argmin's executor could only fail on theirs.
        Err(_) => (
            Minimum {
                parameters: start.to_vec(),
                sum_of_squares: f64::NAN,
                residuals: Vec::new(),
                jacobian: Vec::new(),
                offset_ratio: f64::NAN,
                iterations: 0,
                termination: Termination::NotFinite,
            },
            None,
        ),
    }
}

/// Boldness of each try: a bold first step that lands on a plateau is tried again more carefully.
const STEP_RATIOS: [f64; 5] = [100.0, 1.0, 0.1, 10.0, 0.01];

/// Searches from one start, again with a more careful first step where the end is no minimum.
///
/// Gives the first minimum found, else the end with the least sum of squares and its honest
/// reason.
#[must_use]
pub fn minimize<P: LeastSquaresProblem>(problem: P, start: &[f64], settings: Settings) -> Minimum {
    minimize_trying(problem, start, settings, &STEP_RATIOS)
}

/// The same from a start that is known to lie near a minimum, such as the best of a grid: two tries
/// tell a plateau from a step that was too bold.
#[must_use]
pub fn minimize_from_near<P: LeastSquaresProblem>(
    problem: P,
    start: &[f64],
    settings: Settings,
) -> Minimum {
    minimize_trying(problem, start, settings, &STEP_RATIOS[..2])
}

fn minimize_trying<P: LeastSquaresProblem>(
    problem: P,
    start: &[f64],
    settings: Settings,
    step_ratios: &[f64],
) -> Minimum {
    let mut problem = Some(problem);
    let mut best: Option<Minimum> = None;
    let mut iterations = 0;
    for &ratio in step_ratios {
        let Some(taken) = problem.take() else { break };
        let tried = Settings {
            initial_step_ratio: ratio,
            ..settings
        };
        let (mut minimum, returned) = minimize_from(taken, start, tried);
        problem = returned;
        iterations += minimum.iterations;
        minimum.iterations = iterations;
        if minimum.termination.was_successful() {
            return minimum;
        }
        let improves = best.as_ref().is_none_or(|b| {
            minimum.sum_of_squares < b.sum_of_squares || !b.sum_of_squares.is_finite()
        });
        if improves {
            best = Some(minimum);
        }
    }
    best.unwrap_or_else(|| Minimum {
        parameters: start.to_vec(),
        sum_of_squares: f64::NAN,
        residuals: Vec::new(),
        jacobian: Vec::new(),
        offset_ratio: f64::NAN,
        iterations,
        termination: Termination::NotFinite,
    })
}
