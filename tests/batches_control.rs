//! Control charts against published worked examples and run lengths, against Brook and Evans's Markov
//! chain, and against simulation.
#![cfg(feature = "batches")]
#![allow(clippy::unwrap_used, clippy::panic)]

use approx::assert_relative_eq;
use heatset::batches::control::{Cusum, Ewma, ShewhartLimits, two_of_three};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};
use rayon::prelude::*;
use statrs::distribution::{ContinuousCDF, Normal};

/// NIST/SEMATECH e-Handbook 6.3.2.4: target 50, s 2.0539, weight 0.3.
const READINGS: [f64; 20] = [
    52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2,
    52.6, 52.4, 53.6, 52.1,
];
/// The averages that the handbook prints for them.
const AVERAGES: [f64; 20] = [
    50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52,
    50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99,
];

/// The same handbook, 6.3.2.3: group means against a target of 325, k 0.3175, h 4.1959.
const MEANS: [f64; 20] = [
    324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600,
    324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350,
];

#[test]
fn the_moving_average_of_the_handbook_recomputes() {
    let ewma = Ewma {
        centre_in_unit: 50.0,
        sigma_in_unit: 2.0539,
        weight_ratio: 0.3,
        width_sigmas: 3.0,
    };
    let course = ewma.course(&READINGS);
    assert_eq!(course.len(), AVERAGES.len());
    for (point, printed) in course.iter().zip(AVERAGES) {
        assert!(
            (point.average_in_unit - printed).abs() < 0.0051,
            "{point:?} {printed}"
        );
        assert!(!point.signals_above() && !point.signals_below());
    }
    // Its limits are those of many values; the exact ones run into them from inside.
    assert!((50.0 + ewma.widest_in_unit() - 52.5884).abs() < 1e-4);
    assert!((50.0 - ewma.widest_in_unit() - 47.4115).abs() < 1.1e-4);
    assert!(
        course
            .windows(2)
            .all(|w| w[0].upper_in_unit < w[1].upper_in_unit)
    );
    assert!((course[19].upper_in_unit - 52.5884).abs() < 1e-4);
    // After one value the average is the weight times it: the limit is L sigma w.
    assert_relative_eq!(
        course[0].upper_in_unit,
        50.0 + 3.0 * 2.0539 * 0.3,
        epsilon = 1e-12
    );
}

#[test]
fn every_sum_of_the_handbook_recomputes_and_the_upper_one_signals_at_group_14() {
    let cusum = Cusum {
        target_in_unit: 325.0,
        allowance_in_unit: 0.3175,
        decision_in_unit: 4.1959,
    };
    let course = cusum.course(&MEANS);
    // A sum that restarts at zero is the greatest of the sums over the last groups, or zero.
    let restarted = |upto: usize, sign: f64| {
        (0..=upto)
            .map(|from| {
                MEANS[from..=upto]
                    .iter()
                    .map(|mean| sign * (mean - 325.0) - 0.3175)
                    .sum::<f64>()
            })
            .fold(0.0, f64::max)
    };
    for (group, point) in course.iter().enumerate() {
        assert!((point.upper_in_unit - restarted(group, 1.0)).abs() < 1e-9);
        assert!((point.lower_in_unit - restarted(group, -1.0)).abs() < 1e-9);
    }
    let first = course.iter().position(|point| point.signals_above).unwrap();
    assert_eq!(first + 1, 14);
    assert!(course.iter().all(|point| !point.signals_below));
}

/// The same handbook, 6.3.2.2: flow rates, mean 50.81, limits 55.8041 and 45.8159.
#[test]
fn limits_from_moving_ranges_are_those_of_the_handbook() {
    let rates = &READINGS[10..];
    let mean = rates.iter().sum::<f64>() / rates.len() as f64;
    assert!((mean - 50.81).abs() < 1e-9);
    let limits = ShewhartLimits::of_moving_ranges(mean, rates, 3.0).unwrap();
    // The handbook rounds d2 to 1.128.
    assert!((limits.upper_in_unit() - 55.8041).abs() < 0.002);
    assert!((limits.lower_in_unit() - 45.8159).abs() < 0.002);
    assert!(ShewhartLimits::of_moving_ranges(0.0, &[1.0], 3.0).is_none());
}

