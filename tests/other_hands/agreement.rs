//! Agreement between readers against published examples and reference packages.

use approx::assert_abs_diff_eq;
use heatset::fit::agreement::{
    AgreementError, KappaWeights, association, fleiss, intraclass, kappa, limits_of_agreement,
};
use heatset::readings::{Opacity, read_opacity_text};

/// Readers 2 and 3 of the data set `anxiety` of the R package irr 0.84, steps 1, 2, 3, 4, 6 renumbered:
/// the package keeps only steps that occur. As carried by the tests of statsmodels 0.14.
fn anxiety() -> (Vec<usize>, Vec<usize>) {
    let second = [3, 6, 4, 6, 2, 4, 2, 4, 3, 3, 2, 3, 3, 3, 2, 2, 1, 3, 3, 4];
    let third = [2, 1, 4, 4, 3, 2, 1, 6, 1, 1, 1, 2, 3, 3, 1, 1, 3, 3, 2, 2];
    let place = |step: &usize| [1, 2, 3, 4, 6].iter().position(|s| s == step).unwrap();
    (
        second.iter().map(place).collect(),
        third.iter().map(place).collect(),
    )
}

#[test]
fn kappa_of_two_readers_is_that_of_the_r_package_irr() {
    let (second, third) = anxiety();
    // kappa2(anxiety[,2:3]), "equal", "squared" of irr 0.84: value and z = kappa / error without
    // agreement; standard errors: statsmodels 0.14, cohens_kappa, std_kappa.
    for (weights, value, z, std_error) in [
        (
            KappaWeights::Unweighted,
            -0.006289308,
            -0.0604067,
            0.101572838,
        ),
        (KappaWeights::Linear, 0.1459075, 1.282472, 0.116414143),
        (KappaWeights::Quadratic, 0.2520325, 1.437451, 0.187051996),
    ] {
        let found = kappa(&second, &third, 5, weights).unwrap();
        assert_abs_diff_eq!(found.estimate, value, epsilon = 1e-7);
        assert_abs_diff_eq!(
            found.estimate / found.std_error_without_agreement,
            z,
            epsilon = 1e-5
        );
        assert_abs_diff_eq!(found.std_error, std_error, epsilon = 1e-8);
    }
}

/// Printouts of SAS for the table [[0, 4, 1], [0, 8, 0], [0, 1, 5]], as kept in the tests of statsmodels
/// 0.14: kappa, its error, 95 % limits, error without agreement.
#[test]
fn kappa_with_its_limits_is_that_of_sas() {
    let first = [0, 0, 0, 0, 0, 1, 1, 1, 1, 1, 1, 1, 1, 2, 2, 2, 2, 2, 2];
    let second = [1, 1, 1, 1, 2, 1, 1, 1, 1, 1, 1, 1, 1, 1, 2, 2, 2, 2, 2];
    for (weights, expected) in [
        (
            KappaWeights::Unweighted,
            [0.4842, 0.1380, 0.2137, 0.7547, 0.1484],
        ),
        (
            KappaWeights::Linear,
            [0.4701, 0.1457, 0.1845, 0.7558, 0.1426],
        ),
    ] {
        let found = kappa(&first, &second, 3, weights).unwrap();
        let values = [
            found.estimate,
            found.std_error,
            found.interval95[0],
            found.interval95[1],
            found.std_error_without_agreement,
        ];
        for (value, printed) in values.iter().zip(expected) {
            assert_abs_diff_eq!(*value, printed, epsilon = 6e-5);
        }
    }
}

/// Cohen 1968, table 1 (through the example of psych 2.2.9, cohen.kappa): shares of 200 cases; unweighted
/// kappa 0.492 with limits 0.392 and 0.591.
#[test]
fn kappa_of_cohens_example() {
    let table = [[88, 14, 18], [10, 40, 10], [2, 6, 12]];
    let (mut first, mut second) = (Vec::new(), Vec::new());
    for (i, row) in table.iter().enumerate() {
        for (j, count) in row.iter().enumerate() {
            first.extend(std::iter::repeat_n(i, *count));
            second.extend(std::iter::repeat_n(j, *count));
        }
    }
    assert_eq!(first.len(), 200);
    let found = kappa(&first, &second, 3, KappaWeights::Unweighted).unwrap();
    assert_abs_diff_eq!(found.estimate, 0.49153, epsilon = 5e-6);
    assert_abs_diff_eq!(found.interval95[0], 0.39156, epsilon = 2e-4);
    assert_abs_diff_eq!(found.interval95[1], 0.59149, epsilon = 2e-4);
}

