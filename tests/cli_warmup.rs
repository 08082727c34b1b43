//! The commands warmup and blockcheck, run as a person or a script runs them: exit status, words,
//! JSON keys, and figures against closed forms and independent references.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod said;
mod series;

use std::fmt::Write as _;
use std::path::Path;

use heatset::face::cautions;
use heatset::thermal::BlockCheckDocument;
use said::{document, line, number, refused, served};
use serde_json::Value;

const ZERO: f64 = 273.15;
const GAS_CONSTANT: f64 = 8.314_462_618;

fn numbers(document: &Value, key: &str) -> Vec<f64> {
    document[key]
        .as_array()
        .unwrap_or_else(|| panic!("no list {key}"))
        .iter()
        .map(|value| value.as_f64().unwrap())
        .collect()
}

/// The value of a list at a time.
fn at(document: &Value, key: &str, time_s: f64) -> f64 {
    let place = numbers(document, "time_s")
        .iter()
        .position(|time| (time - time_s).abs() < 1e-6)
        .unwrap_or_else(|| panic!("no time {time_s}"));
    numbers(document, key)[place]
}

fn written(folder: &Path, name: &str, text: &str) -> String {
    let file = folder.join(name);
    std::fs::write(&file, text).unwrap();
    file.display().to_string()
}

// ---------------------------------------------------------------- figures

/// Bores of 4.7 and 12 mm, walls of 0.9 and 1 mm of polypropylene, from 22 into a block at 90 °C: after a
/// minute the cores stand at 62 and 31 °C, after six at 90 and 79 °C
/// (`tests/data/two_layer_cylinder.csv`, by a spectral method in `tests/references/two_layer.py`).
#[test]
fn the_cores_of_two_syringes_stand_where_an_independent_reference_has_them() {
    let reference = include_str!("data/two_layer_cylinder.csv");
    for (case, bore, wall, rounded) in [
        ("1 mL polypropylene", "4.7mm", "0.9mm", [62.0, 90.0]),
        ("5 mL polypropylene", "12mm", "1mm", [31.0, 79.0]),
    ] {
        let answer = document(&format!(
            "warmup --at 90C --heat-time 6min --start-temp 22C --barrel {bore} --wall-thickness {wall} \
             --wall-conductivity 0.17W/mK --contact 150W/m2K --conductivity 0.58W/mK \
             --density 1025kg/m3 --specific-heat 3900J/kgK"
        ));
        for (time_s, whole) in [60.0, 360.0].into_iter().zip(rounded) {
            let row: Vec<&str> = reference
                .lines()
                .map(|line| line.split(',').collect::<Vec<_>>())
                .find(|cells| cells[0] == case && cells[18].parse() == Ok(time_s))
                .unwrap();
            for (key, column) in [
                ("core_temp_K", 19),
                ("edge_temp_K", 20),
                ("mean_temp_K", 21),
            ] {
                let ours = at(&answer, key, time_s) - ZERO;
                let theirs: f64 = row[column].parse().unwrap();
                assert!(
                    (ours - theirs).abs() < 0.05,
                    "{case} {key} {time_s} s: {ours} {theirs}"
                );
            }
            let core = at(&answer, "core_temp_K", time_s) - ZERO;
            assert!((core - whole).abs() < 0.5, "{case}, {time_s} s: {core}");
        }
    }
}

/// A lag of 120 s from 25 to 70 °C at 390 kJ/mol leaves 484.70 s of 900 s (SciPy quadrature of the
/// Arrhenius integral; in general a lag of tau costs tau Ein(x), x = E dT/(R T^2)). The gel conducts so
/// well that it has one temperature; `rho cp R/(2 h) = 120 s`.
#[test]
fn a_lag_costs_what_the_closed_form_says() {
    let contact = 1025.0 * 3900.0 * 2.35e-3 / (2.0 * 120.0);
    let command = format!(
        "warmup --at 70C --heat-time 15min --start-temp 25C --barrel 4.7mm --wall-thickness 0mm \
         --conductivity 2000W/mK --contact {contact}W/m2K --activation-energy 390kJ/mol"
    );
    let answer = document(&command);
    let dose = &answer["heat_dose_s"];
    for place in ["core", "edge", "mean"] {
        assert!(
            (number(dose, place) - 484.70).abs() < 0.5,
            "{place}: {dose}"
        );
    }
    assert!((number(&answer, "lag_s") - (900.0 - 484.70)).abs() < 0.5);
    // At another reference temperature the dose is scaled by the ratio of the rates, the lag is not.
    let cooler = document(&format!("{command} --reference-temp 65C"));
    let ratio = (390e3 / GAS_CONSTANT * (1.0 / (65.0 + ZERO) - 1.0 / (70.0 + ZERO))).exp();
    let scaled = number(&cooler["heat_dose_s"], "mean") / number(dose, "mean");
    assert!((scaled / ratio - 1.0).abs() < 1e-9, "{scaled} {ratio}");
    assert!((number(&cooler, "lag_s") - number(&answer, "lag_s")).abs() < 1e-6);
}

