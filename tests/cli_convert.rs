//! `heatset convert`, and `check` and `fit` on needle benches, run as a person or a script runs them.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod said;

use said::{document, heatset, number, refused, served};
use std::fs;

const BENCH: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/data/needle_bench.csv");
const FORCES: &str = "heat_temp_C,heat_time_min,force_N,needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm,flow_mL_per_min\n80,1,5,27,regular,13,4.7,1\n80,5,9,27,regular,13,4.7,1\n";

fn file(folder: &tempfile::TempDir, name: &str, text: &str) -> String {
    let path = folder.path().join(name);
    fs::write(&path, text).unwrap();
    path.display().to_string()
}

#[test]
fn every_reading_comes_with_its_rates_slope_friction_and_both_parts_of_its_sd() {
    let all = document(&format!("convert {BENCH}"));
    assert_eq!(all["reading"], "run_time");
    assert_eq!(all["invented"], true);
    let readings = all["readings"].as_array().unwrap();
    assert_eq!(readings.len(), 126);
    for one in readings {
        let viscosity = number(one, "viscosity_Pa_s");
        // tau = eta g_w, and Rabinowitsch's ratio from the slope that stands beside
        let (apparent, true_rate, slope) = (
            number(one, "apparent_shear_rate_per_s"),
            number(one, "shear_rate_per_s"),
            number(one, "local_slope"),
        );
        assert!((true_rate / apparent - (3.0 * slope + 1.0) / (4.0 * slope)).abs() < 1e-9);
        assert!((number(one, "wall_shear_stress_Pa") / true_rate / viscosity - 1.0).abs() < 1e-9);
        let (own, common) = (
            number(one, "viscosity_sd_own_Pa_s"),
            number(one, "viscosity_sd_common_Pa_s"),
        );
        assert!((number(one, "viscosity_sd_Pa_s") - own.hypot(common)).abs() < 1e-12);
        assert_eq!(one["friction_from"], "empty-runs");
        assert!(one["end_correction_radii"].is_null());
    }
    assert_eq!(all["bores"][0]["from"], "known-liquid");
    assert!(all["file"].is_null());
}

#[test]
fn the_table_that_convert_writes_is_fitted_as_the_bench_itself() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("viscosities.csv").display().to_string();
    let words = served(&format!("convert {BENCH} --out {out}"));
    assert!(words.starts_with("INVENTED DATA"), "{words}");
    assert!(words.contains("Next: heatset fit"), "{words}");
    let text = fs::read_to_string(&out).unwrap();
    assert!(text.starts_with("# invented data\n"), "{text}");
    assert!(text.contains("needle_bench.csv (SHA-256 "), "{text}");
    for column in [
        "dead_weight_g",
        "run_volume_mL",
        "measured_run_time_s",
        "viscosity_common_sd_Pa_s",
        "friction_used_N",
    ] {
        assert!(text.contains(column), "{column}");
    }
    let first = document(&format!("fit {BENCH}"));
    let second = document(&format!("fit {out}"));
    let parameters = |document: &serde_json::Value| document["blends"][0]["parameters"].clone();
    for (name, one) in parameters(&first).as_object().into_iter().flatten() {
        let other = &parameters(&second)[name];
        let value = |one: &serde_json::Value| one["value"].as_f64();
        if let (Some(one), Some(other)) = (value(one), value(other)) {
            // six digits are written
            assert!((one / other - 1.0).abs() < 1e-4, "{name}: {one} {other}");
        }
    }
    assert_eq!(second["invented"], true);

    let there = refused(&format!("convert {BENCH} --out {out}"), 1);
    assert!(there.contains("--replace"), "{there}");
    assert_eq!(fs::read_to_string(&out).unwrap(), text, "left as it was");
    served(&format!("convert {BENCH} --out {out} --replace"));
    let again = refused(&format!("convert {out}"), 1);
    assert!(again.contains("What helps: heatset fit"), "{again}");
}

#[test]
fn nothing_is_written_for_a_bench_with_faults() {
    let folder = tempfile::tempdir().unwrap();
    let bench = file(&folder, "bench.csv", &FORCES.replace("80,5,9", "80,5,1"));
    let out = folder.path().join("out.csv");
    let said = refused(&format!("convert {bench} --out {}", out.display()), 1);
    assert!(said.contains("line 3: "), "{said}");
    assert!(!out.exists());
}

#[test]
fn check_counts_pushes_without_gel_and_says_what_would_help() {
    let words = served(&format!("check {BENCH}"));
    for line in [
        "126 run time readings",
        "Pushed without gel: empty: 4, liquid of known viscosity: 4",
        "Gels: 60; at several rates: 60; through several lengths: 0",
    ] {
        assert!(words.contains(line), "{line}\n{words}");
    }
    let folder = tempfile::tempdir().unwrap();
    let bench = file(&folder, "forces.csv", FORCES);
    let found = document(&format!("check {bench}"));
    let codes: Vec<&str> = found["gaps"]
        .as_array()
        .unwrap()
        .iter()
        .map(|gap| gap["code"].as_str().unwrap())
        .collect();
    for code in [
        "no_empty_run",
        "one_rate",
        "one_length",
        "no_repeats",
        "bore_unsure",
    ] {
        assert!(codes.contains(&code), "{code}: {codes:?}");
    }
    assert!(!codes.contains(&"several_shear_rates"));
    assert_eq!(found["needle_bench"]["gels"], 2);
    assert_eq!(found["needle_bench"]["empty_runs"], 0);
    let plain = file(
        &folder,
        "plain.csv",
        "heat_temp_C,heat_time_min,viscosity_Pa_s\n80,1,2\n80,2,3\n",
    );
    assert!(document(&format!("check {plain}"))["needle_bench"].is_null());
}

#[test]
fn a_fit_says_that_what_readings_share_is_not_in_its_intervals() {
    let said = heatset(&["fit", BENCH]);
    assert_eq!(said.code, 0);
    let all = format!("{}{}", said.talk, said.out);
    assert!(all.contains("shift readings together"), "{all}");
    assert!(all.contains("4 pushes with the barrel empty"), "{all}");
}
