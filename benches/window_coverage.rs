//! Whether each limit of the heat window, and the two-sided interval, hold a new lot as often as they
//! say: `cargo run --release --no-default-features --example window-coverage [RUNS]`.
//!
//! Benches of 3, 5 and 10 lots with 15 readings each are simulated (lots differ in ln initial,
//! ln plateau and ln rate), fitted, and asked. Then one syringe of one more lot is heated and pushed
//! as the answer allows for: its own scatter of a reading, bore, friction, flow rate and temperature
//! of its place in the block. The time until which it passes, and the time from which it is firm
//! enough, are exact; they lie on the right side of a limit, or not.
#![allow(clippy::unwrap_used, clippy::print_stdout, missing_docs)]

use heatset::fit::{BlendCalibration, FitOptions, calibrate};
use heatset::flow::{PushConditions, PushInputs, viscosity_for_force};
use heatset::kinetics::{ArrheniusRate, FirmnessCurve, FirmnessLaw, ReactionOrder, SettingModel};
use heatset::plan::{
    CoolingAsked, Least, NeedleUsed, PushSetup, StatedThinning, TimeQuestion, Varied, heat_time,
};
use heatset::readings::{BenchTable, ReadingKind};
use heatset::reference::{BoreBasis, Wall};
use heatset::thermal::WarmUp;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;

/// Standard deviations between lots of ln initial, ln plateau and ln rate; scatter of a reading.
const LOT_SDS: [f64; 3] = [0.10, 0.15, 0.25];
const SCATTER: f64 = 0.08;
const SET_KELVIN: f64 = 353.15;
const LIMIT_N: f64 = 20.0;
const LEAST_N: f64 = 6.0;
/// So high that the window is open whenever the gel gets firm enough.
const NO_LIMIT_N: f64 = 200.0;
const SETTINGS: [(f64, [f64; 5]); 3] = [
    (348.15, [10.0, 20.0, 40.0, 60.0, 90.0]),
    (353.15, [5.0, 10.0, 20.0, 40.0, 60.0]),
    (358.15, [2.0, 5.0, 10.0, 20.0, 30.0]),
];
const DRAWS: usize = 4000;

fn normal(random: &mut ChaCha8Rng) -> f64 {
    StandardNormal.sample(random)
}

fn lot(random: &mut ChaCha8Rng) -> SettingModel {
    let [initial, plateau, rate] = LOT_SDS.map(|sd| (sd * normal(random)).exp());
    SettingModel {
        firmness: FirmnessCurve::Log {
            initial: 1.6e-3 * initial,
            plateau: 4.0 * plateau,
        },
        order: ReactionOrder(1.0),
        rate: ArrheniusRate {
            rate_ref_per_s: 1.0e-3 * rate,
            activation_energy_j_per_mol: 250e3,
            reference_kelvin: SET_KELVIN,
        },
        dose_lag_s: 0.0,
        warm_up: WarmUp::None,
    }
}

