//! What the log says: the verdict first, then the batches.

use crate::batches::{ControlSettings, Entry, Judged, Reading};
use crate::face::batches_words::{
    control_words, predicted_words, reading_words, state_words, verdict_words,
};
use crate::face::cli::for_page::log_notes;
use crate::face::page::query::Asked;
use crate::units::display;
use maud::{Markup, html};

/// The verdict, the rules that say so, the limits.
pub(super) fn verdict(judged: &Judged, settings: &ControlSettings) -> Markup {
    let words = verdict_words(judged, settings);
    html! {
        @for (place, line) in words.lines().enumerate() {
            p class=[(place == 0).then_some("first")] { (line.trim_start()) }
        }
        @if let Some(line) = control_words(judged, settings) { p.hint { (line) } }
        @for note in log_notes(judged) { p.note { (in_words_of_the_page(&note.message)) } }
    }
}

/// A note with the fields of the form in place of the options that they state.
fn in_words_of_the_page(note: &str) -> String {
    note.replace("--leave-out does", "leaving out a reading does")
        .replace("--corrects does", "a correction does")
}

/// The entries, one a row.
pub(super) fn table(entries: &[Entry], asked: &Asked) -> Markup {
    html! {
        div.wide tabindex="0" role="region" aria-label="Entries" {
            table {
                thead { tr {
                    @for name in ["entry", "time (UTC)", "lot", "heated", "read", "predicted (95 %)", "z (sd)", "interval; refit"] {
                        th scope="col" { (name) }
                    }
                } }
                tbody { @for entry in entries.iter().rev() { (row(entry, asked)) } }
            }
        }
    }
}

fn row(entry: &Entry, asked: &Asked) -> Markup {
    let entered = &entry.entered;
    let minute = entered.time.get(..16).unwrap_or(&entered.time);
    html! {
        tr {
            th scope="row" {
                (entry.number)
                @if entry.stands() {
                    br;
                    a href=(correction(entry, asked)) { "Correct" span.unseen { " entry " (entry.number) } }
                }
            }
            td { (minute.replace('T', " ")) }
            td { (entered.codes.lot) }
            td { (display::temperature(entered.heated.set_kelvin)) ", " (display::duration(entered.heated.heat_time_s)) }
            td.number { (reading_words(&entered.reading)) }
            td { (predicted_words(entry)) }
            td.number { @match entered.prediction { Some(p) => { (format!("{:+.2}", p.z_sd)) } None => "-" } }
            td { @match entered.prediction {
                Some(p) if p.inside => "inside",
                Some(_) => strong { "outside" },
                None => "-",
            } "; " (state_words(entry)) }
        }
    }
}

/// The form, filled with what stays as it was; what was read is read from the paper again.
fn correction(entry: &Entry, asked: &Asked) -> String {
    let entered = &entry.entered;
    let number = entry.number.to_string();
    let celsius = display::celsius(entered.heated.set_kelvin);
    let minutes = display::at_most(entered.heated.heat_time_s / 60.0, 6);
    let mut pairs = vec![
        ("corrects", number.as_str()),
        ("lot", &entered.codes.lot),
        ("blend", &entered.blend),
        ("at_C", &celsius),
        ("heat_time_min", &minutes),
    ];
    let gauge;
    if let Reading::PlungerForce { push, .. } = &entered.reading {
        gauge = push.gauge.map(|gauge| gauge.to_string());
        pairs.extend(gauge.as_deref().map(|gauge| ("gauge", gauge)));
        pairs.extend(push.syringe.as_deref().map(|name| ("syringe", name)));
    }
    format!("{}#add", asked.to("/session/log", &pairs))
}
