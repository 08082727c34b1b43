//! Cholesky factors of a covariance, which make numbers that vary together of some that do not.

/// Lower triangle of the Cholesky factors of a covariance; a row that has no variance left is zero.
pub(in crate::plan) fn lower_triangle(covariance: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let n = covariance.len();
    let mut lower = vec![vec![0.0; n]; n];
    for i in 0..n {
        for j in 0..=i {
            let sum: f64 = (0..j).map(|k| lower[i][k] * lower[j][k]).sum();
            let rest = covariance[i][j] - sum;
            lower[i][j] = if i == j {
                rest.max(0.0).sqrt()
            } else if lower[j][j] > 0.0 {
                rest / lower[j][j]
            } else {
                0.0
            };
        }
    }
    lower
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_triangle_times_its_transpose_is_the_covariance() {
        let covariance = vec![
            vec![4.0, 2.0, 0.6],
            vec![2.0, 5.0, 1.0],
            vec![0.6, 1.0, 3.0],
        ];
        let lower = lower_triangle(&covariance);
        for i in 0..3 {
            for j in 0..3 {
                let product: f64 = (0..3).map(|k| lower[i][k] * lower[j][k]).sum();
                assert_relative_eq!(product, covariance[i][j], max_relative = 1e-12);
            }
        }
    }
}
