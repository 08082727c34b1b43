//! Which reading to take next: published optimum designs, linear algebra against refits, and what
//! the command says.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod support;

use approx::{assert_abs_diff_eq, assert_relative_eq};
use heatset::fit::{
    BlendCalibration, Criterion, Design, ErrorModel, FitOptions, Held, ParameterName, Predictor,
    calibrate,
};
use heatset::kinetics::{FirmnessCurve, FirmnessLaw, SettingModel};
use heatset::plan::{
    AskedHeatTime, NeedleUsed, NextQuestion, PlanError, PushSetup, StatedThinning, another_lot,
    heat_time_gradient, mean_sd_ratio, new_lot_factor, next_reading,
};
use heatset::readings::ReadingKind;
use heatset::reference::{BoreBasis, Wall};
use heatset::thermal::WarmUp;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use support::{bench, exact_rows, log_setting};

const KELVIN: f64 = 353.15;
const GAS_CONSTANT: f64 = 8.314_462_618;

/// A bench of two readings a setting, one as far above the curve as the other below: the fit of as
/// many parameters as settings runs through their means, so its estimates are the truth.
fn fitted(
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

fn design(blend: &BlendCalibration) -> (Predictor, Design) {
    let predictor = Predictor::new(blend).unwrap();
    let design = Design::new(
        predictor.covariance().clone(),
        predictor.residual_variance(),
    )
    .unwrap();
    (predictor, design)
}

fn even_grid(from: f64, to: f64, steps: usize) -> Vec<f64> {
    (0..=steps)
        .map(|i| from + (to - from) * i as f64 / steps as f64)
        .collect()
}

fn decay_held() -> Held {
    Held::default()
        .with(ParameterName::Initial, 1.0)
        .with(ParameterName::Plateau, 0.0)
}

/// G. Box, H. Lucas, Design of experiments in non-linear situations, Biometrika 46 (1959) 77,
/// doi:10.1093/biomet/46.1-2.77: first-order decay exp(-kt) is best read at 1/k.
#[test]
fn first_order_decay_is_best_read_when_one_over_k_has_passed() {
    for rate_per_s in [2e-3, 0.05, 1.0] {
        let held = decay_held().with(ParameterName::ActivationEnergy, 250e3);
        let blend = fitted(
            &[(KELVIN, 0.4 / rate_per_s, 3)],
            |_, t| (-rate_per_s * t).exp(),
            held,
        );
        let found = blend.parameter(ParameterName::RateRef).unwrap().estimate;
        assert_relative_eq!(found, rate_per_s, max_relative = 1e-7);
        let (predictor, design) = design(&blend);
        let times = even_grid(0.01 / rate_per_s, 5.0 / rate_per_s, 4990);
        let rows = predictor.derivatives(KELVIN, &times, 0.0);
        for criterion in [Criterion::Parameters, Criterion::Answer(&[1.0])] {
            let best = design.best_next(criterion, &rows).unwrap();
            assert_abs_diff_eq!(times[best.place] * rate_per_s, 1.0, epsilon = 1e-3);
        }
    }
}

fn rise_held() -> Held {
    Held::default()
        .with(ParameterName::Initial, 0.0)
        .with(ParameterName::ActivationEnergy, 250e3)
}

/// Box and Lucas 1959 (as above), A(1 - exp(-kt)) on [0, tmax]: the two readings that tell A and k
/// best are at tmax and at 1/k - tmax e^(-k tmax)/(1 - e^(-k tmax)): 0.84281 for tmax 3 and 0.96608
/// for tmax 5 at k = 1. With tmax read so often that it is all but known, the next reading that is
/// worth most is the other one.
#[test]
fn a_first_order_rise_that_was_read_at_its_end_is_next_read_where_box_and_lucas_say() {
    for (longest, expected) in [(3.0, 0.84281), (5.0, 0.96608)] {
        let blend = fitted(
            &[(KELVIN, longest, 10_000), (KELVIN, 0.5, 1)],
            |_, t| 2.0 * (1.0 - (-t).exp()),
            rise_held(),
        );
        let (predictor, design) = design(&blend);
        let times = even_grid(0.0, longest, 30_000);
        let rows = predictor.derivatives(KELVIN, &times, 0.0);
        let best = design.best_next(Criterion::Parameters, &rows).unwrap();
        assert_abs_diff_eq!(times[best.place], expected, epsilon = 2e-4);
    }
}

/// J. Kiefer, J. Wolfowitz, The equivalence of two extremum problems, Can. J. Math. 12 (1960) 363,
/// doi:10.4153/CJM-1960-030-4: at the D-optimal design of N readings the greatest x'Cx/s² over all
/// settings is p/N, and is reached at the design's own settings. Box and Lucas's two settings pass;
/// two others do not.
#[test]
fn at_the_design_of_box_and_lucas_no_other_reading_is_worth_more_than_its_own_two() {
    let curve = |_: f64, t: f64| 2.0 * (1.0 - (-t).exp());
    for (longest, inner) in [(3.0, 0.84281), (5.0, 0.96608)] {
        let settings = [(KELVIN, longest, 5), (KELVIN, inner, 5)];
        let (predictor, design_there) = design(&fitted(&settings, curve, rise_held()));
        let times = even_grid(0.0, longest, 30_000);
        let rows = predictor.derivatives(KELVIN, &times, 0.0);
        let best = design_there
            .best_next(Criterion::Parameters, &rows)
            .unwrap();
        let share = design_there.leverage_ratio(&rows[best.place]);
        assert_relative_eq!(share, 2.0 / 20.0, max_relative = 1e-6);
        let nearest = (times[best.place] - inner)
            .abs()
            .min((times[best.place] - longest).abs());
        assert!(nearest < 2e-3, "{}", times[best.place]);

        let settings = [(KELVIN, longest, 5), (KELVIN, 0.4 * longest, 5)];
        let (_, elsewhere) = design(&fitted(&settings, curve, rise_held()));
        let best = elsewhere.best_next(Criterion::Parameters, &rows).unwrap();
        assert!(elsewhere.leverage_ratio(&rows[best.place]) > 1.01 * 2.0 / 20.0);
    }
}

fn arrhenius_per_s(kelvin: f64) -> f64 {
    2e-3 * (-250e3 / GAS_CONSTANT * (1.0 / kelvin - 1.0 / KELVIN)).exp()
}

/// Settings of a fine grid over temperature and time, and their derivatives.
fn grid_of_two(predictor: &Predictor) -> (Vec<(f64, f64)>, Vec<Vec<f64>>) {
    let (mut settings, mut rows) = (Vec::new(), Vec::new());
    for kelvin in even_grid(343.15, 363.15, 20) {
        let times: Vec<f64> = even_grid(-3.0, 2.0, 2000)
            .into_iter()
            .map(|x: f64| x.exp() / arrhenius_per_s(kelvin))
            .collect();
        rows.extend(predictor.derivatives(kelvin, &times, 0.0));
        settings.extend(times.into_iter().map(|t| (kelvin, t)));
    }
    (settings, rows)
}

/// Rate and activation energy of a first-order decay are told best at both ends of the
/// temperatures, each at the time 1/k(T): the determinant is the product of (kt e^(-kt))² at both
/// and of the squared difference of 1/T, each factor greatest there (by hand; Box and Lucas 1959
/// for the time).
#[test]
fn rate_and_energy_are_told_best_at_both_ends_of_the_temperatures() {
    let curve = |kelvin: f64, t: f64| (-arrhenius_per_s(kelvin) * t).exp();
    let ends = [343.15, 363.15];
    for (often, wanted) in [(ends[0], ends[1]), (ends[1], ends[0])] {
        let settings = [
            (often, 1.0 / arrhenius_per_s(often), 5000),
            (KELVIN, 1.5 / arrhenius_per_s(KELVIN), 1),
        ];
        let (predictor, design) = design(&fitted(&settings, curve, decay_held()));
        let (grid, rows) = grid_of_two(&predictor);
        let best = design.best_next(Criterion::Parameters, &rows).unwrap();
        let (kelvin, time_s) = grid[best.place];
        assert_abs_diff_eq!(kelvin, wanted, epsilon = 1e-9);
        assert_abs_diff_eq!(arrhenius_per_s(kelvin) * time_s, 1.0, epsilon = 5e-3);
    }
    // The equivalence theorem again, with both ends read.
    let both = ends.map(|kelvin| (kelvin, 1.0 / arrhenius_per_s(kelvin), 4));
    let (predictor, design) = design(&fitted(&both, curve, decay_held()));
    let (grid, rows) = grid_of_two(&predictor);
    let best = design.best_next(Criterion::Parameters, &rows).unwrap();
    assert_relative_eq!(
        design.leverage_ratio(&rows[best.place]),
        2.0 / 16.0,
        max_relative = 1e-5
    );
    assert!(ends.iter().any(|e| (grid[best.place].0 - e).abs() < 1e-9));
}

fn random_rows(random: &mut ChaCha8Rng, count: usize, columns: usize) -> Vec<Vec<f64>> {
    (0..count)
        .map(|_| {
            (0..columns)
                .map(|_| StandardNormal.sample(random))
                .collect()
        })
        .collect()
}

/// Determinant by elimination, for small matrices.
fn determinant(matrix: &ndarray::Array2<f64>) -> f64 {
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

/// The update of Sherman and Morrison against the covariance made anew by QR with the row added;
/// and what any sensible worth of a reading must do.
#[test]
fn the_updated_covariance_is_that_of_the_readings_with_the_new_one() {
    let mut random = ChaCha8Rng::seed_from_u64(20);
    for columns in 1..=5 {
        for _ in 0..40 {
            let mut rows = random_rows(&mut random, columns + 6, columns);
            let new = random_rows(&mut random, 2, columns);
            let gradient = random_rows(&mut random, 1, columns).remove(0);
            let before = Design::from_derivatives(&rows, 0.3).unwrap();
            let after = before.with_reading(&new[0]);
            rows.push(new[0].clone());
            let anew = Design::from_derivatives(&rows, 0.3).unwrap();
            let size = anew
                .covariance()
                .iter()
                .fold(0.0_f64, |m, v| m.max(v.abs()));
            for (a, b) in after.covariance().iter().zip(anew.covariance()) {
                assert_abs_diff_eq!(a / size, b / size, epsilon = 1e-9);
            }
            assert_relative_eq!(
                before.variance_with(&gradient, &new[0]),
                anew.variance(&gradient),
                max_relative = 1e-7
            );
            assert_relative_eq!(
                before.determinant_ratio(&new[0]),
                determinant(anew.covariance()) / determinant(before.covariance()),
                max_relative = 1e-6
            );
            // Two readings are worth the same in either order.
            let one = after.with_reading(&new[1]);
            let other = before.with_reading(&new[1]).with_reading(&new[0]);
            for (a, b) in one.covariance().iter().zip(other.covariance()) {
                assert_abs_diff_eq!(a / size, b / size, epsilon = 1e-9);
            }
            // No reading widens anything, and the scale of an answer plays no part.
            let scaled: Vec<f64> = gradient.iter().map(|g| -7.0 * g).collect();
            let gain = before.gain(Criterion::Answer(&gradient), &new[0]).unwrap();
            assert!(gain >= 0.0);
            assert_relative_eq!(
                before.gain(Criterion::Answer(&scaled), &new[0]).unwrap(),
                gain,
                max_relative = 1e-7,
                epsilon = 1e-12
            );
            assert!(before.gain(Criterion::Parameters, &new[0]).unwrap() > 0.0);
        }
    }
}

/// D-optimality does not ask on which scale a parameter stands; A. Atkinson, A. Donev, R. Tobias,
/// Optimum Experimental Designs, 2007, section 10.2 (from memory).
#[test]
fn the_scale_of_a_parameter_does_not_change_what_narrows_all_together() {
    let mut random = ChaCha8Rng::seed_from_u64(21);
    let rows = random_rows(&mut random, 9, 3);
    let candidates = random_rows(&mut random, 50, 3);
    let scaled = |rows: &[Vec<f64>]| -> Vec<Vec<f64>> {
        rows.iter()
            .map(|r| vec![1e5 * r[0], r[1] + 2.0 * r[2], 1e-3 * r[2]])
            .collect()
    };
    let plain = Design::from_derivatives(&rows, 1.0).unwrap();
    let other = Design::from_derivatives(&scaled(&rows), 1.0).unwrap();
    let one: Vec<usize> = plain
        .ranking(Criterion::Parameters, &candidates)
        .iter()
        .map(|p| p.place)
        .collect();
    let two: Vec<usize> = other
        .ranking(Criterion::Parameters, &scaled(&candidates))
        .iter()
        .map(|p| p.place)
        .collect();
    assert_eq!(one, two);
}

fn scattered(seed: u64) -> Vec<(f64, f64, f64)> {
    scattered_about(&log_setting(3e-3, 240e3, 1.6e-3, 6.0), seed)
}

fn scattered_about(setting: &SettingModel, seed: u64) -> Vec<(f64, f64, f64)> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    exact_rows(setting)
        .into_iter()
        .map(|(t, s, p)| {
            let z: f64 = StandardNormal.sample(&mut random);
            (t, s, p * (0.07 * z).exp())
        })
        .collect()
}

fn fit_rows(rows: &[(f64, f64, f64)], options: &FitOptions) -> BlendCalibration {
    let found = calibrate(&bench(ReadingKind::Viscosity, rows), options).unwrap();
    found.blends.into_iter().next().unwrap()
}

fn log_options() -> FitOptions {
    FitOptions {
        law: Some(FirmnessLaw::Log),
        reference_kelvin: Some(KELVIN),
        ..FitOptions::default()
    }
}

fn asked(gauge: u8) -> AskedHeatTime {
    let needle = NeedleUsed::of_gauge(gauge, Wall::Regular, BoreBasis::Nominal, 13e-3).unwrap();
    AskedHeatTime {
        set_kelvin: 358.15,
        setup: PushSetup::with_needle(needle).unwrap(),
        thinning: StatedThinning::default(),
        warm_up: None,
    }
}

fn question(asked: Option<AskedHeatTime>) -> NextQuestion {
    NextQuestion {
        asked,
        altitude_m: 0.0,
        extrapolate: false,
        invented: false,
    }
}

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
        let blend = fit_rows(&scattered_about(&setting, 4), &options);
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

/// Student's t: NIST/SEMATECH e-Handbook 1.3.6.7.2 gives 12.706, 4.303, 3.182, 2.776 for 1 to 4
/// degrees of freedom at 0.975.
#[test]
fn the_factors_for_a_new_lot_are_those_of_students_table() {
    for (lots, t) in [(2, 12.706), (3, 4.303), (4, 3.182), (5, 2.776)] {
        let expected = t * (1.0 + 1.0 / lots as f64).sqrt();
        assert_relative_eq!(new_lot_factor(lots).unwrap(), expected, max_relative = 2e-4);
    }
    assert!(another_lot(1).is_none());
    assert!(another_lot(0).is_none());
}

/// c4: D. Montgomery, Introduction to Statistical Quality Control, appendix VI (from memory):
/// 0.7979, 0.8862, 0.9213, 0.9400, 0.9727 for 2, 3, 4, 5, 10 values; by hand sqrt(2/pi) and
/// sqrt(pi)/2 for the first two.
#[test]
fn few_lots_show_too_little_spread_as_the_table_of_c4_says() {
    for (values, c4) in [
        (2, 0.7979),
        (3, 0.8862),
        (4, 0.9213),
        (5, 0.9400),
        (10, 0.9727),
    ] {
        assert_abs_diff_eq!(mean_sd_ratio(values).unwrap(), c4, epsilon = 6e-5);
    }
}

/// From 3 to 5 lots the interval of ln heat time shrinks by about a third on average: Student's
/// table and that of c4 give 2.776 sqrt(6/5) 0.9400 / (4.303 sqrt(4/3) 0.8862) = 0.649. At the same
/// spread shown by both it would be 0.612. A simulation of the intervals agrees.
#[test]
fn from_three_to_five_lots_the_interval_shrinks_by_about_a_third() {
    let stepwise =
        another_lot(3).unwrap().mean_width_ratio * another_lot(4).unwrap().mean_width_ratio;
    assert_abs_diff_eq!(stepwise, 0.649, epsilon = 1e-3);
    let at_one_spread = new_lot_factor(5).unwrap() / new_lot_factor(3).unwrap();
    assert_abs_diff_eq!(at_one_spread, 0.612, epsilon = 1e-3);

    let mut random = ChaCha8Rng::seed_from_u64(31);
    let mut mean_width = |lots: usize, t: f64| {
        let runs = 40_000;
        let mut sum = 0.0;
        for _ in 0..runs {
            let values: Vec<f64> = (0..lots)
                .map(|_| StandardNormal.sample(&mut random))
                .collect();
            let mean = values.iter().sum::<f64>() / lots as f64;
            let squares: f64 = values.iter().map(|v| (v - mean) * (v - mean)).sum();
            let sd = (squares / (lots as f64 - 1.0)).sqrt();
            sum += t * (1.0 + 1.0 / lots as f64).sqrt() * sd;
        }
        sum / f64::from(runs)
    };
    let simulated = mean_width(5, 2.776) / mean_width(3, 4.303);
    assert_abs_diff_eq!(simulated, stepwise, epsilon = 0.012);
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

#[cfg(feature = "cli")]
mod said;

#[cfg(feature = "cli")]
mod command {
    use super::said::{document, number, refused, served};
    use super::scattered;
    use std::fmt::Write as _;
    use std::path::PathBuf;

    /// A calibration in a folder of its own: one lot, or three that differ.
    fn calibration(folder: &tempfile::TempDir, lots: usize, options: &str) -> PathBuf {
        let mut text = String::from("heat_temp_C,heat_time_s,viscosity_Pa_s,lot\n");
        for lot in 0..lots {
            for (kelvin, time_s, reading) in scattered(50 + lot as u64) {
                // Lots that differ: the second is firmer by a fifth, the third by two fifths.
                let _ = writeln!(
                    text,
                    "{},{time_s},{},L{lot}",
                    kelvin - 273.15,
                    reading * (1.0 + 0.2 * lot as f64)
                );
            }
        }
        let bench = folder.path().join("bench.csv");
        std::fs::write(&bench, text).unwrap();
        let out = folder.path().join("cal.json");
        served(&format!(
            "fit {} --out {} {options}",
            bench.display(),
            out.display()
        ));
        out
    }

    #[test]
    fn the_first_line_says_what_to_read_and_what_it_narrows() {
        let folder = tempfile::tempdir().unwrap();
        let cal = calibration(&folder, 1, "--law log");
        let cal = cal.display();
        let text = served(&format!("next {cal} --at 85C --gauge 29"));
        let first = text.lines().next().unwrap();
        assert!(
            first.starts_with("Next reading worth taking: ")
                && first.contains(" °C at ")
                && first.contains("(narrows the 29G answer from ±")
                && first.ends_with(")."),
            "{first}"
        );
        for needed in [
            "The answer: at 85 °C the fitted curve reaches 20 N",
            "stay as they are: with them",
            "Repeating a measured setting: ",
            "10 more readings, each the best that is left: ",
            "none on it says how far the next one differs",
            "Stands on: cal.json",
            "Assumed: ",
        ] {
            assert!(text.contains(needed), "{needed}: {text}");
        }
        let mut last = text.lines().rev();
        assert!(last.next().unwrap().ends_with("heatset cautions"));
        assert!(last.next().unwrap().starts_with("Bench and teaching aid"));

        let whole = served(&format!("next {cal}"));
        assert!(
            whole.starts_with("Next reading worth taking: ")
                && whole.contains("(narrows the parameters together by ")
                && whole.contains("Standard error of the activation energy: "),
            "{whole}"
        );
        assert!(!whole.contains("Assumed: "), "{whole}");
    }

    #[test]
    fn the_document_is_in_si_and_says_now_and_after() {
        let folder = tempfile::tempdir().unwrap();
        let cal = calibration(&folder, 1, "--law log");
        let found = document(&format!("next {} --at 85C --gauge 29", cal.display()));
        assert_eq!(found["narrows"], "heat-time");
        assert_eq!(found["reading_unit"], "Pa.s");
        let asked = &found["asked"];
        assert!((number(asked, "heat_temp_K") - 358.15).abs() < 1e-9);
        let point = number(asked, "heat_time_s_point");
        let width = |of: &serde_json::Value, key: &str| {
            let ends = &of["heat_time_interval95"][key];
            let (low, high) = (ends[0].as_f64().unwrap(), ends[1].as_f64().unwrap());
            assert!(low < point && point < high);
            high - low
        };
        let best = &found["proposals"][0];
        for key in ["curve_s", "syringe_s"] {
            assert!(width(best, key) < width(asked, key));
        }
        assert!(width(asked, "curve_s") < width(asked, "syringe_s"));
        assert!(width(&found["several"], "curve_s") < width(best, "curve_s"));
        for key in ["heat_temp_K", "heat_time_s", "expected_reading"] {
            assert!(number(best, key) > 0.0);
        }
        assert!(best["shear_rate_per_s"].is_null());
        assert_eq!(found["parameters"].as_array().unwrap().len(), 4);
        assert!(found["another_lot"].is_null());
        assert_eq!(number(&found["assumptions"], "force_limit_N"), 20.0);
        // The point is that of `time`.
        let time = document(&format!(
            "time {} --at 85C --gauge 29 --draws 1000",
            cal.display()
        ));
        let of_time = number(&time, "heat_time_s_point");
        assert!((point / of_time - 1.0).abs() < 1e-9, "{point} {of_time}");

        let all = document(&format!("next {}", cal.display()));
        assert_eq!(all["narrows"], "parameters");
        assert!(all["asked"].is_null() && all["assumptions"].is_null());
        assert!(all["proposals"][0]["heat_time_interval95"].is_null());
    }

    #[test]
    fn with_lots_it_says_what_another_one_would_buy() {
        let folder = tempfile::tempdir().unwrap();
        // Robust losses fit lots as one.
        let pooled = calibration(&folder, 3, "--law log --robust huber");
        let line = format!("next {} --at 85C --gauge 29", pooled.display());
        let text = served(&line);
        // From 4.303 sqrt(4/3) = 4.97 to 3.182 sqrt(5/4) = 3.56 by NIST's table of t, and with c4
        // 0.9213 / 0.8862 the mean width falls by 26 %.
        assert!(
            text.contains("with 4 lots in place of 3")
                && text.contains("26 % narrower")
                && text.contains("from 4.97 to 3.56 times the spread between lots"),
            "{text}"
        );
        assert!(
            text.contains("40 more readings (as many as a lot has)")
                && text.contains("fitted as one for now"),
            "{text}"
        );
        let lots = &document(&line)["another_lot"];
        assert_eq!(lots["lots"], 3);
        assert_eq!(lots["lot_spread_known"], false);
        assert!(lots["new_lot_heat_time_s_now"].is_null());

        let folder = tempfile::tempdir().unwrap();
        let separate = calibration(&folder, 3, "--law log");
        let line = format!("next {} --at 85C --gauge 29", separate.display());
        let lots = &document(&line)["another_lot"];
        assert_eq!(lots["lot_spread_known"], true);
        let width = |key: &str| lots[key][1].as_f64().unwrap() - lots[key][0].as_f64().unwrap();
        let now = width("new_lot_heat_time_s_now");
        let lot = width("new_lot_heat_time_s_with_another_lot");
        let readings = width("new_lot_heat_time_s_with_as_many_readings");
        assert!(lot < readings && readings < now, "{now} {lot} {readings}");
        let text = served(&line);
        assert!(text.contains("For a new lot: "), "{text}");
        let first = text.lines().next().unwrap();
        assert!(
            first.contains("); another lot would do more (for a new lot from "),
            "{first}"
        );
        assert!(!text.contains("fitted as one for now"), "{text}");
    }

    #[test]
    fn the_same_question_gives_the_same_bytes_and_invented_data_say_so() {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("demo.json");
        let data = concat!(env!("CARGO_MANIFEST_DIR"), "/data/demo_bench.csv");
        served(&format!("fit {data} --blend plain --out {}", out.display()));
        let line = format!("next {} --at 86C --gauge 29 --json", out.display());
        assert_eq!(served(&line), served(&line));
        let words = served(&format!("next {} --at 86C --gauge 29", out.display()));
        assert!(words.starts_with("INVENTED DATA: "), "{words}");
        // The flow index is fitted, so a proposal says at which shear rate to read.
        assert!(words.contains(", read at 100 1/s"), "{words}");
    }

    #[test]
    fn questions_that_cannot_be_served_say_what_helps() {
        let folder = tempfile::tempdir().unwrap();
        let cal = calibration(&folder, 1, "--law log");
        let cal = cal.display();
        for (line, part) in [
            (format!("next {cal} --at 85C"), "no needle was named"),
            (format!("next {cal} --gauge 29"), "--at 86C"),
            (
                format!("next {cal} --at 95C --gauge 29"),
                "outside the measured temperatures",
            ),
            (
                format!("next {cal} --at 70C --gauge 29 --force 39N"),
                "outside the measured heat times",
            ),
            (
                format!("next {cal} --at 85C --gauge 10"),
                "There is no heat time to narrow",
            ),
            (
                format!("next {cal} --at 85C --gauge 29 --force 2N"),
                "leaves nothing for the gel",
            ),
            ("next missing.json".to_owned(), "cannot be read"),
        ] {
            let talk = refused(&line, 1);
            assert!(talk.contains(part), "{line}: {talk}");
        }
        for line in [
            format!("next {cal} --at 85 --gauge 29"),
            format!("next {cal} --force 10N"),
            format!("next {cal} --warm-up 40s"),
            "next".to_owned(),
        ] {
            refused(&line, 2);
        }
        // Asked for, an answer outside is narrowed too, and says so.
        let far = served(&format!(
            "next {cal} --at 70C --gauge 29 --force 39N --extrapolate"
        ));
        assert!(far.starts_with("EXTRAPOLATED: "), "{far}");
    }
}
