//! The report and the demo, run as a person runs them, and their files read back.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod markup;
mod said;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use assert_cmd::Command;
use markup::{Document, parse};
use said::heatset;
use serde_json::Value;
use sha2::{Digest, Sha256};
use tempfile::TempDir;

/// Files of the demo, as its help and README promise them.
const FILES: [&str; 12] = [
    "demo-bench.csv",
    "demo-bench.parquet",
    "demo-calibration.json",
    "demo-firmness.png",
    "demo-firmness.svg",
    "demo-force.png",
    "demo-force.svg",
    "demo-rates.png",
    "demo-rates.svg",
    "demo-report.html",
    "demo-residuals.png",
    "demo-residuals.svg",
];

struct Demo {
    folder: TempDir,
    said: Value,
    talk: String,
}

impl Demo {
    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join("out").join(name)
    }

    fn text(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).unwrap()
    }

    fn calibration(&self) -> String {
        self.path("demo-calibration.json").display().to_string()
    }
}

/// The demo, run once for all tests.
fn demo() -> &'static Demo {
    static DEMO: OnceLock<Demo> = OnceLock::new();
    DEMO.get_or_init(|| {
        let folder = TempDir::new().unwrap();
        let output = run_demo(folder.path(), &["--json"]);
        assert_eq!(output.status.code(), Some(0));
        Demo {
            said: serde_json::from_slice(&output.stdout).expect("one JSON document"),
            talk: String::from_utf8(output.stderr).unwrap(),
            folder,
        }
    })
}

/// Runs the demo into the folder `out` of the place, at a fixed time of day.
fn run_demo(place: &Path, more: &[&str]) -> std::process::Output {
    Command::new(env!("CARGO_BIN_EXE_heatset"))
        .current_dir(place)
        .env("SOURCE_DATE_EPOCH", "1790000000")
        .args(["demo", "--out", "out"])
        .args(more)
        .output()
        .unwrap()
}

fn names_in(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

fn report() -> &'static Document {
    static REPORT: OnceLock<Document> = OnceLock::new();
    REPORT.get_or_init(|| parse(&demo().text("demo-report.html")))
}

// ------------------------------------------------------------------------------- the demo

#[test]
fn the_demo_writes_exactly_the_files_that_it_lists_and_leaves_no_other() {
    let demo = demo();
    assert_eq!(names_in(&demo.folder.path().join("out")), FILES);
    let mut listed: Vec<String> = demo.said["written"]
        .as_array()
        .unwrap()
        .iter()
        .map(|path| path.as_str().unwrap().replace('\\', "/"))
        .collect();
    listed.sort();
    let expected: Vec<String> = FILES.iter().map(|name| format!("out/{name}")).collect();
    assert_eq!(listed, expected);
    assert_eq!(
        names_in(demo.folder.path()),
        ["out"],
        "nothing beside the folder"
    );
}

#[test]
fn the_demo_shows_no_progress_where_nobody_watches() {
    assert_eq!(demo().talk, "");
}

#[test]
fn the_demo_again_gives_the_same_bytes_and_replaces_only_when_told() {
    let first = demo();
    let folder = TempDir::new().unwrap();
    std::fs::create_dir(folder.path().join("out")).unwrap();
    let stale = folder.path().join("out/demo-report.html");
    std::fs::write(&stale, "mine").unwrap();

    let refused = run_demo(folder.path(), &[]);
    assert_eq!(refused.status.code(), Some(1));
    assert!(refused.stdout.is_empty());
    let talk = String::from_utf8(refused.stderr).unwrap();
    assert!(
        talk.contains("demo-report.html") && talk.contains("What helps: --replace"),
        "{talk}"
    );
    assert_eq!(names_in(&folder.path().join("out")), ["demo-report.html"]);
    assert_eq!(std::fs::read_to_string(&stale).unwrap(), "mine");

    let replaced = run_demo(folder.path(), &["--replace"]);
    assert_eq!(replaced.status.code(), Some(0));
    assert_eq!(names_in(&folder.path().join("out")), FILES);
    for name in FILES {
        let again = std::fs::read(folder.path().join("out").join(name)).unwrap();
        assert!(
            again == std::fs::read(first.path(name)).unwrap(),
            "{name} differs"
        );
    }

    let words = String::from_utf8(replaced.stdout).unwrap();
    assert!(words.starts_with("INVENTED DATA"), "{words}");
    assert!(
        words.contains("At 90 °C the gel passes a 30G x 13 mm needle until"),
        "{words}"
    );
    assert!(
        words.contains("Bench and teaching aid, not a medical device"),
        "{words}"
    );
    for name in FILES {
        assert!(words.contains(name), "{name} is not named: {words}");
    }
}

