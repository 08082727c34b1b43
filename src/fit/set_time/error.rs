//! What keeps looks at syringes from becoming a calibration, in words.

use crate::fit::least_squares::Termination;
use crate::units::display;
use thiserror::Error;

/// Why there is no calibration of set times, and what would help.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum SetTimeError {
    /// Nothing to fit.
    #[error(
        "No look is left to fit: every row is marked 'no' in the column 'use', or was only pushed"
    )]
    NoRows,
    /// One temperature.
    #[error(
        "The activation energy cannot be found: all {syringes} syringes of blend {blend} were heated at {}. No calibration was written.\nWhat helps: look at a few syringes five degrees colder and five hotter; or give a published value, --prior activation_energy=390kJ/mol:80kJ/mol (or --hold it)",
        display::temperature(*temp_kelvin)
    )]
    OneTemperature {
        /// Blend.
        blend: String,
        /// Syringes.
        syringes: usize,
        /// The temperature, in K.
        temp_kelvin: f64,
    },
    /// Every syringe had set.
    #[error(
        "When the gel sets cannot be found: all {syringes} syringes of blend {blend} had set ('{criterion}') when they were looked at. No calibration was written.\nWhat helps: look sooner, at {} well before {}",
        display::temperature(*temp_kelvin), display::duration(*time_s)
    )]
    AllSet {
        /// Blend.
        blend: String,
        /// What counted as set.
        criterion: String,
        /// Syringes.
        syringes: usize,
        /// Temperature of the shortest of them, in K.
        temp_kelvin: f64,
        /// Its time, in s.
        time_s: f64,
    },
    /// No syringe had set.
    #[error(
        "When the gel sets cannot be found: none of the {syringes} syringes of blend {blend} had set ('{criterion}') when they were looked at. No calibration was written.\nWhat helps: look later, at {} well after {}, or heat hotter",
        display::temperature(*temp_kelvin), display::duration(*time_s)
    )]
    NoneSet {
        /// Blend.
        blend: String,
        /// What counted as set.
        criterion: String,
        /// Syringes.
        syringes: usize,
        /// Temperature of the longest of them, in K.
        temp_kelvin: f64,
        /// Its time, in s.
        time_s: f64,
    },
    /// Fewer syringes than unknowns and one more.
    #[error(
        "Blend {blend} cannot be fitted: {syringes} syringes, and {needed} are needed for {parameters} unknowns. No calibration was written.\nWhat helps: look at more syringes, at times when some have set and some have not"
    )]
    TooFew {
        /// Blend.
        blend: String,
        /// Syringes.
        syringes: usize,
        /// Needed.
        needed: usize,
        /// Unknowns.
        parameters: usize,
    },
    /// The scatter runs to zero.
    #[error(
        "How much set times of blend {blend} scatter cannot be found: one line parts all syringes that had set from all that had not{}, so that any line between fits as well. No calibration was written.\nWhat helps: look at several more syringes {between}; the same time may be looked at more than once. Or state the scatter that you expect from syringe to syringe: --hold scatter=0.15 (a share of the time)",
        if *by_lot { ", lot by lot" } else { "" }
    )]
    Parted {
        /// Blend.
        blend: String,
        /// Where to look.
        between: String,
        /// Whether lots part them.
        by_lot: bool,
    },
    /// Nothing holds the activation energy.
    #[error(
        "The activation energy cannot be found: {}. No calibration was written.\nWhat helps: at two temperatures or more look at times when some syringes have set and some have not; or give a published value, --prior activation_energy=390kJ/mol:80kJ/mol",
        match two_sided_kelvin.as_slice() {
            [] => format!("at no temperature of blend {blend} had some syringes set and others not"),
            [only] => format!("only at {} had some syringes of blend {blend} set and others not", display::temperature(*only)),
            _ => format!("nothing in what was seen of blend {blend} holds it"),
        }
    )]
    EnergyNotHeld {
        /// Blend.
        blend: String,
        /// Temperatures at which some had set and some had not, in K.
        two_sided_kelvin: Vec<f64>,
    },
    /// Longer heating does not set more.
    #[error(
        "What was seen of blend {blend} is no setting: syringes that were heated longer had set no more often than the others. No calibration was written.\nWhat helps: look whether set and not-set were exchanged, and whether the criterion is one that heat brings about"
    )]
    NotBySetting {
        /// Blend.
        blend: String,
    },
    /// The search ended elsewhere.
    #[error(
        "Blend {blend} cannot be fitted: the search {}. No calibration was written.\nWhat helps: look at the table with 'heatset check'; syringes at times when some have set and some have not tell most",
        termination.in_words()
    )]
    NotFound {
        /// Blend.
        blend: String,
        /// How it ended.
        termination: Termination,
    },
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
    /// A blend that is not there.
    #[error("There is no blend '{asked}'; there are: {}", blends.join(", "))]
    UnknownBlend {
        /// Asked for.
        asked: String,
        /// Those there are.
        blends: Vec<String>,
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
    /// A criterion that is not there.
    #[error("There is no criterion '{asked}'; there are: {}", criteria.join(", "))]
    UnknownCriterion {
        /// Asked for.
        asked: String,
        /// Those there are.
        criteria: Vec<String>,
    },
    /// Several criteria, none named.
    #[error(
        "This calibration has {} criteria and none was named: {}.\nWhat helps: --criterion '{}'",
        criteria.len(), criteria.join(", "), criteria.first().map_or("NAME", |c| c.as_str())
    )]
    CriterionNotNamed {
        /// Those there are.
        criteria: Vec<String>,
    },
    /// A lot that is not there, or lots that were fitted as one.
    #[error(
        "There is no lot '{asked}' to answer for; {}",
        if lots.is_empty() { "this calibration does not tell its lots apart, or found no spread between them: the answer for a new lot serves".to_owned() } else { format!("there are: {}", lots.join(", ")) }
    )]
    UnknownLot {
        /// Asked for.
        asked: String,
        /// Those there are.
        lots: Vec<String>,
    },
    /// A file that cannot be read.
    #[error("{file} cannot be read: {reason}")]
    File {
        /// File.
        file: String,
        /// Why.
        reason: String,
    },
    /// Text that is no calibration of set times.
    #[error(
        "{file} is no calibration of set times: {reason}.\nWhat helps: make one with 'heatset fit BENCH --out CAL.json' from a table with the column seen"
    )]
    Document {
        /// File.
        file: String,
        /// Why.
        reason: String,
    },
    /// The table itself.
    #[error(transparent)]
    Readings(#[from] crate::readings::ReadingsError),
}
