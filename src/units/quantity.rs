//! A quantity as a person writes it, to its SI value.

use super::dimension::Dimension;
use super::display;
use super::error::UnitError;

/// Which signs of a quantity make sense.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sign {
    /// Any sign.
    Any,
    /// Zero or more.
    NotNegative,
    /// Above zero.
    Positive,
}

/// A quantity with its unit, as an SI value.
///
/// Blanks between number and unit are allowed and not needed; `µ` is `u`, `·` is `.`;
/// a minus sign may stand first. A time may be a sum, as answers print it: `6 min 10 s`.
///
/// # Errors
/// No number, no unit, a unit of another kind, a decimal comma, a value that is not finite,
/// a temperature below absolute zero; each with the way to write it.
///
/// # Source
/// BIPM, *SI Brochure*, 9th ed., 2019; NIST SP 811 (2008), appendix B.8.
///
/// # Example
/// ```
/// use heatset::units::{Dimension, parse_quantity};
/// // NIST SP 811, appendix B.8: 1 kgf = 9.80665 N exactly.
/// assert_eq!(parse_quantity("1 kgf", Dimension::Force), Ok(9.80665));
/// let refused = parse_quantity("86", Dimension::Temperature).unwrap_err();
/// assert_eq!(refused.to_string(), "\"86\" has no unit: write 86C, 359.15K or 186.8F");
/// ```
pub fn parse_quantity(text: &str, dimension: Dimension) -> Result<f64, UnitError> {
    let trimmed = text.trim();
    if trimmed.is_empty() {
        return Err(UnitError::Empty {
            dimension: dimension.name(),
            ways: dimension.examples().to_string(),
        });
    }
    let (number_text, rest) = split_number(trimmed);
    if number_text.is_empty() {
        return Err(no_number(trimmed, dimension));
    }
    if rest.trim_start().starts_with(',') {
        return Err(UnitError::DecimalComma {
            text: excerpt(trimmed),
            remedy: excerpt(&trimmed.replacen(',', ".", 1)),
        });
    }
    let number = to_number(number_text, trimmed)?;
    if dimension == Dimension::Duration
        && let Some(sum) = sum_of_times(trimmed)
    {
        return sum;
    }
    let unit_text = normal_unit(rest);
    let Some(unit) = dimension.unit(&unit_text) else {
        if unit_text.is_empty() {
            return Err(UnitError::MissingUnit {
                text: excerpt(trimmed),
                ways: with_units(number, dimension),
            });
        }
        return Err(UnitError::UnknownUnit {
            text: excerpt(trimmed),
            unit: excerpt(rest.trim()),
            dimension: dimension.name(),
            understood: dimension.understood(),
        });
    };
    if unit.inverse && number == 0.0 {
        return Err(UnitError::NotFinite {
            text: excerpt(trimmed),
        });
    }
    let value = unit.to_si(number);
    if !value.is_finite() {
        return Err(UnitError::NotFinite {
            text: excerpt(trimmed),
        });
    }
    if dimension == Dimension::Temperature && value < 0.0 {
        return Err(UnitError::BelowAbsoluteZero {
            text: excerpt(trimmed),
            temperature_kelvin: value,
        });
    }
    Ok(value)
}

/// A quantity whose sign is checked; `name` and `why` go into the message:
/// 'a bore of 0mm lets nothing through; give a value above zero'.
///
/// # Errors
/// As [`parse_quantity`], and the wrong sign.
pub fn parse_signed(
    text: &str,
    dimension: Dimension,
    sign: Sign,
    name: &'static str,
    why: &'static str,
) -> Result<f64, UnitError> {
    let value = parse_quantity(text, dimension)?;
    match sign {
        Sign::Positive if value <= 0.0 => Err(UnitError::NotPositive {
            text: excerpt(text.trim()),
            name,
            why,
        }),
        Sign::NotNegative if value < 0.0 => Err(UnitError::Negative {
            text: excerpt(text.trim()),
            name,
        }),
        // Minus zero is zero to a person; its sign must not travel into the work.
        _ => Ok(value + 0.0),
    }
}

