//! Bench tables in every form that they come in, and out again.
#![cfg(feature = "tables")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::fs;
use std::io::Cursor;
use std::path::PathBuf;

use approx::assert_relative_eq;
use heatset::readings::write::{Existing, csv_bytes, parquet_bytes, write_bench};
use heatset::readings::{
    BenchTable, NeedleDetails, ReadingKind, ReadingsError, RowDetails, blank_bench_table,
    read_bench, read_bench_bytes, read_bench_text, summarise,
};
use polars::prelude::{Column, DataFrame, NamedFrom, ParquetWriter, Series};
use proptest::prelude::*;

/// Two rows, as a spreadsheet of an English-speaking country saves them.
const COMMAS: &str =
    "heat_temp_C,heat_time_min,viscosity_mPa_s,lot\n80,1.5,2.25,L1\n90,0.5,50,L2\n";

fn read(text: &str) -> BenchTable {
    read_bench_text("bench.csv", text.as_bytes()).expect("the table reads")
}

/// What a reader of the table sees, whatever the file was.
fn assert_same_rows(left: &BenchTable, right: &BenchTable) {
    assert_eq!(left.kind, right.kind);
    assert_eq!(left.heat_temp_kelvin, right.heat_temp_kelvin);
    assert_eq!(left.heat_time_s, right.heat_time_s);
    assert_eq!(left.reading, right.reading);
    assert_eq!(left.invented, right.invented);
    let without_place = |table: &BenchTable| -> Vec<RowDetails> {
        table
            .rows
            .iter()
            .map(|row| RowDetails {
                line: 0,
                source: 0,
                ..row.clone()
            })
            .collect()
    };
    assert_eq!(without_place(left), without_place(right));
}

#[test]
fn a_comma_table_is_read_into_si() {
    let table = read(COMMAS);
    // SI Brochure, 9th ed. (2019), 2.3.1 and table 8: 0 °C = 273.15 K, 1 min = 60 s; m = 1e-3.
    assert_relative_eq!(table.heat_temp_kelvin[0], 353.15);
    assert_relative_eq!(table.heat_time_s[0], 90.0);
    assert_relative_eq!(table.reading[0], 0.00225);
    assert_eq!(table.kind, ReadingKind::Viscosity);
    assert_eq!(table.rows[1].lot.as_deref(), Some("L2"));
    assert_eq!((table.rows[0].line, table.rows[1].line), (2, 3));
    assert_eq!(table.lots(), ["L1", "L2"]);
    assert_eq!(table.blends(), ["plain"]);
    assert_eq!(table.temperatures(), [353.15, 363.15]);
}

#[test]
fn tabs_semicolons_and_commas_give_the_same_table() {
    let commas = read(COMMAS);
    assert_same_rows(&commas, &read(&COMMAS.replace(',', "\t")));
    assert_same_rows(&commas, &read(&COMMAS.replace(',', ";")));
}

#[test]
fn a_decimal_comma_is_read_where_commas_do_not_separate() {
    let commas = read(COMMAS);
    for separator in [";", "\t"] {
        let text = COMMAS.replace(',', separator).replace('.', ",");
        assert!(text.contains("1,5"));
        assert_same_rows(&commas, &read(&text));
    }
}

#[test]
fn a_byte_order_mark_and_any_line_end_change_nothing() {
    let commas = read(COMMAS);
    for text in [
        format!("\u{feff}{COMMAS}"),
        COMMAS.replace('\n', "\r\n"),
        COMMAS.replace('\n', "\r"),
        COMMAS.trim_end().to_string(),
        format!("\u{feff}{}", COMMAS.replace('\n', "\r\n")),
    ] {
        let table = read(&text);
        assert_same_rows(&commas, &table);
        assert_eq!(table.rows[1].line, 3);
    }
    // a stray CR inside a line of an LF file is a blank, not a new line
    assert_same_rows(&commas, &read(&COMMAS.replace("80,", "80\r,")));
}

