//! A folder for teaching, all of it from one calibration: slides, a sheet on which trainees predict
//! and then measure, its answers, and a page that says what to show when.

mod exercise;
mod pages;
mod slides;
mod tables;

pub(crate) use exercise::{Exercise, rows_of};
pub(crate) use pages::{answers_page, index_page, sheet_page};
pub(crate) use slides::{Slide, SlideWords, slide};
pub(crate) use tables::{answers_table, sheet_table};

/// What marks everything that stands on invented readings.
pub(crate) const INVENTED: &str =
    "Invented data: made up to learn with. Nothing here was measured.";
/// What marks everything that lies outside what was measured.
pub(crate) const EXTRAPOLATED: &str = "Extrapolated: part of this lies outside what was measured.";
