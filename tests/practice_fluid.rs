//! The practice fluid: glycerol and water against the handbook's table, the mixture against the push
//! it is to match, and what the card must say.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod said;

use approx::assert_relative_eq;
use heatset::reference::{
    GLYCEROL_VISCOSITY_DOUBT_RATIO, ReferenceError, glycerol_density_kg_per_m3,
    glycerol_mass_fraction, glycerol_viscosity_pa_s,
};
use proptest::prelude::*;
use said::{document, number, refused, served};

/// J. Segur and H. Oberstar, Industrial and Engineering Chemistry 43 (1951) 2117 (the table as handbooks
/// carry it), and the values of the formula of Cheng 2008 as others computed them from the paper.
const TABLE: &str = include_str!("data/glycerol.csv");

/// Per cent by mass, °C, table and formula in mPa s.
fn table() -> Vec<[f64; 4]> {
    TABLE
        .lines()
        .skip(1)
        .map(|line| {
            let cells: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
            [cells[0], cells[1], cells[2], cells[3]]
        })
        .collect()
}

#[test]
fn the_formula_lies_within_its_doubt_of_segur_and_oberstars_table() {
    let rows = table();
    assert!(rows.len() > 60);
    for [percent, celsius, published, formula] in rows {
        let ours = 1e3 * glycerol_viscosity_pa_s(percent / 100.0, celsius + 273.15).unwrap();
        // The rest of the last printed digit is the table's own.
        assert_relative_eq!(
            ours,
            published,
            max_relative = GLYCEROL_VISCOSITY_DOUBT_RATIO + 2e-4
        );
        assert_relative_eq!(ours, formula, max_relative = 1e-4);
    }
}

/// Densities of the table of L. Bosart and A. Snoddy, Industrial and Engineering Chemistry 19 (1927)
/// 506, as handbooks carry them at 20 °C, in kg/m3, from memory: the tolerance is the formula's own.
#[test]
fn densities_lie_within_their_doubt_of_the_handbooks() {
    for (fraction, kg_per_m3) in [
        (0.0, 998.2),
        (0.25, 1059.8),
        (0.50, 1126.3),
        (0.75, 1194.9),
        (1.0, 1261.1),
    ] {
        let ours = glycerol_density_kg_per_m3(fraction, 293.15).unwrap();
        assert_relative_eq!(ours, kg_per_m3, max_relative = 0.008);
    }
}

#[test]
fn outside_of_the_formulas_range_nothing_is_answered() {
    for (fraction, kelvin) in [
        (-0.01, 293.15),
        (1.01, 293.15),
        (f64::NAN, 293.15),
        (0.5, 273.0),
        (0.5, 373.2),
        (0.5, f64::NAN),
    ] {
        assert!(matches!(
            glycerol_viscosity_pa_s(fraction, kelvin),
            Err(ReferenceError::GlycerolOutOfRange { .. })
        ));
        assert!(glycerol_density_kg_per_m3(fraction, kelvin).is_err());
    }
    // Water has 1.0 mPa s at 20 °C, glycerol 1410 (Segur and Oberstar).
    assert!(matches!(
        glycerol_mass_fraction(0.9e-3, 293.15),
        Err(ReferenceError::ThinnerThanWater { .. })
    ));
    assert!(matches!(
        glycerol_mass_fraction(1.5, 293.15),
        Err(ReferenceError::ThickerThanGlycerol { .. })
    ));
    assert!(glycerol_mass_fraction(f64::NAN, 293.15).is_err());
}

proptest! {
    #[test]
    fn the_mixture_of_a_viscosity_has_it(fraction in 0.0_f64..=1.0, kelvin in 273.15_f64..=373.15) {
        let viscosity = glycerol_viscosity_pa_s(fraction, kelvin).unwrap();
        let found = glycerol_mass_fraction(viscosity, kelvin).unwrap();
        prop_assert!((found - fraction).abs() < 1e-9);
    }

    #[test]
    fn more_glycerol_is_thicker_and_warmth_is_thinner(fraction in 0.0_f64..0.99, kelvin in 273.15_f64..372.0) {
        let here = glycerol_viscosity_pa_s(fraction, kelvin).unwrap();
        prop_assert!(glycerol_viscosity_pa_s(fraction + 0.01, kelvin).unwrap() > here);
        prop_assert!(glycerol_viscosity_pa_s(fraction, kelvin + 1.0).unwrap() < here);
    }
}

