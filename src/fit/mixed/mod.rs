//! Nonlinear mixed effects: parameters that vary from group to group, by a general engine that
//! knows no chemistry.
//!
//! Group `i` has the parameters `phi_i = beta + b_i`: the fixed effects `beta` are shared, and the
//! random effects `b_i`, on chosen components only, are drawn for each group from a normal
//! distribution with mean 0 and a standard deviation a component. Readings scatter around
//! `f(phi_i, x)` with one residual standard deviation.
//!
//! The method is that of Lindstrom and Bates: a penalised nonlinear least-squares step over `beta`
//! and all `b_i`, and a linear mixed-effects step on the model made linear there, in turns until
//! both agree. It is an approximation: the log-likelihood is that of the linear model. Laplace's
//! method and quadrature differ from it in about the third digit.

mod block;
mod engine;
mod error;
mod linear;
mod model;
mod outcome;
mod penalised;
mod point;
mod report;
mod turns;
mod variance;

pub use engine::fit_mixed;
pub use error::MixedError;
pub use model::{Likelihood, MixedModel, MixedSettings};
pub use outcome::{MixedFit, MixedTermination, MixedUncertainty};
