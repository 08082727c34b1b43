//! `heatset batches`, run as a person or a script runs it.
#![cfg(all(feature = "cli", feature = "batches"))]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod said;

use heatset::readings::read_bench;
use said::{document, heatset, line, number, refused, served};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

const BENCH: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/data/demo_bench.csv");
const AT: &str = "--at 86C --heat-time 7min";

/// The demo bench's plain gel, fitted once.
fn calibration() -> &'static str {
    static FITTED: OnceLock<(tempfile::TempDir, String)> = OnceLock::new();
    let (_, path) = FITTED.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let path = shown(&folder.path().join("plain.json"));
        served(&format!("fit {BENCH} --blend plain --out {path}"));
        (folder, path)
    });
    path
}

fn shown(path: &Path) -> String {
    path.display().to_string()
}

/// A log that is not there yet.
fn log(folder: &tempfile::TempDir) -> String {
    shown(&folder.path().join("log.db"))
}

fn add(log: &str, lot: &str, rest: &str) -> Value {
    document(&format!(
        "batches add {log} {} --lot {lot} {AT} {rest}",
        calibration()
    ))
}

/// The log's prediction is that of `heatset force`, and a reading at the end of its interval has the z
/// of that quantile of the normal law: 1.960.
#[test]
fn a_force_is_held_against_what_force_predicts_for_a_new_lot() {
    let folder = tempfile::tempdir().unwrap();
    let log = log(&folder);
    let asked = document(&format!("force {} {AT} --gauge 27", calibration()));
    let predicted = &asked["needles"][0]["plunger_force_N"];
    let [low, high] = [0, 1].map(|end| predicted["interval95"][end].as_f64().unwrap());
    let median = number(predicted, "median");
    for (lot, force, z, tolerance) in [
        ("low", low * 1.000_001, -1.960, 0.01),
        ("high", high * 0.999_999, 1.960, 0.01),
        ("middle", median, 0.0, 0.001),
    ] {
        let added = add(&log, lot, &format!("--gauge 27 --force-read {force}N"));
        let entry = &added["added"];
        assert_eq!(
            entry["predicted_plunger_force_N"]["median"],
            predicted["median"]
        );
        assert_eq!(
            entry["predicted_plunger_force_N"]["interval95"],
            predicted["interval95"]
        );
        assert!(
            (number(entry, "z_sd") - z).abs() < tolerance,
            "{lot}: {entry:#}"
        );
        assert_eq!(entry["inside"], true, "{lot}");
        assert_eq!(entry["accepted"], true, "{lot}");
    }
    let added = add(
        &log,
        "far",
        &format!("--gauge 27 --force-read {}N", 3.0 * high),
    );
    assert_eq!(added["added"]["inside"], false);
    assert_eq!(added["added"]["accepted"], false);
    assert!((number(&added["added"], "ln_ratio") - (3.0 * high / median).ln()).abs() < 1e-12);
    assert_eq!(added["verdict"], "look");
    let list = document(&format!("batches list {log}"));
    assert_eq!(list["entries"].as_array().unwrap().len(), 4);
    assert_eq!(list["entries"][3], added["added"]);
    // Where nothing is known of the calibration's error the rates are the published ones.
    assert_eq!(list["control"]["shewhart"]["upper"], 3.0);
}

#[test]
fn an_entry_says_what_it_is_and_what_it_stands_on() {
    let folder = tempfile::tempdir().unwrap();
    let log = log(&folder);
    let words = served(&format!(
        "batches add {log} {} --lot C-17 {AT} --gauge 27 --force-read 4.5N --operator op-1 --block b2",
        calibration()
    ));
    for part in [
        "INVENTED DATA",
        "Lot C-17, 7 min at 86 °C: 4.5 N, inside its interval; predicted ",
        "Deviation z = +",
        "In line: 1 batch as the calibration predicts.",
        "Batches to a false alarm: Shewhart 370, CUSUM 465, EWMA 500.",
        "Stands on: plain.json, blend plain, 4 lots",
        "Entry 1 of ",
        "not a medical device",
    ] {
        assert!(words.contains(part), "{part}\n{words}");
    }
    let entry = &document(&format!("batches list {log}"))["entries"][0];
    let bytes = std::fs::read(calibration()).unwrap();
    let sha: String = sha2::Digest::finalize(sha2::Digest::chain_update(
        <sha2::Sha256 as sha2::Digest>::new(),
        &bytes,
    ))
    .iter()
    .map(|byte: &u8| format!("{byte:02x}"))
    .collect();
    assert_eq!(entry["calibration_sha256"], Value::from(sha));
    assert_eq!(entry["operator"], "op-1");
    assert_eq!(entry["invented"], true);
    assert_eq!(entry["heat_time_s"], 420.0);
    assert!((number(entry, "heat_temp_K") - 359.15).abs() < 1e-9);
    assert_eq!(entry["push"]["gauge"], 27);
}

