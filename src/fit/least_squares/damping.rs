//! The damping that makes a step fit into the trust region.

use super::householder::PivotedQr;
use super::vector::norm;

/// Scratch of the damped solve, kept between steps.
#[derive(Debug, Clone, Default)]
pub(crate) struct DampedSystem {
    /// Lower triangle: the damped R, transposed; upper triangle: the plain R.
    triangle: Vec<f64>,
    damped_diagonal: Vec<f64>,
    right_side: Vec<f64>,
    row: Vec<f64>,
    scaled: Vec<f64>,
}

impl DampedSystem {
    /// Finds `lambda` such that the step `p` of `(R^T R + lambda D^2) p = R^T b` is as long as the
    /// trust region within a tenth, or 0 where the undamped step fits inside. Returns `lambda`
    /// and leaves the step in `step`.
    ///
    /// # Source
    /// J. Moré, The Levenberg-Marquardt algorithm: implementation and theory, Lecture Notes in
    /// Mathematics 630 (1978) 105, sections 3-5, doi:10.1007/BFb0067700.
    pub(crate) fn step_within(
        &mut self,
        qr: &PivotedQr,
        scale: &[f64],
        rotated: &[f64],
        radius: f64,
        lambda_before: f64,
        step: &mut [f64],
    ) -> f64 {
        let n = qr.columns();
        self.resize(n);
        let rank = (0..n).take_while(|&j| qr.r(j, j) != 0.0).count();

        // The undamped (Gauss-Newton) step, with the dependent columns left at zero.
        self.right_side.copy_from_slice(&rotated[..n]);
        for value in &mut self.right_side[rank..] {
            *value = 0.0;
        }
        for j in (0..rank).rev() {
            let solved = self.right_side[j] / qr.r(j, j);
            self.right_side[j] = solved;
            for i in 0..j {
                self.right_side[i] -= qr.r(i, j) * solved;
            }
        }
        for (place, &column) in qr.pivots().iter().enumerate() {
            step[column] = self.right_side[place];
        }
        let mut scaled_length = self.scale_step(scale, step);
        let mut excess = scaled_length - radius;
        if excess <= 0.1 * radius {
            return 0.0;
        }

        // Lower limit of lambda: Newton's step from 0, where R is of full rank.
        let mut lower = 0.0;
        if rank == n {
            for (place, &column) in qr.pivots().iter().enumerate() {
                self.row[place] = scale[column] * (self.scaled[column] / scaled_length);
            }
            for j in 0..n {
                let mut value = self.row[j];
                for i in 0..j {
                    value -= qr.r(i, j) * self.row[i];
                }
                self.row[j] = value / qr.r(j, j);
            }
            let length = norm(&self.row);
            lower = excess / radius / length / length;
        }

        // Upper limit: from the gradient.
        for (place, &column) in qr.pivots().iter().enumerate() {
            let sum: f64 = (0..=place).map(|i| qr.r(i, place) * rotated[i]).sum();
            self.row[place] = sum / scale[column];
        }
        let gradient_length = norm(&self.row);
        let mut upper = gradient_length / radius;
        if upper == 0.0 {
            upper = f64::MIN_POSITIVE / radius.min(0.1);
        }

        let mut lambda = lambda_before.max(lower).min(upper);
        if lambda == 0.0 {
            lambda = gradient_length / scaled_length;
        }
        for trial in 1..=10 {
            if lambda == 0.0 {
                lambda = f64::MIN_POSITIVE.max(0.001 * upper);
            }
            self.solve(qr, scale, rotated, lambda.sqrt(), step);
            scaled_length = self.scale_step(scale, step);
            let excess_before = excess;
            excess = scaled_length - radius;
            let hopeless = lower == 0.0 && excess <= excess_before && excess_before < 0.0;
            if excess.abs() <= 0.1 * radius || hopeless || trial == 10 {
                break;
            }
            for (place, &column) in qr.pivots().iter().enumerate() {
                self.row[place] = scale[column] * (self.scaled[column] / scaled_length);
            }
            for j in 0..n {
                self.row[j] /= self.damped_diagonal[j];
                let value = self.row[j];
                for i in j + 1..n {
                    self.row[i] -= self.triangle[j * n + i] * value;
                }
            }
            let length = norm(&self.row);
            let correction = excess / radius / length / length;
            if excess > 0.0 {
                lower = lower.max(lambda);
            } else {
                upper = upper.min(lambda);
            }
            lambda = lower.max(lambda + correction);
        }
        lambda
    }

