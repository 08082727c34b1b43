//! `heatset convert`: forces and timed runs of a needle bench to a table of viscosities.

use super::convert_document::document;
use super::convert_words::words;
use super::output::{Output, check_free, write_table};
use super::{CliError, Context};
use crate::readings::write::csv_bytes_with;
use crate::readings::{
    BenchTable, BoreUsed, FrictionUsed, NeedleReading, ReadingKind, RowDetails, ViscosityReadings,
    read_bench_of_worksheet,
};
use crate::units::display;
use clap::Args;
use std::fmt::Write;
use std::path::PathBuf;

/// What to convert, and where to
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Bench tables with forces or timed runs: CSV, TSV, semicolon-separated text, Parquet or XLSX
    #[arg(required = true, value_name = "BENCH")]
    bench: Vec<PathBuf>,
    /// Worksheet of an XLSX workbook [default: the first that is not hidden]
    #[arg(long, value_name = "NAME")]
    worksheet: Option<String>,
    /// Write the viscosities as a bench table that fit takes, .xlsx as a workbook
    #[arg(long, value_name = "FILE.csv|.xlsx")]
    out: Option<PathBuf>,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        if let Some(out) = &self.out {
            check_free(out, context.replace)?;
        }
        let table = read_bench_of_worksheet(&self.bench, self.worksheet.as_deref())?;
        if !table.kind.is_push() {
            return Err(CliError::question(format!(
                "{} holds readings of {}: nothing was pushed through a needle, and there is nothing to convert.\nWhat helps: heatset fit takes it as it is; a needle bench has force_N or run_time_s (heatset template says more)",
                table.file_names(),
                table.kind.quantity()
            )));
        }
        let converted = table.viscosity_readings()?;
        let file = self.out.as_ref().map(|path| path.display().to_string());
        if let Some(path) = &self.out {
            let csv = table_bytes(&table, &converted)?;
            write_table(path, &csv, "Bench", context.replace)?;
        }
        if context.json {
            return Output::json(&document(&table, &converted, file));
        }
        Ok(Output::words(words(&table, &converted, file.as_deref())))
    }
}

/// A row of the table with what it came to.
pub(super) struct Row<'a> {
    pub(super) details: &'a RowDetails,
    pub(super) heat_temp_kelvin: f64,
    pub(super) heat_time_s: f64,
    pub(super) reading: &'a NeedleReading,
    pub(super) bore: Option<&'a BoreUsed>,
    pub(super) friction: Option<&'a FrictionUsed>,
}

/// The rows of the table with what they came to.
pub(super) fn rows<'a>(
    table: &'a BenchTable,
    converted: &'a ViscosityReadings,
) -> impl Iterator<Item = Row<'a>> {
    table
        .rows
        .iter()
        .zip(&table.heat_temp_kelvin)
        .zip(&table.heat_time_s)
        .zip(&converted.readings)
        .map(|(((details, temp), time), reading)| Row {
            details,
            heat_temp_kelvin: *temp,
            heat_time_s: *time,
            reading,
            bore: converted.bores.get(reading.bore),
            friction: converted.frictions.get(reading.friction),
        })
}

/// The viscosities as a bench table; what was measured stands in further columns, which are notes
/// to whatever reads it.
fn table_bytes(table: &BenchTable, converted: &ViscosityReadings) -> Result<Vec<u8>, CliError> {
    let mut comments = String::new();
    // Writing to a String cannot fail.
    if table.invented {
        let _ = writeln!(comments, "# invented data");
    }
    let _ = writeln!(
        comments,
        "# Viscosities from {} by heatset {} convert",
        match table.kind {
            ReadingKind::RunTime => "timed runs under dead weights",
            _ => "plunger forces",
        },
        env!("CARGO_PKG_VERSION")
    );
    for source in &table.sources {
        let _ = writeln!(
            comments,
            "# from {} (SHA-256 {})",
            one_line(&source.file),
            source.sha256
        );
    }
    for assumption in &converted.assumptions {
        let _ = writeln!(comments, "# {}", one_line(&assumption.message()));
    }
    let mut written = converted.table.clone();
    // The comment above says it already.
    written.invented = false;
    for (viscosity_pa_s, row) in written.reading.iter_mut().zip(&mut written.rows) {
        *viscosity_pa_s = rounded(*viscosity_pa_s, 6);
        row.reading_sd = row.reading_sd.map(|sd| rounded(sd, 3));
        row.shear_rate_per_s = row.shear_rate_per_s.map(|rate| rounded(rate, 6));
    }
    let column = |pick: &dyn Fn(&NeedleReading) -> Option<f64>, digits: usize| {
        let picked = converted.readings.iter().map(pick);
        picked
            .map(|value| value.map(|value| rounded(value, digits)))
            .collect::<Vec<_>>()
    };
    let measured = match table.kind {
        ReadingKind::RunTime => "measured_run_time_s",
        _ => "measured_force_N",
    };
    let further = [
        (
            measured,
            table.reading.iter().copied().map(Some).collect::<Vec<_>>(),
        ),
        (
            "viscosity_common_sd_Pa_s",
            column(&|one| Some(one.common_sd_pa_s), 3),
        ),
        (
            "apparent_shear_rate_per_s",
            column(&|one| Some(one.apparent_rate_per_s), 6),
        ),
        ("local_slope", column(&|one| one.local_slope, 4)),
        (
            "end_correction_radii",
            column(&|one| one.end_correction_radii, 4),
        ),
        ("friction_used_N", column(&|one| Some(one.friction_n), 4)),
    ];
    let mut bytes = comments.into_bytes();
    bytes.extend(csv_bytes_with(&written, &further)?);
    Ok(bytes)
}

/// The number nearest with that many digits.
fn rounded(value: f64, digits: usize) -> f64 {
    display::significant(value, digits).parse().unwrap_or(value)
}

/// A file's name may hold a line break; a comment line must not.
fn one_line(text: &str) -> String {
    text.replace(['\n', '\r'], " ")
}
