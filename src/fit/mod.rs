//! From bench rows to a calibration: the global fit, its uncertainty and its verdicts.

pub mod agreement;
pub mod bench;
mod blend_between;
mod calibrate;
mod calibration;
mod calibration_parts;
mod candidates;
mod created;
mod design;
mod diagnostics;
mod document;
mod error;
pub mod flow_curve;
mod heated;
mod identifiability;
mod interval;
mod intervals;
pub mod least_squares;
mod line;
mod lots;
pub mod mixed;
mod options;
mod parameter;
pub mod precision;
mod predict;
mod progress;
mod quantiles;
mod rates;
mod read_temperatures;
mod robust;
mod selection;
pub mod set_time;
pub mod standing;
mod warnings;
mod yield_stress;

pub use bench::{ErrorModel, Held, Prior};
pub use blend_between::MIXING_DOUBT_RATIO;
pub use calibrate::{calibrate, calibrate_telling};
pub use calibration::{BlendCalibration, Calibration, SCHEMA};
pub use calibration_parts::{
    Candidate, Correlation, Derived, Diagnostics, FitSummary, FittedReading, HalfTime, LackOfFit,
    LotEffect, Lots, Parameter, Range, Warning, YieldStress,
};
#[cfg(all(feature = "cli", feature = "batches"))]
pub(crate) use created::created_now;
pub use design::{Criterion, Design, Proposal};
pub use error::FitError;
pub use heated::heat_temperatures_kelvin;
pub use interval::{f_tail, normal_cumulative, normal_quantile, normal_two_sided, t_quantile};
pub use intervals::{IntervalKind, Resample, bootstrap, profile_interval};
pub use line::{ArrheniusLine, arrhenius_line};
pub use options::{DoseLagChoice, FitOptions, OrderChoice, WarmUpChoice, YieldStressChoice};
pub use parameter::{ParameterName, Scale};
pub use predict::{Band, Predictor};
pub use progress::{FitStage, FitStep};
pub use quantiles::{chi_squared_quantile, f_quantile, share_interval, t_quantile_real};
pub use rates::{TemperatureRate, rates_by_temperature};
pub use robust::RobustLoss;
pub use selection::{aicc, akaike_weights, log_likelihood};
