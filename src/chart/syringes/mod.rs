//! The same gel in several syringes against the clock, beside gel that is hot at once.

mod numbers;
mod picture;

pub use numbers::{SyringeLevel, SyringeLine, SyringePoint, SyringesChart};
