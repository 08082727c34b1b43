//! Gauss-Legendre quadrature on the unit interval.

use std::sync::OnceLock;

/// Number of nodes: enough for every heat dose to 1e-8 (see the tests of the warm-up lag).
pub const LEGENDRE_NODES: usize = 48;

/// Nodes and weights on 0 to 1.
pub type LegendreRule = [(f64, f64); LEGENDRE_NODES];

/// The Gauss-Legendre rule with [`LEGENDRE_NODES`] nodes on 0 to 1, made once.
///
/// # Equation
/// The nodes are the roots of the Legendre polynomial `P_n`, found by Newton's method from
/// `cos[pi (i - 1/4)/(n + 1/2)]`; the weights are `2/[(1 - x^2) P_n'(x)^2]`, halved for 0 to 1.
///
/// # Source
/// M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, eq. 25.4.29 (from memory).
#[must_use]
pub fn legendre_rule() -> &'static LegendreRule {
    static RULE: OnceLock<LegendreRule> = OnceLock::new();
    RULE.get_or_init(|| {
        let count = LEGENDRE_NODES as f64;
        let mut rule = [(0.0, 0.0); LEGENDRE_NODES];
        for (i, slot) in rule.iter_mut().enumerate() {
            let mut x = (std::f64::consts::PI * (i as f64 + 0.75) / (count + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..100 {
                let (mut previous, mut value) = (0.0, 1.0);
                for degree in 0..LEGENDRE_NODES {
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
            *slot = (0.5 * (1.0 - x), 1.0 / ((1.0 - x * x) * slope * slope));
        }
        rule
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn polynomials_up_to_degree_95_integrate_exactly() {
        for degree in [0_i32, 1, 2, 17, 50, 95] {
            let sum: f64 = legendre_rule().iter().map(|(x, w)| w * x.powi(degree)).sum();
            assert_relative_eq!(sum, 1.0 / f64::from(degree + 1), max_relative = 1e-12);
        }
    }
}
