//! Benches for tests: published tables, and tables made from a known setting.
#![allow(dead_code, clippy::unwrap_used)]

use heatset::fit::{Calibration, FitOptions, Held, ParameterName, calibrate};
use heatset::kinetics::{ArrheniusRate, FirmnessCurve, ReactionOrder, SettingModel};
use heatset::readings::{BenchTable, ReadingKind};
use heatset::thermal::WarmUp;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

/// Rows of numbers of a CSV file with one header line.
pub fn numbers(text: &str) -> Vec<Vec<f64>> {
    text.lines()
        .filter(|line| !line.starts_with('#') && !line.trim().is_empty())
        .skip(1)
        .map(|line| {
            line.split(',')
                .map(|cell| cell.trim_matches('"').parse().unwrap())
                .collect()
        })
        .collect()
}

/// Rows of a published time course at one temperature: time in the last column but one, reading in
/// the last.
pub fn time_course(text: &str, kelvin: f64, time_unit_s: f64) -> Vec<(f64, f64, f64)> {
    numbers(text)
        .iter()
        .map(|r| (kelvin, r[r.len() - 2] * time_unit_s, r[r.len() - 1]))
        .collect()
}

/// What is held where the linear law is to be a plain first-order rise from 0 at one temperature.
pub fn rise_held() -> Held {
    Held::default()
        .with(ParameterName::Initial, 0.0)
        .with(ParameterName::ActivationEnergy, 50e3)
}

/// The simulated bench of 60 rows: set temperature in K, heat time in s, viscosity in Pa.s.
pub fn kinetic60() -> Vec<(f64, f64, f64)> {
    numbers(include_str!("../data/kinetic60.csv"))
        .iter()
        .map(|r| (r[1], r[2], r[6]))
        .collect()
}

/// A bench from (set temperature in K, heat time in s, reading).
pub fn bench(kind: ReadingKind, rows: &[(f64, f64, f64)]) -> BenchTable {
    let column = |pick: fn(&(f64, f64, f64)) -> f64| rows.iter().map(pick).collect::<Vec<_>>();
    BenchTable::from_arrays(kind, column(|r| r.0), column(|r| r.1), column(|r| r.2)).unwrap()
}

/// A setting with the log law and order 1, its rate given at 90 °C.
pub fn log_setting(rate_90c_per_s: f64, energy: f64, initial: f64, plateau: f64) -> SettingModel {
    SettingModel {
        firmness: FirmnessCurve::Log { initial, plateau },
        order: ReactionOrder(1.0),
        rate: ArrheniusRate {
            rate_ref_per_s: rate_90c_per_s,
            activation_energy_j_per_mol: energy,
            reference_kelvin: 363.15,
        },
        dose_lag_s: 0.0,
        warm_up: WarmUp::None,
    }
}

/// Rows of a setting at five temperatures from 70 to 90 °C, without any scatter.
pub fn exact_rows(setting: &SettingModel) -> Vec<(f64, f64, f64)> {
    let mut rows = Vec::new();
    for celsius in [70.0, 75.0, 80.0, 85.0, 90.0] {
        for minutes in [0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 40.0, 90.0] {
            let (set, time) = (celsius + 273.15, minutes * 60.0);
            rows.push((set, time, setting.reading(set, time)));
        }
    }
    rows
}

/// A calibration that holds a setting exactly.
pub fn exact_calibration(setting: &SettingModel) -> Calibration {
    let table = bench(ReadingKind::Viscosity, &exact_rows(setting));
    calibrate(&table, &FitOptions::default()).unwrap()
}

/// Options that hold parameters.
pub fn holding(held: Held) -> FitOptions {
    FitOptions {
        held,
        ..FitOptions::default()
    }
}

/// The same rows with relative scatter of standard deviation `sd` on the logarithm.
pub fn scattered(setting: &SettingModel, sd: f64, seed: u64) -> Vec<(f64, f64, f64)> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    exact_rows(setting)
        .into_iter()
        .map(|(t, s, p)| {
            let z: f64 = StandardNormal.sample(&mut random);
            (t, s, p * (sd * z).exp())
        })
        .collect()
}
