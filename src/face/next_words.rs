//! Which reading to take next, in words.

use crate::face::sentences::{name_words, value_words};
use crate::fit::{BlendCalibration, ParameterName, Scale};
use crate::plan::{
    LotOutlook, NarrowedParameter, NextAnswer, NextQuestion, ProposedReading, next_reading,
};
use crate::units::display;
use std::fmt::Write as _;

/// The answer: what to read, what it narrows, what else would.
pub(crate) fn in_words(
    blend: &BlendCalibration,
    answer: &NextAnswer,
    question: &NextQuestion,
) -> String {
    let mut text = String::new();
    if question.invented {
        text.push_str("INVENTED DATA: an answer for learning the tool, for nothing else.\n");
    }
    if answer.asked.as_ref().is_some_and(|a| a.extrapolated) {
        text.push_str("EXTRAPOLATED: this lies outside what was measured.\n");
    }
    if let Some(best) = answer.proposals.first() {
        let more = another_lot_words(answer).unwrap_or_default();
        let _ = writeln!(
            text,
            "{}",
            worth_taking(blend, answer, question, best, &more)
        );
    }
    asked_lines(&mut text, blend, answer, question);
    proposals_lines(&mut text, blend, answer);
    if let Some(outlook) = &answer.another_lot {
        lots_lines(&mut text, answer, outlook);
    } else {
        text.push_str("\nThe readings know one lot at most: none on it says how far the next one differs, a second lot does.\n");
    }
    text
}

/// What a fit ends with: the reading that would narrow all parameters together most; `None` where
/// the readings do not tell.
pub(crate) fn after_fit(blend: &BlendCalibration) -> Option<String> {
    let question = NextQuestion {
        asked: None,
        altitude_m: 0.0,
        extrapolate: false,
        invented: false,
    };
    let answer = next_reading(blend, &question).ok()?;
    let best = answer.proposals.first()?;
    let mark = beyond_words(best);
    Some(worth_taking(blend, &answer, &question, best, mark))
}

/// The best reading and what it does, in one line.
fn worth_taking(
    blend: &BlendCalibration,
    answer: &NextAnswer,
    question: &NextQuestion,
    best: &ProposedReading,
    more: &str,
) -> String {
    format!(
        "Next reading worth taking: {} ({}{more}).",
        setting(best),
        promise(blend, answer, question, best)
    )
}

/// That another lot would do more for a new one than as many readings on the lots at hand, where
/// the spread between lots is known and says so.
fn another_lot_words(answer: &NextAnswer) -> Option<String> {
    let outlook = answer.another_lot.as_ref()?;
    let now = outlook.new_lot_heat_time_s_now?;
    let with_lot = outlook.new_lot_heat_time_s_with_another_lot?;
    let with_readings = outlook.new_lot_heat_time_s_with_as_many_readings?;
    let width = |[low, high]: [f64; 2]| (high / low).ln();
    (width(with_lot) < width(with_readings)).then(|| {
        let (before, then) = widths(now, with_lot);
        format!("); another lot would do more (for a new lot from {before} to {then}")
    })
}

/// The mark of a reading beyond the measured heat times.
fn beyond_words(reading: &ProposedReading) -> &'static str {
    if reading.outside_measured_times {
        "; longer than any heat time measured, so it stands on the law alone"
    } else {
        ""
    }
}

/// '90 °C at 2 min 30 s'; at no time there is nothing to heat.
fn setting(reading: &ProposedReading) -> String {
    let heated = if reading.heat_time_s == 0.0 {
        "an unheated one".to_owned()
    } else {
        format!(
            "{} at {}",
            display::temperature(reading.heat_temp_k),
            display::duration(reading.heat_time_s)
        )
    };
    match reading.shear_rate_per_s {
        Some(rate) => format!("{heated}, read at {} 1/s", display::at_most(rate, 3)),
        None => heated,
    }
}

/// What the best reading does, in a few words.
fn promise(
    blend: &BlendCalibration,
    answer: &NextAnswer,
    question: &NextQuestion,
    best: &ProposedReading,
) -> String {
    if let (Some(now), Some(after), Some(asked)) =
        (&answer.asked, best.heat_time_interval95, &question.asked)
    {
        let needle = match asked.setup.needle.gauge {
            Some(gauge) => format!("{gauge}G"),
            None => asked.setup.needle.label(),
        };
        let (before, then) = widths(now.heat_time_interval95.curve_s, after.curve_s);
        return if before == then {
            format!("even it hardly narrows the {needle} answer: {before} now and after")
        } else {
            format!("narrows the {needle} answer from {before} to {then}")
        };
    }
    let together = format!(
        "narrows the parameters together by {}",
        fall(best.parameter_std_error_ratio)
    );
    let most = answer.parameters.iter().min_by(|a, b| {
        let ratio = |p: &NarrowedParameter| p.std_error_after / p.std_error_now;
        ratio(a).total_cmp(&ratio(b))
    });
    most.map_or(together.clone(), |p| {
        format!(
            "{together}, most the {}, by {}",
            name_words(blend, p.name),
            fall(p.std_error_after / p.std_error_now)
        )
    })
}

/// By how much a width falls, in per cent.
fn fall(ratio: f64) -> String {
    let percent = 100.0 * (1.0 - ratio);
    if percent < 0.05 {
        "next to nothing".to_owned()
    } else if percent < 1.0 {
        format!("{percent:.1} %")
    } else {
        format!("{percent:.0} %")
    }
}

/// An interval before and after: '±42 s' and '±31 s'; both ends where it is too wide or too
/// lopsided for that.
fn widths(before: [f64; 2], after: [f64; 2]) -> (String, String) {
    let lopsided = before[1] > 1.8 * before[0];
    let words = |[low, high]: [f64; 2]| {
        if lopsided {
            format!("{} - {}", display::duration(low), display::duration(high))
        } else {
            format!("±{}", display::duration(0.5 * (high - low)))
        }
    };
    (words(before), words(after))
}

