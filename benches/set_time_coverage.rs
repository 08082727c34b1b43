//! How often set times from set and not-set hold what they promise:
//! `cargo run --release --no-default-features --example set-time-coverage [RUNS]`.
//!
//! Benches of invented syringes are looked at, fitted, and asked; the truth is known, so that the
//! share of new lots and new syringes inside an answer is computed, not drawn.
#![allow(clippy::unwrap_used, clippy::print_stdout, missing_docs)]

use heatset::fit::set_time::{ScatterForm, SetTimeName, SetTimeOptions, calibrate_set_time};
use heatset::plan::set_time::{SetTimeQuestion, set_time};
use heatset::readings::{RowDetails, Seen, SeenRow, SeenTable, Source};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;

const GAS_CONSTANT: f64 = 8.314_462_618;
const REFERENCE_KELVIN: f64 = 354.15;
const MEDIAN_REF_S: f64 = 480.0;
const ENERGY_J_PER_MOL: f64 = 255e3;
const KELVINS: [f64; 3] = [349.15, 354.15, 359.15];
const ASKED_KELVIN: f64 = 357.15;
const SCATTER: f64 = 0.15;
const LOOKS: [f64; 6] = [0.6, 0.75, 0.9, 1.05, 1.25, 1.5];

struct Scenario {
    lots: usize,
    lot_sd: f64,
    /// Syringes a look, temperature and lot.
    copies: usize,
    /// A second look, so much later, at those that had not set.
    again: Option<f64>,
    form: ScatterForm,
}

struct Run {
    energy_inside: bool,
    reference_inside: bool,
    set_by_not_before: f64,
    medians_inside: f64,
    syringes_inside: f64,
}

/// ln of the place at a temperature: of a Weibull scatter too the median is the one above.
fn ln_place(form: ScatterForm, kelvin: f64) -> f64 {
    let inverse = (1.0 / kelvin - 1.0 / REFERENCE_KELVIN) / GAS_CONSTANT;
    MEDIAN_REF_S.ln() - SCATTER * form.deviate(0.5) + ENERGY_J_PER_MOL * inverse
}

fn deviate(form: ScatterForm, random: &mut ChaCha8Rng) -> f64 {
    let z: f64 = StandardNormal.sample(random);
    match form {
        ScatterForm::Lognormal => z,
        // A normal deviate's share, as a share of the other form.
        ScatterForm::Weibull => form.deviate(ScatterForm::Lognormal.share_below(z)),
    }
}

fn table(scenario: &Scenario, random: &mut ChaCha8Rng) -> SeenTable {
    let mut rows = Vec::new();
    for lot in 0..scenario.lots {
        let z: f64 = StandardNormal.sample(random);
        let deviation = scenario.lot_sd * z;
        for kelvin in KELVINS {
            let median_s =
                (ln_place(scenario.form, kelvin) + SCATTER * scenario.form.deviate(0.5)).exp();
            for (number, look) in LOOKS.iter().enumerate() {
                for copy in 0..scenario.copies {
                    let e = deviate(scenario.form, random);
                    let set_s = (ln_place(scenario.form, kelvin) + deviation + SCATTER * e).exp();
                    let mut times = vec![median_s * look];
                    times.extend(scenario.again.map(|ratio| median_s * look * ratio));
                    for time_s in times {
                        let is_set = set_s <= time_s;
                        rows.push(SeenRow {
                            heat_temp_kelvin: kelvin,
                            heat_time_s: time_s,
                            seen: Some(if is_set { Seen::Set } else { Seen::NotSet }),
                            criterion: "set".to_owned(),
                            syringe: Some(format!("{number}-{copy}")),
                            force_n: None,
                            details: RowDetails {
                                lot: Some(format!("L{lot}")),
                                ..RowDetails::default()
                            },
                        });
                        if is_set {
                            break;
                        }
                    }
                }
            }
        }
    }
    SeenTable {
        sources: vec![Source {
            file: "simulated".to_owned(),
            sha256: String::new(),
            rows: rows.len(),
            used: rows.len(),
            worksheet: None,
        }],
        rows,
        runs_without_gel: Vec::new(),
        unknown_columns: Vec::new(),
        invented: true,
    }
}

/// Share of new syringes, of new lots, that set before a time: Gauss's sum over the lots.
fn share_set(scenario: &Scenario, time_s: f64) -> f64 {
    let place = ln_place(scenario.form, ASKED_KELVIN);
    let mut sum = [0.0; 2];
    for step in -400..=400 {
        let z = f64::from(step) * 0.02;
        let weight = (-0.5 * z * z).exp();
        let below = (time_s.ln() - place - scenario.lot_sd * z) / SCATTER;
        sum[0] += weight * scenario.form.share_below(below);
        sum[1] += weight;
    }
    sum[0] / sum[1]
}

