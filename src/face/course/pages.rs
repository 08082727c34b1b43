//! The pages of a course: what to show when, the sheet, its answers.

use super::exercise::Exercise;
use super::slides::Slide;
use super::{EXTRAPOLATED, INVENTED};
use crate::face::cautions;
use crate::face::drawings::{change_words, push_words};
use crate::units::display;
use maud::{DOCTYPE, Markup, PreEscaped, html as markup};

/// The style: inline, without any file beside it.
const STYLE: &str = include_str!("style.css");

fn page(title: &str, exercise: &Exercise, body: &Markup) -> String {
    markup! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="generator" content={ "heatset " (env!("CARGO_PKG_VERSION")) };
                title { (title) @if exercise.invented { " - invented data" } }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    h1 { (title) }
                    @if exercise.invented { p.mark role="note" { (INVENTED) } }
                    @if exercise.extrapolated { p.mark role="note" { (EXTRAPOLATED) } }
                }
                main { (body) }
                footer {
                    p { (exercise.stands) }
                    @for line in cautions::SHORT.lines() { p { (line.trim_end_matches("heatset cautions").trim_end()) } }
                }
            }
        }
    }
    .into_string()
}

/// Today's push in one sentence.
fn today(exercise: &Exercise) -> String {
    let question = &exercise.question;
    format!(
        "{} at {}, {}, {}, {}",
        display::duration(question.heat_time_s),
        display::temperature(question.set_kelvin),
        question.setup.needle.label(),
        question.setup.barrel.label(),
        display::flow_rate(question.setup.flow_rate_m3_per_s)
    )
}

/// What to show when.
pub(crate) fn index_page(exercise: &Exercise, slides: &[Slide]) -> String {
    let body = markup! {
        p { "All of it comes from one calibration. The order below is one way through a session; every slide stands alone as well. The heat of the exercise: " (today(exercise)) "." }
        ol.order {
            li { strong { "Before the session. " } "Print " a href="predict-then-measure.html" { "the sheet" } " (also as " a href="predict-then-measure.csv" { "a table" } "), one a pair. Keep " a href="answers.html" { "the answers" } " (" a href="answers.csv" { "as a table" } ") back." }
            li { strong { "First part of the sheet: predict. " } "After slides 1 and 2 every pair writes what each setting will read, in ink, before anything is heated." }
            li { strong { "Then measure. " } "Heat, cool, read and push; write beside the prediction. Nobody pushes past the limit of " (display::force(exercise.question.setup.force_limit_n)) ": what does not go stays in the syringe." }
            li { strong { "Second part: one change. " } "Predict what each change does to the push before the slide about it is shown." }
            li { strong { "Compare. " } "With the answers: how many of the measured values lie between the ends? About 19 of 20 should, if the gel is like those of the calibration. Fewer says something of lot, block or needle: talk about which." }
        }
        @for (place, slide) in slides.iter().enumerate() {
            section.slide {
                h2 { "Slide " (place + 1) ": " (slide.title) }
                a href={ (slide.file) ".png" } { img src={ (slide.file) ".svg" } alt=(slide.title) width="800" height="450"; }
                p { strong { "Show: " } (slide.words.show) }
                p { strong { "Ask: " } (slide.words.ask) }
                p.files { a href={ (slide.file) ".png" } { (slide.file) ".png" } " · " a href={ (slide.file) ".svg" } { (slide.file) ".svg" } }
            }
        }
        section {
            h2 { "Cautions, to be read out before the first syringe is filled" }
            dl.cautions {
                @for caution in cautions::ALL { dt { (caution.about) } dd { (caution.text) } }
            }
        }
    };
    page("A session about heat and push", exercise, &body)
}

