//! What can keep a report from being made.

use crate::plan::PlanError;
use crate::reference::ReferenceError;
use thiserror::Error;

/// Why there is no report. A chart or an answer that a calibration cannot give does not count:
/// the report says so in its place.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum ReportError {
    /// The stated defaults of a push.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// The reference tables.
    #[error(transparent)]
    Reference(#[from] ReferenceError),
}
