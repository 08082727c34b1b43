//! What ignoring the warm-up costs, and that a declared one costs nothing: simulated benches read
//! from syringes, with the truth known.
#![allow(clippy::unwrap_used, missing_docs)]

use heatset::fit::{FitOptions, ParameterName, WarmUpChoice, calibrate};
use heatset::kinetics::{ArrheniusRate, FirmnessCurve, ReactionOrder, SettingModel};
use heatset::readings::{BenchTable, ReadingKind};
use heatset::reference::find_syringe;
use heatset::thermal::{
    DeclaredSyringe, MeasuredTrace, StatedWarmUp, TemperatureHistory, TracePoint, WarmUp, fit_lag,
};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

const ROOM_KELVIN: f64 = 295.15;
const TRUE_ENERGY: f64 = 250e3;
const BENCHES: u64 = 60;

fn truth(warm_up: WarmUp) -> SettingModel {
    SettingModel {
        firmness: FirmnessCurve::Log {
            initial: 1.6e-3,
            plateau: 12.0,
        },
        order: ReactionOrder(1.0),
        rate: ArrheniusRate {
            rate_ref_per_s: 1.2e-3,
            activation_energy_j_per_mol: TRUE_ENERGY,
            reference_kelvin: 355.15,
        },
        dose_lag_s: 0.0,
        warm_up,
    }
}

/// 60 readings at 76 to 90 °C, twelve times a temperature, 8 % scatter.
fn bench(truth: &SettingModel, seed: u64) -> BenchTable {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let (mut kelvin, mut times, mut readings) = (Vec::new(), Vec::new(), Vec::new());
    for celsius in [76.0, 79.5, 83.0, 86.5, 90.0] {
        let set = celsius + 273.15;
        for i in 0..12 {
            let fraction = 0.08 + 0.082 * f64::from(i);
            let time_s = truth.clock_time_for_conversion_s(set, fraction).round();
            let z: f64 = StandardNormal.sample(&mut random);
            kelvin.push(set);
            times.push(time_s);
            readings.push(truth.reading(set, time_s) * (0.08 * z).exp());
        }
    }
    BenchTable::from_arrays(ReadingKind::Viscosity, kelvin, times, readings).unwrap()
}

/// Estimate and interval of the activation energy, and the scatter that is left.
fn energy(table: &BenchTable, warm_up: &WarmUp) -> (f64, [f64; 2], f64) {
    let options = FitOptions {
        warm_up: WarmUpChoice::Declared(warm_up.clone()),
        start_kelvin: ROOM_KELVIN,
        ..FitOptions::default()
    };
    let calibration = calibrate(table, &options).unwrap();
    let blend = &calibration.blends[0];
    let found = blend.parameter(ParameterName::ActivationEnergy).unwrap();
    (found.estimate, found.ci95.unwrap(), blend.fit.residual_sd)
}

struct Outcome {
    mean_kj: f64,
    covered: usize,
    scatter: f64,
}

fn outcome(history: &WarmUp, declared: &WarmUp) -> Outcome {
    let truth = truth(history.clone());
    let fits: Vec<(f64, [f64; 2], f64)> = (1..=BENCHES)
        .map(|seed| energy(&bench(&truth, seed), declared))
        .collect();
    let count = fits.len() as f64;
    Outcome {
        mean_kj: fits.iter().map(|f| f.0).sum::<f64>() / count / 1e3,
        covered: fits
            .iter()
            .filter(|(_, [low, high], _)| *low <= TRUE_ENERGY && TRUE_ENERGY <= *high)
            .count(),
        scatter: fits.iter().map(|f| f.2).sum::<f64>() / count,
    }
}

fn syringe(name: &str) -> WarmUp {
    let syringe = DeclaredSyringe::of(&find_syringe(name).unwrap()).unwrap();
    StatedWarmUp::Syringe(syringe)
        .history(ROOM_KELVIN, None)
        .unwrap()
}

/// A thermocouple's record of a history, every 4 s, read to 0.1 K, at one set temperature.
fn record(history: &WarmUp, set_kelvin: f64) -> MeasuredTrace {
    let points = (0..300)
        .map(|i| f64::from(i) * 4.0)
        .map(|time_s| TracePoint {
            time_s,
            temperature_kelvin: (history.temperature_kelvin(set_kelvin, time_s) * 10.0).round()
                / 10.0,
        })
        .collect();
    MeasuredTrace::new(points).unwrap()
}

/// The expected share of intervals that cover is 95 %; of 60 it is at least 52 with a probability
/// of 99.8 % (binomial).
#[test]
fn a_declared_history_leaves_the_activation_energy_unbiased() {
    for name in ["1mL", "3mL"] {
        let history = syringe(name);
        let found = outcome(&history, &history);
        println!(
            "{name} declared: mean {:.1} kJ/mol, {} of {BENCHES} intervals cover, scatter {:.3}",
            found.mean_kj, found.covered, found.scatter
        );
        assert!(found.covered >= 52, "{name}: {}", found.covered);
        assert!((found.mean_kj - 250.0).abs() < 2.0, "{}", found.mean_kj);
        assert!((found.scatter - 0.08).abs() < 0.01, "{}", found.scatter);
    }
}

#[test]
fn ignoring_the_warm_up_biases_the_activation_energy_and_swells_the_scatter() {
    let ignored = outcome(&syringe("1mL"), &WarmUp::None);
    println!(
        "1mL ignored: mean {:.1} kJ/mol, {} of {BENCHES} intervals cover, scatter {:.3}",
        ignored.mean_kj, ignored.covered, ignored.scatter
    );
    assert!(ignored.covered <= 3, "{}", ignored.covered);
    assert!(ignored.mean_kj < 235.0, "{}", ignored.mean_kj);
    assert!(ignored.scatter > 0.1, "{}", ignored.scatter);
}

/// A trace taken at one temperature serves the whole bench. The lag fitted to it comes near: one
/// time constant does not tell the whole of even a thin syringe's warm-up.
#[test]
fn a_trace_serves_as_well_and_the_lag_fitted_to_it_nearly() {
    let history = syringe("1mL");
    let trace = record(&history, 363.15);
    let lag = fit_lag(&trace, None).unwrap();
    let by_lag = WarmUp::lag(lag.time_constant_s, ROOM_KELVIN).unwrap();
    let by_trace = StatedWarmUp::Trace {
        file: "record.csv".to_owned(),
        trace,
    }
    .history(ROOM_KELVIN, None)
    .unwrap();
    // One time constant is an average: here it costs 2 % of the energy, outside its own interval.
    for (name, declared, least_covered, within_kj) in
        [("trace", by_trace, 50, 2.0), ("lag", by_lag, 0, 8.0)]
    {
        let found = outcome(&history, &declared);
        println!(
            "{name}: mean {:.1} kJ/mol, {} of {BENCHES} intervals cover, scatter {:.3}",
            found.mean_kj, found.covered, found.scatter
        );
        assert!(found.covered >= least_covered, "{name}: {}", found.covered);
        let off_kj = (found.mean_kj - 250.0).abs();
        assert!(off_kj < within_kj, "{name}: {off_kj}");
    }
}
