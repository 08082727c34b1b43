//! The log of batches in words.

use crate::batches::{
    Altered, Basis, ControlSettings, Entry, FoundBy, Judged, Reading, Rule, RuleSaid, Side, Verdict,
};
use crate::units::display;

/// The verdict in a sentence.
pub(crate) fn verdict_sentence(judged: &Judged) -> String {
    let batches = |n: usize| {
        if n == 1 {
            "1 batch".to_owned()
        } else {
            format!("{n} batches")
        }
    };
    let count = judged.charted.len();
    match judged.verdict {
        None if count == 0 => {
            "Nothing to judge yet: no batch with a reading in numbers.".to_owned()
        }
        None => "Nothing to judge yet: the readings have no spread of their own, being fewer than two or all alike."
            .to_owned(),
        Some(Verdict::InLine) => {
            format!("In line: {} as the calibration predicts.", batches(count))
        }
        Some(Verdict::Look) => match judged.because.first() {
            Some(said) if said.lasting => format!("Look at entry {}.", said.entry),
            _ => "Look: the readings drifted for a while, and have come back.".to_owned(),
        },
        Some(Verdict::CalibrateAgain) => {
            let side = judged
                .because
                .first()
                .map_or("away from", |said| match said.side {
                    Side::Above => "above",
                    Side::Below => "below",
                });
            format!("Calibrate again: the readings have drifted {side} the prediction.")
        }
    }
}

/// The verdict, the rules that say so with their false alarm rates, and what helps.
pub(crate) fn verdict_words(judged: &Judged, settings: &ControlSettings) -> String {
    let mut lines = vec![verdict_sentence(judged)];
    lines.extend(judged.because.iter().map(|said| rule_line(said, settings)));
    if judged.verdict == Some(Verdict::InLine) {
        lines.push(format!("  {}.", false_alarms(settings)));
    }
    if judged.verdict.is_some() {
        lines.push(
            "  Those rates are for one reading a lot and a calibration without error; one of few lots signals sooner."
                .to_owned(),
        );
    }
    match judged.verdict {
        Some(Verdict::Look) => lines.push(
            "What helps: look at that batch's block, syringe, needle and lot, and read once more; one signal by itself is no reason for another heat time."
                .to_owned(),
        ),
        Some(Verdict::CalibrateAgain) => lines.push(
            "What helps: check block and needle first ('heatset blockcheck'); if they are as they were, 'heatset batches export' and 'heatset fit old.csv more.csv', or a new bench. Until then its answers are off by about what the batches show."
                .to_owned(),
        ),
        _ => {}
    }
    lines.join("\n")
}

fn rule_line(said: &RuleSaid, settings: &ControlSettings) -> String {
    let side = match said.side {
        Side::Above => "firmer than predicted",
        Side::Below => "softer than predicted",
    };
    let since = match (said.rule, said.lasting) {
        (Rule::Cusum | Rule::Ewma, true) => format!("since entry {}", said.entry),
        (Rule::Cusum | Rule::Ewma, false) => format!("from entry {} on, for a while", said.entry),
        _ => format!("entry {}", said.entry),
    };
    format!(
        "  {}: {since}, {side}. A false alarm about once in {} batches.",
        capitalised(&rule_name(said.rule, settings)),
        rounded(said.false_alarm_every_batches)
    )
}

/// What a rule says, with its numbers.
pub(crate) fn rule_name(rule: Rule, settings: &ControlSettings) -> String {
    let plain = |value: f64| display::at_most(value, 4);
    match rule {
        Rule::Interval => "outside its own 95 % interval".to_owned(),
        Rule::Shewhart => format!(
            "one batch beyond {} sd (Shewhart)",
            plain(settings.shewhart_width_sigmas)
        ),
        Rule::TwoOfThree => format!(
            "two of three batches beyond {} sd",
            plain(settings.shewhart_width_sigmas * 2.0 / 3.0)
        ),
        Rule::Cusum => format!(
            "cumulative sum over its decision value (CUSUM, k {}, h {})",
            plain(settings.cusum_allowance_sigmas),
            plain(settings.cusum_decision_sigmas)
        ),
        Rule::Ewma => format!(
            "moving average beyond its limits (EWMA, weight {}, L {})",
            plain(settings.ewma_weight_ratio),
            plain(settings.ewma_width_sigmas)
        ),
    }
}

