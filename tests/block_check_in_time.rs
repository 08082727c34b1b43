//! A checked block in an answer: the offset moves the temperature, the places move the time.
#![allow(clippy::unwrap_used, missing_docs)]
#![cfg(feature = "cli")]

use assert_cmd::Command;
use serde_json::Value;
use std::fmt::Write as _;
use std::path::Path;

fn heatset(folder: &Path, arguments: &[&str]) -> std::process::Output {
    Command::cargo_bin("heatset")
        .unwrap()
        .current_dir(folder)
        .args(arguments)
        .output()
        .unwrap()
}

/// A thermocouple that stands at one temperature for 20 min.
fn trace(folder: &Path, place: &str, celsius: f64) -> String {
    let mut text = String::from("# invented data\ntime_s,temp_C,place,set_temp_C\n");
    for i in 0..240 {
        let _ = writeln!(text, "{},{celsius},{place},86", 5 * i);
    }
    let name = format!("{place}.csv");
    std::fs::write(folder.join(&name), text).unwrap();
    name
}

fn json(output: &std::process::Output) -> Value {
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    serde_json::from_slice(&output.stdout).unwrap()
}

#[test]
fn the_answer_is_for_the_temperature_that_the_places_have() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let bench = Path::new(env!("CARGO_MANIFEST_DIR")).join("data/demo_bench.csv");
    let fitted = heatset(
        folder,
        &["fit", bench.to_str().unwrap(), "--out", "cal.json"],
    );
    assert!(fitted.status.success());
    let places = [trace(folder, "A1", 84.6), trace(folder, "B2", 85.4)];
    let checked = heatset(
        folder,
        &["blockcheck", &places[0], &places[1], "--out", "block.json"],
    );
    assert!(
        checked.status.success(),
        "{}",
        String::from_utf8_lossy(&checked.stderr)
    );
    let ask = |at: &str, more: &[&str]| {
        let common = [
            "time",
            "cal.json",
            "--blend",
            "plain",
            "--gauge",
            "29",
            "--json",
            "--at",
            at,
            "--block-tolerance",
            "0.5K",
        ];
        heatset(folder, &[&common[..], more].concat())
    };
    // Set to 86 °C, the mean of both places is 85 °C.
    let corrected = json(&ask("86C", &["--block-check", "block.json"]));
    let plain = json(&ask("85C", &[]));
    let near = |a: &Value, b: &Value| (a.as_f64().unwrap() / b.as_f64().unwrap() - 1.0).abs();
    assert!(near(&corrected["heat_temp_K"], &plain["heat_temp_K"]) < 1e-12);
    for key in ["heat_time_s_point", "heat_time_s_median"] {
        assert!(near(&corrected[key], &plain[key]) < 1e-9, "{key}");
    }
    let block = &corrected["block"];
    assert!((block["block_offset_K"].as_f64().unwrap() + 1.0).abs() < 1e-9);
    assert!((block["place_spread_K"].as_f64().unwrap() - 0.8).abs() < 1e-9);
    // The places' own temperatures give their own times.
    let places_s: Vec<f64> = block["heat_time_s_point_by_place"]
        .as_array()
        .unwrap()
        .iter()
        .map(|v| v.as_f64().unwrap())
        .collect();
    let hot = json(&ask("85.4C", &[]))["heat_time_s_point"]
        .as_f64()
        .unwrap();
    let cold = json(&ask("84.6C", &[]))["heat_time_s_point"]
        .as_f64()
        .unwrap();
    assert!((places_s[0] / hot - 1.0).abs() < 1e-9 && (places_s[1] / cold - 1.0).abs() < 1e-9);
    assert!(hot < cold);

    let words = ask("86C", &["--block-check", "block.json"]);
    assert!(words.status.success());
    let missing = ask("86C", &["--block-check", "nowhere.json"]);
    assert_eq!(missing.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&missing.stderr).contains("nowhere.json"));
}
