//! A law through a measured flow curve: shear stress over shear rate, with standard errors and
//! a choice among laws.

mod choice;
mod error;
mod model;
mod problem;
mod start;

pub use choice::{
    CurveCandidate, CurveFit, CurveFitOptions, CurveParameter, FittedCurve, fit_curve,
};
pub use error::CurveFitError;
pub use model::{CurveModel, ShearErrors};
