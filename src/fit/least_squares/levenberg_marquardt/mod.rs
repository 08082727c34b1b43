//! Levenberg-Marquardt in a trust region: one step at a time.

mod ending;
mod settings;

pub use settings::Settings;

use super::damping::DampedSystem;
use super::householder::PivotedQr;
use super::problem::LeastSquaresProblem;
use super::termination::Termination;
use super::vector::norm;

/// Smallest diagonal ratio of R over normalised columns that still counts as full rank.
const RANK_TOLERANCE_RATIO: f64 = 1e-14;

/// Offset from which a Gauss-Newton step lands so near that the factors of its start still serve.
const NEARNESS_RATIO: f64 = 0.5;

/// Most steps tried in one iteration: each is at most half of the one before.
const MOST_TRIALS: usize = 120;

/// The search: its point, its trust region, and its scratch, reused from fit to fit.
///
/// # Source
/// J. Moré, The Levenberg-Marquardt algorithm: implementation and theory, Lecture Notes in
/// Mathematics 630 (1978) 105, doi:10.1007/BFb0067700. Convergence by the relative offset:
/// D. Bates, D. Watts, A relative offset orthogonality convergence criterion for nonlinear least
/// squares, Technometrics 23 (1981) 179, doi:10.1080/00401706.1981.10486257.
#[derive(Debug, Clone, Default)]
pub struct LevenbergMarquardt {
    settings: Settings,
    parameters: Vec<f64>,
    first: Vec<f64>,
    residuals: Vec<f64>,
    jacobian: Vec<f64>,
    jacobian_is_current: bool,
    qr: PivotedQr,
    rotated: Vec<f64>,
    scale: Vec<f64>,
    step: Vec<f64>,
    trial: Vec<f64>,
    trial_residuals: Vec<f64>,
    damped: DampedSystem,
    gradient: Vec<f64>,
    rank_matrix: Vec<f64>,
    rank_qr: PivotedQr,
    residual_norm: f64,
    offset_ratio: f64,
    radius: f64,
    lambda: f64,
    iterations: usize,
    /// Set by the argmin face of the search.
    pub(super) end: Option<Termination>,
}

impl LevenbergMarquardt {
    /// A search with the given settings.
    #[must_use]
    pub fn new(settings: Settings) -> Self {
        Self {
            settings,
            ..Self::default()
        }
    }

    /// Changes the settings for the next search.
    pub fn set_settings(&mut self, settings: Settings) {
        self.settings = settings;
    }

    /// The settings of the next search.
    #[must_use]
    pub fn settings(&self) -> Settings {
        self.settings
    }

    /// The point reached.
    #[must_use]
    pub fn parameters(&self) -> &[f64] {
        &self.parameters
    }

    /// Residuals at the point reached.
    #[must_use]
    pub fn residuals(&self) -> &[f64] {
        &self.residuals
    }

    /// Derivatives at the point reached, column by column.
    #[must_use]
    pub fn jacobian(&self) -> &[f64] {
        &self.jacobian
    }

    /// Sum of squares at the point reached.
    #[must_use]
    pub fn sum_of_squares(&self) -> f64 {
        self.residual_norm * self.residual_norm
    }

    /// Relative offset at the point reached: share of the residuals that lies in the tangent plane.
    #[must_use]
    pub fn offset_ratio(&self) -> f64 {
        self.offset_ratio
    }

    /// Iterations taken.
    #[must_use]
    pub fn iterations(&self) -> usize {
        self.iterations
    }

    /// Takes up a start.
    pub fn start<P: LeastSquaresProblem + ?Sized>(&mut self, problem: &mut P, start: &[f64]) {
        let (rows, columns) = (problem.residual_count(), problem.parameter_count());
        self.parameters.clear();
        self.parameters.extend_from_slice(start);
        self.first.clear();
        self.first.extend_from_slice(start);
        self.trial.resize(columns, 0.0);
        self.step.resize(columns, 0.0);
        self.scale.clear();
        self.residuals.resize(rows, 0.0);
        self.trial_residuals.resize(rows, 0.0);
        self.jacobian.resize(rows * columns, 0.0);
        problem.residuals(&self.parameters, &mut self.residuals);
        self.residual_norm = norm(&self.residuals);
        self.jacobian_is_current = false;
        self.offset_ratio = f64::INFINITY;
        self.lambda = 0.0;
        self.radius = 0.0;
        self.iterations = 0;
    }

    /// Runs the whole search: the path for refits by the thousand, without an executor.
    pub fn run<P: LeastSquaresProblem + ?Sized>(
        &mut self,
        problem: &mut P,
        start: &[f64],
    ) -> Termination {
        self.start(problem, start);
        loop {
            if let Some(end) = self.advance(problem) {
                return end;
            }
        }
    }

