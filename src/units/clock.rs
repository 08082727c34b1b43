//! Time of day: `09:30` to seconds after midnight and back.

use super::error::UnitError;
use super::quantity::excerpt;

/// Seconds of a day.
const DAY_S: u64 = 86_400;

/// A time of day, `09:30` or `09:30:15` of 24 hours, in s after midnight.
///
/// # Errors
/// Anything that is no time of day.
///
/// # Source
/// ISO 8601-1:2019, 5.3.1.2, extended format hh:mm and hh:mm:ss (from memory).
///
/// # Example
/// ```
/// use heatset::units::clock::time_of_day_s;
/// assert_eq!(time_of_day_s("09:30"), Ok(34_200.0));
/// assert!(time_of_day_s("9.30").is_err());
/// ```
pub fn time_of_day_s(text: &str) -> Result<f64, UnitError> {
    let refused = || UnitError::NotANumber {
        text: excerpt(text),
        dimension: "time of day",
        ways: "09:30 or 14:05:30".to_owned(),
    };
    let parts: Vec<&str> = text.trim().split(':').collect();
    let number = |part: &str, below: u32| {
        // '9:05' is read, '9:5' may be five past or ten to.
        let long = part.len() == 2 || (part.len() == 1 && below == 24);
        let plain = long && part.chars().all(|c| c.is_ascii_digit());
        part.parse::<u32>()
            .ok()
            .filter(|n| plain && *n < below)
            .ok_or_else(refused)
    };
    let (hours, minutes, seconds) = match parts.as_slice() {
        [hours, minutes] => (number(hours, 24)?, number(minutes, 60)?, 0),
        [hours, minutes, seconds] => (
            number(hours, 24)?,
            number(minutes, 60)?,
            number(seconds, 60)?,
        ),
        _ => return Err(refused()),
    };
    Ok(f64::from(hours * 3600 + minutes * 60 + seconds))
}

/// A time of day as a clock shows it, to the nearest second: `09:37:30`; past midnight the days are
/// added: `00:10:00 +1d`.
///
/// # Example
/// ```
/// use heatset::units::clock::clock_words;
/// assert_eq!(clock_words(34_200.0), "09:30:00");
/// assert_eq!(clock_words(86_400.0 + 600.0), "00:10:00 +1d");
/// ```
#[must_use]
pub fn clock_words(after_midnight_s: f64) -> String {
    // Times of a session are finite and after midnight; anything else shows as midnight.
    let whole = after_midnight_s.round().max(0.0) as u64;
    let (day, second) = (whole / DAY_S, whole % DAY_S);
    let clock = format!(
        "{:02}:{:02}:{:02}",
        second / 3600,
        second / 60 % 60,
        second % 60
    );
    match day {
        0 => clock,
        days => format!("{clock} +{days}d"),
    }
}
