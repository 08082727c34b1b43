//! What keeps groups of readings from being fitted at all, in words.

use thiserror::Error;

/// Why there is no fit, and what would help. Groups, rows and components are counted from 1.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum MixedError {
    /// Fewer than two groups.
    #[error(
        "The spread between groups cannot be found: there are readings of {groups} group(s), and it takes at least two.\nWhat helps: add readings of another group, or fit this one alone by plain least squares"
    )]
    TooFewGroups {
        /// Groups there are.
        groups: usize,
    },
    /// Not more readings than parameters.
    #[error(
        "There are {rows} readings for {parameters} parameters, and at least {} are needed.\nWhat helps: more readings, or hold a parameter at a known value", parameters + 1
    )]
    TooFewRows {
        /// Readings over all groups.
        rows: usize,
        /// Parameters of the mean.
        parameters: usize,
    },
    /// A group without readings.
    #[error("Group {group} has no readings.\nWhat helps: leave the group out")]
    EmptyGroup {
        /// Group, counted from 1.
        group: usize,
    },
    /// A reading that is not finite.
    #[error("Reading {row} of group {group} is {reading}: it must be a finite number")]
    ReadingNotFinite {
        /// Group, counted from 1.
        group: usize,
        /// Row in the group, counted from 1.
        row: usize,
        /// The reading.
        reading: f64,
    },
    /// The model says one number of readings and gives another.
    #[error("Group {group} should have {rows} readings and has {found}")]
    ReadingCount {
        /// Group, counted from 1.
        group: usize,
        /// Readings announced.
        rows: usize,
        /// Readings given.
        found: usize,
    },
    /// A start with another number of parameters than the model's.
    #[error("The start has {found} values, and the model has {parameters} parameters")]
    StartLength {
        /// Parameters of the model.
        parameters: usize,
        /// Values of the start.
        found: usize,
    },
    /// A start at which the model has no value.
    #[error(
        "At the start the model gives no finite value for reading {row} of group {group}.\nWhat helps: another start, such as the plain least-squares fit over all groups"
    )]
    StartOutOfReach {
        /// Group, counted from 1.
        group: usize,
        /// Row in the group, counted from 1.
        row: usize,
    },
    /// A random effect on a component that is not there.
    #[error(
        "A random effect is asked on component {component}, and the model has {parameters} parameters"
    )]
    NoSuchComponent {
        /// Component, counted from 1.
        component: usize,
        /// Parameters of the model.
        parameters: usize,
    },
    /// A component named twice.
    #[error("Component {component} is named twice among the random effects; name it once")]
    RepeatedComponent {
        /// Component, counted from 1.
        component: usize,
    },
}
