//! What single changes do to a push: the chart, and the same in words.

use super::error::DrawingError;
use super::words::words;
use crate::chart::{Colour, ConsequenceRow, ConsequenceZone, ConsequencesChart};
use crate::fit::{BlendCalibration, Calibration};
use crate::plan::{Change, Consequence, Consequences, ForceQuestion, ForceSpread, history_words};
use crate::reference::hands;
use crate::thermal::WarmUp;
use crate::units::display;
use std::fmt::Write as _;

/// Bluish green, orange and vermilion, pale: easy, considerable and great effort.
const ZONES: [Colour; 3] = [
    Colour::new(0, 158, 115),
    Colour::new(230, 159, 0),
    Colour::new(213, 94, 0),
];
/// A change of the median smaller than this changes nothing that a hand feels.
const SAME_RATIO: f64 = 0.03;

/// The chart of consequences.
///
/// # Errors
/// Tables that do not read.
pub fn consequences(
    calibration: &Calibration,
    blend: &BlendCalibration,
    question: &ForceQuestion,
    found: &Consequences,
) -> Result<ConsequencesChart, DrawingError> {
    let hands = hands()?;
    let mut rows = vec![ConsequenceRow {
        label: "as today".to_owned(),
        detail: today_words(question),
        push_n: Some(push_of(&found.today_n)),
        words: push_words(&found.today_n),
        is_today: true,
        extrapolated: false,
    }];
    rows.extend(found.changes.iter().map(|change| ConsequenceRow {
        label: change_words(change.change).to_owned(),
        detail: detail_words(change),
        push_n: change.plunger_force_n.as_ref().map(push_of),
        words: match &change.plunger_force_n {
            Some(force) => push_words(force),
            None => change.note.clone().unwrap_or_default(),
        },
        is_today: false,
        extrapolated: change.extrapolated,
    }));
    let warm_up = question.warm_up.clone().unwrap_or_else(|| blend.warm_up());
    let mut words = words(
        calibration,
        blend,
        finding(question, found),
        &format!(
            "; {}; {}",
            setting_words(question),
            match warm_up {
                WarmUp::None => "warm-up not counted".to_owned(),
                declared => history_words(&declared),
            }
        ),
    );
    words.extrapolated = found.extrapolated;
    words.note = format!(
        "Dot: median push; line: 95 of 100 syringes of a new lot. One thing is changed at a time; hollow: outside what was measured. Bands: Robinson et al. 2020.\n{}",
        words.note
    );
    let zone = |from_n: f64, to_n: f64, words: &str, colour: Colour| ConsequenceZone {
        from_n,
        to_n,
        words: words.to_owned(),
        colour,
    };
    Ok(ConsequencesChart {
        words,
        force_name: "plunger force (N)".to_owned(),
        rows,
        zones: vec![
            zone(0.0, hands.easy_below_n, "easy", ZONES[0]),
            zone(
                hands.easy_below_n,
                hands.great_effort_from_n,
                "considerable effort",
                ZONES[1],
            ),
            zone(
                hands.great_effort_from_n,
                f64::INFINITY,
                "great effort and more",
                ZONES[2],
            ),
        ],
        limit: Some((
            question.setup.force_limit_n,
            format!("limit {}", display::force(question.setup.force_limit_n)),
        )),
    })
}

