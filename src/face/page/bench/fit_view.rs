//! A fit: it is started by a post, has an address of its own, says how far it is, and then its
//! result in sentences, tables and pictures.

use super::choices::Choices;
use super::fits::{Fit, Progress, stem};
use super::next_view;
use super::page_words::here;
use super::posted::pairs;
use crate::chart::{Chart, ChartSize};
use crate::face::cli::CliError;
use crate::face::drawings::{self, DrawingError};
use crate::face::page::problem::PageError;
use crate::face::page::query::{Asked, CALIBRATION};
use crate::face::page::shelf::Shelved;
use crate::face::page::shell::{self, INVENTED, Room};
use crate::face::page::state::Shared;
use crate::face::report::{ReportRequest, document, fitted_part, verdict_lines};
use crate::face::{next_words, sentences, standing_words};
use crate::fit::{BlendCalibration, Calibration, FitStage};
use crate::units::display;
use axum::body::Bytes;
use axum::extract::rejection::BytesRejection;
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use std::sync::Arc;

/// Part of the view that the script asks for while a fit runs.
const PROGRESS: &str = "progress";
/// Size of the pictures, in pixels.
const WIDTH: u32 = 1200;
/// The same.
const HEIGHT: u32 = 800;

/// Starts a fit; choices that cannot be taken lead back to the table, as they were typed.
pub(super) async fn start(
    State(state): State<Shared>,
    asked: Asked,
    body: Result<Bytes, BytesRejection>,
) -> Result<Redirect, PageError> {
    let pairs = pairs(body)?;
    let typed = |key: &str| {
        pairs
            .iter()
            .rev()
            .find(|(name, _)| name == key)
            .map(|(_, value)| value.as_str())
    };
    let code = typed("table").unwrap_or_default();
    let table = state.bench.tables.find(code)?;
    let back = format!("/bench/table/{}", table.code);
    let choices = Choices::of(typed);
    let (seed, looked_at, chosen) = (state.seed, Arc::clone(&table), choices.clone());
    let options = state
        .work
        .answer(asked.shown(), move || {
            let read = looked_at.outcome.as_ref().ok()?;
            chosen.options(&read.table, seed).ok()
        })
        .await?;
    let Some(options) = options else {
        return Ok(Redirect::to(&asked.to(&back, &choices.pairs())));
    };
    let fit = state
        .bench
        .fits
        .start(&state, &table, choices, options, asked.shown())?;
    Ok(Redirect::to(
        &asked.to(&format!("/bench/fit/{}", fit.code), &[]),
    ))
}

/// A fit by its code.
pub(super) async fn fit(
    State(state): State<Shared>,
    Path(code): Path<String>,
    asked: Asked,
) -> Result<Markup, PageError> {
    let fit = state.bench.fits.find(&code)?;
    let shown = asked.shown();
    state
        .work
        .answer(shown, move || match fit.progress() {
            Progress::Fitted { shelved, .. } if asked.wants(next_view::PART) => {
                Ok(next_view::answer(&asked, &shelved))
            }
            Progress::Fitted { shelved, took } => {
                if asked.wants(PROGRESS) {
                    return Ok(html! { p data-done="" { "It has ended." } });
                }
                result(&asked, &fit, &shelved, took.as_secs_f64())
            }
            Progress::Refused { error } => Ok(refused(&asked, &fit, &here(&error.to_string()))),
            Progress::Ended => Ok(refused(
                &asked,
                &fit,
                "The fit ended early; nothing was kept of it.\nWhat helps: start it again; if it happens again, fit the table with 'heatset fit' on the command line and tell the makers",
            )),
            waiting => Ok(progress(&asked, &fit, &waiting)),
        })
        .await?
}

/// How far a fit is.
fn progress(asked: &Asked, fit: &Fit, progress: &Progress) -> Markup {
    let part = html! {
        p id="fit-step" aria-live="polite" { (step_words(progress)) }
        p id="fit-elapsed" { (display::duration(fit.elapsed().as_secs_f64().floor())) " since it was asked for." }
    };
    if asked.wants(PROGRESS) {
        return part;
    }
    let body = html! {
        h1 { "Fitting " (fit.table_name) }
        // Without script the page is asked for again; with it the lines above change in place.
        noscript { meta http-equiv="refresh" content="2"; }
        section.card id="fit-progress" data-poll=(PROGRESS) { (part) }
        p { "Most benches take a second or two; profile intervals and the bootstrap take longer. Other rooms answer meanwhile, and this address will hold the result." }
        p { a href=(asked.to("/bench", &[])) { "Another table" } }
        script src="/bench/bench.js" defer {}
    };
    shell::page(
        Room::Bench,
        &format!("Fitting {}", fit.table_name),
        asked,
        None,
        &body,
    )
}

