//! What one more reading does to a covariance: linear algebra, made anew.

use crate::benches::{determinant, random_rows};
use approx::{assert_abs_diff_eq, assert_relative_eq};
use heatset::fit::{Criterion, Design};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

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
