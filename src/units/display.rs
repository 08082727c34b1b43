//! Printing quantities as people write them.
//!
//! The short forms give three digits at most and drop zeros at the end; the `_to` forms give
//! as many digits as asked, so that a number can carry as many as its interval allows
//! ([`digits_for_interval`]).

use super::shown::{ForceShown, TemperatureShown, TimeShown, shown};

/// One kilogram-force, in N: the standard acceleration of gravity, exact (CGPM 1901).
const NEWTON_PER_KGF: f64 = 9.80665;

/// Which way a printed time is rounded. A limit that must not be passed is rounded down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rounding {
    /// To the nearest step.
    Nearest,
    /// To the step below.
    Down,
    /// To the step above.
    Up,
}

/// The value with that many significant digits: `2.22e-3`, `149`, `0.0123`, `11.5`.
/// Zeros at the end are kept: they say how sure the number is.
pub fn significant(value: f64, digits: usize) -> String {
    if let Some(words) = not_finite(value) {
        return words.to_string();
    }
    let digits = digits.clamp(1, 17);
    if value == 0.0 {
        return "0".to_string();
    }
    let scientific = format!("{value:.*e}", digits - 1);
    let Some((mantissa, exponent)) = scientific.split_once('e') else {
        return scientific;
    };
    let Ok(exponent) = exponent.parse::<i32>() else {
        return scientific;
    };
    if !(-2..6).contains(&exponent) {
        return format!("{mantissa}e{exponent}");
    }
    let decimals = (digits as i32 - 1 - exponent).max(0) as usize;
    // Through the rounded text, so that 99950 to two digits is 100000 and not 99950.
    match scientific.parse::<f64>() {
        Ok(rounded) => format!("{rounded:.decimals$}"),
        Err(_) => scientific,
    }
}

/// The value with at most that many significant digits, zeros at the end dropped: `13`, `0.16`.
pub fn at_most(value: f64, digits: usize) -> String {
    let text = significant(value, digits);
    let (mantissa, exponent) = match text.split_once('e') {
        Some((mantissa, exponent)) => (mantissa, Some(exponent)),
        None => (text.as_str(), None),
    };
    let short = if mantissa.contains('.') {
        mantissa.trim_end_matches('0').trim_end_matches('.')
    } else {
        mantissa
    };
    match exponent {
        Some(exponent) => format!("{short}e{exponent}"),
        None => short.to_string(),
    }
}

/// The shortest text that reads back as the same number.
pub fn plain(value: f64) -> String {
    if let Some(words) = not_finite(value) {
        return words.to_string();
    }
    let size = value.abs();
    if size != 0.0 && !(1e-5..1e15).contains(&size) {
        format!("{value:e}")
    } else {
        format!("{}", value + 0.0)
    }
}

/// As many significant digits as an interval allows: the last digit kept is that of the
/// first digit of its half width. 2.15e-3 to 2.30e-3 allows three.
pub fn digits_for_interval(lower: f64, upper: f64) -> usize {
    let half_width = (upper - lower).abs() / 2.0;
    let size = lower.abs().max(upper.abs());
    if !half_width.is_finite() || !size.is_finite() || size == 0.0 {
        return 3;
    }
    let finest = size * 1e-6;
    let place = half_width.max(finest).log10().floor();
    let digits = size.log10().floor() - place + 1.0;
    digits.clamp(1.0, 6.0) as usize
}

/// A time as people say it: `45 s`, `6 min 10 s`, `1 h 5 min`, `2 d 3 h`.
///
/// # Example
/// ```
/// use heatset::units::display::duration;
/// assert_eq!(duration(370.0), "6 min 10 s");
/// assert_eq!(duration(3900.0), "1 h 5 min");
/// ```
pub fn duration(seconds: f64) -> String {
    if let Some(words) = not_finite(seconds) {
        return words.to_string();
    }
    let size = seconds.abs();
    if size < 9.95 {
        return format!("{} s", at_most(seconds, 2));
    }
    let step_s = if size < 3570.0 {
        1.0
    } else if size < 2.0 * 86400.0 {
        60.0
    } else {
        3600.0
    };
    duration_rounded(seconds, step_s, Rounding::Nearest)
}

