//! What single changes do to a push: each against the law that says so, and the chart of them.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used)]

mod support;

use approx::assert_relative_eq;
use assert_cmd::Command;
use heatset::fit::Calibration;
use heatset::plan::{
    Change, Consequence, Consequences, CoolingAsked, ForceQuestion, NeedleUsed, PushSetup,
    StatedHeating, StatedThinning, consequences, force_for_heat_time,
};
use heatset::reference::{BoreBasis, Wall, find_needle, find_syringe};
use serde_json::Value;
use std::path::Path;
use support::{exact_calibration, log_setting};

const ENERGY: f64 = 250e3;
const GAS_CONSTANT: f64 = 8.314_462_618;

fn calibration() -> Calibration {
    exact_calibration(&log_setting(4e-3, ENERGY, 1.6e-3, 5.0))
}

fn today() -> ForceQuestion {
    let needle = NeedleUsed::of_gauge(27, Wall::Regular, BoreBasis::Nominal, 13e-3).unwrap();
    ForceQuestion {
        set_kelvin: 353.15,
        heat_time_s: 1500.0,
        setup: PushSetup::with_needle(needle).unwrap(),
        needles: Vec::new(),
        thinning: StatedThinning::default(),
        warm_up: None,
        contact_histories: Vec::new(),
        cooling: CoolingAsked::default(),
        altitude_m: 0.0,
        extrapolate: false,
        draws: 1000,
        seed: 1,
        invented: false,
    }
}

fn of(found: &Consequences, change: Change) -> &Consequence {
    found.changes.iter().find(|c| c.change == change).unwrap()
}

fn point(found: &Consequences, change: Change) -> f64 {
    of(found, change).plunger_force_n.unwrap().point
}

/// A gel that does not thin, pushed in laminar flow: less friction the force goes with flow rate and
/// barrel area and with the inverse fourth power of the bore (Hagen-Poiseuille: R. Bird, W. Stewart, E.
/// Lightfoot, Transport Phenomena, 2nd ed. 2007, eq. 2.3-21).
#[test]
fn speed_needle_and_syringe_follow_hagen_and_poiseuille() {
    let calibration = calibration();
    let today = today();
    let found = consequences(&calibration.blends[0], &today, &StatedHeating::default()).unwrap();
    let friction = today.setup.friction_n;
    let pushed = found.today_n.point - friction;
    assert!(pushed > 1.0);
    assert_relative_eq!(
        point(&found, Change::HalfSpeed) - friction,
        0.5 * pushed,
        max_relative = 1e-9
    );
    let bore = |gauge| {
        find_needle(gauge, Wall::Regular, BoreBasis::Nominal)
            .unwrap()
            .bore_m
    };
    let finer = of(&found, Change::GaugeFiner);
    assert_eq!(finer.to, "28G x 13 mm");
    assert_relative_eq!(
        point(&found, Change::GaugeFiner) - friction,
        pushed * (bore(27) / bore(28)).powi(4),
        max_relative = 1e-9
    );
    let next = of(&found, Change::NextSyringe);
    let (own, larger) = (find_syringe("1mL").unwrap(), find_syringe("3mL").unwrap());
    assert_eq!(next.to, "3 mL syringe");
    let (friction_there, _) = heatset::plan::BarrelUsed::of_syringe("3mL")
        .unwrap()
        .default_friction_n()
        .unwrap();
    assert_relative_eq!(
        point(&found, Change::NextSyringe) - friction_there,
        pushed * (larger.bore_m / own.bore_m).powi(2),
        max_relative = 1e-9
    );
    assert!(
        next.note
            .as_ref()
            .unwrap()
            .contains("slower warm-up not counted")
    );
}

/// Hotter is the same as longer (Arrhenius): t at T + 5 K sets as far as t exp[(E/R)(1/T - 1/(T + 5))]
/// at T (S. Arrhenius, Z. Phys. Chem. 4 (1889) 226).
#[test]
fn five_degrees_are_as_good_as_a_longer_time() {
    let calibration = calibration();
    let blend = &calibration.blends[0];
    let today = today();
    let found = consequences(blend, &today, &StatedHeating::default()).unwrap();
    for (change, degrees) in [
        (Change::FiveDegreesMore, 5.0),
        (Change::FiveDegreesLess, -5.0),
    ] {
        let t = today.set_kelvin;
        let factor = ((ENERGY / GAS_CONSTANT) * (1.0 / t - 1.0 / (t + degrees))).exp();
        let as_long = ForceQuestion {
            heat_time_s: factor * today.heat_time_s,
            ..today.clone()
        };
        let expected = force_for_heat_time(blend, &as_long).unwrap();
        assert_relative_eq!(
            point(&found, change),
            expected.needles[0].plunger_force_n.point,
            max_relative = 1e-4
        );
    }
    assert!(point(&found, Change::MinuteMore) > found.today_n.point);
    let ratio = of(&found, Change::MinuteMore).ratio_to_today.unwrap();
    assert!(ratio > 1.0);
}

