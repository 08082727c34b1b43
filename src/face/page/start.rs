//! The way in: three people, three doors.

use super::query::Asked;
use super::shell::{self, Room};
use super::state::Shared;
use axum::extract::State;
use maud::{Markup, html};

/// Doors: path, who, what they come for, what they find.
const DOORS: [(&str, &str, &str, &str); 4] = [
    (
        "/heat",
        "I heat a syringe",
        "How long, for this needle?",
        "Choose needle, syringe and push; read how long to heat, how long to cool, and what else would pass.",
    ),
    (
        "/bench",
        "I measure a bench",
        "What do my readings say?",
        "Drop or type a table, see what is wrong with it, fit it, and keep the calibration that answers stand on.",
    ),
    (
        "/charts",
        "I teach the step",
        "What do I show?",
        "Every chart of a calibration, at the size of a slide or of a wall.",
    ),
    (
        "/session",
        "We work today",
        "Which syringe when?",
        "The run sheet of one session, and the log that says whether today's batch still agrees.",
    ),
];

/// The start.
pub(super) async fn start(State(state): State<Shared>, asked: Asked) -> Markup {
    let stands_on = asked.calibration(&state).ok();
    let body = html! {
        h1 { "How long to heat, in numbers" }
        p.lead { "heatset answers from bench readings of heat-set plasma gels: how long to heat for a needle, with honest intervals. It opens on an invented calibration, to be learnt on." }
        ul.doors {
            @for (path, who, question, found) in DOORS {
                li {
                    a href=(asked.to(path, &[])) {
                        span.who { (who) }
                        strong { (question) }
                        span { (found) }
                    }
                }
            }
        }
    };
    shell::page(Room::Start, "Start", &asked, stands_on.as_deref(), &body)
}

/// The cautions, whole.
pub(super) async fn cautions(State(state): State<Shared>, asked: Asked) -> Markup {
    let stands_on = asked.calibration(&state).ok();
    let body = html! {
        h1 { "Cautions" }
        dl.cautions {
            @for caution in crate::face::cautions::ALL {
                dt { (caution.about) }
                dd { (caution.text) }
            }
        }
    };
    shell::page(
        Room::Cautions,
        "Cautions",
        &asked,
        stands_on.as_deref(),
        &body,
    )
}
