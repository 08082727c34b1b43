//! What keeps readings from telling a precision.

use thiserror::Error;

/// Why a study has no answer, and what would help.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum PrecisionError {
    /// Fewer than two groups.
    #[error(
        "{groups} {what} with readings heated alike: two are the least, and six or more tell something.\nWhat helps: let others read gels of the same lot, heated alike"
    )]
    TooFewGroups {
        /// What a group is.
        what: &'static str,
        /// Groups there.
        groups: usize,
    },
    /// No group with two readings.
    #[error(
        "nobody read two gels that were heated alike: repeatability cannot be told from what differs between hands.\nWhat helps: two readings or more by each, same lot, temperature and time"
    )]
    NoReplicates,
    /// A reading whose logarithm is not finite.
    #[error("reading {number} has no finite logarithm: {value}; leave it out")]
    NotFinite {
        /// Its number, from 1.
        number: usize,
        /// Its value.
        value: f64,
    },
    /// Readings that are all alike.
    #[error(
        "the readings of each cell are all the same number: there is no scatter to share out.\nWhat helps: readings to more digits"
    )]
    NoScatter,
    /// Lists that do not belong together.
    #[error("{first} values against {second} codes")]
    UnequalLengths {
        /// Values.
        first: usize,
        /// Codes.
        second: usize,
    },
    /// A code that no reading has.
    #[error("no reading has the {what} {code}.\nWhat helps: one of {known}")]
    UnknownCode {
        /// Operator, block, place or session.
        what: &'static str,
        /// The code.
        code: String,
        /// The codes there.
        known: String,
    },
    /// A column that no reading fills.
    #[error(
        "no reading says its {what}.\nWhat helps: a column {what} with a code in each row, or another --of"
    )]
    NoCodes {
        /// Operator, block, place or session.
        what: &'static str,
    },
    /// Two codes that never met.
    #[error(
        "{first} and {second} have no gels in common: same lot, temperature and time.\nWhat helps: let both read the same lot, heated alike; or --calibration, which compares across temperatures and times"
    )]
    NothingInCommon {
        /// The one.
        first: String,
        /// The other.
        second: String,
    },
    /// A margin that is none.
    #[error("a margin of {margin_ratio} is none: write one between 0 and 1, as 20%")]
    NoMargin {
        /// As it was given.
        margin_ratio: f64,
    },
    /// More levels than the engine takes.
    #[error("{levels} codes in all, and at most {most} are shared out.\nWhat helps: fewer rows")]
    TooManyLevels {
        /// Levels there.
        levels: usize,
        /// The most.
        most: usize,
    },
    /// The likelihood has no maximum that the search finds.
    #[error(
        "the scatter could not be shared out: the search did not settle after {iterations} steps.\nWhat helps: readings in which every block was used by more than one operator"
    )]
    NotConverged {
        /// Steps taken.
        iterations: usize,
    },
    /// A calibration without the blend of a row.
    #[error(
        "the calibration has no blend {blend}.\nWhat helps: a calibration of this blend, or none"
    )]
    NoSuchBlend {
        /// The blend.
        blend: String,
    },
    /// A calibration of another kind of reading.
    #[error(
        "the calibration predicts {predicted} and the table holds {read}.\nWhat helps: a calibration from readings of the same kind"
    )]
    OtherReading {
        /// What the calibration predicts.
        predicted: String,
        /// What was read.
        read: String,
    },
    /// A calibration that cannot be asked.
    #[error(transparent)]
    Calibration(#[from] crate::fit::FitError),
}
