//! Set times from censored data against R: survreg (survival), glmer (lme4), and a likelihood by
//! the trapezoidal rule. The script is tests/references/set_time.R, its output
//! tests/data/set_time_reference.csv; the data are published, but for the invented lots.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use approx::assert_relative_eq;
use heatset::fit::set_time::{
    NoSetTime, ScatterForm, SetTimeFit, SetTimeKnowledge, SetTimeObservation, SetTimeRows,
    fit_set_time,
};
use heatset::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
use std::collections::HashMap;

const REFERENCE: &str = include_str!("data/set_time_reference.csv");
const MOTORS: &str = include_str!("data/motors.csv");
const TURBINE: &str = include_str!("data/turbine.csv");
const COSMESIS: &str = include_str!("data/cosmesis.csv");
const LOTS: &str = include_str!("data/set_time_lots.csv");
const INTERVALS: &str = include_str!("data/set_time_intervals.csv");

/// Value and standard error by name, of one case and form.
fn reference(case: &str, form: ScatterForm) -> HashMap<String, (f64, f64)> {
    REFERENCE
        .lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| line.split(',').collect::<Vec<_>>())
        .filter(|cells| cells[0] == case && cells[1] == form.as_str())
        .map(|cells| {
            let number = |text: &str| text.parse().unwrap_or(f64::NAN);
            (cells[2].to_owned(), (number(cells[3]), number(cells[4])))
        })
        .collect()
}

/// Rows of numbers under a header.
fn numbers(text: &str) -> Vec<Vec<f64>> {
    text.lines()
        .skip(1)
        .map(|line| {
            line.split(',')
                .map(|cell| match cell {
                    "Inf" | "NA" => f64::INFINITY,
                    number => number.parse().unwrap(),
                })
                .collect()
        })
        .collect()
}

fn fitted(rows: &SetTimeRows, form: ScatterForm, kelvin: f64) -> SetTimeFit {
    fit_set_time(rows, form, kelvin, &SetTimeKnowledge::default()).unwrap()
}

fn se(fit: &SetTimeFit, place: usize) -> f64 {
    fit.covariance[[place, place]].sqrt()
}

fn no_temperature(observations: Vec<SetTimeObservation>, criterion: Vec<usize>) -> SetTimeRows {
    SetTimeRows {
        heat_temp_kelvin: vec![353.15; observations.len()],
        criterion,
        observations,
        lot: Vec::new(),
    }
}

/// J. Schmee, G. Hahn, Technometrics 21 (1979) 417: motorettes at 150 to 220 °C, their kelvins by
/// 273.2 as there. R's survreg on 1000/T: E = 1000 R times its coefficient.
#[test]
fn motorettes_give_what_survreg_gives() {
    let rows = numbers(MOTORS);
    let motors = SetTimeRows {
        observations: rows
            .iter()
            .map(|row| match row[2] {
                1.0 => SetTimeObservation::at(row[1]),
                _ => SetTimeObservation::not_set_at(row[1]),
            })
            .collect(),
        heat_temp_kelvin: rows.iter().map(|row| row[0] + 273.2).collect(),
        criterion: vec![0; rows.len()],
        lot: Vec::new(),
    };
    let reference_kelvin = 463.2;
    for form in ScatterForm::ALL {
        let fit = fitted(&motors, form, reference_kelvin);
        let expected = reference("motors", form);
        let to_energy = 1000.0 * GAS_CONSTANT_J_PER_MOL_K;
        let (slope, slope_se) = expected["x"];
        assert_relative_eq!(
            fit.activation_energy_j_per_mol,
            slope * to_energy,
            max_relative = 1e-7
        );
        assert_relative_eq!(se(&fit, 1), slope_se * to_energy, max_relative = 1e-6);
        // The place at 1/T = 0, its standard error by propagation.
        let inverse = -1.0 / reference_kelvin / GAS_CONSTANT_J_PER_MOL_K;
        let intercept = fit.ln_place + fit.activation_energy_j_per_mol * inverse;
        assert_relative_eq!(intercept, expected["(Intercept)"].0, max_relative = 1e-7);
        let c = &fit.covariance;
        let variance = c[[0, 0]] + 2.0 * inverse * c[[0, 1]] + inverse * inverse * c[[1, 1]];
        assert_relative_eq!(
            variance.sqrt(),
            expected["(Intercept)"].1,
            max_relative = 1e-6
        );
        let (ln_scale, ln_scale_se) = expected["ln_scale"];
        assert_relative_eq!(fit.scatter.ln(), ln_scale, max_relative = 1e-7);
        assert_relative_eq!(se(&fit, 2), ln_scale_se, max_relative = 1e-6);
        assert_relative_eq!(
            fit.log_likelihood,
            expected["log_likelihood"].0,
            max_relative = 1e-10
        );
    }
    // The figures as published: log10 t = -6.019 + 4.311 (1000/T), sigma 0.2592.
    let fit = fitted(&motors, ScatterForm::Lognormal, reference_kelvin);
    let decades = fit.activation_energy_j_per_mol
        / 1000.0
        / GAS_CONSTANT_J_PER_MOL_K
        / std::f64::consts::LN_10;
    assert!((decades - 4.311).abs() < 5e-4, "{decades}");
    assert!((fit.scatter / std::f64::consts::LN_10 - 0.2592).abs() < 5e-5);
}