#[test]
fn comments_and_blank_lines_are_passed_over_and_still_counted() {
    let text = "# bench\n\nheat_temp_C,heat_time_min,viscosity_mPa_s\n80,1,2\n,,\n# between\n\"# a, b\",,\n90,1,50\n";
    let table = read(text);
    assert_eq!(table.len(), 2);
    assert_eq!((table.rows[0].line, table.rows[1].line), (4, 8));
    assert!(!table.invented);
}

#[test]
fn a_table_that_calls_itself_invented_stays_so() {
    for comment in [
        "# Invented Data of a skills laboratory",
        "\"# plain, INVENTED DATA\",,,",
    ] {
        let table = read(&format!("{comment}\n{COMMAS}"));
        assert!(table.invented);
        let bytes = csv_bytes(&table).unwrap();
        assert!(read_bench_text("again.csv", &bytes).unwrap().invented);
        assert!(
            read_bench_bytes("again.parquet", &parquet_bytes(&table).unwrap())
                .unwrap()
                .invented
        );
    }
    assert!(!read(COMMAS).invented);
    assert!(
        !read_bench_bytes("again", &parquet_bytes(&read(COMMAS)).unwrap())
            .unwrap()
            .invented
    );
}

#[test]
fn quoted_cells_follow_rfc_4180() {
    // RFC 4180 (2005), section 2, rules 5 to 7: separators, line ends and doubled quotation
    // marks stand inside quotation marks.
    let text = "heat_temp_C,heat_time_min,viscosity_mPa_s,note\r\n80,1,2,\"clear, a \"\"skin\"\"\r\non top\"\r\n\"90\",1,50,\r\n";
    let table = read(text);
    assert_eq!(
        table.rows[0].note.as_deref(),
        Some("clear, a \"skin\"  on top")
    );
    assert_eq!(table.rows[1].note, None);
    // the quoted cell reaches over lines 2 and 3
    assert_eq!((table.rows[0].line, table.rows[1].line), (2, 4));
}

#[test]
fn every_unit_of_the_header_is_converted() {
    // SI Brochure, 9th ed. (2019); NIST SP 811 (2008), B.8: 1 cP = 1 mPa.s,
    // t/°F = 1.8 T/K - 459.67, 1 gf = 9.80665 mN.
    let cases: [(&str, &str, f64, f64, f64); 9] = [
        (
            "heat_temp_K,heat_time_s,viscosity_Pa_s",
            "353.15,90,2",
            353.15,
            90.0,
            2.0,
        ),
        (
            "heat_temp_F,heat_time_h,viscosity_cP",
            "176,0.5,2",
            353.15,
            1800.0,
            0.002,
        ),
        (
            "heat_temp_C,heat_time_min,viscosity_mPa_s",
            "80,1,2",
            353.15,
            60.0,
            0.002,
        ),
        (
            "heat_temp_C,heat_time_min,modulus_Pa",
            "80,1,2",
            353.15,
            60.0,
            2.0,
        ),
        (
            "heat_temp_C,heat_time_min,modulus_kPa",
            "80,1,2",
            353.15,
            60.0,
            2000.0,
        ),
        (
            "heat_temp_C,heat_time_min,firmness_au",
            "80,1,-2",
            353.15,
            60.0,
            -2.0,
        ),
        (
            "heat_temp_C,heat_time_min,firmness_au",
            "80,0,0",
            353.15,
            0.0,
            0.0,
        ),
        (
            "heat_temp_C,heat_time_min,force_N,needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm,flow_mL_per_min",
            "80,1,2,27,regular,13,4.7,1",
            353.15,
            60.0,
            2.0,
        ),
        (
            "heat_temp_C,heat_time_min,force_gf,needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm,flow_mL_per_min",
            "80,1,1000,27,thin,13,4.7,1",
            353.15,
            60.0,
            9.80665,
        ),
    ];
    for (header, row, temperature, time, reading) in cases {
        let table = read(&format!("{header}\n{row}\n"));
        assert_relative_eq!(table.heat_temp_kelvin[0], temperature, max_relative = 1e-14);
        assert_relative_eq!(table.heat_time_s[0], time);
        assert_relative_eq!(table.reading[0], reading, max_relative = 1e-14);
    }
}

