//! The charts of a blend, inline.

use super::document::ReportRequest;
use super::error::ReportError;
use super::markup::{heading_words, wide};
use super::measured::quantity;
use crate::chart::{Chart, ChartSize};
use crate::face::drawings::{self, DrawingError, ForceDrawing};
use crate::fit::{BlendCalibration, Calibration};
use crate::plan::{DEFAULT_LENGTH_M, NeedleUsed, PlanError, PushSetup, StatedThinning};
use crate::reference::{BoreBasis, Wall};
use crate::thermal::WarmUp;
use crate::units::display;
use maud::{Markup, PreEscaped, html};

/// Gauges of the force chart: few enough to be told apart.
const CHART_GAUGES: [u8; 5] = [25, 27, 29, 30, 32];

/// The part of a blend's section.
pub(super) fn part(
    calibration: &Calibration,
    blend: &BlendCalibration,
    request: &ReportRequest<'_>,
) -> Result<Markup, ReportError> {
    let quantity = quantity(blend);
    let [_, hottest] = blend.range.heat_temp_k;
    let force = if blend.answers_pushes() {
        let asked = usual_force_drawing(blend, request.warm_up.clone(), request.seed)?;
        Some(svg(drawings::force(calibration, blend, &asked)))
    } else {
        None
    };
    Ok(html! {
        h3 { (heading_words("Pictures", calibration.invented)) }
        (figure(
            &format!("{quantity} against heat time"),
            "Marks are readings, lines the fitted law, bands where 95 % of single readings should lie; one colour and mark a temperature.",
            &svg(drawings::firmness(calibration, blend)),
        ))
        @if let Some(force) = force {
            (figure(
                "plunger force against heat time",
                &format!("At {}, the hottest temperature measured, one line a needle in its hub colour, at the estimates, without their spread; the table of heat times carries the spread.", display::temperature(hottest)),
                &force,
            ))
        }
        (figure(
            "rate against temperature",
            "Each mark is the rate of one temperature fitted alone with its 95 % interval; the line is the fit to all of them. Marks off the line mean that one activation energy does not serve all temperatures.",
            &svg(drawings::rates(calibration, blend)),
        ))
        (figure(
            "residuals against heat time",
            "What the fit leaves over. A cloud without a bend is what one hopes for.",
            &svg(drawings::residuals(calibration, blend)),
        ))
    })
}

/// The force chart as a report or a demo draws it: at the hottest temperature measured, with the
/// stated defaults.
pub(crate) fn usual_force_drawing(
    blend: &BlendCalibration,
    warm_up: Option<WarmUp>,
    seed: u64,
) -> Result<ForceDrawing, PlanError> {
    let needles = CHART_GAUGES
        .iter()
        .map(|gauge| {
            NeedleUsed::of_gauge(*gauge, Wall::Regular, BoreBasis::Nominal, DEFAULT_LENGTH_M)
        })
        .collect::<Result<Vec<_>, _>>()?;
    let finest = NeedleUsed::of_gauge(30, Wall::Regular, BoreBasis::Nominal, DEFAULT_LENGTH_M)?;
    Ok(ForceDrawing {
        set_kelvin: blend.range.heat_temp_k[1],
        setup: PushSetup::with_needle(finest)?,
        needles,
        thinning: StatedThinning::default(),
        warm_up,
        seed,
        extrapolated: false,
    })
}

/// A chart as SVG, or why there is none.
fn svg<C: Chart>(chart: Result<C, DrawingError>) -> Result<String, String> {
    let drawn = chart.and_then(|chart| Ok(chart.draw_svg(ChartSize::default())?));
    drawn
        .map(|svg| sized_by_the_page(&svg))
        .map_err(|error| error.to_string())
}

/// The picture without its own width and height: the page gives it its size.
fn sized_by_the_page(svg: &str) -> String {
    let size = ChartSize::default();
    let own = format!(
        " width=\"{}\" height=\"{}\"",
        size.width_px(),
        size.height_px()
    );
    svg.replacen(&own, "", 1)
}

fn figure(what: &str, how_to_read: &str, picture: &Result<String, String>) -> Markup {
    html! {
        figure {
            @match picture {
                Ok(svg) => { (wide(what, &PreEscaped(svg.clone()))) },
                Err(why) => { p.said { "Not drawn: " (why) } },
            }
            figcaption { strong { (capital(what)) "." } " " (how_to_read) }
        }
    }
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}
