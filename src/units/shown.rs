//! In which units quantities are shown: °C or °F, minutes or seconds, newtons or kilograms-force.
//!
//! A choice holds for the work it is handed to and on that thread alone, so that two people who
//! read the same page in different units do not meet. Everything that is reckoned stays SI.

use std::cell::Cell;

/// Unit of a temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum TemperatureShown {
    /// °C.
    #[default]
    Celsius,
    /// °F.
    Fahrenheit,
}

/// Unit of a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum TimeShown {
    /// As people say it: 6 min 10 s.
    #[default]
    Spoken,
    /// 370 s.
    Seconds,
}

/// Unit of a force.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ForceShown {
    /// N.
    #[default]
    Newton,
    /// kgf, as a kitchen scale shows it.
    KilogramForce,
}

/// The units that quantities are shown in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Shown {
    /// Of temperatures.
    pub temperature: TemperatureShown,
    /// Of times.
    pub time: TimeShown,
    /// Of forces.
    pub force: ForceShown,
}

thread_local! {
    static SHOWN: Cell<Shown> = const { Cell::new(Shown {
        temperature: TemperatureShown::Celsius,
        time: TimeShown::Spoken,
        force: ForceShown::Newton,
    }) };
}

/// Puts the choice back, also where the work ends early.
struct Before(Shown);

impl Drop for Before {
    fn drop(&mut self) {
        SHOWN.set(self.0);
    }
}

/// Does the work with quantities shown in these units.
///
/// # Example
/// ```
/// use heatset::units::display;
/// use heatset::units::shown::{Shown, TemperatureShown, showing};
/// let fahrenheit = Shown { temperature: TemperatureShown::Fahrenheit, ..Shown::default() };
/// // The boiling point of water at 1 atm, by the definition of the scale.
/// assert_eq!(showing(fahrenheit, || display::temperature(373.15)), "212 °F");
/// assert_eq!(display::temperature(373.15), "100 °C");
/// ```
pub fn showing<T>(shown: Shown, work: impl FnOnce() -> T) -> T {
    let _before = Before(SHOWN.replace(shown));
    work()
}

/// The units of this moment.
#[must_use]
pub fn shown() -> Shown {
    SHOWN.get()
}
