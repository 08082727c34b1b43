//! The commands `agree` and `study`, as they are called.

use assert_cmd::Command;
use serde_json::Value;
use std::path::Path;

fn heatset(arguments: &[&str]) -> std::process::Output {
    Command::new(env!("CARGO_BIN_EXE_heatset"))
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .args(arguments)
        .output()
        .unwrap()
}

fn words(arguments: &[&str]) -> String {
    let output = heatset(arguments);
    assert!(
        output.status.success(),
        "{arguments:?}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).unwrap()
}

fn json(arguments: &[&str]) -> Value {
    let mut all = arguments.to_vec();
    all.push("--json");
    serde_json::from_str(&words(&all)).unwrap()
}

fn refusal(arguments: &[&str]) -> String {
    let output = heatset(arguments);
    assert_eq!(output.status.code(), Some(1), "{arguments:?}");
    assert!(output.stdout.is_empty());
    String::from_utf8(output.stderr).unwrap()
}

const STUDY: &str = "data/hands_study.csv";
const SEEN: &str = "data/opacity_steps.csv";

/// What the invented table was made with stands in its second line: operators 0, 0.03, -0.11 and 0.24, standard
/// deviation 0.147; blocks -0.03 and 0.03, 0.042; pairs 0.02; single syringes 0.06.
#[test]
fn a_study_covers_the_truth_behind_the_invented_table() {
    let document = json(&["study", STUDY]);
    assert_eq!(document["invented"], true);
    assert_eq!(document["readings"], 48);
    for (number, (source, truth)) in [
        ("operator", 0.147),
        ("block", 0.042),
        ("operator with block", 0.02),
        ("rest", 0.06),
    ]
    .into_iter()
    .enumerate()
    {
        let one = &document["scatter"][number];
        assert_eq!(one["source"], source);
        let low = one["sd_ln_interval95"][0].as_f64().unwrap();
        let high = one["sd_ln_interval95"][1].as_f64().unwrap();
        assert!(low <= truth && truth <= high, "{source}: {low} to {high}");
    }
    let share: f64 = document["scatter"]
        .as_array()
        .unwrap()
        .iter()
        .map(|s| s["share_ratio"].as_f64().unwrap())
        .sum();
    assert!((share - 1.0).abs() < 1e-9);
}

#[test]
fn a_study_speaks_first_and_ends_with_the_cautions() {
    let text = words(&["study", STUDY, "--against", "OP-1", "--margin", "20%"]);
    assert!(text.starts_with("INVENTED DATA"));
    assert!(
        text.lines()
            .nth(1)
            .unwrap()
            .starts_with("Of the scatter between two syringes")
    );
    assert!(text.contains("ISO 5725-2"));
    assert!(text.contains("not a medical device"));
    assert_eq!(text.matches("two one-sided tests").count(), 3);
    assert!(text.contains("tell little about others"));
}

#[test]
fn blocks_are_asked_whether_they_may_share_a_calibration() {
    let text = words(&[
        "study",
        STUDY,
        "--of",
        "block",
        "--against",
        "BK-1",
        "--margin",
        "20%",
    ]);
    assert!(
        text.contains("may share a calibration")
            || text.contains("need a calibration of their own")
            || text.contains("answers of one block are not those of the other"),
        "{text}"
    );
    let found = json(&[
        "study",
        STUDY,
        "--of",
        "block",
        "--against",
        "BK-1",
        "--margin",
        "20%",
    ]);
    // Same lot, session and operator on both blocks: twelve pairs.
    assert_eq!(found["comparisons"][0]["pairing"], "cell-session-and-other");
    assert_eq!(found["comparisons"][0]["pairs"], 12);
}

/// Readings at other times are compared through a calibration: a table whose second half was heated
/// longer, and reads as much higher as the demo's truth says, has the scatter of the first.
#[test]
fn readings_at_other_times_are_compared_through_a_calibration() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).display().to_string();
    words(&[
        "fit",
        "data/demo_bench.csv",
        "--blend",
        "plain",
        "--out",
        &at("plain.json"),
    ]);
    let force = |minutes: &str| {
        let out = json(&[
            "force",
            &at("plain.json"),
            "--at",
            "80C",
            "--heat-time",
            minutes,
            "--gauge",
            "27",
        ]);
        out["reading"]
            .as_f64()
            .or_else(|| out["reading"]["median"].as_f64())
            .unwrap()
    };
    let ratio = force("8min") / force("6min");
    assert!(ratio > 1.2, "{ratio}");
    let mut table =
        String::from("heat_temp_C,heat_time_min,viscosity_Pa_s,shear_rate_per_s,lot,operator\n");
    let (mut same, mut other) = (table.clone(), 0);
    for line in std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(STUDY))
        .unwrap()
        .lines()
        .filter(|line| line.starts_with("80,6,"))
    {
        let cells: Vec<&str> = line.split(',').collect();
        let viscosity: f64 = cells[2].parse().unwrap();
        let late = cells[6] == "OP-3" || cells[6] == "OP-4";
        other += usize::from(late);
        let (minutes, factor) = if late { ("8", ratio) } else { ("6", 1.0) };
        table += &format!(
            "80,{minutes},{:.9},10,{},{}\n",
            viscosity * factor,
            cells[5],
            cells[6]
        );
        same += &format!("80,6,{viscosity:.9},10,{},{}\n", cells[5], cells[6]);
    }
    assert_eq!(other, 24);
    std::fs::write(at("late.csv"), table).unwrap();
    std::fs::write(at("same.csv"), same).unwrap();
    let through = json(&["study", &at("late.csv"), "--calibration", &at("plain.json")]);
    let within = json(&["study", &at("same.csv")]);
    for number in 0..2 {
        let sd = |document: &Value| document["scatter"][number]["sd_ln"].as_f64().unwrap();
        assert!(
            (sd(&through) - sd(&within)).abs() < 2e-3,
            "{} {}",
            sd(&through),
            sd(&within)
        );
    }
}

