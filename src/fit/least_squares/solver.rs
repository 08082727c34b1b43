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

/// A search lent to argmin's executor, which moves its solver about: a search holds all its
/// scratch, and is used again for the next start.
struct Lent<'a>(&'a mut LevenbergMarquardt);

impl<P: LeastSquaresProblem> Solver<P, SearchState> for Lent<'_> {
    fn name(&self) -> &str {
        Solver::<P, SearchState>::name(&*self.0)
    }

    fn init(
        &mut self,
        problem: &mut Problem<P>,
        state: SearchState,
    ) -> Result<(SearchState, Option<KV>), Error> {
        self.0.init(problem, state)
    }

    fn next_iter(
        &mut self,
        problem: &mut Problem<P>,
        state: SearchState,
    ) -> Result<(SearchState, Option<KV>), Error> {
        self.0.next_iter(problem, state)
    }
}

/// Runs a search through argmin's executor; the problem is given back, and the end is that of the
/// search, `None` where the executor failed.
fn execute<P: LeastSquaresProblem>(
    search: &mut LevenbergMarquardt,
    problem: P,
    start: &[f64],
) -> (Option<Termination>, Option<P>) {
    let limit = search.settings().max_iterations as u64 + 2;
    let outcome = Executor::new(problem, Lent(&mut *search))
        .configure(|state: SearchState| state.param(start.to_vec()).max_iters(limit))
        .ctrlc(false)
        .run();
    match outcome {
        Ok(result) => {
            let end = result.solver.0.end.unwrap_or(Termination::IterationLimit);
            (Some(end), result.problem.problem)
        }
        // Our own init and steps return no error; argmin's executor could only fail on theirs.
        Err(_) => (None, None),
    }
}

/// Searches from one start through argmin's executor.
#[must_use]
pub fn minimize_from<P: LeastSquaresProblem>(
    problem: P,
    start: &[f64],
    settings: Settings,
) -> (Minimum, Option<P>) {
    let mut search = LevenbergMarquardt::new(settings);
    let (end, problem) = execute(&mut search, problem, start);
    let minimum = match end {
        Some(termination) => Minimum {
            parameters: search.parameters().to_vec(),
            sum_of_squares: search.sum_of_squares(),
            residuals: search.residuals().to_vec(),
            jacobian: search.jacobian().to_vec(),
            offset_ratio: search.offset_ratio(),
            iterations: search.iterations(),
            termination,
        },
        None => Minimum::nowhere(start, 0),
    };
    (minimum, problem)
}

impl Minimum {
    /// The end of a search that took no step.
    fn nowhere(start: &[f64], iterations: usize) -> Self {
        Self {
            parameters: start.to_vec(),
            sum_of_squares: f64::NAN,
            residuals: Vec::new(),
            jacobian: Vec::new(),
            offset_ratio: f64::NAN,
            iterations,
            termination: Termination::NotFinite,
        }
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
    let mut problem = Some(problem);
    let mut best: Option<Minimum> = None;
    let mut iterations = 0;
    for ratio in STEP_RATIOS {
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
    best.unwrap_or_else(|| Minimum::nowhere(start, iterations))
}

/// The end of a search that was lent: where it is, and how it got there.
#[derive(Debug, Clone, PartialEq)]
pub struct NearMinimum {
    /// The point reached.
    pub parameters: Vec<f64>,
    /// Iterations over all tries.
    pub iterations: usize,
    /// Why it ended; only `Converged` is a minimum.
    pub termination: Termination,
}

/// The same from a start that is known to lie near a minimum, such as the best of a grid: two tries
/// tell a plateau from a step that was too bold. The search is lent, with its settings, so that the
/// next one finds its scratch laid out.
#[must_use]
pub fn minimize_from_near<P: LeastSquaresProblem>(
    search: &mut LevenbergMarquardt,
    problem: &mut P,
    start: &[f64],
) -> NearMinimum {
    let settings = search.settings();
    let mut best: Option<(f64, NearMinimum)> = None;
    let mut iterations = 0;
    for &initial_step_ratio in &STEP_RATIOS[..2] {
        search.set_settings(Settings {
            initial_step_ratio,
            ..settings
        });
        let (end, _) = execute(search, &mut *problem, start);
        iterations += search.iterations();
        let termination = end.unwrap_or(Termination::NotFinite);
        let sum = search.sum_of_squares();
        let improves = best
            .as_ref()
            .is_none_or(|(lowest, _)| sum < *lowest || !lowest.is_finite());
        if improves || termination.was_successful() {
            let minimum = NearMinimum {
                parameters: search.parameters().to_vec(),
                iterations,
                termination,
            };
            best = Some((sum, minimum));
        }
        if termination.was_successful() {
            break;
        }
    }
    search.set_settings(settings);
    let (_, mut minimum) = best.unwrap_or_else(|| {
        let parameters = start.to_vec();
        let nowhere = NearMinimum {
            parameters,
            iterations,
            termination: Termination::NotFinite,
        };
        (f64::NAN, nowhere)
    });
    minimum.iterations = iterations;
    minimum
}
