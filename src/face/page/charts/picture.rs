//! The picture itself: drawn, kept, served.

use super::question::Question;
use crate::chart::ChartFormat;
use crate::face::cli::for_page::{self, Fault, StandsOn};
use crate::face::page::pictures::{Picture, file_kind};
use crate::face::page::problem::PageError;
use crate::face::page::query::Asked;
use crate::face::page::shelf::Shelved;
use crate::face::page::state::Shared;
use axum::body::Bytes;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Key with which a picture is saved, not shown.
pub(super) const SAVE: &str = "save";

/// The picture as SVG.
pub(super) async fn svg(State(state): State<Shared>, asked: Asked) -> Result<Response, PageError> {
    served(&state, &asked, ChartFormat::Svg).await
}

/// The picture as PNG.
pub(super) async fn png(State(state): State<Shared>, asked: Asked) -> Result<Response, PageError> {
    served(&state, &asked, ChartFormat::Png).await
}

async fn served(state: &Shared, asked: &Asked, format: ChartFormat) -> Result<Response, PageError> {
    let shelved = asked.calibration(state)?;
    let mut question = Question::of(asked, &shelved);
    let picture = match drawn(state, asked, &shelved, &question, format).await? {
        Ok(picture) => picture,
        Err(faults) => {
            question.typed.mark(faults);
            return Err(PageError::words(question.typed.words()));
        }
    };
    let (ending, kind) = file_kind(format);
    let how = if asked.get(SAVE).is_some() {
        "attachment"
    } else {
        "inline"
    };
    Ok((
        [
            (header::CONTENT_TYPE, kind.to_owned()),
            (
                header::CONTENT_DISPOSITION,
                // The kind's word alone: nothing that was typed stands in a header.
                format!(
                    "{how}; filename=\"heatset-{}.{ending}\"",
                    question.kind.word
                ),
            ),
        ],
        picture.bytes.clone(),
    )
        .into_response())
}

/// The picture, from what is kept or drawn anew; a raster waits for its turn.
pub(super) async fn drawn(
    state: &Shared,
    asked: &Asked,
    shelved: &Arc<Shelved>,
    question: &Question,
    format: ChartFormat,
) -> Result<Result<Arc<Picture>, Vec<Fault>>, PageError> {
    if question.typed.is_faulty() {
        return Ok(Err(for_page::chart_faults(
            question.kind.word,
            &question.stated,
        )));
    }
    let kind = question.kind.word;
    let shown = asked.shown();
    let key = format!(
        "{} {kind} {:?} {shown:?} {format:?}",
        shelved.sha256, question.stated
    );
    // A log grows while the page runs: its chart is drawn anew every time.
    let log: Option<PathBuf> = state.log.clone().filter(|_| kind == super::kinds::BATCHES);
    if log.is_none()
        && let Some(kept) = state.pictures.find(&key)
    {
        return Ok(Ok(kept));
    }
    let on = StandsOn {
        calibration: shelved.calibration.clone(),
        name: shelved.name.clone(),
        sha256: shelved.sha256.clone(),
        seed: state.seed,
    };
    let stated = question.stated.clone();
    let has_log = log.is_some();
    let work = move || -> Result<Arc<Picture>, Vec<Fault>> {
        let (drawn, size) = for_page::chart(kind, &stated, on, log.as_deref())
            .map_err(|faults| without_path(faults, log.as_deref()))?;
        let bytes = drawn.chart.draw(format, size).map_err(|error| {
            vec![Fault {
                option: None,
                message: error.to_string(),
            }]
        })?;
        Ok(Arc::new(Picture {
            key,
            bytes: Bytes::from(bytes),
            finding: drawn.finding,
            size,
        }))
    };
    let drawn = match format {
        ChartFormat::Svg => state.work.answer(shown, work).await?,
        ChartFormat::Png => state.pictures.in_turn(shown, work).await?,
    };
    if let Ok(picture) = &drawn
        && !has_log
    {
        state.pictures.keep(Arc::clone(picture));
    }
    Ok(drawn)
}

/// Faults with the log's name in place of its path, and what helps here.
fn without_path(mut faults: Vec<Fault>, log: Option<&Path>) -> Vec<Fault> {
    let Some(log) = log else { return faults };
    let name = log.file_name().unwrap_or_default().to_string_lossy();
    for fault in &mut faults {
        fault.message = fault
            .message
            .replace(&log.display().to_string(), &name)
            .replace(
                "'heatset batches add' begins one",
                "'Batch log' under 'Session' begins one",
            );
    }
    faults
}
