//! `heatset time --same-as`: a protocol that sets the gel as far as another one does.

use super::CliError;
use super::output::Output;
use super::question_arguments::{Asked, QuestionArguments};
use crate::face::answer_words::stands_line;
use crate::face::cautions;
use crate::face::cooling_words::cooling_words;
use crate::plan::{
    BarrelUsed, CoolingAsked, DEFAULT_SYRINGE, Heated, Protocol, SameAsAnswer, SameAsQuestion,
    history_words, same_as,
};
use crate::units::{self, display};
use std::fmt::Write as _;

/// '6min at 90C in 1mL'.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct KnownProtocol {
    pub(super) heat_time_s: f64,
    pub(super) set_kelvin: f64,
    pub(super) syringe: Option<String>,
}

/// Reads '6min at 90C in 1mL'; the syringe may be left out.
pub(super) fn known_protocol(text: &str) -> Result<KnownProtocol, String> {
    let how = || format!("a protocol is written '6min at 90C in 1mL', and not '{text}'");
    let (time, rest) = text.split_once(" at ").ok_or_else(how)?;
    let (temperature, syringe) = match rest.split_once(" in ") {
        Some((temperature, syringe)) => (temperature, Some(syringe)),
        None => (rest, None),
    };
    let part = |e: units::UnitError| format!("{}: {e}", how());
    Ok(KnownProtocol {
        heat_time_s: units::duration_s(time.trim()).map_err(part)?,
        set_kelvin: units::temperature_kelvin(temperature.trim()).map_err(part)?,
        syringe: syringe.map(|name| name.split_whitespace().collect()),
    })
}

/// The other protocol, and how its question is answered.
pub(super) struct Other<'a> {
    pub(super) set_kelvin: f64,
    pub(super) barrel: &'a BarrelUsed,
    pub(super) cooling: CoolingAsked,
    pub(super) seed: u64,
    pub(super) json: bool,
}

/// Answers for the protocol that is asked about.
pub(super) fn answer(
    known: &KnownProtocol,
    arguments: &QuestionArguments,
    asked: &Asked,
    other: &Other<'_>,
) -> Result<Output, CliError> {
    let blend = asked.blend();
    let known_barrel = BarrelUsed::of_syringe(known.syringe.as_deref().unwrap_or(DEFAULT_SYRINGE))?;
    let protocol = |barrel: &BarrelUsed, set_kelvin: f64| -> Result<(Protocol, Heated), CliError> {
        let heated = arguments.heated_by_conduction(blend, barrel)?;
        let protocol = Protocol {
            set_kelvin,
            warm_up: heated.warm_up.clone().unwrap_or_else(|| blend.warm_up()),
            contact_histories: heated.contact_histories.clone(),
        };
        Ok((protocol, heated))
    };
    let question = SameAsQuestion {
        from: protocol(&known_barrel, known.set_kelvin)?.0,
        heat_time_s: known.heat_time_s,
        to: protocol(other.barrel, other.set_kelvin)?.0,
        barrel: other.barrel.clone(),
        cooling: other.cooling,
        altitude_m: arguments.altitude_m(),
        extrapolate: arguments.extrapolate,
        draws: arguments.draws,
        seed: other.seed,
        invented: asked.calibration.invented,
    };
    let answer = same_as(blend, &question)?;
    if other.json {
        return Output::json(&Document {
            answer: &answer,
            assumptions: Assumed {
                blend: &blend.blend,
                same_as_syringe: known_barrel.syringe.as_deref(),
                syringe: other.barrel.syringe.as_deref(),
                barrel_bore_m: other.barrel.bore_m,
                same_as_warm_up: question.from.warm_up.word(),
                warm_up: question.to.warm_up.word(),
                draws: question.draws,
                seed: question.seed,
                invented: question.invented,
            },
        });
    }
    let mut text = in_words(&answer, &question, &known_barrel, other.barrel);
    if let Some(handed) = &answer.hand_over {
        let counted = question.to.warm_up.counts_cooling();
        text.push_str(&cooling_words(handed, &question.cooling, counted));
    }
    let _ = writeln!(text, "\n{}", stands_line(&arguments.file_name(), blend));
    let _ = writeln!(
        text,
        "In the known one {}; in the other {}.",
        history_words(&question.from.warm_up),
        history_words(&question.to.warm_up)
    );
    let _ = writeln!(text, "\n{}", cautions::SHORT);
    Ok(Output::words(text).with_warnings(&answer.warnings))
}

/// 'a 5 mL syringe'.
fn with_article(barrel: &BarrelUsed) -> String {
    format!("a {}", barrel.label())
}

fn in_words(
    answer: &SameAsAnswer,
    question: &SameAsQuestion,
    known: &BarrelUsed,
    other: &BarrelUsed,
) -> String {
    let mut text = String::new();
    if question.invented {
        text.push_str("INVENTED DATA: an answer for learning the tool, for nothing else.\n");
    }
    if answer.extrapolated {
        text.push_str("EXTRAPOLATED: this lies outside what was measured.\n");
    }
    let known = format!(
        "{} at {} in {}",
        display::duration(answer.same_as_time_s),
        display::temperature(answer.same_as_temp_k),
        with_article(known)
    );
    let other = format!(
        "at {} in {}",
        display::temperature(answer.heat_temp_k),
        with_article(other)
    );
    let _ = match (answer.heat_time_s_median, answer.heat_time_s_interval95) {
        (Some(median), [Some(low), Some(high)]) => {
            let step = display::duration_step_s(low, high);
            let near = |t: f64| display::duration_rounded(t, step, display::Rounding::Nearest);
            let interval = if high - low < step {
                String::new()
            } else {
                format!(" ({} to {})", near(low), near(high))
            };
            writeln!(
                text,
                "{}{interval} {other} sets the gel as far as {known}.",
                near(median)
            )
        }
        (Some(median), _) => writeln!(
            text,
            "About {} {other} sets the gel as far as {known}; how much longer it may take is not known.",
            display::duration(median)
        ),
        (None, _) => writeln!(
            text,
            "No heat time {other} sets the gel as far as {known}.\nWhat helps: a hotter block, within the measured temperatures."
        ),
    };
    let percent = |fraction: f64| format!("{:.0} %", 100.0 * fraction);
    let spread = |[low, high]: [f64; 2]| match (percent(low), percent(high)) {
        (low, high) if low == high => format!("{low} all over"),
        (low, high) => format!("from {low} to {high} over the gel"),
    };
    let _ = match answer.conversion_extremes {
        Some(extremes) => writeln!(
            text,
            "  Set on average in both: {} ({} in the known one, {} in the other).",
            percent(answer.conversion),
            spread(answer.same_as_conversion_extremes),
            spread(extremes)
        ),
        None => writeln!(
            text,
            "  Set on average in the known one: {} ({}).",
            percent(answer.conversion),
            spread(answer.same_as_conversion_extremes)
        ),
    };
    text.push_str("  Clock times from putting the syringe in. Whether it passes a needle is another question, for 'heatset time' with --gauge: a wider barrel asks more force of the same gel.\n");
    text
}

/// The answer as one document.
#[derive(serde::Serialize)]
struct Document<'a> {
    #[serde(flatten)]
    answer: &'a SameAsAnswer,
    assumptions: Assumed<'a>,
}

#[derive(serde::Serialize)]
struct Assumed<'a> {
    blend: &'a str,
    same_as_syringe: Option<&'a str>,
    syringe: Option<&'a str>,
    barrel_bore_m: f64,
    same_as_warm_up: &'a str,
    warm_up: &'a str,
    draws: usize,
    seed: u64,
    invented: bool,
}
