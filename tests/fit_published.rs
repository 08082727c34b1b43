//! The bench fit against published fits and independent libraries.
#![allow(clippy::unwrap_used)]

mod support;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use heatset::fit::{BlendCalibration, ErrorModel, FitOptions, ParameterName, calibrate};
use heatset::kinetics::FirmnessLaw;
use heatset::readings::ReadingKind;
use support::{bench, holding, kinetic60, rise_held, time_course};

fn estimate(blend: &BlendCalibration, name: ParameterName) -> (f64, f64) {
    let parameter = blend.parameter(name).unwrap();
    (parameter.estimate, parameter.std_error.unwrap_or(f64::NAN))
}

/// A published time course at one temperature, fitted as a plain first-order rise from 0.
fn fitted_rise(text: &str, kelvin: f64, time_unit_s: f64) -> BlendCalibration {
    let options = FitOptions {
        law: Some(FirmnessLaw::Linear),
        errors: ErrorModel::Absolute,
        ..holding(rise_held())
    };
    let rows = time_course(text, kelvin, time_unit_s);
    let table = bench(ReadingKind::Firmness, &rows);
    calibrate(&table, &options).unwrap().blends.remove(0)
}

/// Simulated bench of 60 rows; optimum computed with SciPy and polished with mpmath to ten digits.
#[test]
fn the_sixty_row_bench_has_the_optimum_of_independent_libraries() {
    let options = FitOptions {
        law: Some(FirmnessLaw::Log),
        reference_kelvin: Some(353.15),
        ..FitOptions::default()
    };
    let fitted = calibrate(&bench(ReadingKind::Viscosity, &kinetic60()), &options).unwrap();
    let blend = &fitted.blends[0];
    let gas = 8.314_462_618;
    for (name, value, error) in [
        (
            ParameterName::Initial,
            (-6.470238414_f64).exp(),
            0.0208883091,
        ),
        (ParameterName::Plateau, 2.441209507_f64.exp(), 0.0265397760),
        (
            ParameterName::RateRef,
            (-6.111512099_f64).exp(),
            0.00875665652,
        ),
        (
            ParameterName::ActivationEnergy,
            18035.43434 * gas,
            93.55915 * gas,
        ),
    ] {
        let (found, found_error) = estimate(blend, name);
        assert_relative_eq!(found, value, max_relative = 1e-9);
        assert_relative_eq!(found_error, error, max_relative = 1e-7);
    }
    assert_relative_eq!(blend.fit.weighted_rss, 0.2590001910, max_relative = 1e-9);
}

/// Calcium uptake against time, Davison & Hinkley 1997, example 7.7 (table as in the R package
/// boot): a plain first-order rise from 0 at one temperature. Estimates, standard errors, AICc and
/// lack of fit computed with R's nls.
#[test]
fn calcium_uptake_is_fitted_as_r_does() {
    let blend = fitted_rise(include_str!("data/calcium.csv"), 310.15, 60.0);
    let (plateau, plateau_error) = estimate(&blend, ParameterName::Plateau);
    let (rate, rate_error) = estimate(&blend, ParameterName::RateRef);
    assert_abs_diff_eq!(plateau, 4.309365, epsilon = 2e-6);
    assert_abs_diff_eq!(plateau_error, 0.302923, epsilon = 2e-6);
    // The rate is estimated on its logarithm: R's standard error over the estimate.
    assert_abs_diff_eq!(rate * 60.0, 0.208478, epsilon = 1e-6);
    assert_abs_diff_eq!(rate_error, 0.039323 / 0.208478, epsilon = 1e-5);
    assert_abs_diff_eq!(blend.fit.residual_sd, 0.546425, epsilon = 1e-6);
    assert_abs_diff_eq!(blend.fit.aicc.unwrap(), 48.95289, epsilon = 1e-5);
    let test = blend.diagnostics.lack_of_fit.unwrap();
    assert_eq!((test.df1, test.df2), (7, 18));
    assert_abs_diff_eq!(test.f, 1.430013, epsilon = 1e-6);
    assert_abs_diff_eq!(test.p, 0.253827, epsilon = 1e-6);
}

/// Biochemical oxygen demand, Bates & Watts 1988, appendix A4.1: 19.142575 (2.495917) and
/// 0.5310914 (0.2030821) per day, computed with R's nls.
#[test]
fn oxygen_demand_is_fitted_as_r_does() {
    let blend = fitted_rise(include_str!("data/bod.csv"), 293.15, 86_400.0);
    let (plateau, plateau_error) = estimate(&blend, ParameterName::Plateau);
    let (rate, rate_error) = estimate(&blend, ParameterName::RateRef);
    assert_abs_diff_eq!(plateau, 19.142575, epsilon = 2e-6);
    assert_abs_diff_eq!(plateau_error, 2.495917, epsilon = 2e-6);
    assert_abs_diff_eq!(rate * 86_400.0, 0.5310914, epsilon = 1e-7);
    assert_abs_diff_eq!(rate_error, 0.2030821 / 0.5310914, epsilon = 1e-6);
}
