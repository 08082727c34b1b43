//! Readings that nobody here took, through the same reader and the same commands as a user's
//! table. The tables stand in data/published with their sources.
#![cfg(feature = "cli")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod said;

use std::collections::BTreeMap;

use approx::assert_relative_eq;
use heatset::fit::arrhenius_line;
use said::{document, served};
use serde_json::Value;
use statrs::distribution::{ContinuousCDF, FisherSnedecor};

/// Seven digits of a figure.
const SEVEN_DIGITS: f64 = 1e-7;

const NELSON: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/data/published/nelson.csv");
const N2O5: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/data/published/n2o5.csv");

/// The one blend of the document that a fit prints.
fn fitted(table: &str, options: &str) -> Value {
    let document = document(&format!("fit {table} {options}"));
    assert_eq!(document["schema"], "heatset/calibration/1");
    assert_eq!(
        document["invented"], false,
        "published readings are not invented"
    );
    assert_eq!(document["blends"].as_array().unwrap().len(), 1);
    document["blends"][0].clone()
}

fn parameter<'a>(blend: &'a Value, name: &str) -> &'a Value {
    blend["parameters"]
        .as_array()
        .unwrap()
        .iter()
        .find(|p| p["name"] == name)
        .unwrap_or_else(|| panic!("no parameter {name}"))
}

fn estimate(blend: &Value, name: &str) -> f64 {
    parameter(blend, name)["estimate"].as_f64().unwrap()
}

fn std_error(blend: &Value, name: &str) -> f64 {
    parameter(blend, name)["std_error"].as_f64().unwrap()
}

fn nelson() -> Value {
    fitted(
        NELSON,
        "--law linear --hold plateau=0 --order 1 --reference-temp 225C",
    )
}

/// Data: NIST StRD, Nonlinear Regression, 'Nelson' (W. Nelson, 1981, IEEE Trans. Reliability
/// R-30(2):149-155). NIST certifies another form of the temperature; as first-order decay with
/// an Arrhenius rate the figures are computed with mpmath from the published table (40 digits)
/// and again with SciPy (least_squares).
#[test]
fn the_insulation_table_of_nist_gives_its_activation_energy_to_seven_digits() {
    let blend = nelson();
    assert_eq!(blend["fit"]["rows"], 128);
    assert_eq!(blend["fit"]["degrees_of_freedom"], 125);
    assert_eq!(blend["fit"]["converged"], true);
    assert_relative_eq!(
        estimate(&blend, "activation_energy"),
        136.748_726e3,
        max_relative = SEVEN_DIGITS
    );
    assert_relative_eq!(
        std_error(&blend, "activation_energy"),
        9.451_331e3,
        max_relative = SEVEN_DIGITS
    );
    assert_relative_eq!(
        estimate(&blend, "rate_ref"),
        3.553_204_17e-9,
        max_relative = SEVEN_DIGITS
    );
    // 2.14897788e-3 a week, 604 800 s to the week: the same figure the other way round.
    assert_relative_eq!(
        estimate(&blend, "rate_ref") * 604_800.0,
        2.148_977_88e-3,
        max_relative = SEVEN_DIGITS
    );
    assert_relative_eq!(
        blend["fit"]["weighted_rss"].as_f64().unwrap(),
        3.813_104_474_46,
        max_relative = 1e-11
    );
    assert_relative_eq!(
        estimate(&blend, "initial").ln(),
        2.588_544_26,
        max_relative = SEVEN_DIGITS
    );
    // Six digits are known of this one.
    assert_relative_eq!(std_error(&blend, "initial"), 0.018_983_1, epsilon = 0.5e-7);
    assert!(parameter(&blend, "plateau")["std_error"].is_null());
    assert_eq!(parameter(&blend, "plateau")["held"], true);
}

