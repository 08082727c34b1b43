//! The command flow-curve, and flow with a measured curve, run as a person or a script runs
//! them.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod said;

use std::path::{Path, PathBuf};

use approx::{assert_abs_diff_eq, assert_relative_eq};
use heatset::face::cautions;
use said::{document, line, number, refused, served};
use serde_json::Value;

fn data(name: &str) -> String {
    format!("{}/tests/data/{name}", env!("CARGO_MANIFEST_DIR"))
}

fn write(folder: &Path, name: &str, text: &str) -> PathBuf {
    let path = folder.join(name);
    std::fs::write(&path, text).unwrap();
    path
}

fn estimate(sample: &Value, name: &str) -> f64 {
    sample["parameters"]
        .as_array()
        .unwrap()
        .iter()
        .find(|parameter| parameter["name"] == name)
        .unwrap()["estimate"]
        .as_f64()
        .unwrap()
}

/// Carbomer gel at 20 C (PyPI rheopy-rheodata 0.1.1, MIT licence); Herschel-Bulkley on relative
/// residuals by scipy: 8.071 Pa, 102.8 Pa.s^n, 0.5229.
#[test]
fn the_document_of_a_gel_holds_its_law_and_the_option_that_uses_it() {
    let command = format!("flow-curve {} --sample T_20", data("flow_carbomer.csv"));
    let answer = document(&command);
    assert_eq!(answer["schema"], "heatset/flow-curve/1");
    let sample = &answer["samples"][0];
    assert_eq!(sample["model"], "herschel-bulkley");
    assert_eq!(sample["error"], "relative");
    assert_abs_diff_eq!(estimate(sample, "yield_stress"), 8.071, epsilon = 0.0005);
    assert_abs_diff_eq!(estimate(sample, "consistency"), 102.8, epsilon = 0.05);
    assert_abs_diff_eq!(estimate(sample, "flow_index"), 0.5229, epsilon = 0.00005);
    assert_eq!(sample["fit"]["rows"], 51);
    assert_eq!(sample["fit"]["degrees_of_freedom"], 48);
    assert_eq!(sample["candidates"].as_array().unwrap().len(), 5);
    // the option is taken by flow as it stands
    let option = sample["flow_option"].as_str().unwrap();
    let push = document(&format!("flow {option} --gauge 27"));
    assert_abs_diff_eq!(
        number(&push["flow_curve"], "tau_y_Pa"),
        8.071,
        epsilon = 0.0005
    );
    let text = served(&command);
    assert!(
        text.starts_with("T_20: it holds still up to 8.07 Pa"),
        "{text}"
    );
    assert!(
        text.contains("Use it: heatset flow --herschel-bulkley tau_y=8.071Pa"),
        "{text}"
    );
    assert!(text.contains("beyond them the law is a guess"), "{text}");
    assert!(text.trim_end().ends_with(cautions::SHORT), "{text}");
}

#[test]
fn every_sample_of_a_file_is_fitted_and_the_document_is_written_whole() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("laws.json");
    let command = format!(
        "flow-curve {} --model herschel-bulkley --out {}",
        data("flow_protein_emulsion.csv"),
        out.display()
    );
    let answer = document(&command);
    let written: Value = serde_json::from_str(&std::fs::read_to_string(&out).unwrap()).unwrap();
    assert_eq!(answer, written);
    assert_eq!(answer["samples"].as_array().unwrap().len(), 7);
    // Dinkgreve et al. 2015, figure 2; scipy on relative residuals: phi 0.72 has 6.169 Pa
    let sample = answer["samples"]
        .as_array()
        .unwrap()
        .iter()
        .find(|sample| sample["sample"] == "phi_0.72")
        .unwrap();
    assert_abs_diff_eq!(estimate(sample, "yield_stress"), 6.169, epsilon = 0.0005);
    let again = line(&command);
    assert_eq!(again.code, 1, "an existing file is left as it is");
    assert!(again.talk.contains("--replace"), "{}", again.talk);
}

