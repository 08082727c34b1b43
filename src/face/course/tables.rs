//! The sheet and its answers as CSV.

use super::exercise::Exercise;
use super::{EXTRAPOLATED, INVENTED};
use crate::face::cautions;
use crate::face::drawings::change_words;
use crate::units::display;
use std::fmt::Write as _;

fn head(exercise: &Exercise, what: &str) -> String {
    let mut text = String::new();
    if exercise.invented {
        let _ = writeln!(text, "# invented data\n# {INVENTED}");
    }
    if exercise.extrapolated {
        let _ = writeln!(text, "# {EXTRAPOLATED}");
    }
    let _ = writeln!(text, "# {what}\n# {}", exercise.stands);
    for line in cautions::SHORT.lines() {
        let _ = writeln!(text, "# {line}");
    }
    text
}

fn celsius(kelvin: f64) -> String {
    display::plain((100.0 * (kelvin - 273.15)).round() / 100.0)
}

/// The sheet: settings with blanks.
pub(crate) fn sheet_table(exercise: &Exercise) -> String {
    let mut text = head(
        exercise,
        "Predict first, then measure. Codes only: no names.",
    );
    text.push_str("number,heat_temp_C,heat_time_min,change,needle,predicted_viscosity_Pa_s,predicted_push_N,measured_viscosity_Pa_s,measured_push_N,remarks\n");
    let needle = exercise.question.setup.needle.label();
    for (place, row) in exercise.rows.iter().enumerate() {
        let _ = writeln!(
            text,
            "{},{},{},,{needle},,,,,",
            place + 1,
            celsius(row.heat_temp_k),
            display::plain(row.heat_time_s / 60.0)
        );
    }
    for (place, change) in exercise.consequences.changes.iter().enumerate() {
        let _ = writeln!(
            text,
            "{},{},{},{} ({}),{needle},,,,,",
            exercise.rows.len() + place + 1,
            celsius(exercise.question.set_kelvin),
            display::plain(exercise.question.heat_time_s / 60.0),
            change_words(change.change),
            change.to
        );
    }
    text
}

/// The answers, with their intervals.
pub(crate) fn answers_table(exercise: &Exercise) -> String {
    let mut text = head(
        exercise,
        "Answers: the median, and the ends between which 95 of 100 syringes of a new lot lie.",
    );
    text.push_str("number,heat_temp_C,heat_time_min,change,viscosity_Pa_s,viscosity_low_Pa_s,viscosity_high_Pa_s,push_N,push_low_N,push_high_N,remarks\n");
    let digits = |value: f64| display::significant(value, 3);
    for (place, row) in exercise.rows.iter().enumerate() {
        let (median, [low, high]) = row.viscosity_pa_s;
        let force = row.plunger_force_n;
        let _ = writeln!(
            text,
            "{},{},{},,{},{},{},{},{},{},",
            place + 1,
            celsius(row.heat_temp_k),
            display::plain(row.heat_time_s / 60.0),
            digits(median),
            digits(low),
            digits(high),
            digits(force.median),
            digits(force.interval95[0]),
            digits(force.interval95[1])
        );
    }
    for (place, change) in exercise.consequences.changes.iter().enumerate() {
        let push = change.plunger_force_n.map_or_else(
            || ",,".to_owned(),
            |force| {
                format!(
                    "{},{},{}",
                    digits(force.median),
                    digits(force.interval95[0]),
                    digits(force.interval95[1])
                )
            },
        );
        let _ = writeln!(
            text,
            "{},{},{},{} ({}),,,,{push},{}",
            exercise.rows.len() + place + 1,
            celsius(exercise.question.set_kelvin),
            display::plain(exercise.question.heat_time_s / 60.0),
            change_words(change.change),
            change.to,
            change.note.as_deref().unwrap_or("").replace(',', ";")
        );
    }
    text
}
