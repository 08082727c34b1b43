//! Covariance of the estimates from the derivatives at the minimum.

use super::householder::PivotedQr;
use super::vector::{in_wide_registers, norm};
use ndarray::Array2;

/// Unscaled covariance and the condition of the derivatives.
#[derive(Debug, Clone, PartialEq)]
pub struct Covariance {
    /// `(J^T J)^-1`; times the residual variance it is the covariance of the estimates.
    pub unscaled: Array2<f64>,
    /// Ratio of the largest to the smallest singular value of the columns scaled to length 1.
    pub condition: f64,
}

/// `(J^T J)^-1` from the R factor of the column-scaled derivatives, and their condition.
///
/// # Equation
/// `J = Q R`, `(J^T J)^-1 = R^-1 R^-T`
///
/// # Valid for
/// Derivatives of full column rank; `None` otherwise.
///
/// # Source
/// Å. Björck, Numerical Methods for Least Squares Problems, SIAM 1996, section 2.8.3,
/// doi:10.1137/1.9781611971484.
#[must_use]
pub fn covariance_from_jacobian(
    jacobian: &[f64],
    rows: usize,
    columns: usize,
) -> Option<Covariance> {
    if rows < columns || columns == 0 || jacobian.len() != rows * columns {
        return None;
    }
    let mut scaled = jacobian.to_vec();
    let mut lengths = Vec::with_capacity(columns);
    in_wide_registers(
        #[inline(always)]
        || {
            for column in scaled.chunks_exact_mut(rows) {
                let length = norm(column);
                let inverse = 1.0 / length;
                for value in column {
                    *value *= inverse;
                }
                lengths.push(length);
            }
        },
    );
    if !lengths.iter().all(|length| length.is_normal()) {
        return None;
    }
    let mut qr = PivotedQr::default();
    qr.factor(&scaled, rows, columns);
    if qr.smallest_diagonal_ratio() < 1e-14 {
        return None;
    }
    // Inverse of R by back substitution, one column at a time.
    let mut inverse = vec![0.0; columns * columns];
    for (column, solved) in inverse.chunks_exact_mut(columns).enumerate() {
        for row in (0..=column).rev() {
            let mut value = if row == column { 1.0 } else { 0.0 };
            for (k, known) in solved.iter().enumerate().take(column + 1).skip(row + 1) {
                value -= qr.r(row, k) * known;
            }
            solved[row] = value / qr.r(row, row);
        }
    }
    let mut unscaled = Array2::zeros((columns, columns));
    for i in 0..columns {
        for j in 0..=i {
            // Row i of the inverse begins at column i.
            let product: f64 = inverse
                .chunks_exact(columns)
                .skip(i)
                .map(|column| column[i] * column[j])
                .sum();
            let (a, b) = (qr.pivots()[i], qr.pivots()[j]);
            let value = product / (lengths[a] * lengths[b]);
            unscaled[[a, b]] = value;
            unscaled[[b, a]] = value;
        }
    }
    // Rows of R, one after the other, in the room of its inverse.
    let mut transposed = inverse;
    for (row, values) in transposed.chunks_exact_mut(columns).enumerate() {
        values.fill(0.0);
        for (column, value) in values.iter_mut().enumerate().skip(row) {
            *value = qr.r(row, column);
        }
    }
    Some(Covariance {
        unscaled,
        condition: condition_of(&mut transposed, columns),
    })
}

/// Largest over smallest singular value of a square matrix of the size of a fit's parameters, by
/// one-sided Jacobi rotations: its columns are turned until they stand at right angles. The
/// columns of `R^T`, R from pivoted factors, nearly do from the beginning.
///
/// # Source
/// Z. Drmač, K. Veselić, New fast and accurate Jacobi SVD algorithm I, SIAM J. Matrix Anal. Appl.
/// 29 (2008) 1322, doi:10.1137/050639193 (from memory).
fn condition_of(matrix: &mut [f64], size: usize) -> f64 {
    for _ in 0..60 {
        let mut is_done = true;
        for p in 0..size {
            for q in p + 1..size {
                let (head, tail) = matrix.split_at_mut(q * size);
                let (left, right) = (&mut head[p * size..(p + 1) * size], &mut tail[..size]);
                let (mut a, mut b, mut c) = (0.0, 0.0, 0.0);
                for (x, y) in left.iter().zip(&*right) {
                    a += x * x;
                    b += y * y;
                    c += x * y;
                }
                if c * c <= 1e-24 * (a * b) {
                    continue;
                }
                is_done = false;
                let (difference, twice) = (b - a, 2.0 * c);
                let root = (difference * difference + twice * twice).sqrt();
                let tangent = twice / (difference + root.copysign(difference));
                let cosine = 1.0 / (1.0 + tangent * tangent).sqrt();
                let sine = tangent * cosine;
                for (x, y) in left.iter_mut().zip(right) {
                    let (u, v) = (*x, *y);
                    *x = cosine * u - sine * v;
                    *y = sine * u + cosine * v;
                }
            }
        }
        if is_done {
            break;
        }
    }
    let lengths = matrix.chunks_exact(size.max(1)).map(norm);
    let (least, most) = lengths.fold((f64::INFINITY, 0.0_f64), |(l, m), length| {
        (l.min(length), m.max(length))
    });
    most / least
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Straight line through x = 0..3: (X^T X)^-1 = [[0.7, -0.3], [-0.3, 0.2]] by hand.
    #[test]
    fn the_covariance_of_a_straight_line_is_that_of_the_textbook() {
        let jacobian = [1.0, 1.0, 1.0, 1.0, 0.0, 1.0, 2.0, 3.0];
        let found = covariance_from_jacobian(&jacobian, 4, 2).unwrap();
        for ((i, j), expected) in [((0, 0), 0.7), ((0, 1), -0.3), ((1, 1), 0.2)] {
            assert_relative_eq!(found.unscaled[[i, j]], expected, max_relative = 1e-12);
        }
        // Columns scaled to length 1 have the cosine 6/sqrt(4 * 14): condition by hand.
        let cosine: f64 = 6.0 / 56.0_f64.sqrt();
        let expected = ((1.0 + cosine) / (1.0 - cosine)).sqrt();
        assert_relative_eq!(found.condition, expected, max_relative = 1e-9);
    }
}