#[test]
fn without_an_activation_energy_dose_and_lag_are_null() {
    let answer = document("warmup --at 86C --heat-time 7min");
    assert!(answer["heat_dose_s"].is_null() && answer["lag_s"].is_null());
    assert!(answer["activation_energy_J_per_mol"].is_null());
    assert_eq!(answer["warm_up_by"], "mean_temperature");
    assert!(number(&answer, "warm_up_s") > 10.0);
}

#[test]
fn the_document_has_the_agreed_keys_and_its_times_are_fine_enough() {
    let answer = document(
        "warmup --at 86C --heat-time 7min --cool-time 6min --ambient 22C --syringe glass:1mL-long \
         --air 30W/m2K --stands-out 0mm --activation-energy 300kJ/mol --air-gap 0.1mL",
    );
    for key in [
        "time_s",
        "core_temp_K",
        "edge_temp_K",
        "mean_temp_K",
        "heat_dose_s",
        "lag_s",
        "warm_up_s",
        "warm_up_by",
        "unevenness_K",
        "cool_time_s",
        "cool_time_range_s",
        "closed_pressure",
        "what_matters",
        "assumptions",
        "warnings",
        "schedule",
        "gel_temp_K",
    ] {
        assert!(answer.get(key).is_some(), "{key} is missing");
    }
    let times = numbers(&answer, "time_s");
    assert_eq!(times[0], 0.0);
    assert_eq!(times.last(), Some(&780.0));
    assert!(times.windows(2).all(|pair| pair[1] - pair[0] <= 1.0 + 1e-9));
    for key in ["core_temp_K", "edge_temp_K", "mean_temp_K"] {
        let values = numbers(&answer, key);
        assert_eq!(values.len(), times.len());
        assert!((values[0] - 295.15).abs() < 1e-9, "{key} starts at 22 °C");
    }
    for place in ["core", "edge", "mean"] {
        assert!(number(&answer["heat_dose_s"], place) > 0.0);
    }
    assert_eq!(answer["assumptions"]["syringe"], "glass:1mL-long");
    assert!(number(&answer["closed_pressure"], "gauge_Pa") > 0.0);
}

/// The table of syringes gives 4.7 mm and 0.9 mm for 1 mL.
#[test]
fn a_syringe_by_name_is_its_barrel_by_numbers() {
    let by_name = document("warmup --at 86C --heat-time 2min --syringe 1mL");
    let by_number =
        document("warmup --at 86C --heat-time 2min --barrel 4.7mm --wall-thickness 0.9mm");
    assert_eq!(by_name["core_temp_K"], by_number["core_temp_K"]);
}

/// A bare cylinder of 12 mm, Bi = 0.3: zeta1 0.746461, C1 1.071162 (Incropera & DeWitt, table 5.1).
#[test]
fn cooling_and_resting_take_the_time_of_the_one_term_series() {
    let a_second = 0.58 / (1025.0 * 3900.0) / 6e-3_f64.powi(2);
    let time_s = |share: f64| (1.071_162 / share).ln() / 0.746_461_f64.powi(2) / a_second;
    let bare = "--barrel 12mm --wall-thickness 0mm --air 29W/m2K --ambient 22C";
    let hot = document(&format!(
        "warmup --at 80C --heat-time 1h --cool-until 40C {bare}"
    ));
    let theirs = time_s(18.0 / 58.0);
    assert!(
        (number(&hot, "cool_time_s") / theirs - 1.0).abs() < 4e-3,
        "{theirs}"
    );
    assert!(hot["cool_time_range_s"].is_null(), "the air was stated");

    let cold = document(&format!("warmup --rest-from 4C --until 20C {bare}"));
    let theirs = time_s(2.0 / 18.0);
    assert!(
        (number(&cold, "rest_time_s") / theirs - 1.0).abs() < 4e-3,
        "{theirs}"
    );

    let never = document(
        "warmup --at 80C --heat-time 5min --ambient 40C --barrel 12mm --wall-thickness 0mm",
    );
    assert!(never["cool_time_s"].is_null());
    assert!(
        served("warmup --rest-from 4C --until 20C --ambient 18C").contains("never comes to 20 °C")
    );
}