#[test]
fn every_further_column_reaches_its_place() {
    let text = "heat_temp_C,heat_time_min,force_N,reading_sd,shear_rate_per_s,lot,operator,block,place,session,blend,ha_fraction,read_temp_C,stand_time_h,stand_temp_C,needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm,flow_mL_per_min,friction_N,use,note\n\
                80,1,5,0.5,10,L1,op2,b3,p4,s5,soft,0.2,25,2,4,30,Thin,13,4.7,1,0,no,clear\n\
                80,1,6,,,,,,,,,,,,,27,regular,13,4.7,0.5,,,\n";
    let table = read(text);
    let words = |text: &str| Some(text.to_string());
    let row = &table.rows[0];
    assert_eq!(
        *row,
        RowDetails {
            source: 0,
            line: 2,
            used: false,
            reading_sd: Some(0.5),
            shear_rate_per_s: Some(10.0),
            lot: words("L1"),
            operator: words("op2"),
            block: words("b3"),
            place: words("p4"),
            session: words("s5"),
            blend: words("soft"),
            ha_fraction: Some(0.2),
            read_temp_kelvin: Some(298.15),
            stand_time_s: Some(7200.0),
            stand_temp_kelvin: Some(277.15),
            needle: Some(NeedleDetails {
                gauge: Some(30),
                wall: words("thin"),
                length_m: Some(0.013),
                barrel_bore_m: Some(0.0047),
                flow_rate_m3_per_s: Some(1.0 / 6e7),
                friction_n: Some(0.0),
                ..NeedleDetails::default()
            }),
            note: words("clear"),
        }
    );
    assert!(table.rows[1].used);
    assert_eq!(
        table.rows[1]
            .needle
            .as_ref()
            .and_then(|needle| needle.friction_n),
        None
    );
    assert_eq!(table.sources[0].rows, 2);
    assert_eq!(table.sources[0].used, 1);
    assert_eq!(table.used_rows(), [1]);
}

#[test]
fn unknown_columns_become_notes_and_are_named_once() {
    let text = "heat_temp_C,heat_time_min,viscosity_mPa_s,pH,note,spindle\n80,1,2,7.2,clear,3\n90,1,50,,,4\n";
    let table = read(text);
    assert_eq!(table.unknown_columns, ["pH", "spindle"]);
    assert_eq!(
        table.rows[0].note.as_deref(),
        Some("clear; pH=7.2; spindle=3")
    );
    assert_eq!(table.rows[1].note.as_deref(), Some("spindle=4"));
}

#[test]
fn empty_columns_at_the_end_are_passed_over() {
    let table = read("heat_temp_C,heat_time_min,viscosity_mPa_s,,\n80,1,2,,\n90,1,50,,\n");
    assert!(table.unknown_columns.is_empty());
}

#[test]
fn blends_go_by_name_and_else_by_fraction() {
    let text = "heat_temp_C,heat_time_min,viscosity_mPa_s,blend,ha_fraction\n80,1,2,,\n80,1,3,soft,0.1\n80,1,4,,0.2\n80,1,5,,0\n";
    let table = read(text);
    assert_eq!(table.blends(), ["plain", "soft", "HA 0.2"]);
    assert_eq!(table.rows_of_blend("plain"), [0, 3]);
}

