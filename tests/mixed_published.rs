//! Nonlinear mixed effects against published fits, closed forms and limits.
//!
//! The published fits: J. Pinheiro, D. Bates, Mixed-Effects Models in S and S-PLUS, Springer 2000
//! (data sets Loblolly, Orange, Indometh). The digits are those of the R package nlme 3.1-162,
//! maximum likelihood, random effects uncorrelated: once as it gives them by default, where its
//! penalised step ends at a relative offset of 1e-3 and leaves three to five digits, and once with
//! all its tolerances tightened (script `tests/data/mixed_nlme.R`), where nine digits agree.
#![allow(clippy::unwrap_used, clippy::panic)]

use approx::{assert_abs_diff_eq, assert_relative_eq};
use heatset::fit::least_squares::{LeastSquaresProblem, Settings, minimize};
use heatset::fit::mixed::{
    Likelihood, MixedError, MixedFit, MixedModel, MixedSettings, MixedTermination, fit_mixed,
};
use num_dual::{Dual64, DualNum};
use proptest::prelude::*;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

/// A formula over dual numbers, so that its derivatives are not written by hand.
type Formula = fn(&[Dual64], f64) -> Dual64;

/// Groups of (x, y) and the formula of y.
#[derive(Clone)]
struct Curves {
    formula: Formula,
    parameters: usize,
    x: Vec<Vec<f64>>,
    y: Vec<Vec<f64>>,
}

impl MixedModel for Curves {
    fn parameter_count(&self) -> usize {
        self.parameters
    }
    fn group_count(&self) -> usize {
        self.x.len()
    }
    fn rows(&self, group: usize) -> usize {
        self.x[group].len()
    }
    fn response(&self, group: usize) -> &[f64] {
        &self.y[group]
    }
    fn predict(
        &mut self,
        group: usize,
        parameters: &[f64],
        values: &mut [f64],
        derivatives: &mut [f64],
    ) {
        let rows = values.len();
        for j in 0..parameters.len() {
            let mut dual: Vec<Dual64> = parameters.iter().map(|p| Dual64::from(*p)).collect();
            dual[j].eps = 1.0;
            for (i, x) in self.x[group].iter().enumerate() {
                let result = (self.formula)(&dual, *x);
                values[i] = result.re;
                derivatives[j * rows + i] = result.eps;
            }
        }
    }
}

/// All groups as one: plain least squares over the engine for single curves.
struct Pooled(Curves);

impl LeastSquaresProblem for Pooled {
    fn residual_count(&self) -> usize {
        self.0.y.iter().map(Vec::len).sum()
    }
    fn parameter_count(&self) -> usize {
        self.0.parameters
    }
    fn residuals(&mut self, parameters: &[f64], residuals: &mut [f64]) {
        let dual: Vec<Dual64> = parameters.iter().map(|p| Dual64::from(*p)).collect();
        let readings = self.0.x.iter().flatten().zip(self.0.y.iter().flatten());
        for (target, (x, y)) in residuals.iter_mut().zip(readings) {
            *target = (self.0.formula)(&dual, *x).re - y;
        }
    }
    fn jacobian(&mut self, parameters: &[f64], jacobian: &mut [f64]) {
        let rows = self.residual_count();
        for j in 0..parameters.len() {
            let mut dual: Vec<Dual64> = parameters.iter().map(|p| Dual64::from(*p)).collect();
            dual[j].eps = 1.0;
            for (i, x) in self.0.x.iter().flatten().enumerate() {
                jacobian[j * rows + i] = (self.0.formula)(&dual, *x).eps;
            }
        }
    }
}

/// Asymptotic growth: asymptote, value at 0, logarithm of the rate.
fn asymptotic(p: &[Dual64], x: f64) -> Dual64 {
    p[0] + (p[1] - p[0]) * (-p[2].exp() * x).exp()
}

/// Logistic growth: asymptote, midpoint, scale.
fn logistic(p: &[Dual64], x: f64) -> Dual64 {
    p[0] / (((p[1] - x) / p[2]).exp() + 1.0)
}

/// Two exponentials: amplitude, logarithm of the rate, and both again.
fn two_exponentials(p: &[Dual64], x: f64) -> Dual64 {
    p[0] * (-p[1].exp() * x).exp() + p[2] * (-p[3].exp() * x).exp()
}

/// One mean for all.
fn mean(p: &[Dual64], _x: f64) -> Dual64 {
    p[0]
}

/// A straight line.
fn line(p: &[Dual64], x: f64) -> Dual64 {
    p[0] + p[1] * x
}

