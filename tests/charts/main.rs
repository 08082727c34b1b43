//! Charts, checked by reading the pictures back: the SVG as text, the PNG through a decoder.

#![cfg(feature = "charts")]
#![allow(clippy::unwrap_used, clippy::panic)]

mod batches;
mod colours;
mod equal_forces;
mod files;
mod heat_window;
mod history;
mod places;
mod samples;
mod svg;
mod ticks;
mod undrawable;
mod words;