/// D. Montgomery, Introduction to Statistical Quality Control, run lengths of the tabular sum with
/// k = 0.5 (from memory), by J. Lucas and R. Crosier, Technometrics 24 (1982) 199.
#[test]
fn the_cumulative_sum_waits_as_published() {
    for (shift, with_four, with_five) in [
        (0.0, 168.0, 465.0),
        (0.25, 74.2, 139.0),
        (0.5, 26.6, 38.0),
        (0.75, 13.3, 17.0),
        (1.0, 8.38, 10.4),
        (1.5, 4.75, 5.75),
        (2.0, 3.34, 4.01),
        (2.5, 2.62, 3.11),
        (3.0, 2.19, 2.57),
        (4.0, 1.71, 2.01),
    ] {
        for (decision, printed) in [(4.0, with_four), (5.0, with_five)] {
            let found = Cusum::run_length_batches(0.5, decision, shift);
            // Three figures are printed.
            assert!(
                (found / printed - 1.0).abs() < 0.005,
                "{shift} {decision}: {found} {printed}"
            );
        }
    }
}

/// J. Lucas, M. Saccucci, Technometrics 32 (1990) 1, table 3, as Montgomery reprints it (from memory).
#[test]
fn the_moving_average_waits_as_published() {
    let schemes = [
        (0.4, 3.054),
        (0.25, 2.998),
        (0.2, 2.962),
        (0.1, 2.814),
        (0.05, 2.615),
    ];
    for (shift, printed) in [
        (0.0, [500.0, 500.0, 500.0, 500.0, 500.0]),
        (0.5, [71.2, 48.2, 41.8, 31.3, 28.8]),
        (1.0, [14.3, 11.1, 10.5, 10.3, 11.4]),
    ] {
        for ((weight, width), printed) in schemes.into_iter().zip(printed) {
            let found = Ewma::run_length_batches(weight, width, shift);
            // Printed to 0.1; the widths to three decimals move 500 by up to 1.5.
            let digit = 0.051 + 0.003 * printed;
            assert!(
                (found - printed).abs() < digit,
                "{shift} {weight}: {found} {printed}"
            );
        }
    }
}

/// A weight of 1 leaves Shewhart's chart, whose run length is known in closed form.
#[test]
fn a_moving_average_of_weight_one_is_shewharts_chart() {
    for shift in [0.0, 0.7, 2.0] {
        assert_relative_eq!(
            Ewma::run_length_batches(1.0, 3.0, shift),
            ShewhartLimits::run_length_batches(3.0, shift),
            max_relative = 1e-9
        );
    }
}

/// D. Brook, D. Evans, An approach to the probability distribution of CUSUM run length, Biometrika 59
/// (1972) 539, doi:10.1093/biomet/59.3.539: the sum in steps of w = 2h/(2t - 1), and the same with
/// twice the steps; what is left falls with the square of the step.
fn brook_and_evans(allowance: f64, decision: f64, shift: f64) -> f64 {
    let normal = Normal::standard();
    let with_states = |states: usize| {
        let w = 2.0 * decision / (2.0 * states as f64 - 1.0);
        let below = |x: f64| normal.cdf(x - shift + allowance);
        let chance = |from: usize, to: usize| {
            let away = to as f64 - from as f64;
            if to == 0 {
                below((away + 0.5) * w)
            } else {
                below((away + 0.5) * w) - below((away - 0.5) * w)
            }
        };
        // (I - R) L = 1 by elimination; the rows of R sum to under one, so no pivot vanishes.
        let mut rows: Vec<Vec<f64>> = (0..states)
            .map(|from| {
                (0..states)
                    .map(|to| f64::from(u8::from(from == to)) - chance(from, to))
                    .chain([1.0])
                    .collect()
            })
            .collect();
        for pivot in 0..states {
            let own = rows[pivot].clone();
            for (place, row) in rows.iter_mut().enumerate() {
                if place != pivot {
                    let factor = row[pivot] / own[pivot];
                    for (cell, of_own) in row.iter_mut().zip(&own) {
                        *cell -= factor * of_own;
                    }
                }
            }
        }
        rows[0][states] / rows[0][0]
    };
    let (coarse, fine) = (with_states(20), with_states(40));
    fine + (fine - coarse) / 3.0
}

#[test]
fn the_integral_equation_agrees_with_the_markov_chain() {
    for (allowance, decision, shift) in [
        (0.5, 4.0, 0.0),
        (0.5, 5.0, 1.0),
        (0.25, 4.0, 0.5),
        (1.0, 2.5, 0.0),
    ] {
        let one_side = |shift| brook_and_evans(allowance, decision, shift);
        let chain = 1.0 / (1.0 / one_side(shift) + 1.0 / one_side(-shift));
        let found = Cusum::run_length_batches(allowance, decision, shift);
        assert_relative_eq!(found, chain, max_relative = 2e-3);
    }
}