/// A published table: columns of the group, of x and of y.
fn table(text: &str, formula: Formula, parameters: usize, columns: [usize; 3]) -> Curves {
    let mut names: Vec<String> = Vec::new();
    let (mut x, mut y) = (Vec::<Vec<f64>>::new(), Vec::<Vec<f64>>::new());
    for row in text.lines().skip(1).filter(|row| !row.is_empty()) {
        let cells: Vec<&str> = row.split(',').map(|cell| cell.trim_matches('"')).collect();
        let name = cells[columns[0]].to_owned();
        let group = names.iter().position(|n| *n == name).unwrap_or_else(|| {
            names.push(name);
            x.push(Vec::new());
            y.push(Vec::new());
            names.len() - 1
        });
        x[group].push(cells[columns[1]].parse().unwrap());
        y[group].push(cells[columns[2]].parse().unwrap());
    }
    Curves {
        formula,
        parameters,
        x,
        y,
    }
}

fn loblolly() -> Curves {
    table(include_str!("data/loblolly.csv"), asymptotic, 3, [2, 1, 0])
}

fn fitted(curves: &Curves, start: &[f64], random: &[usize]) -> MixedFit {
    let fit = fit_mixed(
        &mut curves.clone(),
        start,
        &MixedSettings::with_random(random),
    )
    .unwrap();
    assert!(fit.converged, "{}", fit.termination.in_words());
    fit
}

/// Estimates as a reference prints them.
struct Reference<'a> {
    fixed: &'a [f64],
    errors: &'a [f64],
    random_sd: &'a [f64],
    residual_sd: f64,
    log_likelihood: f64,
}

impl Reference<'_> {
    fn agrees(&self, fit: &MixedFit, ratio: f64, likelihood_margin: f64) {
        let errors = fit.fixed_standard_errors().unwrap();
        for (found, expected) in fit.fixed.iter().zip(self.fixed) {
            assert_relative_eq!(*found, *expected, max_relative = ratio);
        }
        for (found, expected) in errors.iter().zip(self.errors) {
            assert_relative_eq!(*found, *expected, max_relative = ratio);
        }
        for (found, expected) in fit.random_sd.iter().zip(self.random_sd) {
            assert_relative_eq!(*found, *expected, max_relative = ratio);
        }
        assert_relative_eq!(fit.residual_sd, self.residual_sd, max_relative = ratio);
        assert_abs_diff_eq!(
            fit.log_likelihood,
            self.log_likelihood,
            epsilon = likelihood_margin
        );
    }
}

/// Pinheiro & Bates 2000 (Loblolly), nlme 3.1-162, default and tightened tolerances.
#[test]
fn pines_with_their_own_asymptote_grow_as_published() {
    let fit = fitted(&loblolly(), &[103.0, -8.5, -3.3], &[0]);
    Reference {
        fixed: &[101.448300, -8.627494, -3.233730],
        errors: &[2.461615, 0.317952, 0.034270],
        random_sd: &[3.650645],
        residual_sd: 0.718862,
        log_likelihood: -114.743,
    }
    .agrees(&fit, 5e-5, 5e-4);
    Reference {
        fixed: &[101.4471503958, -8.6276326973, -3.2337125869],
        errors: &[2.461545304641, 0.317953084330, 0.034268976002],
        random_sd: &[3.6506470417],
        residual_sd: 0.7188623487,
        log_likelihood: -114.74316226,
    }
    .agrees(&fit, 1e-9, 1e-8);
    let seed_329 = fit.effects.iter().map(|e| e[0]).fold(f64::MAX, f64::min);
    assert_relative_eq!(seed_329, -5.56524297863, max_relative = 1e-9);
}

/// Pinheiro & Bates 2000 (Orange), nlme 3.1-162, default and tightened tolerances.
#[test]
fn orange_trees_with_their_own_asymptote_grow_as_published() {
    let orange = table(include_str!("data/orange.csv"), logistic, 3, [0, 1, 2]);
    let fit = fitted(&orange, &[200.0, 700.0, 350.0], &[0]);
    Reference {
        fixed: &[191.0502, 722.5598, 344.1694],
        errors: &[16.15413, 35.15222, 27.14816],
        random_sd: &[31.482554],
        residual_sd: 7.846255,
        log_likelihood: -131.5846,
    }
    .agrees(&fit, 5e-5, 5e-5);
    Reference {
        fixed: &[191.04900081, 722.55597962, 344.16238176],
        errors: &[16.154029406, 35.150823095, 27.147387873],
        random_sd: &[31.4825578324],
        residual_sd: 7.8462544865,
        log_likelihood: -131.584579108,
    }
    .agrees(&fit, 1e-9, 1e-8);
    for (group, effect) in [
        (0, -29.4038164650),
        (1, 31.5648366484),
        (2, -37.0002298887),
        (3, 40.0183374192),
        (4, -5.1791277138),
    ] {
        assert_relative_eq!(fit.effects[group][0], effect, max_relative = 1e-9);
    }
}

