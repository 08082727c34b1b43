//! QR factors by Householder reflections, with column pivoting.

use super::vector::{add_scaled, dot, in_wide_registers, norm};

/// QR factors of a tall matrix stored column by column: `A P = Q R`.
///
/// # Source
/// P. Businger, G. Golub, Linear least squares solutions by Householder transformations,
/// Numer. Math. 7 (1965) 269, doi:10.1007/BF01436084.
#[derive(Debug, Clone, Default)]
pub struct PivotedQr {
    rows: usize,
    columns: usize,
    /// Below the diagonal the reflection vectors, above it R; the diagonal holds the vectors'.
    factors: Vec<f64>,
    diagonal: Vec<f64>,
    remaining_norms: Vec<f64>,
    reference_norms: Vec<f64>,
    column_norms: Vec<f64>,
    /// `pivots[j]`: which column of A stands at place j.
    pivots: Vec<usize>,
}

impl PivotedQr {
    /// Factors `matrix` (`rows` by `columns`, column by column), keeping the allocations.
    pub fn factor(&mut self, matrix: &[f64], rows: usize, columns: usize) {
        in_wide_registers(
            #[inline(always)]
            || self.factor_plainly(matrix, rows, columns),
        );
    }

    #[inline(always)]
    fn factor_plainly(&mut self, matrix: &[f64], rows: usize, columns: usize) {
        self.rows = rows;
        self.columns = columns;
        self.factors.clear();
        self.factors.extend_from_slice(matrix);
        self.diagonal.clear();
        self.diagonal.resize(columns, 0.0);
        self.pivots.clear();
        self.pivots.extend(0..columns);
        self.remaining_norms.clear();
        for column in matrix.chunks_exact(rows).take(columns) {
            self.remaining_norms.push(norm(column));
        }
        self.reference_norms.clone_from(&self.remaining_norms);
        self.column_norms.clone_from(&self.remaining_norms);

        for j in 0..columns.min(rows) {
            let largest = (j..columns).fold(j, |best, k| {
                if self.remaining_norms[k] > self.remaining_norms[best] {
                    k
                } else {
                    best
                }
            });
            if largest != j {
                self.swap_columns(j, largest);
            }
            let (head, tail) = self.factors.split_at_mut((j + 1) * rows);
            let column = &mut head[j * rows + j..];
            // The norm of a whole column is known already; a part's may only be downdated.
            let mut length = if j == 0 {
                self.remaining_norms[0]
            } else {
                norm(column)
            };
            if length == 0.0 {
                continue;
            }
            if column[0] < 0.0 {
                length = -length;
            }
            for value in column.iter_mut() {
                *value /= length;
            }
            column[0] += 1.0;
            for (offset, other) in tail.chunks_exact_mut(rows).enumerate() {
                let k = j + 1 + offset;
                let other = &mut other[j..];
                let factor = -dot(column, other) / column[0];
                add_scaled(other, factor, column);
                self.remaining_norms[k] =
                    downdated_norm(self.remaining_norms[k], &mut self.reference_norms[k], other);
            }
            self.diagonal[j] = -length;
        }
    }

    fn swap_columns(&mut self, left: usize, right: usize) {
        let rows = self.rows;
        let (head, tail) = self.factors.split_at_mut(right * rows);
        head[left * rows..(left + 1) * rows].swap_with_slice(&mut tail[..rows]);
        self.remaining_norms.swap(left, right);
        self.reference_norms.swap(left, right);
        self.pivots.swap(left, right);
    }

    /// Replaces `vector` by `Q^T vector`.
    pub fn apply_transpose(&self, vector: &mut [f64]) {
        in_wide_registers(
            #[inline(always)]
            || self.apply_transpose_plainly(vector),
        );
    }

    #[inline(always)]
    fn apply_transpose_plainly(&self, vector: &mut [f64]) {
        for j in 0..self.columns.min(self.rows) {
            let column = &self.factors[j * self.rows + j..(j + 1) * self.rows];
            if column[0] != 0.0 && self.diagonal[j] != 0.0 {
                let target = &mut vector[j..];
                let factor = -dot(column, target) / column[0];
                add_scaled(target, factor, column);
            }
        }
    }

