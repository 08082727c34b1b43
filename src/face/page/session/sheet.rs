//! The run sheet: a form, the sheet beside it, and the same on paper.

use super::sheet_fields::{
    AT_HAND, AT_KEY, CLOCK, HEAT, HEAT_MORE, PRICES, SYRINGES_KEY, VOLUMES, VOLUMES_MORE,
};
use crate::face::cli::for_page::{self, Fault, StandsOn, Stated};
use crate::face::page::fields::{self, Field, Typed, in_page_words};
use crate::face::page::guard::OwnStyle;
use crate::face::page::problem::PageError;
use crate::face::page::query::Asked;
use crate::face::page::shelf::Shelved;
use crate::face::page::shell::{self, Room};
use crate::face::page::state::Shared;
use crate::face::sheet::{Form, csv, html as on_paper, in_page, labels};
use crate::plan::sheet::RunSheet;
use crate::plan::sheet::prices::{PriceList, parse_prices};
use crate::units::display;
use crate::units::shown::showing;
use axum::extract::State;
use axum::http::header;
use axum::response::{Html, IntoResponse, Response};
use maud::{Markup, html};
use std::sync::Arc;

/// The needle of a first look: a common one, no advice.
const FIRST_GAUGE: &str = "27";
/// The syringes of a first look: one turn of the usual block.
const FIRST_SYRINGES: &str = "6";
/// What the room of heating shares with a sheet.
const SHARED: [&str; 13] = [
    "blend",
    "ha_fraction",
    AT_KEY,
    "gauge",
    "wall",
    "length_mm",
    "bore_mm",
    "syringe",
    "flow_mL_per_min",
    "push_N",
    "warm_up",
    "lag_s",
    "friction_N",
];

/// What an address asks.
struct Question {
    typed: Typed,
    stated: Vec<Stated>,
    prices: Option<PriceList>,
}

impl Question {
    fn of(asked: &Asked, shelved: &Shelved) -> Self {
        let mut typed = Typed::of(asked, all_fields(), &presets(asked, shelved));
        let stated = typed.stated();
        let pasted = typed
            .value(PRICES.key())
            .map(|text| parse_prices("the price list", text));
        let prices = match pasted.transpose() {
            Ok(prices) => prices,
            Err(error) => {
                typed.blame(PRICES.key(), error.to_string());
                None
            }
        };
        Self {
            typed,
            stated,
            prices,
        }
    }
}

fn presets(asked: &Asked, shelved: &Shelved) -> Vec<(&'static str, String)> {
    let mut presets: Vec<_> = fields::first_blend(asked, shelved).into_iter().collect();
    let has = |keys: &[&str]| keys.iter().any(|key| asked.get(key).is_some());
    if !has(&["bore_mm", "bore"]) {
        presets.push((fields::GAUGE.key(), FIRST_GAUGE.to_owned()));
    }
    if !has(&AT_HAND) {
        presets.push((SYRINGES_KEY, FIRST_SYRINGES.to_owned()));
    }
    if let Some(blend) = fields::blend_of(asked.get(fields::BLEND.key()), shelved) {
        let [_, hottest_kelvin] = blend.range.heat_temp_k;
        presets.push((AT_KEY, display::celsius(hottest_kelvin)));
    }
    presets
}

fn all_fields() -> impl Iterator<Item = &'static Field> {
    HEAT.iter()
        .chain(&HEAT_MORE)
        .chain(&VOLUMES)
        .chain(&VOLUMES_MORE)
        .chain(&CLOCK)
        .copied()
        .chain([&PRICES])
}

/// What a sheet is shown as.
#[derive(Debug, Clone, Copy)]
enum Shape {
    Part,
    Paper,
    Labels,
    Csv,
}

/// The view.
pub(super) async fn view(State(state): State<Shared>, asked: Asked) -> Result<Markup, PageError> {
    let shelved = asked.calibration(&state)?;
    let (typed, made) = made(&state, &asked, &shelved, Shape::Part).await?;
    let part = match made {
        Some(sheet) => html! {
            section.card.answer { (maud::PreEscaped(sheet)) }
            (links(&asked, &typed))
        },
        None => typed.problem(),
    };
    if asked.wants("answer") {
        return Ok(part);
    }
    Ok(showing(asked.shown(), || {
        let body = body(&asked, &typed, &shelved, &part);
        shell::page(Room::Session, "Run sheet", &asked, Some(&shelved), &body)
    }))
}

/// The sheet on one page, to print.
pub(super) async fn paper(
    State(state): State<Shared>,
    asked: Asked,
) -> Result<Response, PageError> {
    document(&state, &asked, Shape::Paper).await
}

/// The labels, to print and cut.
pub(super) async fn label_sheet(
    State(state): State<Shared>,
    asked: Asked,
) -> Result<Response, PageError> {
    document(&state, &asked, Shape::Labels).await
}

