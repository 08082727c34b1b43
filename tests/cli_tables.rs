//! The commands needles, syringes, template and check, run as a person or a script runs
//! them: exit status, words, JSON keys, and figures against their published values.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod said;

use std::fs;
use std::path::Path;

use approx::assert_relative_eq;
use assert_cmd::Command;
use said::{Said, document, number, refused, served};
use serde_json::Value;

const INCH_M: f64 = 0.0254;

fn row(rows: &Value, matches: impl Fn(&Value) -> bool) -> &Value {
    let rows = rows.as_array().expect("an array");
    rows.iter()
        .find(|row| matches(row))
        .expect("the row is there")
}

fn needle<'a>(rows: &'a Value, gauge: u8, wall: &str, basis: &str) -> &'a Value {
    row(rows, |row| {
        row["gauge"] == gauge && row["wall"] == wall && row["bore_basis"] == basis
    })
}

/// Inches of the usual needle gauge chart (open encyclopedia), regular wall; its tolerance
/// is 0.00075 in from 20G on.
#[test]
fn the_needle_document_holds_the_charts_bores_in_metres() {
    let rows = &document("needles")["needles"];
    for (gauge, bore_in) in [(21, 0.02025), (25, 0.01025), (27, 0.00825), (30, 0.00625)] {
        let row = needle(rows, gauge, "regular", "nominal");
        // the chart's millimetres are rounded to 0.0001
        assert_relative_eq!(number(row, "bore_m"), bore_in * INCH_M, epsilon = 0.6e-7);
        assert_relative_eq!(
            number(row, "bore_tolerance_m"),
            0.00075 * INCH_M,
            epsilon = 0.6e-7
        );
    }
}

/// ISO 9626:2016, least inner diameters, from memory.
#[test]
fn the_needle_document_holds_the_standards_least_bores_by_wall() {
    let rows = &document("needles")["needles"];
    for (gauge, wall, bore_m) in [
        (27, "regular", 0.184e-3),
        (25, "thin", 0.292e-3),
        (23, "extra-thin", 0.460e-3),
    ] {
        let row = needle(rows, gauge, wall, "minimum");
        assert_eq!(number(row, "bore_m"), bore_m);
        assert!(
            row["bore_tolerance_m"].is_null(),
            "a least bore has no tolerance"
        );
    }
}

/// ISO 6009:2016, hub colours (21G, 23G, 25G, 27G, 30G seen quoted).
#[test]
fn the_needle_document_names_the_hub_colours_of_the_standard() {
    let rows = &document("needles")["needles"];
    for (gauge, colour) in [
        (21, "deep green"),
        (23, "deep blue"),
        (25, "orange"),
        (27, "medium grey"),
        (30, "yellow"),
    ] {
        let row = needle(rows, gauge, "regular", "nominal");
        assert_eq!(row["hub_colour"]["name"], colour);
    }
}

/// Disposable luer barrel as tabled for open syringe pumps: 1 mL 4.70 mm, 5 mL 11.99 mm;
/// ISO 11040-4:2015, from memory: glass 1 mL long 6.35 mm. Friction of a 1 mL syringe 2 N:
/// common practice, no source.
#[test]
fn the_syringe_document_holds_the_tabled_barrels() {
    let rows = &document("syringes")["syringes"];
    for (name, bore_m) in [
        ("1mL", 4.70e-3),
        ("5mL", 11.99e-3),
        ("glass:1mL-long", 6.35e-3),
    ] {
        assert_eq!(
            number(row(rows, |row| row["name"] == name), "bore_m"),
            bore_m
        );
    }
    let friction = &row(rows, |row| row["name"] == "1mL")["default_friction"];
    assert_eq!(number(friction, "friction_N"), 2.0);
}

#[test]
fn every_row_of_the_tables_says_where_it_comes_from() {
    for (command, key, count) in [("needles", "needles", 25), ("syringes", "syringes", 15)] {
        let document = document(command);
        let rows = document[key].as_array().unwrap();
        assert!(rows.len() >= count, "{command} has {} rows", rows.len());
        for row in rows {
            for field in ["source", "how"] {
                assert!(
                    row[field].as_str().is_some_and(|text| !text.is_empty()),
                    "{row:#}"
                );
            }
        }
    }
}