    /// One iteration: derivatives, factors, and steps tried until one lowers the sum of squares.
    /// Gives the reason once the search has ended.
    pub fn advance<P: LeastSquaresProblem + ?Sized>(
        &mut self,
        problem: &mut P,
    ) -> Option<Termination> {
        if !self.residual_norm.is_finite() {
            return Some(Termination::NotFinite);
        }
        if problem.parameter_count() == 0 {
            self.offset_ratio = 0.0;
            return Some(Termination::Converged);
        }
        if problem.residual_count() < problem.parameter_count() {
            // Fewer readings than unknowns: some combination of them has no effect.
            return Some(Termination::Flat);
        }
        if !self.linearise(problem) {
            return Some(Termination::NotFinite);
        }
        if self.iterations >= self.settings.max_iterations {
            return Some(Termination::IterationLimit);
        }
        self.iterations += 1;
        self.grow_scale();
        if self.offset_ratio <= self.settings.offset_tolerance_ratio {
            return Some(self.finish(problem));
        }
        for _ in 0..MOST_TRIALS {
            self.lambda = self.damped.step_within(
                &self.qr,
                &self.scale,
                &self.rotated,
                self.radius,
                self.lambda,
                &mut self.step,
            );
            for ((trial, p), s) in self.trial.iter_mut().zip(&self.parameters).zip(&self.step) {
                *trial = p - s;
            }
            let step_length = self.scaled_norm(&self.step);
            if self.iterations == 1 {
                self.radius = self.radius.min(step_length);
            }
            problem.residuals(&self.trial, &mut self.trial_residuals);
            let trial_norm = norm(&self.trial_residuals);
            let gain = self.judge(trial_norm, step_length);

            if gain.ratio >= 1e-4 {
                std::mem::swap(&mut self.parameters, &mut self.trial);
                std::mem::swap(&mut self.residuals, &mut self.trial_residuals);
                self.residual_norm = trial_norm;
                self.jacobian_is_current = false;
            }
            let cost_is_settled = gain.actual.abs() <= self.settings.cost_tolerance_ratio
                && gain.predicted <= self.settings.cost_tolerance_ratio
                && 0.5 * gain.ratio <= 1.0;
            let step_is_settled = self.radius
                <= self.settings.step_tolerance_ratio * self.scaled_norm(&self.parameters);
            if cost_is_settled || step_is_settled {
                return Some(self.finish(problem));
            }
            if gain.ratio >= 1e-4 {
                let foretold = self.lambda == 0.0
                    && self.offset_ratio < NEARNESS_RATIO
                    && (gain.ratio - 1.0).abs() < 0.1;
                return (self.settings.keep_factors && foretold)
                    .then(|| self.close_in(problem))
                    .flatten();
            }
        }
        // No step of whatever length helps: the end, whatever it is, is judged by its offset.
        Some(self.finish(problem))
    }

    /// Gauss-Newton steps with the factors of the last point, while each leaves at most a tenth of
    /// the offset before. Gives the end where the offset, over those factors, is half of what is
    /// asked for; nothing where new factors are needed.
    fn close_in<P: LeastSquaresProblem + ?Sized>(
        &mut self,
        problem: &mut P,
    ) -> Option<Termination> {
        if self.qr.smallest_diagonal_ratio() < RANK_TOLERANCE_RATIO {
            return None;
        }
        let n = self.parameters.len();
        let mut before = self.offset_ratio;
        loop {
            self.gradient.resize(n, 0.0);
            problem.gradient(
                &self.parameters,
                &self.residuals,
                &mut self.jacobian,
                &mut self.gradient,
            );
            // R^T w = P^T g: the residuals' part in the tangent plane, as `rotated` holds it.
            for place in 0..n {
                let mut value = self.gradient[self.qr.pivots()[place]];
                for i in 0..place {
                    value -= self.qr.r(i, place) * self.rotated[i];
                }
                self.rotated[place] = value / self.qr.r(place, place);
            }
            let offset_ratio = norm(&self.rotated[..n]) / self.residual_floor(problem);
            if offset_ratio <= 0.5 * self.settings.offset_tolerance_ratio {
                self.offset_ratio = offset_ratio;
                return Some(self.classify(problem));
            }
            let falls = offset_ratio <= 0.1 * before;
            if !falls || self.iterations >= self.settings.max_iterations {
                return None;
            }
            before = offset_ratio;
            self.iterations += 1;
            self.damped.step_within(
                &self.qr,
                &self.scale,
                &self.rotated,
                f64::MAX,
                0.0,
                &mut self.step,
            );
            for ((trial, p), s) in self.trial.iter_mut().zip(&self.parameters).zip(&self.step) {
                *trial = p - s;
            }
            problem.residuals(&self.trial, &mut self.trial_residuals);
            let trial_norm = norm(&self.trial_residuals);
            let rises = trial_norm > self.residual_norm * (1.0 + 1e-9) + f64::MIN_POSITIVE;
            if rises || trial_norm.is_nan() {
                // The problem must have been asked last for the point that stands.
                problem.residuals(&self.parameters, &mut self.residuals);
                return None;
            }
            std::mem::swap(&mut self.parameters, &mut self.trial);
            std::mem::swap(&mut self.residuals, &mut self.trial_residuals);
            self.residual_norm = trial_norm;
        }
    }

