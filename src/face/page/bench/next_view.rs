//! What to measure next: for a needle that is asked about, as `heatset next` says it.

use super::page_words::here;
use crate::face::next_words::in_words;
use crate::face::page::query::Asked;
use crate::face::page::shelf::Shelved;
use crate::face::page::shell::INVENTED;
use crate::fit::BlendCalibration;
use crate::plan::{
    AskedHeatTime, BarrelUsed, DEFAULT_LENGTH_M, DEFAULT_SYRINGE, NeedleUsed, NextQuestion,
    PushDoubts, PushSetup, StatedHeating, StatedThinning, heated, next_reading,
};
use crate::reference::{BoreBasis, Wall, all_needles, all_syringes};
use crate::units::{self, display};
use maud::{Markup, html};

/// The part that the script redraws.
pub(super) const PART: &str = "next";

/// Keys of the question.
const BLEND: &str = "blend";
const AT: &str = "at";
const GAUGE: &str = "gauge";
const SYRINGE: &str = "in";
const LIMIT: &str = "limit";

/// The question and its answer.
pub(super) fn form(asked: &Asked, shelved: &Shelved) -> Markup {
    let calibration = &shelved.calibration;
    let hottest = calibration
        .blends
        .first()
        .map_or_else(String::new, |blend| {
            plain_celsius(blend.range.heat_temp_k[1])
        });
    let value = |key: &str, usual: &str| asked.get(key).unwrap_or(usual).to_owned();
    let fault = |key| question(asked, shelved).err().filter(|f| f.key == key);
    let (at_fault, limit_fault) = (fault(AT), fault(LIMIT));
    html! {
        section.next {
            h2 id="measure-next" { "What to measure next" }
            form method="get" action=(asked.path()) data-live=(PART) {
                (asked.kept_fields())
                div.pairs {
                    @if calibration.blends.len() > 1 {
                        label.field {
                            span { "Blend" }
                            select name=(BLEND) {
                                @for blend in &calibration.blends {
                                    option value=(blend.blend) selected[asked.get(BLEND) == Some(&blend.blend)] { (blend.blend) }
                                }
                            }
                        }
                    }
                    label.field {
                        span { "For needle" }
                        select name=(GAUGE) {
                            option value="" { "none: all parameters together" }
                            @for gauge in gauges() {
                                @let words = gauge.to_string();
                                option value=(words) selected[asked.get(GAUGE) == Some(&words)] { (gauge) "G" }
                            }
                        }
                    }
                    label.field {
                        span { "Block at" }
                        input type="text" name=(AT) value=(value(AT, &hottest)) autocomplete="off"
                            aria-invalid=[at_fault.as_ref().map(|_| "true")];
                    }
                    label.field {
                        span { "Syringe" }
                        select name=(SYRINGE) {
                            @for name in syringes() {
                                option value=(name) selected[value(SYRINGE, DEFAULT_SYRINGE) == name] { (name) }
                            }
                        }
                    }
                    label.field {
                        span { "Push at most" }
                        input type="text" name=(LIMIT) value=(value(LIMIT, "20N")) autocomplete="off"
                            aria-invalid=[limit_fault.as_ref().map(|_| "true")];
                    }
                    button.without-script type="submit" { "Ask" }
                }
            }
            div.card.answer.smaller id=(PART) aria-live="polite" { (answer(asked, shelved)) }
        }
    }
}

/// The answer alone.
pub(super) fn answer(asked: &Asked, shelved: &Shelved) -> Markup {
    match words(asked, shelved) {
        Ok(text) => html! {
            @for line in text.lines().filter(|line| !line.trim().is_empty()) {
                @if line.starts_with("Next reading") { p { strong { (line) } } }
                @else if line.starts_with(INVENTED) || line.starts_with("Note: ") { p.note { (line) } }
                @else { p.inset[line.starts_with("  ")] { (line.trim()) } }
            }
        },
        Err(message) => {
            html! { div.problem role="alert" { @for line in message.lines() { p { (line) } } } }
        }
    }
}