/// The sheet: predict, then measure.
pub(crate) fn sheet_page(exercise: &Exercise) -> String {
    let setup = &exercise.question.setup;
    let body = markup! {
        p.hand { "pair (a code, no names) " span.line {} " lot code " span.line {} " block and place " span.line {} }
        h2 { "1  Predict first, in ink. Then measure." }
        p { "Push through " (setup.needle.label()) " from a " (setup.barrel.label()) " at " (display::flow_rate(setup.flow_rate_m3_per_s)) "; stop at " (display::force(setup.force_limit_n)) ". Viscosity" (exercise.read_at) "." }
        table {
            thead {
                tr { th rowspan="2" { "" } th rowspan="2" { "block" } th rowspan="2" { "heat time" } th colspan="2" { "I predict" } th colspan="2" { "I measure" } th rowspan="2" { "remarks" } }
                tr { th { "viscosity (Pa.s)" } th { "push (N)" } th { "viscosity (Pa.s)" } th { "push (N)" } }
            }
            tbody {
                @for (place, row) in exercise.rows.iter().enumerate() {
                    tr {
                        th scope="row" { (place + 1) }
                        td { (display::temperature(row.heat_temp_k)) }
                        td { (display::duration(row.heat_time_s)) }
                        td.blank {} td.blank {} td.blank {} td.blank {} td.wide {}
                    }
                }
            }
        }
        h2 { "2  One change at a time: harder, easier or the same?" }
        p { "Today: " (today(exercise)) ". It takes about " (push_words(&exercise.consequences.today_n)) "." }
        table {
            thead { tr { th { "" } th { "change" } th { "to" } th { "harder / easier / same" } th { "push (N)" } th { "because" } } }
            tbody {
                @for (place, change) in exercise.consequences.changes.iter().enumerate() {
                    tr {
                        th scope="row" { (exercise.rows.len() + place + 1) }
                        td { (change_words(change.change)) }
                        td { (change.to) }
                        td.blank {} td.blank {} td.wide {}
                    }
                }
            }
        }
    };
    page("Predict, then measure", exercise, &body)
}

/// The answers.
pub(crate) fn answers_page(exercise: &Exercise) -> String {
    let between = |median: f64, [low, high]: [f64; 2], words: &dyn Fn(f64) -> String| {
        markup! { td { strong { (words(median)) } } td { (words(low)) " to " (words(high)) } }
    };
    let viscosity = |value: f64| display::viscosity_to(value, 2);
    let body = markup! {
        p { "Strong: the middle. Beside it the ends between which 95 of 100 syringes of a new lot lie: with the lot, the syringe, the needle's bore, the stopper, the speed and the place in the block. A measured value outside is a question, not a fault." }
        h2 { "1  Settings" }
        table {
            thead { tr { th { "" } th { "block" } th { "heat time" } th { "viscosity" } th { "95 of 100" } th { "push" } th { "95 of 100" } } }
            tbody {
                @for (place, row) in exercise.rows.iter().enumerate() {
                    tr {
                        th scope="row" { (place + 1) }
                        td { (display::temperature(row.heat_temp_k)) }
                        td { (display::duration(row.heat_time_s)) }
                        (between(row.viscosity_pa_s.0, row.viscosity_pa_s.1, &viscosity))
                        (between(row.plunger_force_n.median, row.plunger_force_n.interval95, &|n| display::force_to(n, 2)))
                    }
                }
            }
        }
        h2 { "2  One change at a time" }
        p { "Today: " (today(exercise)) ": " (push_words(&exercise.consequences.today_n)) "." }
        table {
            thead { tr { th { "" } th { "change" } th { "to" } th { "push" } th { "against today" } th { "remarks" } } }
            tbody {
                @for (place, change) in exercise.consequences.changes.iter().enumerate() {
                    tr {
                        th scope="row" { (exercise.rows.len() + place + 1) }
                        td { (change_words(change.change)) }
                        td { (change.to) }
                        td { @match &change.plunger_force_n { Some(force) => { strong { (push_words(force)) } } None => { "-" } } }
                        td { @if let Some(ratio) = change.ratio_to_today { (against(ratio)) } }
                        td.wide {
                            @if change.extrapolated { "outside what was measured " }
                            @if let Some(share) = change.unset_share.filter(|share| *share >= 0.005) { (format!("{:.0} % of the gel hardly set ", 100.0 * share)) }
                            (change.note.as_deref().unwrap_or(""))
                        }
                    }
                }
            }
        }
    };
    page("Answers: predict, then measure", exercise, &body)
}

/// '1.6 times as hard', 'about the same'.
fn against(ratio: f64) -> String {
    if (ratio - 1.0).abs() < 0.03 {
        "about the same".to_owned()
    } else {
        format!("{} times", display::significant(ratio, 2))
    }
}