/// A power law of 3 Pa.s^0.5 as a table: R. P. Chhabra, J. F. Richardson, Example 3.1 (from
/// memory): 110 kPa; 526.4 1/s at the wall, inside the table and then outside it.
#[test]
fn a_measured_curve_flows_like_the_textbooks_law_and_says_where_it_is_extrapolated() {
    let folder = tempfile::tempdir().unwrap();
    let row = |rate: f64| format!("{rate},{}\n", 3.0 * rate.sqrt());
    let header = "# a textbook's law\nshear_rate_per_s,shear_stress_Pa\n".to_owned();
    let wide = [1.0, 10.0, 100.0, 1000.0].map(row).concat();
    let narrow = [1.0, 10.0].map(row).concat();
    let wide = write(folder.path(), "wide.csv", &(header.clone() + &wide));
    let narrow = write(folder.path(), "narrow.csv", &(header + &narrow));
    let pipe = format!(
        "--bore 25mm --length 10m --flow {}m3/s --density 1075kg/m3",
        2500.0 / 3600.0 / 1075.0
    );
    for (file, outside) in [(&wide, false), (&narrow, true)] {
        let command = format!("flow --curve {} {pipe}", file.display());
        let answer = document(&command);
        assert_relative_eq!(number(&answer, "pressure_Pa"), 110e3, epsilon = 0.5e3);
        assert_relative_eq!(
            number(&answer, "wall_shear_rate_per_s"),
            526.4,
            epsilon = 0.05
        );
        assert_eq!(answer["flow_curve"]["curve"], "measured");
        assert!(answer["yield_force_N"].is_null());
        let codes: Vec<&str> = answer["warnings"]
            .as_array()
            .unwrap()
            .iter()
            .map(|warning| warning["code"].as_str().unwrap())
            .collect();
        assert_eq!(codes.contains(&"curve_extrapolated"), outside, "{codes:?}");
        let said = line(&command);
        let first = said.out.lines().next().unwrap();
        assert_eq!(first.contains("EXTRAPOLATED"), outside, "{first}");
        if outside {
            let times = &answer["outside_curve"]["times_outside"];
            assert_relative_eq!(times.as_f64().unwrap(), 52.64, epsilon = 0.01);
            assert!(
                said.talk.contains("53 times above the highest"),
                "{}",
                said.talk
            );
        } else {
            assert!(answer["outside_curve"].is_null());
        }
    }
}

/// J. F. Steffe, R. P. Singh 1997, cases 1, 3, 5 (from memory): 34.8 mm, 1250 kg/m3. Critical
/// numbers: 2100 Newtonian; Ryan & Johnson at n = 0.45 (2400 at most); Hanks for Bingham.
#[test]
fn flow_tells_the_critical_number_of_the_curve() {
    let pipe = "--bore 34.8mm --length 1m --flow 0.00158m3/s --density 1250kg/m3";
    let newtonian = document(&format!("flow --newtonian 0.34Pa.s {pipe}"));
    assert_eq!(number(&newtonian, "critical_reynolds"), 2100.0);
    let power = document(&format!("flow --power K=5.2Pa.s^n,n=0.45 {pipe}"));
    let by_hand = 6464.0 * 0.45 * 2.45_f64.powf(2.45 / 1.45) / (3.0 * 0.45_f64 + 1.0).powi(2);
    assert_relative_eq!(
        number(&power, "critical_reynolds"),
        by_hand,
        max_relative = 1e-9
    );
    // He 654.8: f/(1-f)^3 = He/16 800 at f = 0.0350; Re_c 2229 with the plastic viscosity, times
    // 1 - 4/3 f for the Metzner-Reed number
    let bingham = document(&format!("flow --bingham tau_y=50Pa,mu=0.34Pa.s {pipe}"));
    assert_relative_eq!(
        number(&bingham, "critical_reynolds"),
        2229.0 * (1.0 - 4.0 / 3.0 * 0.0350),
        max_relative = 3e-3
    );
}

#[test]
fn flow_tells_what_holds_the_plunger_and_what_the_ends_take_by_name() {
    // (2 L tau_y/R) A + F_f by hand: 2 x 13e-3 x 50/0.1e-3 = 13 kPa on 17.35 mm2 and 2 N
    let push = "flow --bingham tau_y=50Pa,mu=0.01Pa.s --bore 0.2mm --length 13mm";
    let answer = document(push);
    let force_n = 13e3 * std::f64::consts::PI * 4.7e-3 * 4.7e-3 / 4.0 + 2.0;
    assert_relative_eq!(
        number(&answer, "yield_force_N"),
        force_n,
        max_relative = 1e-9
    );
    assert_relative_eq!(
        number(&answer, "yield_force_share_of_push"),
        force_n / number(&answer, "plunger_force_N"),
        max_relative = 1e-9
    );
    assert!(served(push).contains("Nothing flows below about 2.2 N"));
    let hub = format!("{push} --hub-bore 0.6mm --hub-length 8mm");
    let (told, counted) = (document(&hub), document(&format!("{hub} --end-losses")));
    let losses = &told["end_losses_Pa"];
    let sum: f64 = ["creeping", "kinetic", "hub"]
        .map(|name| number(losses, name))
        .iter()
        .sum();
    assert_relative_eq!(number(&told, "end_loss_Pa"), sum, max_relative = 1e-12);
    assert!(number(losses, "hub") > 0.0);
    assert_eq!(
        number(&told, "plunger_force_N"),
        number(&answer, "plunger_force_N")
    );
    assert!(number(&counted, "plunger_force_N") > number(&told, "plunger_force_N"));
    assert_eq!(number(&answer["end_losses_Pa"], "hub"), 0.0);
    assert!(served(&hub).contains("Hub, entrance and exit of the needle"));
    // a Newtonian liquid has no such force
    let thin = document("flow --newtonian 75mPa.s --gauge 29");
    assert!(thin["yield_force_N"].is_null());
}