/// Mean of first signals over simulated courses, and its standard error.
fn simulated(
    runs: u64,
    longest: usize,
    first: impl Fn(&[f64]) -> Option<usize> + Sync,
) -> (f64, f64) {
    let lengths: Vec<f64> = (0..runs)
        .into_par_iter()
        .map(|run| {
            let mut random = ChaCha8Rng::seed_from_u64(11);
            random.set_stream(run);
            let mut values: Vec<f64> = Vec::new();
            let mut wanted = 64;
            loop {
                while values.len() < wanted {
                    values.push(StandardNormal.sample(&mut random));
                }
                if let Some(place) = first(&values) {
                    return place as f64 + 1.0;
                }
                assert!(wanted < longest, "no signal in {longest}");
                wanted *= 2;
            }
        })
        .collect();
    let n = runs as f64;
    let mean = lengths.iter().sum::<f64>() / n;
    let variance = lengths.iter().map(|l| (l - mean).powi(2)).sum::<f64>() / (n - 1.0);
    (mean, (variance / n).sqrt())
}

/// The charts as they stand in the log, against their own stated false alarm rates and the published
/// ones: simulation knows nothing of the equations.
#[test]
fn simulated_false_alarms_come_as_often_as_stated() {
    let runs = 3000;
    let cusum = Cusum {
        target_in_unit: 0.0,
        allowance_in_unit: 0.5,
        decision_in_unit: 4.0,
    };
    let (mean, error) = simulated(runs, 1 << 14, |z| {
        let course = cusum.course(z);
        course
            .iter()
            .position(|p| p.signals_above || p.signals_below)
    });
    // Montgomery (from memory): 168.
    assert!((mean - 168.0).abs() < 4.0 * error, "cusum {mean} ± {error}");

    let (mean, error) = simulated(runs, 1 << 14, |z| z.iter().position(|z| z.abs() > 3.0));
    assert!(
        (mean - 370.4).abs() < 4.0 * error,
        "shewhart {mean} ± {error}"
    );

    let (mean, error) = simulated(runs, 1 << 14, |z| {
        let pairs = two_of_three(z, 0.0, 1.0);
        z.iter()
            .zip(pairs)
            .position(|(z, pair)| pair || z.abs() > 3.0)
    });
    // Champ and Woodall 1987 (from memory): 225.44.
    assert!(
        (mean - 225.44).abs() < 4.0 * error,
        "two of three {mean} ± {error}"
    );

    let ewma = Ewma {
        centre_in_unit: 0.0,
        sigma_in_unit: 1.0,
        weight_ratio: 0.2,
        width_sigmas: 2.962,
    };
    let (mean, error) = simulated(runs, 1 << 14, |z| {
        let course = ewma.course(z);
        course
            .iter()
            .position(|p| p.signals_above() || p.signals_below())
    });
    // 500 with the limits of many values (Lucas and Saccucci); the exact limits of the first few take
    // some of that.
    assert!(
        mean < 500.0 + 4.0 * error && mean > 0.95 * 500.0 - 4.0 * error,
        "ewma {mean} ± {error}"
    );
}

/// The run length of the moving average after a shift, with the limits of many values, by simulation:
/// the integral equation knows nothing of it.
#[test]
fn the_moving_average_finds_a_shift_as_soon_as_simulated() {
    for (weight, width, shift) in [(0.05, 2.615, 2.0), (0.2, 2.962, 2.0), (0.2, 2.962, 0.75)] {
        let ewma = Ewma {
            centre_in_unit: 0.0,
            sigma_in_unit: 1.0,
            weight_ratio: weight,
            width_sigmas: width,
        };
        let (mean, error) = simulated(8_000, 1 << 14, |z| {
            let shifted: Vec<f64> = z.iter().map(|z| z + shift).collect();
            ewma.course(&shifted)
                .iter()
                .position(|p| p.average_in_unit.abs() > ewma.widest_in_unit())
        });
        let stated = Ewma::run_length_batches(weight, width, shift);
        assert!(
            (mean - stated).abs() < 4.0 * error,
            "{weight} {shift}: {mean} ± {error}, {stated}"
        );
    }
}
