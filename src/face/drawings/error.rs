//! Why there is no picture.

use crate::chart::ChartError;
use crate::plan::PlanError;
use crate::reference::ReferenceError;
use thiserror::Error;

/// Why there is no picture.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum DrawingError {
    /// The answer behind it.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// The calibration behind it.
    #[error(transparent)]
    Fit(#[from] crate::fit::FitError),
    /// The picture itself.
    #[error(transparent)]
    Chart(#[from] ChartError),
    /// The reference tables.
    #[error(transparent)]
    Reference(#[from] ReferenceError),
}