    /// Derivatives and factors at the present point; false where they are not finite.
    fn linearise<P: LeastSquaresProblem + ?Sized>(&mut self, problem: &mut P) -> bool {
        let (rows, columns) = (problem.residual_count(), problem.parameter_count());
        if !self.jacobian_is_current {
            // The residuals asked for last were those of this very point: an accepted trial is the
            // last one of its loop, and a refused one leaves the derivatives current.
            problem.jacobian(&self.parameters, &mut self.jacobian);
            self.jacobian_is_current = true;
            self.qr.factor(&self.jacobian, rows, columns);
            // A derivative that is not finite shows in the norm of its column.
            if self.qr.column_norms().iter().any(|n| !n.is_finite()) {
                return false;
            }
            self.rotated.clear();
            self.rotated.extend_from_slice(&self.residuals);
            self.qr.apply_transpose(&mut self.rotated);
            let inside = norm(&self.rotated[..columns.min(rows)]);
            self.offset_ratio = inside / self.residual_floor(problem);
        }
        true
    }

    /// The residuals' norm, or the rounding of the readings where the fit is exact.
    fn residual_floor<P: LeastSquaresProblem + ?Sized>(&self, problem: &P) -> f64 {
        self.residual_norm
            .max(8.0 * f64::EPSILON * problem.response_norm())
            .max(f64::MIN_POSITIVE)
    }

    /// Scale of each parameter: the largest norm that its column has had.
    fn grow_scale(&mut self) {
        let norms = self.qr.column_norms().iter().copied();
        if self.scale.is_empty() {
            self.scale
                .extend(norms.map(|n| if n == 0.0 { 1.0 } else { n }));
            let length = self.scaled_norm(&self.parameters);
            self.radius =
                self.settings.initial_step_ratio * if length == 0.0 { 1.0 } else { length };
        } else {
            for (scale, n) in self.scale.iter_mut().zip(norms) {
                *scale = scale.max(n);
            }
        }
    }

    fn scaled_norm(&self, values: &[f64]) -> f64 {
        let sum: f64 = self
            .scale
            .iter()
            .zip(values)
            .map(|(s, v)| (s * v) * (s * v))
            .sum();
        sum.sqrt()
    }

    /// Compares what a step gave with what the linear model had promised, and resizes the region.
    fn judge(&mut self, trial_norm: f64, step_length: f64) -> Gain {
        let usable = trial_norm.is_finite() && 0.1 * trial_norm < self.residual_norm;
        let actual = if usable {
            let ratio = trial_norm / self.residual_norm;
            (1.0 - ratio) * (1.0 + ratio)
        } else {
            -1.0
        };
        let n = self.step.len();
        let mut image = 0.0;
        for row in 0..n.min(self.residuals.len()) {
            let value: f64 = (row..n)
                .map(|place| self.qr.r(row, place) * self.step[self.qr.pivots()[place]])
                .sum();
            image += value * value;
        }
        let linear = image.sqrt() / self.residual_norm;
        let damping = self.lambda.sqrt() * step_length / self.residual_norm;
        let predicted = linear * linear + 2.0 * damping * damping;
        let slope = -(linear * linear + damping * damping);
        let ratio = if predicted == 0.0 {
            0.0
        } else {
            actual / predicted
        };
        if ratio <= 0.25 {
            let mut shrink = if actual >= 0.0 {
                0.5
            } else {
                0.5 * slope / (slope + 0.5 * actual)
            };
            if !usable || shrink < 0.1 {
                shrink = 0.1;
            }
            self.radius = shrink * self.radius.min(10.0 * step_length);
            self.lambda /= shrink;
        } else if self.lambda == 0.0 || ratio >= 0.75 {
            self.radius = 2.0 * step_length;
            self.lambda *= 0.5;
        }
        Gain {
            actual,
            predicted,
            ratio,
        }
    }
}

/// What a step gave against what the linear model had promised, relative to the sum of squares.
struct Gain {
    actual: f64,
    predicted: f64,
    ratio: f64,
}
