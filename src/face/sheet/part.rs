//! A run sheet as a part of the page: read on the screen, filled in on paper.

use super::form::Form;
use super::html::marks;
use maud::{Markup, html as markup};

/// The sheet, first line first; `said` puts the names of fields in place of the options in a note.
pub(crate) fn in_page(form: &Form, said: impl Fn(&str) -> String) -> Markup {
    markup! {
        (marks(form))
        @for (place, line) in form.headlines.iter().enumerate() {
            p class=[(place == 0).then_some("first")] { (line) }
        }
        div.wide tabindex="0" role="region" aria-label="Syringes" {
            table {
                thead { tr {
                    @for name in ["code", "in at", "out at", "cool until"] { th scope="col" { (name) } }
                } }
                tbody {
                    @for row in &form.rows {
                        tr {
                            th scope="row" { (row.code) }
                            td.number { (row.in_at) }
                            td.number { (row.out_at) }
                            td.number { (row.cool_until) }
                        }
                    }
                }
            }
        }
        @for section in &form.sections {
            h2 { (section.name) }
            dl.facts {
                @for (what, value) in &section.facts { div { dt { (what) } dd { (value) } } }
            }
        }
        h2 { "To tick" }
        ul { @for check in &form.checks { li { (check) } } }
        @for note in &form.notes {
            div.note { @for line in said(note).lines() { p { (line) } } }
        }
        @for line in &form.stands { p.hint { (line) } }
        p.hint { "No time here is a shelf life. " (form.short) }
    }
}
