//! An answer about heat time in words, for a person with a syringe in hand.

use crate::face::answer_words::{alternatives_words, hand_line, temperature_and_needle};
use crate::face::cooling_words::cooling_words;
use crate::plan::{HandOver, TimeAnswer, TimeQuestion, history_words};
use crate::reference::hub_colour;
use crate::thermal::{HistorySource, WarmUp};
use crate::units::display::{self, Rounding};
use std::fmt::Write as _;

/// The answer in the manner of a colleague: what, how sure, then the rest.
pub(crate) fn in_words(answer: &TimeAnswer, question: &TimeQuestion) -> String {
    let mut text = String::new();
    if answer.assumptions.invented {
        text.push_str("INVENTED DATA: an answer for learning the tool, for nothing else.\n");
    }
    if answer.assumptions.extrapolated {
        text.push_str("EXTRAPOLATED: this lies outside what was measured.\n");
    }
    if answer.window_open {
        if answer.needles.is_some() {
            let _ = writeln!(
                text,
                "The finest needle that passes under {} is {}.",
                display::force(question.setup.force_limit_n),
                question.setup.needle.label()
            );
        }
        open_window(&mut text, answer, question);
    } else if answer.needles.is_some() {
        let _ = writeln!(
            text,
            "No needle of the table passes under {} at {} in 19 syringes of 20, not even {}.",
            display::force(question.setup.force_limit_n),
            display::temperature(question.set_kelvin),
            question.setup.needle.label()
        );
        let _ = writeln!(
            text,
            "{}",
            alternatives_words(&answer.alternatives, &answer.limited_by)
        );
    } else {
        closed_window(&mut text, answer, question);
    }
    needles_table(&mut text, answer);
    text
}

/// The windows of all needles, where any of them was asked for; neighbours of the same answer share a
/// line.
fn needles_table(text: &mut String, answer: &TimeAnswer) {
    let Some(needles) = &answer.needles else {
        return;
    };
    let step = step_s(answer);
    let rows: Vec<(String, String)> = needles
        .iter()
        .map(|needle| {
            let window = needle.heat_time_s;
            let until = match (needle.window_open, window.not_beyond) {
                (false, _) => "no window".to_owned(),
                (true, Some(t)) => {
                    display::duration_rounded(t, step.min(t.max(1.0)), Rounding::Down)
                }
                (true, None) if needle.limited_by == "measured range" => {
                    "every time measured".to_owned()
                }
                (true, None) => "however long".to_owned(),
            };
            let from = window.not_before.map_or_else(
                || "-".to_owned(),
                |t| display::duration_rounded(t, step, Rounding::Up),
            );
            (from, until)
        })
        .collect();
    let least = needles.iter().any(|n| n.heat_time_s.not_before.is_some());
    let _ = writeln!(
        text,
        "\n  {:<11} {:<15} {:<22} {}passes until",
        "needle",
        "hub",
        "bore",
        if least { "firm from   " } else { "" }
    );
    let mut first = 0;
    for row in rows.chunk_by(|a, b| a == b) {
        let group = &needles[first..first + row.len()];
        first += row.len();
        let (Some(widest), Some(finest), Some((from, until))) =
            (group.first(), group.last(), row.first())
        else {
            continue;
        };
        let [wide, fine] = [widest, finest].map(|n| n.gauge.unwrap_or(0));
        let from = if least {
            format!("{from:<12}")
        } else {
            String::new()
        };
        let _ = if group.len() == 1 {
            writeln!(
                text,
                "  {:<11} {:<15} {:<22} {from}{until}",
                format!("{wide}G"),
                hub_colour(wide).map_or("", |h| h.name),
                display::length_mm(widest.bore_m),
            )
        } else {
            writeln!(
                text,
                "  {:<11} {:<15} {:<22} {from}{until}",
                format!("{wide}G to {fine}G"),
                "",
                format!(
                    "{} to {}",
                    display::length_mm(widest.bore_m),
                    display::length_mm(finest.bore_m)
                ),
            )
        };
    }
}

