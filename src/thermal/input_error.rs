//! What can be wrong with a file or a number that a heat computation is asked with.

use std::fmt;

use thiserror::Error;

use crate::units::display;

/// How many faults of a file are shown; the rest is counted.
pub const SHOWN_INPUT_FAULTS: usize = 20;

/// One fault of a file: where it is, what is wrong, how to mend it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct InputFault {
    /// Line in the file, from 1; nothing where the fault is of the whole file.
    pub line: Option<usize>,
    /// Where on the line: a column's header, or the number of the character for TOML.
    pub column: Option<String>,
    /// What is wrong, in words.
    pub message: String,
    /// How to mend it, where the message does not say so already.
    pub remedy: Option<String>,
}

impl InputFault {
    /// A fault of the whole file.
    pub(crate) fn of_file(message: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self {
            line: None,
            column: None,
            message: message.into(),
            remedy: Some(remedy.into()),
        }
    }

    /// A fault of a line or of a cell of it.
    pub(crate) fn at(
        line: usize,
        column: Option<&str>,
        message: impl Into<String>,
        remedy: Option<String>,
    ) -> Self {
        Self {
            line: Some(line),
            column: column.map(str::to_owned),
            message: message.into(),
            remedy,
        }
    }
}

impl fmt::Display for InputFault {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.line, &self.column) {
            (Some(line), Some(column)) => write!(out, "line {line}, column {column}: ")?,
            (Some(line), None) => write!(out, "line {line}: ")?,
            (None, Some(column)) => write!(out, "column {column}: ")?,
            (None, None) => {}
        }
        out.write_str(&self.message)?;
        match &self.remedy {
            Some(remedy) => write!(out, " ({remedy})"),
            None => Ok(()),
        }
    }
}

/// All faults of a file, by line; the first twenty are printed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct InputFaults(Vec<InputFault>);

impl InputFaults {
    /// Takes one more.
    pub(crate) fn push(&mut self, fault: InputFault) {
        self.0.push(fault);
    }

    /// Every fault, those of the whole file first, then by line.
    #[must_use]
    pub fn all(&self) -> &[InputFault] {
        &self.0
    }

    /// Nothing where there are none; otherwise the refusal of the file.
    pub(crate) fn refuse(self, file: &str) -> Result<(), ThermalInputError> {
        if self.0.is_empty() {
            Ok(())
        } else {
            Err(self.refusal(file))
        }
    }

    /// The refusal of the file.
    pub(crate) fn refusal(mut self, file: &str) -> ThermalInputError {
        self.0.sort_by_key(|fault| fault.line.unwrap_or(0));
        ThermalInputError::Faults {
            file: file.to_owned(),
            faults: self,
        }
    }

    /// True where nothing is wrong.
    pub(crate) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    fn count_words(&self) -> String {
        match self.0.len() {
            1 => "1 fault".to_owned(),
            count => format!("{count} faults"),
        }
    }
}

impl fmt::Display for InputFaults {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (number, fault) in self.0.iter().take(SHOWN_INPUT_FAULTS).enumerate() {
            if number > 0 {
                out.write_str("\n")?;
            }
            write!(out, "  {fault}")?;
        }
        match self.0.len().saturating_sub(SHOWN_INPUT_FAULTS) {
            0 => Ok(()),
            more => write!(out, "\n  and {more} more"),
        }
    }
}

