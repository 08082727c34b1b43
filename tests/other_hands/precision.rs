//! Repeatability, reproducibility and variance components against certified and published values.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use heatset::fit::precision::{
    ComponentFactor, MeanSquareTerm, OutlierVerdict, PrecisionError, cochran_critical,
    cochran_test, combination_interval, crossed, grubbs_critical, grubbs_test, mandel,
    mandel_h_critical, mandel_k_critical, one_way, variance_components,
};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

/// NIST StRD, analysis of variance, SiRstv: resistance of silicon wafers, five instruments, five readings each.
/// Certified: mean squares between 1.27865654000000E-02, within 1.08318280000000E-02; residual standard
/// deviation 1.04076068334656E-01.
const SIRSTV: [[f64; 5]; 5] = [
    [196.3052, 196.1240, 196.1890, 196.2569, 196.3403],
    [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
    [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
    [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
    [196.2119, 196.1051, 196.1850, 196.0052, 196.2090],
];

fn groups_of<const N: usize>(rows: &[[f64; N]]) -> Vec<Vec<f64>> {
    rows.iter().map(|row| row.to_vec()).collect()
}

#[test]
fn mean_squares_are_those_certified_by_nist() {
    let found = one_way(&[groups_of(&SIRSTV)]).unwrap();
    // Three leading digits are constant: 16 - 2 * 3 digits or so are left of a naive sum; ours keeps 9.
    assert_relative_eq!(
        found.mean_square_between,
        1.27865654000000E-02,
        max_relative = 1e-9
    );
    assert_relative_eq!(
        found.mean_square_within,
        1.08318280000000E-02,
        max_relative = 1e-9
    );
    assert_relative_eq!(
        found.repeatability_sd,
        1.04076068334656E-01,
        max_relative = 1e-9
    );
    let between = (1.27865654e-2_f64 - 1.0831828e-2) / 5.0;
    assert_relative_eq!(
        found.between_sd * found.between_sd,
        between,
        max_relative = 1e-7
    );
    assert_relative_eq!(
        found.reproducibility_sd * found.reproducibility_sd,
        between + 1.0831828e-2,
        max_relative = 1e-8
    );
}

/// ISO 5725-2:1994, annex B, sulfur content of coal, level 1 (from memory: readings, and of the results
/// m 0.690, s_r 0.015, s_R 0.026). Eight laboratories with three to five readings: unequal groups.
#[test]
fn unequal_groups_give_the_standards_own_example() {
    let coal = vec![
        vec![0.71, 0.71, 0.70, 0.71],
        vec![0.69, 0.67, 0.68],
        vec![0.66, 0.65, 0.69],
        vec![0.67, 0.65, 0.66],
        vec![0.70, 0.69, 0.66, 0.71, 0.69],
        vec![0.73, 0.74, 0.73],
        vec![0.71, 0.71, 0.69],
        vec![0.70, 0.65, 0.68],
    ];
    let found = one_way(&[coal]).unwrap();
    assert_abs_diff_eq!(found.mean, 0.690, epsilon = 1e-3);
    assert_abs_diff_eq!(found.repeatability_sd, 0.015, epsilon = 6e-4);
    assert_abs_diff_eq!(found.reproducibility_sd, 0.026, epsilon = 6e-4);
    assert!(!found.balanced);
}

/// Critical values of the standards (from memory): ISO 5725-2 tables of Cochran's and Grubbs' tests and
/// of h and k at 1 % and 5 %; ASTM E691 at 0.5 %.
#[test]
fn critical_values_are_those_of_the_tables() {
    for (p, n, five, one) in [
        (8, 3, 0.516, 0.615),
        (5, 2, 0.841, 0.928),
        (10, 3, 0.445, 0.536),
    ] {
        assert_abs_diff_eq!(cochran_critical(p, n, 0.05).unwrap(), five, epsilon = 6e-4);
        assert_abs_diff_eq!(cochran_critical(p, n, 0.01).unwrap(), one, epsilon = 6e-4);
    }
    for (p, five, one) in [(5, 1.715, 1.764), (8, 2.126, 2.274), (10, 2.290, 2.482)] {
        assert_abs_diff_eq!(grubbs_critical(p, 0.05).unwrap(), five, epsilon = 1e-3);
        assert_abs_diff_eq!(grubbs_critical(p, 0.01).unwrap(), one, epsilon = 1e-3);
    }
    assert_abs_diff_eq!(mandel_h_critical(8, 0.005).unwrap(), 2.15, epsilon = 5e-3);
    assert_abs_diff_eq!(
        mandel_k_critical(8, 3, 0.005).unwrap(),
        2.06,
        epsilon = 5e-3
    );
    // SciPy 1.17.1, the same definitions: 8 groups of 3.
    assert_abs_diff_eq!(
        mandel_h_critical(8, 0.05).unwrap(),
        1.749078404548633,
        epsilon = 1e-7
    );
    assert_abs_diff_eq!(
        mandel_k_critical(8, 3, 0.01).unwrap(),
        1.963777038417303,
        epsilon = 1e-7
    );
}

/// The critical value is the one that chance passes as often as it says.
#[test]
fn chance_passes_the_limits_as_often_as_they_say() {
    let mut random = ChaCha8Rng::seed_from_u64(7);
    let (runs, p, n) = (4000, 6, 3);
    let mut passed = [0, 0, 0];
    for _ in 0..runs {
        let groups: Vec<Vec<f64>> = (0..p)
            .map(|_| (0..n).map(|_| StandardNormal.sample(&mut random)).collect())
            .collect();
        let over = |verdict| usize::from(verdict != OutlierVerdict::Consistent);
        passed[0] += over(cochran_test(&groups).unwrap().verdict);
        passed[1] += over(grubbs_test(&groups).unwrap().verdict);
        let limit = mandel_h_critical(p, 0.05).unwrap();
        passed[2] += usize::from(mandel(&groups).unwrap()[0].h.abs() > limit);
    }
    for count in passed {
        // 5 % of 4000, four standard deviations of a count either way.
        assert!((145..=255).contains(&count), "{passed:?}");
    }
}

/// The reference manual of measurement systems analysis, 4th edition: ten parts, three appraisers, three trials; the
/// data as carried by several public programs. Published of them: mean squares 9.81799, 1.58363, 0.01994, 0.04598;
/// interaction F 0.434, p 0.974; without it variances repeatability 0.03997, appraiser 0.05146, part 1.08645.
const GAUGE: [[f64; 9]; 10] = [
    [0.29, 0.41, 0.64, 0.08, 0.25, 0.07, 0.04, -0.11, -0.15],
    [
        -0.56, -0.68, -0.58, -0.47, -1.22, -0.68, -1.38, -1.13, -0.96,
    ],
    [1.34, 1.17, 1.27, 1.19, 0.94, 1.34, 0.88, 1.09, 0.67],
    [0.47, 0.50, 0.64, 0.01, 1.03, 0.20, 0.14, 0.20, 0.11],
    [
        -0.80, -0.92, -0.84, -0.56, -1.20, -1.28, -1.46, -1.07, -1.45,
    ],
    [0.02, -0.11, -0.21, -0.20, 0.22, 0.06, -0.29, -0.67, -0.49],
    [0.59, 0.75, 0.66, 0.47, 0.55, 0.83, 0.02, 0.01, 0.21],
    [-0.31, -0.20, -0.17, -0.63, 0.08, -0.34, -0.46, -0.56, -0.49],
    [2.26, 1.99, 2.01, 1.80, 2.12, 2.19, 1.77, 1.45, 1.87],
    [
        -1.36, -1.25, -1.31, -1.68, -1.62, -1.50, -1.49, -1.77, -2.16,
    ],
];

fn gauge() -> (Vec<f64>, Vec<usize>, Vec<usize>) {
    let (mut values, mut parts, mut appraisers) = (Vec::new(), Vec::new(), Vec::new());
    for (part, row) in GAUGE.iter().enumerate() {
        for (place, value) in row.iter().enumerate() {
            values.push(*value);
            parts.push(part);
            appraisers.push(place / 3);
        }
    }
    (values, parts, appraisers)
}

#[test]
fn a_crossed_design_has_the_published_mean_squares() {
    let (values, parts, appraisers) = gauge();
    let cells = vec![0; values.len()];
    let found = crossed(&values, &cells, &parts, &appraisers)
        .unwrap()
        .unwrap();
    assert_abs_diff_eq!(found.mean_square_first, 9.81799, epsilon = 6e-6);
    assert_abs_diff_eq!(found.mean_square_second, 1.58363, epsilon = 6e-6);
    assert_abs_diff_eq!(found.mean_square_both, 0.01994, epsilon = 6e-6);
    assert_abs_diff_eq!(found.mean_square_rest, 0.04598, epsilon = 6e-6);
    assert_abs_diff_eq!(found.no_interaction_p.unwrap(), 0.974, epsilon = 6e-4);
    assert_eq!(found.both_variance, 0.0);
}

#[test]
fn likelihood_without_interaction_gives_the_published_variances() {
    let (values, parts, appraisers) = gauge();
    let cells = vec![0; values.len()];
    let factor = |name: &str, codes: &[usize]| ComponentFactor {
        name: name.to_owned(),
        codes: codes.to_vec(),
    };
    let factors = [factor("part", &parts), factor("appraiser", &appraisers)];
    let found = variance_components(&values, &cells, &factors).unwrap();
    let variance = |number: usize| found.components[number].variance;
    assert_abs_diff_eq!(variance(0), 1.08645, epsilon = 5e-5);
    assert_abs_diff_eq!(variance(1), 0.05146, epsilon = 6e-6);
    assert_abs_diff_eq!(variance(2), 0.03997, epsilon = 6e-6);
}

/// R lme4 1.1-31 (variances, log-likelihood) and the profile of the same likelihood from dense matrices in R:
/// tests/references/precision.R.
#[test]
fn an_unequal_design_has_the_components_of_lme4() {
    let cells = [
        0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1,
    ];
    let operators = [
        0, 0, 0, 1, 1, 2, 2, 3, 3, 3, 0, 0, 1, 1, 1, 2, 2, 3, 3, 4, 4,
    ];
    let blocks = [
        0, 0, 1, 0, 1, 0, 1, 1, 1, 0, 0, 1, 0, 1, 1, 0, 1, 0, 1, 0, 1,
    ];
    let values = [
        0.31, 0.35, 0.42, 0.12, 0.20, 0.55, 0.61, 0.02, 0.06, -0.05, 1.36, 1.41, 1.15, 1.24, 1.22,
        1.58, 1.66, 1.03, 1.12, 1.27, 1.39,
    ];
    let factor = |name: &str, codes: &[usize]| ComponentFactor {
        name: name.to_owned(),
        codes: codes.to_vec(),
    };
    let factors = [factor("operator", &operators), factor("block", &blocks)];
    let found = variance_components(&values, &cells, &factors).unwrap();
    assert_abs_diff_eq!(found.log_likelihood, 29.8553933836, epsilon = 1e-8);
    for (component, variance, low, high) in [
        (0, 0.0460186174, 0.0148340376, 0.2772658434),
        (1, 0.00311730530, 0.000423277752, 0.397179599634),
        (2, 0.000448517723, 0.000231916202, 0.001043841006),
    ] {
        let one = &found.components[component];
        assert_relative_eq!(one.variance, variance, max_relative = 2e-6);
        assert_relative_eq!(one.interval95.0, low, max_relative = 1e-5);
        assert_relative_eq!(one.interval95.1.unwrap(), high, max_relative = 1e-5);
    }
}

#[test]
fn a_balanced_design_has_one_answer_by_mean_squares_and_by_likelihood() {
    let found = one_way(&[groups_of(&SIRSTV)]).unwrap();
    let values: Vec<f64> = SIRSTV.iter().flatten().copied().collect();
    let codes: Vec<usize> = (0..25).map(|n| n / 5).collect();
    let factor = ComponentFactor {
        name: "instrument".to_owned(),
        codes,
    };
    let shared = variance_components(&values, &[0; 25], &[factor]).unwrap();
    assert_relative_eq!(
        shared.components[0].variance,
        found.between_sd * found.between_sd,
        max_relative = 1e-4
    );
    assert_relative_eq!(
        shared.components[1].variance,
        found.mean_square_within,
        max_relative = 1e-5
    );
}

/// An interval of 95 % covers 95 %: three variances, four groups of three, 3000 tables. The method is
/// known to cover a little more where the variance between is small.
#[test]
fn intervals_of_standard_deviations_cover_the_truth() {
    for ratio in [0.5, 2.0] {
        let mut random = ChaCha8Rng::seed_from_u64(11);
        let runs = 3000;
        let mut covered = [0; 3];
        for _ in 0..runs {
            let groups: Vec<Vec<f64>> = (0..4)
                .map(|_| {
                    let offset: f64 = StandardNormal.sample(&mut random);
                    (0..3)
                        .map(|_| {
                            let own: f64 = StandardNormal.sample(&mut random);
                            ratio * offset + own
                        })
                        .collect()
                })
                .collect();
            let found = one_way(&[groups]).unwrap();
            let total = (1.0 + ratio * ratio).sqrt();
            for (count, (interval, truth)) in covered.iter_mut().zip([
                (found.repeatability_interval95, 1.0),
                (found.between_interval95, ratio),
                (found.reproducibility_interval95, total),
            ]) {
                let [low, high] = interval.unwrap();
                *count += usize::from(low <= truth && truth <= high);
            }
        }
        for count in covered {
            let share = count as f64 / f64::from(runs);
            assert!((0.938..=0.985).contains(&share), "{ratio}: {share}");
        }
    }
}

/// Exact of one mean square: chi squared; quantiles from a table (NIST/SEMATECH e-Handbook 1.3.6.7.4:
/// 10 degrees of freedom, 3.247 and 20.483).
#[test]
fn the_interval_of_a_single_mean_square_is_that_of_chi_squared() {
    let one = MeanSquareTerm {
        coefficient: 1.0,
        mean_square: 2.0,
        degrees_of_freedom: 10.0,
    };
    let [low, high] = combination_interval(&[one]).unwrap();
    assert_abs_diff_eq!(low, 20.0 / 20.483, epsilon = 1e-4);
    assert_abs_diff_eq!(high, 20.0 / 3.247, epsilon = 1e-3);
}

#[test]
fn tables_that_tell_nothing_are_refused() {
    let alone = one_way(&[vec![vec![1.0, 2.0]]]);
    assert!(matches!(alone, Err(PrecisionError::TooFewGroups { .. })));
    let once = one_way(&[vec![vec![1.0], vec![2.0]]]);
    assert_eq!(once, Err(PrecisionError::NoReplicates));
    let factor = ComponentFactor {
        name: "operator".to_owned(),
        codes: vec![0, 0, 1, 1],
    };
    let alike = variance_components(&[1.0; 4], &[0; 4], std::slice::from_ref(&factor));
    assert_eq!(alike, Err(PrecisionError::NoScatter));
    assert!(variance_components(&[1.0; 3], &[0; 4], &[factor]).is_err());
}
