//! The calibrations that answers can stand on: choose one, hand one over, save one.

use super::problem::PageError;
use super::query::{Asked, CALIBRATION};
use super::shelf::plain_name;
use super::shell::{self, Room};
use super::state::Shared;
use crate::fit::Calibration;
use axum::extract::{Multipart, Path, State};
use axum::http::header;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

/// The list, and the way to hand one over.
pub(super) async fn list(State(state): State<Shared>, asked: Asked) -> Markup {
    let stands_on = asked.calibration(&state).ok();
    let body = html! {
        h1 { "Calibrations" }
        p.lead { "What answers can stand on. Files that are handed over stay in this page's memory until it ends; the same file gets the same address again." }
        ul.shelf {
            @for shelved in state.shelf.all() {
                li {
                    strong { (shelved.name) }
                    @if shelved.calibration.invented { " " span.tag { (shell::INVENTED) } }
                    span.blends {
                        @for blend in &shelved.calibration.blends { span { (blend.blend) } }
                    }
                    a.button href=(asked.to("/heat", &[(CALIBRATION, &shelved.code)])) {
                        "Answer from it" span.unseen { ": " (shelved.name) }
                    }
                    a href={ "/calibrations/" (shelved.code) ".json" } download {
                        "Save it" span.unseen { ": " (shelved.name) }
                    }
                }
            }
        }
        form.hand-over method="post" action=(asked.to("/calibrations", &[])) enctype="multipart/form-data" {
            label { span { "A calibration file, from 'heatset fit --out' or saved here" }
                input type="file" name="calibration" accept=".json,application/json" required; }
            button type="submit" { "Hand it over" }
        }
    };
    shell::page(
        Room::Calibrations,
        "Calibrations",
        &asked,
        stands_on.as_deref(),
        &body,
    )
}

/// Takes a calibration file and answers from it.
pub(super) async fn hand_over(
    State(state): State<Shared>,
    asked: Asked,
    mut form: Multipart,
) -> Result<Response, PageError> {
    while let Some(field) = form.next_field().await.map_err(not_read)? {
        if field.name() != Some("calibration") {
            continue;
        }
        let name = plain_name(field.file_name().unwrap_or_default());
        let bytes = field.bytes().await.map_err(not_read)?;
        let document = String::from_utf8(bytes.to_vec()).map_err(|_| {
            PageError::words(format!("{name} is not text, and a calibration is.\nWhat helps: hand over the .json that a fit wrote"))
        })?;
        let calibration = Calibration::from_json(&name, &document)
            .map_err(|error| PageError::words(error.to_string()))?;
        let shelved = state.shelf.put(&name, calibration, document);
        let to = asked.to("/heat", &[(CALIBRATION, &shelved.code)]);
        return Ok(Redirect::to(&to).into_response());
    }
    Err(PageError::words(
        "No file came along.\nWhat helps: choose a calibration file, then send it",
    ))
}

/// A calibration's document, to be saved.
pub(super) async fn save(
    State(state): State<Shared>,
    Path(file): Path<String>,
) -> Result<Response, PageError> {
    let code = file.strip_suffix(".json").ok_or(PageError::NoView)?;
    let shelved = state.shelf.find(code).ok_or(PageError::NoView)?;
    Ok((
        [
            (header::CONTENT_TYPE, "application/json".to_owned()),
            (
                header::CONTENT_DISPOSITION,
                // The code alone: a name that was handed over never stands in a header.
                format!("attachment; filename=\"calibration-{}.json\"", shelved.code),
            ),
        ],
        shelved.document.clone(),
    )
        .into_response())
}

fn not_read(error: axum::extract::multipart::MultipartError) -> PageError {
    if error.status() == axum::http::StatusCode::PAYLOAD_TOO_LARGE {
        PageError::TooLarge {
            limit: super::routes::LARGEST_WORDS,
        }
    } else {
        PageError::words("What was sent ended early or is no form.\nWhat helps: send it again")
    }
}