    /// Replaces `vector` by `Q vector`.
    pub fn apply(&self, vector: &mut [f64]) {
        for j in (0..self.columns.min(self.rows)).rev() {
            let column = &self.factors[j * self.rows + j..(j + 1) * self.rows];
            if column[0] != 0.0 && self.diagonal[j] != 0.0 {
                let target = &mut vector[j..];
                let factor = -dot(column, target) / column[0];
                add_scaled(target, factor, column);
            }
        }
    }

    /// Element of R; `row <= column`, columns in pivoted order.
    #[must_use]
    pub fn r(&self, row: usize, column: usize) -> f64 {
        if row == column {
            self.diagonal[row]
        } else {
            self.factors[column * self.rows + row]
        }
    }

    /// `pivots()[j]` is the column of the matrix that stands at place j of R.
    #[must_use]
    pub fn pivots(&self) -> &[usize] {
        &self.pivots
    }

    /// Norms of the columns of the matrix, in its own order.
    #[must_use]
    pub fn column_norms(&self) -> &[f64] {
        &self.column_norms
    }

    /// Number of columns.
    #[must_use]
    pub fn columns(&self) -> usize {
        self.columns
    }

    /// Least ratio of a diagonal element of R to the first: near 0 where columns are dependent.
    #[must_use]
    pub fn smallest_diagonal_ratio(&self) -> f64 {
        let Some(first) = self.diagonal.first().map(|d| d.abs()) else {
            return 1.0;
        };
        if first == 0.0 {
            return 0.0;
        }
        self.diagonal
            .iter()
            .fold(1.0_f64, |least, d| least.min(d.abs() / first))
    }
}

/// Norm of a column after one more of its rows was taken into R; computed afresh where the
/// subtraction has lost its digits.
#[inline(always)]
fn downdated_norm(old: f64, reference: &mut f64, below: &[f64]) -> f64 {
    if old == 0.0 {
        return 0.0;
    }
    let ratio = below[0] / old;
    let shrunk = (1.0 - ratio * ratio).max(0.0);
    let kept = old / *reference;
    if 0.05 * shrunk * kept * kept <= f64::EPSILON {
        let fresh = norm(&below[1..]);
        *reference = fresh;
        fresh
    } else {
        old * shrunk.sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Identity: Q^T A P is upper triangular with R in it, and Q undoes Q^T.
    #[test]
    fn the_factors_give_back_the_matrix() {
        let rows = 5;
        let matrix = vec![
            1.0, 2.0, 3.0, 4.0, 5.0, 1.0, -1.0, 1.0, -1.0, 1.0, 2.0, 0.0, 7.0, 1.0, -3.0,
        ];
        let mut qr = PivotedQr::default();
        qr.factor(&matrix, rows, 3);
        for (place, &column) in qr.pivots().to_vec().iter().enumerate() {
            let original = &matrix[column * rows..(column + 1) * rows];
            let mut rotated = original.to_vec();
            qr.apply_transpose(&mut rotated);
            for (row, value) in rotated.iter().enumerate() {
                let expected = if row <= place { qr.r(row, place) } else { 0.0 };
                approx::assert_abs_diff_eq!(*value, expected, epsilon = 1e-13);
            }
            qr.apply(&mut rotated);
            for (value, expected) in rotated.iter().zip(original) {
                assert_relative_eq!(value, expected, epsilon = 1e-13);
            }
        }
    }

    #[test]
    fn a_dependent_column_shows_as_a_vanishing_diagonal() {
        let matrix = vec![1.0, 2.0, 3.0, 2.0, 4.0, 6.0];
        let mut qr = PivotedQr::default();
        qr.factor(&matrix, 3, 2);
        assert!(qr.smallest_diagonal_ratio() < 1e-15);
    }
}