#[test]
fn broken_tables_are_told_by_line_and_column_with_a_remedy() {
    let folder = tempfile::tempdir().unwrap();
    let header = "shear_rate_per_s,shear_stress_Pa\n";
    for (text, both, says) in [
        (
            "shear_rate_per_s,viscosity\n1,2\n2,3\n",
            true,
            "is viscosity meant? write shear_stress_Pa, or viscosity_Pa_s",
        ),
        (
            "rate,stress_Pa\n1,2\n2,3\n",
            true,
            "line 1: no column holds the shear rate (is rate meant?",
        ),
        (
            &format!("{header}-1,2\n2,3\n"),
            true,
            "line 2, column shear_rate_per_s: -1 is negative",
        ),
        (
            &format!("{header}1,0\n2,3\n"),
            true,
            "line 2, column shear_stress_Pa: 0 is zero",
        ),
        (
            &format!("{header}1,2\nfast,3\n"),
            true,
            "line 3, column shear_rate_per_s: \"fast\" is not a number",
        ),
        (
            &format!("{header}1,2\n2,nan\n"),
            true,
            "line 3, column shear_stress_Pa: \"nan\" is not",
        ),
        (
            &format!("{header}1,2\n2,\n"),
            true,
            "line 3, column shear_stress_Pa: the value is missing",
        ),
        (&format!("{header}1,5,2,5\n"), true, "decimal commas"),
        (header, true, "a header and no rows"),
        ("", true, "the table is empty"),
        (
            "shear_rate_per_s,shear_rate_per_s,stress_Pa\n1,1,2\n",
            true,
            "the header names it twice",
        ),
        (
            &format!("{header}1,2\n2,1.5\n"),
            false,
            "line 3, column shear_stress_Pa: the stress does not rise",
        ),
        (
            &format!("{header}2,2\n1,3\n"),
            false,
            "line 3, column shear_rate_per_s: a lower shear rate than on line 2",
        ),
        (&format!("{header}1,2\n"), false, "one row is no flow curve"),
    ] {
        let file = write(folder.path(), "broken.csv", text);
        let file = file.display();
        let flow = refused(&format!("flow --curve {file} --gauge 27"), 1);
        assert!(flow.contains(says), "{text}\nshould say {says}:\n{flow}");
        if both {
            let fit = refused(&format!("flow-curve {file} --json"), 1);
            assert!(fit.contains(says), "{text}\nshould say {says}:\n{fit}");
        }
    }
    let file = write(folder.path(), "one.csv", &format!("{header}1,2\n"));
    let one = refused(&format!("flow-curve {}", file.display()), 1);
    assert!(
        one.contains("Too few readings") && one.contains("What helps:"),
        "{one}"
    );
    let nowhere = refused("flow --curve nowhere.csv --gauge 27", 1);
    assert!(
        nowhere.contains("nowhere.csv cannot be opened"),
        "{nowhere}"
    );
    let many = refused(
        &format!("flow --curve {} --gauge 27", data("flow_carbomer.csv")),
        1,
    );
    assert!(
        many.contains("--sample with one of T_20, T_30, T_40"),
        "{many}"
    );
    let which = refused(
        &format!("flow-curve {} --sample T_99", data("flow_carbomer.csv")),
        1,
    );
    assert!(
        which.contains("--sample with one of T_20, T_30, T_40"),
        "{which}"
    );
    for (options, says) in [
        ("--model jelly", "no law here"),
        ("--error none", "relative, log or absolute"),
    ] {
        let message = refused(
            &format!("flow-curve {} {options}", data("flow_carbomer.csv")),
            2,
        );
        assert!(message.contains(says), "{message}");
    }
}

#[test]
fn a_law_that_does_not_describe_the_readings_is_said_to_be_one() {
    let command = format!(
        "flow-curve {} --model bingham",
        data("flow_linear_polymer.csv")
    );
    let said = line(&command);
    assert_eq!(said.code, 0);
    assert!(
        said.talk.contains("does not describe this gel"),
        "{}",
        said.talk
    );
}
