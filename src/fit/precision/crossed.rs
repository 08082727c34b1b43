//! Two factors crossed, every cell with as many readings: the analysis of variance and its components.

use super::error::PrecisionError;
use super::mean_squares::{MeanSquareTerm, combination_interval};
use crate::fit::f_tail;
use serde::Serialize;

/// The table of a balanced two-way design, and the variances that follow from it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CrossedTable {
    /// Codes of the first factor.
    pub first_levels: usize,
    /// Codes of the second factor.
    pub second_levels: usize,
    /// Readings of each pair of codes.
    pub readings_each: usize,
    /// Mean square of the first factor.
    pub mean_square_first: f64,
    /// Mean square of the second factor.
    pub mean_square_second: f64,
    /// Mean square of both together.
    pub mean_square_both: f64,
    /// Mean square of the rest.
    pub mean_square_rest: f64,
    /// Degrees of freedom of the rest.
    pub degrees_rest: usize,
    /// Probability of such an interaction if there were none.
    pub no_interaction_p: Option<f64>,
    /// Variance of the first factor; 0 where the mean squares would make it negative.
    pub first_variance: f64,
    /// Its 95 % interval.
    pub first_interval95: Option<[f64; 2]>,
    /// Variance of the second factor.
    pub second_variance: f64,
    /// Its 95 % interval.
    pub second_interval95: Option<[f64; 2]>,
    /// Variance of both together.
    pub both_variance: f64,
    /// Its 95 % interval.
    pub both_interval95: Option<[f64; 2]>,
    /// Variance of the rest.
    pub rest_variance: f64,
    /// Its 95 % interval.
    pub rest_interval95: Option<[f64; 2]>,
    /// Sum of the variances.
    pub total_variance: f64,
    /// Its 95 % interval.
    pub total_interval95: Option<[f64; 2]>,
}

