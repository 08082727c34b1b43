//! What the engine asks of a model with groups, and how it is told to fit.

/// A model whose parameters vary from group to group.
pub trait MixedModel {
    /// Number of parameters of one group.
    fn parameter_count(&self) -> usize;

    /// Number of groups.
    fn group_count(&self) -> usize;

    /// Number of readings of a group.
    fn rows(&self, group: usize) -> usize;

    /// Readings of a group, `rows(group)` of them.
    fn response(&self, group: usize) -> &[f64];

    /// Writes what a group with `parameters` should read, and its derivatives column by column:
    /// `derivatives[j * rows + i]` is the derivative of reading i by parameter j.
    ///
    /// A value that is not finite marks the parameters as out of reach.
    fn predict(
        &mut self,
        group: usize,
        parameters: &[f64],
        values: &mut [f64],
        derivatives: &mut [f64],
    );
}

/// Which likelihood the standard deviations maximise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Likelihood {
    /// That of the readings. With few groups it makes the spread between them too small: on
    /// average by the factor (groups - 1)/groups in the variance of a balanced design.
    #[default]
    Full,
    /// That of the contrasts free of the fixed effects (restricted or residual likelihood): in
    /// balanced linear designs without that bias. Log-likelihoods of different models of the mean
    /// are then not to be compared.
    Restricted,
}

/// How to fit.
#[derive(Debug, Clone, PartialEq)]
pub struct MixedSettings {
    /// Components of the parameters that vary from group to group, each named once.
    pub random: Vec<usize>,
    /// Likelihood to maximise.
    pub likelihood: Likelihood,
    /// Most turns of the penalised and the linear step.
    pub max_iterations: usize,
    /// Change of a standard deviation between two turns, as a share of its own standard error,
    /// below which the turns end.
    pub tolerance_ratio: f64,
}

impl MixedSettings {
    /// Full likelihood, with random effects on the given components.
    #[must_use]
    pub fn with_random(random: &[usize]) -> Self {
        Self {
            random: random.to_vec(),
            likelihood: Likelihood::Full,
            max_iterations: 200,
            tolerance_ratio: 1e-8,
        }
    }
}
