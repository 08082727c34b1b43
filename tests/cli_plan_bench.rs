//! `heatset plan-bench` as it is called.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used)]

use assert_cmd::Command;
use serde_json::Value;
use std::path::Path;

const KNOWN_GEL: [&str; 6] = [
    "--activation-energy",
    "300kJ/mol",
    "--half-time",
    "10min",
    "--plateau",
    "10Pa.s",
];

fn heatset(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_heatset"))
        .current_dir(folder)
        .args(arguments)
        .output()
        .unwrap();
    (
        output.status.code().unwrap(),
        String::from_utf8(output.stdout).unwrap(),
        String::from_utf8(output.stderr).unwrap(),
    )
}

fn asked<'a>(more: &[&'a str]) -> Vec<&'a str> {
    let mut arguments = vec!["plan-bench", "--at", "85C", "--gauge", "29"];
    arguments.extend(KNOWN_GEL);
    arguments.extend(more);
    arguments
}

#[test]
fn the_blank_table_is_read_by_check_once_its_readings_are_filled_in() {
    let folder = tempfile::tempdir().unwrap();
    let out = ["--width", "50%", "--out", "bench.csv"];
    let (status, words, _) = heatset(folder.path(), &asked(&out));
    assert_eq!(status, 0, "{words}");
    assert!(words.contains("tell the heat time at 85 °C for a syringe of a new lot"));
    assert!(words.contains("no number of readings or lots"));
    assert!(words.contains("common practice, no source"));
    assert!(words.contains("not a medical device"));
    let path = folder.path().join("bench.csv");
    let blank = std::fs::read_to_string(&path).unwrap();
    let mut rows = 0;
    let filled: Vec<String> = blank
        .lines()
        .map(|line| {
            let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
            if line.starts_with('#') || line.starts_with("heat_temp_C") {
                return line.to_owned();
            }
            assert_eq!(cells[2], "", "{line}");
            rows += 1;
            let minutes: f64 = cells[1].parse().unwrap();
            assert_eq!((2.0 * minutes).fract(), 0.0, "whole half minutes: {line}");
            cells[2] = format!("{}", 0.002 + 0.01 * minutes);
            cells.join(",")
        })
        .collect();
    let (status, refusal, talk) = heatset(folder.path(), &["check", "bench.csv"]);
    assert_eq!(status, 1, "blank readings are no bench: {refusal}{talk}");
    std::fs::write(&path, filled.join("\n")).unwrap();
    let (status, found, talk) = heatset(folder.path(), &["--json", "check", "bench.csv"]);
    assert_eq!(status, 0, "{talk}");
    let found: Value = serde_json::from_str(&found).unwrap();
    assert_eq!(found["rows"], rows, "{found}");
    let (status, _, talk) = heatset(folder.path(), &asked(&out));
    assert_eq!(status, 1);
    assert!(talk.contains("--replace"), "{talk}");
}

#[test]
fn the_same_seed_gives_the_same_table_and_another_another_order() {
    let folder = tempfile::tempdir().unwrap();
    let table = |name: &str, seed: &str| {
        let more = ["--width", "50%", "--out", name, "--seed", seed];
        assert_eq!(heatset(folder.path(), &asked(&more)).0, 0);
        std::fs::read_to_string(folder.path().join(name)).unwrap()
    };
    let first = table("a.csv", "4");
    assert_eq!(first, table("b.csv", "4"));
    let other = table("c.csv", "5");
    assert_ne!(first, other);
    // The same settings all the same, lot by lot.
    let sorted = |text: &str| {
        let mut rows: Vec<String> = text
            .lines()
            .filter(|l| !l.starts_with('#'))
            .map(|l| {
                let cells: Vec<&str> = l.split(',').collect();
                format!("{} {} {}", cells[0], cells[1], cells[4])
            })
            .collect();
        rows.sort();
        rows
    };
    assert_eq!(sorted(&first), sorted(&other));
}

#[test]
fn the_document_carries_units_sources_and_whether_the_width_is_reached() {
    let folder = tempfile::tempdir().unwrap();
    let (status, text, _) = heatset(
        folder.path(),
        &asked(&[
            "--width",
            "90s",
            "--answer",
            "typical-lot",
            "--serve",
            "mean",
            "--json",
        ]),
    );
    assert_eq!(status, 0, "{text}");
    let found: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(found["asked_half_width"]["s"], 90.0);
    assert_eq!(found["answer"], "typical-lot");
    assert_eq!(found["reached"], true, "{}", found["half_width_s"]);
    assert!(found["half_width_s"].as_f64().unwrap() <= 90.0);
    assert_eq!(found["belief_sources"]["plateau"], "stated");
    assert_eq!(
        found["belief_sources"]["scatter"],
        "common practice, no source"
    );
    assert_eq!(found["floor"]["half_width_ratio"], 0.0);
}

#[test]
fn what_cannot_be_had_is_said_and_no_table_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let narrow = asked(&["--width", "10%"]);
    let (status, words, _) = heatset(folder.path(), &narrow);
    assert_eq!(status, 0);
    assert!(
        words.starts_with("±10 % cannot be reached, with any number of readings"),
        "{words}"
    );
    assert!(words.contains("\nWhat helps: "));
    let (status, _, talk) = heatset(
        folder.path(),
        &asked(&["--width", "10%", "--out", "bench.csv"]),
    );
    assert_eq!(status, 1);
    assert!(talk.contains("No table was written"), "{talk}");
    assert!(!folder.path().join("bench.csv").exists());
    for (more, words) in [
        (vec!["--width", "20"], "20%"),
        (vec!["--width", "50%", "--lots", "1"], "two at least"),
        (
            vec!["--width", "50%", "--block-range", "90..70C"],
            "smaller value first",
        ),
        (
            vec!["--width", "50%", "--flow-index", "0.5"],
            "--shear-rate",
        ),
    ] {
        let (status, _, talk) = heatset(folder.path(), &asked(&more));
        assert_eq!(status, 2, "{more:?}: {talk}");
        assert!(talk.contains(words), "{more:?}: {talk}");
    }
    let (status, _, talk) = heatset(
        folder.path(),
        &asked(&["--width", "50%", "--out", "bench.xlsx"]),
    );
    assert_eq!(status, 1);
    assert!(talk.contains("CSV"), "{talk}");
}
