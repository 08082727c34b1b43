//! `heatset check`: what a bench table holds, and what it cannot tell.

use super::output::Output;
use super::{CliError, Context, check_seen};
use crate::readings::{
    Bench, NeedleCoverage, ReadingKind, Source, TableSummary, ViscosityReadings,
    read_bench_or_seen, summarise_converted,
};
use crate::units::display;
use clap::Args;
use serde::Serialize;
use std::fmt::Write;
use std::path::PathBuf;

/// The tables to look at.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Bench tables: CSV, TSV, semicolon-separated text, Parquet or XLSX.
    #[arg(required = true, value_name = "BENCH")]
    bench: Vec<PathBuf>,
    /// Worksheet of an XLSX workbook [default: the first that is not hidden]
    #[arg(long, value_name = "NAME")]
    worksheet: Option<String>,
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
    /// Null where nothing was pushed through a needle.
    needle_bench: Option<NeedleBench>,
}

#[derive(Serialize)]
struct NeedleBench {
    empty_runs: usize,
    water_runs: usize,
    known_liquid_runs: usize,
    gels: usize,
    gels_at_several_rates: usize,
    gels_through_several_lengths: usize,
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
        let table = match read_bench_or_seen(&self.bench, self.worksheet.as_deref())? {
            Bench::Readings(table) => table,
            Bench::Seen(table) => return check_seen::answer(&table, context),
        };
        let converted = table.viscosity_readings()?;
        let summary = summarise_converted(table.kind, &converted);
        if context.json {
            return Output::json(&document(&summary, &table.sources, &converted));
        }
        Ok(Output::words(words(
            &summary,
            &table.file_names(),
            &converted,
        )))
    }
}

/// What the pushes cover, where there are some.
fn covered(kind: ReadingKind, converted: &ViscosityReadings) -> Option<NeedleCoverage> {
    kind.is_push().then_some(converted.coverage)
}

fn document<'a>(
    summary: &'a TableSummary,
    source: &'a [Source],
    converted: &ViscosityReadings,
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
            .chain(converted.advice.iter().map(|advice| GapEntry {
                code: advice.code(),
                message: advice.message(),
            }))
            .collect(),
        assumptions: converted
            .assumptions
            .iter()
            .map(|assumption| assumption.message())
            .collect(),
        needle_bench: covered(summary.kind, converted).map(|coverage| NeedleBench {
            empty_runs: coverage.empty_runs,
            water_runs: coverage.water_runs,
            known_liquid_runs: coverage.known_runs,
            gels: coverage.gels,
            gels_at_several_rates: coverage.gels_with_rates,
            gels_through_several_lengths: coverage.gels_with_lengths,
        }),
    }
}

fn words(summary: &TableSummary, files: &str, converted: &ViscosityReadings) -> String {
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
    if let Some(coverage) = covered(summary.kind, converted) {
        put_coverage(&mut text, &coverage);
    }
    let assumptions: Vec<String> = converted
        .assumptions
        .iter()
        .map(|assumption| assumption.message())
        .collect();
    list(
        &mut text,
        match summary.kind {
            ReadingKind::RunTime => "Assumed in turning times into viscosities:",
            _ => "Assumed in turning forces into viscosities:",
        },
        &assumptions,
    );
    let gaps: Vec<String> = summary
        .gaps
        .iter()
        .map(|gap| gap.message())
        .chain(converted.advice.iter().map(|advice| advice.message()))
        .collect();
    if gaps.is_empty() {
        let _ = writeln!(text, "\nNo gap was found that a fit would stumble over.");
    } else {
        list(&mut text, "Advice, what these readings cannot tell:", &gaps);
    }
    text
}

fn put_coverage(text: &mut String, coverage: &NeedleCoverage) {
    let without = [
        (coverage.empty_runs, "empty"),
        (coverage.water_runs, "water"),
        (coverage.known_runs, "liquid of known viscosity"),
    ];
    let named: Vec<String> = without
        .iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, name)| format!("{name}: {count}"))
        .collect();
    let _ = writeln!(
        text,
        "  Pushed without gel: {}",
        if named.is_empty() {
            "nothing".to_string()
        } else {
            named.join(", ")
        }
    );
    let _ = writeln!(
        text,
        "  Gels: {}; at several rates: {}; through several lengths: {}",
        coverage.gels, coverage.gels_with_rates, coverage.gels_with_lengths
    );
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
