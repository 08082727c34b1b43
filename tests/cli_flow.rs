//! The command flow, run as a person or a script runs it: exit status, words, JSON keys, and
//! figures against textbooks and written-out laws.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod said;

use std::f64::consts::PI;

use approx::assert_relative_eq;
use heatset::face::cautions;
use said::{document, heatset, line, number, refused, served};
use serde_json::Value;

const FOOT_M: f64 = 0.3048;
const PSI_PA: f64 = 6894.757;

/// R. B. Bird, W. E. Stewart, E. N. Lightfoot, Transport Phenomena, 2nd ed., 2002, Example
/// 2.3-1 (from memory): glycerine at 26.5 C, 1 ft of 0.1 in, 40 psi moves 0.00398 ft3/min;
/// 0.492 Pa.s, Reynolds number 2.41.
#[test]
fn flow_gives_the_pressure_of_the_textbooks_capillary_of_glycerine() {
    let flow_m3_per_s = 0.00398 * FOOT_M.powi(3) / 60.0;
    let answer = document(&format!(
        "flow --newtonian 492cP --bore 2.54mm --length 304.8mm --flow {flow_m3_per_s}m3/s --density 1261kg/m3"
    ));
    assert_relative_eq!(
        number(&answer, "pressure_Pa"),
        40.0 * PSI_PA,
        max_relative = 1e-3
    );
    assert_relative_eq!(number(&answer, "reynolds"), 2.41, epsilon = 0.01);
    assert_eq!(answer["laminar"], true);
}

/// NCERT, Physics, class XI, exercise 10.13: glycerine 0.83 Pa.s, 1300 kg/m3, 4.0e-3 kg/s
/// through 1.5 m of 1 cm radius: 9.8e2 Pa, Reynolds number 0.3.
#[test]
fn flow_gives_the_pressure_of_the_schoolbooks_glycerine_by_two_curves() {
    let push = format!(
        "--bore 20mm --length 1.5m --flow {}m3/s --density 1300kg/m3",
        4.0e-3 / 1300.0
    );
    for curve in [
        "--newtonian 0.83Pa.s",
        // a curve whose plateaus are equal is Newtonian
        "--carreau eta0=0.83Pa.s,eta_inf=0.83Pa.s,lambda=1s,n=0.3,a=2",
    ] {
        let answer = document(&format!("flow {curve} {push}"));
        assert_relative_eq!(number(&answer, "pressure_Pa"), 9.8e2, epsilon = 5.0);
        assert_relative_eq!(number(&answer, "reynolds"), 0.3, epsilon = 0.05);
    }
}

/// A general-physics textbook's needle: 31.4 mm, 0.35 mm, 1 mPa.s, 1 mL/s: 8.5e4 Pa, worked
/// 85 254.55 Pa. With water's density its Reynolds number is 3631: beyond laminar, and the
/// book did not say so.
#[test]
fn flow_gives_a_textbook_needles_pressure_and_says_that_it_does_not_hold() {
    let push =
        "flow --newtonian 1mPa.s --bore 0.35mm --length 31.4mm --flow 1mL/s --density 998kg/m3";
    let answer = document(push);
    assert_relative_eq!(number(&answer, "pressure_Pa"), 85_254.55, epsilon = 0.01);
    assert_relative_eq!(number(&answer, "reynolds"), 3631.0, epsilon = 1.0);
    assert_eq!(answer["laminar"], false);
    assert!(served(push).lines().next().unwrap().contains("NOT LAMINAR"));
}

/// Schaum's Outline of College Physics, 12th ed., chapter 14, problem 29: blood 4.0 mPa.s,
/// 30 mm of 0.45 mm, 80 cmHg: 15 mL take 17 s (answer from memory, two digits).
#[test]
fn flow_needs_the_pressure_that_gave_the_textbooks_transfusion() {
    let flow_ml_per_s = 15.0 / 17.0;
    let answer = document(&format!(
        "flow --newtonian 4mPa.s --bore 0.45mm --length 30mm --flow {flow_ml_per_s}mL/s --density 1050kg/m3"
    ));
    assert_relative_eq!(
        number(&answer, "pressure_Pa"),
        800.0 * 133.322,
        max_relative = 0.03
    );
}