#[cfg(feature = "batches")]
#[test]
fn a_log_feeds_a_study() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).display().to_string();
    words(&[
        "fit",
        "data/demo_bench.csv",
        "--blend",
        "plain",
        "--out",
        &at("plain.json"),
    ]);
    let mut number = 0.0;
    for operator in ["OP-1", "OP-2", "OP-3"] {
        for minutes in ["5min", "6min"] {
            number += 1.0;
            let reading = format!("{}Pa.s", 1.0 + 0.07 * number);
            words(&[
                "batches",
                "add",
                &at("log.db"),
                &at("plain.json"),
                "--lot",
                "L-1",
                "--operator",
                operator,
                "--block",
                "BK-1",
                "--at",
                "80C",
                "--heat-time",
                minutes,
                "--viscosity-read",
                &reading,
                "--draws",
                "1000",
            ]);
        }
    }
    let document = json(&["study", "--log", &at("log.db")]);
    assert_eq!(document["readings"], 6);
    assert_eq!(document["codes"].as_array().unwrap().len(), 3);
    assert_eq!(document["invented"], true);
    assert!(
        document["through"]
            .as_str()
            .unwrap()
            .starts_with("calibration ")
    );
}

#[test]
fn readers_agree_in_words_and_in_json() {
    let text = words(&["agree", SEEN]);
    assert!(text.starts_with("INVENTED DATA"));
    for said in [
        "Opacity is not push",
        "says nothing of the next",
        "Agreement is not truth",
        "A blend changes opacity",
    ] {
        assert!(text.contains(said), "{said}");
    }
    let document = json(&["agree", SEEN]);
    assert_eq!(document["samples"], 24);
    assert_eq!(document["pairs"].as_array().unwrap().len(), 3);
    assert_eq!(document["same_reader"][0]["first"]["reader"], "RD-2");
    let quadratic = document["all_quadratic"]["estimate"].as_f64().unwrap();
    let plain = document["all_unweighted"]["estimate"].as_f64().unwrap();
    assert!(plain < quadratic && quadratic < 1.0);
    assert_eq!(document["push"]["lots"], 2);
}

#[test]
fn ratios_of_two_readers_have_limits_and_an_intraclass_correlation() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("ratios.csv").display().to_string();
    let mut table = String::from("sample,reader,opacity_ratio\n");
    for (n, (a, b)) in [
        (0.31, 0.33),
        (0.45, 0.44),
        (0.52, 0.55),
        (0.71, 0.70),
        (0.86, 0.90),
    ]
    .iter()
    .enumerate()
    {
        table += &format!("S-{n},R-1,{a}\nS-{n},R-2,{b}\n");
    }
    std::fs::write(&file, table).unwrap();
    let document = json(&["agree", &file]);
    assert_eq!(document["opacity"], "ratio");
    // by hand: differences -0.02, 0.01, -0.03, 0.01, -0.04; mean -0.014
    let bias = document["pairs"][0]["ratios"]["bias"].as_f64().unwrap();
    assert!((bias + 0.014).abs() < 1e-12);
    assert!(
        document["intraclass"]["agreement"]["estimate"]
            .as_f64()
            .unwrap()
            > 0.95
    );
    assert!(words(&["agree", &file]).contains("limits of agreement"));
}

#[test]
fn names_are_refused_as_codes() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).display().to_string();
    std::fs::write(
        at("seen.csv"),
        "sample,reader,opacity_step\nS-1,Ada Example,1\nS-1,R-2,2\n",
    )
    .unwrap();
    let said = refusal(&["agree", &at("seen.csv")]);
    assert!(said.contains("more than one word"), "{said}");
    let table = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(STUDY)).unwrap();
    std::fs::write(at("study.csv"), table.replace("OP-2", "ada@example.org")).unwrap();
    let said = refusal(&["study", &at("study.csv")]);
    assert!(said.contains("mail address"), "{said}");
}

#[test]
fn questions_that_cannot_be_served_say_what_helps() {
    let said = refusal(&["study", STUDY, "--of", "place"]);
    assert!(
        said.contains("no reading says its place") && said.contains("What helps"),
        "{said}"
    );
    let said = refusal(&["study", STUDY, "--against", "OP-9", "--margin", "20%"]);
    assert!(said.contains("OP-1, OP-2"), "{said}");
    let said = refusal(&["study", "data/demo_bench.csv"]);
    assert!(said.contains("no reading says its operator"), "{said}");
    // A margin belongs to a comparison: the command line is malformed without.
    assert_eq!(
        heatset(&["study", STUDY, "--margin", "20%"]).status.code(),
        Some(2)
    );
    assert_eq!(
        heatset(&["study", STUDY, "--against", "OP-1"])
            .status
            .code(),
        Some(2)
    );
    assert_eq!(heatset(&["study"]).status.code(), Some(2));
}
