//! `stand` and its chart from outside: keys, exit statuses, what is said and what is never said.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used)]

mod said;

use said::{document, line, number, refused, served};
use serde_json::Value;
use std::fmt::Write as _;
use std::path::Path;

/// A bench of one lot, log law: 1.6 mPa.s to 6 Pa.s, 2e-3 /s at 80 °C, 250 kJ/mol; on standing 2.2 times
/// as viscous, half-way on the logarithm in 16 h at 4 °C and 3.2 h at 22 °C. A small scatter that runs
/// through the rows in turn.
fn bench(storages: &[(f64, f64)]) -> String {
    let scatter = [0.03, -0.04, 0.01, 0.05, -0.02, -0.03, 0.02];
    let at_once = |celsius: f64, minutes: f64| {
        let inverse = 1.0 / (celsius + 273.15) - 1.0 / 353.15;
        let rate = 2e-3 * (-250e3 / 8.314_462_618 * inverse).exp();
        let set = 1.0 - (-rate * 60.0 * minutes).exp();
        (1.0 - set) * 1.6e-3_f64.ln() + set * 6.0_f64.ln()
    };
    let mut text = String::from(
        "heat_temp_C,heat_time_min,viscosity_Pa_s,shear_rate_per_s,lot,stand_time_min,stand_temp_C\n",
    );
    let mut row = 0;
    let mut add = |celsius: f64, minutes: f64, gain: f64, stood: &str| {
        let reading = (at_once(celsius, minutes) + gain + scatter[row % 7]).exp();
        row += 1;
        writeln!(text, "{celsius},{minutes},{reading:.6},10,L1,{stood}").unwrap();
    };
    for celsius in [74.0, 80.0, 86.0] {
        for minutes in [0.5, 1.0, 2.0, 4.0, 7.0, 12.0, 20.0, 30.0] {
            add(celsius, minutes, 0.0, ",");
        }
    }
    for minutes in [4.0, 7.0] {
        for (celsius, rate) in storages {
            for hours in [1.0, 3.0, 8.0, 24.0, 48.0] {
                let gain = 0.8 * (1.0 - (-rate * 3600.0 * hours).exp());
                add(80.0, minutes, gain, &format!("{},{celsius}", 60.0 * hours));
            }
        }
    }
    text
}

const BOTH: [(f64, f64); 2] = [(4.0, 1.2e-5), (22.0, 6e-5)];

struct Fitted {
    folder: tempfile::TempDir,
    said: String,
}

impl Fitted {
    fn of(text: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = |name: &str| folder.path().join(name).display().to_string();
        std::fs::write(path("bench.csv"), text).unwrap();
        let said = served(&format!(
            "fit {} --out {}",
            path("bench.csv"),
            path("cal.json")
        ));
        Self { folder, said }
    }

    fn path(&self, name: &str) -> String {
        self.folder.path().join(name).display().to_string()
    }

    fn stand(&self, rest: &str) -> String {
        format!(
            "stand {} --at 80C --heat-time 4min --draws 2000 {rest}",
            self.path("cal.json")
        )
    }
}

/// What is never said: no shelf life but to deny it, no day by which, nothing that vouches.
fn check_words(text: &str, what: &str) {
    let small = text.to_lowercase();
    let denied = small.matches("not a shelf life").count();
    let named = small.matches("shelf life").count() + small.matches("shelf-life").count();
    assert_eq!(denied, named, "{what}: {text}");
    for never in [
        "use by",
        "use-by",
        "safe",
        "fresh until",
        "best before",
        "keeps for",
        "expire",
        "expiry",
        "good for",
        "push harder",
        "harder push is",
    ] {
        assert!(!small.contains(never), "{what}: '{never}' in {text}");
    }
}

/// An answer with a time in it says both.
fn check_marked(text: &str, what: &str) {
    check_words(text, what);
    assert!(text.contains("passes the needle until"), "{what}: {text}");
    assert!(text.contains("not a shelf life"), "{what}: {text}");
}