#[test]
fn a_bubble_is_logged_and_not_judged() {
    let folder = tempfile::tempdir().unwrap();
    let log = log(&folder);
    let added = add(&log, "C-1", "--bubble-held yes");
    assert_eq!(added["added"]["bubble_held"], true);
    for key in ["z_sd", "ln_ratio", "inside"] {
        assert!(added["added"][key].is_null(), "{key}");
    }
    assert!(added["verdict"].is_null());
    assert_eq!(added["control"]["batches"], 0);
    let words = served(&format!("batches list {log}"));
    assert!(words.contains("Nothing to judge yet"), "{words}");
    let out = shown(&folder.path().join("a.svg"));
    let said = refused(&format!("batches chart {log} --out {out}"), 1);
    assert!(
        said.contains("no batch to chart") && said.contains("What helps"),
        "{said}"
    );
}

#[test]
fn what_reads_as_a_person_is_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let path = log(&folder);
    for (lot, reason) in [
        ("ada@example.org", "mail address"),
        ("Ada Example", "more than one word"),
        ("1961-04-12", "date"),
        ("+44 20 7946 0018", "telephone"),
        ("a-code-that-is-much-too-long", "24 characters"),
    ] {
        for option in ["--lot", "--operator", "--session"] {
            let mut arguments = vec!["batches", "add", &path, calibration()];
            arguments.extend(AT.split(' '));
            arguments.extend(["--viscosity-read", "0.2Pa.s", option, lot]);
            if option != "--lot" {
                arguments.extend(["--lot", "C-1"]);
            }
            let said = heatset(&arguments);
            assert_eq!((said.code, said.out.as_str()), (1, ""), "{lot}");
            assert!(
                said.talk.contains(reason) && said.talk.contains("What helps:"),
                "{}",
                said.talk
            );
        }
    }
    assert!(!Path::new(&path).exists());
}

#[test]
fn questions_that_cannot_be_served_write_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = log(&folder);
    let cal = calibration();
    for (rest, said) in [
        (AT.to_string(), "Nothing was read"),
        (format!("{AT} --gauge 27 --force 12N"), "--force-read"),
        (format!("{AT} --force-read 5N"), "--gauge"),
        (format!("{AT} --gauge 27 --force-read 1.5N"), "friction"),
        (
            "--at 60C --heat-time 7min --viscosity-read 2Pa.s".to_owned(),
            "--extrapolate",
        ),
        (
            "--at 101C --heat-time 7min --bubble-held no".to_owned(),
            "must not boil",
        ),
        (
            format!("{AT} --viscosity-read 2Pa.s --corrects 1"),
            "no log",
        ),
    ] {
        let talk = refused(&format!("batches add {path} {cal} --lot C-1 {rest}"), 1);
        assert!(talk.contains(said), "{rest}: {talk}");
        assert!(!Path::new(&path).exists(), "{rest}");
    }
    refused(
        &format!("batches add {path} {cal} --lot C-1 {AT} --viscosity-read 2Pa.s --bubble-held no"),
        2,
    );
    for command in ["list", "check"] {
        assert!(refused(&format!("batches {command} {path}"), 1).contains("There is no log"));
    }
}

/// Readings half an interval too high, one after the other.
fn drifting(folder: &tempfile::TempDir, count: usize) -> String {
    let log = log(folder);
    for n in 1..=count {
        add(&log, &format!("C-{n}"), "--gauge 27 --force-read 5.6N");
    }
    log
}