#[test]
fn what_the_calibration_cannot_say_is_said_so() {
    let calibration = calibration();
    let blend = &calibration.blends[0];
    let found = consequences(blend, &today(), &StatedHeating::default()).unwrap();
    let half = of(&found, Change::HalfInserted);
    assert!(half.plunger_force_n.is_none());
    assert!(
        half.note
            .as_ref()
            .unwrap()
            .contains("no warm-up by conduction")
    );
    // The hottest measured: five more lie outside, and are shown only where that is asked for.
    let hottest = ForceQuestion {
        set_kelvin: 363.15,
        heat_time_s: 120.0,
        ..today()
    };
    let found = consequences(blend, &hottest, &StatedHeating::default()).unwrap();
    let more = of(&found, Change::FiveDegreesMore);
    assert!(more.plunger_force_n.is_none() && !found.extrapolated);
    assert!(
        more.note
            .as_ref()
            .unwrap()
            .contains("outside what was measured")
    );
    let asked = ForceQuestion {
        extrapolate: true,
        ..hottest
    };
    let found = consequences(blend, &asked, &StatedHeating::default()).unwrap();
    assert!(of(&found, Change::FiveDegreesMore).extrapolated && found.extrapolated);
    // At boiling nothing is shown, asked for or not.
    let near_boiling = ForceQuestion {
        set_kelvin: 369.15,
        ..asked
    };
    let found = consequences(blend, &near_boiling, &StatedHeating::default()).unwrap();
    let more = of(&found, Change::FiveDegreesMore);
    assert!(more.plunger_force_n.is_none());
    assert!(more.note.as_ref().unwrap().contains("boiling"));
}

fn heatset(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_heatset"))
        .current_dir(folder)
        .args(arguments)
        .output()
        .unwrap();
    (
        output.status.code().unwrap(),
        String::from_utf8(output.stdout).unwrap(),
        String::from_utf8(output.stderr).unwrap(),
    )
}

fn demo_calibration(folder: &Path) {
    let bench = Path::new(env!("CARGO_MANIFEST_DIR")).join("data/demo_bench.csv");
    let bench = bench.to_str().unwrap();
    let fit = ["fit", bench, "--blend", "plain", "--out", "demo.json"];
    assert_eq!(heatset(folder, &fit).0, 0);
}

#[test]
fn the_chart_its_words_and_its_document_say_the_same() {
    let folder = tempfile::tempdir().unwrap();
    demo_calibration(folder.path());
    let asked = [
        "chart",
        "consequences",
        "demo.json",
        "--at",
        "85C",
        "--heat-time",
        "6min",
        "--gauge",
        "27",
        "--warm-up",
        "syringe",
        "--draws",
        "1000",
        "--out",
    ];
    let with = |more: &[&'static str]| {
        let mut all: Vec<&str> = asked.to_vec();
        all.extend(more);
        heatset(folder.path(), &all)
    };
    let (status, words, talk) = with(&["c.svg"]);
    assert_eq!(status, 0, "{words}{talk}");
    assert!(words.starts_with("INVENTED DATA"));
    assert!(words.contains("changes the push most: from "), "{words}");
    assert!(words.contains("not a medical device"));
    let picture = std::fs::read_to_string(folder.path().join("c.svg")).unwrap();
    for part in [
        "invented data",
        "half in the block",
        "one gauge finer",
        "limit 20 N",
        "easy",
    ] {
        assert!(picture.contains(part), "{part}");
    }
    let (status, text, _) = with(&["c.png", "--json"]);
    assert_eq!(status, 0);
    let found: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(found["invented"], true);
    let changes = found["changes"].as_array().unwrap();
    assert_eq!(changes.len(), 7);
    let today = found["plunger_force_N"]["median"].as_f64().unwrap();
    for change in changes {
        let force = &change["plunger_force_N"];
        if force.is_null() {
            assert!(change["note"].is_string(), "{change}");
            continue;
        }
        let median = force["median"].as_f64().unwrap();
        let ends = [0, 1].map(|i| force["interval95"][i].as_f64().unwrap());
        assert!(ends[0] < median && median < ends[1], "{change}");
        let ratio = change["ratio_to_today"].as_f64().unwrap();
        assert_relative_eq!(ratio, median / today, max_relative = 1e-12);
    }
    let half = changes
        .iter()
        .find(|c| c["change"] == "half-inserted")
        .unwrap();
    let unset = half["unset_share"].as_f64().unwrap();
    assert!((0.2..0.8).contains(&unset), "about half stands out: {half}");
    assert_eq!(
        std::fs::read(folder.path().join("c.png")).unwrap()[1..4],
        *b"PNG"
    );
    let (status, _, talk) = heatset(
        folder.path(),
        &[
            "chart",
            "consequences",
            "demo.json",
            "--gauge",
            "27",
            "--out",
            "d.svg",
        ],
    );
    assert_eq!(status, 1);
    assert!(talk.contains("--heat-time"), "{talk}");
}
