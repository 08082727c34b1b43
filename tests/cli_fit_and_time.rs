//! `fit`, `time` and `force` from outside: keys, exit statuses, files, and what people read.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used)]

mod said;

use said::{document, line, refused, served};
use serde_json::Value;
use std::path::{Path, PathBuf};

const DEMO: &str = "data/demo_bench.csv";

/// A calibration of the demo bench in a folder of its own.
fn calibration() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cal.json");
    served(&format!("fit {DEMO} --out {}", path.display()));
    (folder, path)
}

fn keys(value: &Value) -> Vec<&str> {
    value
        .as_object()
        .unwrap()
        .keys()
        .map(String::as_str)
        .collect()
}

/// The keys that scripts rely on; more may stand beside them.
#[test]
fn the_document_has_the_agreed_keys() {
    let whole = document(&format!("fit {DEMO}"));
    for key in [
        "schema", "created", "version", "seed", "invented", "source", "blends",
    ] {
        assert!(keys(&whole).contains(&key), "{key}");
    }
    assert_eq!(whole["schema"], "heatset/calibration/1");
    assert_eq!(whole["invented"], true);
    for key in ["file", "sha256", "rows", "used"] {
        assert!(keys(&whole["source"][0]).contains(&key), "{key}");
    }
    let blend = &whole["blends"][0];
    for key in [
        "blend",
        "reading",
        "reading_unit",
        "law",
        "order",
        "warm_up",
        "start_temp_K",
        "reference_temp_K",
        "parameters",
        "covariance",
        "derived",
        "fit",
        "candidates",
        "lots",
        "range",
        "diagnostics",
        "warnings",
    ] {
        assert!(keys(blend).contains(&key), "{key}");
    }
    for key in [
        "name",
        "unit",
        "scale",
        "estimate",
        "std_error",
        "ci95",
        "held",
    ] {
        assert!(keys(&blend["parameters"][0]).contains(&key), "{key}");
    }
    for key in [
        "rows",
        "degrees_of_freedom",
        "residual_sd",
        "weighted_rss",
        "log_likelihood",
        "aicc",
        "iterations",
        "converged",
    ] {
        assert!(keys(&blend["fit"]).contains(&key), "{key}");
    }
    for key in [
        "lack_of_fit",
        "runs_p",
        "normality_p",
        "condition",
        "largest_correlation",
        "influential",
        "downweighted",
    ] {
        assert!(keys(&blend["diagnostics"]).contains(&key), "{key}");
    }
    let free = blend["parameters"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|p| p["held"] == false);
    assert_eq!(free.count(), blend["covariance"].as_array().unwrap().len());
    let fit = &blend["fit"];
    let (sd, rss) = (
        fit["residual_sd"].as_f64().unwrap(),
        fit["weighted_rss"].as_f64().unwrap(),
    );
    let freedom = fit["degrees_of_freedom"].as_f64().unwrap();
    assert!((sd - (rss / freedom).sqrt()).abs() < 1e-12);
}

#[test]
fn the_answer_about_time_has_the_agreed_keys() {
    let (_folder, cal) = calibration();
    let answer = document(&format!(
        "time {} --blend plain --at 86C --gauge 29 --force 15N --least-force 5N",
        cal.display()
    ));
    for key in [
        "heat_time_s",
        "heat_time_s_point",
        "heat_time_s_median",
        "heat_time_s_interval95",
        "at_aim",
        "cool_time_s",
        "gel_temp_K",
        "window_open",
        "limited_by",
        "contributions",
        "alternatives",
        "assumptions",
        "warnings",
    ] {
        assert!(keys(&answer).contains(&key), "{key}");
    }
    for key in ["not_before", "aim", "not_beyond"] {
        assert!(keys(&answer["heat_time_s"]).contains(&key), "{key}");
    }
    for key in [
        "plunger_force_N",
        "reading",
        "conversion",
        "wall_shear_rate_per_s",
        "reynolds",
        "pressure_Pa",
    ] {
        assert!(keys(&answer["at_aim"]).contains(&key), "{key}");
    }
    let invented = answer["warnings"].as_array().unwrap();
    assert!(invented.iter().any(|w| w["code"] == "invented_data"));
    let forces = document(&format!(
        "force {} --blend plain --at 86C --heat-time 10min",
        cal.display()
    ));
    let needles = forces["needles"].as_array().unwrap();
    assert_eq!(needles.len(), 25, "every gauge of the table");
    for key in ["point", "median", "interval95"] {
        assert!(keys(&needles[0]["plunger_force_N"]).contains(&key), "{key}");
    }
}

