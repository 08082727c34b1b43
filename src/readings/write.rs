//! Bench tables to CSV, Parquet and workbooks; whole files or none.
//!
//! Every value reads back as it was: each column is written in the unit that people use where
//! that loses nothing, in SI otherwise. Text of unknown columns stands in the notes.

use std::io::Write;
use std::path::Path;

use polars::prelude::{
    Column, CsvWriter, DataFrame, KeyValueMetadata, NamedFrom, ParquetWriter, PolarsResult,
    SerWriter, Series,
};

use super::error::ReadingsError;
use super::error::system_words;
use super::parquet::INVENTED_KEY;
use super::table::{BenchTable, Content, NeedleDetails, ReadingKind, RowDetails};
pub use super::workbook::workbook_of_csv;
use crate::units::ColumnUnit;

/// What happens to a file that is there already.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Existing {
    /// It stays, and nothing is written.
    Keep,
    /// It is replaced once the new one is whole.
    Replace,
}

/// The table as CSV text: commas, decimal points, `# invented data` on top where it is.
///
/// # Errors
/// What polars cannot write.
pub fn csv_bytes(table: &BenchTable) -> Result<Vec<u8>, ReadingsError> {
    csv_bytes_with(table, &[])
}

/// The table as [`csv_bytes`] writes it, with further columns of numbers, one a row, behind its own.
///
/// # Errors
/// What polars cannot write.
pub fn csv_bytes_with(
    table: &BenchTable,
    further: &[(&str, Vec<Option<f64>>)],
) -> Result<Vec<u8>, ReadingsError> {
    let mut bytes = Vec::new();
    if table.invented {
        bytes.extend_from_slice(b"# invented data\n");
    }
    let write = |bytes: &mut Vec<u8>| -> PolarsResult<()> {
        CsvWriter::new(bytes).finish(&mut frame_of(table, further)?)
    };
    write(&mut bytes).map_err(|error| unwritable(&table.file_names(), &error.to_string()))?;
    Ok(bytes)
}

/// The table as the bytes of a Parquet file; its metadata say where it is invented.
///
/// # Errors
/// What polars cannot write.
pub fn parquet_bytes(table: &BenchTable) -> Result<Vec<u8>, ReadingsError> {
    let mut bytes = Vec::new();
    let metadata = table.invented.then(|| {
        KeyValueMetadata::from_static(vec![(INVENTED_KEY.to_string(), "true".to_string())])
    });
    let write = |bytes: &mut Vec<u8>| -> PolarsResult<u64> {
        ParquetWriter::new(bytes)
            .with_key_value_metadata(metadata)
            .finish(&mut frame_of(table, &[])?)
    };
    write(&mut bytes).map_err(|error| unwritable(&table.file_names(), &error.to_string()))?;
    Ok(bytes)
}

/// The table as the bytes of a workbook of one sheet, `Bench`.
///
/// # Errors
/// What cannot be written.
pub fn workbook_bytes(table: &BenchTable) -> Result<Vec<u8>, ReadingsError> {
    workbook_of_csv("Bench", &String::from_utf8_lossy(&csv_bytes(table)?))
}

/// Writes the table: Parquet where the name ends in `.parquet`, a workbook where it ends in
/// `.xlsx`, CSV otherwise.
///
/// # Errors
/// A file that is there already and shall stay; a folder that cannot be written to.
pub fn write_bench(
    table: &BenchTable,
    path: &Path,
    existing: Existing,
) -> Result<(), ReadingsError> {
    let file = path.display().to_string();
    if existing == Existing::Keep && path.exists() {
        return Err(ReadingsError::ExistsAlready { file });
    }
    let ends_in = |wanted: &str| {
        path.extension()
            .is_some_and(|end| end.eq_ignore_ascii_case(wanted))
    };
    let bytes = if ends_in("parquet") {
        parquet_bytes(table)?
    } else if ends_in("xlsx") {
        workbook_bytes(table)?
    } else {
        csv_bytes(table)?
    };
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let system = |error: &std::io::Error| unwritable(&file, &system_words(error));
    let mut whole = temporary_file(folder).map_err(|error| system(&error))?;
    whole.write_all(&bytes).map_err(|error| system(&error))?;
    let kept = match existing {
        Existing::Replace => whole.persist(path),
        Existing::Keep => whole.persist_noclobber(path),
    };
    match kept {
        Ok(_) => Ok(()),
        Err(error) if error.error.kind() == std::io::ErrorKind::AlreadyExists => {
            Err(ReadingsError::ExistsAlready { file })
        }
        Err(error) => Err(system(&error.error)),
    }
}