/// A field of the question that cannot be taken.
struct QuestionFault {
    key: &'static str,
    message: String,
}

fn words(asked: &Asked, shelved: &Shelved) -> Result<String, String> {
    let (blend, question) = question(asked, shelved).map_err(|fault| fault.message)?;
    let answer = next_reading(blend, &question).map_err(|error| here(&error.to_string()))?;
    let mut text = in_words(blend, &answer, &question);
    for warning in &answer.warnings {
        text.push_str(&format!("\nNote: {}", here(&warning.message)));
    }
    Ok(text)
}

fn question<'a>(
    asked: &Asked,
    shelved: &'a Shelved,
) -> Result<(&'a BlendCalibration, NextQuestion), QuestionFault> {
    let calibration = &shelved.calibration;
    let blend = match asked.get(BLEND) {
        None => calibration.blends.first(),
        Some(name) => calibration.blends.iter().find(|blend| blend.blend == name),
    }
    .ok_or_else(|| {
        fault(
            BLEND,
            "This calibration has no such blend: choose one of the list",
        )
    })?;
    let without = NextQuestion {
        asked: None,
        altitude_m: 0.0,
        extrapolate: false,
        invented: calibration.invented,
    };
    let Some(gauge) = asked.get(GAUGE) else {
        return Ok((blend, without));
    };
    let gauge: u8 = gauge.parse().map_err(|_| {
        fault(
            GAUGE,
            format!("'{gauge}' is no gauge: choose one of the list"),
        )
    })?;
    let needle = NeedleUsed::of_gauge(
        gauge,
        Wall::default(),
        BoreBasis::default(),
        DEFAULT_LENGTH_M,
    )
    .map_err(|error| fault(GAUGE, error))?;
    let set_kelvin = match asked.get(AT) {
        None => blend.range.heat_temp_k[1],
        Some(text) => units::temperature_kelvin(text).map_err(|error| fault(AT, error))?,
    };
    let name: String = asked
        .get(SYRINGE)
        .unwrap_or(DEFAULT_SYRINGE)
        .split_whitespace()
        .collect();
    let barrel = BarrelUsed::of_syringe(&name).map_err(|error| fault(SYRINGE, error))?;
    let (friction_n, friction_tolerance_n) = barrel
        .default_friction_n()
        .map_err(|error| fault(SYRINGE, error))?;
    let usual = PushSetup::with_needle(needle).map_err(|error| fault(GAUGE, error))?;
    let setup = PushSetup {
        barrel,
        friction_n,
        force_limit_n: match asked.get(LIMIT) {
            None => usual.force_limit_n,
            Some(text) => units::force_n(text).map_err(|error| fault(LIMIT, error))?,
        },
        doubts: PushDoubts {
            friction_tolerance_n,
            ..usual.doubts
        },
        ..usual
    };
    let warm_up = heated(blend, &setup.barrel, &StatedHeating::default())
        .map_err(|error| fault(GAUGE, error))?
        .warm_up;
    let question = NextQuestion {
        asked: Some(AskedHeatTime {
            set_kelvin,
            setup,
            thinning: StatedThinning::default(),
            warm_up,
        }),
        ..without
    };
    Ok((blend, question))
}

fn fault(key: &'static str, message: impl std::fmt::Display) -> QuestionFault {
    QuestionFault {
        key,
        message: here(&message.to_string()),
    }
}

/// Gauges of the usual wall, the widest first.
fn gauges() -> Vec<u8> {
    let mut gauges: Vec<u8> = all_needles()
        .map(|rows| {
            rows.iter()
                .filter(|needle| needle.wall == Wall::default())
                .map(|needle| needle.gauge)
                .collect()
        })
        .unwrap_or_default();
    gauges.sort_unstable();
    gauges.dedup();
    gauges
}

fn syringes() -> Vec<String> {
    all_syringes()
        .map(|rows| rows.iter().map(crate::reference::Syringe::name).collect())
        .unwrap_or_default()
}

/// '86C', as a field takes it.
fn plain_celsius(kelvin: f64) -> String {
    format!("{}C", display::at_most(kelvin - 273.15, 4))
}