/// The sheet as a table.
pub(super) async fn table(
    State(state): State<Shared>,
    asked: Asked,
) -> Result<Response, PageError> {
    let text = written(&state, &asked, Shape::Csv).await?;
    let headers = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8"),
        (
            header::CONTENT_DISPOSITION,
            "attachment; filename=\"run-sheet.csv\"",
        ),
    ];
    Ok((headers, text).into_response())
}

/// A document that carries its own style, and may use that alone.
async fn document(state: &Shared, asked: &Asked, shape: Shape) -> Result<Response, PageError> {
    let document = written(state, asked, shape).await?;
    let style = OwnStyle::of(&document);
    let mut response = Html(document).into_response();
    if let Some(style) = style {
        response.extensions_mut().insert(style);
    }
    Ok(response)
}

async fn written(state: &Shared, asked: &Asked, shape: Shape) -> Result<String, PageError> {
    let shelved = asked.calibration(state)?;
    let (typed, made) = made(state, asked, &shelved, shape).await?;
    made.ok_or_else(|| PageError::words(typed.words()))
}

/// The sheet in that shape; none where something is wrong, which then stands at the fields.
async fn made(
    state: &Shared,
    asked: &Asked,
    shelved: &Arc<Shelved>,
    shape: Shape,
) -> Result<(Typed, Option<String>), PageError> {
    let Question {
        mut typed,
        stated,
        prices,
    } = Question::of(asked, shelved);
    if typed.is_faulty() {
        typed.mark(for_page::sheet_faults(&stated));
        return Ok((typed, None));
    }
    let on = StandsOn {
        calibration: shelved.calibration.clone(),
        name: shelved.name.clone(),
        sha256: shelved.sha256.clone(),
        seed: state.seed,
    };
    let work = move || -> Result<String, Vec<Fault>> {
        let (sheet, form) = for_page::run_sheet(&stated, on, prices)?;
        Ok(in_shape(&sheet, &form, shape))
    };
    match state.work.answer(asked.shown(), work).await? {
        Ok(made) => Ok((typed, Some(made))),
        Err(faults) => {
            typed.mark(faults);
            Ok((typed, None))
        }
    }
}

fn in_shape(sheet: &RunSheet, form: &Form, shape: Shape) -> String {
    match shape {
        Shape::Part => in_page(form, |note| in_page_words(note, all_fields())).into_string(),
        Shape::Paper => on_paper(form),
        Shape::Labels => labels(form, sheet),
        Shape::Csv => csv(form, sheet),
    }
}

/// The same sheet elsewhere: on paper, as labels, as a table, and the question behind it.
fn links(asked: &Asked, typed: &Typed) -> Markup {
    let presets: Vec<(&str, &str)> = [
        fields::BLEND.key(),
        fields::GAUGE.key(),
        AT_KEY,
        SYRINGES_KEY,
    ]
    .into_iter()
    .filter_map(|key| Some((key, typed.value(key)?)))
    .collect();
    let at = |path: &str| asked.with(path, &presets);
    let shared: Vec<(&str, &str)> = SHARED
        .iter()
        .filter_map(|key| Some((*key, typed.value(key)?)))
        .collect();
    html! {
        p.links {
            a.button href=(at("/session/sheet.html")) target="_blank" rel="noopener" { "Print on one page" span.unseen { " (opens beside this one)" } }
            a.button.quiet href=(at("/session/labels.html")) target="_blank" rel="noopener" { "Labels" span.unseen { " (open beside this page)" } }
            a.button.quiet href=(at("/session/sheet.csv")) download { "Save as table (CSV)" }
            a href=(asked.to("/heat", &shared)) { "How long to heat, with this needle and push" }
        }
    }
}

fn body(asked: &Asked, typed: &Typed, shelved: &Shelved, part: &Markup) -> Markup {
    html! {
        h1 { "Run sheet" }
        (super::rooms(asked, "/session"))
        div.room {
            div id="answer" aria-live="polite" { (part) }
            form.asks method="get" action="/session" data-live="answer" {
                (asked.fields_but(&typed.keys()))
                fieldset {
                    legend { "Heat and push" }
                    (typed.controls(&HEAT, shelved))
                    details { summary { "More" } (typed.controls(&HEAT_MORE, shelved)) }
                }
                fieldset {
                    legend { "Volumes" }
                    (typed.controls(&VOLUMES, shelved))
                    details { summary { "Blend, dilution, centrifuge" } (typed.controls(&VOLUMES_MORE, shelved)) }
                }
                fieldset {
                    legend { "Block, clock, codes" }
                    (typed.controls(&CLOCK, shelved))
                    details { summary { "Cost" } (typed.controls(&[&PRICES], shelved)) }
                }
                button.without-script type="submit" { "Make the sheet" }
            }
        }
    }
}
