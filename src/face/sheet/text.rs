//! A run sheet as text, for a terminal and for a plain printer.

use super::form::Form;
use std::fmt::Write as _;

/// Width of a line of blanks or notes.
const WIDTH: usize = 100;

/// The sheet as text.
pub(crate) fn text(form: &Form) -> String {
    let mut text = String::new();
    for mark in &form.marks {
        let _ = writeln!(text, "{mark}");
    }
    for line in &form.headlines {
        let _ = writeln!(text, "{line}");
    }
    if let Some(lot) = &form.lot {
        let _ = writeln!(text, "Lot {lot}.");
    }
    for section in &form.sections {
        let _ = writeln!(text, "\n{}", section.name);
        for (what, value) in &section.facts {
            let _ = writeln!(text, "  {what:<28} {value}");
        }
    }
    let _ = writeln!(
        text,
        "\n  {:<5} {:<14} {:<9} {:<14} {:<9} {:<14} before  air out  after  push felt, remarks",
        "code", "in at", "really", "out at", "really", "cool until"
    );
    for row in &form.rows {
        let _ = writeln!(
            text,
            "  {:<5} {:<14} ________  {:<14} ________  {:<14} [ ]     [ ]      [ ]    ____________",
            row.code, row.in_at, row.out_at, row.cool_until
        );
    }
    text.push_str("\nTo tick\n");
    for check in &form.checks {
        let _ = writeln!(text, "  [ ] {check}");
    }
    text.push_str("\nTo fill in (codes, no names)\n");
    for pair in form.blanks.chunks(2) {
        let cells: Vec<String> = pair
            .iter()
            .map(|what| format!("{what:<20} ____________________"))
            .collect();
        let _ = writeln!(text, "  {}", cells.join("    "));
    }
    let _ = writeln!(text, "  {:<20} {}", "remarks", "_".repeat(WIDTH - 35));
    if !form.notes.is_empty() {
        text.push('\n');
    }
    for note in &form.notes {
        let _ = writeln!(
            text,
            "Note: {}",
            note.replace(" What helps:", "\nWhat helps:")
        );
    }
    text.push('\n');
    for line in &form.stands {
        let _ = writeln!(text, "{line}");
    }
    let _ = writeln!(
        text,
        "\nWhat leaves the block is no ready product, and no time here is a shelf life."
    );
    for caution in &form.cautions {
        let _ = writeln!(text, "{}: {}", caution.about, caution.text);
    }
    let _ = writeln!(text, "\n{}", form.short);
    text
}
