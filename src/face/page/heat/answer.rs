//! The answer: one sentence, how sure, why, what it stands on.

use super::super::query::Asked;
use super::super::shell::INVENTED;
use super::faults::{Fault, page_words};
use super::keys;
use super::questions::{Answered, Asking};
use super::said::interval_line;
use crate::face::answer_words::{
    alternatives_words, assumed_line, input_words, stands_line, sure_line, thinning_line,
};
use crate::face::cautions;
use crate::face::drawings::window_finding;
use crate::face::time_words::in_words;
use crate::fit::Warning;
use crate::plan::{Alternative, TimeAnswer};
use maud::{Markup, PreEscaped, html};

/// Mark of what is said in the first line of an answer from invented readings.
const INVENTED_LINE: &str = "INVENTED DATA";
/// Mark of an answer outside what was measured.
const EXTRAPOLATED_LINE: &str = "EXTRAPOLATED";

/// The pieces that an answer is drawn in.
#[derive(Default)]
pub(super) struct Drawn {
    /// The answer itself.
    pub(super) answer: Markup,
    /// What it stands on.
    pub(super) ground: Markup,
    /// Its sentence alone, for a bar that is always in view.
    pub(super) short: String,
    /// Address of its picture, and the picture's finding.
    pub(super) picture: Option<(String, String)>,
    /// What is wrong.
    pub(super) faults: Vec<Fault>,
}

/// An answer about heat time.
pub(super) fn answer(asking: &Asking<'_>, answered: &Answered, asked: &Asked) -> Drawn {
    let Answered { answer, question } = answered;
    let text = in_words(answer, question);
    // What comes after a blank line is a table, which is drawn as one.
    let lines: Vec<&str> = text.lines().take_while(|line| !line.is_empty()).collect();
    let extrapolated = lines.iter().find(|l| l.starts_with(EXTRAPOLATED_LINE));
    let mut said = lines
        .iter()
        .filter(|l| !l.starts_with(INVENTED_LINE) && !l.starts_with(EXTRAPOLATED_LINE));
    let first = said.next().copied().unwrap_or_default();
    let rest: Vec<&str> = said
        .map(|line| line.trim())
        .filter(|line| answer.window_open || !line.starts_with("What helps:"))
        .collect();
    let markup = html! {
        section.card.answer aria-labelledby="answer-title" {
            h2.unseen id="answer-title" { "How long to heat" }
            @if answer.assumptions.invented { p { span.tag { (INVENTED) } } }
            @if let Some(line) = extrapolated { p.loud role="alert" { strong { (line) } } }
            @if answer.window_open {
                p.first { (first) }
            } @else {
                div.loud role="alert" {
                    p.first { (first) }
                    (opened_by(answer, asked))
                }
            }
            @if !rest.is_empty() { ul.facts { @for line in &rest { li { (page_words(line)) } } } }
            @let interval = interval_line(answer, question);
            @let why = why(asking, answer);
            @if interval.is_some() || !why.0.trim().is_empty() { h3 { "How sure" } }
            @if let Some(line) = &interval { p { (line) } }
            (why)
        }
    };
    let window = asked.with("/heat/window.svg", &[]);
    Drawn {
        answer: markup,
        ground: ground(asking, answered, asked),
        short: marked(first, answer.assumptions.invented, extrapolated.is_some()),
        picture: Some((window, window_finding(answer, question))),
        faults: Vec::new(),
    }
}

/// A sentence that stands alone, with what must never be missing from it.
pub(super) fn marked(sentence: &str, invented: bool, extrapolated: bool) -> String {
    let invented = if invented { "INVENTED DATA. " } else { "" };
    let extrapolated = if extrapolated { "EXTRAPOLATED. " } else { "" };
    format!("{invented}{extrapolated}{sentence}")
}

/// What would open a closed window, each with a link that sets the control.
fn opened_by(answer: &TimeAnswer, asked: &Asked) -> Markup {
    if answer.alternatives.is_empty() {
        return html! { p { (page_words(&alternatives_words(&answer.alternatives, &answer.limited_by))) } };
    }
    html! {
        p { strong { "What helps:" } }
        ul {
            @for alternative in &answer.alternatives {
                li {
                    (alternative_words(alternative))
                    " "
                    a href=(asked.with("/heat", &borrowed(&alternative_pairs(alternative)))) { (take_words(alternative)) }
                }
            }
            li { "less heat is a way out too; pushing harder is none" }
        }
    }
}

fn alternative_words(alternative: &Alternative) -> String {
    alternatives_words(std::slice::from_ref(alternative), "")
        .trim_start_matches("What helps: ")
        .trim_end_matches('.')
        .to_owned()
}

fn take_words(alternative: &Alternative) -> String {
    match alternative.change.as_str() {
        "needle" => format!("Take {}", alternative.to),
        "flow" => format!("Push {}", alternative.to),
        _ => format!("Take the {}", alternative.to),
    }
}

