//! The bench room: a table of readings in, its faults at their cells, a calibration out.
//!
//! Whatever is sent is kept in memory under a code of its content, and every post leads to an
//! address that can be reloaded.
//!
//! | file | holds |
//! |---|---|
//! | [`entry`] | the three ways in: a file, pasted text, a grid |
//! | [`posted`] | what a form brought |
//! | [`grid`] | the grid's cells as text of a table |
//! | [`columns`] | the columns that a grid can have, in words |
//! | [`tables`] | the tables that are kept |
//! | [`written`] | what is kept of a table to be shown |
//! | [`cells`] | which cell of a table a fault belongs to |
//! | [`table_view`] | a table: what it holds, or what is wrong with it, and the choices of a fit |
//! | [`choices`] | the choices as they are typed, to the options of a fit |
//! | [`choices_form`] | the choices in words |
//! | [`fits`] | the fits that wait, run and have ended |
//! | [`fit_view`] | a fit: its progress, then its result in sentences |
//! | [`next_view`] | what to measure next |

mod cells;
mod choices;
mod choices_form;
mod columns;
mod entry;
mod fit_view;
mod fits;
mod grid;
mod next_view;
mod page_words;
mod posted;
mod table_view;
mod tables;
mod written;

use super::problem::PageError;
use super::state::Shared;
use axum::Router;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use fits::Fits;
use tables::Tables;

/// Script of this room: rows of the grid, pasting into it, progress.
const SCRIPT: &str = include_str!("../assets/bench.js");

/// What the room keeps.
#[derive(Debug, Default)]
pub(super) struct BenchRoom {
    tables: Tables,
    fits: Fits,
}

/// The room's views.
pub(super) fn routes() -> Router<Shared> {
    Router::new()
        .route("/bench", get(entry::entry))
        .route("/bench/bench.js", get(script))
        .route("/bench/template.csv", get(template))
        .route("/bench/template.xlsx", get(workbook))
        .route("/bench/table", post(entry::take))
        .route("/bench/worksheet", post(entry::worksheet))
        .route("/bench/table/{code}", get(table_view::table))
        .route("/bench/fit", post(fit_view::start))
        .route("/bench/fit/{code}", get(fit_view::fit))
        .route("/bench/fit/{code}/{file}", get(fit_view::file))
}

async fn script() -> Response {
    (
        [(header::CONTENT_TYPE, "text/javascript; charset=utf-8")],
        SCRIPT,
    )
        .into_response()
}

/// A blank table, to fill in elsewhere.
async fn template() -> Response {
    let table = crate::readings::blank_bench_table();
    saved("text/csv; charset=utf-8", "bench-template.csv", table)
}

/// The same as a workbook.
async fn workbook() -> Result<Response, PageError> {
    let book = crate::readings::blank_bench_workbook()
        .map_err(|error| PageError::words(error.to_string()))?;
    Ok(saved(
        "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        "bench-template.xlsx",
        book,
    ))
}

fn saved(kind: &'static str, name: &str, body: impl IntoResponse) -> Response {
    (
        [
            (header::CONTENT_TYPE, kind.to_owned()),
            (
                header::CONTENT_DISPOSITION,
                format!("attachment; filename=\"{name}\""),
            ),
        ],
        body,
    )
        .into_response()
}