/// Pinheiro & Bates 2000 (Indometh, diagonal random effects), nlme 3.1-162, default and tightened.
#[test]
fn two_exponentials_with_three_random_effects_fall_as_published() {
    let curves = table(
        include_str!("data/indometh.csv"),
        two_exponentials,
        4,
        [0, 1, 2],
    );
    let fit = fitted(&curves, &[2.0, 0.5, 0.5, -1.0], &[0, 1, 2]);
    Reference {
        fixed: &[2.827603, 0.773253, 0.461020, -1.345004],
        errors: &[],
        random_sd: &[0.571350, 0.158121, 0.111528],
        residual_sd: 0.0814963,
        log_likelihood: 54.59236,
    }
    .agrees(&fit, 1e-3, 5e-3);
    // nlme's step halving allows an offset of 3e-8 here and no less.
    Reference {
        fixed: &[2.82766573675, 0.77289594673, 0.46058260538, -1.34587698430],
        errors: &[0.26393782132, 0.10999171348, 0.11270544739, 0.23154503387],
        random_sd: &[0.571291867175, 0.158163450928, 0.111461905428],
        residual_sd: 0.081499086692,
        log_likelihood: 54.588140183,
    }
    .agrees(&fit, 3e-8, 1e-7);
    for (found, expected) in
        fit.effects[3]
            .iter()
            .zip([-0.565350333336, -0.2314827187404, 0.011500636579])
    {
        assert_abs_diff_eq!(*found, expected, epsilon = 2e-8);
    }
}

/// The estimates must not hang on where the search began.
#[test]
fn far_starts_end_at_the_same_estimates() {
    let near = fitted(&loblolly(), &[103.0, -8.5, -3.3], &[0]);
    for start in [[60.0, 0.0, -2.0], [200.0, 5.0, -4.0], [80.0, -30.0, -1.0]] {
        let far = fitted(&loblolly(), &start, &[0]);
        for (a, b) in near.fixed.iter().zip(&far.fixed) {
            assert_relative_eq!(a, b, max_relative = 1e-8);
        }
        assert_relative_eq!(near.random_sd[0], far.random_sd[0], max_relative = 1e-7);
    }
}

/// Linear models, unbalanced, both likelihoods: R package nlme 3.1-162, function lme (script
/// `tests/data/mixed_nlme.R`), for the pines with the estimates in more digits than lme ends at,
/// from the dense likelihood in 40 digits by mpmath (script `tests/data/mixed_dense.py`). lme
/// cannot reach 0 and stops near it; its other figures then stand.
#[test]
fn straight_lines_agree_with_lme_under_both_likelihoods() {
    let late = keep(&loblolly(), line, 2, |x, place| {
        x >= 10.0 && ![0, 1, 8, 15, 16].contains(&place)
    });
    let orange = table(include_str!("data/orange.csv"), logistic, 3, [0, 1, 2]);
    let some = keep(&orange, line, 2, |_, place| {
        ![0, 1, 8, 15, 16].contains(&place)
    });
    let cases = [
        (
            &late,
            Likelihood::Full,
            Reference {
                fixed: &[6.9004982870096, 2.178007768703],
                errors: &[0.85979248972, 0.03784814550],
                random_sd: &[1.7942524829559, 0.014454782973831],
                residual_sd: 1.3954815442253,
                log_likelihood: -103.11718885408,
            },
        ),
        (
            &late,
            Likelihood::Restricted,
            Reference {
                fixed: &[6.9001702838093, 2.1780376404026],
                errors: &[0.858371578371, 0.037792393821],
                random_sd: &[1.8482043000762, 0.021000980636507],
                residual_sd: 1.4125480010151,
                log_likelihood: -105.19371569418,
            },
        ),
        (
            &some,
            Likelihood::Full,
            Reference {
                fixed: &[18.92686357056, 0.10572644511],
                errors: &[4.650013200420, 0.010151481623],
                random_sd: &[],
                residual_sd: 10.4980645302289,
                log_likelihood: -121.403015602,
            },
        ),
        (
            &some,
            Likelihood::Restricted,
            Reference {
                fixed: &[18.90885526251, 0.10573839225],
                errors: &[4.584997134653, 0.010837708348],
                random_sd: &[],
                residual_sd: 10.7143722811732,
                log_likelihood: -122.698481576,
            },
        ),
    ];
    for (curves, likelihood, reference) in cases {
        let settings = MixedSettings {
            likelihood,
            ..MixedSettings::with_random(&[0, 1])
        };
        let fit = fit_mixed(&mut curves.clone(), &[0.0, 1.0], &settings).unwrap();
        assert!(fit.converged);
        reference.agrees(&fit, 1e-6, 1e-7);
        if reference.random_sd.is_empty() {
            assert_eq!(fit.random_sd[0], 0.0);
            assert!(fit.effects.iter().all(|effects| effects[0] == 0.0));
        }
    }
}

