//! Whether '95 %' covers a new lot: `cargo run --release --example lot-coverage [RUNS]`.
//!
//! Benches of 3, 5 and 10 lots with 15 readings each are simulated (lots differ in ln initial,
//! ln plateau and ln rate), fitted, and asked for the heat time of a push. The true heat time of one
//! more lot is then inside the interval or not. Three ways are compared: the answer of heatset
//! (mixed effects), the plain method (each lot fitted on its own with the common activation energy;
//! Student's t on ln heat time with lots - 1 degrees of freedom and sqrt(1 + 1/lots)), and mean
//! +- 1.96 s, which covers 77, 85 and 91 % by Student's t.
#![allow(clippy::unwrap_used, clippy::print_stdout, missing_docs)]

use heatset::fit::bench::{BenchRows, Shape, fit_bench};
use heatset::fit::{ErrorModel, FitOptions, Held, ParameterName, calibrate, t_quantile};
use heatset::kinetics::{ArrheniusRate, FirmnessCurve, FirmnessLaw, ReactionOrder, SettingModel};
use heatset::plan::{NeedleUsed, PushSetup, StatedThinning, TimeQuestion, Varied, heat_time};
use heatset::readings::{BenchTable, ReadingKind};
use heatset::reference::{BoreBasis, Wall};
use heatset::thermal::WarmUp;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;

/// Standard deviations between lots of ln initial, ln plateau and ln rate; scatter of a reading.
const LOT_SDS: [f64; 3] = [0.10, 0.15, 0.25];
const SCATTER: f64 = 0.08;
const SETTINGS: [(f64, [f64; 5]); 3] = [
    (348.15, [10.0, 20.0, 40.0, 60.0, 90.0]),
    (353.15, [5.0, 10.0, 20.0, 40.0, 60.0]),
    (358.15, [2.0, 5.0, 10.0, 20.0, 30.0]),
];

fn lot(random: &mut ChaCha8Rng) -> SettingModel {
    let mut deviation = |sd: f64| {
        let z: f64 = StandardNormal.sample(random);
        (sd * z).exp()
    };
    SettingModel {
        firmness: FirmnessCurve::Log {
            initial: 1.6e-3 * deviation(LOT_SDS[0]),
            plateau: 4.0 * deviation(LOT_SDS[1]),
        },
        order: ReactionOrder(1.0),
        rate: ArrheniusRate {
            rate_ref_per_s: 1.0e-3 * deviation(LOT_SDS[2]),
            activation_energy_j_per_mol: 250e3,
            reference_kelvin: 353.15,
        },
        dose_lag_s: 0.0,
        warm_up: WarmUp::None,
    }
}

struct Run {
    inside: [bool; 3],
    ln_width: [f64; 3],
}