/// The replicate lack-of-fit test: N. Draper & H. Smith, Applied Regression Analysis, 3rd ed.,
/// 1998, section 2.1 (from memory). Pure error is counted here from the table alone; the
/// residual sum of squares is the published-data figure of the test above; the tail comes from
/// statrs. F 11.0504514 and p 1.13e-19: computed with SciPy from the published table.
#[test]
fn the_replicates_of_the_insulation_table_say_that_plain_decay_does_not_hold() {
    let mut cells: BTreeMap<(String, String), Vec<f64>> = BTreeMap::new();
    let table = std::fs::read_to_string(NELSON).unwrap();
    for row in table
        .lines()
        .filter(|line| line.starts_with(|c: char| c.is_ascii_digit()))
    {
        let cell: Vec<&str> = row.split(',').collect();
        cells
            .entry((cell[0].to_owned(), cell[1].to_owned()))
            .or_default()
            .push(cell[2].parse::<f64>().unwrap().ln());
    }
    assert_eq!(cells.len(), 32, "four temperatures times eight times");
    let pure_error: f64 = cells
        .values()
        .map(|cell| {
            let mean = cell.iter().sum::<f64>() / cell.len() as f64;
            cell.iter()
                .map(|ln_reading| (ln_reading - mean).powi(2))
                .sum::<f64>()
        })
        .sum();
    let ratio = ((3.813_104_474_46 - pure_error) / 29.0) / (pure_error / 96.0);
    assert_relative_eq!(ratio, 11.050_451_4, max_relative = 1e-8);

    let blend = nelson();
    let test = &blend["diagnostics"]["lack_of_fit"];
    // 32 settings less 3 parameters; 128 rows less 32 settings.
    assert_eq!(test["df1"], 29);
    assert_eq!(test["df2"], 96);
    assert_relative_eq!(
        test["f"].as_f64().unwrap(),
        ratio,
        max_relative = SEVEN_DIGITS
    );
    let tail = FisherSnedecor::new(29.0, 96.0).unwrap().sf(ratio);
    assert_relative_eq!(test["p"].as_f64().unwrap(), tail, max_relative = 1e-6);
    assert_relative_eq!(test["p"].as_f64().unwrap(), 1.131e-19, max_relative = 1e-3);
    let words = served(&format!(
        "fit {NELSON} --law linear --hold plateau=0 --reference-temp 225C"
    ));
    assert!(
        words.contains("The 128 readings do not agree with it (lack of fit p under 0.001)"),
        "{words}"
    );
}

/// NIST's own form of the same table fits no better by its certified residual sum of squares,
/// 3.7976833176 (ln y = b1 - b2 x1 exp(-b3 x2)): the lack of fit lies in the decay, not in how
/// the rate goes with temperature.
#[test]
fn the_arrhenius_form_loses_less_than_half_a_percent_to_the_form_that_nist_certifies() {
    let ours = nelson()["fit"]["weighted_rss"].as_f64().unwrap();
    let certified = 3.797_683_317_6;
    assert!(ours > certified);
    assert_relative_eq!(ours, certified, max_relative = 5e-3);
}

/// Data: S. Zumdahl & S. Zumdahl, Chemistry: An Atoms First Approach, 2nd ed., problem 11.87.
/// Computed with mpmath from the published table (40 digits).
#[test]
fn the_n2o5_courses_give_their_rate_with_initial_and_plateau_held() {
    let blend = fitted(
        N2O5,
        "--law linear --hold initial=0.1 --hold plateau=0 --error absolute --reference-temp 328K",
    );
    assert_eq!(blend["fit"]["degrees_of_freedom"], 8);
    assert_relative_eq!(
        estimate(&blend, "activation_energy"),
        102.051_263e3,
        max_relative = SEVEN_DIGITS
    );
    // Six digits are known of the standard errors.
    assert_relative_eq!(
        std_error(&blend, "activation_energy"),
        0.159_806e3,
        epsilon = 0.000_6
    );
    assert_relative_eq!(
        estimate(&blend, "rate_ref"),
        1.607_871_94e-3,
        max_relative = SEVEN_DIGITS
    );
    for held in ["initial", "plateau"] {
        assert_eq!(parameter(&blend, held)["held"], true);
        assert!(parameter(&blend, held)["ci95"].is_null());
    }
}