/// Rows for which `wanted` holds, by x and place in the table among rows of wanted x.
fn keep(
    curves: &Curves,
    formula: Formula,
    parameters: usize,
    wanted: fn(f64, usize) -> bool,
) -> Curves {
    let (mut x, mut y) = (Vec::new(), Vec::new());
    let mut place = 0;
    for (own_x, own_y) in curves.x.iter().zip(&curves.y) {
        let (mut kept_x, mut kept_y) = (Vec::new(), Vec::new());
        for (a, b) in own_x.iter().zip(own_y) {
            // A place that drops nothing tells whether x alone is wanted.
            if wanted(*a, usize::MAX) {
                if wanted(*a, place) {
                    kept_x.push(*a);
                    kept_y.push(*b);
                }
                place += 1;
            }
        }
        x.push(kept_x);
        y.push(kept_y);
    }
    Curves {
        formula,
        parameters,
        x,
        y,
    }
}

/// Yield of dyestuff, six batches of five, in g (O. Davies, Statistical Methods in Research and
/// Production, Oliver & Boyd 1947, table 6.1; figures from memory).
const DYESTUFF: [[f64; 5]; 6] = [
    [1545.0, 1440.0, 1440.0, 1520.0, 1580.0],
    [1540.0, 1555.0, 1490.0, 1560.0, 1495.0],
    [1595.0, 1550.0, 1605.0, 1510.0, 1560.0],
    [1445.0, 1440.0, 1595.0, 1465.0, 1545.0],
    [1595.0, 1630.0, 1515.0, 1635.0, 1625.0],
    [1520.0, 1455.0, 1450.0, 1480.0, 1445.0],
];

/// Invented so that batches differ less than their scatter explains (G. Box, G. Tiao, Bayesian
/// Inference in Statistical Analysis, Addison-Wesley 1973, table 5.1.4; figures from memory).
const ALIKE: [[f64; 5]; 6] = [
    [7.298, 3.846, 2.434, 9.566, 7.990],
    [5.220, 6.556, 0.608, 11.788, -0.892],
    [0.110, 10.386, 13.434, 5.510, 8.166],
    [2.212, 4.852, 7.092, 9.288, 4.980],
    [0.282, 9.014, 4.458, 9.446, 7.198],
    [1.722, 4.782, 8.106, 0.758, 3.758],
];

fn batches(table: &[[f64; 5]]) -> Curves {
    Curves {
        formula: mean,
        parameters: 1,
        x: table.iter().map(|row| vec![0.0; row.len()]).collect(),
        y: table.iter().map(|row| row.to_vec()).collect(),
    }
}

/// Mean, mean square between and mean square within the batches.
fn analysis_of_variance(table: &[[f64; 5]]) -> (f64, f64, f64) {
    let (a, n) = (table.len() as f64, 5.0);
    let means: Vec<f64> = table.iter().map(|r| r.iter().sum::<f64>() / n).collect();
    let mean = means.iter().sum::<f64>() / a;
    let between: f64 = means.iter().map(|m| n * (m - mean).powi(2)).sum();
    let within: f64 = table
        .iter()
        .zip(&means)
        .flat_map(|(row, m)| row.iter().map(move |y| (y - m).powi(2)))
        .sum();
    (mean, between / (a - 1.0), within / (a * (n - 1.0)))
}

