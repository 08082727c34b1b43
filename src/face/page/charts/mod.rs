//! The room of whoever teaches: every chart of a calibration, at the size of a screen, a slide or a wall.
//!
//! | file | holds |
//! |---|---|
//! | [`kinds`] | the kinds of chart, and the fields of each |
//! | [`question`] | what an address asks to be drawn |
//! | [`picture`] | the picture: drawn, kept, served |

mod kinds;
mod picture;
mod question;

use super::fields;
use super::pictures::Picture;
use super::problem::PageError;
use super::query::Asked;
use super::shelf::Shelved;
use super::shell::{self, Room};
use super::state::Shared;
use crate::chart::ChartFormat;
use crate::units::shown::showing;
use axum::Router;
use axum::extract::State;
use axum::routing::get;
use kinds::OF_ALL;
use maud::{Markup, html};
use question::{KIND, Question};

/// The addresses of the room.
pub(super) fn routes() -> Router<Shared> {
    Router::new()
        .route("/charts", get(charts))
        .route("/charts/picture.svg", get(picture::svg))
        .route("/charts/picture.png", get(picture::png))
}

/// The view.
async fn charts(State(state): State<Shared>, asked: Asked) -> Result<Markup, PageError> {
    let shelved = asked.calibration(&state)?;
    let mut question = Question::of(&asked, &shelved);
    let part = match picture::drawn(&state, &asked, &shelved, &question, ChartFormat::Svg).await? {
        Ok(picture) => answer(&asked, &question, &picture),
        Err(faults) => {
            question.typed.mark(faults);
            question.typed.problem()
        }
    };
    if asked.wants("answer") {
        return Ok(part);
    }
    let has_log = state.log.is_some();
    Ok(showing(asked.shown(), || {
        let body = body(&asked, &question, &shelved, has_log, &part);
        shell::page(Room::Charts, "Charts", &asked, Some(&shelved), &body)
    }))
}

fn body(
    asked: &Asked,
    question: &Question,
    shelved: &Shelved,
    has_log: bool,
    part: &Markup,
) -> Markup {
    let kind = question.kind;
    let typed = &question.typed;
    let mut own = typed.keys();
    own.push(KIND);
    html! {
        h1 { "Charts" }
        nav.kinds aria-label="Kinds of chart" {
            @for one in &kinds::ALL {
                @if one.word != kinds::BATCHES || has_log {
                    a href=(asked.with("/charts", &[(KIND, one.word)])) data-with={ (KIND) "=" (one.word) }
                        aria-current=[(one.word == kind.word).then_some("page")] { (one.name) }
                }
            }
        }
        p.lead { (kind.shows) "." }
        div.room.of-chart {
            div id="answer" aria-live="polite" { (part) }
            form.asks method="get" action="/charts" data-live="answer" {
                (asked.fields_but(&own))
                input type="hidden" name=(KIND) value=(kind.word);
                fieldset {
                    legend { "What is drawn" }
                    (typed.controls(kind.fields, shelved))
                    @if !kind.more.is_empty() {
                        details {
                            summary { "More" }
                            (typed.controls(kind.more, shelved))
                        }
                    }
                }
                fieldset {
                    legend { "How it looks" }
                    (typed.controls(&OF_ALL, shelved))
                }
                button.without-script type="submit" { "Draw" }
            }
        }
    }
}

fn answer(asked: &Asked, question: &Question, picture: &Picture) -> Markup {
    // The address of this very picture: what the form presets stands in it too.
    let presets: Vec<(&str, &str)> = [
        fields::BLEND.key(),
        fields::GAUGE.key(),
        fields::HEAT_TIME.key(),
    ]
    .into_iter()
    .filter_map(|key| Some((key, question.typed.value(key)?)))
    .chain([(KIND, question.kind.word)])
    .collect();
    let at = |path: &str, save: &str| {
        let mut pairs = presets.clone();
        pairs.push((picture::SAVE, save));
        asked.with(path, &pairs)
    };
    let size = picture.size;
    html! {
        section.card.answer {
            figure {
                img.picture src=(at("/charts/picture.svg", "")) alt=(picture.finding)
                    width=(size.width_px()) height=(size.height_px());
                figcaption { (question.kind.name) ", " (size.width_px()) " by " (size.height_px()) " pixels" }
            }
            p.links {
                a.button href=(at("/charts/picture.svg", "yes")) download { "Save as SVG" }
                a.button.quiet href=(at("/charts/picture.png", "yes")) download { "Save as PNG" }
                button.quiet.with-script type="button" data-print="" { "Print" }
            }
            p.hint { "SVG stays sharp at any size. A PNG for the wall takes some seconds." }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A kind that the command learns and this room does not would be missed by whoever teaches.
    #[test]
    fn every_kind_of_the_command_is_here() {
        let mut here: Vec<&str> = kinds::ALL.iter().map(|kind| kind.word).collect();
        let mut known = crate::face::cli::for_page::chart_kinds();
        here.sort_unstable();
        known.sort_unstable();
        assert_eq!(here, known);
    }

    #[test]
    fn sizes_that_can_be_chosen_are_sizes() {
        let fields::Control::OneOf(sizes) = kinds::SIZE.control else {
            panic!("the sizes are a list");
        };
        for (size, _) in sizes.iter().filter(|(size, _)| !size.is_empty()) {
            assert!(crate::chart::ChartSize::parse(size).is_ok(), "{size}");
        }
    }
}