/// The same in words, a line a change.
pub(crate) fn consequences_in_words(
    question: &ForceQuestion,
    found: &Consequences,
    invented: bool,
) -> String {
    let mut text = String::new();
    if invented {
        text.push_str("INVENTED DATA: an answer for learning the tool, for nothing else.\n");
    }
    if found.extrapolated {
        text.push_str("EXTRAPOLATED: part of this lies outside what was measured.\n");
    }
    let _ = writeln!(
        text,
        "{}.\n",
        finding(question, found).replace('\u{a0}', " ")
    );
    let _ = writeln!(
        text,
        "  {:<22} {:<28} {}",
        "as today",
        "",
        push_words(&found.today_n)
    );
    for change in &found.changes {
        let told = match &change.plunger_force_n {
            Some(force) => push_words(force),
            None => change.note.clone().unwrap_or_default(),
        };
        let mut marks = Vec::new();
        if change.extrapolated {
            marks.push("outside what was measured".to_owned());
        }
        if change.plunger_force_n.is_some() {
            marks.extend(change.note.clone());
            marks.extend(unset_words(change));
        }
        let marks = if marks.is_empty() {
            String::new()
        } else {
            format!("; {}", marks.join("; "))
        };
        let _ = writeln!(
            text,
            "  {:<22} {:<28} {told}{marks}",
            change_words(change.change),
            change.to
        );
    }
    let untold = |words: &str| {
        let told = |c: &&Consequence| c.plunger_force_n.is_none();
        let notes = found.changes.iter().filter(told);
        notes
            .filter_map(|c| c.note.as_deref())
            .any(|note| note.contains(words))
    };
    if untold("outside") {
        text.push_str("What helps: --extrapolate shows what lies outside, and marks it\n");
    }
    if untold("conduction") {
        text.push_str("What helps: --warm-up syringe computes the warm-up by conduction\n");
    }
    text
}

fn push_of(force: &ForceSpread) -> [f64; 3] {
    [force.median, force.interval95[0], force.interval95[1]]
}

/// '14 N (10 to 19)'.
pub(crate) fn push_words(force: &ForceSpread) -> String {
    let [low, high] = force.interval95;
    let digits = display::digits_for_interval(low, high).max(2);
    format!(
        "{} ({} to {})",
        display::force_to(force.median, digits),
        display::significant(low, digits),
        display::significant(high, digits)
    )
}

/// What the chart's finding does not say of today.
fn today_words(question: &ForceQuestion) -> String {
    format!(
        "{}, {}",
        question.setup.barrel.label(),
        display::flow_rate(question.setup.flow_rate_m3_per_s)
    )
}

/// The push of today, for the line under a title that may be anybody's.
fn setting_words(question: &ForceQuestion) -> String {
    format!(
        "{} at {}, {}",
        display::duration(question.heat_time_s),
        display::temperature(question.set_kelvin),
        question.setup.needle.label()
    )
}

/// A change as people say it.
pub(crate) fn change_words(change: Change) -> &'static str {
    match change {
        Change::MinuteMore => "one minute more",
        Change::FiveDegreesMore => "five degrees more",
        Change::FiveDegreesLess => "five degrees less",
        Change::NextSyringe => "the next syringe up",
        Change::HalfInserted => "half in the block",
        Change::GaugeFiner => "one gauge finer",
        Change::HalfSpeed => "half the speed",
    }
}

fn unset_words(change: &Consequence) -> Option<String> {
    let share = change.unset_share.filter(|share| *share >= 0.005)?;
    Some(format!("{:.0} % of the gel hardly set", 100.0 * share))
}

fn detail_words(change: &Consequence) -> String {
    let mut parts = vec![change.to.clone()];
    if change.plunger_force_n.is_some() {
        parts.extend(unset_words(change));
        parts.extend(change.note.clone());
    }
    parts.join("; ")
}

/// The finding: which change moves the push most, and to what.
fn finding(question: &ForceQuestion, found: &Consequences) -> String {
    let kept = |text: String| text.replace(' ', "\u{a0}");
    let place = format!(
        "After {} at {} through {}",
        kept(display::duration(question.heat_time_s)),
        kept(display::temperature(question.set_kelvin)),
        kept(question.setup.needle.label())
    );
    let most = found
        .changes
        .iter()
        .filter_map(|change| Some((change, change.plunger_force_n?, change.ratio_to_today?)))
        .max_by(|a, b| a.2.ln().abs().total_cmp(&b.2.ln().abs()));
    match most {
        Some((change, force, ratio)) if (ratio - 1.0).abs() > SAME_RATIO => {
            let digits = |force: &ForceSpread| {
                display::digits_for_interval(force.interval95[0], force.interval95[1]).max(2)
            };
            format!(
                "{place}, {} changes the push most: from {} to {}",
                change_words(change.change),
                kept(display::force_to(
                    found.today_n.median,
                    digits(&found.today_n)
                )),
                kept(display::force_to(force.median, digits(&force)))
            )
        }
        _ => format!("{place}, no single change moves the push much"),
    }
}