/// S. Searle, G. Casella, C. McCulloch, Variance Components, Wiley 1992, sections 3.7 and 3.8
/// (maximum and restricted maximum likelihood, one-way classification, balanced; formulae from
/// memory, and by hand: the likelihood is a product of two chi-square densities).
#[test]
fn a_balanced_one_way_table_gives_the_closed_form_estimates() {
    let (a, n) = (6.0, 5.0);
    let (mean, between, within) = analysis_of_variance(&DYESTUFF);
    // As printed in the documentation of the R package lme4 (data Dyestuff; from memory).
    assert_abs_diff_eq!(mean, 1527.5, epsilon = 1e-9);
    assert_abs_diff_eq!((between - within) / n, 1764.05, epsilon = 5e-3);
    for (likelihood, share) in [
        (Likelihood::Full, 1.0 - 1.0 / a),
        (Likelihood::Restricted, 1.0),
    ] {
        let settings = MixedSettings {
            likelihood,
            ..MixedSettings::with_random(&[0])
        };
        let fit = fit_mixed(&mut batches(&DYESTUFF), &[1000.0], &settings).unwrap();
        assert!(fit.converged);
        let spread = (share * between - within) / n;
        let sum = within + n * spread;
        assert_relative_eq!(fit.fixed[0], mean, max_relative = 1e-10);
        assert_relative_eq!(fit.residual_sd.powi(2), within, max_relative = 1e-8);
        assert_relative_eq!(fit.random_sd[0].powi(2), spread, max_relative = 1e-8);
        let shrink = n * spread / sum;
        let uncertainty = fit.uncertainty.as_ref().unwrap();
        for (group, row) in DYESTUFF.iter().enumerate() {
            let own = row.iter().sum::<f64>() / n - mean;
            assert_relative_eq!(fit.effects[group][0], shrink * own, max_relative = 1e-7);
            assert_relative_eq!(
                uncertainty.effect_sds[group][0].powi(2),
                spread * within / sum,
                max_relative = 1e-8
            );
        }
        // Readings less one over readings: the divisor of the scatter in the covariance.
        let divisor = match likelihood {
            Likelihood::Full => a * n / (a * n - 1.0),
            Likelihood::Restricted => 1.0,
        };
        let of_mean = divisor * sum / (a * n);
        assert_relative_eq!(
            uncertainty.fixed_covariance[[0, 0]],
            of_mean,
            max_relative = 1e-8
        );
        assert_relative_eq!(
            uncertainty.group_covariances[2][[0, 0]],
            divisor * spread * within / sum + (1.0 - shrink).powi(2) * of_mean,
            max_relative = 1e-8
        );
        // Variances of the two variances from the curvature: 2 w^2/(a(n-1)) within, and
        // 2/n^2 (l^2/a' + w^2/(a(n-1))) between, a' = a, or a-1 under the restricted likelihood.
        let groups = match likelihood {
            Likelihood::Full => a,
            Likelihood::Restricted => a - 1.0,
        };
        let of_within = 2.0 * within.powi(2) / (a * (n - 1.0));
        let of_between = (2.0 * sum.powi(2) / groups + of_within) / (n * n);
        assert_relative_eq!(
            uncertainty.residual_log_sd_error,
            of_within.sqrt() / (2.0 * within),
            max_relative = 1e-7
        );
        assert_relative_eq!(
            uncertainty.random_log_sd_errors[0].unwrap(),
            of_between.sqrt() / (2.0 * spread),
            max_relative = 1e-7
        );
        if likelihood == Likelihood::Full {
            let two_pi = 2.0 * std::f64::consts::PI;
            let expected =
                -0.5 * (a * n * (1.0 + two_pi.ln()) + a * (n - 1.0) * within.ln() + a * sum.ln());
            assert_relative_eq!(fit.log_likelihood, expected, max_relative = 1e-12);
            // lme4 prints 327.3271 for minus twice the log-likelihood (from memory).
            assert_abs_diff_eq!(-2.0 * fit.log_likelihood, 327.3271, epsilon = 1e-4);
        }
    }
}

/// The estimate of a variance that the analysis of variance makes negative is 0, and the scatter
/// then is that about the common mean (Searle, Casella & McCulloch 1992, section 3.7; from memory).
#[test]
fn batches_that_are_alike_have_no_spread_between_them() {
    let (mean, between, within) = analysis_of_variance(&ALIKE);
    assert!(between < within);
    let fit = fitted(&batches(&ALIKE), &[0.0], &[0]);
    let total = 5.0 * between + 24.0 * within;
    assert_eq!(fit.random_sd, [0.0]);
    assert!(fit.effects.iter().all(|effects| effects == &[0.0]));
    assert_relative_eq!(fit.residual_sd.powi(2), total / 30.0, max_relative = 1e-12);
    assert_relative_eq!(fit.fixed[0], mean, max_relative = 1e-12);
    let uncertainty = fit.uncertainty.unwrap();
    assert_eq!(uncertainty.random_log_sd_errors, [None]);
    assert_relative_eq!(
        uncertainty.group_covariances[0][[0, 0]],
        total / 29.0 / 30.0,
        max_relative = 1e-12
    );
}

/// Identity: copies of one group have no spread between them, and their common curve is that of
/// plain least squares over all of them.
#[test]
fn without_spread_between_groups_the_curve_is_that_of_plain_least_squares() {
    let pines = loblolly();
    let copies = Curves {
        x: vec![pines.x[0].clone(); 5],
        y: vec![pines.y[0].clone(); 5],
        ..pines
    };
    let fit = fitted(&copies, &[103.0, -8.5, -3.3], &[0, 1, 2]);
    assert_eq!(fit.random_sd, [0.0; 3]);
    let pooled = minimize(
        Pooled(copies.clone()),
        &[103.0, -8.5, -3.3],
        Settings::default(),
    );
    assert!(pooled.termination.was_successful());
    for (found, expected) in fit.fixed.iter().zip(&pooled.parameters) {
        assert_relative_eq!(found, expected, max_relative = 1e-9);
    }
    assert_relative_eq!(
        fit.residual_sd.powi(2),
        pooled.sum_of_squares / 30.0,
        max_relative = 1e-10
    );
}