#[test]
fn parquet_from_polars_reads_as_the_text_does() {
    // Typed columns as another program writes them: whole numbers, single precision, text,
    // truth values, empty cells.
    let columns: Vec<Column> = vec![
        Series::new("heat_temp_C".into(), vec![80_i64, 90]).into(),
        Series::new("heat_time_min".into(), vec![1.5_f32, 0.5]).into(),
        Series::new("viscosity_mPa_s".into(), vec![2.25_f64, 50.0]).into(),
        Series::new("lot".into(), vec![Some("L1"), None]).into(),
        Series::new("use".into(), vec![true, false]).into(),
        Series::new("needle_gauge".into(), vec![Some(30_u32), None]).into(),
        Series::new("tube".into(), vec![7_i32, 8]).into(),
    ];
    let mut frame = DataFrame::new(2, columns).unwrap();
    let mut bytes = Vec::new();
    ParquetWriter::new(Cursor::new(&mut bytes))
        .finish(&mut frame)
        .unwrap();
    let table = read_bench_bytes("bench.parquet", &bytes).unwrap();
    let text = "heat_temp_C,heat_time_min,viscosity_mPa_s,lot,use,needle_gauge,tube\n80,1.5,2.25,L1,yes,30,7\n90,0.5,50,,no,,8\n";
    assert_same_rows(&table, &read(text));
    // Parquet has no lines: rows are counted, the first being 1.
    assert_eq!((table.rows[0].line, table.rows[1].line), (1, 2));
    assert_eq!(table.unknown_columns, ["tube"]);
}

#[test]
fn faults_of_a_parquet_table_are_told_by_row() {
    let columns: Vec<Column> = vec![
        Series::new("heat_temp_C".into(), vec![80.0, 90.0]).into(),
        Series::new("heat_time_min".into(), vec![1.0, f64::NAN]).into(),
        Series::new("viscosity_mPa_s".into(), vec![Some(-2.5), None]).into(),
    ];
    let mut frame = DataFrame::new(2, columns).unwrap();
    let mut bytes = Vec::new();
    ParquetWriter::new(Cursor::new(&mut bytes))
        .finish(&mut frame)
        .unwrap();
    let refused = read_bench_bytes("bench.parquet", &bytes)
        .unwrap_err()
        .to_string();
    assert_eq!(
        refused,
        "bench.parquet cannot be read: 3 faults\n  \
         row 1, column viscosity_mPa_s: -2.5 is negative (take the row out, or give what was measured)\n  \
         row 2, column heat_time_min: not-a-number stands here\n  \
         row 2, column viscosity_mPa_s: the cell is empty (give the number, or take the row out)"
    );
}

#[test]
fn several_files_become_one_table_and_keep_their_sources() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| -> PathBuf {
        let path = folder.path().join(name);
        fs::write(&path, text).unwrap();
        path
    };
    let first = write("a.csv", COMMAS);
    let second = write(
        "b.tsv",
        "heat_temp_C\theat_time_min\tviscosity_mPa_s\n70\t3\t1.75\n",
    );
    let other = write("c.csv", "heat_temp_C,heat_time_min,modulus_Pa\n70,3,1.75\n");
    let table = read_bench(&[first.clone(), second]).unwrap();
    assert_eq!(table.len(), 3);
    assert_eq!(table.sources.len(), 2);
    assert_eq!((table.rows[2].source, table.rows[2].line), (1, 2));
    // The file's SHA-256 (FIPS 180-4) as GNU coreutils' sha256sum prints it.
    assert_eq!(
        table.sources[0].sha256,
        "fd1798fb2e36f43e106fc3dfc377a12599a22480487955846654aa51da96e41c"
    );

    let message = read_bench(&[first.clone(), other.clone()])
        .unwrap_err()
        .to_string();
    assert!(
        message.contains("a.csv holds viscosity readings"),
        "{message}"
    );
    assert!(message.contains("c.csv modulus readings"), "{message}");

    let copy = write("copy.csv", COMMAS);
    let message = read_bench(&[first, copy]).unwrap_err().to_string();
    assert!(message.contains("every reading counts twice"), "{message}");
}