#[test]
fn a_demo_folder_that_is_a_file_is_refused_in_words() {
    let folder = TempDir::new().unwrap();
    std::fs::write(folder.path().join("out"), "a file").unwrap();
    let output = run_demo(folder.path(), &["--replace"]);
    assert_eq!(output.status.code(), Some(1));
    let talk = String::from_utf8(output.stderr).unwrap();
    assert!(talk.contains("out cannot be written"), "{talk}");
    assert_eq!(
        std::fs::read_to_string(folder.path().join("out")).unwrap(),
        "a file"
    );
}

#[test]
fn every_file_of_the_demo_says_that_it_is_invented() {
    let demo = demo();
    assert_eq!(demo.said["invented"], true);
    assert_eq!(demo.said["answer"]["assumptions"]["invented"], true);
    let calibration: Value = serde_json::from_str(&demo.text("demo-calibration.json")).unwrap();
    assert_eq!(calibration["invented"], true);
    assert!(
        demo.text("demo-bench.csv")
            .to_lowercase()
            .contains("invented data")
    );
    for chart in ["firmness", "force", "rates", "residuals"] {
        let svg = demo.text(&format!("demo-{chart}.svg")).to_lowercase();
        assert!(svg.contains("invented data"), "{chart}");
        let png = std::fs::read(demo.path(&format!("demo-{chart}.png"))).unwrap();
        // W3C, Portable Network Graphics (PNG) Specification, 2nd ed., 2003, 5.2 and 11.2.2:
        // the signature, then width and height as the first two numbers of IHDR.
        assert_eq!(png[..8], [137, 80, 78, 71, 13, 10, 26, 10], "{chart}");
        let number = |at: usize| u32::from_be_bytes(png[at..at + 4].try_into().unwrap());
        assert_eq!((number(16), number(20)), (1200, 800), "{chart}");
    }
}

#[test]
fn the_calibration_of_the_demo_stands_on_the_bench_that_was_written() {
    let demo = demo();
    let calibration: Value = serde_json::from_str(&demo.text("demo-calibration.json")).unwrap();
    let bench = std::fs::read(demo.path("demo-bench.csv")).unwrap();
    let digest: String = Sha256::digest(&bench)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect();
    assert_eq!(calibration["source"][0]["sha256"], digest.as_str());
    assert!(
        report().text().contains(&digest),
        "the report names the digest"
    );

    let count = |name: &str| {
        let said = heatset(&["check", &demo.path(name).display().to_string(), "--json"]);
        assert_eq!(said.code, 0, "{}", said.talk);
        let document: Value = serde_json::from_str(&said.out).unwrap();
        (
            document["rows"].clone(),
            document["invented"].clone(),
            document["heat_temps"].clone(),
        )
    };
    assert_eq!(count("demo-bench.csv"), count("demo-bench.parquet"));
}

// ----------------------------------------------------------------------------- the report

#[test]
fn the_report_is_one_document_that_asks_for_nothing_else() {
    let page = demo().text("demo-report.html");
    let namespace = "xmlns=\"http://www.w3.org/2000/svg\"";
    let rest = page.replace(namespace, "").to_lowercase();
    for asked in [
        "http", "src=", "href=", "url(", "@import", "<script", "<link", "<iframe", "<base", "<a ",
        "onclick", "onload",
    ] {
        assert!(!rest.contains(asked), "{asked} stands in the report");
    }
}

