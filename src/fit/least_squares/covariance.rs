//! Covariance of the estimates from the derivatives at the minimum.

use super::householder::PivotedQr;
use super::vector::{dot, norm};
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
    for column in scaled.chunks_exact_mut(rows) {
        let length = norm(column);
        if length == 0.0 || !length.is_finite() {
            return None;
        }
        for value in column {
            *value /= length;
        }
        lengths.push(length);
    }
    let mut qr = PivotedQr::default();
    qr.factor(&scaled, rows, columns);
    if qr.smallest_diagonal_ratio() < 1e-14 {
        return None;
    }
    // Inverse of R by back substitution, one column at a time.
    let mut inverse = Array2::<f64>::zeros((columns, columns));
    for column in 0..columns {
        for row in (0..=column).rev() {
            let mut value = if row == column { 1.0 } else { 0.0 };
            for k in row + 1..=column {
                value -= qr.r(row, k) * inverse[[k, column]];
            }
            inverse[[row, column]] = value / qr.r(row, row);
        }
    }
    let pivoted = inverse.dot(&inverse.t());
    let mut unscaled = Array2::zeros((columns, columns));
    for i in 0..columns {
        for j in 0..columns {
            let (a, b) = (qr.pivots()[i], qr.pivots()[j]);
            unscaled[[a, b]] = pivoted[[i, j]] / (lengths[a] * lengths[b]);
        }
    }
    let mut r = vec![0.0; columns * columns];
    for column in 0..columns {
        for row in 0..=column {
            r[column * columns + row] = qr.r(row, column);
        }
    }
    Some(Covariance {
        unscaled,
        condition: condition_of(&mut r, columns),
    })
}

/// Largest over smallest singular value of a square matrix of the size of a fit's parameters, by
/// one-sided Jacobi rotations: its columns are turned until they stand at right angles.
fn condition_of(matrix: &mut [f64], size: usize) -> f64 {
    for _ in 0..60 {
        let mut is_done = true;
        for p in 0..size {
            for q in p + 1..size {
                let (head, tail) = matrix.split_at_mut(q * size);
                let (left, right) = (&mut head[p * size..(p + 1) * size], &mut tail[..size]);
                let (a, b, c) = (dot(left, left), dot(right, right), dot(left, right));
                if c.abs() <= 1e-15 * (a * b).sqrt() {
                    continue;
                }
                is_done = false;
                let zeta = (b - a) / (2.0 * c);
                let tangent = zeta.signum() / (zeta.abs() + (1.0 + zeta * zeta).sqrt());
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