#[test]
fn a_file_is_written_whole_and_not_over_another() {
    let folder = tempfile::tempdir().unwrap();
    let table = read(COMMAS);
    for name in ["out.csv", "out.parquet"] {
        let path = folder.path().join(name);
        write_bench(&table, &path, Existing::Keep).unwrap();
        assert_same_rows(&read_bench(std::slice::from_ref(&path)).unwrap(), &table);
        let before = fs::read(&path).unwrap();
        let other = read("heat_temp_C,heat_time_min,viscosity_mPa_s\n70,3,1.75\n");
        assert!(matches!(
            write_bench(&other, &path, Existing::Keep),
            Err(ReadingsError::ExistsAlready { .. })
        ));
        assert_eq!(fs::read(&path).unwrap(), before);
        write_bench(&other, &path, Existing::Replace).unwrap();
        assert_same_rows(&read_bench(&[path]).unwrap(), &other);
    }
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = fs::metadata(folder.path().join("out.csv"))
            .unwrap()
            .permissions()
            .mode();
        assert_ne!(
            mode & 0o044,
            0,
            "others may read the table as any file of its owner"
        );
    }
    // nothing but the two tables is left behind
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2);
    let nowhere = folder.path().join("no-such-folder").join("out.csv");
    assert!(matches!(
        write_bench(&table, &nowhere, Existing::Keep),
        Err(ReadingsError::Unwritable { .. })
    ));
}

#[test]
fn a_written_table_reads_in_the_units_of_the_bench() {
    let text = String::from_utf8(csv_bytes(&read(COMMAS)).unwrap()).unwrap();
    let mut lines = text.lines();
    assert_eq!(
        lines.next(),
        Some("heat_temp_C,heat_time_min,viscosity_Pa_s,lot")
    );
    let row: Vec<&str> = lines.next().unwrap().split(',').collect();
    assert_eq!(row[0].parse::<f64>(), Ok(80.0));
    assert_eq!(row[1].parse::<f64>(), Ok(1.5));
}

#[test]
fn the_blank_table_lacks_nothing_but_rows() {
    let refused = read_bench_text("blank.csv", blank_bench_table().as_bytes())
        .unwrap_err()
        .to_string();
    assert_eq!(
        refused,
        "blank.csv cannot be read: 1 fault\n  there are no rows under the header (write one row a reading)"
    );
    let filled = format!("{}80,1,0.5,10,L1,plain,,,,,,,,,,,\n", blank_bench_table());
    let table = read_bench_text("filled.csv", filled.as_bytes()).unwrap();
    assert!(table.unknown_columns.is_empty());
    assert!(!table.invented);
    // every column of the header is explained above it, and the other way round
    for column in [
        "heat_temp_K",
        "heat_temp_F",
        "heat_time_s",
        "heat_time_h",
        "viscosity_mPa_s",
        "viscosity_cP",
        "modulus_Pa",
        "modulus_kPa",
        "force_N",
        "force_gf",
        "firmness_au",
        "needle_gauge",
        "needle_wall",
        "needle_length_mm",
        "barrel_bore_mm",
        "flow_mL_per_min",
        "friction_N",
    ] {
        assert!(blank_bench_table().contains(column), "{column}");
    }
    let header = blank_bench_table().lines().last().unwrap();
    let comments = blank_bench_table().replace(header, "");
    for column in header.split(',') {
        assert!(comments.contains(column), "{column}");
    }
}

const NEEDLE_COLUMNS: &str =
    "needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm,flow_mL_per_min,friction_N";

/// Hagen-Poiseuille (Bird, Stewart & Lightfoot, Transport Phenomena, 2nd ed., 2002, equation
/// 2.3-21) for 1 mL/min and a length of 13 mm, times the area of a 4.7 mm barrel.
fn gel_force_n(viscosity_pa_s: f64, bore_m: f64) -> f64 {
    let pi = std::f64::consts::PI;
    let flow_rate_m3_per_s = 1e-6 / 60.0;
    let pressure_pa = 128.0 * viscosity_pa_s * 0.013 * flow_rate_m3_per_s / (pi * bore_m.powi(4));
    pressure_pa * pi * 0.0047_f64.powi(2) / 4.0
}

