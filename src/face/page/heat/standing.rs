//! Left standing: until when the needle still passes the gel, where anybody measured it.

use super::beside::{own_notes, refused};
use super::faults::{Fault, page_words};
use super::questions::{Answered, Asking};
use crate::face::standing_words::{PRACTICE, PRACTICE_BASIS, until_words};
use crate::plan::{
    NOT_A_SHELF_LIFE, PASSING_ONLY_WORDS, PlanError, StandAnswer, StandQuestion, stand,
};
use crate::units::display;
use maud::{Markup, html};

/// The part.
pub(super) fn standing(asking: &Asking<'_>, answered: &Answered) -> Markup {
    let blend = asking.blend();
    html! {
        @if blend.standing.is_none() {
            @for line in not_known(&blend.blend).lines() { p { (page_words(line)) } }
        } @else {
            @match answered.answer.heat_time_s.aim {
                None => { p { "No heat time is aimed at here, so there is no gel to let stand." } }
                Some(aim_s) => {
                    @let question = asking.stand_question(&answered.question, aim_s);
                    @match stand(blend, &question) {
                        Err(error) => { (refused(&Fault::of_plan(&error))) }
                        Ok(answer) => { (known(&answer, &question, answered)) }
                    }
                }
            }
        }
        @if asking.setting.common_practice { (common_practice()) }
    }
}

/// That nobody measured it.
fn not_known(blend: &str) -> String {
    PlanError::NoStanding {
        blend: blend.to_owned(),
    }
    .to_string()
}

fn known(answer: &StandAnswer, question: &StandQuestion, answered: &Answered) -> Markup {
    let heated = format!(
        "Heated {} at {}",
        display::duration(question.heat_time_s),
        display::temperature(question.set_kelvin)
    );
    html! {
        @if answer.assumptions.extrapolated { p.loud { strong { "EXTRAPOLATED: this lies outside what was measured." } } }
        @if answer.passes_at_once {
            p { (heated) " and cooled, the gel passes the needle, in 95 of 100 syringes, until:" }
            ul {
                @for at in &answer.at {
                    li {
                        strong { "standing at " (display::temperature(at.stand_temp_k)) ": " }
                        (until_words(at, answer.form))
                        @if at.extrapolated { strong { ", extrapolated" } }
                    }
                }
            }
        } @else {
            p { (heated) ", the gel does not pass reliably even at once." }
        }
        p { (NOT_A_SHELF_LIFE) }
        p { (PASSING_ONLY_WORDS) }
        (own_notes(&without_passing_only(answer), &answered.answer.warnings))
    }
}

/// Its words stand above.
fn without_passing_only(answer: &StandAnswer) -> Vec<crate::fit::Warning> {
    answer
        .warnings
        .iter()
        .filter(|warning| warning.code != crate::plan::PASSING_ONLY)
        .cloned()
        .collect()
}

/// What is usual where nobody measured, marked as such.
fn common_practice() -> Markup {
    html! {
        div.loud {
            p { strong { "COMMON PRACTICE, NO SOURCE." } " What is usual where nobody measured:" }
            ul { @for (kept, usual) in PRACTICE { li { (kept) ": " (usual) } } }
            p { (PRACTICE_BASIS) }
            p { (PASSING_ONLY_WORDS) }
        }
    }
}
