//! Warm-up, schedules, cooling and protocols of equal setting through the written commands: keys,
//! and values that hold by reasoning or by figures from outside.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod heated;
mod said;
mod support;

use heated::{Bench, GAS_CONSTANT, TRUE_ENERGY, ZERO, codes, lag_trace, parameter, point, read};
use said::{document, number, served};
use serde_json::Value;

fn estimate(calibration: &Value, name: &str) -> f64 {
    number(&parameter(calibration, name), "estimate")
}

fn ends(answer: &Value, key: &str) -> [f64; 2] {
    [0, 1].map(|end| answer[key][end].as_f64().unwrap())
}

// ---------------------------------------------------------------- the calibration

/// With the history that they had, the readings give back the energy that they were made with;
/// read as if hot at once, they give another one.
#[test]
fn a_bench_heated_in_syringes_gives_its_activation_energy_when_the_syringe_is_declared() {
    let bench = Bench::of_syringes();
    let off = |path: &str| {
        let energy = parameter(&read(path), "activation_energy");
        (number(&energy, "estimate") - TRUE_ENERGY) / number(&energy, "std_error")
    };
    let declared = off(&bench.fitted("declared.json", "--warm-up syringe:1mL"));
    assert!(declared.abs() < 3.0, "{declared} standard errors");
    let ignored = off(&bench.fitted("ignored.json", "--warm-up none"));
    assert!(ignored.abs() > 5.0, "{ignored} standard errors");
}

#[test]
fn the_document_remembers_the_warm_up_that_was_declared() {
    let bench = Bench::of_syringes();
    let trace = bench.file("run.csv", &lag_trace(40.0, 600));
    let first = |name: &str, options: &str| read(&bench.fitted(name, options))["blends"][0].clone();

    let none = first("none.json", "");
    assert_eq!(none["warm_up"], "none");
    assert!(none["history"].is_null());

    let syringe = first(
        "syringe.json",
        "--warm-up syringe:5mL --contact 200W/m2K --air 40W/m2K --start-temp 20C --cool-time 5min --ambient 18C",
    );
    assert_eq!(syringe["warm_up"], "syringe");
    assert_eq!(number(&syringe, "start_temp_K"), 20.0 + ZERO);
    let history = &syringe["history"];
    assert_eq!(number(history, "start_temp_K"), 20.0 + ZERO);
    assert_eq!(history["source"]["kind"], "syringe");
    assert_eq!(history["source"]["name"], "5mL");
    assert_eq!(number(&history["source"], "contact_W_per_m2_K"), 200.0);
    assert_eq!(number(&history["source"], "air_W_per_m2_K"), 40.0);
    assert_eq!(number(&history["cooling"], "cool_time_s"), 300.0);
    assert_eq!(number(&history["cooling"], "ambient_temp_K"), 18.0 + ZERO);

    let traced = first("trace.json", &format!("--warm-up {trace}"));
    assert_eq!(traced["warm_up"], "trace");
    let source = &traced["history"]["source"];
    assert_eq!(source["kind"], "trace");
    assert_eq!(source["file"], "run.csv");
    assert!((number(source, "set_temp_K") - 90.0 - ZERO).abs() < 0.01);
    assert_eq!(source["points"].as_array().unwrap().len(), 301);

    let lag = first("lag.json", "--warm-up 40s");
    assert_eq!(lag["warm_up"], "lag");
}

#[test]
fn a_calibration_made_in_a_syringe_answers_for_it_when_read_again() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("syringe.json", "--warm-up syringe:1mL");
    let ask = format!("time {cal} --at 86C --gauge 27");
    let own = document(&ask);
    let stated = document(&format!("{ask} --warm-up syringe:1mL"));
    let (a, b) = (
        number(&own, "heat_time_s_point"),
        number(&stated, "heat_time_s_point"),
    );
    assert!((a - b).abs() < 1e-6, "{a} {b}");
    let assumed = &own["assumptions"];
    assert_eq!(assumed["warm_up"], "syringe");
    assert_eq!(assumed["heated_syringe"], "1mL");
    assert_eq!(number(assumed, "contact_W_per_m2_K"), 150.0);
    assert_eq!(number(assumed, "start_temp_K"), 22.0 + ZERO);
    assert_eq!(assumed["cooling_counted"], false);
    assert!(assumed["cool_time_s"].is_null() && assumed["warm_up_s"].is_null());
    // What the contact of the bench's own syringe was is in the fitted rate already.
    assert!(own["contributions"]["contact"].is_null());
    assert!(!codes(&own).contains(&"other_syringe"));

    let larger = document(&format!("{ask} --syringe 5mL"));
    assert!(codes(&larger).contains(&"other_syringe"));
    assert!(number(&larger["contributions"], "contact") > 0.0);
    assert_eq!(larger["assumptions"]["heated_syringe"], "5mL");
    let measured = document(&format!("{ask} --syringe 5mL --contact 150W/m2K"));
    assert!(measured["contributions"]["contact"].is_null());
    let width = |answer: &Value| {
        let [low, high] = ends(answer, "heat_time_s_interval95");
        high / low
    };
    assert!(
        width(&measured) < width(&larger),
        "a measured contact narrows"
    );
}

