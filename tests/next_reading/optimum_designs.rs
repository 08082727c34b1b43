//! Published optimum designs.

use crate::benches::{KELVIN, design, even_grid, fitted};
use approx::{assert_abs_diff_eq, assert_relative_eq};
use heatset::fit::{Criterion, Held, ParameterName, Predictor};

const GAS_CONSTANT: f64 = 8.314_462_618;

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
