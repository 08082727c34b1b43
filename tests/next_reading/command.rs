//! What the command says.

use crate::benches::scattered;
use crate::said::{document, number, refused, served};
use crate::support::{exact_rows, log_setting};
use std::fmt::Write as _;
use std::path::PathBuf;

/// A bench table in a folder: one lot, or more that differ.
fn bench_table(folder: &tempfile::TempDir, lots: usize) -> PathBuf {
    let mut text = String::from("heat_temp_C,heat_time_s,viscosity_Pa_s,lot\n");
    for lot in 0..lots {
        for (kelvin, time_s, reading) in scattered(50 + lot as u64) {
            // Lots that differ: the second is firmer by a fifth, the third by two fifths.
            let _ = writeln!(
                text,
                "{},{time_s},{},L{lot}",
                kelvin - 273.15,
                reading * (1.0 + 0.2 * lot as f64)
            );
        }
    }
    let bench = folder.path().join("bench.csv");
    std::fs::write(&bench, text).unwrap();
    bench
}

/// The calibration of such a table.
fn calibration(folder: &tempfile::TempDir, lots: usize, options: &str) -> PathBuf {
    let bench = bench_table(folder, lots);
    let out = folder.path().join("cal.json");
    served(&format!(
        "fit {} --out {} {options}",
        bench.display(),
        out.display()
    ));
    out
}

#[test]
fn the_first_line_says_what_to_read_and_what_it_narrows() {
    let folder = tempfile::tempdir().unwrap();
    let cal = calibration(&folder, 1, "--law log");
    let cal = cal.display();
    let text = served(&format!("next {cal} --at 85C --gauge 29"));
    let first = text.lines().next().unwrap();
    assert!(
        first.starts_with("Next reading worth taking: ")
            && first.contains(" °C at ")
            && first.contains("(narrows the 29G answer from ±")
            && first.ends_with(")."),
        "{first}"
    );
    for needed in [
        "The answer: at 85 °C the fitted curve reaches 20 N",
        "stay as they are: with them",
        "Repeating a measured setting: ",
        "10 more readings, each the best that is left: ",
        "none on it says how far the next one differs",
        "Stands on: cal.json",
        "Assumed: ",
    ] {
        assert!(text.contains(needed), "{needed}: {text}");
    }
    let mut last = text.lines().rev();
    assert!(last.next().unwrap().ends_with("heatset cautions"));
    assert!(last.next().unwrap().starts_with("Bench and teaching aid"));

    let whole = served(&format!("next {cal}"));
    assert!(
        whole.starts_with("Next reading worth taking: ")
            && whole.contains("(narrows the parameters together by ")
            && whole.contains("Standard error of the activation energy: "),
        "{whole}"
    );
    assert!(!whole.contains("Assumed: "), "{whole}");
}

#[test]
fn the_document_is_in_si_and_says_now_and_after() {
    let folder = tempfile::tempdir().unwrap();
    let cal = calibration(&folder, 1, "--law log");
    let found = document(&format!("next {} --at 85C --gauge 29", cal.display()));
    assert_eq!(found["narrows"], "heat-time");
    assert_eq!(found["reading_unit"], "Pa.s");
    let asked = &found["asked"];
    assert!((number(asked, "heat_temp_K") - 358.15).abs() < 1e-9);
    let point = number(asked, "heat_time_s_point");
    let width = |of: &serde_json::Value, key: &str| {
        let ends = &of["heat_time_interval95"][key];
        let (low, high) = (ends[0].as_f64().unwrap(), ends[1].as_f64().unwrap());
        assert!(low < point && point < high);
        high - low
    };
    let best = &found["proposals"][0];
    for key in ["curve_s", "syringe_s"] {
        assert!(width(best, key) < width(asked, key));
    }
    assert!(width(asked, "curve_s") < width(asked, "syringe_s"));
    assert!(width(&found["several"], "curve_s") < width(best, "curve_s"));
    for key in ["heat_temp_K", "heat_time_s", "expected_reading"] {
        assert!(number(best, key) > 0.0);
    }
    assert!(best["shear_rate_per_s"].is_null());
    assert_eq!(found["parameters"].as_array().unwrap().len(), 4);
    assert!(found["another_lot"].is_null());
    assert_eq!(number(&found["assumptions"], "force_limit_N"), 20.0);
    // The point is that of `time`.
    let time = document(&format!(
        "time {} --at 85C --gauge 29 --draws 1000",
        cal.display()
    ));
    let of_time = number(&time, "heat_time_s_point");
    assert!((point / of_time - 1.0).abs() < 1e-9, "{point} {of_time}");

    let all = document(&format!("next {}", cal.display()));
    assert_eq!(all["narrows"], "parameters");
    assert!(all["asked"].is_null() && all["assumptions"].is_null());
    assert!(all["proposals"][0]["heat_time_interval95"].is_null());
}

