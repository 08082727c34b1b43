//! Set and not-set on the command line: check, fit, time, and what is refused.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use assert_cmd::Command;
use serde_json::Value;
use std::path::Path;

const BENCH: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/data/seen_bench.csv");

struct Said {
    code: i32,
    out: String,
    talk: String,
}

fn heatset(folder: &Path, arguments: &[&str]) -> Said {
    let output = Command::new(env!("CARGO_BIN_EXE_heatset"))
        .current_dir(folder)
        .args(arguments)
        .output()
        .unwrap();
    Said {
        code: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        talk: String::from_utf8(output.stderr).unwrap(),
    }
}

fn json(said: &Said) -> Value {
    assert_eq!(said.code, 0, "{}", said.talk);
    serde_json::from_str(&said.out).unwrap()
}

/// A folder with the calibration of the invented bench.
fn fitted() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let said = heatset(folder.path(), &["fit", BENCH, "--out", "seen.json"]);
    assert_eq!(said.code, 0, "{}", said.talk);
    assert!(said.out.starts_with("INVENTED DATA"), "{}", said.out);
    assert!(
        said.out.contains("Anchor 1: 10 min at 81 °C took"),
        "{}",
        said.out
    );
    folder
}

#[test]
fn check_counts_syringes_by_temperature() {
    let folder = tempfile::tempdir().unwrap();
    let found = json(&heatset(folder.path(), &["check", BENCH, "--json"]));
    assert_eq!(found["reading"], "seen");
    assert_eq!(found["anchors"], 3);
    let total: u64 = found["seen"]
        .as_array()
        .unwrap()
        .iter()
        .map(|at| {
            ["set_by", "not_set", "between"]
                .iter()
                .map(|key| at[*key].as_u64().unwrap())
                .sum::<u64>()
        })
        .sum();
    assert_eq!(total, 90);
    let words = heatset(folder.path(), &["check", BENCH]);
    assert!(
        words
            .out
            .contains("Invented data: the table says so itself.")
    );
    assert!(
        words.out.contains("Pushes that anchor it to a force: 3"),
        "{}",
        words.out
    );
}

#[test]
fn time_says_when_it_has_set_and_keeps_the_cautions() {
    let folder = fitted();
    let said = heatset(folder.path(), &["time", "seen.json", "--at", "84C"]);
    assert_eq!(said.code, 0, "{}", said.talk);
    let mut lines = said.out.lines();
    assert!(lines.next().unwrap().starts_with("INVENTED DATA"));
    assert!(
        lines
            .next()
            .unwrap()
            .starts_with("At 84 °C the gel has set not before"),
        "{}",
        said.out
    );
    assert!(said.out.contains("not a medical device"));
    assert!(said.out.contains("Clock time, warm-up included"));
    let found = json(&heatset(
        folder.path(),
        &["time", "seen.json", "--at", "84C", "--json"],
    ));
    let set = &found["set_time_s"];
    let number = |key: &str| set[key].as_f64().unwrap();
    assert!(number("median") < number("not_before"));
    assert_eq!(found["criterion"], "bubble stays");
    assert_eq!(found["invented"], true);
    // The same seed gives the same bytes.
    let again = heatset(folder.path(), &["time", "seen.json", "--at", "84C"]);
    assert_eq!(again.out, said.out);
}

#[test]
fn a_force_is_refused_in_words_by_every_command() {
    let folder = fitted();
    let force = heatset(
        folder.path(),
        &[
            "time",
            "seen.json",
            "--at",
            "84C",
            "--gauge",
            "27",
            "--force",
            "15N",
        ],
    );
    assert_eq!(force.code, 1);
    assert!(force.out.is_empty());
    assert!(
        force.talk.contains("knows when the gel sets"),
        "{}",
        force.talk
    );
    assert!(force.talk.contains("\nWhat helps: "), "{}", force.talk);
    for command in [
        &["force", "seen.json", "--at", "84C", "--heat-time", "5min"][..],
        &["report", "seen.json"],
        &["chart", "firmness", "seen.json", "--out", "x.svg"],
        &["next", "seen.json"],
    ] {
        let said = heatset(folder.path(), command);
        assert_eq!(said.code, 1, "{command:?}: {}", said.out);
        assert!(
            said.talk.contains("knows when the gel sets"),
            "{command:?}: {}",
            said.talk
        );
    }
    let convert = heatset(folder.path(), &["convert", BENCH]);
    assert_eq!(convert.code, 1);
    assert!(
        convert.talk.contains("says what was seen"),
        "{}",
        convert.talk
    );
}

