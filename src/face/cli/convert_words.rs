//! `heatset convert` in words: the table, what it stands on, what helps.

use super::convert::rows;
use super::text_table::{Side, TextTable};
use crate::readings::{BenchTable, BoreUsed, NeedleReading, ReadingKind, ViscosityReadings};
use crate::units::display;
use std::fmt::Write;

pub(super) fn words(
    table: &BenchTable,
    converted: &ViscosityReadings,
    file: Option<&str>,
) -> String {
    let mut text = String::new();
    let count = converted.readings.len();
    let coverage = converted.coverage;
    if table.invented {
        let _ = writeln!(
            text,
            "INVENTED DATA: for learning the tool, for nothing else."
        );
    }
    let low_high = |pick: fn(&NeedleReading) -> f64| {
        converted
            .readings
            .iter()
            .map(pick)
            .fold((f64::INFINITY, 0.0_f64), |(low, high), value| {
                (low.min(value), high.max(value))
            })
    };
    let (low, high) = low_high(|one| one.viscosity_pa_s);
    let (slow, fast) = low_high(|one| one.shear_rate_per_s);
    let _ = writeln!(
        text,
        "{} of {} gel{} come to {} to {}, at {} to {} 1/s in the needle.",
        counted(
            count,
            match table.kind {
                ReadingKind::RunTime => "timed run",
                _ => "force",
            }
        ),
        coverage.gels,
        if coverage.gels == 1 { "" } else { "s" },
        display::viscosity(low),
        display::viscosity(high),
        display::at_most(slow, 2),
        display::at_most(fast, 2),
    );
    let _ = writeln!(text);
    text.push_str(&table_words(table, converted));
    let _ = writeln!(
        text,
        "\n  rate as for water: 32 Q/(pi D^3). rate: true at the wall where n' was found, else the same.\n  own, common: standard deviations of the viscosity at its rate; own is scatter, common shifts all readings of a\n  needle together."
    );
    list(
        &mut text,
        "On what this stands:",
        converted.assumptions.iter().map(|one| one.message()),
    );
    list(
        &mut text,
        "What helps:",
        converted.advice.iter().map(|one| one.message()),
    );
    if let Some(file) = file {
        let _ = writeln!(
            text,
            "\nWrote {file}: a bench table of viscosities. Next: heatset fit {file}"
        );
    }
    text
}

fn counted(count: usize, what: &str) -> String {
    format!("{count} {what}{}", if count == 1 { "" } else { "s" })
}

fn table_words(table: &BenchTable, converted: &ViscosityReadings) -> String {
    let mut shown = TextTable::new([
        ("line", Side::Right),
        ("gel", Side::Left),
        ("needle", Side::Left),
        ("friction", Side::Right),
        ("rate as for water", Side::Right),
        ("rate", Side::Right),
        ("n'", Side::Right),
        ("ends", Side::Right),
        ("viscosity", Side::Right),
        ("own", Side::Right),
        ("common", Side::Right),
    ]);
    let several_files = table.sources.len() > 1;
    let several_blends = table.blends().len() > 1;
    for row in rows(table, converted) {
        let one = row.reading;
        let percent =
            |sd: f64| format!("{} %", display::at_most(100.0 * sd / one.viscosity_pa_s, 2));
        let dash = || "-".to_string();
        let mut gel = format!(
            "{} {}",
            display::temperature(row.heat_temp_kelvin),
            display::duration(row.heat_time_s)
        );
        if let Some(lot) = &row.details.lot {
            let _ = write!(gel, " {lot}");
        }
        if several_blends {
            let _ = write!(gel, " {}", row.details.blend_name());
        }
        if !row.details.used {
            gel.push_str(" (not used)");
        }
        let line = if several_files {
            format!("{}:{}", row.details.source + 1, row.details.line)
        } else {
            row.details.line.to_string()
        };
        shown.push([
            line,
            gel,
            format!(
                "{} x {}",
                row.bore.map_or_else(String::new, BoreUsed::name),
                display::length_mm(one.length_m)
            ),
            display::force(one.friction_n),
            format!("{} /s", display::at_most(one.apparent_rate_per_s, 3)),
            format!("{} /s", display::at_most(one.shear_rate_per_s, 3)),
            one.local_slope
                .map_or_else(dash, |slope| display::significant(slope, 2)),
            one.end_correction_radii
                .map_or_else(dash, |radii| format!("{} R", display::at_most(radii, 2))),
            display::viscosity(one.viscosity_pa_s),
            one.own_sd_pa_s.map_or_else(dash, percent),
            percent(one.common_sd_pa_s),
        ]);
    }
    shown.text(2)
}

fn list(text: &mut String, title: &str, lines: impl Iterator<Item = String>) {
    let mut lines = lines.peekable();
    if lines.peek().is_some() {
        let _ = writeln!(text, "\n{title}");
        for line in lines {
            let _ = writeln!(text, "  {line}");
        }
    }
}
