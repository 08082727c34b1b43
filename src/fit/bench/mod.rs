//! The bench problem: rows of one blend, the kinetic model, and its global fit.

mod conversions;
mod grid;
mod model;
mod response;
mod rows;
mod search;
mod shape;

pub use model::{BenchModel, Estimates};
pub use rows::BenchRows;
pub use search::{BenchFit, fit_bench, fit_problem, free_parameter_count};
pub use shape::{ErrorModel, Held, Prior, Shape};