/// Air and vapour by hand: (101.325 - 2.645) kPa 359.15/295.15 over a gap that the gel's own expansion
/// narrows, and 60.17 kPa of vapour (steam tables, from memory): more than the 78.9 kPa over the outside
/// of air alone.
#[test]
fn a_closed_syringe_builds_the_pressure_of_air_and_vapour() {
    let answer = document("warmup --at 86C --heat-time 7min --syringe 1mL --air-gap 0.5mL");
    let pressure = &answer["closed_pressure"];
    let gauge = number(pressure, "gauge_Pa");
    assert!(gauge > 78.9e3 && gauge < 95e3, "{gauge}");
    let parts = &pressure["parts"];
    let sum = ["air_heated_Pa", "air_compressed_Pa", "vapour_Pa"]
        .map(|part| number(parts, part))
        .iter()
        .sum::<f64>();
    assert!((sum / gauge - 1.0).abs() < 1e-9);
    let said = served("warmup --at 86C --heat-time 7min --syringe 1mL --air-gap 0.5mL");
    assert!(
        said.contains("on the stopper") && said.contains("Expel the air"),
        "{said}"
    );
    assert!(document("warmup --at 86C --heat-time 7min")["closed_pressure"].is_null());
}

// ---------------------------------------------------------------- schedules

#[test]
fn a_schedule_file_is_the_same_as_its_stages_on_the_command_line() {
    let folder = tempfile::tempdir().unwrap();
    let file = written(
        folder.path(),
        "run.toml",
        "start_temp = \"20C\"\n[[stage]]\nkind = \"heat\"\nset = \"86C\"\ntime = \"3min\"\n\
         [[stage]]\nkind = \"cool\"\nset = \"24C\"\ntime = \"2min\"\n",
    );
    let by_file = document(&format!("warmup --schedule {file}"));
    let by_line = document(
        "warmup --at 86C --heat-time 3min --cool-time 2min --ambient 24C --start-temp 20C",
    );
    for key in [
        "time_s",
        "core_temp_K",
        "mean_temp_K",
        "cool_time_s",
        "warm_up_s",
    ] {
        assert_eq!(by_file[key], by_line[key], "{key}");
    }
}

#[test]
fn a_cold_block_with_its_clock_at_the_set_temperature_lasts_its_ramp_longer() {
    let folder = tempfile::tempdir().unwrap();
    let file = |clock: &str| {
        written(
            folder.path(),
            "run.toml",
            &format!(
                "start_temp = \"22C\"\nclock = \"{clock}\"\nblock_start = \"22C\"\nramp = \"16K/min\"\n\
                 [[stage]]\nkind = \"heat\"\nset = \"86C\"\ntime = \"5min\"\n"
            ),
        )
    };
    // 64 K at 16 K/min are 240 s.
    let at_set = document(&format!("warmup --schedule {}", file("at-set")));
    assert_eq!(numbers(&at_set, "time_s").last(), Some(&540.0));
    assert_eq!(number(&at_set, "heat_time_s"), 300.0);
    let insertion = document(&format!("warmup --schedule {}", file("insertion")));
    assert_eq!(numbers(&insertion, "time_s").last(), Some(&300.0));
    assert!(at(&insertion, "edge_temp_K", 200.0) < 22.0 + ZERO + 16.0 * 200.0 / 60.0);
}

// ---------------------------------------------------------------- what stands out

