//! The general least-squares engine: it knows residuals and derivatives, and no chemistry.

mod covariance;
mod damping;
mod householder;
mod levenberg_marquardt;
mod problem;
mod separable;
mod solver;
mod termination;
mod vector;

pub use covariance::{Covariance, covariance_from_jacobian};
pub use householder::PivotedQr;
pub use levenberg_marquardt::{LevenbergMarquardt, Settings};
pub use problem::LeastSquaresProblem;
pub use separable::{MAX_LINEAR, Projection, SeparableModel};
pub use solver::{Minimum, NearMinimum, minimize, minimize_from, minimize_from_near};
pub use termination::Termination;
pub(crate) use vector::{dot, in_wide_registers};
