//! What keeps readings from becoming a calibration, in words.

use super::least_squares::Termination;
use crate::units::display;
use thiserror::Error;

/// Why there is no calibration, and what would help.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum FitError {
    /// Fewer rows than free parameters + 1.
    #[error(
        "Blend {blend} cannot be fitted: {rows} rows to fit, and {needed} are needed for {parameters} unknowns. No calibration was written.\nWhat helps: more heat times, or hold a parameter at a known value, --hold initial=1.5mPa.s"
    )]
    TooFewRows {
        /// Blend.
        blend: String,
        /// Rows there.
        rows: usize,
        /// Rows needed.
        needed: usize,
        /// Free parameters.
        parameters: usize,
    },
    /// All rows at one temperature.
    #[error(
        "The activation energy cannot be found: all {rows} readings of blend {blend} were heated at {}. No calibration was written.\nWhat helps: heat a few syringes ten degrees lower and ten higher; or give a published value, --prior activation_energy=390kJ/mol:80kJ/mol (or --hold it)",
        display::temperature(*temp_kelvin)
    )]
    OneTemperature {
        /// Blend.
        blend: String,
        /// Rows there.
        rows: usize,
        /// The temperature, in K.
        temp_kelvin: f64,
    },
    /// Readings that never level off.
    #[error(
        "The plateau cannot be found: the readings of blend {blend} are still changing at their longest heat times ({} % set at most). No calibration was written.\nWhat helps: heat some syringes at {} until two readings in a row agree; or hold a known value, --hold plateau=…",
        display::significant(100.0 * largest_conversion, 2), display::temperature(*hottest_kelvin)
    )]
    NoPlateau {
        /// Blend.
        blend: String,
        /// Largest conversion that the fit saw.
        largest_conversion: f64,
        /// Hottest temperature, in K.
        hottest_kelvin: f64,
    },
    /// Readings that start high.
    #[error(
        "The rate cannot be found: the readings of blend {blend} have nearly levelled off at their first heat times ({} % set at least). No calibration was written.\nWhat helps: take readings at shorter times, or at lower temperatures than {}",
        display::significant(100.0 * smallest_conversion, 2), display::temperature(*coolest_kelvin)
    )]
    NoBeginning {
        /// Blend.
        blend: String,
        /// Smallest conversion that the fit saw.
        smallest_conversion: f64,
        /// Coolest temperature, in K.
        coolest_kelvin: f64,
    },
    /// The search ended elsewhere than in a minimum.
    #[error(
        "Blend {blend} cannot be fitted with law {law}: the search {}. No calibration was written.\nWhat helps: look at the readings with 'heatset check'; try another --law, or hold a parameter that is known",
        termination.in_words()
    )]
    NotFitted {
        /// Blend.
        blend: String,
        /// Law.
        law: &'static str,
        /// How it ended.
        termination: Termination,
    },
    /// A reading that has no logarithm.
    #[error(
        "Data row {row} of blend {blend} reads {reading}: relative errors need readings above zero.\nWhat helps: --error absolute, or leave the row out with 'no' in the column 'use'"
    )]
    NotPositive {
        /// Blend.
        blend: String,
        /// Data row, counted from 1.
        row: usize,
        /// The reading.
        reading: f64,
    },
    /// A reading that the law `log` cannot take.
    #[error(
        "Data row {row} of blend {blend} reads {reading}: the law log needs readings above zero.\nWhat helps: --law linear, or leave the row out with 'no' in the column 'use'"
    )]
    NoLogarithm {
        /// Blend.
        blend: String,
        /// Data row, counted from 1.
        row: usize,
        /// The reading.
        reading: f64,
    },
    /// `--error given` without standard deviations.
    #[error(
        "Data row {row} of blend {blend} has no reading_sd, and --error given needs one for every row.\nWhat helps: fill the column reading_sd, or choose --error relative"
    )]
    MissingSd {
        /// Blend.
        blend: String,
        /// Data row, counted from 1.
        row: usize,
    },
    /// A plateau of 0 under the log law.
    #[error(
        "A plateau held at 0 has no logarithm, so the log law cannot use it.\nWhat helps: --law linear, which with plateau 0 is a plain first-order decay"
    )]
    ZeroPlateau,
    /// A held value that cannot be.
    #[error("{parameter} cannot be held at {value}: {why}")]
    HeldValue {
        /// Parameter.
        parameter: &'static str,
        /// The value, SI.
        value: f64,
        /// Why not.
        why: &'static str,
    },
    /// A prior that cannot be.
    #[error("{parameter} cannot have the prior {value} ± {sd}: {why}")]
    PriorValue {
        /// Parameter.
        parameter: &'static str,
        /// The value, SI.
        value: f64,
        /// Its standard deviation, SI.
        sd: f64,
        /// Why not.
        why: &'static str,
    },
    /// A prior on a parameter that the law does not have.
    #[error(
        "The law {law} has no free parameter '{parameter}', so a prior on it says nothing.\nWhat helps: leave the prior out, or choose another --law"
    )]
    PriorUnused {
        /// Parameter.
        parameter: &'static str,
        /// Law.
        law: &'static str,
    },
    /// A warm-up that the readings do not tell.
    #[error(
        "The warm-up cannot be found from the readings of blend {blend}: {why}. No calibration was written.\nWhat helps: readings at heat times under two minutes in the hottest block; or measure the lag with one thermocouple and give it, --warm-up 40s"
    )]
    WarmUpUnknown {
        /// Blend.
        blend: String,
        /// Why.
        why: String,
    },
    /// A blend that is not there.
    #[error("There is no blend '{asked}'; there are: {}", blends.join(", "))]
    UnknownBlend {
        /// Asked for.
        asked: String,
        /// Those there are.
        blends: Vec<String>,
    },
    /// A lot that is not there, or lots that were fitted as one.
    #[error(
        "There is no lot '{asked}' to answer for; {}",
        if lots.is_empty() { "this calibration fits its lots as one".to_owned() } else { format!("there are: {}", lots.join(", ")) }
    )]
    UnknownLot {
        /// Asked for.
        asked: String,
        /// Those there are.
        lots: Vec<String>,
    },
    /// Several blends, none named.
    #[error(
        "This calibration has {} blends and none was named: {}.\nWhat helps: --blend {}",
        blends.len(), blends.join(", "), blends.first().map_or("NAME", |b| b.as_str())
    )]
    BlendNotNamed {
        /// Those there are.
        blends: Vec<String>,
    },
    /// A fraction of hyaluronic acid that lies outside the measured ones.
    #[error(
        "A blend with {} of hyaluronic acid solution cannot be answered for: {}, and beyond that nobody knows how it sets.\nWhat helps: read this blend on the bench (column ha_fraction), or ask between what was measured",
        display::at_most(*asked, 4),
        match measured.as_slice() {
            [] => "no blend of this calibration states its ha_fraction".to_owned(),
            [only] => format!("only {} was measured", display::at_most(*only, 4)),
            [first, .., last] => format!("{} to {} was measured", display::at_most(*first, 4), display::at_most(*last, 4)),
        }
    )]
    FractionOutside {
        /// Asked for.
        asked: f64,
        /// Those measured, rising.
        measured: Vec<f64>,
    },
    /// Two blends with the same fraction of hyaluronic acid.
    #[error(
        "Blends {first} and {second} both hold {} of hyaluronic acid solution, so a blend between cannot be reckoned.\nWhat helps: fit a table with one of them, or ask for a blend by its name: --blend {first}",
        display::at_most(*fraction, 4)
    )]
    TwoBlendsAtFraction {
        /// One.
        first: String,
        /// The other.
        second: String,
        /// Their fraction.
        fraction: f64,
    },
    /// Two blends between which nothing can be reckoned.
    #[error(
        "A blend between {first} and {second} cannot be reckoned: they {what}.\nWhat helps: {remedy}"
    )]
    BlendsUnlike {
        /// One.
        first: String,
        /// The other.
        second: String,
        /// In what they differ.
        what: String,
        /// What helps.
        remedy: String,
    },
    /// Nothing to fit.
    #[error(
        "No row is left to fit: every row is marked 'no' in the column 'use', or was read after standing"
    )]
    NoRows,
    /// A document without a needed parameter.
    #[error(
        "The calibration of blend {blend} has no parameter '{missing}'; make it again with 'heatset fit'"
    )]
    IncompleteDocument {
        /// Blend.
        blend: String,
        /// Parameter.
        missing: &'static str,
    },
    /// A file that cannot be read.
    #[error("{file} cannot be read: {reason}")]
    File {
        /// File.
        file: String,
        /// Why.
        reason: String,
    },
    /// Text that is no calibration.
    #[error(
        "{file} is no calibration of heatset: {reason}.\nWhat helps: make one with 'heatset fit BENCH --out CAL.json'"
    )]
    Document {
        /// File.
        file: String,
        /// Why.
        reason: String,
    },
    /// Another schema.
    #[error(
        "{file} has the schema '{found}', and this version reads 'heatset/calibration/1'.\nWhat helps: make it again with 'heatset fit'"
    )]
    Schema {
        /// File.
        file: String,
        /// Schema found.
        found: String,
    },
    /// A calibration of set times where one of readings is asked for.
    #[error(
        "{file} knows when the gel sets, from what was seen, and not how firm it is or what it needs through a needle.\nWhat helps: 'heatset time {file} --at 84C' says when it has set; with an anchor push, 'heatset time {file} --at 84C --same-push' says when the push is that one again. For the rest, fit a bench of readings"
    )]
    KnowsSetTimesOnly {
        /// File.
        file: String,
    },
    /// The readings themselves.
    #[error(transparent)]
    Readings(#[from] crate::readings::ReadingsError),
}