#[test]
fn what_stands_out_of_the_block_stays_unset_and_is_told() {
    let command = "warmup --at 90C --heat-time 8min --syringe 1mL --filled 0.8mL --stands-out 10mm --activation-energy 300kJ/mol";
    let answer = document(command);
    // 0.8 mL fill 4 V/(pi D^2) = 46.1 mm of a bore of 4.7 mm.
    let filled = number(&answer["assumptions"], "filled_length_m");
    assert!((filled - 46.11e-3).abs() < 0.01e-3, "{filled}");
    let unset = number(&answer, "unset_fraction");
    assert!(unset > 10.0 / 46.11 && unset < 17.0 / 46.11, "{unset}");
    let codes: Vec<&str> = answer["warnings"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|warning| warning["code"].as_str())
        .collect();
    assert!(codes.contains(&"unset_share"), "{codes:?}");
    let said = served(command);
    assert!(
        said.contains("Unset share:") && said.contains("10 mm of it"),
        "{said}"
    );
    let capped = document("warmup --at 90C --heat-time 2min --syringe 1mL --capped");
    let endless = document("warmup --at 90C --heat-time 2min --syringe 1mL");
    let apart = at(&capped, "core_temp_K", 120.0) - at(&endless, "core_temp_K", 120.0);
    assert!(apart.abs() < 0.1, "{apart} K");
}

// ---------------------------------------------------------------- setting

/// A gel so thin, and a contact so good, that it is hot at once: first order by hand from the
/// document's own parameters, `a = 1 - exp(-k t)`, `ln P = ln P0 + a ln(Pinf/P0)`.
#[test]
fn the_conversion_in_a_thin_gel_is_the_isothermal_one() {
    let folder = tempfile::tempdir().unwrap();
    let calibration = folder.path().join("plain.json").display().to_string();
    served(&format!(
        "fit data/demo_bench.csv --blend plain --law log --order 1 --out {calibration}"
    ));
    let fitted: Value =
        serde_json::from_str(&std::fs::read_to_string(&calibration).unwrap()).unwrap();
    let blend = &fitted["blends"][0];
    let parameter = |name: &str| {
        blend["parameters"]
            .as_array()
            .unwrap()
            .iter()
            .find(|p| p["name"] == name)
            .and_then(|p| p["estimate"].as_f64())
            .unwrap()
    };
    let reference = number(blend, "reference_temp_K");
    let set = 88.0 + ZERO;
    let rate = parameter("rate_ref")
        * (-parameter("activation_energy") / GAS_CONSTANT * (1.0 / set - 1.0 / reference)).exp();
    let converted = 1.0 - (-rate * 600.0).exp();
    let reading = (parameter("initial").ln()
        + converted * (parameter("plateau") / parameter("initial")).ln())
    .exp();
    let answer = document(&format!(
        "warmup --at 88C --heat-time 10min --barrel 0.1mm --wall-thickness 0mm --contact 20000W/m2K \
         --calibration {calibration}"
    ));
    let end = &answer["setting"]["conversion_at_end"];
    for place in ["core", "edge", "mean"] {
        assert!(
            (number(end, place) - converted).abs() < 1e-3,
            "{place}: {end} {converted}"
        );
    }
    assert!((number(&answer["setting"], "reading_at_end") / reading - 1.0).abs() < 1e-2);
    assert!(number(end, "spread") < 1e-3);
    assert_eq!(answer["invented"], true);
    // In a wide syringe the edge sets first, and the mean lies between.
    let wide = document(&format!(
        "warmup --at 90C --heat-time 8min --syringe 10mL --calibration {calibration}"
    ));
    let end = &wide["setting"]["conversion_at_end"];
    assert!(number(end, "core") < number(end, "mean") && number(end, "mean") < number(end, "edge"));
    assert!(number(end, "least") <= number(end, "core"));
    let course = wide["setting"]["conversion"]["mean"].as_array().unwrap();
    assert_eq!(course.len(), numbers(&wide, "time_s").len());
    // Outside what was measured only when asked for, and then it says so.
    let outside = format!("warmup --at 95C --heat-time 5min --calibration {calibration}");
    assert!(refused(&outside, 1).contains("--extrapolate"));
    assert!(served(&format!("{outside} --extrapolate")).contains("EXTRAPOLATED"));
    assert!(served(&format!("{outside} --extrapolate")).contains("INVENTED DATA"));
}

// ---------------------------------------------------------------- words