#[test]
fn a_force_becomes_the_viscosity_of_its_own_needle() {
    // Needle gauge comparison chart of an open encyclopedia (Birmingham gauge, regular wall):
    // 27G 0.2095 mm, 30G 0.1588 mm.
    let (wide, narrow) = (gel_force_n(2.0, 0.2095e-3), gel_force_n(0.5, 0.1588e-3));
    let text = format!(
        "heat_temp_C,heat_time_min,force_N,reading_sd,{NEEDLE_COLUMNS}\n\
         80,1,{},{},27,regular,13,4.7,1,1.5\n\
         90,1,{},,30,regular,13,4.7,1,0\n",
        wide + 1.5,
        wide * 0.1,
        narrow
    );
    let converted = read(&text).viscosity_readings().unwrap();
    assert_eq!(converted.table.kind, ReadingKind::Viscosity);
    assert_relative_eq!(converted.table.reading[0], 2.0, max_relative = 1e-12);
    assert_relative_eq!(converted.table.reading[1], 0.5, max_relative = 1e-12);
    // a tenth of the gel's force is a tenth of the viscosity
    assert_relative_eq!(
        converted.table.rows[0].reading_sd.unwrap(),
        0.2,
        max_relative = 1e-12
    );
    // 32 Q/(pi D^3), the apparent rate at the wall: Bird, Stewart & Lightfoot, table 8.3-2 at n = 1
    let rate_per_s = 32.0 * (1e-6 / 60.0) / (std::f64::consts::PI * 0.2095e-3_f64.powi(3));
    assert_relative_eq!(
        converted.table.rows[0].shear_rate_per_s.unwrap(),
        rate_per_s,
        max_relative = 1e-12
    );
    let assumed = converted
        .assumptions
        .iter()
        .map(|one| one.message())
        .collect::<Vec<_>>()
        .join("\n");
    assert!(
        assumed.contains("27G: bore 0.2095 mm (nominal)"),
        "{assumed}"
    );
    assert!(!assumed.contains("taken off for the stopper"), "{assumed}");
}

#[test]
fn a_force_without_friction_says_what_was_taken_off() {
    let text = format!(
        "heat_temp_C,heat_time_min,force_N,{NEEDLE_COLUMNS}\n80,1,{},27,regular,13,4.7,1,\n",
        gel_force_n(2.0, 0.2095e-3) + 2.0
    );
    // common practice, no source: 2 N for a 1 mL syringe
    let converted = read(&text).viscosity_readings().unwrap();
    assert_relative_eq!(converted.table.reading[0], 2.0, max_relative = 1e-12);
    let assumed = converted
        .assumptions
        .iter()
        .map(|one| one.message())
        .collect::<Vec<_>>()
        .join("\n");
    assert!(
        assumed.contains("1 reading without a friction: 2 N taken off"),
        "{assumed}"
    );
}

#[test]
fn forces_that_leave_nothing_for_the_gel_are_refused_by_line() {
    let text = format!(
        "heat_temp_C,heat_time_min,force_N,{NEEDLE_COLUMNS}\n80,1,1.5,27,regular,13,4.7,1,2\n80,2,9,27,regular,13,4.7,1,2\n80,3,2,27,regular,13,4.7,1,2\n"
    );
    let refused = read(&text).viscosity_readings().unwrap_err().to_string();
    assert!(
        refused.starts_with(
            "the forces of bench.csv cannot be turned into viscosities: 2 faults\n  line 2: "
        ),
        "{refused}"
    );
    assert!(refused.contains("\n  line 4: "), "{refused}");
    let modulus = read("heat_temp_C,heat_time_min,modulus_Pa\n80,1,2\n");
    assert_eq!(modulus.viscosity_readings().unwrap().table, modulus);
}

fn gap_codes(text: &str) -> Vec<&'static str> {
    summarise(&read(text))
        .gaps
        .iter()
        .map(|gap| gap.code())
        .collect()
}

