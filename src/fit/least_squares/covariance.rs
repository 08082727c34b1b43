//! Covariance of the estimates from the derivatives at the minimum.

use super::householder::PivotedQr;
use super::vector::norm;
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
    let mut r = Array2::<f64>::zeros((columns, columns));
    for column in 0..columns {
        for row in 0..=column {
            r[[row, column]] = qr.r(row, column);
        }
    }
    let largest = largest_eigenvalue(&r.t().dot(&r));
    let smallest = 1.0 / largest_eigenvalue(&inverse.dot(&inverse.t()));
    Some(Covariance {
        unscaled,
        condition: (largest / smallest).sqrt(),
    })
}

/// Largest eigenvalue of a symmetric matrix of the size of a fit's parameters, by Jacobi rotations.
fn largest_eigenvalue(matrix: &Array2<f64>) -> f64 {
    let n = matrix.nrows();
    let mut a = matrix.clone();
    for _ in 0..60 {
        let mut off_diagonal = 0.0;
        for p in 0..n {
            for q in p + 1..n {
                off_diagonal += a[[p, q]] * a[[p, q]];
                if a[[p, q]].abs() < f64::MIN_POSITIVE {
                    continue;
                }
                let theta = (a[[q, q]] - a[[p, p]]) / (2.0 * a[[p, q]]);
                let tangent = theta.signum() / (theta.abs() + (theta * theta + 1.0).sqrt());
                let cosine = 1.0 / (tangent * tangent + 1.0).sqrt();
                let sine = tangent * cosine;
                for k in 0..n {
                    let (akp, akq) = (a[[k, p]], a[[k, q]]);
                    a[[k, p]] = cosine * akp - sine * akq;
                    a[[k, q]] = sine * akp + cosine * akq;
                }
                for k in 0..n {
                    let (apk, aqk) = (a[[p, k]], a[[q, k]]);
                    a[[p, k]] = cosine * apk - sine * aqk;
                    a[[q, k]] = sine * apk + cosine * aqk;
                }
            }
        }
        if off_diagonal < 1e-28 * a.diag().iter().map(|d| d * d).sum::<f64>() {
            break;
        }
    }
    a.diag().iter().fold(0.0_f64, |m, d| m.max(*d))
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
