//! `heatset convert`: forces and timed runs of a needle bench to a table of viscosities.

use super::output::{Output, check_free, write_file};
use super::text_table::{Side, TextTable};
use super::{CliError, Context};
use crate::readings::write::csv_bytes_with;
use crate::readings::{
    BenchTable, BoreUsed, FrictionSource, FrictionUsed, NeedleReading, ReadingKind, Source,
    ViscosityReadings, read_bench,
};
use crate::units::display;
use clap::Args;
use serde::Serialize;
use std::fmt::Write;
use std::path::PathBuf;

/// What to convert, and where to
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Bench tables with forces or timed runs: CSV, TSV, semicolon-separated text or Parquet
    #[arg(required = true, value_name = "BENCH")]
    bench: Vec<PathBuf>,
    /// Write the viscosities as a bench table that fit takes
    #[arg(long, value_name = "FILE.csv")]
    out: Option<PathBuf>,
}

#[derive(Serialize)]
struct Document<'a> {
    reading: ReadingKind,
    invented: bool,
    source: &'a [Source],
    readings: Vec<Entry<'a>>,
    frictions: Vec<Friction<'a>>,
    bores: Vec<Bore>,
    assumptions: Vec<String>,
    advice: Vec<Advice>,
    file: Option<String>,
}

#[derive(Serialize)]
struct Entry<'a> {
    file: &'a str,
    line: usize,
    used: bool,
    blend: String,
    lot: Option<&'a str>,
    #[serde(rename = "heat_temp_K")]
    heat_temp_kelvin: f64,
    heat_time_s: f64,
    bore_m: f64,
    needle_length_m: f64,
    #[serde(rename = "friction_N")]
    friction_n: f64,
    friction_from: Option<FrictionSource>,
    #[serde(rename = "pressure_Pa")]
    pressure_pa: f64,
    #[serde(rename = "jet_pressure_taken_off_Pa")]
    kinetic_pa: f64,
    flow_rate_m3_per_s: f64,
    reynolds: f64,
    end_correction_radii: Option<f64>,
    #[serde(rename = "wall_shear_stress_Pa")]
    wall_shear_stress_pa: f64,
    apparent_shear_rate_per_s: f64,
    shear_rate_per_s: f64,
    local_slope: Option<f64>,
    #[serde(rename = "viscosity_Pa_s")]
    viscosity_pa_s: f64,
    #[serde(rename = "viscosity_sd_own_Pa_s")]
    own_sd_pa_s: Option<f64>,
    #[serde(rename = "viscosity_sd_common_Pa_s")]
    common_sd_pa_s: f64,
    #[serde(rename = "viscosity_sd_Pa_s")]
    sd_pa_s: Option<f64>,
    viscosity_sd_ratio_by: By,
}

#[derive(Serialize)]
struct By {
    bore: f64,
    friction: f64,
    needle_length: f64,
    graduation: f64,
    own: Option<f64>,
}

#[derive(Serialize)]
struct Friction<'a> {
    #[serde(rename = "friction_N")]
    friction_n: f64,
    #[serde(rename = "sd_N")]
    sd_n: f64,
    #[serde(rename = "sd_from_push_to_push_N")]
    run_sd_n: Option<f64>,
    from: FrictionSource,
    barrel_bore_m: f64,
    session: Option<&'a str>,
    pushes_without_gel: usize,
    rows: usize,
}

#[derive(Serialize)]
struct Bore {
    needle: String,
    bore_m: f64,
    sd_m: f64,
    tabled_m: f64,
    from: crate::readings::BoreSource,
    pushes_of_known_liquid: usize,
    rows: usize,
}

#[derive(Serialize)]
struct Advice {
    code: &'static str,
    message: String,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        if let Some(out) = &self.out {
            check_free(out, context.replace)?;
        }
        let table = read_bench(&self.bench)?;
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
            let bytes = table_bytes(&table, &converted)?;
            write_file(path, &bytes, context.replace)?;
        }
        if context.json {
            return Output::json(&document(&table, &converted, file));
        }
        Ok(Output::words(words(&table, &converted, file.as_deref())))
    }
}

