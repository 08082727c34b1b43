//! The view of this room, and its parts as the script asks for them.

use super::super::problem::PageError;
use super::super::query::Asked;
use super::super::shelf::Shelved;
use super::super::shell::{self, Room};
use super::super::state::{PageState, Shared};
use super::answer::{Drawn, answer, faulty};
use super::beside::{Beside, beside, what_if_s};
use super::controls::{FORM, Fields, form, heat_time, tick};
use super::faults::Fault;
use super::keys;
use super::of_reading::of_reading;
use super::questions::{Answered, Asking};
use super::setting::{Setting, chosen_blend};
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use std::sync::Arc;

/// Name of the part that answers.
const ANSWER: &str = "answer";
/// Name of the part that stands beside it and is asked for once the answer is drawn.
const BESIDE: &str = "beside";
/// Header by which the script knows a part, whatever its status.
const PART_HEADER: &str = "x-heatset-part";

/// How long to heat.
pub(in super::super) async fn heat(
    State(state): State<Shared>,
    asked: Asked,
) -> Result<Response, PageError> {
    let shelved = asked.calibration(&state)?;
    let shown = asked.shown();
    let drawing = Arc::clone(&state);
    state
        .work
        .answer(shown, move || drawn(&drawing, &asked, &shelved))
        .await
}

/// What was reckoned for an address.
enum Outcome<'a> {
    OfPush(Box<Asking<'a>>, Arc<Answered>),
    OfReading(Box<Asking<'a>>),
    Faulty(Vec<Fault>),
}

fn reckoned<'a>(state: &PageState, asked: &Asked, shelved: &'a Shelved) -> Outcome<'a> {
    let asking = Setting::read(asked, shelved).and_then(|setting| {
        Asking::new(state, shelved, setting).map_err(|error| vec![Fault::of_plan(&error)])
    });
    match asking {
        Err(faults) => Outcome::Faulty(faults),
        Ok(asking) if !asking.blend().answers_pushes() => Outcome::OfReading(Box::new(asking)),
        Ok(asking) => match asking.answered(state) {
            Ok(answered) => Outcome::OfPush(Box::new(asking), answered),
            Err(fault) => Outcome::Faulty(vec![fault]),
        },
    }
}

fn drawn(state: &PageState, asked: &Asked, shelved: &Shelved) -> Response {
    let outcome = reckoned(state, asked, shelved);
    if asked.wants(BESIDE) {
        let beside = beside_of(asked, &outcome);
        return part(StatusCode::OK, BESIDE, &beside_part(&beside));
    }
    let drawn = match &outcome {
        Outcome::OfPush(asking, answered) => answer(asking, answered, asked),
        Outcome::OfReading(asking) => match of_reading(asking, asked) {
            Ok(drawn) => drawn,
            Err(fault) => faulty(vec![fault]),
        },
        Outcome::Faulty(faults) => faulty(faults.clone()),
    };
    let status = if drawn.faults.is_empty() {
        StatusCode::OK
    } else {
        StatusCode::UNPROCESSABLE_ENTITY
    };
    if asked.wants(ANSWER) {
        return part(status, ANSWER, &answer_part(&drawn));
    }
    let beside = beside_of(asked, &outcome);
    let body = whole(asked, shelved, &outcome, &drawn, &beside);
    let page = shell::page(Room::Heat, "How long to heat", asked, Some(shelved), &body);
    (status, page).into_response()
}

fn part(status: StatusCode, name: &'static str, markup: &Markup) -> Response {
    (status, [(PART_HEADER, name)], markup.clone()).into_response()
}

fn beside_of(asked: &Asked, outcome: &Outcome<'_>) -> Beside {
    match outcome {
        Outcome::OfPush(asking, answered) => beside(asking, answered, asked),
        Outcome::OfReading(_) | Outcome::Faulty(_) => Beside::default(),
    }
}

/// The answer, and what the script puts elsewhere.
fn answer_part(drawn: &Drawn) -> Markup {
    let (address, finding) = drawn.picture.clone().unwrap_or_default();
    html! {
        (drawn.answer)
        div hidden data-into="ground" { (drawn.ground) }
        div hidden data-into="in-short" { (drawn.short) }
        div hidden data-into="said" { (drawn.short) }
        span hidden data-picture="window-picture" data-address=(address) data-finding=(finding) {}
    }
}

fn beside_part(beside: &Beside) -> Markup {
    html! {
        div data-into="others" { (beside.others) }
        div data-into="longer" { (beside.longer) }
        div data-into="standing" { (beside.standing) }
    }
}

fn whole(
    asked: &Asked,
    shelved: &Shelved,
    outcome: &Outcome<'_>,
    drawn: &Drawn,
    beside: &Beside,
) -> Markup {
    let blend = chosen_blend(asked, &shelved.calibration);
    let pushes = blend.is_none_or(crate::fit::BlendCalibration::answers_pushes);
    let what_if = match outcome {
        Outcome::OfPush(asking, answered) => Some(what_if_s(asking, &answered.answer)),
        _ => None,
    };
    let fields = Fields {
        asked,
        faults: &drawn.faults,
    };
    let practice = asked.get(keys::COMMON_PRACTICE) == Some(keys::YES);
    html! {
        h1 { "How long to heat" }
        div.heat {
            (form(&fields, shelved))
            div.answers {
                p.unseen role="status" id="said" {}
                div id="answer" { (drawn.answer) }
                @if pushes {
                    (picture(drawn))
                    section.card aria-labelledby="longer-title" {
                        h2 id="longer-title" { "What if it was heated longer?" }
                        @if let Some(blend) = blend { (heat_time(&fields, blend, what_if)) }
                        div id="longer" { (beside.longer) }
                    }
                    section.card aria-labelledby="others-title" {
                        h2 id="others-title" { "Other needles and speeds" }
                        div id="others" { (beside.others) }
                    }
                    section.card aria-labelledby="standing-title" {
                        h2 id="standing-title" { "Left standing" }
                        div id="standing" { (beside.standing) }
                        (tick(keys::COMMON_PRACTICE, "Tell me too what is usual where nobody measured", practice, Some(FORM)))
                    }
                }
                div id="ground" { (drawn.ground) }
            }
        }
        a.in-short href="#answer" { span id="in-short" { (drawn.short) } }
    }
}

/// The chart of the window, and that of the push for whoever opens it.
fn picture(drawn: &Drawn) -> Markup {
    let (address, finding) = drawn.picture.clone().unwrap_or_default();
    let shown = drawn.picture.is_some();
    html! {
        figure.card hidden[!shown] {
            h2 { "The window" }
            img.picture id="window-picture" src=[shown.then_some(&address)] alt=(finding) width="1200" height="800";
            details.plain {
                summary { "The push while it heats" }
                img.picture id="force-picture" data-beside="force.svg" src=[shown.then(|| address.replacen("window.svg", "force.svg", 1))] alt="Push against heat time through this needle: the same limit, by the best estimate and its 95 % band" width="1200" height="800" loading="lazy";
            }
        }
    }
}