/// A time rounded to a step in a stated direction, as people say it.
pub fn duration_rounded(seconds: f64, step_s: f64, rounding: Rounding) -> String {
    if let Some(words) = not_finite(seconds) {
        return words.to_string();
    }
    let step_s = if step_s.is_finite() && step_s >= 1.0 {
        step_s.round()
    } else {
        1.0
    };
    // A hair of slack: 490.0000001 s rounded up is still 8 min 10 s.
    let steps = seconds / step_s;
    let whole = match rounding {
        Rounding::Nearest => steps.round(),
        Rounding::Down => (steps + 1e-9).floor(),
        Rounding::Up => (steps - 1e-9).ceil(),
    } * step_s;
    let sign = if whole < 0.0 { "-" } else { "" };
    let whole = whole.abs();
    if shown().time == TimeShown::Seconds && whole <= 1e12 {
        return format!("{sign}{} s", whole as u64);
    }
    if whole > 1e12 {
        return format!("{sign}{} d", at_most(whole / 86400.0, 3));
    }
    let total = whole as u64;
    let (days, hours, minutes, rest) = (
        total / 86400,
        total / 3600 % 24,
        total / 60 % 60,
        total % 60,
    );
    // Up to two days people count hours.
    let parts = if total >= 2 * 86400 {
        [(days, "d"), (hours, "h"), (minutes, "min"), (rest, "s")]
    } else {
        [(0, "d"), (total / 3600, "h"), (minutes, "min"), (rest, "s")]
    };
    let words: Vec<String> = parts
        .iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, unit)| format!("{count} {unit}"))
        .collect();
    if words.is_empty() {
        "0 s".to_string()
    } else {
        format!("{sign}{}", words.join(" "))
    }
}

/// The step, in s, to which a time with this interval is worth printing: 1, 5, 10, 30 s, 1, 5, 10 min ...
pub fn duration_step_s(lower_s: f64, upper_s: f64) -> f64 {
    let half_width = (upper_s - lower_s).abs() / 2.0;
    if !half_width.is_finite() {
        return 1.0;
    }
    [3600.0, 600.0, 300.0, 60.0, 30.0, 10.0, 5.0]
        .into_iter()
        .find(|step| *step <= half_width / 3.0)
        .unwrap_or(1.0)
}

/// A temperature in the unit shown ([`super::shown`]), one decimal only if needed: `86 °C`, `37.5 °C`.
pub fn temperature(kelvin: f64) -> String {
    if let Some(words) = not_finite(kelvin) {
        return words.to_string();
    }
    match shown().temperature {
        TemperatureShown::Celsius => format!("{} °C", celsius(kelvin)),
        TemperatureShown::Fahrenheit => format!("{} °F", fahrenheit(kelvin)),
    }
}

/// The number of a temperature in °C, to a tenth.
pub fn celsius(kelvin: f64) -> String {
    tenths(kelvin - 273.15)
}

/// The number of a temperature in °F, to a tenth.
pub fn fahrenheit(kelvin: f64) -> String {
    tenths(kelvin * 1.8 - 459.67)
}

fn tenths(value: f64) -> String {
    format!("{}", (value * 10.0).round() / 10.0 + 0.0)
}

/// A force in the unit shown ([`super::shown`]): `15 N`, `7.36 N`, `1.53 kgf`.
pub fn force(newton: f64) -> String {
    match shown().force {
        ForceShown::Newton => format!("{} N", at_most(newton, 3)),
        ForceShown::KilogramForce => force_kgf(newton),
    }
}

/// A force with that many digits, in the unit shown.
pub fn force_to(newton: f64, digits: usize) -> String {
    match shown().force {
        ForceShown::Newton => format!("{} N", significant(newton, digits)),
        ForceShown::KilogramForce => {
            format!("{} kgf", significant(newton / NEWTON_PER_KGF, digits))
        }
    }
}

/// A range of forces, the unit once: `8 to 17 N`.
pub fn force_range(lower_newton: f64, upper_newton: f64, digits: usize) -> String {
    let (per, unit) = match shown().force {
        ForceShown::Newton => (1.0, "N"),
        ForceShown::KilogramForce => (NEWTON_PER_KGF, "kgf"),
    };
    format!(
        "{} to {} {unit}",
        at_most(lower_newton / per, digits),
        at_most(upper_newton / per, digits)
    )
}