#[test]
fn a_known_lot_is_answered_for_by_its_code() {
    let (_folder, cal) = calibration();
    let ask = format!("time {} --blend plain --at 86C --gauge 29", cal.display());
    let width = |command: &str| {
        let answer = document(command);
        let ends = answer["heat_time_s_interval95"].as_array().unwrap().clone();
        ends[1].as_f64().unwrap() / ends[0].as_f64().unwrap()
    };
    assert!(width(&format!("{ask} --this-lot SK-08")) < width(&ask));
    let talk = refused(&format!("{ask} --this-lot SK-99"), 1);
    assert!(talk.contains("SK-03, SK-08, SK-11, SK-16"), "{talk}");
    refused(&format!("{ask} --this-lot SK-08 --new-lot"), 2);
}

#[test]
fn questions_that_cannot_be_served_say_what_helps() {
    let (_folder, cal) = calibration();
    let cal = cal.display();
    for (command, words) in [
        (format!("time {cal} --at 86C --gauge 29"), "--blend"),
        (
            format!("time {cal} --blend salt --at 86C --gauge 29"),
            "There is no blend 'salt'",
        ),
        (format!("time {cal} --blend plain --at 86C"), "--gauge"),
        (
            format!("time {cal} --blend plain --at 60C --gauge 29"),
            "--extrapolate",
        ),
        (
            format!("time {cal} --blend plain --at 86C --gauge 29 --force 2N"),
            "friction",
        ),
        (
            format!("time {cal} --blend plain --at 86C --gauge 29 --force 300N"),
            "never a harder push",
        ),
        (
            format!("force {cal} --blend plain --at 86C --heat-time 9h"),
            "measured heat times",
        ),
        (
            "time no-such.json --at 86C --gauge 29".to_owned(),
            "no-such.json",
        ),
        (format!("time {DEMO} --at 86C --gauge 29"), "heatset fit"),
        (format!("fit {DEMO} --hold plateau"), "names no value"),
        (format!("fit {DEMO} --hold viscosity=1"), "is no parameter"),
        (format!("fit {DEMO} --hold plateau=-1Pa.s"), "below zero"),
        (
            format!("fit {DEMO} --law log --hold plateau=0"),
            "--law linear",
        ),
        (
            format!("fit {DEMO} --prior activation_energy=260kJ/mol"),
            "no standard deviation",
        ),
        (
            format!("fit {DEMO} --prior gel_conversion=0.9:0.1 --law log"),
            "says nothing",
        ),
        (
            format!("fit {DEMO} --blend salt"),
            "There is no blend 'salt'",
        ),
        (format!("fit {DEMO} --error given"), "reading_sd"),
        (format!("fit {DEMO} --warm-up 0s"), "--warm-up"),
    ] {
        let talk = refused(&command, 1);
        assert!(talk.contains(words), "{command}\n{talk}");
    }
    for command in [
        format!("fit {DEMO} --order 9"),
        format!("fit {DEMO} --robust maybe"),
        format!("fit {DEMO} --draws 3"),
        format!("time {cal} --blend plain --at 86 --gauge 29"),
        format!("time {cal} --blend plain --at 86C --gauge 29 --flow 0mL/min"),
        format!(
            "time {cal} --blend plain --at 86C --gauge 29 --least-force 5N --least-reading 1Pa.s"
        ),
    ] {
        refused(&command, 2);
    }
}

#[test]
fn a_file_is_written_whole_or_not_at_all_and_never_over_another() {
    let (folder, cal) = calibration();
    let before = std::fs::read(&cal).unwrap();
    let talk = refused(&format!("fit {DEMO} --out {}", cal.display()), 1);
    assert!(talk.contains("--replace"), "{talk}");
    assert_eq!(std::fs::read(&cal).unwrap(), before);
    let other = folder.path().join("other.json");
    refused(
        &format!("fit {DEMO} --error given --out {}", other.display()),
        1,
    );
    assert!(!other.exists());
    let names: Vec<_> = std::fs::read_dir(folder.path())
        .unwrap()
        .map(|e| e.unwrap().file_name())
        .collect();
    assert_eq!(names, ["cal.json"], "no temporary file is left");
    let nowhere = Path::new("no-such-folder").join("cal.json");
    let talk = refused(&format!("fit {DEMO} --out {}", nowhere.display()), 1);
    assert!(talk.contains("cannot be written"), "{talk}");
}

