//! From bench rows to a calibration: the global fit, its uncertainty and its verdicts.

pub mod bench;
mod calibrate;
mod calibration;
mod created;
mod diagnostics;
mod error;
mod identifiability;
mod interval;
pub mod least_squares;
mod line;
mod options;
mod parameter;
mod predict;
mod rates;
mod selection;
mod warnings;

pub use bench::{ErrorModel, Held};
pub use calibrate::calibrate;
pub use calibration::{
    BlendCalibration, Calibration, Candidate, Correlation, Derived, Diagnostics, FitSummary,
    FittedReading, HalfTime, LackOfFit, Lots, Parameter, Range, SCHEMA, Warning,
};
pub use error::FitError;
pub use interval::{f_tail, normal_cumulative, normal_two_sided, t_quantile};
pub use line::{ArrheniusLine, arrhenius_line};
pub use options::FitOptions;
pub use parameter::{ParameterName, Scale};
pub use predict::{Band, Predictor};
pub use rates::{TemperatureRate, rates_by_temperature};
pub use selection::{aicc, akaike_weights, log_likelihood};
