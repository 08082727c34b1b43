//! Fields of the forms that state a command's options: what a key means, what was typed for it, and
//! what is wrong with that, at the field.
//!
//! The unit stands in the key (`at_C`), so that a bare number has a meaning; a value may carry a unit of
//! its own ('187F'). No field states an option that names a file.
//!
//! | file | holds |
//! |---|---|
//! | [`typed`] | what was typed, and what is wrong with it |
//! | [`controls`] | the fields as they are shown |
//! | [`common`] | the fields that several rooms have |

mod common;
mod controls;
mod typed;

use super::query::Asked;
use super::shelf::Shelved;
pub(in crate::face::page) use common::*;
pub(in crate::face::page) use typed::{Typed, in_page_words};

/// Why a value is none; nothing where it is one.
pub(in crate::face::page) type Check = fn(&str) -> Result<(), String>;

/// A field.
#[derive(Debug)]
pub(in crate::face::page) struct Field {
    /// Its keys, each with the unit of a bare number under it and what that number is multiplied with;
    /// the first is the form's own.
    pub(in crate::face::page) keys: &'static [(&'static str, &'static str, f64)],
    /// The option that it states; nothing where its room reads it itself.
    pub(in crate::face::page) option: &'static str,
    /// Its name, with the unit of its own key.
    pub(in crate::face::page) label: &'static str,
    /// What else is to be known of it.
    pub(in crate::face::page) hint: &'static str,
    /// How it is typed.
    pub(in crate::face::page) control: Control,
    /// What its value is held against before the command sees it.
    pub(in crate::face::page) check: Option<Check>,
}

/// How a field is typed.
#[derive(Debug, Clone, Copy)]
pub(in crate::face::page) enum Control {
    /// One line; with numbers where a keypad of numbers serves.
    Line {
        /// Whether it holds numbers.
        number: bool,
    },
    /// Several lines.
    Lines,
    /// A line of values with commas between them, each stated by itself.
    Several,
    /// A tick; the option is a switch.
    Tick,
    /// One of a few: value and words.
    OneOf(&'static [(&'static str, &'static str)]),
    /// A blend of the calibration.
    Blend,
    /// A gauge of the table; value and words of none.
    Gauge(&'static str, &'static str),
    /// A syringe of the table; the words are those of none.
    Syringe(&'static str),
}

impl Field {
    /// Its key in this form.
    pub(in crate::face::page) fn key(&self) -> &'static str {
        self.keys.first().map_or("", |(key, _, _)| key)
    }

    /// What was typed for it, with its unit where the key is another than the form's own.
    fn typed(&self, asked: &Asked) -> Option<String> {
        let given = self.keys.iter().enumerate().find_map(|(place, key)| {
            let value = asked.get(key.0)?;
            Some(if place == 0 {
                value.to_owned()
            } else {
                with_unit(value, key.1, key.2)
            })
        })?;
        // The room of heating looks through all needles; the others ask about one.
        let is_any = matches!(self.control, Control::Gauge(..)) && given == "any";
        (!is_any).then_some(given)
    }

    /// A value with the unit of the form's own key.
    fn in_unit(&self, value: &str) -> String {
        match self.keys.first() {
            Some((_, unit, times)) => with_unit(value, unit, *times),
            None => value.to_owned(),
        }
    }
}

/// A bare number with its unit; anything else as it is.
fn with_unit(value: &str, unit: &str, times: f64) -> String {
    let is_bare = value
        .bytes()
        .all(|b| b.is_ascii_digit() || matches!(b, b'.' | b',' | b'-' | b'+' | b'e' | b'E'));
    if unit.is_empty() || !is_bare {
        return value.to_owned();
    }
    match value.parse::<f64>() {
        Ok(number) if times != 1.0 => format!("{}{unit}", number * times),
        _ => format!("{value}{unit}"),
    }
}

/// A field that holds a number.
pub(in crate::face::page) const fn number_field(
    keys: &'static [(&'static str, &'static str, f64)],
    option: &'static str,
    label: &'static str,
    hint: &'static str,
) -> Field {
    Field {
        keys,
        option,
        label,
        hint,
        control: Control::Line { number: true },
        check: None,
    }
}

/// A field with another control.
pub(in crate::face::page) const fn with(
    control: Control,
    keys: &'static [(&'static str, &'static str, f64)],
    option: &'static str,
    label: &'static str,
    hint: &'static str,
) -> Field {
    Field {
        keys,
        option,
        label,
        hint,
        control,
        check: None,
    }
}

/// Declares fields that hold a number: keys, option, label, hint.
macro_rules! numbers {
    ($($(#[$doc:meta])* $name:ident: [$(($key:literal, $unit:literal)),+], $option:literal, $label:literal, $hint:literal;)*) => {$(
        $(#[$doc])*
        pub(in crate::face::page) static $name: Field = crate::face::page::fields::number_field(
            &[$(($key, $unit, 1.0)),+], $option, $label, $hint);
    )*};
}
pub(in crate::face::page) use numbers;

/// The first blend, where the calibration has several and no share was typed.
pub(in crate::face::page) fn first_blend(
    asked: &Asked,
    shelved: &Shelved,
) -> Option<(&'static str, String)> {
    let first = shelved.calibration.blends.first()?;
    asked
        .get(HA_FRACTION.key())
        .is_none()
        .then(|| (BLEND.key(), first.blend.clone()))
}

/// The blend that is asked about, as far as it was measured; else the first.
pub(in crate::face::page) fn blend_of<'a>(
    typed: Option<&str>,
    shelved: &'a Shelved,
) -> Option<&'a crate::fit::BlendCalibration> {
    let blends = &shelved.calibration.blends;
    typed
        .and_then(|name| blends.iter().find(|blend| blend.blend == name))
        .or(blends.first())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bare_number_takes_the_unit_of_its_key_and_a_unit_stays() {
        assert_eq!(with_unit("86", "C", 1.0), "86C");
        assert_eq!(with_unit("187F", "C", 1.0), "187F");
        assert_eq!(with_unit("7min 30s", "min", 1.0), "7min 30s");
        assert_eq!(with_unit("NaN", "C", 1.0), "NaN");
        // 6 s for a tenth of a millilitre are 60 s for one.
        assert_eq!(with_unit("6", "s/mL", 10.0), "60s/mL");
    }
}