fn calibration(lots: usize, random: &mut ChaCha8Rng) -> Option<BlendCalibration> {
    let mut rows: Vec<(f64, f64, f64)> = Vec::new();
    let mut names = Vec::new();
    for number in 0..lots {
        let setting = lot(random);
        for (kelvin, minutes) in SETTINGS {
            for minute in minutes {
                let scatter = (SCATTER * normal(random)).exp();
                rows.push((
                    kelvin,
                    minute * 60.0,
                    setting.reading(kelvin, minute * 60.0) * scatter,
                ));
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
        ..FitOptions::default()
    };
    Some(calibrate(&table, &options).ok()?.blends.swap_remove(0))
}

/// One syringe of a new lot: the heat time at which its push reaches each force, in s.
fn times_of_a_syringe<const N: usize>(
    setup: &PushSetup,
    forces_n: [f64; N],
    random: &mut ChaCha8Rng,
) -> Option<[f64; N]> {
    let setting = lot(random);
    let scatter = (SCATTER * normal(random)).exp();
    let mut even = || random.random_range(-1.0..=1.0);
    let inputs = *setup.conditions().ok()?.inputs();
    let tolerance_m = setup.needle.bore_tolerance_m.unwrap_or(0.0);
    let own = PushConditions::new(PushInputs {
        bore_m: inputs.bore_m + tolerance_m * even(),
        friction_n: inputs.friction_n + setup.doubts.friction_tolerance_n * even(),
        flow_rate_m3_per_s: inputs.flow_rate_m3_per_s
            * (1.0 + setup.doubts.flow_tolerance_ratio * even()),
        ..inputs
    })
    .ok()?;
    let place_kelvin = SET_KELVIN + setup.doubts.block_tolerance_k * even();
    let mut times = [f64::INFINITY; N];
    for (time, force_n) in times.iter_mut().zip(forces_n) {
        let viscosity = viscosity_for_force(&own, 1.0, 1.0, force_n).ok()?;
        let fraction = setting.firmness.conversion_at_reading(viscosity / scatter);
        // A gel that never reaches the force is later than all.
        if fraction < 1.0 {
            *time = setting.clock_time_for_conversion_s(place_kelvin, fraction);
        }
    }
    Some(times)
}

fn question(setup: &PushSetup, least: Option<Least>, seed: u64) -> TimeQuestion {
    TimeQuestion {
        set_kelvin: SET_KELVIN,
        setup: setup.clone(),
        thinning: StatedThinning::default(),
        least,
        warm_up: None,
        contact_histories: Vec::new(),
        cooling: CoolingAsked::default(),
        altitude_m: 0.0,
        extrapolate: true,
        draws: DRAWS,
        varied: Varied::ALL,
        seed,
        invented: false,
    }
}

/// Whether 'not beyond', 'not before' and the two-sided interval held.
fn run(lots: usize, seed: u64) -> Option<[bool; 3]> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let blend = calibration(lots, &mut random)?;
    let needle = NeedleUsed::of_gauge(29, Wall::Regular, BoreBasis::Nominal, 13e-3).ok()?;
    let setup = PushSetup {
        force_limit_n: LIMIT_N,
        ..PushSetup::with_needle(needle).ok()?
    };
    let [passes_until_s, firm_from_s] =
        times_of_a_syringe(&setup, [LIMIT_N, LEAST_N], &mut random)?;
    let passing = heat_time(&blend, &question(&setup, None, seed)).ok()?;
    let [low, high] = passing.heat_time_s_interval95;
    let open = PushSetup {
        force_limit_n: NO_LIMIT_N,
        ..setup
    };
    let firm = heat_time(&blend, &question(&open, Some(Least::Force(LEAST_N)), seed)).ok()?;
    // An open end holds everything beyond it.
    let not_beyond = passing.heat_time_s.not_beyond.unwrap_or(f64::INFINITY);
    let not_before = firm.heat_time_s.not_before.unwrap_or(f64::INFINITY);
    Some([
        passes_until_s >= not_beyond,
        firm_from_s <= not_before,
        low.unwrap_or(f64::INFINITY) <= passes_until_s
            && passes_until_s <= high.unwrap_or(f64::INFINITY),
    ])
}

fn main() {
    let runs: u64 = std::env::args()
        .nth(1)
        .and_then(|n| n.parse().ok())
        .unwrap_or(4000);
    println!("# How often the heat window holds a new lot\n");
    println!("Made by this command, the same on any number of threads:\n");
    println!(
        "```sh\ncargo run --release --no-default-features --example window-coverage > shared/verification/window-coverage.md\n```\n"
    );
    println!(
        "Simulated benches, nothing measured: law `log`, order 1, 15 readings a lot at 75, 80 and 85 °C; lots differ by 0.10, 0.15 and 0.25 in ln initial, ln plateau and ln rate, readings scatter by 0.08. Asked: 80 °C, 29G x 13 mm, 20 N, at least {LEAST_N} N, {DRAWS} draws. The syringe that is then heated is of a lot that the bench did not have, with its own scatter, bore, friction, flow rate and place in the block, each over the stated default range. 95 % is meant; after ± stands the Monte Carlo standard error.\n"
    );
    println!(
        "| lots | benches | not fitted | not beyond holds, % | not before holds, % | two-sided interval holds, % |"
    );
    println!("|---|---|---|---|---|---|");
    for lots in [3, 5, 10] {
        let found: Vec<[bool; 3]> = (0..runs)
            .into_par_iter()
            .filter_map(|seed| run(lots, 1_000_000 * lots as u64 + seed))
            .collect();
        let count = found.len() as f64;
        let share = |which: usize| {
            let held = found.iter().filter(|run| run[which]).count() as f64 / count;
            let error = (held * (1.0 - held) / count).sqrt();
            format!("{:.1} ± {:.1}", 100.0 * held, 100.0 * error)
        };
        println!(
            "| {lots} | {runs} | {} | {} | {} | {} |",
            runs - found.len() as u64,
            share(0),
            share(1),
            share(2)
        );
    }
}