#[test]
fn the_needle_table_is_aligned_and_names_each_source_once() {
    let text = served("needles");
    let (table, sources) = text.split_once("Sources").expect("sources stand below");
    let rows: Vec<&str> = table
        .lines()
        .filter(|line| line.contains(" nominal ") || line.contains(" minimum "))
        .collect();
    let place = |row: &str| {
        let byte = row.find("nominal").or_else(|| row.find("minimum")).unwrap();
        row[..byte].chars().count()
    };
    for row in &rows {
        assert_eq!(place(row), place(rows[0]), "{row}");
    }
    for gauge in 10..=34 {
        let start = format!("{gauge}G");
        assert!(
            rows.iter().any(|row| row.trim_start().starts_with(&start)),
            "{start}"
        );
    }
    let legend: Vec<&str> = sources
        .lines()
        .filter_map(|line| line.split_once("  "))
        .map(|(_, s)| s)
        .collect();
    let mut once = legend.clone();
    once.sort_unstable();
    once.dedup();
    assert_eq!(once.len(), legend.len());
    assert!(legend.iter().any(|source| source.contains("ISO 9626:2016")));
}

#[test]
fn one_gauge_can_be_listed_alone_and_an_unknown_one_is_told_the_range() {
    let rows = document("needles --gauge 30");
    assert!(
        rows["needles"]
            .as_array()
            .unwrap()
            .iter()
            .all(|row| row["gauge"] == 30)
    );
    let message = refused("needles --gauge 9", 1);
    assert!(
        message.contains("9G") && message.contains("10G to 34G"),
        "{message}"
    );
    assert!(refused("needles --gauge thirty", 2).contains("such as 30"));
}

/// Every column that a bench table can have, by its plainest name.
#[test]
fn the_template_explains_every_column_and_keeps_what_is_there() {
    let text = served("template");
    for column in [
        "heat_temp_C",
        "heat_time_min",
        "viscosity_Pa_s",
        "modulus_Pa",
        "force_N",
        "firmness_au",
        "reading_sd",
        "shear_rate_per_s",
        "lot",
        "operator",
        "block",
        "place",
        "session",
        "blend",
        "ha_fraction",
        "read_temp_C",
        "stand_time_min",
        "stand_temp_C",
        "needle_gauge",
        "needle_wall",
        "needle_length_mm",
        "barrel_bore_mm",
        "flow_mL_per_min",
        "friction_N",
        "use",
        "note",
    ] {
        let explained = text
            .lines()
            .filter(|line| line.starts_with('#'))
            .any(|line| line.contains(column));
        assert!(explained, "{column} is not explained");
    }
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("bench.csv");
    let name = file.to_str().unwrap();
    assert!(served(&format!("template --out {name}")).contains(name));
    assert_eq!(fs::read_to_string(&file).unwrap(), text);

    fs::write(&file, "mine").unwrap();
    let message = refused(&format!("template --out {name}"), 1);
    assert!(message.contains("--replace"), "{message}");
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
    served(&format!("template --out {name} --replace"));
    assert_eq!(fs::read_to_string(&file).unwrap(), text);
    assert_eq!(names_in(folder.path()), ["bench.csv"]);
}

#[test]
fn a_template_that_cannot_be_written_leaves_nothing_behind() {
    let folder = tempfile::tempdir().unwrap();
    let nowhere = folder.path().join("missing").join("bench.csv");
    let message = refused(&format!("template --out {}", nowhere.display()), 1);
    assert!(message.contains("cannot be written"), "{message}");
    refused(&format!("template --out {}", folder.path().display()), 1);
    refused(
        &format!("template --out {} --replace", folder.path().display()),
        1,
    );
    assert_eq!(names_in(folder.path()), [""; 0]);
}

fn names_in(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    entries
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect()
}

/// Counted by hand: nine rows, one of them not used.
const BENCH: &str = "\
heat_temp_C,heat_time_min,viscosity_Pa_s,shear_rate_per_s,lot,blend,use,colour
70,1,0.002,10,A1,plain,yes,pale
70,8,0.03,10,A1,plain,yes,pale
70,8,0.04,10,A2,plain,yes,pale
80,1,0.02,10,A1,plain,yes,pale
80,8,5,10,A2,plain,yes,pale
90,0.5,0.05,10,A1,plain,yes,pale
90,8,11,10,A2,soft,yes,pale
90,16,11.2,10,A2,soft,yes,pale
90,16,99,10,A2,soft,no,pale
";

fn in_folder(files: &[(&str, &str)], command: &str) -> Said {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        fs::write(folder.path().join(name), text).unwrap();
    }
    let output = Command::new(env!("CARGO_BIN_EXE_heatset"))
        .current_dir(folder.path())
        .args(command.split_whitespace())
        .output()
        .unwrap();
    assert_eq!(
        names_in(folder.path()).len(),
        files.len(),
        "check writes nothing"
    );
    Said {
        code: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        talk: String::from_utf8(output.stderr).unwrap(),
    }
}

