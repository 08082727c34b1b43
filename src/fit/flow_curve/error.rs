//! What keeps a table of stresses from becoming a law.

use thiserror::Error;

use super::model::CurveModel;

/// Why there is no law, and what would help.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum CurveFitError {
    /// Fewer readings than unknowns + 1.
    #[error(
        "Too few readings for the {} law: {rows}, where {needed} are the least.\nWhat helps: more shear rates, best over two decades",
        model.words()
    )]
    TooFewRows {
        /// The simplest law asked for.
        model: CurveModel,
        /// Readings there.
        rows: usize,
        /// Readings needed.
        needed: usize,
    },
    /// All readings at one shear rate.
    #[error(
        "No flow curve can be fitted: all {rows} readings were taken at {shear_rate_per_s} 1/s.\nWhat helps: readings at two or more shear rates, best over two decades; for one viscosity at every rate, heatset flow --newtonian"
    )]
    OneShearRate {
        /// Readings there.
        rows: usize,
        /// The shear rate.
        shear_rate_per_s: f64,
    },
    /// A reading that no law of stresses has.
    #[error(
        "reading {reading} ({shear_rate_per_s} 1/s, {shear_stress_pa} Pa) is not finite and above zero; leave it out"
    )]
    UnusableReading {
        /// Number of the reading, from 1.
        reading: usize,
        /// Its shear rate.
        shear_rate_per_s: f64,
        /// Its shear stress.
        shear_stress_pa: f64,
    },
    /// The law that was asked for cannot be found in the readings.
    #[error(
        "The {} law cannot be found in these readings: {reason}.\nWhat helps: {}",
        model.words(), model.what_helps()
    )]
    NotFound {
        /// The law.
        model: CurveModel,
        /// Why.
        reason: String,
    },
}