/// The same table with its start free and relative errors; computed with mpmath from the
/// published table (40 digits).
#[test]
fn the_n2o5_courses_give_their_rate_with_the_start_free() {
    let blend = fitted(N2O5, "--law linear --hold plateau=0 --reference-temp 328K");
    assert_eq!(blend["fit"]["degrees_of_freedom"], 7);
    assert_relative_eq!(
        estimate(&blend, "activation_energy"),
        101.886_089e3,
        max_relative = SEVEN_DIGITS
    );
    assert_relative_eq!(
        std_error(&blend, "activation_energy"),
        0.143_102e3,
        epsilon = 0.000_6
    );
    assert_relative_eq!(
        estimate(&blend, "rate_ref"),
        1.609_566_59e-3,
        max_relative = SEVEN_DIGITS
    );
    assert_relative_eq!(
        estimate(&blend, "initial"),
        0.100_061_010,
        max_relative = SEVEN_DIGITS
    );
}

/// ln-linear fits of one temperature at a time, computed with SciPy (linregress) from the
/// published table: 4.8597e-3 1/s at 338 K and 4.98654e-4 1/s at 318 K. Each line has its own
/// start, the global fit has one for both; the line at 318 K knows its rate to 0.35 % (its
/// standard error, SciPy), so half a percent is the room there is between the two.
#[test]
fn the_n2o5_rate_at_each_temperature_is_that_of_its_own_straight_line() {
    let blend = fitted(N2O5, "--law linear --hold plateau=0 --reference-temp 328K");
    let half_times: Vec<(f64, f64)> = blend["derived"]["half_time_s"]
        .as_array()
        .unwrap()
        .iter()
        .map(|half| {
            (
                half["temp_K"].as_f64().unwrap(),
                half["value"].as_f64().unwrap(),
            )
        })
        .collect();
    for (kelvin, rate_per_s) in [(338.0, 4.859_7e-3), (318.0, 4.986_54e-4)] {
        let (_, half_time_s) = half_times
            .iter()
            .find(|(at, _)| (at - kelvin).abs() < 1e-9)
            .unwrap();
        assert_relative_eq!(
            std::f64::consts::LN_2 / half_time_s,
            rate_per_s,
            max_relative = 5e-3
        );
    }
}

/// A published set of rate constants and what an unweighted line of ln k over 1/T gives.
struct RateSet {
    source: &'static str,
    rates: &'static [(f64, f64)],
    activation_energy_kj_per_mol: f64,
    activation_energy_error: Option<f64>,
    ln_pre_exponential: Option<f64>,
    ln_pre_exponential_error: Option<f64>,
}

