//! Answers held against refits, simulations and finer searches.

use crate::benches::{
    SCATTER, asked, design, determinant, even_grid, fit_rows, log_options, question, scattered,
};
use crate::support::{self, exact_rows, log_setting};
use approx::assert_relative_eq;
use heatset::fit::{BlendCalibration, Criterion, ErrorModel, FitOptions, Predictor};
use heatset::kinetics::{FirmnessCurve, FirmnessLaw};
use heatset::plan::{AskedHeatTime, PlanError, heat_time_gradient, next_reading};
use heatset::thermal::WarmUp;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

/// Implicit function theorem: where the force follows from the reading alone, the slope of ln t by
/// a parameter is minus that of the response over its slope by ln t, both at the heat time.
#[test]
fn the_slopes_of_a_heat_time_are_those_of_the_implicit_function_theorem() {
    let lag = WarmUp::lag(45.0, 295.15).unwrap();
    let shapes = [
        log_options(),
        FitOptions {
            law: Some(FirmnessLaw::Linear),
            ..log_options()
        },
        FitOptions {
            law: Some(FirmnessLaw::Linear),
            errors: ErrorModel::Absolute,
            ..log_options()
        },
        FitOptions {
            warm_up: heatset::fit::WarmUpChoice::Declared(lag),
            ..log_options()
        },
        FitOptions {
            order: heatset::fit::OrderChoice::Fixed(1.4),
            dose_lag: heatset::fit::DoseLagChoice::Fixed(30.0),
            ..log_options()
        },
    ];
    for options in shapes {
        let mut setting = log_setting(3e-3, 240e3, 1.6e-3, 6.0);
        if options.law == Some(FirmnessLaw::Linear) {
            setting.firmness = FirmnessCurve::Linear {
                initial: 0.02,
                plateau: 6.0,
            };
        }
        let blend = fit_rows(&support::scattered(&setting, SCATTER, 4), &options);
        let question = asked(30);
        let found = heat_time_gradient(&blend, &question).unwrap();
        let time_s = found.heat_time_s;
        let setting = blend.setting().unwrap();
        let relative = blend.error == ErrorModel::Relative;
        let response = |t: f64| {
            let reading = setting.reading(question.set_kelvin, t);
            if relative { reading.ln() } else { reading }
        };
        let h = 1e-4_f64;
        let by_ln_time = (response(time_s * h.exp()) - response(time_s * (-h).exp())) / (2.0 * h);
        let predictor = Predictor::new(&blend).unwrap();
        let rows = predictor.derivatives(question.set_kelvin, &[time_s], 0.0);
        assert_eq!(rows[0].len(), found.by_parameter.len());
        let largest = found
            .by_parameter
            .iter()
            .zip(predictor.covariance().diag())
            .map(|(slope, variance)| slope.abs() * variance.sqrt())
            .fold(0.0, f64::max);
        for ((slope, derivative), variance) in found
            .by_parameter
            .iter()
            .zip(&rows[0])
            .zip(predictor.covariance().diag())
        {
            let implicit = -derivative / by_ln_time;
            // On the scale of what the parameter's uncertainty does to the answer.
            let off = (slope - implicit).abs() * variance.sqrt();
            assert!(
                off < 2e-6 * largest,
                "{options:?}: {slope} against {implicit}"
            );
        }
        assert_relative_eq!(found.by_deviation, -1.0 / by_ln_time, max_relative = 1e-5);
    }
}

/// A reading on the fitted curve leaves the estimates where they are, so the refit with it must
/// have the predicted covariance, but for the residual variance, which has one more degree of
/// freedom: an identity of linear algebra.
#[test]
fn the_refit_with_the_proposed_reading_is_as_narrow_as_was_promised() {
    for (seed, gauge) in [(7, Some(29)), (8, Some(32)), (9, None)] {
        let rows = scattered(seed);
        let blend = fit_rows(&rows, &log_options());
        let asked = gauge.map(asked);
        let answer = next_reading(&blend, &question(asked.clone())).unwrap();
        assert!(answer.proposals.len() >= 2);
        for proposal in answer.proposals.iter().chain(&answer.repeat) {
            let mut more = rows.clone();
            more.push((
                proposal.heat_temp_k,
                proposal.heat_time_s,
                proposal.expected_reading,
            ));
            let again = fit_rows(&more, &log_options());
            let (before, after) = (design(&blend).1, design(&again).1);
            let variance = |blend: &BlendCalibration| blend.fit.residual_sd.powi(2);
            let scale = variance(&blend) / variance(&again);
            // One more degree of freedom and the same sum of squares.
            let freedom = blend.fit.degrees_of_freedom as f64;
            assert_relative_eq!(scale, (freedom + 1.0) / freedom, max_relative = 1e-7);
            let ratio =
                determinant(after.covariance()) * scale.powi(4) / determinant(before.covariance());
            assert_relative_eq!(
                proposal.parameter_std_error_ratio,
                ratio.powf(1.0 / 8.0),
                max_relative = 1e-6
            );
            let Some(asked) = &asked else { continue };
            let slopes = heat_time_gradient(&blend, asked).unwrap().by_parameter;
            let then = (after.variance(&slopes) * scale).sqrt();
            assert_relative_eq!(
                proposal.heat_time_std_error_ratio.unwrap(),
                then / before.variance(&slopes).sqrt(),
                max_relative = 1e-6
            );
            // The interval promised is that of the refit at the scatter known now.
            let [low, high] = proposal.heat_time_interval95.unwrap().curve_s;
            let t = heatset::fit::t_quantile(0.975, again.fit.degrees_of_freedom).unwrap();
            assert_relative_eq!((high / low).ln() / 2.0, t * then, max_relative = 1e-6);
        }
    }
}