/// Engineering question-and-answer sites (Engineering 2046, Physics 56789): water, 20 mL in
/// 20 s through 0.2 mm x 40 mm from a 10 mm barrel. The laminar law gives 1.02063 MPa and
/// 80.16 N; the Reynolds number of 6342 forbids it, and the true pressure is 4.64 MPa.
#[test]
fn flow_says_in_its_first_line_that_a_turbulent_push_takes_more() {
    let push = "flow --newtonian 1.002mPa.s --bore 0.2mm --length 40mm --flow 60mL/min \
                --barrel 10mm --friction 0N --density 998.21kg/m3";
    let answer = document(push);
    assert_relative_eq!(number(&answer, "pressure_Pa"), 1.020_63e6, epsilon = 5.0);
    assert_relative_eq!(number(&answer, "plunger_force_N"), 80.16, epsilon = 0.005);
    assert_relative_eq!(number(&answer, "reynolds"), 6342.0, epsilon = 1.0);
    assert_eq!(answer["laminar"], false);
    let codes: Vec<&Value> = answer["warnings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|warning| &warning["code"])
        .collect();
    assert!(codes.contains(&&Value::from("not_laminar")), "{codes:?}");
    let said = line(push);
    let first = said.out.lines().next().unwrap();
    assert!(
        first.starts_with("NOT LAMINAR: it takes more than 80 N"),
        "{first}"
    );
    assert!(said.talk.contains("Reynolds number 6342"), "{}", said.talk);
}

/// R. P. Chhabra, J. F. Richardson, Non-Newtonian Flow, Example 3.1 (from memory): 3 Pa.s^0.5,
/// n 0.5, 1075 kg/m3, 2500 kg/h through 10 m of 25 mm: 110 kPa; 526.4 1/s at the wall.
#[test]
fn flow_gives_the_pressure_of_the_textbooks_power_law() {
    let flow_m3_per_s = 2500.0 / 3600.0 / 1075.0;
    let answer = document(&format!(
        "flow --power K=3Pa.s^n,n=0.5 --bore 25mm --length 10m --flow {flow_m3_per_s}m3/s --density 1075kg/m3"
    ));
    assert_relative_eq!(number(&answer, "pressure_Pa"), 110e3, epsilon = 0.5e3);
    assert_relative_eq!(
        number(&answer, "wall_shear_rate_per_s"),
        526.4,
        epsilon = 0.05
    );
}

/// J. F. Steffe, R. P. Singh, Pipeline design calculations, in Handbook of Food Engineering
/// Practice, 1997, chapter 1, cases 1, 3 and 5 (from memory): 34.8 mm, 1.66 m/s, 1250 kg/m3;
/// Fanning factors 0.0753, 0.0494 and 0.114.
#[test]
fn flow_gives_the_handbooks_friction_factors_by_curve() {
    let bore_m: f64 = 34.8e-3;
    let flow_m3_per_s = 1.66 * PI * bore_m * bore_m / 4.0;
    for (curve, fanning, digits) in [
        ("--newtonian 0.34Pa.s", 0.0753, 0.000_05),
        ("--power K=5.2Pa.s^n,n=0.45", 0.0494, 0.000_05),
        ("--bingham tau_y=50Pa,mu=0.34Pa.s", 0.114, 0.000_5),
        // with n = 1 the curve is Bingham's
        (
            "--herschel-bulkley tau_y=50Pa,K=0.34Pa.s^n,n=1",
            0.114,
            0.000_5,
        ),
    ] {
        let answer = document(&format!(
            "flow {curve} --bore 34.8mm --length 1m --flow {flow_m3_per_s}m3/s --density 1250kg/m3"
        ));
        let found = number(&answer, "wall_shear_stress_Pa") / (0.5 * 1250.0 * 1.66 * 1.66);
        assert_relative_eq!(found, fanning, epsilon = digits);
    }
}

/// Hagen-Poiseuille (Bird, Stewart & Lightfoot 2002, equation 2.3-21) and the balance of forces
/// on the plunger, written out here, on the tabled 27G (0.2095 mm) and 1 mL barrel (4.70 mm).
#[test]
fn the_force_is_that_of_the_written_out_law_with_the_stated_defaults() {
    let (bore_m, barrel_m): (f64, f64) = (0.2095e-3, 4.70e-3);
    let area_m2 = PI * barrel_m * barrel_m / 4.0;
    let pressure_pa = 128.0 * 0.1 * 13e-3 * (1e-6 / 60.0) / (PI * bore_m.powi(4));
    let answer = document("flow --newtonian 100mPa.s --gauge 27");
    assert_relative_eq!(
        number(&answer, "pressure_Pa"),
        pressure_pa,
        max_relative = 1e-12
    );
    let force_n = pressure_pa * area_m2 + 2.0;
    assert_relative_eq!(
        number(&answer, "plunger_force_N"),
        force_n,
        max_relative = 1e-12
    );
    let assumed = &answer["assumptions"];
    assert_eq!(number(assumed, "length_m"), 13e-3);
    assert_eq!(number(assumed, "barrel_bore_m"), barrel_m);
    assert_eq!(number(assumed, "friction_N"), 2.0);
    assert_eq!(number(assumed, "force_limit_N"), 20.0);
    assert_eq!(assumed["bore_basis"], "nominal");

    let tissue =
        document("flow --newtonian 100mPa.s --gauge 27 --tissue-pressure 20mmHg --friction 0N");
    let tissue_n = (pressure_pa + 20.0 * 133.322_387_415) * area_m2;
    assert_relative_eq!(
        number(&tissue, "plunger_force_N"),
        tissue_n,
        max_relative = 1e-12
    );

    let ends = document("flow --newtonian 100mPa.s --gauge 27 --end-losses");
    let ends_n = force_n + number(&ends, "end_loss_Pa") * area_m2;
    assert_relative_eq!(
        number(&ends, "plunger_force_N"),
        ends_n,
        max_relative = 1e-12
    );
}

/// Fourth power of the bore, by hand: 0.0191 mm is +47/-29 % of force at 27G, +67/-37 % at
/// 30G; nominal against least bore changes it by 1.68 and 2.03.
#[test]
fn the_tolerance_of_the_bore_is_carried_into_the_force() {
    for (gauge, more, less, least_over_nominal) in [(27, 1.47, 0.71, 1.68), (30, 1.67, 0.63, 2.03)]
    {
        let push = format!("flow --newtonian 100mPa.s --friction 0N --gauge {gauge}");
        let answer = document(&push);
        let force_n = number(&answer, "plunger_force_N");
        let range = &answer["plunger_force_range_N"];
        assert_relative_eq!(range[0].as_f64().unwrap() / force_n, less, epsilon = 0.005);
        assert_relative_eq!(range[1].as_f64().unwrap() / force_n, more, epsilon = 0.005);
        let least = document(&format!("{push} --bore-basis minimum"));
        assert_relative_eq!(
            number(&least, "plunger_force_N") / force_n,
            least_over_nominal,
            epsilon = 0.005
        );
        assert!(least["plunger_force_range_N"].is_null());
    }
}

#[test]
fn flow_answers_first_then_says_what_it_assumed_and_the_cautions() {
    let text = served("flow --newtonian 75mPa.s --gauge 29");
    let first = text.lines().next().unwrap();
    assert_eq!(
        first,
        "It takes about 12 N to push this through a 29G x 13 mm needle at 1 mL/min."
    );
    let pressure = text.lines().find(|line| line.contains("Pressure")).unwrap();
    assert!(pressure.contains("locking joint"), "{pressure}");
    for said in [
        "wall",
        "Reynolds number",
        "bore 0.1842 mm",
        "nominal",
        "stopper friction 2 N",
    ] {
        assert!(text.contains(said), "{said} is missing:\n{text}");
    }
    assert!(text.trim_end().ends_with(cautions::SHORT), "{text}");
    // no needle with a thinner wall has a nominal bore
    let thin = served("flow --newtonian 75mPa.s --gauge 29 --wall thin");
    assert!(
        thin.contains("no nominal bore for walls other than regular"),
        "{thin}"
    );
    let lengthless = served("flow --newtonian 75mPa.s --bore 0.16mm");
    assert!(
        lengthless.contains("length 13 mm (default)"),
        "{lengthless}"
    );
}

#[test]
fn a_push_over_the_limit_is_never_mended_by_pushing_harder() {
    let said = line("flow --newtonian 1Pa.s --gauge 30");
    assert_eq!(said.code, 0, "high forces warn and never refuse");
    assert!(said.out.contains("Over the limit of 20 N"), "{}", said.out);
    assert!(
        said.out
            .contains("a wider needle, a slower push, a smaller syringe"),
        "{}",
        said.out
    );
    assert!(said.talk.contains("above the 40 N"), "{}", said.talk);
    for text in [&said.out, &said.talk] {
        let lower = text.to_lowercase();
        for never in ["harder", "more force", "safe", "use by", "injectable"] {
            assert!(!lower.contains(never), "{never}:\n{text}");
        }
    }
}

#[test]
fn the_remedy_of_a_warning_stands_on_its_own_line() {
    for (push, warned) in [
        ("--newtonian 1mPa.s --bore 0.2mm --flow 60mL/min", 2),
        ("--newtonian 10Pa.s --bore 0.1mm", 2),
    ] {
        let said = line(&format!("flow {push} --length 13mm"));
        assert_eq!(said.code, 0, "{}", said.talk);
        let notes = said.talk.lines().filter(|l| l.starts_with("Note: "));
        assert_eq!(notes.count(), warned, "{}", said.talk);
        let remedies = said.talk.lines().filter(|l| l.starts_with("What helps: "));
        assert_eq!(remedies.count(), warned, "{}", said.talk);
        assert_eq!(said.talk.matches("What helps: ").count(), warned);
    }
}

#[test]
fn what_the_command_line_cannot_mean_is_told_how_to_be_written() {
    for (command, says) in [
        (
            "flow --newtonian 1 --gauge 30",
            "\"1\" has no unit: write 1Pa.s, 1mPa.s or 1cP",
        ),
        (
            "flow --newtonian 1Pa.s --gauge 30 --friction -2N",
            "-2N is negative; give zero or more",
        ),
        (
            "flow --newtonian 1Pa.s --gauge 30 --friction 2",
            "write 2N, 2mN or 2kN",
        ),
        (
            "flow --newtonian 1Pa.s --bore 0mm",
            "a bore of 0mm lets nothing through",
        ),
        (
            "flow --newtonian 1Pa.s --gauge 30 --flow 0mL/min",
            "empties no syringe",
        ),
        (
            "flow --newtonian 1Pa.s --gauge 30 --flow 1mm",
            "\"mm\" is not a unit of flow rate",
        ),
        (
            "flow --newtonian 1Pa.s --gauge 30 --gel-temp -300C",
            "below absolute zero",
        ),
        ("flow --newtonian 1Pa.s --gauge thirty", "such as 30"),
        (
            "flow --newtonian 1Pa.s --gauge 30 --wall slim",
            "regular, thin, extra-thin or ultra-thin",
        ),
        ("flow --newtonian 1Pa.s --gauge 30 --bore 0.16mm", "--bore"),
        (
            "flow --newtonian 1Pa.s --gauge 30 --bore-tolerance 0.01mm",
            "--bore-tolerance",
        ),
        (
            "flow --newtonian 1Pa.s --gauge 30 --syringe 1mL --barrel 4.7mm",
            "--barrel",
        ),
        (
            "flow --newtonian 1Pa.s --bingham tau_y=50Pa,mu=1Pa.s --gauge 30",
            "--bingham",
        ),
        ("flow --gauge 30", "--newtonian"),
        (
            "flow --power K=2,n=0.4 --gauge 30",
            "K: \"2\" has no unit: write 2Pa.s^n",
        ),
        ("flow --power K=2,5Pa.s^n,n=0.4 --gauge 30", "decimal comma"),
        (
            "flow --power n=0.4 --gauge 30",
            "K is missing; write K=2Pa.s^n,n=0.4",
        ),
        (
            "flow --power K=2Pa.s^n,n=0.4,n=0.5 --gauge 30",
            "n is given twice",
        ),
        (
            "flow --power K=2Pa.s^n,n=0 --gauge 30",
            "n: a flow index of 0",
        ),
        (
            "flow --bingham tau_y=-1Pa,mu=1Pa.s --gauge 30",
            "tau_y: a yield stress of -1Pa is negative",
        ),
        (
            "flow --bingham tau=1Pa,mu=1Pa.s --gauge 30",
            "\"tau\" is not a name of this curve",
        ),
    ] {
        let message = refused(command, 2);
        assert!(
            message.contains(says),
            "{command} should say {says}:\n{message}"
        );
    }
}

#[test]
fn what_the_tables_cannot_serve_is_told_what_they_hold() {
    for (command, says) in [
        (
            "flow --newtonian 1Pa.s",
            "--gauge 30, or its bore: --bore 0.16mm",
        ),
        ("flow --newtonian 1Pa.s --gauge 99", "10G to 34G"),
        (
            "flow --newtonian 1Pa.s --gauge 20 --wall ultra-thin",
            "20G has: regular, thin, extra-thin",
        ),
        (
            "flow --newtonian 1Pa.s --gauge 30 --syringe 7mL",
            "1mL, 3mL, 5mL",
        ),
        (
            "flow --newtonian 1Pa.s --bore 0.16mm --bore-tolerance 0.2mm",
            "leaves no bore",
        ),
        (
            "flow --newtonian 1e308Pa.s --gauge 30",
            "What helps: look at the units",
        ),
    ] {
        for command in [command.to_owned(), format!("{command} --json")] {
            let message = refused(&command, 1);
            assert!(
                message.contains(says),
                "{command} should say {says}:\n{message}"
            );
        }
    }
}

#[test]
fn a_blank_that_people_type_inside_a_value_does_no_harm() {
    let said = heatset(&[
        "flow",
        "--newtonian",
        "75 mPa.s",
        "--gauge",
        "29G",
        "--syringe",
        "1 mL",
        "--flow",
        "60 s/mL",
        "--friction",
        "0 N",
    ]);
    assert_eq!(said.code, 0, "{}", said.talk);
    assert!(said.out.starts_with("It takes about 10 N"), "{}", said.out);
}