#[test]
fn a_drift_asks_for_a_new_calibration_by_name_of_the_rule() {
    let folder = tempfile::tempdir().unwrap();
    let log = drifting(&folder, 6);
    let list = document(&format!("batches list {log}"));
    let z = number(&list["entries"][0], "z_sd");
    assert!(z > 1.0 && z < 1.96, "{z}");
    assert_eq!(list["verdict"], "calibrate again");
    let because = list["because"].as_array().unwrap();
    let cusum = because.iter().find(|b| b["rule"] == "cusum").unwrap();
    // n (z - 1/2) over 5 for the first time.
    let expected = (5.0 / (z - 0.5)).floor() + 1.0;
    assert_eq!(cusum["entry"].as_f64().unwrap(), expected);
    assert_eq!(cusum["side"], "above");
    // Montgomery (from memory): 465.
    assert!((number(cusum, "false_alarm_every_batches") - 465.0).abs() < 0.5);
    assert!((number(&list["control"]["cusum"], "upper_sum") - 6.0 * (z - 0.5)).abs() < 1e-9);
    let average = z * (1.0 - 0.8_f64.powi(6));
    assert!((number(&list["control"]["ewma"], "average") - average).abs() < 1e-9);
    let words = served(&format!("batches list {log}"));
    for part in [
        "INVENTED DATA",
        "Calibrate again: ",
        "CUSUM, k 0.5, h 5",
        "What helps: ",
        "firmer than predicted",
    ] {
        assert!(words.contains(part), "{part}\n{words}");
    }
    for never in ["safe", "use by", "push harder"] {
        assert!(!words.contains(never), "{words}");
    }
    // Wider rules say nothing yet.
    let wide = document(&format!("batches list {log} --cusum-h 20 --ewma-width 5"));
    assert_eq!(wide["verdict"], "in line");
    // The chart says the same, in both ways of asking for it.
    for (name, command) in [
        ("a.svg", format!("batches chart {log}")),
        (
            "b.svg",
            format!("chart batches {} --log {log}", calibration()),
        ),
    ] {
        let out = shown(&folder.path().join(name));
        served(&format!("{command} --out {out}"));
        let svg = std::fs::read_to_string(out).unwrap();
        for part in [
            "Calibrate again",
            "invented data",
            "CUSUM",
            "EWMA",
            "+3 sd",
            "decision",
            "entry of the log",
        ] {
            assert!(svg.contains(part), "{name}: {part}");
        }
    }
    let out = shown(&folder.path().join("a.png"));
    let alike = refused(&format!("batches chart {log} --out {out} --of ratio"), 1);
    assert!(alike.contains("all alike"), "{alike}");
    add(&log, "C-9", "--gauge 27 --force-read 4N");
    served(&format!("batches chart {log} --out {out} --of ratio"));
    assert!(std::fs::read(out).unwrap().starts_with(b"\x89PNG"));
}

#[test]
fn a_new_calibration_starts_the_charts_afresh() {
    let folder = tempfile::tempdir().unwrap();
    let log = drifting(&folder, 6);
    let other = shown(&folder.path().join("other.json"));
    served(&format!(
        "fit {BENCH} --blend plain --law log --out {other}"
    ));
    let added = document(&format!(
        "batches add {log} {other} --lot D-1 {AT} --gauge 27 --force-read 4.2N"
    ));
    assert_eq!(added["control"]["batches"], 1);
    assert_eq!(added["verdict"], "in line");
}

#[test]
fn a_correction_takes_the_place_of_its_entry_and_both_stay() {
    let folder = tempfile::tempdir().unwrap();
    let log = log(&folder);
    add(&log, "C-1", "--gauge 27 --force-read 40N");
    let added = add(&log, "C-1", "--gauge 27 --force-read 4N --corrects 1");
    assert_eq!(added["control"]["batches"], 1);
    assert_eq!(added["verdict"], "in line");
    let list = document(&format!("batches list {log}"));
    assert_eq!(list["entries"][0]["corrected_by"], 2);
    assert_eq!(list["entries"][1]["corrects"], 1);
    let again = refused(
        &format!(
            "batches add {log} {} --lot C-1 {AT} --bubble-held no --corrects 1",
            calibration()
        ),
        1,
    );
    assert!(again.contains("corrected already, by entry 2"), "{again}");
}

