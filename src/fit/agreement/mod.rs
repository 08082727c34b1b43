//! Whether people who look at the same gel say the same: agreement between readers, and with
//! themselves.
//!
//! Steps of a card: [`kappa()`] for two readers, [`fleiss()`] for more. Ratios read from a grey
//! card: [`intraclass()`] and [`limits_of_agreement()`]. What either has to do with another measure of the
//! same samples: [`association()`]. Nothing here knows what is right: readers who share a mistake
//! agree.

mod association;
mod error;
mod intraclass;
mod kappa;
mod limits;
mod many_readers;
#[cfg(feature = "tables")]
mod of_table;

pub use association::{Association, Correlation, association};
pub use error::AgreementError;
pub use intraclass::{Intraclass, IntraclassSet, intraclass};
pub use kappa::{Kappa, KappaWeights, kappa};
pub use limits::{LimitsOfAgreement, limits_of_agreement};
pub use many_readers::{ManyReaders, fleiss};
#[cfg(feature = "tables")]
pub use of_table::{
    Judge, OpacityAgreement, OpacityAndPush, StepAgreement, TwoJudges, opacity_agreement,
};

/// Two-sided level of the intervals of this room.
pub const LEVEL_RATIO: f64 = 0.95;
/// Standard normal deviate of that level.
pub(super) const NORMAL_975: f64 = 1.959_963_984_540_054;