#[test]
fn the_first_line_says_where_the_core_stands_and_what_of_the_clock_was_warm_up() {
    let said = served("warmup --at 90C --heat-time 6min --syringe 5mL");
    let first = said.lines().next().unwrap();
    assert!(
        first.starts_with("After 6 min at 90 °C the core of this 5 mL syringe stands at 79 °C; ")
            && first.ends_with(" of the clock were warm-up."),
        "{first}"
    );
    for words in [
        "Which matters most: the contact with the block",
        "--fit-contact",
        "default; 100 to 300 W/m2K",
        "default; 12 to 85 W/m2K",
        "default; 0.12 to 0.22 W/mK",
        "makers 11.99 mm to 13 mm",
        "under 37 °C after",
        "hot",
        "expel the air",
        cautions::SHORT,
    ] {
        assert!(said.contains(words), "{words}:\n{said}");
    }
}

#[test]
fn what_was_stated_is_not_called_a_default() {
    let said = served(
        "warmup --at 90C --heat-time 6min --barrel 4.7mm --wall-thickness 0.9mm --contact 140W/m2K --air 38W/m2K \
         --conductivity 0.58W/mK --density 1025kg/m3 --specific-heat 3900J/kgK --wall-conductivity 0.2W/mK",
    );
    assert!(!said.contains("(default"), "{said}");
    assert!(
        said.contains("contact with the block 140 W/m2K") && said.contains("none is a default")
    );
}

#[test]
fn hot_gel_and_a_soft_barrel_are_warned_of() {
    let said = line("warmup --at 95C --heat-time 6min --cool-time 1min");
    assert_eq!(said.code, 0);
    assert!(said.talk.contains("hot gel burns"), "{}", said.talk);
    assert!(said.talk.contains("maker's figure"), "{}", said.talk);
    let mild = document("warmup --at 86C --heat-time 6min --cool-time 30min");
    assert_eq!(
        mild["warnings"].as_array().unwrap().len(),
        0,
        "{}",
        mild["warnings"]
    );
}

// ---------------------------------------------------------------- chart

#[test]
fn the_chart_is_written_and_an_existing_one_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let svg = folder.path().join("warm.svg").display().to_string();
    let command = format!("warmup --at 90C --heat-time 6min --cool-time 5min --out {svg}");
    assert!(served(&command).contains("Written:"));
    let text = std::fs::read_to_string(&svg).unwrap();
    for words in [
        "stands at",
        "temperature (°C)",
        "clock (min)",
        "block 90 °C",
        "air 22 °C",
    ] {
        assert!(text.contains(words), "{words}");
    }
    assert!(refused(&command, 1).contains("--replace"));
    served(&format!("{command} --replace"));
    let png = folder.path().join("warm.png").display().to_string();
    served(&format!(
        "warmup --at 90C --heat-time 6min --size 600x900 --out {png}"
    ));
    assert_eq!(&std::fs::read(&png).unwrap()[1..4], b"PNG");
    assert!(refused("warmup --at 90C --heat-time 6min --out warm.pdf", 1).contains(".svg"));
}

// ---------------------------------------------------------------- contact

/// A run in a bare cylinder of 12 mm by the series solution at Bi = 1.5, so 145 W/m2K, with a swing of
/// 0.3 K that repeats nowhere (two incommensurate sines).
fn run_of_the_series(folder: &Path, name: &str) -> String {
    let series = series::cylinder(1.5);
    let a_second = 0.58 / (1025.0 * 3900.0) / 6e-3_f64.powi(2);
    let mut text = String::from("# invented\ntime_s,temp_C\n");
    for step in 0..=180 {
        let time_s = 4.0 * f64::from(step);
        let to_go = if time_s == 0.0 {
            1.0
        } else {
            series.at(0.0, a_second * time_s)
        };
        let noise = 0.15 * ((1.7 * f64::from(step)).sin() + (2.9 * f64::from(step) + 1.0).sin());
        let _ = writeln!(text, "{time_s},{:.3}", 90.0 - 68.0 * to_go + noise);
    }
    written(folder, name, &text)
}

