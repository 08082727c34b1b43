//! Sentences of this room.

use crate::face::answer_words::hand_line;
use crate::face::time_words::step_s;
use crate::plan::{ForceAnswer, PushSetup, TimeAnswer, TimeQuestion};
use crate::reference::{Source, hands};
use crate::units::display::{self, Rounding};

/// How sure the heat time is: its median and interval.
pub(super) fn interval_line(answer: &TimeAnswer, question: &TimeQuestion) -> Option<String> {
    let median = answer.heat_time_s_median?;
    let limit = display::force(question.setup.force_limit_n);
    let step = step_s(answer);
    let told = |time_s: f64| {
        display::duration_rounded(time_s, step.min(time_s.max(1.0)), Rounding::Nearest)
    };
    let interval = match answer.heat_time_s_interval95 {
        [Some(low), Some(high)] => format!("95 of 100 between {} and {}", told(low), told(high)),
        [Some(low), None] => format!("95 of 100 between {} and more than was measured", told(low)),
        [None, Some(high)] => format!(
            "95 of 100 between less than was measured and {}",
            told(high)
        ),
        [None, None] => "95 of 100 over more than was measured".to_owned(),
    };
    Some(format!(
        "Half of all syringes need {limit} by {}; {interval}.",
        told(median)
    ))
}

/// Until when a push passes, in a cell of a table.
pub(super) fn until_words(
    open: bool,
    not_beyond_s: Option<f64>,
    limited_by: &str,
    step_s: f64,
) -> String {
    match (open, not_beyond_s) {
        (false, _) => "no window".to_owned(),
        (true, Some(time_s)) => {
            display::duration_rounded(time_s, step_s.min(time_s.max(1.0)), Rounding::Down)
        }
        (true, None) if limited_by == "measured range" => "every time measured".to_owned(),
        (true, None) => "however long".to_owned(),
    }
}

/// The push after a heat time: median, interval, and whether it passes.
pub(super) fn push_lines(answer: &ForceAnswer, setup: &PushSetup) -> Vec<String> {
    let Some(through) = answer.needles.first() else {
        return Vec::new();
    };
    let [low, high] = through.plunger_force_n.interval95;
    let digits = display::digits_for_interval(low, high).max(2);
    let limit = display::force(setup.force_limit_n);
    let mut lines = vec![
        format!(
            "Heated {} the gel takes about {} ({}) through a {} needle.",
            display::duration(answer.heat_time_s),
            display::force_to(through.plunger_force_n.median, digits),
            display::force_interval(low, high, digits),
            setup.needle.label()
        ),
        format!(
            "{} stay under {limit}: it {}.",
            share_words(through.probability),
            if through.passes {
                "passes"
            } else {
                "does not pass reliably"
            }
        ),
    ];
    lines.extend(hand_line(
        through.plunger_force_n.median,
        setup.force_limit_n,
    ));
    lines
}

/// A probability as syringes of a hundred; draws are finite, so none and all are not said.
fn share_words(probability: f64) -> String {
    let of_hundred = (100.0 * probability).floor();
    if probability > 0.99 {
        "More than 99 syringes of 100".to_owned()
    } else if of_hundred < 1.0 {
        "Fewer than 1 syringe of 100".to_owned()
    } else {
        format!("{of_hundred} syringes of 100")
    }
}

/// The published bands of a push by hand, and where they come from.
pub(super) fn hands_words() -> String {
    let Ok(hands) = hands() else {
        return String::new();
    };
    let who = |source: &Source| source.text.split(',').next().unwrap_or_default().to_owned();
    format!(
        "For a hand: under {} easy, up to {} considerable effort, up to {} great effort, beyond that hands did not manage ({}). Published target {}, at most {} ({}).",
        display::force(hands.easy_below_n),
        display::force(hands.great_effort_from_n),
        display::force(hands.not_injectable_from_n),
        who(&hands.band_source),
        display::force(hands.target_n),
        display::force(hands.at_most_n),
        who(&hands.limit_source)
    )
}