#[test]
fn the_report_is_well_formed_and_accessible() {
    let page = demo().text("demo-report.html");
    for mark in [
        "(invented data)",
        "Invented data.",
        "watermark\"",
        "\"Invented data\"",
    ] {
        assert!(page.contains(mark), "{mark}");
    }
    let report = report(); // parsing panics on a tag that is not closed
    assert_eq!(report.all("html")[0].attribute("lang"), Some("en"));
    assert!(report.all("title")[0].text.contains("demo-calibration"));
    assert_eq!(report.all("h1").len(), 1);
    let mut level = 0;
    for heading in report.headings() {
        let own: usize = heading.tag[1..].parse().unwrap();
        assert!(own <= level + 1, "{} skips a level", heading.text);
        level = own;
        assert!(
            heading.text.contains("(invented data)"),
            "{} does not say invented data",
            heading.text
        );
    }
    for cell in report.all("th") {
        assert!(matches!(cell.attribute("scope"), Some("col" | "row")));
    }
    let pictures = report.all("svg");
    assert_eq!(pictures.len(), 8, "four charts for each of two blends");
    for picture in &pictures {
        assert_eq!(picture.attribute("role"), Some("img"));
        assert!(!picture.attribute("aria-label").unwrap().is_empty());
    }
    assert_eq!(
        report.all("title").len(),
        9,
        "the page's title and one a picture"
    );
    let mut ids: Vec<&str> = report
        .elements
        .iter()
        .filter_map(|e| e.attribute("id"))
        .collect();
    let all = ids.len();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), all, "an id stands twice");
}

#[test]
fn the_report_has_every_section_and_the_cautions_whole() {
    let headings: Vec<String> = report()
        .headings()
        .iter()
        .map(|h| h.text.replace(" (invented data)", ""))
        .collect();
    for expected in [
        "In short",
        "What was measured",
        "Blend plain",
        "Blend ha-30",
        "Heat time by needle",
        "What was fitted",
        "How well it fits",
        "Know before relying on it",
        "Pictures",
        "Cautions",
    ] {
        assert!(
            headings.iter().any(|h| h == expected),
            "{expected} is missing: {headings:?}"
        );
    }
    let words = report().text();
    for caution in heatset::face::cautions::ALL {
        assert!(words.contains(caution.text), "{}", caution.about);
    }
    let fitted = heatset(&[
        "fit",
        &demo().path("demo-bench.csv").display().to_string(),
        "--blend",
        "plain",
    ]);
    let headline = fitted
        .out
        .lines()
        .find(|line| line.starts_with("Sets half-way"))
        .unwrap();
    assert!(words.contains(headline), "{headline}");
    for number in [
        "SK-03",
        "70 °C",
        "90 °C",
        "30 s to 16 min",
        "activation energy",
        "255 kJ/mol",
    ] {
        assert!(words.contains(number), "{number}");
    }
}

/// Cells of the table of a blend by needle, in the order of the temperatures.
fn heat_times(report: &Document, blend: usize) -> BTreeMap<String, Vec<(String, Option<String>)>> {
    report.tables("heat-times")[blend].clone()
}

/// '6 min 10 s' in seconds.
fn seconds(words: &str) -> f64 {
    let mut words = words.split_whitespace();
    let mut sum = 0.0;
    while let Some(number) = words.next() {
        let factor = match words.next().unwrap() {
            "s" => 1.0,
            "min" => 60.0,
            "h" => 3600.0,
            "d" => 86400.0,
            other => panic!("{other} is no unit of time"),
        };
        sum += factor * number.parse::<f64>().unwrap();
    }
    sum
}