/// Lines computed with SciPy (linregress) from the published tables; R 8.314462618 J/mol/K.
const RATE_SETS: [RateSet; 5] = [
    RateSet {
        source: "H. Fogler, Elements of Chemical Reaction Engineering, Example 3-1: benzenediazonium chloride",
        rates: &[
            (313.0, 0.000_43),
            (319.0, 0.001_03),
            (323.0, 0.001_80),
            (328.0, 0.003_55),
            (333.0, 0.007_17),
        ],
        activation_energy_kj_per_mol: 121.488,
        activation_energy_error: Some(0.839),
        ln_pre_exponential: Some(38.924_6),
        ln_pre_exponential_error: Some(0.312_3),
    },
    RateSet {
        source: "S. Zumdahl & S. Zumdahl, Chemistry, 9th ed., problem 12.67: N2O5",
        rates: &[(298.0, 3.5e-5), (318.0, 5.0e-4), (338.0, 4.9e-3)],
        activation_energy_kj_per_mol: 103.490,
        activation_energy_error: Some(0.798),
        ln_pre_exponential: Some(31.518_7),
        ln_pre_exponential_error: None,
    },
    RateSet {
        // The book's own 102.27 is a slope through two points; its 80 C point lies off the line.
        source: "NCERT, Chemistry, class XII, exercise on N2O5, T = t + 273 as in the book",
        rates: &[
            (273.0, 7.87e-7),
            (293.0, 1.70e-5),
            (313.0, 2.57e-4),
            (333.0, 1.78e-3),
            (353.0, 2.14e-2),
        ],
        activation_energy_kj_per_mol: 100.633,
        activation_energy_error: Some(2.456),
        ln_pre_exponential: None,
        ln_pre_exponential_error: None,
    },
    RateSet {
        source: "hydrogen iodide, five temperatures, as tabled in the Virtual Labs batch-reactor exercise",
        rates: &[
            (556.15, 9.42e-7),
            (629.15, 8.09e-5),
            (666.15, 5.88e-4),
            (700.15, 3.10e-3),
            (781.15, 0.105_9),
        ],
        activation_energy_kj_per_mol: 186.331,
        activation_energy_error: Some(3.044),
        ln_pre_exponential: None,
        ln_pre_exponential_error: None,
    },
    RateSet {
        source: "OpenStax, Chemistry, chapter on kinetics, problem on sucrose in neutral solution",
        rates: &[(300.15, 2.1e-11), (310.15, 8.5e-11)],
        activation_energy_kj_per_mol: 108.216,
        activation_energy_error: None,
        ln_pre_exponential: None,
        ln_pre_exponential_error: None,
    },
];

#[test]
fn published_rate_constants_lie_on_their_published_lines() {
    for set in RATE_SETS {
        let line = arrhenius_line(set.rates).unwrap();
        // Half of the last digit that is written above.
        let near = |found: f64, expected: f64, half_digit: f64, what: &str| {
            assert!(
                (found - expected).abs() <= half_digit,
                "{}: {what} {found} against {expected}",
                set.source
            );
        };
        near(
            line.activation_energy_j_per_mol / 1e3,
            set.activation_energy_kj_per_mol,
            0.000_5,
            "E in kJ/mol",
        );
        match set.activation_energy_error {
            Some(error) => near(
                line.activation_energy_error_j_per_mol / 1e3,
                error,
                0.000_5,
                "standard error of E",
            ),
            None => assert!(
                !line.activation_energy_error_j_per_mol.is_finite(),
                "{}: two points leave no scatter to tell an error from",
                set.source
            ),
        }
        if let Some(ln_a) = set.ln_pre_exponential {
            near(line.ln_pre_exponential, ln_a, 0.000_05, "ln A");
        }
        if let Some(error) = set.ln_pre_exponential_error {
            near(
                line.ln_pre_exponential_error,
                error,
                0.000_05,
                "standard error of ln A",
            );
        }
    }
}

/// Percent of native beta-lactoglobulin found after 30 min of heat, 62 to 82 C: B. Larson &
/// G. Rolleri, 1955, as tabled after R. Lyster, 1970. At order 1, k = -ln(fraction)/1800 s.
/// E 179.8 (10.6) kJ/mol: computed with SciPy from the published table.
#[test]
fn whey_protein_left_after_thirty_minutes_gives_its_first_order_activation_energy() {
    let found = [
        (62.0, 92.0),
        (66.0, 89.0),
        (70.0, 70.0),
        (74.0, 47.0),
        (77.0, 32.0),
        (82.0, 7.0_f64),
    ];
    let rates: Vec<(f64, f64)> = found
        .iter()
        .map(|(celsius, percent)| (celsius + 273.15, -(percent / 100.0).ln() / 1800.0))
        .collect();
    let line = arrhenius_line(&rates).unwrap();
    assert_relative_eq!(line.activation_energy_j_per_mol, 179.8e3, epsilon = 0.05e3);
    assert_relative_eq!(
        line.activation_energy_error_j_per_mol,
        10.6e3,
        epsilon = 0.05e3
    );
}
