//! Gauss-Legendre quadrature on the unit interval.

use std::sync::OnceLock;

/// Sizes of the rules that are kept.
const SIZES: [usize; 4] = [8, 16, 24, 48];

/// Nodes and weights on 0 to 1.
pub type LegendreRule = [(f64, f64)];

/// The Gauss-Legendre rule that integrates a decay over `exponent_range` e-foldings to the rounding
/// of doubles: 8, 16, 24 or 48 nodes on 0 to 1, made once.
///
/// # Equation
/// The nodes are the roots of the Legendre polynomial `P_n`, found by Newton's method from
/// `cos[pi (i - 1/4)/(n + 1/2)]`; the weights are `2/[(1 - x^2) P_n'(x)^2]`, halved for 0 to 1.
/// For `exp(-c x)` the error is about `(c/4)^(2n)/(2n)!`.
///
/// # Valid for
/// Up to 100 e-foldings.
///
/// # Source
/// M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, eqs. 25.4.29 and 25.4.30 (from
/// memory).
#[must_use]
pub fn legendre_rule(exponent_range: f64) -> &'static LegendreRule {
    static RULES: OnceLock<[Vec<(f64, f64)>; 4]> = OnceLock::new();
    let rules = RULES.get_or_init(|| SIZES.map(make_rule));
    let place = if exponent_range < 1.0 {
        0
    } else if exponent_range < 14.0 {
        1
    } else if exponent_range < 32.0 {
        2
    } else {
        3
    };
    &rules[place]
}

fn make_rule(size: usize) -> Vec<(f64, f64)> {
    let count = size as f64;
    (0..size)
        .map(|i| {
            let mut x = (std::f64::consts::PI * (i as f64 + 0.75) / (count + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..100 {
                let (mut previous, mut value) = (0.0, 1.0);
                for degree in 0..size {
                    let n = degree as f64;
                    let next = ((2.0 * n + 1.0) * x * value - n * previous) / (n + 1.0);
                    previous = value;
                    value = next;
                }
                slope = count * (x * value - previous) / (x * x - 1.0);
                let step = value / slope;
                x -= step;
                if step.abs() < 1e-16 {
                    break;
                }
            }
            (0.5 * (1.0 - x), 1.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn polynomials_integrate_exactly_up_to_twice_the_nodes() {
        for (range, size) in [(0.5, 8), (5.0, 16), (20.0, 24), (50.0, 48)] {
            let rule = legendre_rule(range);
            assert_eq!(rule.len(), size);
            for degree in [0, 1, 2, size as i32, 2 * size as i32 - 1] {
                let sum: f64 = rule.iter().map(|(x, w)| w * x.powi(degree)).sum();
                assert_relative_eq!(sum, 1.0 / f64::from(degree + 1), max_relative = 1e-12);
            }
        }
    }

    /// Closed form: the integral of exp(-c x) from 0 to 1 is (1 - exp(-c))/c.
    #[test]
    fn decays_integrate_to_rounding_over_their_whole_range() {
        for c in [1e-3, 0.5, 0.99, 1.5, 7.9, 13.9, 20.0, 31.9, 60.0, 100.0] {
            let sum: f64 = legendre_rule(c)
                .iter()
                .map(|(x, w)| w * (-c * x).exp())
                .sum();
            assert_relative_eq!(sum, -(-c).exp_m1() / c, max_relative = 1e-12);
        }
    }
}