/// An interval of forces, the unit once, each end with that many digits: `8.0 to 17 N`.
pub fn force_interval(lower_newton: f64, upper_newton: f64, digits: usize) -> String {
    let (per, unit) = match shown().force {
        ForceShown::Newton => (1.0, "N"),
        ForceShown::KilogramForce => (NEWTON_PER_KGF, "kgf"),
    };
    format!(
        "{} to {} {unit}",
        significant(lower_newton / per, digits),
        significant(upper_newton / per, digits)
    )
}

/// A force in kgf, as a kitchen scale shows it.
pub fn force_kgf(newton: f64) -> String {
    format!("{} kgf", at_most(newton / NEWTON_PER_KGF, 3))
}

/// A length in mm: `0.184 mm`, `13 mm`.
pub fn length_mm(metre: f64) -> String {
    format!("{} mm", at_most(metre * 1e3, 4))
}

/// A viscosity: `11.5 Pa.s`, and `1.57 mPa.s` under 0.1 Pa.s.
pub fn viscosity(pascal_second: f64) -> String {
    let (number, unit) = viscosity_scale(pascal_second);
    format!("{} {unit}", at_most(pascal_second * number, 3))
}

/// A viscosity with that many digits.
pub fn viscosity_to(pascal_second: f64, digits: usize) -> String {
    let (number, unit) = viscosity_scale(pascal_second);
    format!("{} {unit}", significant(pascal_second * number, digits))
}

/// The factor and unit that a viscosity of this size is printed in, so that an interval
/// can be printed in the unit of its estimate.
pub fn viscosity_scale(pascal_second: f64) -> (f64, &'static str) {
    if pascal_second.abs() < 0.0999 && pascal_second != 0.0 {
        (1e3, "mPa.s")
    } else {
        (1.0, "Pa.s")
    }
}

/// A pressure or modulus: `50 Pa`, `650 kPa`, `2.5 MPa`.
pub fn pressure(pascal: f64) -> String {
    pressure_to_most(pascal, |value| at_most(value, 3))
}

/// A pressure or modulus with that many digits.
pub fn pressure_to(pascal: f64, digits: usize) -> String {
    pressure_to_most(pascal, |value| significant(value, digits))
}

fn pressure_to_most(pascal: f64, print: impl Fn(f64) -> String) -> String {
    let size = pascal.abs();
    if size < 999.5 {
        format!("{} Pa", print(pascal))
    } else if size < 999.5e3 {
        format!("{} kPa", print(pascal / 1e3))
    } else {
        format!("{} MPa", print(pascal / 1e6))
    }
}

/// A molar energy: `149 kJ/mol`.
pub fn energy(joule_per_mol: f64) -> String {
    format!("{} kJ/mol", at_most(joule_per_mol / 1e3, 4))
}

/// A molar energy with that many digits.
pub fn energy_to(joule_per_mol: f64, digits: usize) -> String {
    format!("{} kJ/mol", significant(joule_per_mol / 1e3, digits))
}

/// A rate: `2.22e-3 /s`.
pub fn rate(per_second: f64) -> String {
    rate_to(per_second, 3)
}

/// A rate with that many digits.
pub fn rate_to(per_second: f64, digits: usize) -> String {
    format!("{} /s", significant(per_second, digits))
}

/// A flow rate in mL/min: `1 mL/min`.
pub fn flow_rate(cubic_metre_per_second: f64) -> String {
    format!("{} mL/min", at_most(cubic_metre_per_second * 6e7, 3))
}

/// A volume in mL: `1 mL`.
pub fn volume(cubic_metre: f64) -> String {
    format!("{} mL", at_most(cubic_metre * 1e6, 3))
}

/// A fraction in per cent: `58 %`.
pub fn percent(fraction: f64) -> String {
    format!("{} %", at_most(fraction * 100.0, 2))
}

fn not_finite(value: f64) -> Option<&'static str> {
    if value.is_nan() {
        Some("not known")
    } else if value == f64::INFINITY {
        Some("without limit")
    } else if value == f64::NEG_INFINITY {
        Some("without lower limit")
    } else {
        None
    }
}