/// W. Meeker, L. Escobar, Statistical Methods for Reliability Data, 1998, table 1.5: turbine wheels,
/// each looked at once, cracked or not: nothing but 'set by' and 'not set at'.
#[test]
fn turbine_wheels_looked_at_once_give_what_survreg_gives() {
    let rows = numbers(TURBINE);
    let observations: Vec<_> = rows
        .iter()
        .map(|row| match row[1] {
            1.0 => SetTimeObservation::set_by(row[0]).times(row[2]),
            _ => SetTimeObservation::not_set_at(row[0]).times(row[2]),
        })
        .collect();
    let wheels = no_temperature(observations.clone(), vec![0; rows.len()]);
    let held = SetTimeKnowledge {
        held_energy_j_per_mol: Some(0.0),
        ..Default::default()
    };
    for form in ScatterForm::ALL {
        let fit = fit_set_time(&wheels, form, 353.15, &held).unwrap();
        let expected = reference("turbine", form);
        assert_relative_eq!(fit.ln_place, expected["(Intercept)"].0, max_relative = 1e-8);
        assert_relative_eq!(se(&fit, 0), expected["(Intercept)"].1, max_relative = 1e-6);
        assert_relative_eq!(
            fit.scatter.ln(),
            expected["ln_scale"].0,
            max_relative = 1e-7
        );
        assert_relative_eq!(se(&fit, 1), expected["ln_scale"].1, max_relative = 1e-6);
        assert_relative_eq!(
            fit.log_likelihood,
            expected["log_likelihood"].0,
            max_relative = 1e-9
        );
    }
    // One temperature gives no activation energy.
    let refused = fit_set_time(
        &wheels,
        ScatterForm::Weibull,
        353.15,
        &SetTimeKnowledge::default(),
    );
    assert!(
        matches!(refused, Err(NoSetTime::NotFound(_))),
        "{refused:?}"
    );
}

/// D. Finkelstein, R. Wolfe, Biometrics 41 (1985) 933: intervals between visits, two treatments (R
/// package KMsurv, bcdeter); two treatments are as two criteria.
#[test]
fn intervals_between_visits_give_what_survreg_gives() {
    let rows = numbers(COSMESIS);
    let observations = rows
        .iter()
        .map(|row| SetTimeObservation::between(row[0], row[1]))
        .collect();
    let criterion = rows.iter().map(|row| usize::from(row[2] == 2.0)).collect();
    let held = SetTimeKnowledge {
        held_energy_j_per_mol: Some(0.0),
        ..Default::default()
    };
    let visits = no_temperature(observations, criterion);
    for form in ScatterForm::ALL {
        let fit = fit_set_time(&visits, form, 353.15, &held).unwrap();
        let expected = reference("cosmesis", form);
        let shift = expected["I(treat == 2)TRUE"];
        assert_relative_eq!(fit.ln_place, expected["(Intercept)"].0, max_relative = 1e-8);
        assert_relative_eq!(fit.shifts[0], shift.0, max_relative = 1e-7);
        assert_relative_eq!(
            fit.scatter.ln(),
            expected["ln_scale"].0,
            max_relative = 1e-7
        );
        for (place, name) in ["(Intercept)", "I(treat == 2)TRUE", "ln_scale"]
            .iter()
            .enumerate()
        {
            assert_relative_eq!(se(&fit, place), expected[*name].1, max_relative = 1e-6);
        }
        assert_relative_eq!(
            fit.log_likelihood,
            expected["log_likelihood"].0,
            max_relative = 1e-10
        );
    }
}