#[test]
fn the_same_seed_gives_the_same_bytes() {
    let fit = || {
        assert_cmd::Command::new(env!("CARGO_BIN_EXE_heatset"))
            .args([
                "fit",
                DEMO,
                "--json",
                "--interval",
                "bootstrap",
                "--draws",
                "200",
            ])
            .env("SOURCE_DATE_EPOCH", "1700000000")
            .output()
            .unwrap()
            .stdout
    };
    let first = fit();
    assert!(String::from_utf8_lossy(&first).contains("2023-11-14T22:13:20Z"));
    assert_eq!(first, fit());
    let (_folder, cal) = calibration();
    let ask = |threads: &str| {
        assert_cmd::Command::new(env!("CARGO_BIN_EXE_heatset"))
            .args([
                "time",
                cal.to_str().unwrap(),
                "--blend",
                "plain",
                "--at",
                "86C",
            ])
            .args(["--gauge", "29", "--json"])
            .env("RAYON_NUM_THREADS", threads)
            .output()
            .unwrap()
            .stdout
    };
    assert_eq!(ask("1"), ask("3"));
}

#[test]
fn robust_losses_name_the_readings_that_they_let_count_less() {
    let text = std::fs::read_to_string(DEMO).unwrap();
    // The reading of the first row a hundredfold: a decimal point gone astray.
    let spoilt = text.replacen("70,10,2.033,", "70,10,203.3,", 1);
    assert!(
        spoilt != text,
        "the demo bench no longer begins with that reading"
    );
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("spoilt.csv");
    std::fs::write(&path, spoilt).unwrap();
    let said = line(&format!(
        "fit {} --blend plain --robust tukey",
        path.display()
    ));
    assert_eq!(said.code, 0, "{}", said.talk);
    assert!(
        said.out.contains("data rows 1 (70 °C, 10 min)"),
        "{}",
        said.out
    );
}

/// The demo's readings, each as if read at a temperature of its own and thicker when colder, by
/// 25 kJ/mol.
#[test]
fn readings_at_several_temperatures_are_told_apart_in_words_and_in_the_document() {
    let folder = tempfile::tempdir().unwrap();
    let bench = folder.path().join("bench.csv");
    let demo = std::fs::read_to_string(DEMO).unwrap();
    let mut rows = demo.lines().filter(|line| !line.starts_with('#'));
    let header = rows.next().unwrap();
    let column = |name: &str| {
        let mut names = header.split(',');
        names.position(|found| found.starts_with(name)).unwrap()
    };
    let (reading, read_temp) = (column("viscosity"), column("read_temp_C"));
    let mut table = format!("{header}\n");
    for (place, row) in rows.enumerate() {
        let celsius = [20.0, 24.0, 30.0, 37.0][place % 4];
        let factor: f64 = 25e3 / 8.314 * (1.0 / (celsius + 273.15) - 1.0 / 300.9);
        let mut cells: Vec<String> = row.split(',').map(str::to_owned).collect();
        let value: f64 = cells[reading].parse().unwrap();
        cells[reading] = format!("{}", value * factor.exp());
        cells[read_temp] = format!("{celsius}");
        table.push_str(&format!("{}\n", cells.join(",")));
    }
    std::fs::write(&bench, table).unwrap();
    let cal = folder.path().join("cal.json");
    let said = served(&format!(
        "fit {} --blend plain --out {}",
        bench.display(),
        cal.display()
    ));
    assert!(said.contains("activation energy of flow"), "{said}");
    let whole: Value = serde_json::from_str(&std::fs::read_to_string(&cal).unwrap()).unwrap();
    let found = whole["blends"][0]["parameters"]
        .as_array()
        .unwrap()
        .iter()
        .find(|p| p["name"] == "flow_activation_energy")
        .unwrap();
    assert_eq!(
        (&found["unit"], &found["scale"]),
        (&"J/mol".into(), &"linear".into())
    );
    let [low, high] = [0, 1].map(|end| found["ci95"][end].as_f64().unwrap());
    assert!(low < 25e3 && 25e3 < high, "{low} {high}");
    let asked = format!("{} --at 86C --gauge 27 --gel-temp 37C", cal.display());
    let answer = document(&format!("time {asked}"));
    let factor = &answer["assumptions"]["gel_temp_factor"];
    assert_eq!(factor["source"], "fitted");
    assert_eq!(
        factor["flow_activation_energy_J_per_mol"],
        found["estimate"]
    );
    assert!(factor["ratio"].as_f64().unwrap() < 1.0);
    assert!(served(&format!("time {asked}")).contains("by the bench's own readings"));
}

