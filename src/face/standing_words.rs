//! Standing in sentences: what a fit says of it, and what an answer says.

use crate::fit::BlendCalibration;
use crate::fit::standing::StandingForm;
use crate::plan::{AtStorage, StandAnswer, StandQuestion};
use crate::units::display::{self, Rounding};
use std::fmt::Write as _;

/// Storage below this is taken for a refrigerator's, in K.
const COOL_KELVIN: f64 = 288.15;

/// What is usual where nobody measured, in our own words.
pub(crate) const PRACTICE: [(&str, &str); 4] = [
    (
        "frozen",
        "a month; thawed overnight in the refrigerator, then an hour at room temperature",
    ),
    ("refrigerated", "a week"),
    ("on the table", "about four hours"),
    ("blends with added cells", "never kept, in no way"),
];

/// What that stands on.
pub(crate) const PRACTICE_BASIS: &str = "Common practice without any source: no computation, no measurement and no microbiological basis is behind these times. They are not a shelf life, and nobody has measured whether a gel kept so long still passes the needle until then.";

/// What a fit says of standing, and what it cannot tell.
pub(crate) fn fitted_lines(blend: &BlendCalibration) -> Option<String> {
    let standing = blend.standing.as_ref()?;
    let quantity = match blend.reading_unit.as_str() {
        "Pa.s" => "viscosity",
        "Pa" => "modulus",
        _ => "firmness",
    };
    let from = format!(
        "{} readings of {} gel{}",
        standing.rows,
        standing.gels,
        if standing.gels == 1 { "" } else { "s" }
    );
    let mut text = match (standing.gain_ln_ratio, standing.slope_ref_per_s) {
        (Some(gain), _) => {
            let times: Vec<String> = standing
                .storage_temperatures_kelvin()
                .into_iter()
                .map(|kelvin| {
                    let half = standing
                        .course()
                        .stand_time_for_ln_ratio_s(kelvin, 0.5 * gain.estimate);
                    format!(
                        "{} at {}",
                        display::duration(half),
                        display::temperature(kelvin)
                    )
                })
                .collect();
            let [low, high] = gain.ci95.map(f64::exp);
            let halves = if gain.estimate > 0.0 {
                format!(
                    "; half of that (on the logarithm) within {}",
                    times.join(", ")
                )
            } else {
                String::new()
            };
            format!(
                "On standing the {quantity} goes to {} times ({} to {}) what it is at once{halves} ({from}; not a shelf life).",
                display::significant(gain.estimate.exp(), 2),
                display::significant(low, 2),
                display::significant(high, 2)
            )
        }
        (None, Some(slope)) => {
            let percent = |per_s: f64| display::significant(100.0 * (3600.0 * per_s).exp_m1(), 2);
            let [low, high] = slope.ci95.map(percent);
            format!(
                "On standing at {} the {quantity} rises by {} % an hour ({low} to {high} %) as far as anybody looked ({from}; not a shelf life).",
                display::temperature(standing.reference_temp_k),
                percent(slope.estimate)
            )
        }
        (None, None) => return None,
    };
    text.push('\n');
    for warning in &standing.warnings {
        let _ = writeln!(text, "Note: {}", warning.message);
    }
    Some(text)
}

/// A standing time rounded down, as coarse as anybody would keep it.
pub(crate) fn stood(seconds: f64) -> String {
    let step_s = if seconds < 3600.0 {
        60.0
    } else if seconds < 36_000.0 {
        600.0
    } else {
        3600.0
    };
    display::duration_rounded(seconds, step_s, Rounding::Down)
}

