//! Whether planned benches tell what they were planned to tell, as a Markdown document:
//! `cargo run --release --no-default-features --example plan-bench-widths`.
#![allow(clippy::print_stdout, clippy::unwrap_used)]

use heatset::fit::{FitOptions, calibrate};
use heatset::kinetics::{ArrheniusRate, FirmnessCurve, FirmnessLaw, ReactionOrder, SettingModel};
use heatset::plan::bench_plan::{
    Aggregate, AskedWidth, BeliefCase, Beliefs, BenchLimits, BenchPlan, BenchPlanQuestion, ForWhom,
    smallest_bench,
};
use heatset::plan::{
    CoolingAsked, NeedleUsed, PushSetup, StatedThinning, TimeQuestion, Varied, heat_time,
};
use heatset::readings::{BenchTable, ReadingKind};
use heatset::reference::{BoreBasis, Wall};
use heatset::thermal::WarmUp;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;

const SEED: u64 = 20_261_126;
/// Simulated benches of each plan; another number may be given as the first argument.
const BENCHES: usize = 200;
const DRAWS: usize = 2000;
const SET_KELVIN: f64 = 358.15;

fn question(lots: usize, width: f64) -> BenchPlanQuestion {
    let needle = NeedleUsed::of_gauge(29, Wall::Regular, BoreBasis::Nominal, 13e-3).unwrap();
    BenchPlanQuestion {
        beliefs: Beliefs {
            activation_energy_j_per_mol: heatset::plan::bench_plan::Span {
                least: 270e3,
                most: 330e3,
            },
            half_time_s: heatset::plan::bench_plan::Span {
                least: 480.0,
                most: 720.0,
            },
            plateau_pa_s: heatset::plan::bench_plan::Span {
                least: 5.0,
                most: 20.0,
            },
            ..Beliefs::default()
        },
        limits: BenchLimits {
            lots,
            ..BenchLimits::default()
        },
        asked_kelvin: vec![SET_KELVIN],
        setup: PushSetup::with_needle(needle).unwrap(),
        thinning: StatedThinning::default(),
        warm_up: WarmUp::None,
        width: AskedWidth::Ratio(width),
        for_whom: ForWhom::NewLot,
        aggregate: Aggregate::Worst,
        temperatures: 3,
        altitude_m: 0.0,
        seed: 1,
    }
}

