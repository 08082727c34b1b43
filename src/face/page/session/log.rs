//! The log of batches: whether today's batch still agrees. Which file it is was said when the page was
//! started; no request can name one.

use super::log_fields::{AT, BATCH, HEAT_TIME, MORE, READ, RULES};
use super::log_view::{View, body, without_log};
use crate::batches::{BatchLog, BatchesError, ControlSettings, Entry, Judged, judge};
use crate::chart::Chart as _;
use crate::chart::ChartSize;
use crate::face::cli::CliError;
use crate::face::cli::for_page::{self, Fault, StandsOn};
use crate::face::page::fields::{self, Typed};
use crate::face::page::problem::PageError;
use crate::face::page::query::Asked;
use crate::face::page::shelf::Shelved;
use crate::face::page::shell::{self, Room};
use crate::face::page::state::Shared;
use crate::readings::ReadingKind;
use crate::units::shown::showing;
use axum::body::Bytes;
use axum::extract::State;
use axum::extract::rejection::BytesRejection;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use maud::Markup;
use std::path::Path;
use std::sync::Arc;

/// Entries that are shown.
const SHOWN: usize = 20;
/// Entries that are shown where all are asked for: what a browser still scrolls at ease.
const MOST_SHOWN: usize = 2000;
/// Key with which more than the newest are shown.
pub(super) const ALL: &str = "all";
/// Key of the entry that was added a moment ago.
const ADDED: &str = "added";
/// Key of the kind of reading of an export.
pub(super) const READING: &str = "reading";

/// What the log holds.
pub(super) struct Held {
    pub(super) entries: Vec<Entry>,
    pub(super) in_log: u64,
    pub(super) judged: Judged,
    pub(super) invented: bool,
    pub(super) added: Option<Entry>,
    /// Head of the chain, or where the log was altered.
    pub(super) whole: Result<String, String>,
}

/// The view.
pub(super) async fn view(State(state): State<Shared>, asked: Asked) -> Result<Response, PageError> {
    let shelved = asked.calibration(&state)?;
    let mut typed = batch_typed(&asked, &shelved);
    // An address that links here carries needle and push; nothing is wrong with what is not sent yet.
    let _ = typed.stated();
    typed.forgive();
    shown(&state, &asked, &shelved, &typed, StatusCode::OK).await
}

/// Adds a batch.
pub(super) async fn add(
    State(state): State<Shared>,
    asked: Asked,
    body: Result<Bytes, BytesRejection>,
) -> Result<Response, PageError> {
    let body = body.map_err(|rejection| {
        if rejection.status() == StatusCode::PAYLOAD_TOO_LARGE {
            PageError::TooLarge {
                limit: crate::face::page::routes::LARGEST_WORDS,
            }
        } else {
            PageError::words("What was sent ended early.\nWhat helps: send it again")
        }
    })?;
    let log = state.log.clone().ok_or_else(no_log)?;
    let pairs = form_urlencoded::parse(&body).into_owned().collect();
    let asked = asked.sent(pairs);
    let shelved = asked.calibration(&state)?;
    let mut typed = batch_typed(&asked, &shelved);
    let stated = typed.stated();
    for (field, words) in [
        (
            &super::log_fields::LOT,
            "the code of the lot is needed, such as C-17",
        ),
        (&AT, "the temperature of the block is needed"),
        (&HEAT_TIME, "the heat time is needed"),
    ] {
        if typed.value(field.key()).is_none() {
            typed.blame(field.key(), words);
        }
    }
    if typed.is_faulty() {
        typed.mark(for_page::batch_faults(&stated));
        return shown(
            &state,
            &asked,
            &shelved,
            &typed,
            StatusCode::UNPROCESSABLE_ENTITY,
        )
        .await;
    }
    let on = StandsOn {
        calibration: shelved.calibration.clone(),
        name: shelved.name.clone(),
        sha256: shelved.sha256.clone(),
        seed: state.seed,
    };
    let name = file_name(&log);
    let whole = log.display().to_string();
    let work = move || for_page::add_batch(&stated, on, &log);
    match state.work.answer(asked.shown(), work).await? {
        Ok(entry) => {
            let number = entry.number.to_string();
            Ok(Redirect::to(&asked.to("/session/log", &[(ADDED, &number)])).into_response())
        }
        Err(faults) => {
            let named = |fault: Fault| Fault {
                message: fault.message.replace(&whole, &name),
                ..fault
            };
            typed.mark(faults.into_iter().map(named).collect());
            shown(
                &state,
                &asked,
                &shelved,
                &typed,
                StatusCode::UNPROCESSABLE_ENTITY,
            )
            .await
        }
    }
}

/// The chart of batches.
pub(super) async fn chart(
    State(state): State<Shared>,
    asked: Asked,
) -> Result<Response, PageError> {
    let log = state.log.clone().ok_or_else(no_log)?;
    let settings = rules(&asked)?.1;
    let work = move || -> Result<String, CliError> {
        let chart = for_page::log_chart(&log, &settings)?;
        Ok(chart.draw_svg(ChartSize::default())?)
    };
    let svg = state
        .work
        .answer(asked.shown(), work)
        .await?
        .map_err(|error| in_page(&state, &error.to_string()))?;
    Ok(([(header::CONTENT_TYPE, "image/svg+xml")], svg).into_response())
}

