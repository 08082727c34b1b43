//! Run lengths by integral equation: nodes, weights, and the linear system that they come to.

use statrs::function::erf::erfc;
use std::f64::consts::{PI, SQRT_2};

/// Probability that a standard normal deviate lies under `x`.
pub(super) fn normal_below(x: f64) -> f64 {
    0.5 * erfc(-x / SQRT_2)
}

/// Density of a standard normal deviate.
pub(super) fn normal_density(x: f64) -> f64 {
    (-0.5 * x * x).exp() / (2.0 * PI).sqrt()
}

/// Nodes and weights of the Gauss-Legendre rule of `count` points between two ends.
///
/// The nodes are the roots of the Legendre polynomial, by Newton's steps from the usual start.
pub(super) fn gauss_legendre(count: usize, from: f64, to: f64) -> Vec<(f64, f64)> {
    let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
    let n = count as f64;
    (0..count)
        .map(|place| {
            let mut x = (PI * (place as f64 + 0.75) / (n + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..100 {
                let (mut value, mut before) = (1.0, 0.0);
                for order in 0..count {
                    let k = order as f64;
                    let next = ((2.0 * k + 1.0) * x * value - k * before) / (k + 1.0);
                    before = value;
                    value = next;
                }
                slope = n * (x * value - before) / (x * x - 1.0);
                let step = value / slope;
                x -= step;
                if step.abs() < 1e-15 {
                    break;
                }
            }
            let weight = 2.0 / ((1.0 - x * x) * slope * slope);
            (middle + half * x, half * weight)
        })
        .collect()
}

/// Solves a square linear system by elimination with the largest pivot; none where it is singular.
pub(super) fn solved(mut matrix: Vec<Vec<f64>>, mut right: Vec<f64>) -> Option<Vec<f64>> {
    let n = right.len();
    for column in 0..n {
        let pivot = (column..n).max_by(|a, b| {
            let size = |row: usize| matrix[row][column].abs();
            size(*a).total_cmp(&size(*b))
        })?;
        if matrix[pivot][column] == 0.0 {
            return None;
        }
        matrix.swap(column, pivot);
        right.swap(column, pivot);
        let (above, below) = matrix.split_at_mut(column + 1);
        let own = &above[column];
        let own_right = right[column];
        for (row, value) in below.iter_mut().zip(&mut right[column + 1..]) {
            let factor = row[column] / own[column];
            for (cell, of_own) in row.iter_mut().zip(own).skip(column) {
                *cell -= factor * of_own;
            }
            *value -= factor * own_right;
        }
    }
    for row in (0..n).rev() {
        let known: f64 = (row + 1..n).map(|k| matrix[row][k] * right[k]).sum();
        right[row] = (right[row] - known) / matrix[row][row];
    }
    Some(right)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 1964, table 25.4, n = 5.
    #[test]
    fn five_nodes_are_those_of_the_handbook() {
        let rule = gauss_legendre(5, -1.0, 1.0);
        for (place, (node, weight)) in [
            (0.906_179_845_938_664, 0.236_926_885_056_189),
            (0.538_469_310_105_683, 0.478_628_670_499_366),
            (0.0, 0.568_888_888_888_889),
        ]
        .into_iter()
        .enumerate()
        {
            assert_relative_eq!(rule[place].0, node, epsilon = 1e-14);
            assert_relative_eq!(rule[place].1, weight, epsilon = 1e-14);
        }
    }

    /// A system that needs its rows exchanged: 2y = 4, x + y = 3.
    #[test]
    fn a_zero_on_the_diagonal_is_exchanged() {
        let found = solved(vec![vec![0.0, 2.0], vec![1.0, 1.0]], vec![4.0, 3.0]).unwrap();
        assert_relative_eq!(found[0], 1.0);
        assert_relative_eq!(found[1], 2.0);
        assert!(solved(vec![vec![0.0]], vec![1.0]).is_none());
    }
}