/// Identity: without random effects it is plain least squares.
#[test]
fn without_random_effects_it_is_plain_least_squares() {
    let fit = fitted(&loblolly(), &[103.0, -8.5, -3.3], &[]);
    let pooled = minimize(
        Pooled(loblolly()),
        &[103.0, -8.5, -3.3],
        Settings::default(),
    );
    for (found, expected) in fit.fixed.iter().zip(&pooled.parameters) {
        assert_relative_eq!(found, expected, max_relative = 1e-9);
    }
}

/// Limit: where groups differ a thousand million times more than their readings scatter, the fixed
/// effect is the mean of the groups' own values and the spread their standard deviation.
#[test]
fn readings_without_scatter_give_the_groups_own_values() {
    let own = [3.0, 5.0, 4.5, 7.25];
    let x: Vec<f64> = (0..6).map(f64::from).collect();
    let curves = Curves {
        formula: line,
        parameters: 2,
        x: vec![x.clone(); 4],
        y: own
            .iter()
            .map(|at_zero| x.iter().map(|x| at_zero + 0.3 * x).collect())
            .collect(),
    };
    let fit = fitted(&curves, &[0.0, 0.0], &[0]);
    let mean = own.iter().sum::<f64>() / 4.0;
    let variance = own.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / 4.0;
    assert_relative_eq!(fit.fixed[0], mean, max_relative = 1e-9);
    assert_relative_eq!(fit.fixed[1], 0.3, max_relative = 1e-9);
    assert_relative_eq!(fit.random_sd[0], variance.sqrt(), max_relative = 1e-6);
    assert!(fit.residual_sd < 1e-13);
    assert!(fit.log_likelihood.is_finite());
}

/// Identity: the order of the groups is of no account.
#[test]
fn the_order_of_the_groups_changes_nothing() {
    let curves = table(
        include_str!("data/indometh.csv"),
        two_exponentials,
        4,
        [0, 1, 2],
    );
    let order = [4, 2, 0, 5, 3, 1];
    let shuffled = Curves {
        x: order.iter().map(|&g| curves.x[g].clone()).collect(),
        y: order.iter().map(|&g| curves.y[g].clone()).collect(),
        ..curves.clone()
    };
    let start = [2.0, 0.5, 0.5, -1.0];
    let (one, other) = (
        fitted(&curves, &start, &[0, 1, 2]),
        fitted(&shuffled, &start, &[0, 1, 2]),
    );
    for (a, b) in one.fixed.iter().zip(&other.fixed) {
        assert_relative_eq!(a, b, max_relative = 1e-8);
    }
    for (a, b) in one.random_sd.iter().zip(&other.random_sd) {
        assert_relative_eq!(a, b, max_relative = 1e-7);
    }
    for (place, &group) in order.iter().enumerate() {
        for (a, b) in other.effects[place].iter().zip(&one.effects[group]) {
            assert_abs_diff_eq!(a, b, epsilon = 1e-7);
        }
    }
    assert_relative_eq!(
        one.log_likelihood,
        other.log_likelihood,
        max_relative = 1e-9
    );
}

/// Identity: readings in another unit give the same curve in that unit.
#[test]
fn the_unit_of_the_readings_is_of_no_account() {
    let curves = table(include_str!("data/orange.csv"), logistic, 3, [0, 1, 2]);
    let one = fitted(&curves, &[200.0, 700.0, 350.0], &[0]);
    for factor in [1e-9, 1e6] {
        let mut scaled = curves.clone();
        scaled.y.iter_mut().flatten().for_each(|y| *y *= factor);
        let other = fitted(&scaled, &[200.0 * factor, 700.0, 350.0], &[0]);
        assert_relative_eq!(other.fixed[0], factor * one.fixed[0], max_relative = 1e-8);
        assert_relative_eq!(other.fixed[1], one.fixed[1], max_relative = 1e-8);
        assert_relative_eq!(
            other.random_sd[0],
            factor * one.random_sd[0],
            max_relative = 1e-7
        );
        // Every reading's density is divided by the factor.
        assert_abs_diff_eq!(
            other.log_likelihood,
            one.log_likelihood - 35.0 * factor.ln(),
            epsilon = 1e-7
        );
    }
}

/// Rise between two plateaus on a logarithmic scale: initial, plateau, logarithm of the rate.
fn rise(p: &[Dual64], x: f64) -> Dual64 {
    p[0] + (p[1] - p[0]) * (-(-p[2].exp() * x).exp() + 1.0)
}