/// A modulus says nothing of a push, but a firmness can be asked for. By hand, order 1 and log law from 2 Pa to
/// 2 kPa, 6e-3 /s at 85 C, 250 kJ/mol: half of the way on the logarithm after ln 2/k.
#[test]
fn a_modulus_is_answered_as_a_reading_and_not_as_a_push() {
    let folder = tempfile::tempdir().unwrap();
    let mut text = String::from("heat_temp_C,heat_time_min,modulus_Pa\n");
    let rate = |celsius: f64| {
        6e-3 * (-250e3 / 8.314_462_618 * (1.0 / (celsius + 273.15) - 1.0 / 358.15)).exp()
    };
    for celsius in [80.0, 85.0, 90.0] {
        for half_times in [0.1, 0.5, 1.0, 2.0, 4.0, 8.0] {
            let seconds = half_times * 2.0_f64.ln() / rate(celsius);
            let set = 1.0 - (-rate(celsius) * seconds).exp();
            text += &format!(
                "{celsius},{},{}\n",
                seconds / 60.0,
                2.0 * 1000.0_f64.powf(set)
            );
        }
    }
    let bench = folder.path().join("modulus.csv");
    let path = folder.path().join("cal.json");
    std::fs::write(&bench, text).unwrap();
    served(&format!(
        "fit {} --warm-up none --out {}",
        bench.display(),
        path.display()
    ));
    let reading = 2.0 * 1000.0_f64.sqrt();
    let asked = format!(
        "time {} --at 82C --least-reading {reading}Pa",
        path.display()
    );
    let answer = document(&asked);
    let point = answer["heat_time_s_point"].as_f64().unwrap();
    let by_hand = 2.0_f64.ln() / rate(82.0);
    assert!((point / by_hand - 1.0).abs() < 1e-3, "{point} {by_hand}");
    let told = served(&asked);
    assert!(
        told.contains("19 syringes of 20 have reached a storage modulus"),
        "{told}"
    );
    assert!(told.contains("says nothing about a push"), "{told}");
    // A needle is still refused.
    refused(&format!("{asked} --gauge 27"), 1);
}

/// What no fit writes is no calibration: a document changed by hand is not answered from.
#[test]
fn documents_with_absurd_numbers_are_refused() {
    let (folder, path) = calibration();
    let text = std::fs::read_to_string(&path).unwrap();
    let whole: Value = serde_json::from_str(&text).unwrap();
    type Change = fn(&mut Value);
    let changes: [(&str, Change); 6] = [
        ("kJ/mol", |blend| {
            let parameters = blend["parameters"].as_array_mut().unwrap();
            for parameter in parameters {
                if parameter["name"] == "activation_energy" {
                    parameter["estimate"] = 255.0.into();
                }
            }
        }),
        ("in K", |blend| blend["reference_temp_K"] = 81.0.into()),
        ("shear rate", |blend| {
            blend["reference_shear_rate_per_s"] = 0.0.into();
        }),
        ("standard deviation", |blend| {
            blend["fit"]["residual_sd"] = (-1.0).into();
        }),
        ("covariance", |blend| {
            blend["covariance"][0][0] = (-1.0).into()
        }),
        ("covariance", |blend| blend["covariance"][0][1] = 1e9.into()),
    ];
    for (words, change) in changes {
        let mut changed = whole.clone();
        change(&mut changed["blends"][0]);
        let file = folder.path().join("changed.json");
        std::fs::write(&file, changed.to_string()).unwrap();
        let asked = format!("time {} --blend plain --at 86C --gauge 29", file.display());
        let said = refused(&asked, 1);
        assert!(said.contains(words), "{words}: {said}");
    }
}