#[test]
fn check_counts_the_rows_by_temperature_lot_and_blend() {
    let said = in_folder(&[("bench.csv", BENCH)], "check bench.csv --json");
    assert_eq!(said.code, 0, "{}", said.talk);
    let document: Value = serde_json::from_str(&said.out).unwrap();
    assert_eq!(
        (&document["rows"], &document["used"]),
        (&9.into(), &8.into())
    );
    assert_eq!(
        (&document["reading"], &document["reading_unit"]),
        (&"viscosity".into(), &"Pa.s".into())
    );
    let counts = |key: &str, name: &str| -> Vec<(Value, u64)> {
        let rows = document[key].as_array().unwrap().iter();
        rows.map(|row| (row[name].clone(), row["rows"].as_u64().unwrap()))
            .collect()
    };
    assert_eq!(counts("lots", "lot"), [("A1".into(), 4), ("A2".into(), 4)]);
    assert_eq!(
        counts("blends", "blend"),
        [("plain".into(), 6), ("soft".into(), 2)]
    );
    // SI Brochure, 9th ed., 2.3.1: 0 °C is 273.15 K
    let temperatures: Vec<(f64, u64)> = counts("heat_temps", "temp_K")
        .iter()
        .map(|(t, n)| (t.as_f64().unwrap(), *n))
        .collect();
    assert_eq!(temperatures, [(343.15, 3), (353.15, 2), (363.15, 3)]);
    assert_eq!(document["unknown_columns"], serde_json::json!(["colour"]));
    assert_eq!(document["invented"], false);
}

#[test]
fn check_takes_gaps_as_advice() {
    let one_temperature: String = BENCH
        .lines()
        .filter(|line| !line.starts_with(['7', '9']))
        .map(|line| format!("{line}\n"))
        .collect();
    let said = in_folder(&[("bench.csv", &one_temperature)], "check bench.csv");
    assert_eq!(said.code, 0, "{}", said.talk);
    let (first, rest) = said.out.split_once('\n').unwrap();
    assert!(
        first.contains("bench.csv") && first.contains("2 viscosity readings"),
        "{first}"
    );
    assert!(rest.contains("all heated at 80 °C"), "{rest}");
    assert!(rest.contains("nothing was measured twice"), "{rest}");
    assert!(
        rest.contains("colour"),
        "an unknown column is named once: {rest}"
    );
    let said = in_folder(&[("bench.csv", &one_temperature)], "check bench.csv --json");
    let document: Value = serde_json::from_str(&said.out).unwrap();
    let codes: Vec<&str> = document["gaps"]
        .as_array()
        .unwrap()
        .iter()
        .map(|gap| gap["code"].as_str().unwrap())
        .collect();
    assert!(
        codes.contains(&"single_temperature") && codes.contains(&"no_replicates"),
        "{codes:?}"
    );
}

#[test]
fn check_tells_every_fault_of_a_broken_table_with_its_line_and_column() {
    let broken = "heat_temp_C,heat_time_min,viscosity_Pa_s\n80,1,\"1,2\"\n90,-2,0.1\n80,1\n";
    for command in ["check bench.csv", "check bench.csv --json"] {
        let said = in_folder(&[("bench.csv", broken)], command);
        assert_eq!((said.code, said.out.as_str()), (1, ""), "{}", said.talk);
        let lines: Vec<&str> = said.talk.lines().collect();
        assert_eq!(lines[0], "bench.csv cannot be read: 3 faults");
        assert!(
            lines[1].starts_with("  line 2, column viscosity_Pa_s: \"1,2\" is not a number"),
            "{lines:?}"
        );
        assert!(
            lines[2].starts_with("  line 3, column heat_time_min: -2 is negative"),
            "{lines:?}"
        );
        assert!(
            lines[3].starts_with("  line 4: 2 values where the header names 3"),
            "{lines:?}"
        );
    }
}

#[test]
fn check_names_the_file_that_is_not_there_beside_the_faults_of_the_other() {
    let said = in_folder(&[], "check nowhere.csv");
    assert_eq!((said.code, said.out.as_str()), (1, ""));
    assert!(
        said.talk
            .contains("nowhere.csv cannot be opened: there is no such file"),
        "{}",
        said.talk
    );
    let said = in_folder(
        &[("bench.csv", "heat_temp_C,heat_time_min,viscosity_Pa_s\n")],
        "check bench.csv nowhere.csv",
    );
    assert_eq!(said.code, 1);
    assert!(
        said.talk.contains("bench.csv cannot be read") && said.talk.contains("nowhere.csv"),
        "{}",
        said.talk
    );
}

#[test]
fn check_wants_the_needle_of_a_force_reading() {
    let forces = "heat_temp_C,heat_time_min,force_N,needle_gauge\n80,1,5,27\n90,1,9,27\n";
    let said = in_folder(&[("forces.csv", forces)], "check forces.csv");
    assert_eq!((said.code, said.out.as_str()), (1, ""));
    assert!(said.talk.contains("needle_length_mm"), "{}", said.talk);
}

#[test]
fn check_without_a_table_is_told_to_name_one() {
    assert!(refused("check", 2).contains("BENCH"));
}
