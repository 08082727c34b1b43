//! The bench problem: rows of one blend, the kinetic model, and its global fit.

mod grid;
mod model;
mod rows;
mod search;

pub use model::{BenchModel, ErrorModel, Held, Shape};
pub use rows::BenchRows;
pub use search::{BenchFit, fit_bench, free_parameter_count};