/// The analysis of variance of a balanced crossed design; `None` where it is not balanced, or has fewer than
/// two codes of either factor or two readings of a pair.
///
/// # Equation
/// s_e^2 = MS_e; s_ab^2 = (MS_ab - MS_e)/n; s_a^2 = (MS_a - MS_ab)/(b n); s_b^2 = (MS_b - MS_ab)/(a n)
///
/// | symbol | field | unit |
/// |---|---|---|
/// | MS_a, MS_b, MS_ab, MS_e | `mean_square_first`, `_second`, `_both`, `_rest` | unit² |
/// | a, b, n | `first_levels`, `second_levels`, `readings_each` | 1 |
///
/// Means of cells are taken out first; every pair of codes must have as many readings in each.
///
/// # Valid for
/// Normal effects drawn from many; intervals as [`combination_interval`].
///
/// # Errors
/// Lists of different lengths; values that are not finite.
///
/// # Source
/// D. Montgomery, Design and Analysis of Experiments, the two-factor random model; intervals: R. Burdick,
/// F. Graybill 1992 (from memory).
pub fn crossed(
    values: &[f64],
    cells: &[usize],
    first: &[usize],
    second: &[usize],
) -> Result<Option<CrossedTable>, PrecisionError> {
    for codes in [cells, first, second] {
        if codes.len() != values.len() {
            return Err(PrecisionError::UnequalLengths {
                first: values.len(),
                second: codes.len(),
            });
        }
    }
    if let Some((place, value)) = values.iter().enumerate().find(|(_, v)| !v.is_finite()) {
        return Err(PrecisionError::NotFinite {
            number: place + 1,
            value: *value,
        });
    }
    let count = |codes: &[usize]| codes.iter().max().map_or(0, |m| m + 1);
    let (l, a, b) = (count(cells), count(first), count(second));
    if a < 2 || b < 2 {
        return Ok(None);
    }
    let mut filled = vec![0_usize; l * a * b];
    for ((&cell, &i), &j) in cells.iter().zip(first).zip(second) {
        filled[(cell * a + i) * b + j] += 1;
    }
    let each = filled[0];
    if each == 0 || filled.iter().any(|n| *n != each) || each * l < 2 {
        return Ok(None);
    }
    let n = each * l;
    let mean_by = |codes: &dyn Fn(usize) -> usize, levels: usize| {
        let mut sums = vec![0.0; levels];
        for (row, value) in values.iter().enumerate() {
            sums[codes(row)] += value;
        }
        let share = levels as f64 / values.len() as f64;
        sums.iter().map(|s| s * share).collect::<Vec<f64>>()
    };
    let grand = values.iter().sum::<f64>() / values.len() as f64;
    let of_cell = mean_by(&|row| cells[row], l);
    let of_first = mean_by(&|row| first[row], a);
    let of_second = mean_by(&|row| second[row], b);
    let of_pair = mean_by(&|row| first[row] * b + second[row], a * b);
    let (mut ss_a, mut ss_b, mut ss_ab, mut ss_e) = (0.0, 0.0, 0.0, 0.0);
    for (row, value) in values.iter().enumerate() {
        let (i, j) = (first[row], second[row]);
        let pair = of_pair[i * b + j];
        ss_a += (of_first[i] - grand).powi(2);
        ss_b += (of_second[j] - grand).powi(2);
        ss_ab += (pair - of_first[i] - of_second[j] + grand).powi(2);
        ss_e += (value - pair - of_cell[cells[row]] + grand).powi(2);
    }
    let freedom = ((a - 1) * (b - 1)) as f64;
    let degrees_rest = values.len() - l + 1 - a * b;
    if degrees_rest == 0 {
        return Ok(None);
    }
    let term = |coefficient: f64, mean_square: f64, degrees: f64| MeanSquareTerm {
        coefficient,
        mean_square,
        degrees_of_freedom: degrees,
    };
    let (ms_a, ms_b) = (ss_a / (a - 1) as f64, ss_b / (b - 1) as f64);
    let (ms_ab, ms_e) = (ss_ab / freedom, ss_e / degrees_rest as f64);
    let (an, bn, n) = ((a * n) as f64, (b * n) as f64, n as f64);
    let of_a = |c: f64| term(c, ms_a, (a - 1) as f64);
    let of_b = |c: f64| term(c, ms_b, (b - 1) as f64);
    let of_ab = |c: f64| term(c, ms_ab, freedom);
    let of_e = |c: f64| term(c, ms_e, degrees_rest as f64);
    let first_variance = ((ms_a - ms_ab) / bn).max(0.0);
    let second_variance = ((ms_b - ms_ab) / an).max(0.0);
    let both_variance = ((ms_ab - ms_e) / n).max(0.0);
    Ok(Some(CrossedTable {
        first_levels: a,
        second_levels: b,
        readings_each: each * l,
        mean_square_first: ms_a,
        mean_square_second: ms_b,
        mean_square_both: ms_ab,
        mean_square_rest: ms_e,
        degrees_rest,
        no_interaction_p: f_tail(ms_ab / ms_e, (a - 1) * (b - 1), degrees_rest),
        first_variance,
        first_interval95: combination_interval(&[of_a(1.0 / bn), of_ab(-1.0 / bn)]),
        second_variance,
        second_interval95: combination_interval(&[of_b(1.0 / an), of_ab(-1.0 / an)]),
        both_variance,
        both_interval95: combination_interval(&[of_ab(1.0 / n), of_e(-1.0 / n)]),
        rest_variance: ms_e,
        rest_interval95: combination_interval(&[of_e(1.0)]),
        total_variance: first_variance + second_variance + both_variance + ms_e,
        total_interval95: combination_interval(&[
            of_a(1.0 / bn),
            of_b(1.0 / an),
            of_ab((1.0 / n - 1.0 / an - 1.0 / bn).max(0.0)),
            of_e(1.0 - 1.0 / n),
        ]),
    }))
}
