//! The bench problem: rows of one blend, the kinetic model, and its global fit.

mod conversions;
mod estimates;
mod first_order;
mod grid;
mod line_scan;
mod model;
mod rate_plane;
mod rate_tables;
mod response;
mod roles;
mod rows;
mod search;
mod shape;

pub use estimates::Estimates;
pub use model::BenchModel;
pub use rows::{BenchRows, ReadTemperatures};
pub use search::{BenchFit, fit_bench, fit_problem, free_parameter_count};
pub use shape::{ErrorModel, Held, Prior, Shape};
