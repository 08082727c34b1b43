//! What the fit does with benches whose truth is known, and what it refuses, in words.
#![allow(clippy::unwrap_used)]

mod support;

use approx::assert_relative_eq;
use heatset::fit::{
    Calibration, ErrorModel, FitError, FitOptions, Held, ParameterName, WarmUpChoice, calibrate,
};
use heatset::kinetics::{FirmnessCurve, FirmnessLaw, SettingModel};
use heatset::readings::ReadingKind;
use heatset::thermal::WarmUp;
use proptest::prelude::*;
use support::{bench, exact_rows, log_setting, scattered};

/// The same setting under another law.
fn of_law(law: FirmnessLaw, setting: SettingModel) -> SettingModel {
    let (initial, plateau) = (setting.firmness.initial(), setting.firmness.plateau());
    let firmness = match law {
        FirmnessLaw::Linear => FirmnessCurve::Linear { initial, plateau },
        _ => FirmnessCurve::Log { initial, plateau },
    };
    SettingModel {
        firmness,
        ..setting
    }
}

fn energy(calibration: &Calibration) -> (f64, [f64; 2]) {
    let p = calibration.blends[0]
        .parameter(ParameterName::ActivationEnergy)
        .unwrap();
    (p.estimate, p.ci95.unwrap())
}

#[test]
fn an_exact_bench_gives_back_its_truth_under_every_law_and_error() {
    for law in [FirmnessLaw::Log, FirmnessLaw::Linear] {
        for errors in [ErrorModel::Relative, ErrorModel::Absolute] {
            let truth = of_law(law, log_setting(4e-3, 220e3, 2e-3, 9.0));
            let options = FitOptions {
                law: Some(law),
                errors,
                ..FitOptions::default()
            };
            let table = bench(ReadingKind::Viscosity, &exact_rows(&truth));
            let fitted = calibrate(&table, &options).unwrap();
            let blend = &fitted.blends[0];
            let found = blend.setting().unwrap();
            assert_relative_eq!(found.firmness.initial(), 2e-3, max_relative = 1e-4);
            assert_relative_eq!(found.firmness.plateau(), 9.0, max_relative = 1e-6);
            assert_relative_eq!(
                found.rate.activation_energy_j_per_mol,
                220e3,
                max_relative = 1e-6
            );
            assert_relative_eq!(found.rate.rate_per_s(363.15), 4e-3, max_relative = 1e-6);
            assert!(blend.fit.aicc.is_none(), "an exact fit has no likelihood");
            assert_eq!(blend.fit.residual_sd, 0.0);
        }
    }
}

/// How often `auto` takes the law behind the readings, over 100 benches each. The gel-point law has
/// the log law as its limit and one parameter more: where the log law is true it is kept unless
/// the likelihood ratio exceeds the AICc margin and the tie (about 4.5), which chance does in 3 to 4
/// of 100 (chi-squared, one degree of freedom).
#[test]
fn the_law_behind_the_readings_is_chosen() {
    let gel_point = SettingModel {
        firmness: FirmnessCurve::GelPoint {
            initial: 0.05,
            gel_conversion: 1.1,
            gel_exponent: 2.0,
        },
        ..log_setting(4e-3, 220e3, 0.05, 9.0)
    };
    let plain = log_setting(4e-3, 220e3, 0.05, 9.0);
    for (law, truth, least) in [
        (
            FirmnessLaw::Log,
            of_law(FirmnessLaw::Log, plain.clone()),
            93,
        ),
        (
            FirmnessLaw::Linear,
            of_law(FirmnessLaw::Linear, plain.clone()),
            93,
        ),
        (FirmnessLaw::GelPoint, gel_point, 93),
    ] {
        let right = (1..=100)
            .filter(|seed| {
                let table = bench(ReadingKind::Viscosity, &scattered(&truth, 0.08, *seed));
                let fitted = calibrate(&table, &FitOptions::default()).unwrap();
                let weights: f64 = fitted.blends[0]
                    .candidates
                    .iter()
                    .filter_map(|c| c.weight)
                    .sum();
                assert_relative_eq!(weights, 1.0, max_relative = 1e-12);
                fitted.blends[0].law == law
            })
            .count();
        println!("{law:?}: {right} of 100");
        assert!(right >= least, "{law:?}: {right} of 100");
    }
}