#[test]
fn every_output_says_what_a_time_is_and_never_more() {
    let fitted = Fitted::of(&bench(&BOTH));
    check_words(&fitted.said, "fit");
    assert!(
        fitted.said.contains("On standing the viscosity goes to"),
        "{}",
        fitted.said
    );
    let none = Fitted::of(&bench(&[]));
    for rest in [
        "--gauge 27",
        "--gauge 25 --force 12N --stand-temp 22C",
        "--gauge 34",
        "--gauge 27 --common-practice",
        "--gauge 27 --after 100h --extrapolate",
        "--gauge 27 --stand-temp 30C --extrapolate",
        "--gauge 27 --flow-index 0.5 --gel-temp 22C",
    ] {
        for json in ["", " --json"] {
            let rest = format!("{rest}{json}");
            let command = fitted.stand(&rest);
            let said = line(&command);
            if rest.contains("--gel-temp") {
                // The bench does not say at which temperature it read.
                assert_eq!(said.code, 1, "{}", said.talk);
            } else {
                assert_eq!(said.code, 0, "{}", said.talk);
                check_marked(&said.out, &rest);
            }
            check_words(&said.talk, &rest);
        }
    }
    for json in ["", " --json"] {
        let said = line(&none.stand(&format!("--gauge 27 --common-practice{json}")));
        assert_eq!(said.code, 0, "{}", said.talk);
        check_marked(&said.out, "common practice");
        check_words(&said.talk, "common practice");
    }
    for rest in [
        "--gauge 27 --stand-temp 37C",
        "--gauge 27 --after 100h",
        "--gauge 27 --force 500N",
        "--gauge 27 --force 1N",
    ] {
        check_words(&refused(&fitted.stand(rest), 1), rest);
    }
    check_words(&served("stand --help"), "help");
}