fn run(lots: usize, seed: u64) -> Option<Run> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut rows: Vec<(f64, f64, f64)> = Vec::new();
    let mut names = Vec::new();
    for number in 0..lots {
        let setting = lot(&mut random);
        for (kelvin, minutes) in SETTINGS {
            for minute in minutes {
                let z: f64 = StandardNormal.sample(&mut random);
                let reading = setting.reading(kelvin, minute * 60.0) * (SCATTER * z).exp();
                rows.push((kelvin, minute * 60.0, reading));
                names.push(number);
            }
        }
    }
    let column = |pick: fn(&(f64, f64, f64)) -> f64| rows.iter().map(pick).collect::<Vec<_>>();
    let mut table = BenchTable::from_arrays(
        ReadingKind::Viscosity,
        column(|r| r.0),
        column(|r| r.1),
        column(|r| r.2),
    )
    .ok()?;
    for (details, number) in table.rows.iter_mut().zip(&names) {
        details.lot = Some(format!("lot-{number:02}"));
    }
    let options = FitOptions {
        law: Some(FirmnessLaw::Log),
        reference_kelvin: Some(353.15),
        ..FitOptions::default()
    };
    let calibration = calibrate(&table, &options).ok()?;
    let blend = &calibration.blends[0];
    let needle = NeedleUsed::of_gauge(29, Wall::Regular, BoreBasis::Nominal, 13e-3).ok()?;
    let question = TimeQuestion {
        set_kelvin: 353.15,
        setup: PushSetup::with_needle(needle).ok()?,
        thinning: StatedThinning::default(),
        least: None,
        warm_up: None,
        contact_histories: Vec::new(),
        cooling: heatset::plan::CoolingAsked::default(),
        altitude_m: 0.0,
        extrapolate: true,
        draws: 4000,
        varied: Varied {
            parameters: true,
            lot: true,
            ..Varied::NONE
        },
        seed,
        invented: false,
    };
    let viscosity = heatset::flow::viscosity_for_force(
        &question.setup.conditions().ok()?,
        1.0,
        1.0,
        question.setup.force_limit_n,
    )
    .ok()?;
    let time = |setting: &SettingModel| {
        let fraction = setting.firmness.conversion_at_reading(viscosity);
        setting.clock_time_for_conversion_s(353.15, fraction)
    };
    // A lot that never reaches the force is later than all.
    let truth = time(&lot(&mut random)).ln();

    let answer = heat_time(blend, &question).ok()?;
    let [low, high] = answer.heat_time_s_interval95;
    let ours = (
        low.map_or(f64::INFINITY, f64::ln),
        high.map_or(f64::INFINITY, f64::ln),
    );

    let energy = blend.parameter(ParameterName::ActivationEnergy)?.estimate;
    let held = Held::default().with(ParameterName::ActivationEnergy, energy);
    let shape = Shape {
        held,
        ..Shape::new(FirmnessLaw::Log, ErrorModel::Relative, 353.15)
    };
    let logs: Vec<f64> = (0..lots)
        .map(|number| {
            let own: Vec<(f64, f64, f64)> = rows
                .iter()
                .zip(&names)
                .filter(|(_, n)| **n == number)
                .map(|(r, _)| *r)
                .collect();
            let fit = fit_bench(&BenchRows::new(&own), &shape);
            let get = |name| fit.estimates.get(name);
            let setting = SettingModel {
                firmness: FirmnessCurve::Log {
                    initial: get(ParameterName::Initial),
                    plateau: get(ParameterName::Plateau),
                },
                rate: ArrheniusRate {
                    rate_ref_per_s: get(ParameterName::RateRef),
                    activation_energy_j_per_mol: energy,
                    reference_kelvin: 353.15,
                },
                order: ReactionOrder(1.0),
                dose_lag_s: 0.0,
                warm_up: WarmUp::None,
            };
            time(&setting).ln()
        })
        .collect();
    let count = lots as f64;
    let mean = logs.iter().sum::<f64>() / count;
    let sd = (logs.iter().map(|l| (l - mean).powi(2)).sum::<f64>() / (count - 1.0)).sqrt();
    let plain = t_quantile(0.975, lots - 1)? * sd * (1.0 + 1.0 / count).sqrt();
    let naive = 1.96 * sd;
    Some(Run {
        inside: [
            ours.0 <= truth && truth <= ours.1,
            (truth - mean).abs() <= plain,
            (truth - mean).abs() <= naive,
        ],
        ln_width: [ours.1 - ours.0, 2.0 * plain, 2.0 * naive],
    })
}

fn main() {
    let runs: u64 = std::env::args()
        .nth(1)
        .and_then(|n| n.parse().ok())
        .unwrap_or(2000);
    println!(
        "| lots | runs | heatset covers | plain t covers | mean ± 1.96 s covers | median width heatset | plain t |"
    );
    println!("|---|---|---|---|---|---|---|");
    for lots in [3, 5, 10] {
        let found: Vec<Run> = (0..runs)
            .into_par_iter()
            .filter_map(|seed| run(lots, 1_000_000 * lots as u64 + seed))
            .collect();
        let n = found.len() as f64;
        let share = |which: usize| {
            let covered = found.iter().filter(|r| r.inside[which]).count() as f64 / n;
            let error = (covered * (1.0 - covered) / n).sqrt();
            format!("{:.1} ± {:.1} %", 100.0 * covered, 100.0 * error)
        };
        let width = |which: usize| {
            let mut widths: Vec<f64> = found.iter().map(|r| r.ln_width[which]).collect();
            widths.sort_by(f64::total_cmp);
            widths[widths.len() / 2]
        };
        println!(
            "| {lots} | {} of {runs} | {} | {} | {} | {:.2} | {:.2} |",
            found.len(),
            share(0),
            share(1),
            share(2),
            width(0),
            width(1)
        );
    }
}