/// Invented lots of a known truth.
fn lots(random: &mut ChaCha8Rng, count: usize, truth: [f64; 3], sds: [f64; 3]) -> Curves {
    let x: Vec<f64> = (0..15).map(|i| 0.25 * 1.3_f64.powi(i)).collect();
    let normal = |random: &mut ChaCha8Rng| -> f64 { StandardNormal.sample(random) };
    let y = (0..count)
        .map(|_| {
            let own: Vec<Dual64> = truth
                .iter()
                .zip(&sds)
                .map(|(t, sd)| Dual64::from(t + sd * normal(random)))
                .collect();
            x.iter()
                .map(|x| rise(&own, *x).re + 0.1 * normal(random))
                .collect()
        })
        .collect();
    Curves {
        formula: rise,
        parameters: 3,
        x: vec![x; count],
        y,
    }
}

/// Simulation: 300 tables of ten lots. Student's t with nine degrees of freedom (quantile 2.262)
/// on the standard errors covers the truth in 95 % of them, within three standard errors of that
/// share (1.26 %); and the variances of the restricted likelihood are right on average, within
/// four standard errors of their mean (the variance of ten lots has the relative sd sqrt(2/9)).
#[test]
fn fits_of_simulated_lots_cover_the_truth() {
    let mut random = ChaCha8Rng::seed_from_u64(20);
    let (truth, sds) = ([-6.5, 2.4, -1.5], [0.15, 0.25, 0.3]);
    let runs = 300;
    let settings = MixedSettings {
        likelihood: Likelihood::Restricted,
        ..MixedSettings::with_random(&[0, 1, 2])
    };
    let mut covered = [0; 3];
    let mut variances = [0.0; 3];
    let mut scatter = 0.0;
    for _ in 0..runs {
        let mut table = lots(&mut random, 10, truth, sds);
        let fit = fit_mixed(&mut table, &[-6.0, 2.0, -1.0], &settings).unwrap();
        assert!(fit.converged, "{}", fit.termination.in_words());
        let errors = fit.fixed_standard_errors().unwrap();
        for k in 0..3 {
            covered[k] += i32::from((fit.fixed[k] - truth[k]).abs() < 2.262 * errors[k]);
            variances[k] += fit.random_sd[k].powi(2) / f64::from(runs);
        }
        scatter += fit.residual_sd.powi(2) / f64::from(runs);
    }
    for k in 0..3 {
        let share = f64::from(covered[k]) / f64::from(runs);
        assert_abs_diff_eq!(share, 0.95, epsilon = 0.038);
        let margin = 4.0 * (2.0_f64 / 9.0 / f64::from(runs)).sqrt();
        // The scatter of the readings adds to the sd of a lot's own estimate, by little here.
        assert_relative_eq!(variances[k], sds[k].powi(2), max_relative = 1.3 * margin);
    }
    assert_relative_eq!(scatter, 0.01, max_relative = 0.02);
}

#[test]
fn groups_of_a_single_reading_are_fitted_with_the_others() {
    let mut curves = loblolly();
    for group in 0..4 {
        curves.x[group].truncate(1);
        curves.y[group].truncate(1);
    }
    let fit = fitted(&curves, &[103.0, -8.5, -3.3], &[0]);
    let uncertainty = fit.uncertainty.unwrap();
    // A reading at 3 years says next to nothing about the asymptote: the spread stays as it is.
    assert!(uncertainty.effect_sds[0][0] > 0.9 * fit.random_sd[0]);
    assert!(uncertainty.effect_sds[6][0] < 0.5 * fit.random_sd[0]);
}

#[test]
fn one_reading_a_group_cannot_tell_spread_from_scatter() {
    let curves = Curves {
        formula: mean,
        parameters: 1,
        x: vec![vec![0.0]; 6],
        y: [3.0, 4.0, 4.5, 2.0, 6.0, 3.25].map(|y| vec![y]).to_vec(),
    };
    let settings = MixedSettings::with_random(&[0]);
    let fit = fit_mixed(&mut curves.clone(), &[1.0], &settings).unwrap();
    assert!(!fit.converged);
    assert_eq!(fit.termination, MixedTermination::SpreadNotFound);
    assert!(fit.uncertainty.is_none());
}

#[test]
fn a_parameter_without_effect_is_no_fit() {
    fn idle(p: &[Dual64], x: f64) -> Dual64 {
        p[0] + p[1] * x + p[2] * 0.0
    }
    let mut curves = Curves {
        formula: idle,
        ..loblolly()
    };
    for random in [vec![0], vec![0, 2]] {
        let settings = MixedSettings::with_random(&random);
        let fit = fit_mixed(&mut curves, &[1.0, 1.0, 1.0], &settings).unwrap();
        assert!(!fit.converged);
        assert!(fit.uncertainty.is_none());
        assert!(matches!(
            fit.termination,
            MixedTermination::PenalisedStep(_) | MixedTermination::Flat
        ));
    }
}