/// With simulated readings, which do scatter, the promise holds on average: 200 refits.
#[test]
fn simulated_readings_narrow_the_answer_as_promised_on_average() {
    let rows = scattered(11);
    let blend = fit_rows(&rows, &log_options());
    let asked = asked(29);
    let answer = next_reading(&blend, &question(Some(asked.clone()))).unwrap();
    let best = &answer.proposals[0];
    let mut random = ChaCha8Rng::seed_from_u64(12);
    let now = {
        let slopes = heat_time_gradient(&blend, &asked).unwrap().by_parameter;
        design(&blend).1.variance(&slopes)
    };
    let runs = 200;
    let mean = (0..runs)
        .map(|_| {
            let z: f64 = StandardNormal.sample(&mut random);
            let mut more = rows.clone();
            let reading = best.expected_reading * (blend.fit.residual_sd * z).exp();
            more.push((best.heat_temp_k, best.heat_time_s, reading));
            let again = fit_rows(&more, &log_options());
            let slopes = heat_time_gradient(&again, &asked).unwrap().by_parameter;
            design(&again).1.variance(&slopes) / now
        })
        .sum::<f64>()
        / f64::from(runs);
    let promised = best.heat_time_std_error_ratio.unwrap().powi(2);
    assert_relative_eq!(mean, promised, max_relative = 0.01);
    assert!(promised < 0.99, "{promised}");
}

/// No setting of a finer search inside the measured ranges is worth noticeably more than what is
/// proposed.
#[test]
fn no_setting_of_a_finer_grid_is_worth_noticeably_more() {
    let blend = fit_rows(&scattered(13), &log_options());
    let (predictor, design) = design(&blend);
    for asked in [Some(asked(29)), None] {
        let slopes = asked
            .as_ref()
            .map(|a| heat_time_gradient(&blend, a).unwrap().by_parameter);
        let criterion = slopes
            .as_deref()
            .map_or(Criterion::Parameters, Criterion::Answer);
        let answer = next_reading(&blend, &question(asked)).unwrap();
        let best = &answer.proposals[0];
        let row = predictor.derivatives(best.heat_temp_k, &[best.heat_time_s], 0.0);
        let gain = design.gain(criterion, &row[0]).unwrap();
        let mut finest = 0.0_f64;
        for tenths in 700..=900 {
            let kelvin = f64::from(tenths) / 10.0 + 273.15;
            let times: Vec<f64> = even_grid(30.0_f64.ln(), 10_800.0_f64.ln(), 600)
                .into_iter()
                .map(f64::exp)
                .collect();
            let rows = predictor.derivatives(kelvin, &times, 0.0);
            finest = finest.max(design.best_next(criterion, &rows).unwrap().gain_ratio);
        }
        assert!(gain > 0.98 * finest, "{gain} against {finest}");
        for (place, one) in answer.proposals.iter().enumerate() {
            assert_eq!(one.outside_measured_times, one.heat_time_s > 5400.0);
            assert!((30.0..=10_800.0).contains(&one.heat_time_s));
            for other in &answer.proposals[place + 1..] {
                let apart = (one.heat_temp_k - other.heat_temp_k).abs() > 1.0;
                let ratio = (one.heat_time_s / other.heat_time_s).ln().abs();
                assert!(apart || ratio >= 2.0_f64.ln() - 1e-9);
            }
        }
    }
}

#[test]
fn an_answer_that_is_none_or_lies_outside_is_refused() {
    let blend = fit_rows(&scattered(14), &log_options());
    let refused = |change: &dyn Fn(&mut AskedHeatTime)| {
        let mut asked = asked(29);
        change(&mut asked);
        next_reading(&blend, &question(Some(asked))).unwrap_err()
    };
    assert!(matches!(
        refused(&|a| a.set_kelvin = 368.15),
        PlanError::TemperatureOutside { .. }
    ));
    assert!(matches!(
        refused(&|a| a.set_kelvin = 373.15),
        PlanError::Boiling { .. }
    ));
    assert!(matches!(
        refused(&|a| a.setup.force_limit_n = 1.0),
        PlanError::ForceUnderFriction { .. }
    ));
    assert!(matches!(
        refused(&|a| a.setup.force_limit_n = 300.0),
        PlanError::ForceTooHigh { .. }
    ));
    // A needle so wide that the plateau passes it.
    assert!(matches!(
        refused(&|a| a.setup.needle.bore_m = 3e-3),
        PlanError::NoTimeToNarrow {
            from_the_first: false,
            ..
        }
    ));
    // And so narrow that nothing does.
    assert!(matches!(
        refused(&|a| a.setup.needle.bore_m = 2e-5),
        PlanError::NoTimeToNarrow {
            from_the_first: true,
            ..
        }
    ));
    let exact = fit_rows(
        &exact_rows(&log_setting(3e-3, 240e3, 1.6e-3, 6.0)),
        &log_options(),
    );
    assert!(matches!(
        next_reading(&exact, &question(None)).unwrap_err(),
        PlanError::NoScatter { .. }
    ));
}