#[test]
fn with_lots_it_says_what_another_one_would_buy() {
    let folder = tempfile::tempdir().unwrap();
    // Robust losses fit lots as one.
    let pooled = calibration(&folder, 3, "--law log --robust huber");
    let line = format!("next {} --at 85C --gauge 29", pooled.display());
    let text = served(&line);
    // From 4.303 sqrt(4/3) = 4.97 to 3.182 sqrt(5/4) = 3.56 by NIST's table of t, and with c4
    // 0.9213 / 0.8862 the mean width falls by 26 %.
    assert!(
        text.contains("with 4 lots in place of 3")
            && text.contains("26 % narrower")
            && text.contains("from 4.97 to 3.56 times the spread between lots"),
        "{text}"
    );
    assert!(
        text.contains("40 more readings (as many as a lot has)")
            && text.contains("fitted as one: "),
        "{text}"
    );
    let lots = &document(&line)["another_lot"];
    assert_eq!(lots["lots"], 3);
    assert_eq!(lots["lot_spread_known"], false);
    assert!(lots["new_lot_heat_time_s_now"].is_null());

    let folder = tempfile::tempdir().unwrap();
    let separate = calibration(&folder, 3, "--law log");
    let line = format!("next {} --at 85C --gauge 29", separate.display());
    let lots = &document(&line)["another_lot"];
    assert_eq!(lots["lot_spread_known"], true);
    let width = |key: &str| lots[key][1].as_f64().unwrap() - lots[key][0].as_f64().unwrap();
    let now = width("new_lot_heat_time_s_now");
    let lot = width("new_lot_heat_time_s_with_another_lot");
    let readings = width("new_lot_heat_time_s_with_as_many_readings");
    assert!(lot < readings && readings < now, "{now} {lot} {readings}");
    let text = served(&line);
    assert!(text.contains("For a new lot: "), "{text}");
    let first = text.lines().next().unwrap();
    assert!(
        first.contains("); another lot would do more (for a new lot from "),
        "{first}"
    );
    assert!(!text.contains("fitted as one: "), "{text}");
}

#[test]
fn the_same_question_gives_the_same_bytes_and_invented_data_say_so() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("demo.json");
    let data = concat!(env!("CARGO_MANIFEST_DIR"), "/data/demo_bench.csv");
    served(&format!("fit {data} --blend plain --out {}", out.display()));
    let line = format!("next {} --at 86C --gauge 29 --json", out.display());
    assert_eq!(served(&line), served(&line));
    let words = served(&format!("next {} --at 86C --gauge 29", out.display()));
    assert!(words.starts_with("INVENTED DATA: "), "{words}");
    // The flow index is fitted, so a proposal says at which shear rate to read.
    assert!(words.contains(", read at 100 1/s"), "{words}");
}

