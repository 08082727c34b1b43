//! When gels set, from what is only seen: set, or not set, when looked at.
//!
//! `observation` is one syringe, `scatter` the probability of what was seen of it,
//! `likelihood` that of all with lots integrated out, `search` its greatest value,
//! `regression` the fit; `of_table` makes the `document` of a table, `anchors` ties one setting
//! to one firmness.

mod anchors;
mod document;
mod error;
mod gauss_hermite;
mod likelihood;
mod observation;
mod of_table;
mod parts;
mod refusals;
mod regression;
mod scatter;
mod search;
mod words;

pub use anchors::Anchor;
pub(crate) use document::says_set_time;
pub use document::{
    SET_TIME_SCHEMA, ScatterCandidate, SetTimeAt, SetTimeBlend, SetTimeCalibration, SetTimeDerived,
    SetTimeLotEffect, SetTimeLots, SetTimeName, SetTimeParameter, SetTimeRange, SetTimeSummary,
    SyringeSeen,
};
pub use error::SetTimeError;
pub use observation::SetTimeObservation;
pub use of_table::{SetTimeOptions, calibrate_set_time};
pub use regression::{NoSetTime, SetTimeFit, SetTimeKnowledge, SetTimeRows, fit_set_time};
pub use scatter::ScatterForm;