// ---------------------------------------------------------------- heat time

/// The same push, the gel warmed in wider and wider barrels.
#[test]
fn a_larger_syringe_takes_longer_and_a_better_contact_less() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let ask = format!("time {cal} --at 86C --gauge 27");
    let times: Vec<f64> = ["none", "syringe:1mL", "syringe:3mL", "syringe:5mL"]
        .iter()
        .map(|warm_up| point(&format!("{ask} --warm-up {warm_up}")))
        .collect();
    assert!(
        times.windows(2).all(|pair| pair[1] > pair[0] + 60.0),
        "{times:?}"
    );
    let with = |options: &str| point(&format!("{ask} --warm-up syringe:5mL {options}"));
    assert!(with("--contact 300W/m2K") < times[3] && times[3] < with("--contact 100W/m2K"));
    assert!(with("--start-temp 4C") > times[3]);
    // A bore named as such is the syringe of that bore, but for the wall.
    let bore = point(&format!(
        "{ask} --warm-up syringe --barrel 4.7mm --friction 2N"
    ));
    assert!((bore / times[1] - 1.0).abs() < 0.02, "{bore} {}", times[1]);
}

/// A lag costs `integral of 1 - exp[-E/R (1/T(t) - 1/T_set)] dt` of the clock, whatever the needle: the
/// Arrhenius integral, here by Simpson's rule. A trace of that lag costs the same.
#[test]
fn a_lag_and_its_trace_cost_the_arrhenius_integral() {
    let bench = Bench::of_syringes();
    let trace = bench.file("run.csv", &lag_trace(40.0, 600));
    let cal = bench.fitted("none.json", "");
    let energy = estimate(&read(&cal), "activation_energy");
    let (set, start) = (86.0 + ZERO, 22.0 + ZERO);
    let lost = |time_s: f64| {
        let kelvin = set - (set - start) * (-time_s / 40.0).exp();
        1.0 - (-energy / GAS_CONSTANT * (1.0 / kelvin - 1.0 / set)).exp()
    };
    let (steps, end_s) = (20_000, 1000.0);
    let width = end_s / f64::from(steps);
    let cost: f64 = (0..steps)
        .map(|i| {
            let from = f64::from(i) * width;
            width / 6.0 * (lost(from) + 4.0 * lost(from + 0.5 * width) + lost(from + width))
        })
        .sum();
    let ask = format!("time {cal} --at 86C --gauge 27");
    let none = point(&ask);
    let lag = point(&format!("{ask} --warm-up 40s"));
    assert!((lag - none - cost).abs() < 0.05, "{} {cost}", lag - none);
    let traced = point(&format!("{ask} --warm-up {trace}"));
    assert!((traced - lag).abs() < 1.0, "{traced} {lag}");
    let fitted = document(&format!("{ask} --warm-up lag:{trace}"));
    let found = number(&fitted["assumptions"], "warm_up_s");
    assert!((found - 40.0).abs() < 0.1, "{found}");
}

#[test]
fn warm_up_enters_force_next_and_charts_too() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let force = |warm_up: &str| {
        let answer = document(&format!(
            "force {cal} --at 86C --heat-time 20min --gauge 27 --warm-up {warm_up}"
        ));
        number(&answer["needles"][0]["plunger_force_N"], "point")
    };
    let forces = ["none", "syringe:1mL", "syringe:5mL"].map(force);
    assert!(
        forces.windows(2).all(|pair| pair[1] < pair[0]),
        "{forces:?}"
    );
    let ask = "--at 86C --gauge 27 --warm-up syringe --syringe 5mL";
    let time = document(&format!("time {cal} {ask}"));
    let next = document(&format!("next {cal} {ask}"));
    let (a, b) = (
        number(&next["asked"], "heat_time_s_point"),
        number(&time, "heat_time_s_point"),
    );
    assert!((a - b).abs() < 1e-3, "{a} {b}");
    let out = bench.path("force.svg");
    served(&format!(
        "chart force {cal} --at 86C --warm-up syringe --out {out}"
    ));
    assert!(std::fs::read_to_string(out).unwrap().contains("</svg>"));
}

/// A capped syringe that is wholly in the block is one of no ends; what stands out of it stays thin
/// and leaves the firmest part, which decides, where it was.
#[test]
fn a_syringe_that_stands_out_of_the_block_is_uneven_and_its_firmest_part_decides() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let ask = format!("time {cal} --at 86C --gauge 27 --warm-up syringe");
    let whole = number(&document(&ask), "heat_time_s_point");
    let full = document(&format!("{ask} --filled 1mL"));
    let ours = number(&full, "heat_time_s_point");
    assert!((ours / whole - 1.0).abs() < 5e-3, "{ours} {whole}");
    let out = document(&format!("{ask} --filled 1mL --stands-out 15mm"));
    let ours = number(&out, "heat_time_s_point");
    assert!((ours / whole - 1.0).abs() < 2e-2, "{ours} {whole}");
    // 1 mL in 4.7 mm is 57.6 mm long (4 V/(pi D^2)): at least 15 mm of it stay unset, and of the rest
    // some millimetres more.
    let length = 4e-6 / (std::f64::consts::PI * 4.7e-3_f64.powi(2));
    let unset = number(&out["at_aim"]["uneven"], "unset_share") * length;
    assert!((15e-3..25e-3).contains(&unset), "{unset} m");
}