/// The keys that an alternative sets.
fn alternative_pairs(alternative: &Alternative) -> Vec<(&'static str, String)> {
    let dropped = |keys: Vec<&'static str>| keys.into_iter().map(|key| (key, String::new()));
    if let Some(gauge) = alternative.gauge {
        // Wider needles are looked for among the nominal bores of the regular wall.
        return dropped(vec![keys::WALL, keys::BORE_BASIS])
            .chain([(keys::GAUGE, gauge.to_string())])
            .collect();
    }
    if let Some(flow_rate_m3_per_s) = alternative.flow_rate_m3_per_s {
        return dropped(keys::FLOW.keys())
            .chain([keys::FLOW.pair(flow_rate_m3_per_s)])
            .collect();
    }
    dropped(keys::BARREL.keys())
        .chain(
            alternative
                .syringe
                .iter()
                .map(|name| (keys::SYRINGE, name.clone())),
        )
        .collect()
}

/// What the answer is least sure of, in words and bars.
fn why(asking: &Asking<'_>, answer: &TimeAnswer) -> Markup {
    let mut shares: Vec<(&str, f64)> = answer
        .contributions
        .iter()
        .map(|(name, share)| (input_words(name), *share))
        .filter(|(_, share)| *share >= 0.005)
        .collect();
    shares.sort_by(|a, b| b.1.total_cmp(&a.1));
    html! {
        @if let Some(line) = sure_line(answer, asking.blend()) { p { (page_words(&line)) } }
        @if !shares.is_empty() {
            table.bars {
                caption.unseen { "What the answer is least sure of" }
                tbody {
                    @for (name, share) in shares {
                        tr {
                            th scope="row" { (name) }
                            td.number { (format!("{:.0} %", 100.0 * share)) }
                            td.bar-of { (bar(share)) }
                        }
                    }
                }
            }
        }
    }
}

/// A bar as long as a share of the whole.
fn bar(share: f64) -> Markup {
    let length = (100.0 * share.clamp(0.0, 1.0)).max(1.0);
    html! {
        (PreEscaped(format!(
            "<svg class=\"share\" viewBox=\"0 0 100 10\" preserveAspectRatio=\"none\" aria-hidden=\"true\" focusable=\"false\"><rect width=\"{length:.1}\" height=\"10\"/></svg>"
        )))
    }
}

/// What an answer stands on, what it takes for granted, and what its reader should know.
fn ground(asking: &Asking<'_>, answered: &Answered, asked: &Asked) -> Markup {
    let Answered { answer, question } = answered;
    let mut lines = vec![
        stands_line(&asking.shelved.name, asking.blend()),
        assumed_line(
            &answer.assumptions,
            &question.setup,
            answer.at_aim.as_ref().map(|aim| aim.joint_pressure_pa),
        ),
    ];
    lines.extend(thinning_line(
        &answer.if_flow_index,
        &question.setup.needle.label(),
    ));
    html! {
        section.card aria-labelledby="ground-title" {
            h2 id="ground-title" { "What it stands on" }
            @for line in &lines { p { (page_words(line)) } }
            (notes(&answer.warnings))
            (cautions_lines(asked))
            p.actions { a.button href=(run_sheet(asking, asked)) { "Run sheet of this setting" } }
        }
    }
}

/// Address of the run sheet of a setting, its usual values written out.
fn run_sheet(asking: &Asking<'_>, asked: &Asked) -> String {
    asked.with("/session", &borrowed(&asking.setting.pairs()))
}

/// Pairs as an address takes them.
pub(super) fn borrowed<'a>(pairs: &'a [(&'static str, String)]) -> Vec<(&'a str, &'a str)> {
    pairs
        .iter()
        .map(|(key, value)| (*key, value.as_str()))
        .collect()
}

/// Cautions of an answer; those that the page says already are left out.
pub(super) fn notes(warnings: &[Warning]) -> Markup {
    let said = ["invented_data", "extrapolated"];
    let notes: Vec<&Warning> = warnings
        .iter()
        .filter(|warning| !said.contains(&warning.code.as_str()))
        .collect();
    html! {
        @if !notes.is_empty() {
            h3 { "Mind" }
            @for warning in notes { p.note { (page_words(&warning.message)) } }
        }
    }
}

/// The two lines that stand under every answer.
pub(super) fn cautions_lines(asked: &Asked) -> Markup {
    html! {
        p.hint {
            @for line in cautions::SHORT.lines() {
                (line.trim_end_matches("heatset cautions").trim_end()) br;
            }
            a href=(asked.to("/cautions", &[])) { "All cautions" }
        }
    }
}

/// What cannot be read or answered, in place of an answer.
pub(super) fn faulty(faults: Vec<Fault>) -> Drawn {
    let several = faults.len() > 1;
    let answer = html! {
        section.problem role="alert" aria-labelledby="answer-title" {
            h2 id="answer-title" {
                @if several { (faults.len()) " things stand in the way of an answer" }
                @else { "One thing stands in the way of an answer" }
            }
            ul.faults {
                @for fault in &faults {
                    li data-fault=[fault.field] {
                        @if let Some(field) = fault.field {
                            a href={ "#" (field) } { (fault.name) } ": "
                        }
                        @for line in fault.words.lines() { span { (line) } " " }
                    }
                }
            }
        }
    };
    Drawn {
        answer,
        short: "No answer yet".to_owned(),
        faults,
        ..Drawn::default()
    }
}
