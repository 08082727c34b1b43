//! The document itself: header, the answer first, then what it stands on, then the cautions.

use super::error::ReportError;
use super::markup::{INVENTED, counted, date_words, heading_words, style_string};
use super::{fitted, heat_times, heat_times_table, measured, pictures, verdicts};
use crate::face::{cautions, sentences};
use crate::fit::{BlendCalibration, Calibration};
use crate::thermal::WarmUp;
use crate::units::display;
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// The style: small, inline, without any file beside it.
const STYLE: &str = include_str!("style.css");

/// What a report is made for.
#[derive(Debug, Clone)]
pub struct ReportRequest<'a> {
    /// Name of the calibration, as it stands in the header.
    pub name: &'a str,
    /// Seed of the answers' draws.
    pub seed: u64,
    /// Warm-up of the answers in place of the calibration's.
    pub warm_up: Option<WarmUp>,
}

/// The report of a calibration as one HTML document.
///
/// # Errors
/// The stated defaults of a push cannot be had. What this calibration cannot answer or draw is
/// said in its place and is no error.
pub fn document(
    calibration: &Calibration,
    request: &ReportRequest<'_>,
) -> Result<String, ReportError> {
    let invented = calibration.invented;
    let date = date_words(&calibration.created);
    let mut blends = Vec::with_capacity(calibration.blends.len());
    for blend in &calibration.blends {
        blends.push(blend_section(calibration, blend, request)?);
    }
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="generator" content={ "heatset " (env!("CARGO_PKG_VERSION")) };
                title {
                    "Calibration report " (request.name)
                    @if invented { " (" (INVENTED) ")" }
                }
                style { (PreEscaped(STYLE)) (PreEscaped(page_margins(request.name, &date, invented))) }
            }
            body {
                @if invented {
                    div.watermark aria-hidden="true" { (INVENTED) }
                }
                header {
                    h1 { (heading_words(&format!("Calibration report: {}", request.name), invented)) }
                    p.made {
                        "Fitted " (date) " with heatset " (calibration.version)
                        ", seed " (calibration.seed) "."
                    }
                    @if invented {
                        p.banner role="note" {
                            strong { "Invented data." }
                            " Nobody took these readings: they were made up to try the tool with. No number, picture or answer below is a ground for use."
                        }
                    }
                }
                main {
                    (in_short(calibration))
                    (measured::section(calibration))
                    @for blend in blends { (blend) }
                    (cautions_section(invented))
                }
                footer {
                    p {
                        "Made from the calibration " (request.name)
                        " by heatset " (env!("CARGO_PKG_VERSION"))
                        ". " (cautions::SHORT.replace("   heatset cautions", "").replace('\n', " "))
                    }
                }
            }
        }
    };
    Ok(page.into_string())
}

/// Name, date and page number in the margins of printed pages.
fn page_margins(name: &str, date: &str, invented: bool) -> String {
    let foot = if invented {
        "Invented data"
    } else {
        "Bench and teaching aid, not a medical device"
    };
    format!(
        "\n@page {{\n  @top-left {{ content: {}; }}\n  @top-right {{ content: {}; }}\n  @bottom-left {{ content: {}; }}\n}}\n",
        style_string(&format!("Calibration report: {name}")),
        style_string(date),
        style_string(foot),
    )
}

/// The first lines answer the question.
fn in_short(calibration: &Calibration) -> Markup {
    let several = calibration.blends.len() > 1;
    html! {
        section {
            h2 { (heading_words("In short", calibration.invented)) }
            @for blend in &calibration.blends {
                p.headline {
                    @if several { strong { (blend.blend) ": " } }
                    (sentences::headline(blend))
                }
                p.stands { (stands_on(blend)) }
            }
            p { "It says what passes a needle, not what is fit to inject. The cautions at the end belong to every number here." }
        }
    }
}

fn stands_on(blend: &BlendCalibration) -> String {
    let [low_t, high_t] = blend.range.heat_temp_k;
    let [low_s, high_s] = blend.range.heat_time_s;
    let lots = crate::face::sentences::lots_words(blend);
    format!(
        "Stands on {} of {}, {lots}, heated at {} to {} for {} to {}.",
        counted(blend.fit.rows, "reading"),
        measured::quantity(blend),
        display::temperature(low_t),
        display::temperature(high_t),
        display::duration(low_s),
        display::duration(high_s)
    )
}

fn blend_section(
    calibration: &Calibration,
    blend: &BlendCalibration,
    request: &ReportRequest<'_>,
) -> Result<Markup, ReportError> {
    let invented = calibration.invented;
    let answers = heat_times::answer(calibration, blend, request)?;
    Ok(html! {
        section.blend {
            h2 { (heading_words(&format!("Blend {}", blend.blend), invented)) }
            p.headline { (sentences::headline(blend)) }
            (heat_times_table::part(blend, &answers, invented))
            (fitted::part(blend, invented))
            (verdicts::part(blend, invented))
            (pictures::part(calibration, blend, request)?)
        }
    })
}

fn cautions_section(invented: bool) -> Markup {
    html! {
        section.cautions {
            h2 { (heading_words("Cautions", invented)) }
            dl {
                @for caution in cautions::ALL {
                    div.together {
                        dt { (caution.about) }
                        dd { (caution.text) }
                    }
                }
            }
        }
    }
}
