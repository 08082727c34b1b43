//! Dot products and norms over short slices, written so that the compiler uses vector registers.

use pulp::Arch;

/// Runs `work` compiled for the widest vector registers that this processor has. What it calls
/// takes part as far as it is inlined: the functions below are. The order of additions, and so
/// every bit of the result, is the same on every machine.
#[inline(always)]
pub(crate) fn in_wide_registers<R>(work: impl FnOnce() -> R) -> R {
    Arch::new().dispatch(work)
}

/// Partial sums kept apart: enough to fill two 256-bit registers.
const LANES: usize = 8;

/// Sum of `left[i] * right[i]` over the shorter of both.
#[inline(always)]
#[must_use]
pub(crate) fn dot(left: &[f64], right: &[f64]) -> f64 {
    let mut lanes = [0.0; LANES];
    let (left_chunks, left_rest) = left.as_chunks::<LANES>();
    let (right_chunks, right_rest) = right.as_chunks::<LANES>();
    for (a, b) in left_chunks.iter().zip(right_chunks) {
        for ((lane, x), y) in lanes.iter_mut().zip(a).zip(b) {
            *lane += x * y;
        }
    }
    // Half a chunk more, then what is left one by one.
    let (left_halves, left_rest) = left_rest.as_chunks::<{ LANES / 2 }>();
    let (right_halves, right_rest) = right_rest.as_chunks::<{ LANES / 2 }>();
    for (a, b) in left_halves.iter().zip(right_halves) {
        for ((lane, x), y) in lanes.iter_mut().zip(a).zip(b) {
            *lane += x * y;
        }
    }
    let tail: f64 = left_rest.iter().zip(right_rest).map(|(x, y)| x * y).sum();
    let [a, b, c, d, e, f, g, h] = lanes;
    ((a + e) + (b + f)) + ((c + g) + (d + h)) + tail
}

/// `target[i] += factor * source[i]`.
#[inline(always)]
pub(crate) fn add_scaled(target: &mut [f64], factor: f64, source: &[f64]) {
    for (t, s) in target.iter_mut().zip(source) {
        *t += factor * s;
    }
}

/// Euclidean norm; scaled where the plain sum of squares would leave the range of doubles.
#[inline(always)]
#[must_use]
pub(crate) fn norm(values: &[f64]) -> f64 {
    let plain = dot(values, values);
    if plain.is_finite() && plain > 1e-280 {
        return plain.sqrt();
    }
    let largest = values.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
    if largest == 0.0 || !largest.is_finite() {
        return if values.iter().any(|v| v.is_nan()) {
            f64::NAN
        } else {
            largest
        };
    }
    let scaled: f64 = values.iter().map(|v| (v / largest) * (v / largest)).sum();
    largest * scaled.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn norms_survive_overflow_and_underflow() {
        assert!((norm(&[3e200, 4e200]) / 5e200 - 1.0).abs() < 1e-15);
        assert!((norm(&[3e-200, 4e-200]) / 5e-200 - 1.0).abs() < 1e-15);
        assert_eq!(norm(&[0.0, 0.0]), 0.0);
        assert!(norm(&[f64::NAN, 1.0]).is_nan());
    }

    #[test]
    fn dot_agrees_with_the_plain_sum_for_every_length() {
        for n in 0..40_u32 {
            let left: Vec<f64> = (0..n).map(|i| f64::from(i) + 0.5).collect();
            let right: Vec<f64> = (0..n).map(|i| 1.0 - f64::from(i)).collect();
            let plain: f64 = left.iter().zip(&right).map(|(a, b)| a * b).sum();
            assert!((dot(&left, &right) - plain).abs() <= 1e-12 * plain.abs());
        }
    }
}