/// The t interval of the activation energy covers the truth 95 times in 100: with 400 benches the
/// binomial 99.9 % limits are 91.0 and 98.3.
#[test]
fn the_interval_of_the_activation_energy_covers_the_truth() {
    let truth = log_setting(4e-3, 240e3, 2e-3, 9.0);
    let options = FitOptions {
        law: Some(FirmnessLaw::Log),
        ..FitOptions::default()
    };
    let covered = (0..400)
        .filter(|seed| {
            let table = bench(ReadingKind::Viscosity, &scattered(&truth, 0.1, 1000 + seed));
            let (_, [low, high]) = energy(&calibrate(&table, &options).unwrap());
            low <= 240e3 && 240e3 <= high
        })
        .count();
    assert!((364..=393).contains(&covered), "{covered} of 400");
}

/// A bench whose gel warmed up with a lag of 40 s: declared, the activation energy is right;
/// undeclared, it is far too low and the warning says what to do.
#[test]
fn a_declared_warm_up_frees_the_activation_energy_of_its_bias() {
    let mut truth = log_setting(8e-3, 240e3, 2e-3, 9.0);
    truth.warm_up = WarmUp::lag(40.0, 295.15).unwrap();
    let table = bench(ReadingKind::Viscosity, &scattered(&truth, 0.06, 7));
    let declared = FitOptions {
        warm_up: WarmUpChoice::Declared(truth.warm_up),
        ..FitOptions::default()
    };
    let right = calibrate(&table, &declared).unwrap();
    let (_, [low, high]) = energy(&right);
    assert!(low < 240e3 && 240e3 < high, "{low} {high}");
    assert!(
        !right.blends[0]
            .warnings
            .iter()
            .any(|w| w.code == "undeclared_warm_up")
    );
    let wrong = calibrate(&table, &FitOptions::default()).unwrap();
    let (estimate, [_, high]) = energy(&wrong);
    assert!(high < 240e3, "{estimate}");
    assert!(
        wrong.blends[0]
            .warnings
            .iter()
            .any(|w| w.code == "undeclared_warm_up")
    );
}

#[test]
fn one_temperature_is_refused_unless_the_energy_is_held() {
    let truth = log_setting(4e-3, 220e3, 2e-3, 9.0);
    let rows: Vec<_> = scattered(&truth, 0.05, 3)
        .into_iter()
        .filter(|r| r.0 == 363.15)
        .collect();
    let table = bench(ReadingKind::Viscosity, &rows);
    let refused = calibrate(&table, &FitOptions::default()).unwrap_err();
    assert!(
        matches!(refused, FitError::OneTemperature { rows: 8, .. }),
        "{refused}"
    );
    let text = refused.to_string();
    assert!(
        text.contains("90 °C") && text.contains("What helps:"),
        "{text}"
    );
    let held = Held::default().with(ParameterName::ActivationEnergy, 220e3);
    let served = calibrate(&table, &support::holding(held)).unwrap();
    let p = served.blends[0]
        .parameter(ParameterName::ActivationEnergy)
        .unwrap();
    assert!(p.held && p.std_error.is_none() && p.ci95.is_none());
    assert_eq!(served.blends[0].covariance.len(), 3);
}

#[test]
fn readings_that_never_level_off_are_refused_in_words() {
    let truth = log_setting(2e-4, 220e3, 2e-3, 9.0);
    let rows: Vec<_> = scattered(&truth, 0.05, 3)
        .into_iter()
        .filter(|r| r.1 <= 600.0)
        .collect();
    let refused = calibrate(
        &bench(ReadingKind::Viscosity, &rows),
        &FitOptions::default(),
    )
    .unwrap_err();
    assert!(matches!(refused, FitError::NoPlateau { .. }), "{refused}");
    assert!(
        refused.to_string().contains("The plateau cannot be found"),
        "{refused}"
    );
}

#[test]
fn readings_that_start_high_are_refused_in_words() {
    let truth = log_setting(0.5, 60e3, 2e-3, 9.0);
    let rows: Vec<_> = scattered(&truth, 0.05, 3)
        .into_iter()
        .filter(|r| r.1 >= 600.0)
        .collect();
    let refused = calibrate(
        &bench(ReadingKind::Viscosity, &rows),
        &FitOptions::default(),
    )
    .unwrap_err();
    assert!(matches!(refused, FitError::NoBeginning { .. }), "{refused}");
    assert!(refused.to_string().contains("shorter times"), "{refused}");
}

