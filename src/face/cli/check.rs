//! `heatset check`: what a bench table holds, and what it cannot tell.

use super::output::Output;
use super::{CliError, Context};
use crate::readings::{ReadingKind, Source, TableSummary, read_bench, summarise};
use crate::units::display;
use clap::Args;
use serde::Serialize;
use std::fmt::Write;
use std::path::PathBuf;

/// The tables to look at.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Bench tables: CSV, TSV, semicolon-separated text or Parquet.
    #[arg(required = true, value_name = "BENCH")]
    bench: Vec<PathBuf>,
}

#[derive(Serialize)]
struct Document<'a> {
    reading: ReadingKind,
    reading_unit: &'static str,
    rows: usize,
    used: usize,
    invented: bool,
    source: &'a [Source],
    heat_temps: Vec<HeatTemp>,
    lots: Vec<Lot<'a>>,
    blends: Vec<Blend<'a>>,
    unknown_columns: &'a [String],
    gaps: Vec<GapEntry>,
    assumptions: Vec<String>,
}

#[derive(Serialize)]
struct HeatTemp {
    #[serde(rename = "temp_K")]
    temp_kelvin: f64,
    rows: usize,
}

#[derive(Serialize)]
struct Lot<'a> {
    lot: Option<&'a str>,
    rows: usize,
}

#[derive(Serialize)]
struct Blend<'a> {
    blend: &'a str,
    rows: usize,
}

#[derive(Serialize)]
struct GapEntry {
    code: &'static str,
    message: String,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        let table = read_bench(&self.bench)?;
        let assumptions: Vec<String> = table
            .viscosity_readings()?
            .assumptions
            .iter()
            .map(|assumption| assumption.message())
            .collect();
        let summary = summarise(&table);
        if context.json {
            return Output::json(&document(&summary, &table.sources, assumptions));
        }
        Ok(Output::words(words(
            &summary,
            &table.file_names(),
            &assumptions,
        )))
    }
}

fn document<'a>(
    summary: &'a TableSummary,
    source: &'a [Source],
    assumptions: Vec<String>,
) -> Document<'a> {
    Document {
        reading: summary.kind,
        reading_unit: summary.kind.unit(),
        rows: summary.rows,
        used: summary.used,
        invented: summary.invented,
        source,
        heat_temps: summary
            .by_temperature
            .iter()
            .map(|(temp_kelvin, rows)| HeatTemp {
                temp_kelvin: *temp_kelvin,
                rows: *rows,
            })
            .collect(),
        lots: summary
            .by_lot
            .iter()
            .map(|(lot, rows)| Lot {
                lot: lot.as_deref(),
                rows: *rows,
            })
            .collect(),
        blends: summary
            .by_blend
            .iter()
            .map(|(blend, rows)| Blend { blend, rows: *rows })
            .collect(),
        unknown_columns: &summary.unknown_columns,
        gaps: summary
            .gaps
            .iter()
            .map(|gap| GapEntry {
                code: gap.code(),
                message: gap.message(),
            })
            .collect(),
        assumptions,
    }
}

fn words(summary: &TableSummary, files: &str, assumptions: &[String]) -> String {
    let mut text = String::new();
    let readings = if summary.rows == 1 {
        "reading"
    } else {
        "readings"
    };
    let used = if summary.used == summary.rows {
        "all used".to_string()
    } else {
        format!("{} of them used", summary.used)
    };
    // Writing to a String cannot fail.
    let _ = writeln!(
        text,
        "{files} can be read: {} {} {readings}, {used}.",
        summary.rows,
        summary.kind.quantity()
    );
    if summary.invented {
        let _ = writeln!(text, "  Invented data: the table says so itself.");
    }
    let temperatures = summary
        .by_temperature
        .iter()
        .map(|(kelvin, rows)| format!("{}: {rows}", display::temperature(*kelvin)))
        .collect();
    let lots = summary
        .by_lot
        .iter()
        .map(|(lot, rows)| format!("{}: {rows}", lot.as_deref().unwrap_or("not named")))
        .collect();
    let blends = summary
        .by_blend
        .iter()
        .map(|(blend, rows)| format!("{blend}: {rows}"))
        .collect();
    put(&mut text, "Temperatures", temperatures);
    put(&mut text, "Lots", lots);
    put(&mut text, "Blends", blends);
    if !summary.unknown_columns.is_empty() {
        let columns = summary.unknown_columns.join(", ");
        let _ = writeln!(text, "  Columns kept as notes only: {columns}");
    }
    list(
        &mut text,
        "Assumed in turning forces into viscosities:",
        assumptions,
    );
    let gaps: Vec<String> = summary.gaps.iter().map(|gap| gap.message()).collect();
    if gaps.is_empty() {
        let _ = writeln!(text, "\nNo gap was found that a fit would stumble over.");
    } else {
        list(&mut text, "Advice, what these readings cannot tell:", &gaps);
    }
    text
}

fn put(text: &mut String, name: &str, counts: Vec<String>) {
    let _ = writeln!(text, "  {name} ({}): {}", counts.len(), counts.join(", "));
}

fn list(text: &mut String, title: &str, lines: &[String]) {
    if !lines.is_empty() {
        let _ = writeln!(text, "\n{title}");
        for line in lines {
            let _ = writeln!(text, "  {line}");
        }
    }
}