#[test]
fn the_contact_is_found_from_one_thermocouple_run() {
    let folder = tempfile::tempdir().unwrap();
    let run = run_of_the_series(folder.path(), "run.csv");
    let command = format!("warmup --fit-contact {run} --at 90C --barrel 12mm --wall-thickness 0mm");
    let answer = document(&command);
    let interval = numbers(&answer, "contact_ci95_W_per_m2_K");
    assert!(interval[0] < 145.0 && interval[1] > 145.0, "{interval:?}");
    assert!(interval[1] - interval[0] < 15.0, "{interval:?}");
    let contact = number(&answer, "contact_W_per_m2_K");
    assert!((contact / 145.0 - 1.0).abs() < 0.02, "{contact}");
    assert!(number(&answer, "contact_std_error_W_per_m2_K") > 0.0);
    assert!((number(&answer, "residual_rms_K") - 0.15).abs() < 0.05);
    assert!(number(&answer, "contact_if_off_centre_W_per_m2_K") < contact);
    assert_eq!(answer["probe"], "core");
    let said = served(&command);
    assert!(
        said.contains("The contact between this 12 mm barrel and the block is 14"),
        "{said}"
    );
    assert!(said.contains("--contact 14") && said.contains("Half-way between core and wall"));
    // Told as if at the wall, the same run asks for far less.
    let edge = document(&format!("{command} --probe edge"));
    assert!(number(&edge, "contact_W_per_m2_K") < 0.8 * contact);
    let off = line(&format!(
        "warmup --fit-contact {run} --at 93C --barrel 12mm --wall-thickness 0mm"
    ));
    assert!(
        off.talk.contains("levels off") && off.talk.contains("blockcheck"),
        "{}",
        off.talk
    );
    assert_eq!(answer["levelled"], true);
    assert_eq!(answer["warnings"].as_array().unwrap().len(), 0);
}

// ---------------------------------------------------------------- block check

fn block_run(folder: &Path) -> String {
    let mut text = String::from("time_s,temp_C,place\n");
    for step in 0..=240 {
        let time_s = 5.0 * f64::from(step);
        // A syringe goes in at 300 s: 2.4 K down, back with a time constant of 60 s.
        let dip = if time_s <= 300.0 {
            0.0
        } else {
            2.4 * (-(time_s - 300.0) / 60.0).exp()
        };
        for (place, plateau) in [("A1", 85.6), ("D6", 84.8)] {
            let _ = writeln!(text, "{time_s},{:.3},{place}", plateau - dip);
        }
    }
    written(folder, "block.csv", &text)
}

/// By hand: offsets -0.4 and -1.2 K, mean -0.8, spread 0.8, sd 0.8/sqrt(2); the lowest reading, 5 s after, is
/// 2.4 exp(-5/60) = 2.208 K down, and it is within 0.5 K after 60 ln(2.4/0.5) = 94 s.
#[test]
fn a_block_check_tells_offset_spread_dip_and_recovery() {
    let folder = tempfile::tempdir().unwrap();
    let file = block_run(folder.path());
    let command = format!("blockcheck {file} --at 86C --insertion 5min");
    let answer = document(&command);
    assert_eq!(answer["schema"], "heatset/block-check/1");
    let set = &answer["by_set"][0];
    assert!((number(set, "offset_K") + 0.8).abs() < 0.02, "{set}");
    assert!((number(set, "place_spread_K") - 0.8).abs() < 0.01);
    assert!((number(set, "place_sd_K") - 0.8 / 2.0_f64.sqrt()).abs() < 0.01);
    assert_eq!(set["hottest_place"], "A1");
    assert!((number(&answer, "largest_fall_K") - 2.208).abs() < 0.01);
    assert!((number(&answer, "longest_recovery_s") - 94.1).abs() < 3.0);
    let said = served(&command);
    let first = said.lines().next().unwrap();
    assert!(
        first.starts_with("Set to 86 °C the block stands at 85.2 °C")
            && first.ends_with("0.8 K too cold."),
        "{first}"
    );
    assert!(
        said.contains("hottest A1, coldest D6") && said.contains("after 1 min 3"),
        "{said}"
    );
}

#[test]
fn a_block_check_is_written_whole_and_read_again() {
    let folder = tempfile::tempdir().unwrap();
    let file = block_run(folder.path());
    let out = folder.path().join("block.json");
    let command = format!("blockcheck {file} --at 86C --out {}", out.display());
    let answer = document(&command);
    let read = BlockCheckDocument::read(&out).unwrap();
    assert_eq!(serde_json::to_value(&read).unwrap(), answer);
    assert!(refused(&command, 1).contains("--replace"));
    served(&format!("{command} --replace"));
}

