//! The answer of a calibration that says nothing of a push: when a reading is reached.

use super::super::query::Asked;
use super::super::shell::INVENTED;
use super::answer::{Drawn, cautions_lines, marked, notes};
use super::faults::Fault;
use super::questions::Asking;
use crate::face::answer_words::stands_line;
use crate::face::reading_time_words::{interval, sentence};
use crate::plan::{Least, reading_words, time_for_reading};
use maud::html;

/// The answer, or what has to be asked for one.
///
/// # Errors
/// What is refused, at its field.
pub(super) fn of_reading(asking: &Asking<'_>, asked: &Asked) -> Result<Drawn, Fault> {
    let blend = asking.blend();
    let quantity = blend.reading.quantity();
    let nothing_of_a_push = format!(
        "Blend {} was measured as {quantity}, which says nothing about a push through a needle.",
        blend.blend
    );
    let Some(Least::Reading(reading)) = asking.setting.least else {
        let first = format!(
            "{nothing_of_a_push} Name the {quantity} that you want, and it says how long to heat for it."
        );
        return Ok(Drawn {
            answer: html! {
                section.card.answer aria-labelledby="answer-title" {
                    h2.unseen id="answer-title" { "How long to heat" }
                    p.first { (first) }
                    p { "What helps for a needle: a bench of viscosities, or of plunger forces through a known needle." }
                }
            },
            short: "Name a reading for an answer".to_owned(),
            ..Drawn::default()
        });
    };
    let answer = time_for_reading(blend, &asking.reading_question(reading))
        .map_err(|error| Fault::of_plan(&error))?;
    let first = sentence(&answer, &reading_words(blend, reading), quantity);
    Ok(Drawn {
        answer: html! {
            section.card.answer aria-labelledby="answer-title" {
                h2.unseen id="answer-title" { "How long to heat" }
                @if asking.shelved.calibration.invented { p { span.tag { (INVENTED) } } }
                @if answer.extrapolated { p.loud role="alert" { strong { "EXTRAPOLATED: this lies outside what was measured." } } }
                p.first { (first) }
                @if let Some(line) = interval(&answer) { p { (line) } }
                p.note { (nothing_of_a_push) }
            }
        },
        ground: html! {
            section.card aria-labelledby="ground-title" {
                h2 id="ground-title" { "What it stands on" }
                p { (stands_line(&asking.shelved.name, blend)) }
                (notes(asking.warm_up_warnings()))
                (notes(&blend.warnings))
                (cautions_lines(asked))
            }
        },
        short: marked(
            &first,
            asking.shelved.calibration.invented,
            answer.extrapolated,
        ),
        ..Drawn::default()
    })
}