fn step_words(progress: &Progress) -> String {
    let Progress::Fitting { step } = progress else {
        return "Waiting: another fit is before it.".to_owned();
    };
    let Some(step) = step else {
        return "Laying out the readings.".to_owned();
    };
    let what = match step.stage {
        FitStage::Candidate { number, of, law } => {
            format!("candidate {number} of {of}, law {}", law.name())
        }
        FitStage::YieldStress => "whether the gel has a yield stress".to_owned(),
        FitStage::Lots => "how far lots differ".to_owned(),
        FitStage::Intervals => "intervals and checks".to_owned(),
    };
    format!("Blend {}: {what}.", step.blend)
}

/// The readings give no calibration: why, and the way back to the choices.
fn refused(asked: &Asked, fit: &Fit, words: &str) -> Markup {
    if asked.wants(PROGRESS) {
        return html! { p data-done="" { "It has ended." } };
    }
    let body = html! {
        h1 { "No calibration of " (fit.table_name) }
        section.problem role="alert" { @for line in words.lines() { p { (line) } } }
        p { a.button href=(back(asked, fit)) { "Change the choices" } }
    };
    shell::page(
        Room::Bench,
        &format!("No calibration of {}", fit.table_name),
        asked,
        None,
        &body,
    )
}

/// Address of the table with the choices of this fit.
fn back(asked: &Asked, fit: &Fit) -> String {
    asked.to(
        &format!("/bench/table/{}", fit.table_code),
        &fit.choices.pairs(),
    )
}

/// The result: sentences, then what was fitted, pictures, and what to measure next.
fn result(
    asked: &Asked,
    fit: &Fit,
    shelved: &Arc<Shelved>,
    took_s: f64,
) -> Result<Markup, PageError> {
    let calibration = &shelved.calibration;
    let several = calibration.blends.len() > 1;
    let ways_on = html! {
        p.ways-on {
            a.button href=(asked.to("/heat", &[(CALIBRATION, &shelved.code)])) { "Answer from it" }
            a.button.quiet href={ "/calibrations/" (shelved.code) ".json" } download { "Save the calibration" }
            a.button.quiet href=(asked.to(&format!("/bench/fit/{}/report.html", fit.code), &[])) download { "Report" }
            a href=(back(asked, fit)) { "Change the choices" }
            a href="#measure-next" { "What to measure next" }
        }
    };
    let mut pictures = Vec::new();
    for blend in &calibration.blends {
        pictures.push(pictures_of(asked, fit, calibration, blend)?);
    }
    let body = html! {
        h1 { "Fitted: " (fit.table_name) }
        @for blend in &calibration.blends { (in_sentences(blend, several)) }
        (ways_on)
        p.hint { "It took " (display::significant(took_s, 2)) " s." }
        @for (blend, pictures) in calibration.blends.iter().zip(&pictures) {
            section.fitted {
                h2 { @if several { "Blend " (blend.blend) ": what" } @else { "What" } " stands behind it" }
                (fitted_part(blend, calibration.invented))
                h3 { "Pictures" }
                (pictures)
                h3 { "How well it fits" }
                ul { @for line in verdict_lines(blend) { li { (here(&line)) } } }
            }
        }
        (next_view::form(asked, shelved))
        script src="/bench/bench.js" defer {}
    };
    Ok(shell::page(
        Room::Bench,
        &format!("Fitted: {}", fit.table_name),
        asked,
        Some(shelved),
        &body,
    ))
}

/// A blend as 'heatset fit' says it.
fn in_sentences(blend: &BlendCalibration, several: bool) -> Markup {
    let lines = [
        Some(sentences::law_line(blend)),
        sentences::influence_line(blend),
        sentences::downweighted_line(blend),
    ];
    html! {
        section.card.answer {
            @if several { h2 { "Blend " (blend.blend) } }
            p.first { (sentences::headline(blend)) }
            @for line in lines.iter().flatten() { p { (line) } }
            @if let Some(text) = standing_words::fitted_lines(blend) {
                @for line in text.lines().filter(|line| !line.trim().is_empty()) { p { (line.trim()) } }
            }
            @if let Some(next) = next_words::after_fit(blend) { p { (next) } }
            @for warning in &blend.warnings { p.note { (here(&warning.message)) } }
        }
    }
}

/// The kinds of picture, with their file names.
#[derive(Debug, Clone, Copy)]
enum Kind {
    Firmness,
    Rates,
    Residuals,
}