#[test]
fn the_document_has_its_keys() {
    let fitted = Fitted::of(&bench(&BOTH));
    let whole = document(&fitted.stand("--gauge 27 --force 8N --friction 2N"));
    assert_eq!(whole["known"], true);
    assert_eq!(whole["common_practice"], Value::Null);
    assert_eq!(whole["form"], "levels-off");
    assert_eq!(number(&whole, "heat_temp_K"), 353.15);
    assert_eq!(number(&whole, "heat_time_s"), 240.0);
    assert_eq!(number(&whole["assumptions"], "force_limit_N"), 8.0);
    let codes: Vec<&str> = whole["warnings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|w| w["code"].as_str().unwrap())
        .collect();
    assert!(codes.contains(&"passing_only"), "{codes:?}");
    assert!(codes.contains(&"standing_one_lot"), "{codes:?}");
    let at = whole["at"].as_array().unwrap();
    assert_eq!(at.len(), 2);
    for (place, kelvin) in at.iter().zip([277.15, 295.15]) {
        assert_eq!(number(place, "stand_temp_K"), kelvin);
        assert_eq!(number(place, "measured_until_s"), 172_800.0);
        assert_eq!(place["extrapolated"], false);
        let until = &place["passes_needle_until_s"];
        for key in ["probability95", "point", "median", "interval95"] {
            assert!(until.get(key).is_some(), "{key}");
        }
        let pushes = place["push_after"].as_array().unwrap();
        let times: Vec<f64> = pushes.iter().map(|p| number(p, "stand_time_s")).collect();
        assert_eq!(
            times,
            [0.0, 3600.0, 7200.0, 14_400.0, 28_800.0, 86_400.0, 172_800.0]
        );
        for push in pushes {
            let force = &push["plunger_force_N"];
            let (low, median) = (
                force["interval95"][0].as_f64().unwrap(),
                number(force, "median"),
            );
            assert!(low <= median && number(push, "probability") <= 1.0);
            assert!(number(force, "point") > 2.0);
        }
    }
    let calibration: Value =
        serde_json::from_str(&std::fs::read_to_string(fitted.path("cal.json")).unwrap()).unwrap();
    let standing = &calibration["blends"][0]["standing"];
    for key in [
        "form",
        "gain_ln_ratio",
        "rate_ref_per_s",
        "slope_ref_per_s",
        "activation_energy_J_per_mol",
        "reference_temp_K",
        "covariance",
        "residual_sd",
        "degrees_of_freedom",
        "rows",
        "gels",
        "gels_with_own_start",
        "lots",
        "lack_of_fit",
        "range",
        "readings",
        "warnings",
    ] {
        assert!(standing.get(key).is_some(), "{key}");
    }
    // What the bench was made from lies in the intervals.
    for (key, truth) in [
        ("gain_ln_ratio", 0.8),
        ("activation_energy_J_per_mol", 60_815.0),
    ] {
        let interval = &standing[key]["ci95"];
        let (low, high) = (interval[0].as_f64().unwrap(), interval[1].as_f64().unwrap());
        assert!(low < truth && truth < high, "{key}: {low} to {high}");
    }
}

#[test]
fn without_readings_after_standing_it_says_that_it_does_not_know() {
    let none = Fitted::of(&bench(&[]));
    let said = refused(&none.stand("--gauge 27"), 1);
    for words in [
        "is not known",
        "What helps:",
        "stand_time_min",
        "stand_temp_C",
    ] {
        assert!(said.contains(words), "{said}");
    }
    let usual = served(&none.stand("--gauge 27 --common-practice"));
    for words in [
        "is not known",
        "NO SOURCE",
        "no computation",
        "no microbiological basis",
        "frozen: a month",
        "refrigerated: a week",
        "about four hours",
        "added cells: never",
        "nothing of sterility",
        "not a medical device",
    ] {
        assert!(
            usual.to_lowercase().contains(&words.to_lowercase()),
            "{words}: {usual}"
        );
    }
    let json = document(&none.stand("--gauge 27 --common-practice"));
    assert_eq!(json["known"], false);
    assert!(json.get("at").is_none());
    assert_eq!(
        json["common_practice"]["usual"].as_array().unwrap().len(),
        4
    );
    // Nobody asked for it: it is not said.
    let fitted = Fitted::of(&bench(&BOTH));
    assert!(!served(&fitted.stand("--gauge 27")).contains("COMMON PRACTICE"));
}

#[test]
fn a_gel_that_does_not_pass_at_once_says_so() {
    let fitted = Fitted::of(&bench(&BOTH));
    let said = served(&fitted.stand("--gauge 34"));
    let first = said.lines().next().unwrap();
    assert!(first.contains("even at once"), "{said}");
    assert!(said.contains("What helps: a wider needle"), "{said}");
    let json = document(&fitted.stand("--gauge 34"));
    assert_eq!(json["passes_at_once"], false);
    assert_eq!(json["at"][0]["passes_needle_until_s"]["probability95"], 0.0);
}

#[test]
fn what_lies_outside_is_refused_or_marked() {
    let fitted = Fitted::of(&bench(&BOTH));
    let said = refused(&fitted.stand("--gauge 27 --stand-temp 37C"), 1);
    assert!(
        said.contains("37 °C") && said.contains("--extrapolate"),
        "{said}"
    );
    let said = served(&fitted.stand("--gauge 27 --stand-temp 37C --extrapolate"));
    assert!(said.starts_with("EXTRAPOLATED"), "{said}");
    let one = Fitted::of(&bench(&[(22.0, 6e-5)]));
    let said = refused(&one.stand("--gauge 27 --stand-temp 4C --extrapolate"), 1);
    assert!(said.contains("What helps:"), "{said}");
    for malformed in ["--stand-temp 4", "--after 4", "--stand-temp warm"] {
        let said = line(&fitted.stand(&format!("--gauge 27 {malformed}")));
        assert_eq!(said.code, 2, "{}", said.talk);
    }
}

#[test]
fn the_chart_names_the_finding_and_what_it_is_not() {
    let fitted = Fitted::of(&bench(&BOTH));
    let chart = |rest: &str, name: &str| {
        format!(
            "chart standing {} --at 80C --heat-time 4min --draws 2000 {rest} --out {}",
            fitted.path("cal.json"),
            fitted.path(name)
        )
    };
    for (rest, name) in [
        ("--gauge 27", "a.svg"),
        ("--gauge 27 --force 8N", "b.svg"),
        ("--gauge 34", "c.svg"),
        ("--gauge 27 --title Mine", "d.svg"),
        ("--gauge 27 --stand-temp 37C --extrapolate", "e.svg"),
    ] {
        served(&chart(rest, name));
        let drawn = std::fs::read_to_string(fitted.path(name)).unwrap();
        check_marked(&drawn, rest);
        assert!(drawn.contains("standing time"), "{rest}");
    }
    served(&chart("--gauge 27", "a.png"));
    assert!(Path::new(&fitted.path("a.png")).metadata().unwrap().len() > 10_000);
    let none = Fitted::of(&bench(&[]));
    let cal = none.path("cal.json");
    let said = refused(
        &format!(
            "chart standing {cal} --heat-time 4min --gauge 27 --out {}",
            none.path("a.svg")
        ),
        1,
    );
    assert!(said.contains("is not known"), "{said}");
    let said = refused(
        &format!(
            "chart standing {cal} --gauge 27 --out {}",
            none.path("a.svg")
        ),
        1,
    );
    assert!(said.contains("--heat-time"), "{said}");
}

/// A damaged document and a bench with faults.
#[test]
fn broken_input_is_refused_in_words() {
    let fitted = Fitted::of(&bench(&BOTH));
    let text = std::fs::read_to_string(fitted.path("cal.json")).unwrap();
    let mut whole: Value = serde_json::from_str(&text).unwrap();
    whole["blends"][0]["standing"]["covariance"] = serde_json::json!([]);
    std::fs::write(fitted.path("cal.json"), whole.to_string()).unwrap();
    let said = refused(&fitted.stand("--gauge 27"), 1);
    assert!(said.contains("standing"), "{said}");
    let modulus = bench(&BOTH)
        .replace("viscosity_Pa_s", "modulus_Pa")
        .replace("shear_rate_per_s,", "note,");
    let modulus = Fitted::of(&modulus);
    let said = refused(&modulus.stand("--gauge 27"), 1);
    assert!(said.contains("says nothing about a push"), "{said}");
}
