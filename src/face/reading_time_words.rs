//! When a reading is reached, in words: for calibrations that say nothing of a push.

use crate::plan::ReadingTimeAnswer;
use crate::units::display::{self, Rounding};

fn told(time_s: f64) -> String {
    display::duration_rounded(
        time_s,
        if time_s > 120.0 { 10.0 } else { 1.0 },
        Rounding::Nearest,
    )
}

/// When a reading is reached, in a sentence.
pub(crate) fn sentence(answer: &ReadingTimeAnswer, reading: &str, quantity: &str) -> String {
    let place = display::temperature(answer.heat_temp_k);
    match (answer.reached_by_s, answer.heat_time_s_median) {
        (Some(time_s), _) => format!(
            "At {place} 19 syringes of 20 have reached a {quantity} of {reading} after {} of heating.",
            display::duration_rounded(time_s, 10.0, Rounding::Up)
        ),
        (None, Some(median_s)) => format!(
            "At {place} half of all syringes reach a {quantity} of {reading} after {}; that 19 of 20 do lies outside the heat times that were measured.",
            told(median_s)
        ),
        (None, None) => format!(
            "At {place} a {quantity} of {reading} is not reached within the heat times that were measured.\u{20}"
        ).trim_end().to_owned(),
    }
}

/// How sure that is.
pub(crate) fn interval(answer: &ReadingTimeAnswer) -> Option<String> {
    let median = answer.heat_time_s_median?;
    Some(match answer.heat_time_s_interval95 {
        [Some(low), Some(high)] => format!(
            "Half of all syringes by {}; 95 of 100 between {} and {}.",
            told(median),
            told(low),
            told(high)
        ),
        _ => format!(
            "Half of all syringes by {}; an end of the interval lies outside what was measured.",
            told(median)
        ),
    })
}