fn false_alarms(settings: &ControlSettings) -> String {
    let every = |rule: Rule| rounded(rule.false_alarm_every_batches(settings));
    let pair = if settings.two_of_three {
        format!(", two of three with it {}", every(Rule::TwoOfThree))
    } else {
        String::new()
    };
    format!(
        "Batches to a false alarm: Shewhart {}{pair}, CUSUM {}, EWMA {}",
        every(Rule::Shewhart),
        every(Rule::Cusum),
        every(Rule::Ewma)
    )
}

fn rounded(batches: f64) -> String {
    if batches < 100_000.0 {
        format!("{batches:.0}")
    } else {
        "more than 100000".to_owned()
    }
}

/// What the charts stand on: how many batches, which limits.
pub(crate) fn control_words(judged: &Judged, settings: &ControlSettings) -> Option<String> {
    let limits = judged.shewhart?;
    let (sums, average) = (judged.cusum.last()?, judged.ewma.last()?);
    let number = |value: f64| format!("{value:.2}");
    let what = match settings.basis {
        Basis::Z => "deviations z",
        Basis::LnRatio => "ln (reading / predicted)",
    };
    let sigma = match judged.sigma_found_by {
        FoundBy::Prediction => "1 sd, by the prediction".to_owned(),
        FoundBy::MovingRange => {
            format!("{}, by the moving ranges", number(limits.sigma_in_unit))
        }
    };
    Some(format!(
        "Charted: {what} of {} batches (sigma {sigma}); limits {} to {}; moving average {} ({} to {}); sums {} up, {} down (decision {}).",
        judged.charted.len(),
        number(limits.lower_in_unit()),
        number(limits.upper_in_unit()),
        number(average.average_in_unit),
        number(average.lower_in_unit),
        number(average.upper_in_unit),
        number(sums.upper_in_unit),
        number(sums.lower_in_unit),
        number(judged.cusum_decision_in_unit),
    ))
}

/// What was read, with its unit.
pub(crate) fn reading_words(reading: &Reading) -> String {
    match reading {
        Reading::PlungerForce { force_n, .. } => display::force(*force_n),
        Reading::Viscosity { viscosity_pa_s, .. } => display::viscosity(*viscosity_pa_s),
        Reading::Bubble { held: true } => "bubble held".to_owned(),
        Reading::Bubble { held: false } => "bubble moved".to_owned(),
    }
}

/// Median and interval of the prediction, with its unit.
pub(crate) fn predicted_words(entry: &Entry) -> String {
    let Some(predicted) = &entry.entered.prediction else {
        return "not judged".to_owned();
    };
    let [low, high] = predicted.interval95_in_unit;
    let digits = display::digits_for_interval(low, high).max(2);
    let (scale, unit) = match entry.entered.reading {
        Reading::Viscosity { .. } => display::viscosity_scale(predicted.median_in_unit),
        _ => (1.0, "N"),
    };
    let number = |value: f64| display::significant(value * scale, digits);
    format!(
        "{} ({} to {}) {unit}",
        number(predicted.median_in_unit),
        number(low),
        number(high)
    )
}

/// How an entry stands: accepted, left out, corrected.
pub(crate) fn state_words(entry: &Entry) -> String {
    let mut words = match (entry.corrected_by, entry.entered.accepted) {
        (None, _) if entry.entered.prediction.is_none() => "-".to_owned(),
        (Some(by), _) => format!("corrected by {by}"),
        (None, true) => "accepted".to_owned(),
        (None, false) => "left out".to_owned(),
    };
    if let Some(number) = entry.entered.corrects {
        words.push_str(&format!(", corrects {number}"));
    }
    if entry.entered.extrapolated {
        words.push_str(", extrapolated");
    }
    words
}

/// A place where the log was altered.
pub(crate) fn altered_words(altered: &Altered) -> String {
    match altered {
        Altered::Entry { entry: 1 } => "entry 1 is not what was written".to_owned(),
        Altered::Entry { entry } => format!(
            "entry {entry} is not what was written, or does not follow from entry {}",
            entry - 1
        ),
        Altered::Missing { first, last } if first == last => format!("entry {first} is missing"),
        Altered::Missing { first, last } => format!("entries {first} to {last} are missing"),
        Altered::Head { head } => format!(
            "no entry has the head {head}: entries were cut off, or all were written anew (or the head is shorter than 8 digits, or another log's)"
        ),
        Altered::File { reason } => format!("the file is damaged: {reason}"),
    }
}

fn capitalised(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}