/// The accepted entries as a bench table.
pub(super) async fn export(
    State(state): State<Shared>,
    asked: Asked,
) -> Result<Response, PageError> {
    let log = state.log.clone().ok_or_else(no_log)?;
    let name = file_name(&log);
    let kind = match asked.get(READING) {
        Some("force") => Some(ReadingKind::Force),
        Some("viscosity") => Some(ReadingKind::Viscosity),
        _ => None,
    };
    let work = move || for_page::log_csv(&log, kind, &name);
    let csv = state
        .work
        .answer(asked.shown(), work)
        .await?
        .map_err(|error| in_page(&state, &error.to_string()))?;
    let headers = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8"),
        (
            header::CONTENT_DISPOSITION,
            "attachment; filename=\"batches.csv\"",
        ),
    ];
    Ok((headers, csv).into_response())
}

fn batch_typed(asked: &Asked, shelved: &Shelved) -> Typed {
    let presets: Vec<_> = fields::first_blend(asked, shelved).into_iter().collect();
    let all = BATCH.iter().chain(&READ).chain(&MORE).copied();
    Typed::of(asked, all, &presets)
}

fn rules(asked: &Asked) -> Result<(Typed, ControlSettings), PageError> {
    let mut typed = Typed::of(asked, RULES.iter().copied(), &[]);
    let stated = typed.stated();
    match for_page::control_settings(&stated) {
        Ok(settings) => Ok((typed, settings)),
        Err(faults) => {
            typed.mark(faults);
            Err(PageError::words(typed.words()))
        }
    }
}

/// What is said where no log was named.
pub(super) fn no_log() -> PageError {
    PageError::words(
        "This page keeps no log: none was named when it was started.\nWhat helps: start it with 'heatset page --log batches.db'; a file that is not there yet is begun with the first batch",
    )
}

/// A message with the log's name in place of its path.
fn in_page(state: &Shared, message: &str) -> PageError {
    let words = match &state.log {
        Some(log) => message.replace(&log.display().to_string(), &file_name(log)),
        None => message.to_owned(),
    };
    PageError::words(words)
}

fn file_name(log: &Path) -> String {
    log.file_name().map_or_else(
        || "the log".to_owned(),
        |name| name.to_string_lossy().into_owned(),
    )
}

/// The view with what was typed, and the log as it stands.
async fn shown(
    state: &Shared,
    asked: &Asked,
    shelved: &Arc<Shelved>,
    typed: &Typed,
    status: StatusCode,
) -> Result<Response, PageError> {
    let Some(log) = state.log.clone() else {
        let page = showing(asked.shown(), || {
            let body = without_log(asked);
            shell::page(Room::Session, "Batch log", asked, Some(shelved), &body)
        });
        return Ok((status, page).into_response());
    };
    let (rules_typed, settings) = rules(asked)?;
    let count = if asked.get(ALL).is_some() {
        MOST_SHOWN
    } else {
        SHOWN
    };
    let added: Option<u64> = asked.get(ADDED).and_then(|number| number.parse().ok());
    let name = file_name(&log);
    let (asked_there, typed, there) = (asked.clone(), typed.clone(), Arc::clone(shelved));
    let work = move || -> Result<Markup, CliError> {
        let held = held(&log, &settings, count, added)?;
        let body = body(&View {
            asked: &asked_there,
            typed: &typed,
            rules: &rules_typed,
            settings: &settings,
            shelved: &there,
            name: &name,
            held: &held,
        });
        Ok(shell::page(
            Room::Session,
            "Batch log",
            &asked_there,
            Some(&there),
            &body,
        ))
    };
    let page = state
        .work
        .answer(asked.shown(), work)
        .await?
        .map_err(|error| in_page(state, &error.to_string()))?;
    Ok((status, page).into_response())
}

/// Reads the log; one that is not begun yet holds nothing.
fn held(
    log: &Path,
    settings: &ControlSettings,
    count: usize,
    added: Option<u64>,
) -> Result<Held, CliError> {
    let log = match BatchLog::open(log) {
        Ok(log) => log,
        Err(BatchesError::NoLog { .. }) => {
            return Ok(Held {
                entries: Vec::new(),
                in_log: 0,
                judged: judge(&crate::batches::HeldBatches::default(), settings),
                invented: false,
                added: None,
                whole: Ok(String::new()),
            });
        }
        Err(error) => return Err(error.into()),
    };
    let of_batches = log.held(None)?;
    let judged = judge(&of_batches, settings);
    let entries = log.newest(count)?;
    let check = log.check(None)?;
    Ok(Held {
        in_log: log.count()?,
        invented: of_batches.invented || entries.iter().any(|e| e.entered.invented),
        added: added.and_then(|number| entries.iter().find(|e| e.number == number).cloned()),
        whole: match check.altered.first() {
            None => Ok(check.head),
            Some(first) => Err(crate::face::batches_words::altered_words(first)),
        },
        entries,
        judged,
    })
}