fn run(scenario: &Scenario, seed: u64) -> Option<Run> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let table = table(scenario, &mut random);
    let options = SetTimeOptions {
        scatter: Some(scenario.form),
        reference_kelvin: Some(REFERENCE_KELVIN),
        ..SetTimeOptions::default()
    };
    let fitted = calibrate_set_time(&table, &options).ok()?;
    let blend = fitted.blend(None).ok()?;
    let question = SetTimeQuestion {
        set_kelvin: ASKED_KELVIN,
        criterion: None,
        lot: None,
        altitude_m: 0.0,
        extrapolate: false,
        draws: 4000,
        seed: 1,
        invented: true,
    };
    let answer = set_time(blend, &question).ok()?.set_time_s;
    let inside = |name, truth: f64| {
        let [low, high] = blend.parameter(name)?.ci95?;
        Some(low <= truth && truth <= high)
    };
    let median = ln_place(scenario.form, ASKED_KELVIN) + SCATTER * scenario.form.deviate(0.5);
    let lots_below = |time_s: f64| {
        if scenario.lot_sd == 0.0 {
            return f64::from(u8::from(time_s.ln() >= median));
        }
        ScatterForm::Lognormal.share_below((time_s.ln() - median) / scenario.lot_sd)
    };
    let [low, high] = answer.median_interval95;
    let [first, last] = answer.syringe_interval95;
    Some(Run {
        energy_inside: inside(SetTimeName::ActivationEnergy, ENERGY_J_PER_MOL)?,
        reference_inside: inside(
            SetTimeName::SetTimeRef,
            ln_place(scenario.form, REFERENCE_KELVIN).exp(),
        )?,
        set_by_not_before: share_set(scenario, answer.not_before),
        medians_inside: lots_below(high) - lots_below(low),
        syringes_inside: share_set(scenario, last) - share_set(scenario, first),
    })
}

/// Mean of shares in percent, with its standard error.
fn percent(values: &[f64]) -> String {
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let squares: f64 = values.iter().map(|v| (v - mean) * (v - mean)).sum();
    let error = (squares / (count - 1.0) / count).sqrt();
    format!("{:.1} ± {:.1}", 100.0 * mean, 100.0 * error)
}

fn main() {
    let runs: u64 = std::env::args()
        .nth(1)
        .and_then(|n| n.parse().ok())
        .unwrap_or(1000);
    println!("# How often set times from set and not-set hold what they promise\n");
    println!("Made by this command, the same on any number of threads:\n");
    println!(
        "```sh\ncargo run --release --no-default-features --example set-time-coverage {runs} > shared/verification/censored-coverage.md\n```\n"
    );
    println!(
        "Invented syringes, nothing seen: median set time {MEDIAN_REF_S} s at 81 °C, activation energy 255 kJ/mol, scatter {SCATTER} of ln of the set time; 76, 81 and 86 °C with looks at 0.6, 0.75, 0.9, 1.05, 1.25 and 1.5 times the median. Asked at 84 °C. The form of the scatter is taken as known. After ± stands the Monte Carlo standard error. Refused: benches whose syringes are parted without overlap, or tell no activation energy.\n"
    );
    println!(
        "- E, set time: how often the 95 % intervals of the fit hold the truth (Student's t with lots - 1 for the set time)."
    );
    println!(
        "- not before: share of new syringes of new lots that have set by then; 95 is promised."
    );
    println!(
        "- new lot: share of new lots whose median lies in its interval; one syringe: share of new syringes in theirs.\n"
    );
    println!(
        "| lots | spread between lots | syringes | looks | scatter | benches | refused | E, % | set time, % | not before, % | new lot, % | one syringe, % |"
    );
    println!("|---|---|---|---|---|---|---|---|---|---|---|---|");
    let lognormal = ScatterForm::Lognormal;
    let scenarios = [
        Scenario {
            lots: 1,
            lot_sd: 0.0,
            copies: 2,
            again: None,
            form: lognormal,
        },
        Scenario {
            lots: 1,
            lot_sd: 0.0,
            copies: 4,
            again: None,
            form: lognormal,
        },
        Scenario {
            lots: 3,
            lot_sd: 0.12,
            copies: 1,
            again: None,
            form: lognormal,
        },
        Scenario {
            lots: 5,
            lot_sd: 0.12,
            copies: 1,
            again: None,
            form: lognormal,
        },
        Scenario {
            lots: 8,
            lot_sd: 0.12,
            copies: 1,
            again: None,
            form: lognormal,
        },
        Scenario {
            lots: 5,
            lot_sd: 0.0,
            copies: 1,
            again: None,
            form: lognormal,
        },
        Scenario {
            lots: 5,
            lot_sd: 0.25,
            copies: 1,
            again: Some(1.3),
            form: lognormal,
        },
        Scenario {
            lots: 5,
            lot_sd: 0.12,
            copies: 1,
            again: None,
            form: ScatterForm::Weibull,
        },
    ];
    for scenario in &scenarios {
        let done: Vec<Option<Run>> = (0..runs)
            .into_par_iter()
            .map(|seed| run(scenario, seed + 1))
            .collect();
        let found: Vec<&Run> = done.iter().flatten().collect();
        let share = |of: fn(&Run) -> f64| percent(&found.iter().map(|r| of(r)).collect::<Vec<_>>());
        println!(
            "| {} | {} | {} | {} | {} | {runs} | {} | {} | {} | {} | {} | {} |",
            scenario.lots,
            scenario.lot_sd,
            scenario.lots * KELVINS.len() * LOOKS.len() * scenario.copies,
            if scenario.again.is_some() {
                "up to two"
            } else {
                "one"
            },
            scenario.form.as_str(),
            done.len() - found.len(),
            share(|r| f64::from(u8::from(r.energy_inside))),
            share(|r| f64::from(u8::from(r.reference_inside))),
            share(|r| r.set_by_not_before),
            share(|r| r.medians_inside),
            share(|r| r.syringes_inside)
        );
    }
}
