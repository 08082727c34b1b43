//! Benches, and the designs and questions that the tests put to them.

use crate::support::{self, bench, log_setting};
use heatset::fit::{BlendCalibration, Design, ErrorModel, FitOptions, Held, Predictor, calibrate};
use heatset::kinetics::FirmnessLaw;
use heatset::plan::{AskedHeatTime, NeedleUsed, NextQuestion, PushSetup, StatedThinning};
use heatset::readings::ReadingKind;
use heatset::reference::{BoreBasis, Wall};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

pub(crate) const KELVIN: f64 = 353.15;
/// Scatter of the simulated readings, on the logarithm.
pub(crate) const SCATTER: f64 = 0.07;

/// A bench of two readings a setting, one as far above the curve as the other below: the fit of as
/// many parameters as settings runs through their means, so its estimates are the truth.
pub(crate) fn fitted(
    settings: &[(f64, f64, usize)],
    curve: impl Fn(f64, f64) -> f64,
    held: Held,
) -> BlendCalibration {
    let mut rows = Vec::new();
    for &(kelvin, time_s, pairs) in settings {
        for _ in 0..pairs {
            rows.push((kelvin, time_s, curve(kelvin, time_s) + 0.01));
            rows.push((kelvin, time_s, curve(kelvin, time_s) - 0.01));
        }
    }
    let options = FitOptions {
        law: Some(FirmnessLaw::Linear),
        errors: ErrorModel::Absolute,
        reference_kelvin: Some(KELVIN),
        held,
        ..FitOptions::default()
    };
    let found = calibrate(&bench(ReadingKind::Firmness, &rows), &options).unwrap();
    found.blends.into_iter().next().unwrap()
}

pub(crate) fn design(blend: &BlendCalibration) -> (Predictor, Design) {
    let predictor = Predictor::new(blend).unwrap();
    let design = Design::new(
        predictor.covariance().clone(),
        predictor.residual_variance(),
    )
    .unwrap();
    (predictor, design)
}

pub(crate) fn even_grid(from: f64, to: f64, steps: usize) -> Vec<f64> {
    (0..=steps)
        .map(|i| from + (to - from) * i as f64 / steps as f64)
        .collect()
}

pub(crate) fn scattered(seed: u64) -> Vec<(f64, f64, f64)> {
    support::scattered(&log_setting(3e-3, 240e3, 1.6e-3, 6.0), SCATTER, seed)
}

pub(crate) fn fit_rows(rows: &[(f64, f64, f64)], options: &FitOptions) -> BlendCalibration {
    let found = calibrate(&bench(ReadingKind::Viscosity, rows), options).unwrap();
    found.blends.into_iter().next().unwrap()
}

pub(crate) fn log_options() -> FitOptions {
    FitOptions {
        law: Some(FirmnessLaw::Log),
        reference_kelvin: Some(KELVIN),
        ..FitOptions::default()
    }
}

pub(crate) fn asked(gauge: u8) -> AskedHeatTime {
    let needle = NeedleUsed::of_gauge(gauge, Wall::Regular, BoreBasis::Nominal, 13e-3).unwrap();
    AskedHeatTime {
        set_kelvin: 358.15,
        setup: PushSetup::with_needle(needle).unwrap(),
        thinning: StatedThinning::default(),
        warm_up: None,
    }
}

pub(crate) fn question(asked: Option<AskedHeatTime>) -> NextQuestion {
    NextQuestion {
        asked,
        altitude_m: 0.0,
        extrapolate: false,
        invented: false,
    }
}

pub(crate) fn random_rows(random: &mut ChaCha8Rng, count: usize, columns: usize) -> Vec<Vec<f64>> {
    (0..count)
        .map(|_| {
            (0..columns)
                .map(|_| StandardNormal.sample(random))
                .collect()
        })
        .collect()
}

/// Determinant by elimination, for small matrices.
pub(crate) fn determinant(matrix: &ndarray::Array2<f64>) -> f64 {
    let mut a = matrix.clone();
    let n = a.nrows();
    let mut product = 1.0;
    for k in 0..n {
        product *= a[[k, k]];
        for i in k + 1..n {
            let factor = a[[i, k]] / a[[k, k]];
            for j in k..n {
                a[[i, j]] -= factor * a[[k, j]];
            }
        }
    }
    product
}