/// A quantity of one of several kinds (a least reading in Pa.s, Pa or au): which, and its SI value.
///
/// # Errors
/// The refusal of the first kind that knows the unit, otherwise that of the first kind named.
pub fn parse_one_of(text: &str, dimensions: &[Dimension]) -> Result<(Dimension, f64), UnitError> {
    let mut refusal = None;
    for &dimension in dimensions {
        match parse_quantity(text, dimension) {
            Ok(value) => return Ok((dimension, value)),
            Err(error) => {
                let keep = refusal.is_none()
                    || matches!(
                        (&refusal, &error),
                        (Some(UnitError::UnknownUnit { .. }), error)
                            if !matches!(error, UnitError::UnknownUnit { .. } | UnitError::MissingUnit { .. })
                    );
                if keep {
                    refusal = Some(error);
                }
            }
        }
    }
    Err(match refusal {
        Some(UnitError::UnknownUnit {
            text,
            unit,
            dimension,
            ..
        }) => UnitError::UnknownUnit {
            text,
            unit,
            dimension,
            understood: dimensions
                .iter()
                .map(|dimension| dimension.understood())
                .collect::<Vec<_>>()
                .join(", "),
        },
        Some(other) => other,
        None => UnitError::NotFinite {
            text: excerpt(text),
        },
    })
}

/// A value that may be a bare SI number or carry its unit (`--hold rate_ref=0.002` or `=0.12/min`).
///
/// # Errors
/// As [`parse_quantity`], save that a bare number is taken as SI.
pub fn parse_si_or_unit(text: &str, dimension: Dimension) -> Result<f64, UnitError> {
    match parse_quantity(text, dimension) {
        Err(UnitError::MissingUnit { .. }) => {
            let value = parse_quantity(text, Dimension::Number)?;
            if dimension == Dimension::Temperature && value < 0.0 {
                return Err(UnitError::BelowAbsoluteZero {
                    text: excerpt(text.trim()),
                    temperature_kelvin: value,
                });
            }
            Ok(value)
        }
        other => other,
    }
}

/// The longest beginning that is a number, and what follows it.
fn split_number(text: &str) -> (&str, &str) {
    let mut end = 0;
    let mut digits = 0;
    let mut point = false;
    let mut characters = text.char_indices().peekable();
    if let Some(&(_, sign)) = characters.peek()
        && matches!(sign, '-' | '+' | '\u{2212}')
    {
        characters.next();
    }
    while let Some(&(at, character)) = characters.peek() {
        if character.is_ascii_digit() {
            digits += 1;
        } else if character == '.' && !point {
            point = true;
        } else {
            break;
        }
        end = at + character.len_utf8();
        characters.next();
    }
    if digits == 0 {
        return ("", text);
    }
    // An exponent counts only with at least one digit.
    let after = text.get(end..).unwrap_or("");
    let mut exponent = after.chars();
    if matches!(exponent.next(), Some('e' | 'E')) {
        let tail = exponent.as_str();
        let unsigned = tail.strip_prefix(['-', '+']).unwrap_or(tail);
        let count = unsigned.bytes().take_while(u8::is_ascii_digit).count();
        if count > 0 {
            end += 1 + (tail.len() - unsigned.len()) + count;
        }
    }
    (text.get(..end).unwrap_or(""), text.get(end..).unwrap_or(""))
}

fn to_number(number_text: &str, whole: &str) -> Result<f64, UnitError> {
    match number_text.replace('\u{2212}', "-").parse::<f64>() {
        Ok(number) if number.is_finite() => Ok(number),
        _ => Err(UnitError::NotFinite {
            text: excerpt(whole),
        }),
    }
}

fn no_number(trimmed: &str, dimension: Dimension) -> UnitError {
    let lower = trimmed
        .trim_start_matches(['-', '+', '\u{2212}'])
        .to_lowercase();
    if lower.starts_with("inf") || lower.starts_with("nan") {
        return UnitError::NotFinite {
            text: excerpt(trimmed),
        };
    }
    if lower.starts_with(',') {
        return UnitError::DecimalComma {
            text: excerpt(trimmed),
            remedy: excerpt(&trimmed.replacen(',', "0.", 1)),
        };
    }
    UnitError::NotANumber {
        text: excerpt(trimmed),
        dimension: dimension.name(),
        ways: dimension.examples().to_string(),
    }
}

