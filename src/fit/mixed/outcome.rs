//! The end of a fit: estimates, what is known of their errors, and whether to trust them.

use crate::fit::least_squares::Termination;
use ndarray::Array2;

/// Why a fit with groups ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum MixedTermination {
    /// Both steps agree on every estimate.
    Converged,
    /// The penalised step found no minimum.
    PenalisedStep(Termination),
    /// The fixed effects cannot be told apart: a parameter, or a combination, has no effect.
    Flat,
    /// The likelihood does not change with the standard deviations, as with one reading a group.
    SpreadNotFound,
    /// The two steps did not agree within the allowed turns.
    IterationLimit,
}

impl MixedTermination {
    /// The reason in words.
    #[must_use]
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Converged => "found the estimates",
            Self::PenalisedStep(end) => end.in_words(),
            Self::Flat => "ended where a parameter no longer changes the fit",
            Self::SpreadNotFound => {
                "cannot tell the spread between groups from the scatter in them"
            }
            Self::IterationLimit => "did not settle within the allowed iterations",
        }
    }
}

/// What a fit knows of the errors of its estimates.
#[derive(Debug, Clone, PartialEq)]
pub struct MixedUncertainty {
    /// Covariance of the fixed effects, `s^2 (sum X_i^T V_i^-1 X_i)^-1` at the standard deviations
    /// found, as if those were known. `s^2` is the penalised sum of squares over readings less
    /// parameters, for both likelihoods.
    pub fixed_covariance: Array2<f64>,
    /// Standard deviation of every random effect given the fixed effects and the standard
    /// deviations, group by group: that of the group's readings and of the spread between groups
    /// taken together.
    pub effect_sds: Vec<Vec<f64>>,
    /// Covariance of a group's own parameters `beta + b_i` about the estimated ones, group by
    /// group, with the error of the fixed effects in it.
    pub group_covariances: Vec<Array2<f64>>,
    /// Standard error of the logarithm of every random standard deviation, from the curvature of
    /// the likelihood; `None` for one that is 0. A rough figure where groups are few.
    pub random_log_sd_errors: Vec<Option<f64>>,
    /// Standard error of the logarithm of the residual standard deviation.
    pub residual_log_sd_error: f64,
}

/// A fit of a model with groups.
#[derive(Debug, Clone, PartialEq)]
pub struct MixedFit {
    /// Parameters of the middle group: its random effects are 0.
    pub fixed: Vec<f64>,
    /// Components that vary from group to group, as asked.
    pub random: Vec<usize>,
    /// Standard deviations between groups, in the order of `random`; 0 where the readings show no
    /// more spread than their scatter explains.
    pub random_sd: Vec<f64>,
    /// Standard deviation of a reading within its group.
    pub residual_sd: f64,
    /// Random effects group by group, in the order of `random`.
    pub effects: Vec<Vec<f64>>,
    /// Errors of the estimates; `None` unless the fit converged.
    pub uncertainty: Option<MixedUncertainty>,
    /// Log-likelihood of the model made linear at the estimates; not a number where the fit ended
    /// before it could be had.
    pub log_likelihood: f64,
    /// Readings.
    pub rows: usize,
    /// Turns of the penalised and the linear step.
    pub iterations: usize,
    /// Whether the estimates are those of the largest likelihood.
    pub converged: bool,
    /// Why it ended.
    pub termination: MixedTermination,
}

impl MixedFit {
    /// Standard errors of the fixed effects, where the fit converged.
    #[must_use]
    pub fn fixed_standard_errors(&self) -> Option<Vec<f64>> {
        let covariance = &self.uncertainty.as_ref()?.fixed_covariance;
        Some(covariance.diag().iter().map(|v| v.sqrt()).collect())
    }

    /// Parameters of one group, `beta + b_i`; `None` for a group that is not there.
    #[must_use]
    pub fn group_parameters(&self, group: usize) -> Option<Vec<f64>> {
        let mut parameters = self.fixed.clone();
        for (&component, effect) in self.random.iter().zip(self.effects.get(group)?) {
            if let Some(parameter) = parameters.get_mut(component) {
                *parameter += effect;
            }
        }
        Some(parameters)
    }

    /// Number of estimates: fixed effects, random standard deviations, residual one.
    #[must_use]
    pub fn estimate_count(&self) -> usize {
        self.fixed.len() + self.random.len() + 1
    }
}
