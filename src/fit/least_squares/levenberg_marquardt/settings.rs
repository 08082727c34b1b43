//! When the search stops, and how boldly it begins.

/// When to stop, and how boldly to begin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// First trust-region radius as a multiple of the scaled start: 100 is bold, 0.1 careful.
    pub initial_step_ratio: f64,
    /// Relative offset (residuals' share inside the tangent plane) at which the search ends.
    pub offset_tolerance_ratio: f64,
    /// Largest relative offset that still counts as a minimum.
    pub offset_limit_ratio: f64,
    /// Relative fall of the sum of squares, asked of model and of data, below which a step is vain.
    pub cost_tolerance_ratio: f64,
    /// Relative step below which the search ends.
    pub step_tolerance_ratio: f64,
    /// Most iterations.
    pub max_iterations: usize,
    /// Whether the end is sharpened by Gauss-Newton steps judged by the offset alone: the sum of
    /// squares is flat to rounding over half of the parameters' digits, the offset is not.
    pub polish: bool,
    /// Whether steps that the linear model foretold well are followed by steps with the same
    /// factors, which cost a gradient instead of new factors.
    pub keep_factors: bool,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            initial_step_ratio: 100.0,
            offset_tolerance_ratio: 1e-12,
            offset_limit_ratio: 1e-6,
            cost_tolerance_ratio: f64::EPSILON,
            step_tolerance_ratio: f64::EPSILON,
            max_iterations: 2000,
            polish: true,
            keep_factors: false,
        }
    }
}

impl Settings {
    /// For refits by the thousand: ends once the parameters stand to about 1e-8 of their standard
    /// errors, does not polish, and keeps its factors near the end.
    #[must_use]
    pub fn batch() -> Self {
        Self {
            offset_tolerance_ratio: 1e-8,
            polish: false,
            keep_factors: true,
            ..Self::default()
        }
    }
}