/// Fleiss 1971: 30 patients, six psychiatrists, five diagnoses; as carried by irr 0.84 and statsmodels.
const DIAGNOSES: [[usize; 6]; 30] = [
    [4, 4, 4, 4, 4, 4],
    [2, 2, 2, 5, 5, 5],
    [2, 3, 3, 3, 3, 5],
    [5, 5, 5, 5, 5, 5],
    [2, 2, 2, 4, 4, 4],
    [1, 1, 3, 3, 3, 3],
    [3, 3, 3, 3, 5, 5],
    [1, 1, 3, 3, 3, 4],
    [1, 1, 4, 4, 4, 4],
    [5, 5, 5, 5, 5, 5],
    [1, 4, 4, 4, 4, 4],
    [1, 2, 4, 4, 4, 4],
    [2, 2, 2, 3, 3, 3],
    [1, 4, 4, 4, 4, 4],
    [2, 2, 4, 4, 4, 5],
    [3, 3, 3, 3, 3, 5],
    [1, 1, 1, 4, 5, 5],
    [1, 1, 1, 1, 1, 2],
    [2, 2, 4, 4, 4, 4],
    [1, 3, 3, 5, 5, 5],
    [5, 5, 5, 5, 5, 5],
    [2, 4, 4, 4, 4, 4],
    [2, 2, 4, 5, 5, 5],
    [1, 1, 4, 4, 4, 4],
    [1, 4, 4, 4, 4, 5],
    [2, 2, 2, 2, 2, 4],
    [1, 1, 1, 1, 5, 5],
    [2, 2, 4, 4, 4, 4],
    [1, 3, 3, 3, 3, 3],
    [5, 5, 5, 5, 5, 5],
];

fn counts(rows: &[Vec<usize>]) -> Vec<Vec<usize>> {
    rows.iter()
        .map(|row| {
            let mut counts = vec![0; 5];
            for step in row {
                counts[step - 1] += 1;
            }
            counts
        })
        .collect()
}

#[test]
fn kappa_of_many_readers_is_that_of_fleiss_and_of_irr_cac() {
    let rows: Vec<Vec<usize>> = DIAGNOSES.iter().map(|row| row.to_vec()).collect();
    // Fleiss 1971: 0.430; kappam.fleiss of irr: 0.4302445. Errors: Python irrCAC 0.4.4, CAC.fleiss.
    for (weights, value, std_error, low, high) in [
        (
            KappaWeights::Unweighted,
            0.43024452,
            0.054198936,
            0.319395251,
            0.54109379,
        ),
        (
            KappaWeights::Linear,
            0.327937528,
            0.080475516,
            0.163346618,
            0.492528438,
        ),
        (
            KappaWeights::Quadratic,
            0.28407225,
            0.111179409,
            0.056684828,
            0.511459672,
        ),
    ] {
        let found = fleiss(&counts(&rows), weights).unwrap();
        assert_abs_diff_eq!(found.estimate, value, epsilon = 1e-8);
        assert_abs_diff_eq!(found.std_error, std_error, epsilon = 1e-8);
        assert_abs_diff_eq!(found.interval95[0], low, epsilon = 1e-6);
        assert_abs_diff_eq!(found.interval95[1], high, epsilon = 1e-6);
    }
}

#[test]
fn kappa_of_many_readers_with_judgements_missing_is_that_of_irr_cac() {
    let mut rows: Vec<Vec<usize>> = DIAGNOSES.iter().map(|row| row.to_vec()).collect();
    rows[3].remove(0);
    rows[5].drain(1..3);
    rows[17].remove(5);
    // Python irrCAC 0.4.4, the same four cells empty.
    let found = fleiss(&counts(&rows), KappaWeights::Unweighted).unwrap();
    assert_abs_diff_eq!(found.estimate, 0.445792192, epsilon = 1e-8);
    assert_abs_diff_eq!(found.std_error, 0.058134465, epsilon = 1e-8);
    let found = fleiss(&counts(&rows), KappaWeights::Quadratic).unwrap();
    assert_abs_diff_eq!(found.estimate, 0.290370591, epsilon = 1e-8);
    assert_abs_diff_eq!(found.std_error, 0.116832176, epsilon = 1e-8);
}