// ---------------------------------------------------------------- cooling

/// In the block: 12 mm of gel and 1 mm of polypropylene from 22 into 90 °C, whose core a spectral
/// reference has at 79.148 °C after 360 s and at 68.599 after 240 s
/// (`tests/data/two_layer_cylinder.csv`); from there on one exponential is left.
#[test]
fn the_core_leaves_the_block_as_an_independent_reference_has_it() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let answer = document(&format!(
        "time {cal} --at 90C --gauge 27 --warm-up syringe --barrel 12mm"
    ));
    let time_s = number(&answer["heat_time_s"], "aim");
    assert!(time_s > 240.0, "{time_s}");
    let rate = ((90.0 - 68.598_592) / (90.0 - 79.148_267_f64)).ln() / 120.0;
    let theirs = 90.0 - (90.0 - 79.148_267) * (-rate * (time_s - 360.0)).exp();
    let ours = number(&answer, "gel_temp_K") - ZERO;
    assert!((ours - theirs).abs() < 0.05, "{time_s} s: {ours} {theirs}");
}

/// Slow air leaves barrel and gel at one temperature: `t = C/(2 pi r h) ln[(86 - 22)/(37 - 22)]`
/// (F. Incropera, D. DeWitt, Fundamentals of Heat and Mass Transfer, eq. 5.5); what gel and wall resist
/// comes on top, by a Biot number of 0.03 and a wall of 0.9 mm some per cent.
#[test]
fn slow_air_cools_as_a_lump_does() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let ask = format!("time {cal} --at 86C --gauge 27");
    let (bore, outer) = (2.35e-3_f64, 3.25e-3_f64);
    let capacity = std::f64::consts::PI
        * (bore * bore * 1025.0 * 3900.0 + (outer * outer - bore * bore) * 905.0 * 1925.0);
    let lump = capacity / (2.0 * std::f64::consts::PI * outer * 5.0) * (64.0_f64 / 15.0).ln();
    let slow = document(&format!("{ask} --air 5W/m2K"));
    let ours = number(&slow, "cool_time_s");
    assert!((1.0..1.06).contains(&(ours / lump)), "{ours} {lump}");
    assert!(
        slow["cool_time_s_range"].is_null(),
        "a stated air has no range"
    );

    let usual = document(&ask);
    let [fan, still] = ends(&usual, "cool_time_s_range");
    let middle = number(&usual, "cool_time_s");
    assert!(fan < middle && middle < still, "{fan} {middle} {still}");
    let cooler = document(&format!("{ask} --cool-until 30C"));
    assert!(number(&cooler, "cool_time_s") > middle);
    let wide = document(&format!("{ask} --syringe 5mL"));
    assert!(number(&wide, "cool_time_s") > 2.0 * middle);
    let warm = document(&format!("{ask} --ambient 40C"));
    assert!(warm["cool_time_s"].is_null() && warm["cool_time_s_range"].is_null());
    assert!(served(&format!("{ask} --ambient 40C")).contains("colder air"));
}

/// With a lag, cooling is `T_air + (T - T_air) exp(-s/tau)`.
#[test]
fn cooling_that_counts_shortens_the_heat_time_and_cools_the_gel() {
    let bench = Bench::of_syringes();
    let cal = bench.fitted("none.json", "");
    let ask = format!("time {cal} --at 86C --gauge 27");
    let hot = document(&format!("{ask} --warm-up 40s"));
    let cooled = document(&format!("{ask} --warm-up 40s --cool-time 2min"));
    assert!(number(&cooled, "heat_time_s_point") < number(&hot, "heat_time_s_point"));
    assert_eq!(cooled["assumptions"]["cooling_counted"], true);
    assert_eq!(number(&cooled["assumptions"], "cool_time_s"), 120.0);
    assert_eq!(number(&cooled["assumptions"], "warm_up_s"), 40.0);
    let theirs = 22.0 + 64.0 * (-3.0_f64).exp();
    let ours = number(&cooled, "gel_temp_K") - ZERO;
    assert!((ours - theirs).abs() < 0.05, "{ours} {theirs}");
    let syringe = |options: &str| point(&format!("{ask} --warm-up syringe {options}"));
    let (none, still, fan) = (
        syringe(""),
        syringe("--cool-time 10min --air 12W/m2K"),
        syringe("--cool-time 10min --air 85W/m2K"),
    );
    assert!(still < fan && fan < none, "{still} {fan} {none}");
}