#[test]
fn check_says_where_a_log_was_altered() {
    let folder = tempfile::tempdir().unwrap();
    let log = drifting(&folder, 3);
    let whole = document(&format!("batches check {log}"));
    assert_eq!(
        (&whole["entries"], &whole["whole"]),
        (&Value::from(3), &Value::from(true))
    );
    let head = whole["head"].as_str().unwrap();
    served(&format!("batches check {log} --head {}", &head[..12]));
    let connection = rusqlite::Connection::open(&log).unwrap();
    connection
        .execute_batch(
            "DROP TRIGGER no_update; UPDATE entry SET plunger_force_N = 4.0 WHERE number = 2",
        )
        .unwrap();
    drop(connection);
    let said = refused(&format!("batches check {log}"), 1);
    assert!(said.contains("entry 2 is not what was written"), "{said}");
    assert!(said.contains("What helps:"), "{said}");
    refused(&format!("batches check {log} --json"), 1);
}

/// Rows of an exported table.
fn exported(path: &str) -> heatset::readings::BenchTable {
    read_bench(&[PathBuf::from(path)]).unwrap()
}

/// The rows and the number of lots of a blend that was fitted from tables.
fn refitted(benches: &str) -> (u64, u64) {
    let fitted = document(&format!("fit {benches} --blend plain"));
    let blend = &fitted["blends"][0];
    (
        blend["fit"]["rows"].as_u64().unwrap(),
        blend["lots"]["count"].as_u64().unwrap(),
    )
}

#[test]
fn accepted_viscosities_go_back_into_a_refit() {
    let folder = tempfile::tempdir().unwrap();
    let log = log(&folder);
    for (lot, rest) in [
        ("N-1", "--viscosity-read 0.16Pa.s"),
        ("N-1", "--viscosity-read 180mPa.s --leave-out"),
        ("N-2", "--viscosity-read 0.2Pa.s"),
        ("N-3", "--viscosity-read 3Pa.s"),
        ("N-4", "--viscosity-read 2Pa.s --accept"),
        ("N-5", "--viscosity-read 0.15Pa.s"),
        ("N-5", "--viscosity-read 0.14Pa.s --corrects 6 --leave-out"),
        ("N-6", "--bubble-held no"),
    ] {
        add(&log, lot, rest);
    }
    let more = shown(&folder.path().join("more.csv"));
    let said = line(&format!("batches export {log} --out {more}"));
    assert_eq!(said.code, 0, "{}", said.talk);
    assert!(
        said.out.contains("3 accepted readings of viscosity"),
        "{}",
        said.out
    );
    assert!(
        said.talk
            .contains("1 entry outside its interval is not in it"),
        "{}",
        said.talk
    );
    let table = exported(&more);
    assert!(table.invented);
    assert_eq!(table.reading.to_vec(), [0.16, 0.2, 2.0]);
    assert!(table.heat_time_s.iter().all(|t| *t == 420.0));
    assert!(
        table
            .heat_temp_kelvin
            .iter()
            .all(|t| (t - 359.15).abs() < 1e-9)
    );
    let lots: Vec<_> = table.rows.iter().map(|r| r.lot.clone().unwrap()).collect();
    assert_eq!(lots, ["N-1", "N-2", "N-4"]);
    assert!(
        table
            .rows
            .iter()
            .all(|r| r.blend.as_deref() == Some("plain"))
    );
    let (rows, lots) = refitted(BENCH);
    assert_eq!(refitted(&format!("{BENCH} {more}")), (rows + 3, lots + 3));
    let again = refused(&format!("batches export {log} --out {more}"), 1);
    assert!(again.contains("--replace"), "{again}");
}