#[test]
fn gaps_are_named_and_a_full_table_has_none() {
    let header = "heat_temp_C,heat_time_min,viscosity_Pa_s,shear_rate_per_s,lot\n";
    let mut full = header.to_string();
    for lot in ["L1", "L2"] {
        for temperature in [80, 90] {
            // levels off at 4 Pa.s, starts at 2 mPa.s
            for (time, reading) in [
                (0.0, 0.002),
                (0.5, 0.004),
                (1.0, 0.02),
                (2.0, 0.2),
                (4.0, 1.5),
                (8.0, 3.9),
                (16.0, 4.0),
            ] {
                full.push_str(&format!("{temperature},{time},{reading},10,{lot}\n"));
            }
        }
    }
    assert_eq!(gap_codes(&full), Vec::<&str>::new());
    let summary = summarise(&read(&full));
    assert_eq!((summary.rows, summary.used), (28, 28));
    assert_eq!(summary.by_temperature, [(353.15, 14), (363.15, 14)]);
    assert_eq!(summary.by_blend, [("plain".to_string(), 28)]);
    assert_eq!(
        summary.by_lot,
        [(Some("L1".to_string()), 14), (Some("L2".to_string()), 14)]
    );

    let without = |unwanted: fn(&str) -> bool| -> String {
        full.lines()
            .filter(|line| !unwanted(line))
            .map(|line| format!("{line}\n"))
            .collect()
    };
    assert_eq!(
        gap_codes(&without(|line| line.starts_with("80"))),
        ["single_temperature"]
    );
    assert_eq!(
        gap_codes(&without(
            |line| line.starts_with("90,8") || line.starts_with("90,16")
        )),
        ["no_plateau"]
    );
    assert_eq!(
        gap_codes(&without(|line| ["80,0,", "80,0.5", "80,1,"]
            .iter()
            .any(|begin| line.starts_with(begin)))),
        ["no_beginning"]
    );
    assert_eq!(
        gap_codes(&without(
            |line| line.starts_with("90,0.5") || line.starts_with("90,1,")
        )),
        ["no_short_times"]
    );
    assert_eq!(
        gap_codes(&without(|line| line.ends_with("L2"))),
        ["no_replicates", "one_lot"]
    );
    assert_eq!(
        gap_codes(&full.replace("4,10,L1", "4,100,L1")),
        ["several_shear_rates"]
    );
    assert_eq!(
        gap_codes(&full.replace("4,10,L1", "4,,L1")),
        ["no_shear_rate"]
    );
}

/// A code as benches write them, or nothing.
fn code() -> impl Strategy<Value = Option<String>> {
    proptest::option::of("[A-Za-z0-9\"#][A-Za-z0-9 ,;\"'äµ#-]{0,6}[A-Za-z0-9\"]")
}

fn number(range: std::ops::Range<f64>) -> impl Strategy<Value = Option<f64>> {
    proptest::option::of(range)
}

prop_compose! {
    fn details()(
        (used, lot, operator, blend, note) in (any::<bool>(), code(), code(), code(), code()),
        (reading_sd, shear_rate_per_s, ha_fraction) in (number(1e-6..10.0), number(1e-3..1e4), number(0.0..1.0)),
        (read_temp_kelvin, stand_time_s, stand_temp_kelvin) in (number(250.0..400.0), number(0.0..1e6), number(250.0..400.0)),
    ) -> RowDetails {
        RowDetails {
            used, lot, operator, blend, note, reading_sd, shear_rate_per_s, ha_fraction,
            read_temp_kelvin, stand_time_s, stand_temp_kelvin, ..RowDetails::default()
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn a_table_written_and_read_again_is_the_same(
        rows in proptest::collection::vec((0.0..673.0, 0.0..1e5, 1e-6..1e6, details()), 2..12),
        invented in any::<bool>(),
    ) {
        let mut table = BenchTable::from_arrays(
            ReadingKind::Viscosity,
            rows.iter().map(|row| row.0).collect::<Vec<f64>>(),
            rows.iter().map(|row| row.1).collect::<Vec<f64>>(),
            rows.iter().map(|row| row.2).collect::<Vec<f64>>(),
        ).unwrap();
        table.rows = rows.into_iter().map(|row| row.3).collect();
        table.rows[0].used = true;
        table.invented = invented;
        assert_same_rows(&read_bench_bytes("again.csv", &csv_bytes(&table).unwrap()).unwrap(), &table);
        assert_same_rows(&read_bench_bytes("again", &parquet_bytes(&table).unwrap()).unwrap(), &table);
    }
}