fn invented_lots(intervals: bool) -> SetTimeRows {
    let rows = numbers(if intervals { INTERVALS } else { LOTS });
    SetTimeRows {
        observations: rows
            .iter()
            .map(|row| match (intervals, row[3]) {
                (true, by_s) => SetTimeObservation::between(row[2], by_s),
                (false, 1.0) => SetTimeObservation::set_by(row[2]),
                (false, _) => SetTimeObservation::not_set_at(row[2]),
            })
            .collect(),
        heat_temp_kelvin: rows.iter().map(|row| row[1]).collect(),
        criterion: vec![0; rows.len()],
        lot: rows.iter().map(|row| row[0] as usize - 1).collect(),
    }
}

/// Six lots with a deviation each: a likelihood by the trapezoidal rule and lme4's glmer with 25
/// quadrature nodes (probit, complementary log-log), which agree to eight digits.
#[test]
fn lots_give_what_glmer_and_a_trapezoidal_rule_give() {
    for (case, intervals) in [("lots", false), ("twice", true)] {
        let rows = invented_lots(intervals);
        for form in ScatterForm::ALL {
            let fit = fitted(&rows, form, 353.15);
            let expected = reference(case, form);
            let ours = [
                fit.ln_place,
                fit.activation_energy_j_per_mol,
                fit.scatter.ln(),
                fit.lot_sd,
            ];
            let names = ["(Intercept)", "energy", "ln_scale", "lot_sd"];
            for (place, (name, value)) in names.iter().zip(ours).enumerate() {
                let (theirs, their_se) = expected[*name];
                assert_relative_eq!(value, theirs, max_relative = 2e-7);
                assert_relative_eq!(se(&fit, place), their_se, max_relative = 1e-5);
            }
            assert_relative_eq!(
                fit.log_likelihood,
                expected["log_likelihood"].0,
                max_relative = 1e-10
            );
            if !intervals {
                let glmer = reference("lots-lme4", form);
                for (name, value) in names.iter().zip(ours) {
                    assert_relative_eq!(value, glmer[*name].0, max_relative = 1e-6);
                }
                assert_relative_eq!(
                    fit.log_likelihood,
                    glmer["log_likelihood"].0,
                    max_relative = 1e-9
                );
            }
        }
    }
}

/// Whoever changes the order or the unit of the clock changes nothing but the place.
#[test]
fn minutes_for_seconds_move_the_place_alone() {
    let seconds = invented_lots(true);
    let mut minutes = seconds.clone();
    for seen in &mut minutes.observations {
        seen.after_s /= 60.0;
        seen.by_s /= 60.0;
    }
    let one = fitted(&seconds, ScatterForm::Weibull, 353.15);
    let other = fitted(&minutes, ScatterForm::Weibull, 353.15);
    assert_relative_eq!(
        one.ln_place - 60_f64.ln(),
        other.ln_place,
        max_relative = 1e-9
    );
    assert_relative_eq!(one.lot_sd, other.lot_sd, max_relative = 1e-8);
    assert_relative_eq!(
        one.activation_energy_j_per_mol,
        other.activation_energy_j_per_mol,
        max_relative = 1e-8
    );
}

/// What the reference temperature is called changes neither times nor likelihood.
#[test]
fn another_reference_temperature_moves_no_time() {
    let rows = invented_lots(false);
    let one = fitted(&rows, ScatterForm::Lognormal, 353.15);
    let other = fitted(&rows, ScatterForm::Lognormal, 345.15);
    assert_relative_eq!(
        one.log_likelihood,
        other.log_likelihood,
        max_relative = 1e-11
    );
    for kelvin in [346.0, 353.15, 361.0] {
        let (a, b) = (one.ln_time(kelvin, 0, 0.95), other.ln_time(kelvin, 0, 0.95));
        assert_relative_eq!(a, b, max_relative = 1e-8);
    }
}
