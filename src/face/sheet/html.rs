//! A run sheet as one HTML page that prints on one page of A4 or Letter.

use super::form::Form;
use maud::{DOCTYPE, Markup, PreEscaped, html as markup};

/// The style: inline, without any file beside it.
const STYLE: &str = include_str!("style.css");
/// Rows up to which they are high enough to write in at ease.
const EASY_ROWS: usize = 12;

/// The sheet as one self-contained document.
pub(crate) fn html(form: &Form) -> String {
    let title = form.lot.as_ref().map_or_else(
        || "Run sheet".to_owned(),
        |lot| format!("Run sheet, lot {lot}"),
    );
    let page = markup! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="generator" content={ "heatset " (env!("CARGO_PKG_VERSION")) };
                title { (title) @if let Some(mark) = form.marks.first() { " - " (mark) } }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header {
                    h1 { (title) }
                    (super::html::marks(form))
                    @for (place, line) in form.headlines.iter().enumerate() {
                        p class=(if place == 0 { "headline" } else { "heat" }) { (line) }
                    }
                }
                main {
                    div.facts {
                        @for section in &form.sections {
                            section {
                                h2 { (section.name) }
                                dl {
                                    @for (what, value) in &section.facts {
                                        div { dt { (what) } dd { (value) } }
                                    }
                                }
                            }
                        }
                    }
                    (rows(form))
                    div.hand {
                        ul.checks { @for check in &form.checks { li { span.box {} (check) } } }
                        div.blanks {
                            @for blank in &form.blanks { p { span { (blank) } span.line {} } }
                            p.remarks { span { "remarks" } span.line {} }
                            p.codes { "Codes only: no names, no addresses, no dates of birth." }
                        }
                    }
                }
                footer {
                    @for note in &form.notes { p.note { strong { "Note: " } (note) } }
                    @for line in &form.stands { p { (line) } }
                    p.cautions {
                        @for caution in &form.cautions {
                            strong { (caution.about) ": " } (caution.text) " "
                        }
                        strong { "No time here is a shelf life." }
                    }
                    p.short { (form.short) }
                }
            }
        }
    };
    page.into_string()
}

/// The marks of invented data and of what is extrapolated.
pub(super) fn marks(form: &Form) -> Markup {
    markup! { @for mark in &form.marks { p.mark role="note" { (mark) } } }
}

fn rows(form: &Form) -> Markup {
    let class = if form.rows.len() > EASY_ROWS {
        "syringes close"
    } else {
        "syringes"
    };
    markup! {
        table class=(class) {
            thead {
                tr {
                    @for (name, kind) in [
                        ("code", "code"), ("in at", ""), ("really in", "hand"), ("out at", ""),
                        ("really out", "hand"), ("cool until", ""), ("before", "tick"),
                        ("air out", "tick"), ("after", "tick"), ("push felt, remarks", "wide"),
                    ] { th scope="col" class=(kind) { (name) } }
                }
            }
            tbody {
                @for row in &form.rows {
                    tr {
                        th scope="row" { (row.code) }
                        td { (row.in_at) }
                        td.hand {}
                        td { (row.out_at) }
                        td.hand {}
                        td { (row.cool_until) }
                        @for _ in 0..3 { td.tick { span.box {} } }
                        td.wide {}
                    }
                }
            }
        }
    }
}
