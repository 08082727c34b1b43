//! What stands beside an answer: other needles and speeds, longer heating, standing.

use super::super::query::Asked;
use super::answer::notes;
use super::faults::Fault;
use super::others::others;
use super::questions::{Answered, Asking};
use super::said::push_lines;
use super::standing::standing;
use crate::plan::{TimeAnswer, force_for_heat_time};
use maud::{Markup, html};

/// How much longer than the latest time 'what if' begins with.
const LONGER: f64 = 1.25;
/// To which step, in s.
const ROUND_S: f64 = 10.0;

/// The pieces that stand beside an answer.
#[derive(Default)]
pub(super) struct Beside {
    /// Other needles and speeds.
    pub(super) others: Markup,
    /// What longer heating does.
    pub(super) longer: Markup,
    /// Standing.
    pub(super) standing: Markup,
}

/// Everything beside an answer.
pub(super) fn beside(asking: &Asking<'_>, answered: &Answered, asked: &Asked) -> Beside {
    Beside {
        others: others(asking, answered, asked),
        longer: longer(asking, answered),
        standing: standing(asking, answered),
    }
}

/// The heat time of 'what if': as asked, else a quarter longer than the latest, within what was
/// measured.
pub(super) fn what_if_s(asking: &Asking<'_>, answer: &TimeAnswer) -> f64 {
    let [shortest, longest] = asking.blend().range.heat_time_s;
    asking.setting.heat_time_s.unwrap_or_else(|| {
        let latest = answer
            .heat_time_s
            .not_beyond
            .or(answer.heat_time_s.aim)
            .unwrap_or(shortest);
        (ROUND_S * (LONGER * latest / ROUND_S).round()).clamp(shortest, longest)
    })
}

/// The push after another heat time.
fn longer(asking: &Asking<'_>, answered: &Answered) -> Markup {
    let heat_time_s = what_if_s(asking, &answered.answer);
    let question = asking.force_question(&answered.question, heat_time_s);
    match force_for_heat_time(asking.blend(), &question) {
        Err(error) => refused(&Fault::of_plan(&error)),
        Ok(answer) => {
            let passes = answer.needles.first().is_some_and(|needle| needle.passes);
            let lines = push_lines(&answer, &question.setup);
            html! {
                @if answer.assumptions.extrapolated { p.loud { strong { "EXTRAPOLATED: this lies outside what was measured." } } }
                div.what-if.passes[passes].passes-not[!passes] {
                    @for line in &lines { p { (line) } }
                }
            }
        }
    }
}

/// A refusal in place of a part.
pub(super) fn refused(fault: &Fault) -> Markup {
    html! {
        div.problem data-fault=[fault.field] {
            @for line in fault.words.lines() { p { (line) } }
        }
    }
}

/// Cautions that only this part adds.
pub(super) fn own_notes(warnings: &[crate::fit::Warning], known: &[crate::fit::Warning]) -> Markup {
    let own: Vec<_> = warnings
        .iter()
        .filter(|warning| known.iter().all(|k| k.code != warning.code))
        .cloned()
        .collect();
    notes(&own)
}