    /// Solves the damped system by rotating the rows of `sqrt(lambda) D` into R.
    fn solve(
        &mut self,
        qr: &PivotedQr,
        scale: &[f64],
        rotated: &[f64],
        root_lambda: f64,
        step: &mut [f64],
    ) {
        let n = qr.columns();
        // triangle[j * n + i], i >= j: the working copy of R^T below the diagonal.
        for j in 0..n {
            for i in j..n {
                self.triangle[j * n + i] = qr.r(j, i);
            }
        }
        self.right_side.copy_from_slice(&rotated[..n]);
        for j in 0..n {
            let damping = root_lambda * scale[qr.pivots()[j]];
            if damping != 0.0 {
                self.row[j..].fill(0.0);
                self.row[j] = damping;
                let mut carried = 0.0;
                for k in j..n {
                    if self.row[k] == 0.0 {
                        continue;
                    }
                    let diagonal = self.triangle[k * n + k];
                    let (cosine, sine) = rotation(diagonal, self.row[k]);
                    self.triangle[k * n + k] = cosine * diagonal + sine * self.row[k];
                    let kept = cosine * self.right_side[k] + sine * carried;
                    carried = -sine * self.right_side[k] + cosine * carried;
                    self.right_side[k] = kept;
                    for i in k + 1..n {
                        let upper = self.triangle[k * n + i];
                        self.triangle[k * n + i] = cosine * upper + sine * self.row[i];
                        self.row[i] = -sine * upper + cosine * self.row[i];
                    }
                }
            }
            self.damped_diagonal[j] = self.triangle[j * n + j];
        }
        let rank = self
            .damped_diagonal
            .iter()
            .take_while(|d| **d != 0.0)
            .count();
        for value in &mut self.right_side[rank..] {
            *value = 0.0;
        }
        for j in (0..rank).rev() {
            let mut value = self.right_side[j];
            for i in j + 1..rank {
                value -= self.triangle[j * n + i] * self.right_side[i];
            }
            self.right_side[j] = value / self.damped_diagonal[j];
        }
        for (place, &column) in qr.pivots().iter().enumerate() {
            step[column] = self.right_side[place];
        }
    }

    fn scale_step(&mut self, scale: &[f64], step: &[f64]) -> f64 {
        for ((scaled, s), p) in self.scaled.iter_mut().zip(scale).zip(step) {
            *scaled = s * p;
        }
        norm(&self.scaled)
    }

    fn resize(&mut self, n: usize) {
        self.triangle.resize(n * n, 0.0);
        self.damped_diagonal.resize(n, 0.0);
        self.right_side.resize(n, 0.0);
        self.row.resize(n, 0.0);
        self.scaled.resize(n, 0.0);
    }
}

/// Cosine and sine of the rotation that turns `(diagonal, below)` into `(length, 0)`.
fn rotation(diagonal: f64, below: f64) -> (f64, f64) {
    if diagonal.abs() < below.abs() {
        let cotangent = diagonal / below;
        let sine = 1.0 / (1.0 + cotangent * cotangent).sqrt();
        (sine * cotangent, sine)
    } else {
        let tangent = below / diagonal;
        let cosine = 1.0 / (1.0 + tangent * tangent).sqrt();
        (cosine, cosine * tangent)
    }
}