/// A file beside the one to be; once renamed it is as readable as any other of its owner.
fn temporary_file(folder: &Path) -> std::io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".heatset-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(folder)
}

fn unwritable(file: &str, reason: &str) -> ReadingsError {
    ReadingsError::Unwritable {
        file: file.to_string(),
        reason: reason.to_string(),
    }
}

/// Which text of a row goes into a column.
type PickText = fn(&RowDetails) -> Option<&String>;

/// The table as a data frame; columns in which nothing stands are left out.
fn frame_of(table: &BenchTable, further: &[(&str, Vec<Option<f64>>)]) -> PolarsResult<DataFrame> {
    let mut columns = Vec::new();
    // Pushes without gel stand below the gel's, their heat columns blank.
    let runs = &table.runs_without_gel;
    let rows: Vec<&RowDetails> = table
        .rows
        .iter()
        .chain(runs.iter().map(|run| &run.details))
        .collect();
    let all = |values: &ndarray::Array1<f64>| {
        let blank = runs.iter().map(|_| None);
        values.iter().copied().map(Some).chain(blank).collect()
    };
    put(
        &mut columns,
        "heat_temp",
        &["_C", "_K"],
        all(&table.heat_temp_kelvin),
    );
    put(
        &mut columns,
        "heat_time",
        &["_min", "_s"],
        all(&table.heat_time_s),
    );
    let unit = match table.kind {
        ReadingKind::Viscosity => "_Pa_s",
        ReadingKind::Modulus => "_Pa",
        ReadingKind::Force => "_N",
        ReadingKind::Firmness => "_au",
        ReadingKind::RunTime => "_s",
    };
    let readings = table.reading.iter().copied().map(Some);
    put(
        &mut columns,
        table.kind.name(),
        &[unit],
        readings.chain(runs.iter().map(|run| run.reading)).collect(),
    );
    if !runs.is_empty() {
        let gel = table.rows.iter().map(|_| Content::Gel);
        let words = gel
            .chain(runs.iter().map(|run| run.content))
            .map(|content| Some(content.as_str().to_string()));
        put_text(&mut columns, "content", words.collect());
        let none = || table.rows.iter().map(|_| None);
        put(
            &mut columns,
            "content_viscosity",
            &["_mPa_s", "_Pa_s"],
            none()
                .chain(runs.iter().map(|run| run.known_viscosity_pa_s))
                .collect(),
        );
        put(
            &mut columns,
            "content_viscosity_sd",
            &["_mPa_s", "_Pa_s"],
            none()
                .chain(runs.iter().map(|run| run.known_viscosity_sd_pa_s))
                .collect(),
        );
    }
    let numbers =
        |pick: fn(&RowDetails) -> Option<f64>| rows.iter().map(|row| pick(row)).collect::<Vec<_>>();
    let needles = |pick: fn(&NeedleDetails) -> Option<f64>| {
        rows.iter()
            .map(|row| row.needle.as_ref().and_then(pick))
            .collect::<Vec<_>>()
    };
    put(
        &mut columns,
        "reading_sd",
        &[""],
        numbers(|row| row.reading_sd),
    );
    put(
        &mut columns,
        "shear_rate",
        &["_per_s"],
        numbers(|row| row.shear_rate_per_s),
    );
    let texts: [(&str, PickText); 6] = [
        ("lot", |row| row.lot.as_ref()),
        ("operator", |row| row.operator.as_ref()),
        ("block", |row| row.block.as_ref()),
        ("place", |row| row.place.as_ref()),
        ("session", |row| row.session.as_ref()),
        ("blend", |row| row.blend.as_ref()),
    ];
    for (name, pick) in texts {
        put_text(
            &mut columns,
            name,
            rows.iter().map(|row| pick(row).cloned()).collect(),
        );
    }
    put(
        &mut columns,
        "ha_fraction",
        &[""],
        numbers(|row| row.ha_fraction),
    );
    put(
        &mut columns,
        "read_temp",
        &["_C", "_K"],
        numbers(|row| row.read_temp_kelvin),
    );
    put(
        &mut columns,
        "stand_time",
        &["_min", "_s"],
        numbers(|row| row.stand_time_s),
    );
    put(
        &mut columns,
        "stand_temp",
        &["_C", "_K"],
        numbers(|row| row.stand_temp_kelvin),
    );
    put(
        &mut columns,
        "needle_gauge",
        &[""],
        needles(|needle| needle.gauge.map(f64::from)),
    );
    let walls = rows
        .iter()
        .map(|row| row.needle.as_ref().and_then(|needle| needle.wall.clone()));
    put_text(&mut columns, "needle_wall", walls.collect());
    put(
        &mut columns,
        "needle_length",
        &["_mm"],
        needles(|needle| needle.length_m),
    );
    put(
        &mut columns,
        "barrel_bore",
        &["_mm"],
        needles(|needle| needle.barrel_bore_m),
    );
    put(
        &mut columns,
        "flow",
        &["_mL_per_min"],
        needles(|needle| needle.flow_rate_m3_per_s),
    );
    put(
        &mut columns,
        "friction",
        &["_N"],
        needles(|needle| needle.friction_n),
    );
    for (base, suffixes, pick) in [
        (
            "needle_bore",
            &["_mm"],
            (|needle| needle.bore_m) as fn(&NeedleDetails) -> Option<f64>,
        ),
        ("needle_bore_sd", &["_mm"], |needle| needle.bore_sd_m),
        ("dead_weight", &["_g"], |needle| needle.dead_weight_kg),
        ("run_volume", &["_mL"], |needle| needle.run_volume_m3),
    ] {
        put(&mut columns, base, suffixes, needles(pick));
    }
    if rows.iter().any(|row| !row.used) {
        let words = rows
            .iter()
            .map(|row| Some(if row.used { "yes" } else { "no" }.to_string()));
        put_text(&mut columns, "use", words.collect());
    }
    put_text(
        &mut columns,
        "note",
        rows.iter().map(|row| row.note.clone()).collect(),
    );
    for (name, values) in further {
        if values.iter().any(Option::is_some) {
            columns.push(Series::new((*name).into(), values.clone()).into());
        }
    }
    DataFrame::new(rows.len(), columns)
}

