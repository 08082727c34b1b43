//! Other hands, other blocks, other eyes: published values, reference libraries, and the commands.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod agreement;
mod commands;
mod equivalence;
mod precision;
