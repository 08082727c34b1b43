//! Charts of the setting that an address asks about, by addresses of their own with the same query.

use super::super::problem::PageError;
use super::super::query::Asked;
use super::super::shelf::Shelved;
use super::super::state::{PageState, Shared};
use super::faults::Fault;
use super::questions::Asking;
use super::setting::Setting;
use crate::chart::{Chart, ChartSize};
use crate::face::drawings::{self, DrawingError, ForceDrawing};
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use std::sync::Arc;

/// The chart of the heat window.
pub(in super::super) async fn window_picture(
    State(state): State<Shared>,
    asked: Asked,
) -> Result<Response, PageError> {
    picture(state, asked, |state, asking| {
        let answered = asking.answered(state).map_err(refused)?;
        let chart = drawings::window_of(
            &asking.shelved.calibration,
            asking.blend(),
            &answered.question,
            &answered.answer,
        );
        svg(chart)
    })
    .await
}

/// The chart of the push against heat time.
pub(in super::super) async fn force_picture(
    State(state): State<Shared>,
    asked: Asked,
) -> Result<Response, PageError> {
    picture(state, asked, |state, asking| {
        let answered = asking.answered(state).map_err(refused)?;
        let question = &answered.question;
        let drawing = ForceDrawing {
            set_kelvin: question.set_kelvin,
            setup: question.setup.clone(),
            needles: vec![question.setup.needle.clone()],
            thinning: question.thinning,
            warm_up: question.warm_up.clone(),
            seed: question.seed,
            extrapolated: answered.answer.assumptions.extrapolated,
        };
        svg(drawings::force(
            &asking.shelved.calibration,
            asking.blend(),
            &drawing,
        ))
    })
    .await
}

async fn picture(
    state: Shared,
    asked: Asked,
    draw: impl FnOnce(&PageState, &Asking<'_>) -> Result<String, PageError> + Send + 'static,
) -> Result<Response, PageError> {
    let shelved = asked.calibration(&state)?;
    let shown = asked.shown();
    let drawing = Arc::clone(&state);
    let svg = state
        .work
        .answer(shown, move || {
            let asking = asking(&drawing, &shelved, &asked)?;
            draw(&drawing, &asking)
        })
        .await??;
    Ok(([(header::CONTENT_TYPE, "image/svg+xml")], svg).into_response())
}

fn asking<'a>(
    state: &PageState,
    shelved: &'a Shelved,
    asked: &Asked,
) -> Result<Asking<'a>, PageError> {
    let setting = Setting::read(asked, shelved).map_err(|faults| {
        let words: Vec<String> = faults
            .iter()
            .map(|fault| format!("{}: {}", fault.name, fault.words))
            .collect();
        PageError::words(words.join("\n"))
    })?;
    Asking::new(state, shelved, setting).map_err(|error| refused(Fault::of_plan(&error)))
}

fn refused(fault: Fault) -> PageError {
    PageError::words(fault.words)
}

fn svg<C: Chart>(chart: Result<C, DrawingError>) -> Result<String, PageError> {
    chart
        .and_then(|chart| Ok(chart.draw_svg(ChartSize::default())?))
        .map_err(|error| PageError::words(super::faults::page_words(&error.to_string())))
}