/// Worked by hand: F - F_f = 128 mu L Q/(pi D^4) pi D_b^2/4 (Hagen and Poiseuille), with 0.21 mm,
/// 13 mm, a 4.7 mm barrel, 1 mL/min and 2 N of friction.
#[test]
fn a_stated_push_asks_for_the_viscosity_of_hagen_and_poiseuille() {
    let answer = document(
        "practice-fluid --push 12N --bore 0.21mm --length 13mm --barrel 4.7mm --flow 1mL/min --friction 2N --room 20C --volume 20mL",
    );
    let (bore, barrel, length, flow) = (0.21e-3_f64, 4.7e-3_f64, 13e-3, 1e-6 / 60.0);
    let viscosity = 10.0 * bore.powi(4) / (32.0 * barrel.powi(2) * length * flow);
    assert_relative_eq!(
        number(&answer, "viscosity_Pa_s"),
        viscosity,
        max_relative = 1e-9
    );
    assert_relative_eq!(
        number(&answer, "practice_force_N"),
        12.0,
        max_relative = 1e-9
    );
    // Twice the speed, twice the part that is not friction.
    for (at, force) in answer["at_other_speeds"]
        .as_array()
        .unwrap()
        .iter()
        .zip([7.0, 22.0])
    {
        assert_relative_eq!(
            at["practice_force_N"].as_f64().unwrap(),
            force,
            max_relative = 1e-9
        );
        assert!(at["gel_force_N"].is_null());
    }
    // 127 mPa s at 20 °C lies between 85 % (109) and 90 % (219) of Segur and Oberstar's table.
    assert_relative_eq!(viscosity, 0.127, max_relative = 1e-2);
    let fraction = number(&answer, "glycerol_mass_fraction");
    assert!((0.85..0.90).contains(&fraction), "{fraction}");
    let recipe = &answer["recipe"];
    let of = |key: &str| recipe[key].as_f64().unwrap();
    let whole_kg = of("stock_kg") + of("water_kg");
    assert_relative_eq!(of("stock_kg") / whole_kg, fraction, max_relative = 1e-9);
    assert_relative_eq!(
        whole_kg,
        of("density_kg_per_m3") * 20e-6,
        max_relative = 1e-9
    );
    assert_relative_eq!(of("water_m3"), of("water_kg") / 998.2, max_relative = 1e-3);
    assert_relative_eq!(of("stock_m3"), of("stock_kg") / 1261.0, max_relative = 8e-3);
}

#[test]
fn glycerol_with_water_in_it_is_weighed_more_and_leaves_the_mixture_as_it_was() {
    let push = "--viscosity 50mPa.s --gauge 27 --room 20C";
    let pure = document(&format!("practice-fluid {push}"));
    let thinned = document(&format!("practice-fluid {push} --stock 87%"));
    let kg = |answer: &serde_json::Value, key: &str| answer["recipe"][key].as_f64().unwrap();
    assert_relative_eq!(
        0.87 * kg(&thinned, "stock_kg"),
        kg(&pure, "stock_kg"),
        max_relative = 1e-9
    );
    assert_relative_eq!(
        kg(&thinned, "stock_kg") + kg(&thinned, "water_kg"),
        kg(&pure, "stock_kg") + kg(&pure, "water_kg"),
        max_relative = 1e-9
    );
    let refused = refused(
        "practice-fluid --viscosity 1Pa.s --gauge 27 --room 20C --stock 87%",
        1,
    );
    assert!(
        refused.contains("needs") && refused.contains("What helps:"),
        "{refused}"
    );
}

#[test]
fn what_no_mixture_matches_is_refused_with_the_way_out() {
    let thick = refused("practice-fluid --viscosity 5Pa.s --gauge 27", 1);
    assert!(
        thick.contains("glycerol alone has")
            && thick.contains("What helps: practise with a finer needle"),
        "{thick}"
    );
    let thin = refused("practice-fluid --push 2.0001N --gauge 18 --friction 2N", 1);
    assert!(
        thin.contains("water alone has")
            && thin.contains("What helps: practise with a wider needle"),
        "{thin}"
    );
    let nothing = refused("practice-fluid --gauge 27", 1);
    assert!(nothing.contains("There is nothing to match"), "{nothing}");
    let friction = refused("practice-fluid --push 1N --gauge 27 --friction 2N", 1);
    assert!(!friction.is_empty());
    let frozen = refused("practice-fluid --push 12N --gauge 27 --room -5C", 1);
    assert!(frozen.contains("0 to 100 °C"), "{frozen}");
}

