//! Quantities of an address. The unit stands in the key (`at_C`, `at_F`), so that a kept address reads
//! the same whatever unit is shown when it is opened; a value may carry its own unit, and then that
//! counts. A bare head (`at`) needs the unit in its value.

use super::super::query::Asked;
use crate::units::UnitError;
use crate::units::display::at_most;
use crate::units::shown::{ForceShown, TemperatureShown, TimeShown, shown};

/// Digits of a number in a field.
const DIGITS: usize = 6;
/// Letters of a value that is shown again where it could not be read.
const KEPT_LETTERS: usize = 200;

/// What decides which unit a field is shown in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Follows {
    /// Always the first.
    Nothing,
    /// The second where °F are shown.
    Temperature,
    /// The second where kgf are shown.
    Force,
    /// The second where seconds are shown.
    Time,
}

/// One unit of a quantity.
#[derive(Debug)]
pub(super) struct Unit {
    /// The key under which bare numbers are in it.
    pub(super) key: &'static str,
    /// As parsers read it.
    pub(super) text: &'static str,
    /// As people see it.
    pub(super) words: &'static str,
    /// What a number under that key is multiplied with to be in that unit.
    pub(super) times: f64,
    /// The number under that key of an SI value.
    pub(super) of_si: fn(f64) -> f64,
}

/// A quantity that can be asked for.
#[derive(Debug)]
pub(super) struct Quantity {
    /// Id of its field; with the unit in its value it is a key too.
    pub(super) id: &'static str,
    /// Its name.
    pub(super) name: &'static str,
    /// Its units, the usual one first.
    pub(super) units: &'static [Unit],
    /// What decides which is shown.
    pub(super) follows: Follows,
    /// Text with a unit to SI.
    pub(super) parse: fn(&str) -> Result<f64, UnitError>,
}

/// A field as it is to be shown.
#[derive(Debug, Clone)]
pub(super) struct Field {
    /// Its key.
    pub(super) key: &'static str,
    /// Its unit, in words.
    pub(super) unit: &'static str,
    /// What stands in it.
    pub(super) text: String,
    /// Its SI value: what was typed, else the usual one.
    pub(super) value: Option<f64>,
    /// Why it cannot be read.
    pub(super) fault: Option<String>,
}

impl Quantity {
    /// Its keys: one a unit, and its bare head.
    pub(super) fn keys(&self) -> Vec<&'static str> {
        self.units
            .iter()
            .map(|unit| unit.key)
            .chain([self.id])
            .collect()
    }

    /// The unit that it is shown in.
    pub(super) fn shown(&self) -> &'static Unit {
        let shown = shown();
        let second = match self.follows {
            Follows::Nothing => false,
            Follows::Temperature => shown.temperature == TemperatureShown::Fahrenheit,
            Follows::Force => shown.force == ForceShown::KilogramForce,
            Follows::Time => shown.time == TimeShown::Seconds,
        };
        let place = usize::from(second);
        self.units.get(place).unwrap_or(&self.units[0])
    }

    /// The field, with the usual value where an address says nothing.
    pub(super) fn field(&self, asked: &Asked, usual: Option<f64>) -> Field {
        let shown = self.shown();
        let field = |text: String, value, fault| Field {
            key: shown.key,
            unit: shown.words,
            text,
            value,
            fault,
        };
        match asked.last_of(&self.keys()) {
            None => field(
                usual.map(|si| shown.number(si)).unwrap_or_default(),
                usual,
                None,
            ),
            Some((key, typed)) => match self.read(key, typed) {
                Ok(si) if key == shown.key => field(kept(typed), Some(si), None),
                Ok(si) => field(shown.number(si), Some(si), None),
                Err(error) => field(kept(typed), None, Some(error.to_string())),
            },
        }
    }

    /// The value under one of its keys.
    fn read(&self, key: &str, typed: &str) -> Result<f64, UnitError> {
        let unit = self.units.iter().find(|unit| unit.key == key);
        match (unit, typed.parse::<f64>()) {
            (Some(unit), Ok(_)) if unit.times == 1.0 => {
                (self.parse)(&format!("{typed}{}", unit.text))
            }
            (Some(unit), Ok(number)) => {
                (self.parse)(&format!("{}{}", number * unit.times, unit.text))
            }
            _ => (self.parse)(typed),
        }
    }

    /// Key and number of an SI value in the usual unit, for an address.
    pub(super) fn pair(&self, si: f64) -> (&'static str, String) {
        let usual = &self.units[0];
        (usual.key, usual.number(si))
    }
}

impl Unit {
    /// The number of an SI value in this unit.
    pub(super) fn number(&self, si: f64) -> String {
        at_most((self.of_si)(si), DIGITS)
    }
}

/// What was typed, as much of it as a field shows again.
pub(super) fn kept(typed: &str) -> String {
    typed.chars().take(KEPT_LETTERS).collect()
}