fn document<'a>(
    table: &'a BenchTable,
    converted: &'a ViscosityReadings,
    file: Option<String>,
) -> Document<'a> {
    let readings = rows(table, converted)
        .map(|row| {
            let one = row.reading;
            let over = |sd: f64| sd / one.viscosity_pa_s;
            Entry {
                file: table
                    .sources
                    .get(row.details.source)
                    .map_or("", |source| source.file.as_str()),
                line: row.details.line,
                used: row.details.used,
                blend: row.details.blend_name(),
                lot: row.details.lot.as_deref(),
                heat_temp_kelvin: row.heat_temp_kelvin,
                heat_time_s: row.heat_time_s,
                bore_m: row.bore.map_or(f64::NAN, |bore| bore.bore_m),
                needle_length_m: one.length_m,
                friction_n: one.friction_n,
                friction_from: row.friction.map(|friction| friction.source),
                pressure_pa: one.pressure_pa,
                kinetic_pa: one.kinetic_pa,
                flow_rate_m3_per_s: one.flow_rate_m3_per_s,
                reynolds: one.reynolds,
                end_correction_radii: one.end_correction_radii,
                wall_shear_stress_pa: one.wall_shear_stress_pa,
                apparent_shear_rate_per_s: one.apparent_rate_per_s,
                shear_rate_per_s: one.shear_rate_per_s,
                local_slope: one.local_slope,
                viscosity_pa_s: one.viscosity_pa_s,
                own_sd_pa_s: one.own_sd_pa_s,
                common_sd_pa_s: one.common_sd_pa_s,
                sd_pa_s: one.own_sd_pa_s.map(|own| own.hypot(one.common_sd_pa_s)),
                viscosity_sd_ratio_by: By {
                    bore: one.common_parts.bore_ratio,
                    friction: one.common_parts.friction_ratio,
                    needle_length: one.common_parts.length_ratio,
                    graduation: one.common_parts.volume_ratio,
                    own: one.own_sd_pa_s.map(over),
                },
            }
        })
        .collect();
    Document {
        reading: table.kind,
        invented: table.invented,
        source: &table.sources,
        readings,
        frictions: converted
            .frictions
            .iter()
            .filter(|friction| friction.rows > 0)
            .map(|friction| Friction {
                friction_n: friction.friction_n,
                sd_n: friction.sd_n,
                run_sd_n: friction.run_sd_n,
                from: friction.source,
                barrel_bore_m: friction.barrel_bore_m,
                session: friction.session.as_deref(),
                pushes_without_gel: friction.runs,
                rows: friction.rows,
            })
            .collect(),
        bores: converted
            .bores
            .iter()
            .filter(|bore| bore.rows > 0)
            .map(|bore| Bore {
                needle: bore.name(),
                bore_m: bore.bore_m,
                sd_m: bore.sd_m,
                tabled_m: bore.tabled_m,
                from: bore.source,
                pushes_of_known_liquid: bore.runs,
                rows: bore.rows,
            })
            .collect(),
        assumptions: converted
            .assumptions
            .iter()
            .map(|one| one.message())
            .collect(),
        advice: converted
            .advice
            .iter()
            .map(|one| Advice {
                code: one.code(),
                message: one.message(),
            })
            .collect(),
        file,
    }
}

/// A row of the table with what it came to.
struct Row<'a> {
    details: &'a crate::readings::RowDetails,
    heat_temp_kelvin: f64,
    heat_time_s: f64,
    reading: &'a NeedleReading,
    bore: Option<&'a BoreUsed>,
    friction: Option<&'a FrictionUsed>,
}

fn rows<'a>(
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

fn words(table: &BenchTable, converted: &ViscosityReadings, file: Option<&str>) -> String {
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
