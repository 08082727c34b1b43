//! The view of the log: verdict and chart, a form that adds a batch, the entries.

use super::log::{ALL, Held, READING, no_log};
use super::log_fields::{BATCH, MORE, READ, RULES};
use super::log_words;
use crate::batches::{ControlSettings, Entry};
use crate::face::batches_words::verdict_sentence;
use crate::face::cli::for_page;
use crate::face::page::fields::Typed;
use crate::face::page::query::Asked;
use crate::face::page::shelf::Shelved;
use crate::face::page::shell::INVENTED;
use maud::{Markup, html};

/// What is said where no log was named.
pub(super) fn without_log(asked: &Asked) -> Markup {
    html! {
        h1 { "Batch log" }
        (super::rooms(asked, "/session/log"))
        section.card {
            @for line in no_log().to_string().lines() { p { (line) } }
            p { "The log holds each batch against what the calibration predicts of it, and says in a word whether the readings still agree: in line, look, or calibrate again." }
        }
    }
}

/// What the view is made from.
pub(super) struct View<'a> {
    pub(super) asked: &'a Asked,
    pub(super) typed: &'a Typed,
    pub(super) rules: &'a Typed,
    pub(super) settings: &'a ControlSettings,
    pub(super) shelved: &'a Shelved,
    pub(super) name: &'a str,
    pub(super) held: &'a Held,
}

/// The view.
pub(super) fn body(view: &View<'_>) -> Markup {
    let View { asked, held, .. } = view;
    html! {
        h1 { "Batch log" }
        (super::rooms(asked, "/session/log"))
        @if let Some(entry) = &held.added { (added(entry, view.typed)) }
        @if view.typed.is_faulty() { (view.typed.problem()) }
        div.room.of-log {
            section.card.answer {
                @if held.invented { p { strong { (INVENTED) } ", for learning the tool, for nothing else." } }
                (log_words::verdict(&held.judged, view.settings))
                @if held.judged.shewhart.is_some() && !held.judged.charted.is_empty() {
                    img.picture src=(asked.with("/session/log.svg", &[])) width="1200" height="800"
                        alt={ "Control charts of " (view.name) ": " (verdict_sentence(&held.judged)) };
                }
                (rules_form(view))
            }
            (add_form(view))
            section.card {
                h2 { "Entries of " (view.name) }
                @if held.entries.is_empty() {
                    p { "None yet: the first batch that is added begins the log." }
                } @else {
                    p { "The newest " (held.entries.len()) " of " (held.in_log) ", the newest first."
                        @if (held.entries.len() as u64) < held.in_log && asked.get(ALL).is_none() {
                            " " a href=(asked.with("/session/log", &[(ALL, "yes")])) { "Show more" }
                        }
                    }
                    (log_words::table(&held.entries, asked))
                    (chain(held))
                    (exports(asked))
                }
            }
        }
    }
}

fn added(entry: &Entry, typed: &Typed) -> Markup {
    let words = typed.in_page_words(&for_page::entry_words(entry));
    html! {
        div.note role="status" {
            p { strong { "Entry " (entry.number) " is in the log." } }
            @for line in words.lines() { p { (line.trim_start()) } }
        }
    }
}

fn chain(held: &Held) -> Markup {
    html! {
        @match &held.whole {
            Ok(head) => p.hint { "The chain is whole. Its head: " code { (head.get(..12).unwrap_or(head)) }
                "; written down elsewhere it shows later whether the end was cut off." },
            Err(words) => div.loud role="alert" {
                p { "The log is not as it was written: " (words) "." }
                p { "What helps: 'heatset batches check' says every place; go back to a copy from before." }
            },
        }
    }
}

fn exports(asked: &Asked) -> Markup {
    let at = |kind: &str| asked.to("/session/log.csv", &[(READING, kind)]);
    html! {
        h3 { "Accepted readings as a bench table, for a refit" }
        p.links {
            a.button.quiet href=(at("force")) download { "Forces (CSV)" }
            a.button.quiet href=(at("viscosity")) download { "Viscosities (CSV)" }
        }
    }
}

fn rules_form(view: &View<'_>) -> Markup {
    html! {
        details {
            summary { "Rules of the control charts" }
            form method="get" action="/session/log" {
                (view.asked.kept_fields())
                (view.rules.controls(&RULES, view.shelved))
                button.quiet type="submit" { "Judge by these" }
            }
        }
    }
}

fn add_form(view: &View<'_>) -> Markup {
    let View {
        typed,
        shelved,
        held,
        ..
    } = view;
    // What was typed survives a reload until it is an entry; a correction begins from the entry that it mends.
    let kept = typed
        .value("corrects")
        .is_none()
        .then(|| format!("batch-{}", held.in_log));
    html! {
        form.asks id="add" data-once="" data-keep=[kept] method="post" action=(view.asked.to("/session/log", &[])) {
            fieldset {
                legend { "Add a batch" }
                p.hint { "Held against " strong { (shelved.name) } "." }
                (typed.controls(&BATCH, shelved))
            }
            fieldset {
                legend { "What was read" }
                (typed.controls(&READ, shelved))
            }
            fieldset {
                legend { "Correction, codes, more" }
                details open[typed.is_faulty() || typed.value("corrects").is_some()] {
                    summary { "More" }
                    (typed.controls(&MORE, shelved))
                }
            }
            button type="submit" { "Add to the log" }
        }
    }
}
