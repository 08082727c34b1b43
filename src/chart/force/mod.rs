//! Plunger force against heat time: one line a needle, in the colour of its hub.

mod numbers;
mod picture;

pub use numbers::{ForceAxis, ForceBand, ForceChart, ForceLimit, ForceLine, ForcePoint, ForceZone};