/// 'until 5 h of standing at 22 °C', or why there is no time to name.
pub(crate) fn until_words(at: &AtStorage, form: StandingForm) -> String {
    let measured = at.measured_until_s.map_or_else(
        || "no time was measured there".to_owned(),
        |time_s| format!("{}, as long as anybody looked", stood(time_s)),
    );
    match (
        at.passes_needle_until_s.probability95,
        at.limited_by.as_str(),
    ) {
        (Some(time_s), _) => {
            let ends = at.passes_needle_until_s;
            let end = |value: Option<f64>| value.map(stood);
            let spread = match (end(ends.interval95[0]), end(ends.interval95[1])) {
                (Some(low), Some(high)) => format!("95 % of syringes {low} to {high}"),
                (Some(low), None) => format!("95 % of syringes {low} to more than was measured"),
                _ => "95 % of syringes beyond what was measured".to_owned(),
            };
            let median = end(ends.median).map_or_else(
                || "half of them longer than was measured".to_owned(),
                |median| format!("median {median}"),
            );
            format!("{} ({median}; {spread})", stood(time_s))
        }
        (None, "never reached") => {
            format!("{measured}; by the fit it levels off under the limit")
        }
        (None, _) if form == StandingForm::Slope => {
            format!("{measured}; beyond that nothing is known, the readings do not level off")
        }
        (None, _) => measured,
    }
}

/// The answer in words, the first lines first.
pub(crate) fn in_words(answer: &StandAnswer, question: &StandQuestion) -> String {
    let mut text = String::new();
    if answer.assumptions.invented {
        text.push_str("INVENTED DATA: an answer for learning the tool, for nothing else.\n");
    }
    if answer.assumptions.extrapolated {
        text.push_str("EXTRAPOLATED: this lies outside what was measured.\n");
    }
    let heated = format!(
        "Heated {} at {}",
        display::duration(question.heat_time_s),
        display::temperature(question.set_kelvin)
    );
    let needle = question.setup.needle.label();
    let limit = display::force(question.setup.force_limit_n);
    if answer.passes_at_once {
        let _ = writeln!(
            text,
            "{heated} and cooled, the gel passes the needle until (standing time, 95 of 100 syringes; {needle}, {limit}; not a shelf life):"
        );
        for at in &answer.at {
            let mark = if at.extrapolated {
                ", extrapolated"
            } else {
                ""
            };
            let _ = writeln!(
                text,
                "  at {}: {}{mark}",
                display::temperature(at.stand_temp_k),
                until_words(at, answer.form)
            );
        }
    } else {
        let share = share_words(answer.passes_at_once_probability);
        let _ = writeln!(
            text,
            "{heated}, the gel does not pass a {needle} needle reliably with {limit} even at once, before any standing: {share} syringes do."
        );
        text.push_str(
            "What helps: a wider needle, a slower push, a smaller syringe or less heat, never a harder push.\n",
        );
    }
    if question.setup.gel_kelvin.is_none()
        && answer.at.iter().any(|at| at.stand_temp_k < COOL_KELVIN)
    {
        text.push_str(
            "  The gel is pushed at the temperature of its readings; straight from the refrigerator it is stiffer.\n",
        );
    }
    for at in &answer.at {
        let _ = writeln!(
            text,
            "\n  after standing at {:<9} push     95 % of syringes  under {limit}",
            display::temperature(at.stand_temp_k)
        );
        for push in &at.push_after {
            let [low, high] = push.plunger_force_n.interval95;
            let _ = writeln!(
                text,
                "  {:<27} {:<8} {:<17} {}{}",
                if push.stand_time_s == 0.0 {
                    "at once".to_owned()
                } else {
                    display::duration(push.stand_time_s)
                },
                display::force_to(push.plunger_force_n.median, 2),
                format!(
                    "{} to {} N",
                    display::significant(low, 2),
                    display::significant(high, 2)
                ),
                share_words(push.probability),
                if push.extrapolated {
                    ", extrapolated"
                } else {
                    ""
                }
            );
        }
    }
    text
}

/// A probability as syringes of a hundred; draws are finite, so none and all are not said.
fn share_words(probability: f64) -> String {
    let of_hundred = (100.0 * probability).floor();
    if probability > 0.99 {
        "over 99 of 100".to_owned()
    } else if of_hundred < 1.0 {
        "under 1 of 100".to_owned()
    } else {
        format!("{of_hundred:.0} of 100")
    }
}
