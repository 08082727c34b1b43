//! Which reading to take next: published optimum designs, linear algebra against refits, and what
//! the command says.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod answers;
mod benches;
#[cfg(feature = "cli")]
mod command;
mod lots;
mod optimum_designs;
#[cfg(feature = "cli")]
#[path = "../said/mod.rs"]
mod said;
#[path = "../support/mod.rs"]
mod support;
mod updates;
