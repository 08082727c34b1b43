//! What can be wrong with a quantity, in words that tell how to mend it.

/// A quantity that cannot be used. The message says what was found and how to write it.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum UnitError {
    /// Nothing but blanks.
    #[error("a {dimension} is missing here: write {ways}")]
    Empty {
        /// What was expected, in words.
        dimension: &'static str,
        /// Ways to write one.
        ways: String,
    },
    /// A bare number where a unit is needed.
    #[error("\"{text}\" has no unit: write {ways}")]
    MissingUnit {
        /// What was found.
        text: String,
        /// The same number with units.
        ways: String,
    },
    /// A unit that is not one of this quantity.
    #[error("\"{text}\": \"{unit}\" is not a unit of {dimension}; understood are {understood}")]
    UnknownUnit {
        /// What was found.
        text: String,
        /// The unit part of it.
        unit: String,
        /// What was expected, in words.
        dimension: &'static str,
        /// The units that are understood.
        understood: String,
    },
    /// No number at the beginning.
    #[error("\"{text}\" does not begin with a number: write a {dimension} as {ways}")]
    NotANumber {
        /// What was found.
        text: String,
        /// What was expected, in words.
        dimension: &'static str,
        /// Ways to write one.
        ways: String,
    },
    /// A comma inside the number.
    #[error("\"{text}\" has a comma in the number: use a decimal point ({remedy})")]
    DecimalComma {
        /// What was found.
        text: String,
        /// The same text with a point.
        remedy: String,
    },
    /// Infinite, not-a-number, or too large for the machine.
    #[error("\"{text}\" is not a finite number: give a value that can be measured")]
    NotFinite {
        /// What was found.
        text: String,
    },
    /// A temperature below absolute zero.
    #[error("\"{text}\" is below absolute zero (-273.15 °C): check the sign and the unit")]
    BelowAbsoluteZero {
        /// What was found.
        text: String,
        /// The temperature it would be.
        temperature_kelvin: f64,
    },
    /// Zero or less where only a value above zero makes sense.
    #[error("a {name} of {text} {why}; give a value above zero")]
    NotPositive {
        /// What was found.
        text: String,
        /// What it is the value of.
        name: &'static str,
        /// Why that cannot be.
        why: &'static str,
    },
    /// Less than zero.
    #[error("a {name} of {text} is negative; give zero or more")]
    Negative {
        /// What was found.
        text: String,
        /// What it is the value of.
        name: &'static str,
    },
    /// A fraction outside 0 to 1.
    #[error("a {name} of {text} is outside 0 to 1 (0 % to 100 %)")]
    OutsideFraction {
        /// What was found.
        text: String,
        /// What it is the value of.
        name: &'static str,
    },
}