#[test]
fn an_equal_heat_and_an_equal_push_agree() {
    let folder = fitted();
    let same = json(&heatset(
        folder.path(),
        &[
            "time",
            "seen.json",
            "--at",
            "84C",
            "--same-as",
            "10min at 81C",
            "--json",
        ],
    ));
    let push = json(&heatset(
        folder.path(),
        &[
            "time",
            "seen.json",
            "--at",
            "84C",
            "--same-push",
            "--gauge",
            "25",
            "--json",
        ],
    ));
    assert_eq!(same["heat_time_s_point"], push["heat_time_s_point"]);
    assert_eq!(push["anchor_pushes"], 3);
    let through = &push["push"];
    assert_eq!(through["flow_index_is_assumed"], true);
    let force = &through["plunger_force_N"];
    assert!(force["median"].as_f64().unwrap() > 2.0, "{force}");
    let words = heatset(
        folder.path(),
        &[
            "time",
            "seen.json",
            "--at",
            "84C",
            "--same-push",
            "--gauge",
            "25",
        ],
    );
    assert!(
        words.out.contains("This dose and no other"),
        "{}",
        words.out
    );
    let syringe = heatset(
        folder.path(),
        &[
            "time",
            "seen.json",
            "--at",
            "84C",
            "--same-as",
            "10min at 81C in 5mL",
        ],
    );
    assert_eq!(syringe.code, 1);
    assert!(
        syringe.talk.contains("cannot be carried to another"),
        "{}",
        syringe.talk
    );
}

#[test]
fn options_of_one_kind_are_refused_by_the_other() {
    let folder = fitted();
    let law = heatset(folder.path(), &["fit", BENCH, "--law", "log"]);
    assert_eq!(law.code, 1);
    assert!(
        law.talk.contains("--law belongs to readings"),
        "{}",
        law.talk
    );
    let demo = concat!(env!("CARGO_MANIFEST_DIR"), "/data/demo_bench.csv");
    let scatter = heatset(folder.path(), &["fit", demo, "--scatter", "weibull"]);
    assert_eq!(scatter.code, 1);
    assert!(
        scatter
            .talk
            .contains("--scatter belongs to a table of what was seen"),
        "{}",
        scatter.talk
    );
    let both = heatset(folder.path(), &["fit", BENCH, demo]);
    assert_eq!(both.code, 1);
    assert!(both.talk.contains("fit them apart"), "{}", both.talk);
    let weibull = json(&heatset(
        folder.path(),
        &["fit", BENCH, "--scatter", "weibull", "--json"],
    ));
    assert_eq!(weibull["schema"], "heatset/set-time/1");
    assert_eq!(weibull["blends"][0]["scatter"], "weibull");
}

#[test]
fn a_damaged_document_is_told_in_words() {
    let folder = fitted();
    let text = std::fs::read_to_string(folder.path().join("seen.json")).unwrap();
    let broken = text.replacen("\"scatter\": \"lognormal\"", "\"scatter\": \"other\"", 1);
    std::fs::write(folder.path().join("broken.json"), broken).unwrap();
    let said = heatset(folder.path(), &["time", "broken.json", "--at", "84C"]);
    assert_eq!(said.code, 1);
    assert!(
        said.talk.contains("is no calibration of set times"),
        "{}",
        said.talk
    );
}
