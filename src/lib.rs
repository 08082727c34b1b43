//! heatset turns bench readings of a heat-set plasma gel into a fitted kinetic
//! calibration, and answers with honest intervals how long to heat for a needle.
//!
//! The rooms follow the way of the data; each uses only the rooms named before it:
//! [`units`], [`mod@reference`], [`thermal`] and [`flow`], [`kinetics`] and [`readings`],
//! [`fit`], [`plan`], `batches` and `chart`, `face`.
//!
//! Inside, every number is SI; text with units is parsed and printed only in [`units`].

#[cfg(feature = "batches")]
pub mod batches;
#[cfg(feature = "charts")]
pub mod chart;
#[cfg(feature = "cli")]
pub mod face;
pub mod fit;
pub mod flow;
pub mod kinetics;
pub mod plan;
pub mod readings;
pub mod reference;
pub mod thermal;
pub mod units;
