//! The room of a session: its run sheet, and the log that says whether today's batch still agrees.
//!
//! | file | holds |
//! |---|---|
//! | [`sheet`] | the run sheet: view, paper, labels, table |
//! | [`sheet_fields`] | its fields |
//! | [`log`] | the log of batches: reading, adding, export |
//! | [`log_view`] | its view |
//! | [`log_fields`] | the fields of a batch |
//! | [`log_words`] | what the log says |

mod log;
mod log_fields;
mod log_view;
mod log_words;
mod sheet;
mod sheet_fields;

use super::query::Asked;
use super::state::Shared;
use axum::Router;
use axum::routing::get;
use maud::{Markup, html};

/// The addresses of the room.
pub(super) fn routes() -> Router<Shared> {
    Router::new()
        .route("/session", get(sheet::view))
        .route("/session/sheet.html", get(sheet::paper))
        .route("/session/labels.html", get(sheet::label_sheet))
        .route("/session/sheet.csv", get(sheet::table))
        .route("/session/log", get(log::view).post(log::add))
        .route("/session/log.svg", get(log::chart))
        .route("/session/log.csv", get(log::export))
}

/// The two halves of the room.
fn rooms(asked: &Asked, here: &str) -> Markup {
    html! {
        nav.kinds aria-label="Session" {
            @for (path, name) in [("/session", "Run sheet"), ("/session/log", "Batch log")] {
                a href=(asked.to(path, &[])) aria-current=[(path == here).then_some("page")] { (name) }
            }
        }
    }
}