/// The asked answer as it stands, and what no reading changes of it.
fn asked_lines(
    text: &mut String,
    blend: &BlendCalibration,
    answer: &NextAnswer,
    question: &NextQuestion,
) {
    let (Some(now), Some(asked), Some(best)) =
        (&answer.asked, &question.asked, answer.proposals.first())
    else {
        for parameter in &answer.parameters {
            let _ = writeln!(
                text,
                "  Standard error of the {}: {} now, {} after.",
                name_words(blend, parameter.name),
                error_words(
                    parameter.name,
                    &parameter.unit,
                    parameter.scale,
                    parameter.std_error_now
                ),
                error_words(
                    parameter.name,
                    &parameter.unit,
                    parameter.scale,
                    parameter.std_error_after
                )
            );
        }
        return;
    };
    let [low, high] = now.heat_time_interval95.curve_s;
    let _ = writeln!(
        text,
        "  The answer: at {} the fitted curve reaches {} through a {} needle after {} ({} to {}).",
        display::temperature(now.heat_temp_k),
        display::force(asked.setup.force_limit_n),
        asked.setup.needle.label(),
        display::duration(now.heat_time_s_point),
        display::duration(low),
        display::duration(high)
    );
    let Some(after) = best.heat_time_interval95 else {
        return;
    };
    let (before, then) = widths(now.heat_time_interval95.syringe_s, after.syringe_s);
    let others = match &answer.another_lot {
        Some(lots) if lots.lot_spread_known => {
            "One lot and one syringe against the next, and the needle's bore,"
        }
        _ => "One syringe against the next and the needle's bore",
    };
    let _ = writeln!(
        text,
        "  {others} stay as they are: with them {before} now, {then} after."
    );
}

fn error_words(name: ParameterName, unit: &str, scale: Scale, error: f64) -> String {
    match scale {
        Scale::Log => format!("{} %", display::significant(100.0 * error, 2)),
        Scale::Linear => value_words(name, unit, error, 2),
    }
}

fn proposals_lines(text: &mut String, blend: &BlendCalibration, answer: &NextAnswer) {
    let worth = |reading: &ProposedReading| match (
        &answer.asked,
        reading.heat_time_interval95,
        reading.heat_time_std_error_ratio,
    ) {
        (Some(now), Some(after), Some(ratio)) => {
            let width = widths(now.heat_time_interval95.curve_s, after.curve_s).1;
            format!("{width}, narrower by {}", fall(ratio))
        }
        _ => format!(
            "parameters narrower by {}",
            fall(reading.parameter_std_error_ratio)
        ),
    };
    text.push_str("\nThe best that differ in temperature or by a factor of two in time:\n");
    for reading in &answer.proposals {
        let mark = beyond_words(reading);
        let _ = writeln!(
            text,
            "  {}: {}; expect about {}{mark}",
            setting(reading),
            worth(reading),
            value_words(
                ParameterName::Initial,
                &blend.reading_unit,
                reading.expected_reading,
                2
            )
        );
    }
    if let Some(repeat) = &answer.repeat {
        let _ = writeln!(
            text,
            "Repeating a measured setting: {} is the best of them: {}.",
            setting(repeat),
            worth(repeat)
        );
    }
    let several = &answer.several;
    let width = match (&answer.asked, several.heat_time_interval95) {
        (Some(now), Some(after)) => {
            let width = widths(now.heat_time_interval95.curve_s, after.curve_s).1;
            format!("{width}, ")
        }
        _ => "parameters ".to_owned(),
    };
    let _ = writeln!(
        text,
        "{} more readings, each the best that is left: {width}narrower by {}.",
        several.readings,
        fall(several.std_error_ratio)
    );
}

/// What another lot would buy.
fn lots_lines(text: &mut String, answer: &NextAnswer, outlook: &LotOutlook) {
    let (lots, more) = (outlook.lots, outlook.lots + 1);
    let factors = outlook.factors;
    let _ = writeln!(
        text,
        "\nAnother lot: with {more} lots in place of {lots} the 95 % interval of ln heat time for a new lot is on average {} narrower, as far as lots differ (from {} to {} times the spread between lots, by Student's t).",
        fall(factors.mean_width_ratio),
        display::significant(factors.half_width_over_lot_sd_ratio_now, 3),
        display::significant(factors.half_width_over_lot_sd_ratio_after, 3)
    );
    let curve = if answer.asked.is_some() {
        "that of the fitted curve"
    } else {
        "the parameters"
    };
    let readings = match outlook.readings_a_lot {
        1 => "One more reading".to_owned(),
        n => format!("{n} more readings (as many as a lot has), each the best,"),
    };
    let _ = writeln!(
        text,
        "  {readings} on the lots at hand would narrow {curve} by {} and say nothing of the next lot.",
        fall(outlook.std_error_ratio_with_as_many_readings)
    );
    match (
        outlook.new_lot_heat_time_s_now,
        outlook.new_lot_heat_time_s_with_another_lot,
        outlook.new_lot_heat_time_s_with_as_many_readings,
    ) {
        (Some(now), Some(lot), Some(readings)) => {
            let (before, with_lot) = widths(now, lot);
            let (_, with_readings) = widths(now, readings);
            let _ = writeln!(
                text,
                "  For a new lot: {before} now; {with_lot} with another lot; {with_readings} with those readings."
            );
        }
        _ if !outlook.lot_spread_known => {
            text.push_str("  These lots are fitted as one: how far they differ is in none of the intervals above.\n");
        }
        _ => {}
    }
}
