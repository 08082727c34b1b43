//! Labels, one a syringe, on a page to print and cut.

use super::form::Form;
use super::html::marks;
use crate::face::standing_words::stood;
use crate::plan::sheet::RunSheet;
use crate::units::display;
use maud::{DOCTYPE, PreEscaped, html as markup};

/// The style: inline, without any file beside it.
const STYLE: &str = include_str!("labels.css");

/// The labels as one self-contained document.
pub(crate) fn labels(form: &Form, sheet: &RunSheet) -> String {
    let heat = format!(
        "{} for {}",
        display::temperature(sheet.heat.heat_temp_k),
        display::duration(sheet.heat.heat_time_s)
    );
    let force = sheet.push.plunger_force_n;
    let push = format!(
        "{} to {} N",
        display::significant(force.interval95[0], 2),
        display::significant(force.interval95[1], 2)
    );
    let standing = standing_words(sheet);
    let page = markup! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="generator" content={ "heatset " (env!("CARGO_PKG_VERSION")) };
                title { "Labels" @if let Some(mark) = form.marks.first() { " - " (mark) } }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main {
                    @for syringe in &sheet.syringes {
                        div.label {
                            p.code { (syringe.code) @if let Some(lot) = &sheet.lot_code { span.lot { (lot) } } }
                            @if sheet.invented { p.mark { "INVENTED DATA" } }
                            @if sheet.extrapolated { p.mark { "EXTRAPOLATED" } }
                            @if let Some(words) = &standing { p { (words) } }
                            p.not { "Not a shelf life, nor what is fit to inject" }
                            p.cut { "blend " (sheet.blend) }
                            p.cut { "needle " (sheet.push.needle) ", expected push " (push) }
                            p.cut { "heat " (heat) }
                            p.cut { "plan: in " (syringe.in_at) ", cool until " (syringe.cool_until_at.as_deref().unwrap_or("measured")) }
                            p.really { "really in" span.line {} "out" span.line {} }
                        }
                    }
                }
                footer {
                    (marks(form))
                    p { (form.short) }
                    p {
                        @for caution in &form.cautions {
                            strong { (caution.about) ": " } (caution.text) " "
                        }
                    }
                }
            }
        }
    };
    page.into_string()
}

/// Storage temperatures that fit on a label.
const SHOWN_STORAGES: usize = 2;

/// Until when the needle passes what stands, where the calibration answers it.
fn standing_words(sheet: &RunSheet) -> Option<String> {
    let standing = sheet.standing.as_ref()?;
    let parts: Vec<String> = standing
        .at
        .iter()
        .take(SHOWN_STORAGES)
        .filter_map(|at| {
            let until_s = at
                .passes_needle_until_s
                .probability95
                .or(at.measured_until_s)?;
            Some(format!(
                "{} at {}",
                stood(until_s),
                display::temperature(at.stand_temp_k)
            ))
        })
        .collect();
    (!parts.is_empty()).then(|| format!("passes the needle until {}", parts.join(", ")))
}