const KINDS: [(Kind, &str); 3] = [
    (Kind::Firmness, "firmness.svg"),
    (Kind::Rates, "rates.svg"),
    (Kind::Residuals, "residuals.svg"),
];

impl Kind {
    /// Title and picture.
    fn draw(
        self,
        calibration: &Calibration,
        blend: &BlendCalibration,
    ) -> Result<(String, Box<dyn Chart>), DrawingError> {
        Ok(match self {
            Self::Firmness => {
                let chart = drawings::firmness(calibration, blend)?;
                (chart.words.title.clone(), Box::new(chart))
            }
            Self::Rates => {
                let chart = drawings::rates(calibration, blend)?;
                (chart.words.title.clone(), Box::new(chart))
            }
            Self::Residuals => {
                let chart = drawings::residuals(calibration, blend)?;
                (chart.words.title.clone(), Box::new(chart))
            }
        })
    }

    fn about(self) -> &'static str {
        match self {
            Self::Firmness => "Reading against heat time, by temperature, with the fitted curves",
            Self::Rates => "Rate of setting against temperature",
            Self::Residuals => "What the fit leaves over, against heat time",
        }
    }
}

fn pictures_of(
    asked: &Asked,
    fit: &Fit,
    calibration: &Calibration,
    blend: &BlendCalibration,
) -> Result<Markup, PageError> {
    let mut figures = Vec::new();
    for (kind, file) in KINDS {
        // What cannot be drawn is said in its place.
        let title = kind.draw(calibration, blend).map(|(title, _)| title);
        let address = asked.to(
            &format!("/bench/fit/{}/{file}", fit.code),
            &[("blend", &blend.blend)],
        );
        figures.push(html! {
            @match title {
                Ok(title) => figure {
                    img.picture src=(address) width=(WIDTH) height=(HEIGHT) loading="lazy"
                        alt={ (kind.about()) ". " (title) @if calibration.invented { ". " (INVENTED) } };
                    figcaption { (kind.about()) }
                },
                Err(error) => p.note { (kind.about()) ": " (here(&error.to_string())) },
            }
        });
    }
    Ok(html! { div.pictures { @for figure in figures { (figure) } } })
}

/// A picture of a fit, or its report.
pub(super) async fn file(
    State(state): State<Shared>,
    Path((code, file)): Path<(String, String)>,
    asked: Asked,
) -> Result<Response, PageError> {
    let fit = state.bench.fits.find(&code)?;
    let Progress::Fitted { shelved, .. } = fit.progress() else {
        return Err(PageError::NoView);
    };
    if file == "report.html" {
        return report(&state, &asked, &fit, &shelved).await;
    }
    let (kind, _) = KINDS
        .into_iter()
        .find(|(_, name)| *name == file)
        .ok_or(PageError::NoView)?;
    let blend_name = asked.get("blend").map(str::to_owned);
    let svg = state
        .work
        .answer(asked.shown(), move || {
            let calibration = &shelved.calibration;
            let blend = calibration
                .blends
                .iter()
                .find(|blend| blend_name.as_ref().is_none_or(|name| *name == blend.blend))
                .ok_or(PageError::NoView)?;
            let size = ChartSize::new(WIDTH, HEIGHT).map_err(|e| refusal(e.into()))?;
            let (_, chart) = kind
                .draw(calibration, blend)
                .map_err(|e| refusal(e.into()))?;
            chart.draw_svg(size).map_err(|e| refusal(e.into()))
        })
        .await??;
    Ok(([(header::CONTENT_TYPE, "image/svg+xml")], svg).into_response())
}

fn refusal(error: CliError) -> PageError {
    PageError::Refused(Box::new(error))
}

/// The whole report, as 'heatset report' writes it.
async fn report(
    state: &Shared,
    asked: &Asked,
    fit: &Fit,
    shelved: &Arc<Shelved>,
) -> Result<Response, PageError> {
    let (seed, shelved) = (state.seed, Arc::clone(shelved));
    let name = stem(&fit.table_name).to_owned();
    // It draws for many heat times: on the fits' threads, so that no answer waits for it.
    let page = state
        .work
        .fit(asked.shown(), move || {
            document(
                &shelved.calibration,
                &ReportRequest {
                    name: &name,
                    seed,
                    warm_up: None,
                },
            )
            .map_err(|e| refusal(e.into()))
        })
        .await??;
    Ok((
        [
            (header::CONTENT_TYPE, "text/html; charset=utf-8".to_owned()),
            (
                header::CONTENT_DISPOSITION,
                format!("attachment; filename=\"report-{}.html\"", fit.code),
            ),
        ],
        page,
    )
        .into_response())
}