fn put_text(columns: &mut Vec<Column>, name: &str, values: Vec<Option<String>>) {
    if values.iter().any(Option::is_some) {
        columns.push(Series::new(name.into(), values).into());
    }
}

/// Puts a column of SI values under the first unit in which every value reads back exactly,
/// otherwise under the last one.
fn put(columns: &mut Vec<Column>, base: &str, suffixes: &[&str], values: Vec<Option<f64>>) {
    if !values.iter().any(Option::is_some) {
        return;
    }
    for suffix in suffixes {
        let Some(unit) = ColumnUnit::of_suffix(suffix) else {
            columns.push(Series::new(base.into(), values).into());
            return;
        };
        let last = suffixes.last() == Some(suffix);
        // Minutes only where they are short to write; other units with nine decimals.
        let scale = if *suffix == "_min" { 1e2 } else { 1e9 };
        let short = |value: f64| (unit.from_si(value) * scale).round() / scale;
        let exact = values
            .iter()
            .flatten()
            .all(|&value| unit.to_si(short(value)) == value);
        if exact || last {
            let written: Vec<Option<f64>> = values
                .iter()
                .map(|value| {
                    value.map(|value| {
                        if exact {
                            short(value)
                        } else {
                            unit.from_si(value)
                        }
                    })
                })
                .collect();
            columns.push(Series::new(format!("{base}{suffix}").into(), written).into());
            return;
        }
    }
}