fn open_window(text: &mut String, answer: &TimeAnswer, question: &TimeQuestion) {
    let limit = display::force(question.setup.force_limit_n);
    let window = answer.heat_time_s;
    let place = temperature_and_needle(question.set_kelvin, &question.setup.needle);
    // Rounded to the safe side: never later than the limit, never earlier than firm enough.
    let step = step_s(answer);
    let down = |t: f64| display::duration_rounded(t, step.min(t.max(1.0)), Rounding::Down);
    match window.not_beyond {
        Some(t) => {
            let _ = write!(text, "{place} until {} of heating.", down(t));
        }
        None if answer.limited_by == "measured range" => {
            let _ = write!(text, "{place} at every heat time that was measured.");
        }
        None => {
            let _ = write!(
                text,
                "{place} however long it is heated: its plateau lies under the limit."
            );
        }
    }
    if let Some(t) = window.aim {
        let _ = write!(text, " Aim for {}.", down(t));
    }
    text.push('\n');
    if let Some(t) = window.not_before {
        let _ = writeln!(
            text,
            "  Firm enough from {} on.",
            display::duration_rounded(t, step, Rounding::Up)
        );
    }
    if let Some(aim) = &answer.at_aim {
        let [low, high] = aim.plunger_force_n.interval95;
        let digits = display::digits_for_interval(low, high).max(2);
        let _ = writeln!(
            text,
            "  At the aim push about {} ({}); limit asked {limit}.",
            display::force_to(aim.plunger_force_n.median, digits),
            display::force_interval(low, high, digits)
        );
        if let Some(line) = hand_line(aim.plunger_force_n.median, question.setup.force_limit_n) {
            let _ = writeln!(text, "  {line}");
        }
    }
    if let Some(t) = window.not_beyond {
        let _ = writeln!(
            text,
            "  Past {} more than 1 syringe in 20 would need over {limit}.",
            down(t)
        );
    }
    let _ = match &question.warm_up {
        Some(warm_up) if on_schedule(warm_up) => writeln!(
            text,
            "  By the schedule's own clock; {}.",
            history_words(warm_up)
        ),
        Some(warm_up) if warm_up.is_declared() => writeln!(
            text,
            "  Clock time from putting the syringe in; {}.",
            history_words(warm_up)
        ),
        _ => writeln!(
            text,
            "  Time at the block's temperature: what the syringe needs to warm up comes on top."
        ),
    };
    block_words(text, answer, question);
    uneven_words(text, answer);
    if let Some(gel_temp_k) = answer.gel_temp_k {
        let handed = HandOver {
            gel_temp_k,
            cool_time_s: answer.cool_time_s,
            cool_time_s_range: answer.cool_time_s_range,
        };
        let counted = answer.assumptions.cooling_counted;
        text.push_str(&cooling_words(&handed, &question.cooling, counted));
    }
}

/// What the block's check has moved.
fn block_words(text: &mut String, answer: &TimeAnswer, question: &TimeQuestion) {
    let Some(block) = &answer.block else { return };
    let _ = write!(
        text,
        "  The block is set to {} and its places are at {} on average, by its check.",
        display::temperature(block.block_set_temp_k),
        display::temperature(question.set_kelvin)
    );
    let _ = match (block.place_spread_k, block.heat_time_s_point_by_place) {
        (Some(spread), Some([hot, cold])) => writeln!(
            text,
            " They differ by {} K: what takes {} in the hottest takes {} in the coldest.",
            display::significant(spread, 2),
            display::duration_rounded(hot, 5.0, Rounding::Nearest),
            display::duration_rounded(cold, 5.0, Rounding::Nearest)
        ),
        (Some(spread), None) => {
            writeln!(
                text,
                " They differ by {} K.",
                display::significant(spread, 2)
            )
        }
        (None, _) => writeln!(text, " How its places differ was not measured."),
    };
}