/// Shrout and Fleiss 1979, table 2; to more digits R psych 2.2.9, ICC(lmer = FALSE).
#[test]
fn intraclass_correlations_are_those_of_psych() {
    let judgements: Vec<Vec<f64>> = [
        [9.0, 2.0, 5.0, 8.0],
        [6.0, 1.0, 3.0, 2.0],
        [8.0, 4.0, 6.0, 8.0],
        [7.0, 1.0, 2.0, 6.0],
        [10.0, 5.0, 6.0, 9.0],
        [6.0, 2.0, 4.0, 7.0],
    ]
    .iter()
    .map(|row| row.to_vec())
    .collect();
    let found = intraclass(&judgements).unwrap();
    for (one, [estimate, low, high]) in [
        (found.any_readers, [0.16574177, -0.132932325, 0.72256006]),
        (found.agreement, [0.28976378, 0.018786513, 0.76108437]),
        (found.consistency, [0.71484071, 0.342464765, 0.94585826]),
    ] {
        assert_abs_diff_eq!(one.estimate, estimate, epsilon = 1e-8);
        assert_abs_diff_eq!(one.interval95[0], low, epsilon = 1e-6);
        assert_abs_diff_eq!(one.interval95[1], high, epsilon = 1e-6);
    }
}

/// Bland and Altman 1986, table 1, first readings of peak flow by a large and a small meter: bias -2.1,
/// standard deviation 38.8, limits with 2 s -79.7 and 75.5; interval of the bias -22.0 to 17.8 (all
/// from memory; the first four recomputed with NumPy).
#[test]
fn limits_of_agreement_are_those_of_the_peak_flow_meters() {
    let large = [
        494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427,
    ];
    let small = [
        512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451,
    ];
    let found = limits_of_agreement(&large.map(f64::from), &small.map(f64::from)).unwrap();
    assert_abs_diff_eq!(found.bias, -2.1, epsilon = 0.05);
    assert_abs_diff_eq!(found.difference_sd, 38.8, epsilon = 0.05);
    assert_abs_diff_eq!(
        found.bias - 2.0 * found.difference_sd,
        -79.7,
        epsilon = 0.06
    );
    assert_abs_diff_eq!(found.bias_interval95[0], -22.0, epsilon = 0.1);
    assert_abs_diff_eq!(found.bias_interval95[1], 17.8, epsilon = 0.1);
    // The paper's limits are 2 s; ours are 1.96 s.
    assert_abs_diff_eq!(found.limits[1] - found.bias, 1.96 * 38.765, epsilon = 0.01);
}

/// SciPy 1.17.1: spearmanr, kendalltau, pearsonr with confidence_interval().
#[test]
fn correlations_are_those_of_scipy() {
    let steps = [1.0, 1.0, 2.0, 2.0, 2.0, 3.0, 3.0, 4.0, 0.0, 1.0, 4.0, 3.0];
    let forces = [
        2.1, 3.0, 5.2, 4.4, 7.9, 9.0, 14.0, 22.0, 1.2, 2.1, 18.5, 11.0,
    ];
    let found = association(&steps, &forces.map(f64::ln)).unwrap();
    assert_abs_diff_eq!(found.spearman.estimate, 0.9787209698591859, epsilon = 1e-12);
    assert_abs_diff_eq!(found.kendall.estimate, 0.9281909617845142, epsilon = 1e-12);
    assert_abs_diff_eq!(found.pearson.estimate, 0.9772652425009077, epsilon = 1e-12);
    let [low, high] = found.pearson.interval95.unwrap();
    assert_abs_diff_eq!(low, 0.9185184882105873, epsilon = 1e-9);
    assert_abs_diff_eq!(high, 0.993793626585675, epsilon = 1e-9);
}

