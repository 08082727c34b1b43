//! What another lot would buy.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use heatset::plan::{another_lot, mean_sd_ratio, new_lot_factor};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

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