fn simulated(plan: &BenchPlan, beliefs: &Beliefs, case: &BeliefCase, bench: usize) -> BenchTable {
    let mut random = ChaCha8Rng::seed_from_u64(SEED);
    random.set_stream(bench as u64);
    let (mut temperatures, mut times, mut readings, mut lots) =
        (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for lot in 0..plan.lots {
        let mut moved = |value: f64, sd: f64| {
            let z: f64 = StandardNormal.sample(&mut random);
            value * (sd * z).exp()
        };
        let model = SettingModel {
            firmness: FirmnessCurve::Log {
                initial: moved(case.initial_pa_s, beliefs.lot_spread_initial_ratio),
                plateau: moved(case.plateau_pa_s, beliefs.lot_spread_plateau_ratio),
            },
            order: ReactionOrder(1.0),
            rate: ArrheniusRate {
                rate_ref_per_s: moved(
                    std::f64::consts::LN_2 / case.half_time_s,
                    beliefs.lot_spread_rate_ratio,
                ),
                activation_energy_j_per_mol: case.activation_energy_j_per_mol,
                reference_kelvin: beliefs.half_time_temp_k,
            },
            dose_lag_s: 0.0,
            warm_up: WarmUp::None,
        };
        for setting in &plan.settings {
            let z: f64 = StandardNormal.sample(&mut random);
            temperatures.push(setting.heat_temp_k);
            times.push(setting.heat_time_s);
            readings.push(
                model.reading(setting.heat_temp_k, setting.heat_time_s)
                    * (beliefs.reading_scatter_ratio * z).exp(),
            );
            lots.push(format!("L{lot:02}"));
        }
    }
    let mut table =
        BenchTable::from_arrays(ReadingKind::Viscosity, temperatures, times, readings).unwrap();
    for (row, lot) in table.rows.iter_mut().zip(lots) {
        row.lot = Some(lot);
    }
    table
}

/// Half of the 95 % interval of `heatset time`, on the logarithm; `None` where the fit does not tell
/// lots apart or an end is open.
fn answered(table: &BenchTable, setup: &PushSetup, seed: u64) -> Option<f64> {
    let calibration = calibrate(
        table,
        &FitOptions {
            law: Some(FirmnessLaw::Log),
            ..FitOptions::default()
        },
    )
    .ok()?;
    let blend = &calibration.blends[0];
    blend.lots.as_ref().filter(|lots| lots.are_separate())?;
    let answer = heat_time(
        blend,
        &TimeQuestion {
            set_kelvin: SET_KELVIN,
            setup: setup.clone(),
            thinning: StatedThinning::default(),
            least: None,
            warm_up: None,
            contact_histories: Vec::new(),
            cooling: CoolingAsked::default(),
            altitude_m: 0.0,
            extrapolate: true,
            draws: DRAWS,
            varied: Varied::ALL,
            seed,
            invented: false,
        },
    )
    .ok()?;
    let [low, high] = answer.heat_time_s_interval95;
    Some(0.5 * (high? / low?).ln())
}

fn main() {
    let benches = std::env::args()
        .nth(1)
        .and_then(|text| text.parse().ok())
        .unwrap_or(BENCHES);
    println!(
        "\
# Whether a planned bench tells what it was planned to tell

Made by this command, the same on any number of threads:

```sh
cargo run --release --no-default-features --example plan-bench-widths > shared/verification/plan-bench-widths.md
```

Simulated benches, nothing measured: gels of the belief (270 to 330 kJ/mol, half set at 85 °C in 8 to 12 min, plateau \
5 to 20 Pa.s, the default spreads), {benches} benches a line, fitted as `heatset fit` does it and asked as \
`heatset time` does it: 85 °C, 29G x 13 mm, 20 N, a new lot, {DRAWS} draws. Widths are halves of the 95 % interval \
of ln heat time. *Worst* and *middle* are the gels of the belief that the plan calls worst and its middle one.
"
    );
    println!(
        "| lots | readings a lot | gel | expected | mean of the benches | nine of ten expected under | nine of ten are under | lots not told apart |"
    );
    println!("|---|---|---|---|---|---|---|---|");
    for (lots, width) in [(3, 1.2), (5, 0.65), (8, 0.5)] {
        let asked = question(lots, width);
        let plan = smallest_bench(&asked).unwrap();
        let worst = plan
            .cases
            .iter()
            .max_by(|a, b| {
                a.new_lot_half_width_ratio
                    .total_cmp(&b.new_lot_half_width_ratio)
            })
            .unwrap();
        for (name, case) in [("worst", worst), ("middle", &plan.cases[0])] {
            let mut found: Vec<f64> = (0..benches)
                .into_par_iter()
                .filter_map(|bench| {
                    let table = simulated(&plan, &asked.beliefs, &case.case, bench);
                    answered(&table, &asked.setup, bench as u64 + 1)
                })
                .collect();
            found.sort_by(f64::total_cmp);
            let mean = found.iter().sum::<f64>() / found.len() as f64;
            let ninth = found[(0.9 * found.len() as f64) as usize];
            println!(
                "| {} | {} | {name} | {:.3} | {mean:.3} | {:.3} | {ninth:.3} | {} |",
                plan.lots,
                plan.readings_a_lot,
                case.new_lot_half_width_ratio.asinh(),
                case.new_lot_half_width_ratio_nine_of_ten.asinh(),
                benches - found.len()
            );
        }
    }
}