#[test]
fn a_block_trace_without_a_set_temperature_is_refused_with_the_way_out() {
    let folder = tempfile::tempdir().unwrap();
    let file = block_run(folder.path());
    assert!(refused(&format!("blockcheck {file}"), 1).contains("set_temp_C"));
    assert!(refused("blockcheck nowhere.csv --at 86C", 1).contains("nowhere.csv"));
    refused("blockcheck", 2);
}

// ---------------------------------------------------------------- refusals

#[test]
fn what_cannot_be_served_is_refused_with_what_where_and_how_to_mend() {
    let folder = tempfile::tempdir().unwrap();
    let open = written(
        folder.path(),
        "open.toml",
        "start_temp = \"22C\"\n[[stage]]\nkind = \"heat\"\nset = \"86C\"\n",
    );
    let broken = written(
        folder.path(),
        "broken.toml",
        "start_temp = \"22C\"\n[[stage]]\nkind = \"heat\"\nset = 86\ntime = \"6min\"\n",
    );
    for (command, words) in [
        ("warmup --at 100C --heat-time 6min".to_owned(), "99 °C"),
        (
            "warmup --at 98C --heat-time 6min --altitude 1500m".to_owned(),
            "limit",
        ),
        (
            "warmup --at 86C --heat-time 6min --syringe 7mL".to_owned(),
            "5mL",
        ),
        (
            "warmup --at 86C --heat-time 6min --syringe 1mL --filled 5mL".to_owned(),
            "does not hold",
        ),
        (
            "warmup --at 86C --heat-time 6min --stands-out 80mm".to_owned(),
            "plunger's end",
        ),
        (
            "warmup --at 86C --heat-time 6min --barrel 4.7mm --stands-out 5mm".to_owned(),
            "--filled",
        ),
        (
            "warmup --at 86C --heat-time 6min --barrel 4.7mm --air-gap 0.1mL".to_owned(),
            "--filled",
        ),
        ("warmup --at 86C --heat-time 48h".to_owned(), "24 h"),
        (format!("warmup --schedule {open}"), "time"),
        (format!("warmup --schedule {broken}"), "line 4"),
        ("warmup --schedule nowhere.toml".to_owned(), "nowhere.toml"),
        (
            "warmup --fit-contact nowhere.csv --at 90C".to_owned(),
            "nowhere.csv",
        ),
        (
            "warmup --at 86C --heat-time 6min --calibration nowhere.json".to_owned(),
            "nowhere.json",
        ),
    ] {
        let said = refused(&command, 1);
        assert!(said.contains(words), "{command}: {said}");
    }
}

#[test]
fn a_malformed_line_is_told_with_the_way_to_write_it() {
    for (command, words) in [
        ("warmup --at 86 --heat-time 6min", "86C"),
        ("warmup --at 86C", "--heat-time"),
        ("warmup", "--at"),
        ("warmup --at 86C --heat-time 0min", "time"),
        ("warmup --at 86C --heat-time 6min --contact 150", "150W/m2K"),
        (
            "warmup --at 86C --heat-time 6min --contact 0W/m2K",
            "lets no heat through",
        ),
        (
            "warmup --at 86C --heat-time 6min --wall-thickness -1mm",
            "negative",
        ),
        (
            "warmup --at 86C --heat-time 6min --barrel 0mm",
            "lets nothing through",
        ),
        (
            "warmup --at 86C --heat-time 6min --syringe 1mL --barrel 4mm",
            "--barrel",
        ),
        ("warmup --schedule a.toml --at 86C", "--at"),
        (
            "warmup --at 86C --heat-time 6min --open-end --capped",
            "--capped",
        ),
    ] {
        let said = refused(command, 2);
        assert!(said.contains(words), "{command}: {said}");
    }
}

#[test]
fn temperatures_below_freezing_and_a_wall_of_nothing_are_taken() {
    let answer = document(
        "warmup --at 86C --heat-time 1min --cool-time 10min --ambient -4C --barrel 4.7mm --wall-thickness 0mm",
    );
    assert!(numbers(&answer, "core_temp_K").last().unwrap() < &300.0);
}