#[test]
fn fewer_rows_than_unknowns_and_one_are_refused() {
    let truth = log_setting(4e-3, 220e3, 2e-3, 9.0);
    let rows: Vec<_> = scattered(&truth, 0.05, 3).into_iter().step_by(12).collect();
    assert_eq!(rows.len(), 4);
    let refused = calibrate(
        &bench(ReadingKind::Viscosity, &rows),
        &FitOptions::default(),
    )
    .unwrap_err();
    assert!(
        matches!(
            refused,
            FitError::TooFewRows {
                rows: 4,
                needed: 5,
                parameters: 4,
                ..
            }
        ),
        "{refused}"
    );
}

#[test]
fn a_plateau_of_zero_needs_the_linear_law() {
    let rows: Vec<_> = (1..20)
        .map(|i| {
            let kelvin = if i % 2 == 0 { 350.0 } else { 360.0 };
            (kelvin, f64::from(i) * 60.0, (-f64::from(i) * 0.1).exp())
        })
        .collect();
    let table = bench(ReadingKind::Firmness, &rows);
    let held = Held::default().with(ParameterName::Plateau, 0.0);
    let log = FitOptions {
        law: Some(FirmnessLaw::Log),
        held,
        ..FitOptions::default()
    };
    assert_eq!(calibrate(&table, &log).unwrap_err(), FitError::ZeroPlateau);
    let auto = calibrate(&table, &support::holding(held)).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(auto.blends[0].law, FirmnessLaw::Linear);
}

#[test]
fn the_document_reads_back_as_it_was() {
    let truth = log_setting(4e-3, 220e3, 2e-3, 9.0);
    let table = bench(ReadingKind::Viscosity, &scattered(&truth, 0.05, 3));
    let fitted = calibrate(&table, &FitOptions::default()).unwrap();
    let back = Calibration::from_json("memory", &fitted.to_json().unwrap()).unwrap();
    assert_eq!(back, fitted);
}

#[test]
fn a_document_that_was_spoilt_is_refused_with_its_name() {
    let truth = log_setting(4e-3, 220e3, 2e-3, 9.0);
    let table = bench(ReadingKind::Viscosity, &scattered(&truth, 0.05, 3));
    let text = calibrate(&table, &FitOptions::default())
        .unwrap()
        .to_json()
        .unwrap();
    for (from, to) in [
        ("heatset/calibration/1", "heatset/calibration/9"),
        ("\"rate_ref\"", "\"rate\""),
        ("\"covariance\": [", "\"covariance\": [[1.0],"),
        ("{", "["),
    ] {
        let spoilt = text.replacen(from, to, 1);
        assert_ne!(spoilt, text);
        let refused = Calibration::from_json("cal.json", &spoilt)
            .unwrap_err()
            .to_string();
        assert!(
            refused.contains("cal.json") || refused.contains("calibration"),
            "{refused}"
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Units scale: readings a thousand times larger move both ends and nothing else.
    #[test]
    fn readings_in_another_unit_move_the_ends_alone(factor in 1e-3_f64..1e3, seed in 0_u64..1000) {
        let truth = log_setting(4e-3, 220e3, 2e-3, 9.0);
        let rows = scattered(&truth, 0.05, seed);
        let scaled: Vec<_> = rows.iter().map(|(t, s, p)| (*t, *s, p * factor)).collect();
        let options = FitOptions { law: Some(FirmnessLaw::Log), ..FitOptions::default() };
        let plain = calibrate(&bench(ReadingKind::Viscosity, &rows), &options).unwrap();
        let other = calibrate(&bench(ReadingKind::Viscosity, &scaled), &options).unwrap();
        let (a, b) = (plain.blends[0].setting().unwrap(), other.blends[0].setting().unwrap());
        prop_assert!((b.firmness.plateau() / a.firmness.plateau() / factor - 1.0).abs() < 1e-8);
        prop_assert!((b.firmness.initial() / a.firmness.initial() / factor - 1.0).abs() < 1e-8);
        prop_assert!((b.rate.rate_ref_per_s / a.rate.rate_ref_per_s - 1.0).abs() < 1e-8);
    }

    /// Random tables get a calibration or words, never a panic.
    #[test]
    fn random_tables_never_panic(
        rows in prop::collection::vec((300.0_f64..400.0, 0.0_f64..5000.0, 1e-6_f64..1e6), 1..40),
        absolute in any::<bool>(),
    ) {
        let errors = if absolute { ErrorModel::Absolute } else { ErrorModel::Relative };
        let options = FitOptions { errors, ..FitOptions::default() };
        match calibrate(&bench(ReadingKind::Firmness, &rows), &options) {
            Ok(fitted) => prop_assert!(fitted.blends[0].fit.converged),
            Err(refused) => prop_assert!(refused.to_string().len() > 20),
        }
    }
}