/// A bench of forces by Hagen and Poiseuille's law: 8 viscosities a needle of 0.2095 mm (27G), 13 mm
/// long, at 1 mL/min from a barrel of 4.7 mm, 2 N of friction; the gel sets at a known rate.
fn force_bench(folder: &tempfile::TempDir) -> String {
    let mut text = String::from(
        "heat_temp_C,heat_time_min,force_N,needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm,flow_mL_per_min,friction_N,lot,blend\n",
    );
    let area_m2 = std::f64::consts::PI * 4.7e-3_f64.powi(2) / 4.0;
    let flow = 1e-6 / 60.0;
    let per_pa_s = 128.0 * 13e-3 * flow / (std::f64::consts::PI * 0.2095e-3_f64.powi(4));
    for (number, lot) in ["F-1", "F-2", "F-3"].iter().enumerate() {
        for celsius in [80.0, 85.0, 90.0] {
            for minutes in [2.0, 5.0, 10.0, 20.0, 40.0] {
                let rate = 1.2e-3
                    * (-(200e3 / 8.314_462_618) * (1.0 / (celsius + 273.15_f64) - 1.0 / 358.15))
                        .exp();
                let set = 1.0 - (-rate * minutes * 60.0).exp();
                let scatter =
                    0.06 * ((number * 7 + minutes as usize * 3 + celsius as usize) as f64).sin();
                let viscosity = (0.01_f64.ln()
                    + (2.0_f64 / 0.01).ln() * set
                    + scatter
                    + 0.1 * (number as f64 - 1.0))
                    .exp();
                let force = 2.0 + area_m2 * per_pa_s * viscosity;
                text.push_str(&format!(
                    "{celsius},{minutes},{force},27,regular,13,4.7,1,2,{lot},plain\n"
                ));
            }
        }
    }
    let path = folder.path().join("forces.csv");
    std::fs::write(&path, text).unwrap();
    shown(&path)
}

#[test]
fn accepted_forces_go_back_with_their_needle_into_a_bench_of_forces_or_by_convert() {
    let folder = tempfile::tempdir().unwrap();
    let bench = force_bench(&folder);
    let cal = shown(&folder.path().join("forces.json"));
    served(&format!("fit {bench} --out {cal}"));
    let log = log(&folder);
    let asked = document(&format!(
        "force {cal} --at 85C --heat-time 10min --gauge 27 --friction 2N"
    ));
    let median = number(&asked["needles"][0]["plunger_force_N"], "median");
    for (lot, push, ratio) in [("G-1", "--gauge 27", 1.02), ("G-2", "--gauge 27", 0.95)] {
        let read = format!("--force-read {:.3}N", median * ratio);
        let added = document(&format!(
            "batches add {log} {cal} --lot {lot} --at 85C --heat-time 10min {push} --friction 2N {read}"
        ));
        assert_eq!(added["added"]["accepted"], true, "{added:#}");
    }
    let added = document(&format!(
        "batches add {log} {cal} --lot G-3 --at 85C --heat-time 10min --bore 0.3mm --length 20mm --syringe 3mL --flow 2mL/min --friction 4N --force-read 9N --accept"
    ));
    assert_eq!(added["added"]["reading"], "force");
    let more = shown(&folder.path().join("more.csv"));
    served(&format!("batches export {log} --out {more}"));
    let table = exported(&more);
    let needle = table.rows[2].needle.as_ref().unwrap();
    let near = |found: Option<f64>, expected: f64| (found.unwrap() / expected - 1.0).abs() < 1e-9;
    assert!(
        near(needle.bore_m, 0.3e-3) && near(needle.length_m, 20e-3),
        "{needle:?}"
    );
    assert!(
        near(needle.flow_rate_m3_per_s, 2e-6 / 60.0) && near(needle.friction_n, 4.0),
        "{needle:?}"
    );
    assert_eq!(table.rows[0].needle.as_ref().unwrap().gauge, Some(27));
    assert_eq!(table.reading[2], 9.0);
    let (rows, lots) = refitted(&bench);
    assert_eq!(refitted(&format!("{bench} {more}")), (rows + 3, lots + 3));
    // Into a bench of viscosities by way of convert.
    let viscosities = shown(&folder.path().join("viscosities.csv"));
    let (old, new) = (shown(&folder.path().join("old.csv")), viscosities);
    served(&format!("convert {bench} --out {old}"));
    served(&format!("convert {more} --out {new}"));
    assert_eq!(refitted(&format!("{old} {new}")), (rows + 3, lots + 3));
}

#[test]
fn a_log_of_both_kinds_is_exported_one_kind_at_a_time() {
    let folder = tempfile::tempdir().unwrap();
    let log = log(&folder);
    add(&log, "C-1", "--gauge 27 --force-read 4.5N");
    add(&log, "C-2", "--viscosity-read 0.16Pa.s");
    let out = shown(&folder.path().join("more.csv"));
    let said = refused(&format!("batches export {log} --out {out}"), 1);
    assert!(said.contains("--reading force"), "{said}");
    let done = document(&format!("batches export {log} --reading force --out {out}"));
    assert_eq!(
        (&done["reading"], &done["rows"]),
        (&Value::from("force"), &Value::from(1))
    );
}
