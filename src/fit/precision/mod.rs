//! How well a reading repeats, and what other hands and other blocks do to it.
//!
//! [`one_way()`] is the analysis of ISO 5725-2, with its marks of consistency ([`mandel()`]) and
//! its tests of outliers ([`cochran_test()`], [`grubbs_test()`]). [`variance_components()`] splits the scatter of
//! any design by restricted maximum likelihood, [`crossed()`] that of a balanced two-way design by mean
//! squares. [`tost()`] says whether two means agree within a margin. [`precision_study()`] and
//! [`compare()`] ask all this of readings; [`study_readings()`] takes them from a bench table.
//!
//! Readings enter as natural logarithms: a difference of ln is a ratio, and a standard deviation
//! of ln is a relative one.

mod compare;
mod components;
mod consistency;
mod crossed;
mod error;
mod mean_squares;
mod of_table;
mod one_way;
mod outliers;
mod study;
mod tost;

pub use compare::{AgreeVerdict, Comparison, ComparisonAsked, Pairing, compare};
pub use components::{ComponentFactor, VarianceComponent, VarianceComponents, variance_components};
pub use consistency::{MandelMark, mandel, mandel_h_critical, mandel_k_critical};
pub use crossed::{CrossedTable, crossed};
pub use error::PrecisionError;
pub use mean_squares::{MeanSquareTerm, combination_interval};
pub use of_table::{StudyTable, study_readings};
pub use one_way::{OneWay, one_way};
pub use outliers::{
    OutlierTest, OutlierVerdict, cochran_critical, cochran_test, grubbs_critical, grubbs_test,
};
pub use study::{CellPrecision, GroupOfCell, Study, StudyFactor, StudyReading, precision_study};
pub use tost::{Tost, tost, tost_power, tost_sample_size};
