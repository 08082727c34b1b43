//! A run sheet as a table: what stands above and under it as comment lines, one row a syringe.

use super::form::Form;
use crate::plan::sheet::RunSheet;
use crate::units::display;
use std::fmt::Write as _;

const HEADER: &str = "code,turn,place,in_at,really_in_at,out_at,really_out_at,cool_until_at,heat_temp_C,heat_time_s,lot,blend,needle,expected_push_N,expected_push_low_N,expected_push_high_N,identity_before,air_out,identity_after,push_felt_N,remarks,mark";

/// The sheet as CSV.
pub(crate) fn csv(form: &Form, sheet: &RunSheet) -> String {
    let mut text = String::new();
    let mut comment = |line: &str| {
        for part in line.lines() {
            let _ = writeln!(text, "# {part}");
        }
    };
    form.marks.iter().for_each(|mark| comment(mark));
    form.headlines.iter().for_each(|line| comment(line));
    for section in &form.sections {
        for (what, value) in &section.facts {
            comment(&format!("{}: {what}: {value}", section.name));
        }
    }
    form.checks
        .iter()
        .for_each(|check| comment(&format!("[ ] {check}")));
    form.blanks
        .iter()
        .for_each(|blank| comment(&format!("{blank}:")));
    form.notes
        .iter()
        .for_each(|note| comment(&format!("Note: {note}")));
    form.stands.iter().for_each(|line| comment(line));
    form.cautions
        .iter()
        .for_each(|caution| comment(&format!("{}: {}", caution.about, caution.text)));
    comment(&form.short);
    comment("No time here is a shelf life.");
    let _ = writeln!(text, "{HEADER}");
    let force = sheet.push.plunger_force_n;
    let mut marks = Vec::new();
    if sheet.invented {
        marks.push("INVENTED DATA");
    }
    if sheet.extrapolated {
        marks.push("EXTRAPOLATED");
    }
    for syringe in &sheet.syringes {
        let cells = [
            cell(&syringe.code),
            syringe.turn.to_string(),
            syringe.place.to_string(),
            cell(&syringe.in_at),
            String::new(),
            cell(&syringe.out_at),
            String::new(),
            cell(syringe.cool_until_at.as_deref().unwrap_or("")),
            display::celsius(sheet.heat.heat_temp_k),
            display::plain(sheet.heat.heat_time_s),
            cell(sheet.lot_code.as_deref().unwrap_or("")),
            cell(&sheet.blend),
            cell(&sheet.push.needle),
            display::significant(force.median, 3),
            display::significant(force.interval95[0], 3),
            display::significant(force.interval95[1], 3),
            String::new(),
            String::new(),
            String::new(),
            String::new(),
            String::new(),
            marks.join("; "),
        ];
        let _ = writeln!(text, "{}", cells.join(","));
    }
    text
}

/// A cell that no spreadsheet takes for a formula, quoted where it must be.
fn cell(text: &str) -> String {
    let guarded = if text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{text}")
    } else {
        text.to_owned()
    };
    if guarded.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", guarded.replace('"', "\"\""))
    } else {
        guarded
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 4180, 2.6 and 2.7: commas and line ends in quotation marks, these doubled.
    #[test]
    fn a_cell_keeps_its_commas_and_is_no_formula() {
        assert_eq!(cell("a,b"), "\"a,b\"");
        assert_eq!(cell("a\"b"), "\"a\"\"b\"");
        assert_eq!(cell("=1+1"), "'=1+1");
        assert_eq!(cell("plain"), "plain");
    }
}
