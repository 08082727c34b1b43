//! Why a search ended, and whether its end is a minimum.

use serde::{Deserialize, Serialize};

/// End of a least-squares search.
///
/// Only [`Termination::Converged`] is a success: the gradient was tested, whatever stopped the
/// search.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Termination {
    /// The scaled gradient is small, and every parameter has its own effect on the residuals.
    Converged,
    /// The gradient is small because a parameter, or a combination, has no effect here: a plateau
    /// or a valley, no minimum.
    Flat,
    /// No step lowers the sum of squares any more, yet the gradient is not small.
    Stalled,
    /// The iterations ran out.
    IterationLimit,
    /// Residuals or derivatives are not finite at the start.
    NotFinite,
}

impl Termination {
    /// Whether the end is a minimum.
    #[must_use]
    pub fn was_successful(self) -> bool {
        self == Self::Converged
    }

    /// The reason in words.
    #[must_use]
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Converged => "found the least sum of squares",
            Self::Flat => "ended where a parameter no longer changes the fit",
            Self::Stalled => "ended before the least sum of squares",
            Self::IterationLimit => "did not end within the allowed iterations",
            Self::NotFinite => "met a value that is not a number",
        }
    }
}
