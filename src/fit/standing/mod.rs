//! Thickening on standing: what the readings taken after standing tell.
//!
//! It is fitted after the bench, to ln of the readings with equal weights, whatever errors the bench
//! was fitted with. Each gel (one blend, lot, heat temperature and heat time, read at one shear rate
//! and temperature) has its own beginning `ln P(0)`: free where it was read at several standing times,
//! else taken from the fitted curve of its lot.

mod choice;
mod document;
mod gels;
mod model;
mod of_table;
mod words;

pub use choice::{NoCourse, StandingFit, StandingForm, fit_standing};
pub use document::{Standing, StandingEstimate, StandingRange, StandingReading};
pub use gels::{CurveDoubt, GelStart, StandingGel, StandingRow, StandingRows};
pub(super) use of_table::standing_of;

/// Storage temperatures nearer than this count as the same, in K: a refrigerator is no steadier.
/// Common practice, no source.
pub const SAME_STORAGE_KELVIN: f64 = 2.0;
/// Storage temperatures must differ by this for an activation energy, in K.
pub const APART_STORAGE_KELVIN: f64 = 5.0;