#[test]
fn weights_of_two_steps_make_kappa_the_unweighted_one() {
    let first = [0, 1, 1, 0, 1, 0, 0, 1, 1, 1];
    let second = [0, 1, 0, 0, 1, 1, 0, 1, 1, 0];
    let plain = kappa(&first, &second, 2, KappaWeights::Unweighted).unwrap();
    for weights in [KappaWeights::Linear, KappaWeights::Quadratic] {
        let weighted = kappa(&first, &second, 2, weights).unwrap();
        assert_abs_diff_eq!(weighted.estimate, plain.estimate, epsilon = 1e-14);
        assert_abs_diff_eq!(weighted.std_error, plain.std_error, epsilon = 1e-14);
    }
}

#[test]
fn judgements_that_tell_nothing_are_refused() {
    let same = [2, 2, 2];
    let refused = kappa(&same, &same, 5, KappaWeights::Quadratic);
    assert_eq!(refused, Err(AgreementError::NoSpread));
    let refused = kappa(&[0, 5], &[0, 1], 5, KappaWeights::Quadratic);
    assert_eq!(
        refused,
        Err(AgreementError::OutsideCard { step: 5, steps: 5 })
    );
    assert!(intraclass(&[vec![1.0, 2.0], vec![1.0]]).is_err());
    assert!(limits_of_agreement(&[1.0, f64::NAN, 2.0], &[1.0, 1.0, 1.0]).is_err());
    assert!(association(&[1.0; 5], &[1.0, 2.0, 3.0, 4.0, 5.0]).is_err());
}

/// The first round counts wherever it stands in the table, and 2 comes before 10.
#[test]
fn the_first_round_counts_whatever_the_order_of_the_rows() {
    let mut text = String::from("sample,reader,opacity_step,round\n");
    for (sample, step) in [(1, 0), (2, 1), (3, 2), (4, 3), (5, 4), (6, 2)] {
        let late = (step + 2) % 5;
        text += &format!("S-{sample},R-1,{late},10\nS-{sample},R-1,{step},2\n");
        text += &format!("S-{sample},R-2,{step},2\n");
    }
    let table = read_opacity_text("seen.csv", text.as_bytes()).unwrap();
    let found = heatset::fit::agreement::opacity_agreement(&table).unwrap();
    let steps = found.pairs[0].steps.unwrap();
    assert_abs_diff_eq!(steps.unweighted.estimate, 1.0, epsilon = 1e-12);
    let rounds = [&found.same_reader[0].first, &found.same_reader[0].second];
    assert_eq!(
        rounds.map(|judge| judge.round.as_deref()),
        [Some("2"), Some("10")]
    );
}

#[test]
fn every_fault_of_a_table_is_told_with_its_line_and_column() {
    let text = "sample;reader;opacity_step;force_N;colour\nS-1;R-1;2,5;4;x\nS-1;R-1;2;4;x\n;R-2;1;4;x\nS-2;R-1;7;0;x\nS-1;R-2;1;9;x\nS-1;R-2;1;9;x\n";
    let refused = read_opacity_text("seen.csv", text.as_bytes())
        .unwrap_err()
        .to_string();
    for line in [
        "line 2, column opacity_step: 2.5 is no step of the card",
        "line 4, column sample: the code is missing",
        "line 5, column opacity_step: 7 is no step",
        "line 5, column force_N: 0 is not above zero",
        "line 6, column force_N: S-1 has another value on line 3",
        "line 7, column",
    ] {
        assert!(refused.contains(line), "{line} is not in\n{refused}");
    }
    let none = read_opacity_text("seen.csv", b"sample,reader\nS-1,R-1\n")
        .unwrap_err()
        .to_string();
    assert!(none.contains("no column holds what was seen"), "{none}");
    let table = read_opacity_text(
        "seen.csv",
        b"sample\treader\topacity_ratio\tround\nS-1\tR-1\t0,52\t1\nS-1\tR-1\t0,55\t2\n",
    )
    .unwrap();
    assert_eq!(table.judgements[0].opacity, Opacity::Ratio(0.52));
    assert!(!table.steps);
}