/// A schedule, a trace or a number that no heat computation can be made from.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum ThermalInputError {
    /// A file with faults; all of them at once.
    #[error("{file} cannot be read: {}\n{faults}", faults.count_words())]
    Faults {
        /// The file as it was named.
        file: String,
        /// Every fault.
        faults: InputFaults,
    },
    /// A file that the system does not give.
    #[error("{file} cannot be opened: {reason}; look at the name and at who may read it")]
    Unreadable {
        /// The file as it was named.
        file: String,
        /// What the system says.
        reason: String,
    },
    /// A file far larger than any of its kind.
    #[error(
        "{file} has more than {largest_bytes} bytes, which no {kind} has: is it the right file?"
    )]
    TooLarge {
        /// The file as it was named.
        file: String,
        /// What it should be.
        kind: &'static str,
        /// The most that is read.
        largest_bytes: u64,
    },
    /// A schedule made in memory that contradicts itself.
    #[error("this heat schedule cannot be run: {}\n{faults}", faults.count_words())]
    Schedule {
        /// Every fault.
        faults: InputFaults,
    },
    /// A heat schedule whose one open heat stage is still without its time.
    #[error(
        "the heat stage to {set_kelvin} K has no time yet; give it a time, or ask for the time itself (heatset time)"
    )]
    OpenStage {
        /// Set temperature of that stage, in K.
        set_kelvin: f64,
    },
    /// A number outside what the equation holds for.
    #[error("{quantity} of {value} {unit} is outside {low} to {high} {unit}; {remedy}")]
    OutOfRange {
        /// What it is.
        quantity: &'static str,
        /// The refused value.
        value: f64,
        /// Its unit.
        unit: &'static str,
        /// Least value.
        low: f64,
        /// Greatest value.
        high: f64,
        /// What to do.
        remedy: &'static str,
    },
    /// Too few points.
    #[error("a trace of {points} points is too short for {purpose}; it takes at least {needed}")]
    TooFewPoints {
        /// How many there are.
        points: usize,
        /// What they were to serve for.
        purpose: &'static str,
        /// How many are needed.
        needed: usize,
    },
    /// Times of a trace that do not rise.
    #[error(
        "point {point} of the trace stands at {time_s} s, not after the {before_s} s before it; sort the points by time and keep one a moment"
    )]
    TimesDoNotRise {
        /// Number of the point, from 1.
        point: usize,
        /// Its time, in s.
        time_s: f64,
        /// The time before it, in s.
        before_s: f64,
    },
    /// A trace whose temperature hardly changes.
    #[error(
        "the trace goes from {start_kelvin} K to {set_kelvin} K: a change of less than {least_kelvin} K cannot be scaled or fitted; record a warm-up from the start temperature to the set one"
    )]
    NoChange {
        /// Temperature at the start, in K.
        start_kelvin: f64,
        /// Temperature at the end, or the set temperature, in K.
        set_kelvin: f64,
        /// The least change that serves, in K.
        least_kelvin: f64,
    },
    /// A trace from which no time constant follows.
    #[error(
        "no time constant follows from this trace: the best fit lies at {time_constant_s} s, an end of what {duration_s} s of record can tell; {remedy}"
    )]
    TimeConstantNotFound {
        /// The end of the search, in s.
        time_constant_s: f64,
        /// Length of the trace, in s.
        duration_s: f64,
        /// What to do.
        remedy: &'static str,
    },
    /// A stretch of a trace that holds too little.
    #[error(
        "the trace of {place} lasts {duration_s} s, and a plateau of {window_s} s is asked for; record longer, or ask for a shorter plateau"
    )]
    PlateauTooShort {
        /// Whose trace.
        place: String,
        /// What there is, in s.
        duration_s: f64,
        /// What is asked, in s.
        window_s: f64,
    },
    /// A block trace of which nobody said what the block was set to.
    #[error(
        "the trace of {place} does not say what the block was set to: add a column set_temp_C, or state the set temperature"
    )]
    NoSetTemperature {
        /// Whose trace.
        place: String,
    },
    /// No trace was given.
    #[error("no trace was named: give at least one file with time and temperature")]
    NoTrace,
    /// A block at boiling.
    #[error(
        "a block at {} is not answered for: a closed syringe must not boil, and here the limit is {}; set the block lower",
        display::temperature(*asked_kelvin),
        display::temperature(*limit_kelvin)
    )]
    Boiling {
        /// The set temperature asked for, in K.
        asked_kelvin: f64,
        /// The highest that is answered, in K.
        limit_kelvin: f64,
    },
    /// A trace from which no contact coefficient follows.
    #[error(
        "no contact coefficient follows from this trace: the best fit lies at {contact_w_per_m2_kelvin:.0} W/m2K, an end of the search; {remedy}"
    )]
    ContactNotFound {
        /// The end of the search, in W/m2/K.
        contact_w_per_m2_kelvin: f64,
        /// What to do.
        remedy: &'static str,
    },
    /// A document that is not what it should be.
    #[error(
        "{file} is no block check: {reason}; make one with heatset blockcheck TRACE.csv --out NAME.json"
    )]
    Document {
        /// The file as it was named.
        file: String,
        /// Why.
        reason: String,
    },
    /// Conduction that cannot be computed.
    #[error(transparent)]
    Conduction(#[from] super::conduction::ConductionError),
    /// A reference table cannot answer.
    #[error(transparent)]
    Reference(#[from] crate::reference::ReferenceError),
}