/// How unevenly the gel is set, where a hand would feel it.
fn uneven_words(text: &mut String, answer: &TimeAnswer) {
    let Some(uneven) = answer.at_aim.as_ref().and_then(|aim| aim.uneven) else {
        return;
    };
    let [low, high] = uneven.plunger_force_n;
    let [least, most] = uneven.conversion.map(|a| 100.0 * a);
    if uneven.unset_share >= 0.005 {
        let _ = writeln!(
            text,
            "  Uneven: {:.0} % of the gel is hardly set (conversion {least:.0} %, against {most:.0} % where it is hottest), so the push swings from {} to {} as it passes. The times are for the firmest part.",
            100.0 * uneven.unset_share,
            display::force_to(low, 2),
            display::force_to(high, 2)
        );
    } else if high > 1.1 * low {
        let _ = writeln!(
            text,
            "  Uneven: conversion {least:.0} % in the middle, {most:.0} % at the wall; unmixed, the push swings from {} to {}.",
            display::force_to(low, 2),
            display::force_to(high, 2)
        );
    }
}

/// Whether a heat schedule says what its clock counts from.
fn on_schedule(warm_up: &WarmUp) -> bool {
    warm_up
        .as_sampled()
        .is_some_and(|h| matches!(h.declared().source, HistorySource::Schedule { .. }))
}

fn closed_window(text: &mut String, answer: &TimeAnswer, question: &TimeQuestion) {
    let _ = writeln!(text, "{}", closed_words(answer, question));
    let _ = writeln!(
        text,
        "{}",
        alternatives_words(&answer.alternatives, &answer.limited_by)
    );
}

/// Why there is no window, in a sentence.
pub(crate) fn closed_words(answer: &TimeAnswer, question: &TimeQuestion) -> String {
    let limit = display::force(question.setup.force_limit_n);
    let needle = question.setup.needle.label();
    match answer.limited_by.as_str() {
        "force" => {
            format!(
                "No measured heat time at {} lets this gel pass a {needle} needle under {limit} in 19 syringes of 20: at the shortest one it takes about {}.",
                display::temperature(question.set_kelvin),
                display::force(answer.force_at_shortest_n)
            )
        }
        "firmness" => {
            format!(
                "No heat time at {} is both: by the time the gel is firm enough, more than 1 syringe in 20 would need over {limit} through a {needle} needle.",
                display::temperature(question.set_kelvin)
            )
        }
        _ => {
            format!(
                "Within the measured heat times the gel is not firm enough at {}.",
                display::temperature(question.set_kelvin)
            )
        }
    }
}

/// Step to which times are worth printing.
pub(crate) fn step_s(answer: &TimeAnswer) -> f64 {
    let about_s = answer
        .heat_time_s
        .not_beyond
        .or(answer.heat_time_s.aim)
        .unwrap_or(0.0);
    let step_s = match (answer.heat_time_s_interval95, answer.heat_time_s_median) {
        ([Some(low), Some(high)], _) => display::duration_step_s(low, high),
        // The later end lies beyond what was measured: at least as far off as the earlier one.
        ([Some(low), None], Some(median)) => display::duration_step_s(low, 2.0 * median - low),
        _ if about_s > 600.0 => 30.0,
        _ => 10.0,
    };
    let step_s = match about_s {
        t if t > 3600.0 && step_s >= 10.0 => 60.0,
        _ => step_s.min(30.0),
    };
    // Both ends of a window are rounded into it: a narrow one needs steps that leave something of it.
    match (answer.heat_time_s.not_before, answer.heat_time_s.not_beyond) {
        (Some(before_s), Some(beyond_s)) => [step_s, 30.0, 10.0, 5.0]
            .into_iter()
            .find(|step| *step <= step_s && (before_s / step).ceil() <= (beyond_s / step).floor())
            .unwrap_or(1.0),
        _ => step_s,
    }
}