#[test]
fn cells_of_the_report_are_the_answers_of_the_command_time() {
    let temperatures = ["70C", "75C", "80C", "85C", "90C"];
    for (blend, name, gauge, column) in [
        (0, "plain", "30", 4),
        (0, "plain", "29", 2),
        (0, "plain", "32", 0),
        (1, "ha-30", "30", 3),
        (1, "ha-30", "32", 0),
    ] {
        let calibration = demo().calibration();
        let question = [
            "time",
            &calibration,
            "--blend",
            name,
            "--at",
            temperatures[column],
            "--gauge",
            gauge,
            "--warm-up",
            "35s",
            "--draws",
            "2000",
        ];
        let spoken = heatset(&question);
        assert_eq!(spoken.code, 0, "{}", spoken.talk);
        let answer: Value =
            serde_json::from_str(&heatset(&[&question[..], &["--json"]].concat()).out).unwrap();

        let (cell, below) = heat_times(report(), blend)[&format!("{gauge}G")][column].clone();
        match (
            answer["window_open"].as_bool().unwrap(),
            answer["heat_time_s"]["not_beyond"].as_f64(),
        ) {
            (false, _) => assert_eq!(cell, "does not pass"),
            (true, None) => assert_eq!(cell, "every time measured"),
            (true, Some(not_beyond_s)) => {
                let until = cell
                    .strip_prefix("until ")
                    .unwrap()
                    .trim_end_matches('†')
                    .trim();
                let rounded_down = not_beyond_s - seconds(until);
                assert!(
                    (0.0..60.0).contains(&rounded_down),
                    "{cell} for {not_beyond_s} s"
                );
                assert!(
                    spoken.out.contains(&format!("until {until} of heating")),
                    "{cell}: {}",
                    spoken.out
                );
                let aim = below
                    .as_deref()
                    .and_then(|b| b.strip_prefix("aim "))
                    .unwrap();
                assert!(
                    spoken.out.contains(&format!("Aim for {aim}.")),
                    "{aim}: {}",
                    spoken.out
                );
                let aim_s = answer["heat_time_s"]["aim"].as_f64().unwrap();
                assert!((0.0..60.0).contains(&(aim_s - seconds(aim))));
            }
        }
    }
}

#[test]
fn the_demos_answer_is_the_cell_of_its_own_report() {
    let not_beyond_s = demo().said["answer"]["heat_time_s"]["not_beyond"]
        .as_f64()
        .unwrap();
    let (cell, _) = heat_times(report(), 0)["30G"][4].clone();
    let rounded_down = not_beyond_s - seconds(cell.strip_prefix("until ").unwrap());
    assert!(
        (0.0..30.0).contains(&rounded_down),
        "{cell} for {not_beyond_s} s"
    );
}

/// Common practice, no source: from a block at 90 °C and a 1 mL syringe about 6 min for a 30G
/// needle and 8 to 10 min for 27G; the wider the needle, the longer.
#[test]
fn the_demos_table_has_the_order_and_size_of_the_usual_practice() {
    let table = heat_times(report(), 0);
    let until = |gauge: &str| seconds(table[gauge][4].0.strip_prefix("until ").unwrap());
    assert!((300.0..480.0).contains(&until("30G")), "{}", until("30G"));
    assert!((420.0..660.0).contains(&until("27G")), "{}", until("27G"));
    let order = ["32G", "31G", "30G", "29G", "27G", "25G"].map(until);
    assert!(order.windows(2).all(|pair| pair[0] < pair[1]), "{order:?}");
}

// -------------------------------------------------------------- reports of other calibrations

/// Fits a bench in a folder of its own and reports it there.
fn reported(bench: &str, fit: &[&str]) -> (TempDir, String) {
    let folder = TempDir::new().unwrap();
    let bench_path = folder.path().join("bench.csv").display().to_string();
    let calibration = folder.path().join("my gel.json").display().to_string();
    std::fs::write(&bench_path, bench).unwrap();
    let fitted = heatset(&[&["fit", &bench_path, "--out", &calibration], fit].concat());
    assert_eq!(fitted.code, 0, "{}", fitted.talk);
    let said = heatset(&["report", &calibration, "--json"]);
    assert_eq!(said.code, 0, "{}", said.talk);
    let document: Value = serde_json::from_str(&said.out).unwrap();
    let beside = folder.path().join("my gel.html");
    assert_eq!(document["written"][0], beside.display().to_string());
    let page = std::fs::read_to_string(beside).unwrap();
    (folder, page)
}

