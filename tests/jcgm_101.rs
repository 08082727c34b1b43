//! The worked examples of JCGM 101:2008 through the same draws and quantiles as every answer.
//!
//! Figures from memory; those of 9.2 follow from theory as well (sums of normal and rectangular
//! inputs), those of 9.3 were computed again here by numbers that the test writes out.
#![allow(clippy::unwrap_used, missing_docs)]

use heatset::plan::{monte_carlo, quantile};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

const DRAWS: usize = 1_000_000;

fn normal(random: &mut ChaCha8Rng) -> f64 {
    StandardNormal.sample(random)
}

/// Rectangular of mean 0 and standard deviation 1.
fn rectangular(random: &mut ChaCha8Rng) -> f64 {
    3_f64.sqrt() * random.random_range(-1.0..=1.0)
}

/// Mean, standard deviation and probabilistically symmetric 95 % interval of a model.
fn propagate(model: impl Fn(&mut ChaCha8Rng) -> f64 + Sync) -> (f64, f64, [f64; 2]) {
    let mut values = monte_carlo(DRAWS, 1, |random, count| {
        (0..count).map(|_| model(random)).collect()
    });
    let mean = values.iter().sum::<f64>() / DRAWS as f64;
    let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / DRAWS as f64;
    values.sort_by(f64::total_cmp);
    let interval = [quantile(&values, 0.025), quantile(&values, 0.975)];
    (mean, variance.sqrt(), interval)
}

fn near(value: f64, expected: f64, within: f64) -> bool {
    (value - expected).abs() <= within
}

#[test]
fn four_normal_inputs() {
    // 9.2.2: y 0, u 2.00, [-3.92, 3.92]
    let (mean, sd, [low, high]) = propagate(|random| (0..4).map(|_| normal(random)).sum());
    assert!(near(mean, 0.0, 0.01) && near(sd, 2.0, 0.005), "{mean} {sd}");
    assert!(
        near(low, -3.92, 0.015) && near(high, 3.92, 0.015),
        "{low} {high}"
    );
}

#[test]
fn four_rectangular_inputs_of_the_same_width() {
    // 9.2.3: y 0, u 2.00, [-3.88, 3.88]: narrower tails than a normal sum has
    let (_, sd, [low, high]) = propagate(|random| (0..4).map(|_| rectangular(random)).sum());
    assert!(near(sd, 2.0, 0.005), "{sd}");
    assert!(
        near(low, -3.88, 0.015) && near(high, 3.88, 0.015),
        "{low} {high}"
    );
}

#[test]
fn four_rectangular_inputs_one_of_them_ten_times_as_wide() {
    // 9.2.4: y 0, u 10.1 (sqrt(103) = 10.149), [-17.0, 17.0]: the law of propagation says 19.9
    let (_, sd, [low, high]) = propagate(|random| {
        (0..3).map(|_| rectangular(random)).sum::<f64>() + 10.0 * rectangular(random)
    });
    assert!(near(sd, 103_f64.sqrt(), 0.02), "{sd}");
    assert!(
        near(low, -17.0, 0.06) && near(high, 17.0, 0.06),
        "{low} {high}"
    );
}

#[test]
fn the_calibration_of_a_mass_where_first_order_propagation_fails() {
    // 9.3: a weight of 100 g against a reference, buoyancy in air of rectangular density; u 0.0754 mg
    // by Monte Carlo against 0.0539 by first order, where the buoyancy's sensitivity is zero.
    let deviation_mg = |random: &mut ChaCha8Rng| {
        let reference = 100_000.0 + 0.050 * normal(random);
        let trim = 1.234 + 0.020 * normal(random);
        let air: f64 = random.random_range(1.10..=1.30);
        let weight: f64 = random.random_range(7000.0..=9000.0);
        let standard: f64 = random.random_range(7950.0..=8050.0);
        (reference + trim) * (1.0 + (air - 1.2) * (1.0 / weight - 1.0 / standard)) - 100_000.0
    };
    let (mean, sd, [low, high]) = propagate(deviation_mg);
    assert!(near(mean, 1.234, 0.001), "{mean}");
    assert!(near(sd, 0.0754, 0.0003), "{sd}");
    // 9.3.2.3: [1.0834, 1.3825] as the shortest interval; symmetric in probability here
    assert!(
        near(low, 1.0834, 0.005) && near(high, 1.3825, 0.005),
        "{low} {high}"
    );
    assert!(sd > 1.3 * (0.050_f64.powi(2) + 0.020_f64.powi(2)).sqrt());
}

#[test]
fn the_same_seed_gives_the_same_draws_on_any_number_of_threads() {
    let draws = || {
        monte_carlo(5000, 7, |random, count| {
            (0..count).map(|_| normal(random).to_bits()).collect()
        })
    };
    let alone = rayon::ThreadPoolBuilder::new()
        .num_threads(1)
        .build()
        .unwrap()
        .install(draws);
    let three = rayon::ThreadPoolBuilder::new()
        .num_threads(3)
        .build()
        .unwrap()
        .install(draws);
    assert_eq!(alone, three);
}