#[test]
fn the_options_of_a_calibration_are_malformed_without_one() {
    for command in [
        "practice-fluid --push 12N --gauge 27 --flow-index 0.5",
        "practice-fluid --push 12N --gauge 27 --at 80C",
        "practice-fluid --push 12N --viscosity 1Pa.s --gauge 27",
    ] {
        refused(command, 2);
    }
}

/// A calibration of the demo bench (invented), in a folder of its own.
fn demo_calibration() -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cal.json").display().to_string();
    let bench = format!("{}/data/demo_bench.csv", env!("CARGO_MANIFEST_DIR"));
    served(&format!("fit {bench} --out {path} --blend plain"));
    (folder, path)
}

#[test]
fn the_mixture_for_a_gel_takes_the_push_that_force_and_flow_tell() {
    let (_folder, calibration) = demo_calibration();
    let push = "--at 80C --heat-time 6min --gauge 27";
    let force = document(&format!("force {calibration} {push}"));
    let card = document(&format!("practice-fluid {calibration} {push} --room 22C"));
    let gel = &force["needles"][0]["plunger_force_N"];
    assert_eq!(card["gel_force_N"], *gel);
    assert_relative_eq!(
        number(&card, "practice_force_N"),
        gel["point"].as_f64().unwrap(),
        max_relative = 1e-9
    );
    let viscosity = number(&card, "viscosity_Pa_s");
    let flow = document(&format!("flow --newtonian {viscosity}Pa.s --gauge 27"));
    assert_relative_eq!(
        number(&flow, "plunger_force_N"),
        number(&card, "practice_force_N"),
        max_relative = 1e-9
    );
    let fraction = number(&card, "glycerol_mass_fraction");
    let [low, high] = [0, 1].map(|end| card["glycerol_mass_fraction_interval95"][end].as_f64());
    assert!(low.is_none_or(|low| low < fraction) && high.is_none_or(|high| high > fraction));
    assert_eq!(card["invented"], true);
}

#[test]
fn a_gel_that_thins_takes_less_at_twice_the_speed_than_the_fluid_does() {
    let (_folder, calibration) = demo_calibration();
    let card = document(&format!(
        "practice-fluid {calibration} --at 80C --heat-time 6min --gauge 27 --flow-index 0.5"
    ));
    let force = |at: usize, key: &str| card["at_other_speeds"][at][key].as_f64().unwrap();
    assert!(force(0, "gel_force_N") > force(0, "practice_force_N"));
    assert!(force(1, "gel_force_N") < force(1, "practice_force_N"));
}

#[test]
fn the_card_says_what_must_never_be_done_on_every_face() {
    let (folder, calibration) = demo_calibration();
    let page = folder.path().join("card.html").display().to_string();
    let line = format!("practice-fluid {calibration} --at 80C --heat-time 6min --gauge 27");
    let words = served(&line);
    served(&format!("{line} --out {page}"));
    let page = std::fs::read_to_string(page).unwrap();
    let json = served(&format!("{line} --json"));
    for face in [&words, &page, &json] {
        assert!(
            face.contains("NEVER inject it, and never mix it with a gel"),
            "{face}"
        );
        assert!(face.contains("empty training syringes"), "{face}");
    }
    for face in [&words, &page] {
        assert!(face.contains("INVENTED DATA"), "{face}");
        assert!(face.contains("takes up water from the air"), "{face}");
        assert!(face.contains("one speed only"), "{face}");
        assert!(face.contains("not a medical device"), "{face}");
        assert!(face.contains("95 of 100 syringes"), "{face}");
    }
}

#[test]
fn a_push_that_is_mostly_friction_is_said_to_be_the_syringes() {
    let is_said = |push: &str| {
        let answer = document(&format!(
            "practice-fluid --push {push} --gauge 27 --friction 2N"
        ));
        answer["warnings"]
            .as_array()
            .unwrap()
            .iter()
            .any(|warning| warning["code"] == "mostly_friction")
    };
    assert!(is_said("3N"));
    assert!(!is_said("12N"));
}