#[test]
fn a_fit_cut_short_says_so() {
    let curves = table(
        include_str!("data/indometh.csv"),
        two_exponentials,
        4,
        [0, 1, 2],
    );
    let settings = MixedSettings {
        max_iterations: 1,
        ..MixedSettings::with_random(&[0, 1, 2])
    };
    let fit = fit_mixed(&mut curves.clone(), &[2.0, 0.5, 0.5, -1.0], &settings).unwrap();
    assert!(!fit.converged);
    assert_eq!(fit.termination, MixedTermination::IterationLimit);
    assert!(fit.uncertainty.is_none());
    assert!(fit.fixed.iter().all(|v| v.is_finite()));
}

#[test]
fn input_that_cannot_be_used_is_refused_in_words() {
    let refused = |curves: &Curves, start: &[f64], random: &[usize]| {
        fit_mixed(
            &mut curves.clone(),
            start,
            &MixedSettings::with_random(random),
        )
        .unwrap_err()
    };
    let start = [103.0, -8.5, -3.3];
    let all = loblolly();

    let mut one = all.clone();
    one.x.truncate(1);
    one.y.truncate(1);
    let error = refused(&one, &start, &[0]);
    assert_eq!(error, MixedError::TooFewGroups { groups: 1 });
    assert!(error.to_string().contains("What helps"));

    let mut few = all.clone();
    few.x.truncate(3);
    few.y.truncate(3);
    few.x.iter_mut().for_each(|x| x.truncate(1));
    few.y.iter_mut().for_each(|y| y.truncate(1));
    let error = refused(&few, &start, &[0]);
    assert_eq!(
        error,
        MixedError::TooFewRows {
            rows: 3,
            parameters: 3
        }
    );

    let mut broken = all.clone();
    broken.y[2][4] = f64::INFINITY;
    let error = refused(&broken, &start, &[0]);
    assert_eq!(
        error,
        MixedError::ReadingNotFinite {
            group: 3,
            row: 5,
            reading: f64::INFINITY
        }
    );

    let mut empty = all.clone();
    empty.x[1].clear();
    empty.y[1].clear();
    assert_eq!(
        refused(&empty, &start, &[0]),
        MixedError::EmptyGroup { group: 2 }
    );
    assert_eq!(
        refused(&all, &[103.0, f64::NAN, -3.3], &[0]),
        MixedError::StartOutOfReach { group: 1, row: 1 }
    );
    assert_eq!(
        refused(&all, &[103.0], &[0]),
        MixedError::StartLength {
            parameters: 3,
            found: 1
        }
    );
    assert_eq!(
        refused(&all, &start, &[3]),
        MixedError::NoSuchComponent {
            component: 4,
            parameters: 3
        }
    );
    assert_eq!(
        refused(&all, &start, &[1, 1]),
        MixedError::RepeatedComponent { component: 2 }
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Whatever the readings, the fit ends, and what it calls a fit is finite.
    #[test]
    fn any_readings_end_in_a_fit_or_in_words(
        groups in prop::collection::vec(prop::collection::vec(-1.0e3..1.0e3_f64, 1..7), 0..6),
        exponent in -12..12_i32,
        start in prop::collection::vec(-5.0..5.0_f64, 3),
        chosen in 0..8_usize,
        which in 0..3_usize,
    ) {
        let factor = 10.0_f64.powi(exponent);
        let mut curves = Curves {
            formula: [asymptotic as Formula, logistic, rise][which],
            parameters: 3,
            x: groups.iter().map(|y| (0..y.len()).map(|i| i as f64).collect()).collect(),
            y: groups.iter().map(|y| y.iter().map(|v| factor * v).collect()).collect(),
        };
        let random: Vec<usize> = (0..3).filter(|k| chosen >> k & 1 == 1).collect();
        let settings = MixedSettings { max_iterations: 50, ..MixedSettings::with_random(&random) };
        if let Ok(fit) = fit_mixed(&mut curves, &start, &settings) {
            prop_assert_eq!(fit.converged, fit.uncertainty.is_some());
            if let Some(uncertainty) = fit.uncertainty {
                prop_assert!(fit.fixed.iter().chain(&fit.random_sd).all(|v| v.is_finite()));
                prop_assert!(fit.random_sd.iter().all(|sd| *sd >= 0.0));
                prop_assert!(fit.log_likelihood.is_finite());
                prop_assert!(uncertainty.fixed_covariance.diag().iter().all(|v| *v >= 0.0));
                prop_assert!(uncertainty.effect_sds.iter().flatten().all(|v| v.is_finite()));
            }
        }
    }
}