/// W. Nelson, Analysis of performance-degradation data, IEEE Trans. Reliability 30 (1981) 149,
/// as in the NIST StRD: a breakdown voltage is no viscosity, and nobody pushes it.
#[test]
fn a_calibration_of_another_measure_is_reported_without_a_push() {
    let nelson = include_str!("../data/published/nelson.csv");
    let (_folder, page) = reported(
        nelson,
        &[
            "--law",
            "linear",
            "--hold",
            "plateau=0",
            "--reference-temp",
            "225C",
        ],
    );
    let report = parse(&page);
    let words = report.text();
    assert!(words.contains("This calibration answers no question about a push."));
    assert!(words.contains("was measured as firmness"));
    assert!(report.tables("heat-times").is_empty());
    assert_eq!(report.all("svg").len(), 3, "all but the force chart");
    // The cautions speak of invented data in general; nothing here is marked as such.
    for mark in [
        "(invented data)",
        "Invented data.",
        "watermark\"",
        "\"Invented data\"",
    ] {
        assert!(!page.contains(mark), "these readings are real: {mark}");
    }
}

/// Readings of a first-order gel whose blend, lot and file try to be markup.
fn hostile_bench() -> String {
    let mut bench =
        String::from("heat_temp_C,heat_time_min,viscosity_Pa_s,shear_rate_per_s,lot,blend\n");
    for (celsius, rate_per_min) in [(80, 0.1), (90, 0.4)] {
        for minutes in [0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 40.0] {
            let set = 1.0 - f64::exp(-rate_per_min * minutes);
            let scatter = 1.0 + 0.02 * f64::sin(7.0 * minutes + f64::from(celsius));
            let viscosity = 0.002 * f64::powf(2000.0, set) * scatter;
            bench.push_str(&format!(
                "{celsius},{minutes},{viscosity},10,<i>lot</i>,\"<script>alert('x')</script>&\"\"\"\n"
            ));
        }
    }
    bench
}

#[test]
fn names_that_try_to_be_markup_stay_words() {
    let (folder, page) = reported(&hostile_bench(), &[]);
    let report = parse(&page);
    assert!(report.all("script").is_empty() && report.all("i").is_empty());
    assert!(report.text().contains("<script>alert('x')</script>&\""));
    assert!(report.text().contains("<i>lot</i>"));
    // No shear thinning was measured: the table says what it assumes instead.
    assert!(report.text().contains("No shear thinning is known"));
    assert!(report.text().contains("Time at the block's temperature"));
    assert_eq!(
        names_in(folder.path()),
        ["bench.csv", "my gel.html", "my gel.json"]
    );
}

#[test]
fn a_report_that_is_there_or_would_replace_its_calibration_is_refused() {
    let demo = demo();
    let calibration = demo.calibration();
    let before = demo.text("demo-calibration.json");
    let there = demo.path("demo-report.html").display().to_string();
    let refused = heatset(&["report", &calibration, "--out", &there]);
    assert_eq!(refused.code, 1);
    assert!(
        refused.talk.contains("What helps: --replace"),
        "{}",
        refused.talk
    );
    let refused = heatset(&["report", &calibration, "--out", &calibration, "--replace"]);
    assert_eq!(refused.code, 1);
    assert!(
        refused.talk.contains("What helps: another name"),
        "{}",
        refused.talk
    );
    assert_eq!(demo.text("demo-calibration.json"), before);

    let folder = TempDir::new().unwrap();
    let no_calibration = folder.path().join("notes.json");
    std::fs::write(&no_calibration, "{}").unwrap();
    let refused = heatset(&["report", &no_calibration.display().to_string()]);
    assert_eq!(refused.code, 1);
    assert_eq!(
        names_in(folder.path()),
        ["notes.json"],
        "nothing half-written"
    );
}
