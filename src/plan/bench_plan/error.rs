//! Benches that cannot be planned, in words.

use crate::plan::PlanError;
use crate::units::display;
use thiserror::Error;

/// Why no bench can be proposed, and what would help.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum BenchPlanError {
    /// A range whose ends are the wrong way round, or not above zero.
    #[error(
        "The range of {what} runs from {least} to {most}, which is none.\nWhat helps: the smaller value first, both above zero"
    )]
    NoRange {
        /// Of what.
        what: &'static str,
        /// Its lower end, SI.
        least: f64,
        /// Its upper end, SI.
        most: f64,
    },
    /// A plateau that is no firmer than the gel before heat.
    #[error(
        "The set gel is believed to read {} at least and the gel before heat {} at most: it would not set.\nWhat helps: a --plateau above --initial",
        display::viscosity(*plateau_pa_s), display::viscosity(*initial_pa_s)
    )]
    DoesNotSet {
        /// Least plateau, in Pa.s.
        plateau_pa_s: f64,
        /// Greatest initial viscosity, in Pa.s.
        initial_pa_s: f64,
    },
    /// A block without room for the temperatures.
    #[error(
        "Between {} and {} there are {found} temperatures to choose from, and {needed} are needed.\nWhat helps: a wider --block-range, or fewer --temperatures (two at least)",
        display::temperature(*low_kelvin), display::temperature(*high_kelvin)
    )]
    TooFewTemperatures {
        /// Lowest, in K.
        low_kelvin: f64,
        /// Highest, in K.
        high_kelvin: f64,
        /// Temperatures there are.
        found: usize,
        /// Temperatures asked for.
        needed: usize,
    },
    /// A session that ends before a syringe is out.
    #[error(
        "{} are too short for a session: bringing the block to one temperature takes {} of it.\nWhat helps: a longer --session, or a shorter --block-change",
        display::duration(*session_s), display::duration(*block_change_s)
    )]
    SessionTooShort {
        /// The session, in s.
        session_s: f64,
        /// Bringing the block to a temperature, in s.
        block_change_s: f64,
    },
    /// A day with fewer readings than a lot needs.
    #[error(
        "{readings} readings a lot at most are too few: four numbers of the gel are sought.\nWhat helps: {least} or more with --readings-a-lot"
    )]
    TooFewReadings {
        /// Readings allowed.
        readings: usize,
        /// Least that is planned.
        least: usize,
    },
    /// No case in which the force is reached.
    #[error(
        "By what is believed the gel never takes {} through a {needle} needle: there is no heat time to plan for.\nWhat helps: a finer needle, a smaller --force, or a higher --plateau if yours is firmer",
        display::force(*limit_n)
    )]
    NoHeatTime {
        /// Needle.
        needle: String,
        /// Force limit, in N.
        limit_n: f64,
    },
    /// A question that cannot be answered.
    #[error(transparent)]
    Plan(#[from] PlanError),
}