/// The unit without blanks and in plain letters: `µL / s` is `uL/s`, `W/m²·K` is `W/m2.K`.
fn normal_unit(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            character if character.is_whitespace() => {}
            '\u{b5}' | '\u{3bc}' => plain.push('u'),
            '\u{b7}' | '\u{22c5}' | '\u{2219}' | '*' => plain.push('.'),
            '\u{b2}' => plain.push('2'),
            '\u{b3}' => plain.push('3'),
            '\u{b9}' => plain.push('1'),
            '\u{207b}' | '\u{2212}' => plain.push('-'),
            '\u{207f}' => plain.push('n'),
            '\u{b0}' | '\u{ba}' => {}
            '\u{2103}' => plain.push('C'),
            '\u{2109}' => plain.push('F'),
            other => plain.push(other),
        }
    }
    plain
        .replace("^-1", "-1")
        .replace("^2", "2")
        .replace("^3", "3")
}

/// `6 min 10 s`: the sum, when the text is two or more times with falling units; else nothing.
fn sum_of_times(text: &str) -> Option<Result<f64, UnitError>> {
    let mut total = 0.0;
    let mut parts = 0;
    let mut last_unit = f64::INFINITY;
    let mut rest = text.trim();
    while !rest.is_empty() {
        let (number_text, after) = split_number(rest);
        let after = after.trim_start();
        let end = after
            .find(|character: char| !character.is_alphabetic())
            .unwrap_or(after.len());
        let unit = Dimension::Duration.unit(after.get(..end)?)?;
        let number: f64 = number_text.replace('\u{2212}', "-").parse().ok()?;
        if unit.multiply >= last_unit
            || (parts > 0 && !number_text.starts_with(|c: char| c.is_ascii_digit()))
        {
            return None;
        }
        last_unit = unit.multiply;
        // In '-1 h 5 min' the sign stands for the whole.
        total += if text.starts_with(['-', '\u{2212}']) && parts > 0 {
            -unit.to_si(number)
        } else {
            unit.to_si(number)
        };
        parts += 1;
        rest = after.get(end..)?.trim_start();
    }
    if parts < 2 {
        return None;
    }
    Some(if total.is_finite() {
        Ok(total)
    } else {
        Err(UnitError::NotFinite {
            text: excerpt(text),
        })
    })
}

/// The bare number with units put to it, for the message that asks for one.
fn with_units(number: f64, dimension: Dimension) -> String {
    let shown = display::plain(number);
    if dimension == Dimension::Temperature {
        let kelvin = number + 273.15;
        return if kelvin < 0.0 {
            dimension.examples().to_string()
        } else {
            format!(
                "{shown}C, {}K or {}F",
                display::plain(rounded(kelvin)),
                display::plain(rounded(kelvin * 9.0 / 5.0 - 459.67))
            )
        };
    }
    let units: Vec<&str> = dimension
        .units()
        .iter()
        .take(3)
        .filter_map(|unit| unit.spellings.first().copied())
        .collect();
    // '1/s' is shown as '10/s' behind a number.
    let written: Vec<String> = units
        .iter()
        .map(|unit| format!("{shown}{}", unit.strip_prefix('1').unwrap_or(unit)))
        .collect();
    match written.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, before)) => format!("{} or {last}", before.join(", ")),
        None => dimension.examples().to_string(),
    }
}

fn rounded(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

/// The user's text for a message: at most 40 characters, nothing that moves the cursor.
pub(crate) fn excerpt(text: &str) -> String {
    let mut short: String = text
        .chars()
        .take(40)
        .map(|character| {
            if character.is_control() {
                '\u{fffd}'
            } else {
                character
            }
        })
        .collect();
    if text.chars().nth(40).is_some() {
        short.push('…');
    }
    short
}