#[test]
fn questions_that_cannot_be_served_say_what_helps() {
    let folder = tempfile::tempdir().unwrap();
    let cal = calibration(&folder, 1, "--law log");
    let cal = cal.display();
    for (line, part) in [
        (format!("next {cal} --at 85C"), "no needle was named"),
        (format!("next {cal} --gauge 29"), "--at 86C"),
        (
            format!("next {cal} --at 95C --gauge 29"),
            "outside the measured temperatures",
        ),
        (
            format!("next {cal} --at 70C --gauge 29 --force 39N"),
            "outside the measured heat times",
        ),
        (
            format!("next {cal} --at 85C --gauge 10"),
            "There is no heat time to narrow",
        ),
        (
            format!("next {cal} --at 85C --gauge 29 --force 2N"),
            "leaves nothing for the gel",
        ),
        ("next missing.json".to_owned(), "cannot be read"),
    ] {
        let talk = refused(&line, 1);
        assert!(talk.contains(part), "{line}: {talk}");
    }
    for line in [
        format!("next {cal} --at 85 --gauge 29"),
        format!("next {cal} --force 10N"),
        format!("next {cal} --warm-up 40s"),
        "next".to_owned(),
    ] {
        refused(&line, 2);
    }
    // Asked for, an answer outside is narrowed too, and says so.
    let far = served(&format!(
        "next {cal} --at 70C --gauge 29 --force 39N --extrapolate"
    ));
    assert!(far.starts_with("EXTRAPOLATED: "), "{far}");
}

/// A fit names the reading that `next` proposes when no heat time is asked about, and its document
/// is the same as ever.
#[test]
fn a_fit_ends_with_the_reading_that_next_proposes() {
    for lots in [1, 3] {
        let folder = tempfile::tempdir().unwrap();
        let bench = bench_table(&folder, lots);
        let out = folder.path().join("cal.json");
        let fit = format!("fit {} --law log", bench.display());
        let words = served(&format!("{fit} --out {}", out.display()));
        let proposed = served(&format!("next {}", out.display()));
        let line = proposed.lines().next().unwrap();
        assert!(line.starts_with("Next reading worth taking: "), "{line}");
        let blend = words.split("\n\n").nth(2).unwrap();
        let last = blend.lines().last().unwrap();
        assert!(last.starts_with(line.trim_end_matches(").")), "{words}");
        // What lies past the measured times says so.
        let best = &document(&format!("next {}", out.display()))["proposals"][0];
        assert_eq!(
            last.contains("; longer than any heat time measured"),
            best["outside_measured_times"].as_bool().unwrap(),
            "{last}"
        );
        assert_eq!(words.matches("Next reading worth taking: ").count(), 1);
        let stated = served(&format!("{fit} --json"));
        assert!(!stated.contains("worth taking"), "{stated}");
    }
}

/// One line a blend; a blend whose readings lie on the curve has none.
#[test]
fn a_fit_of_two_blends_names_a_reading_for_each_that_scatters() {
    let folder = tempfile::tempdir().unwrap();
    let exact = exact_rows(&log_setting(3e-3, 240e3, 1.6e-3, 6.0));
    let table = |second: &[(f64, f64, f64)]| {
        let mut text = String::from("heat_temp_C,heat_time_s,viscosity_Pa_s,blend\n");
        for (blend, rows) in [("plain", &scattered(60)[..]), ("firm", second)] {
            for (kelvin, time_s, reading) in rows {
                let _ = writeln!(text, "{},{time_s},{reading},{blend}", kelvin - 273.15);
            }
        }
        let bench = folder.path().join("bench.csv");
        std::fs::write(&bench, text).unwrap();
        served(&format!("fit {} --law log", bench.display()))
    };
    let count = |text: &str| text.matches("\nNext reading worth taking: ").count();
    let both = table(&scattered(61));
    assert_eq!(count(&both), 2, "{both}");
    let one = table(&exact);
    assert_eq!(count(&one), 1, "{one}");
}
