//! Why a command could not be served.

use crate::fit::FitError;
use crate::flow::FlowError;
use crate::plan::PlanError;
use crate::readings::ReadingsError;
use crate::reference::ReferenceError;
use thiserror::Error;

/// What went wrong, in words for the person at the terminal.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum CliError {
    /// A file that is there already.
    #[error(
        "{file} is there already and was left as it is.\nWhat helps: --replace, or another name with --out"
    )]
    FileExists {
        /// File.
        file: String,
    },
    /// A file that cannot be written.
    #[error("{file} cannot be written: {reason}")]
    NotWritten {
        /// File.
        file: String,
        /// Why.
        reason: String,
    },
    /// A question that lacks something, or contradicts itself.
    #[error("{message}")]
    Question {
        /// What, and what helps.
        message: String,
    },
    /// Readings.
    #[error(transparent)]
    Readings(#[from] ReadingsError),
    /// Fit or calibration.
    #[error(transparent)]
    Fit(#[from] FitError),
    /// Set times.
    #[error(transparent)]
    SetTime(#[from] crate::fit::set_time::SetTimeError),
    /// Plan.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// Run sheet.
    #[error(transparent)]
    Sheet(#[from] crate::plan::sheet::SheetError),
    /// A bench to be planned.
    #[error(transparent)]
    BenchPlan(#[from] crate::plan::bench_plan::BenchPlanError),
    /// Reference tables.
    #[error(transparent)]
    Reference(#[from] ReferenceError),
    /// Flow.
    #[error(transparent)]
    Flow(#[from] FlowError),
    /// A table of a flow curve.
    #[error(transparent)]
    CurveFile(#[from] crate::flow::CurveFileError),
    /// A law through a flow curve.
    #[error(transparent)]
    CurveFit(#[from] crate::fit::flow_curve::CurveFitError),
    /// Agreement of readers.
    #[error(transparent)]
    Agreement(#[from] crate::fit::agreement::AgreementError),
    /// A study of other hands and blocks.
    #[error(transparent)]
    Precision(#[from] crate::fit::precision::PrecisionError),
    /// Schedules, traces and conduction.
    #[error(transparent)]
    Thermal(#[from] crate::thermal::ThermalInputError),
    /// Conduction in a syringe.
    #[error(transparent)]
    Conduction(#[from] crate::thermal::conduction::ConductionError),
    /// The log of batches.
    #[cfg(feature = "batches")]
    #[error(transparent)]
    Batches(#[from] crate::batches::BatchesError),
    /// Charts.
    #[error(transparent)]
    Chart(#[from] crate::chart::ChartError),
    /// Drawings.
    #[error(transparent)]
    Drawing(#[from] crate::face::drawings::DrawingError),
    /// Report.
    #[error(transparent)]
    Report(#[from] crate::face::report::ReportError),
}

impl CliError {
    /// A question that lacks something.
    pub(crate) fn question(message: impl Into<String>) -> Self {
        Self::Question {
            message: message.into(),
        }
    }
}
