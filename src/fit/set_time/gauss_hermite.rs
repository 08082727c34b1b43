//! Gauss-Hermite quadrature, by which the spread between lots is integrated out.

/// Nodes and weights of an integral over all numbers.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct GaussHermite {
    /// Node, and logarithm of its weight with the weight function taken out again.
    pub(super) nodes: Vec<(f64, f64)>,
}

impl GaussHermite {
    /// A rule of some number of nodes.
    ///
    /// # Equation
    /// `integral f(x) dx ~ sum w_i exp(x_i^2) f(x_i)`, `x_i` the zeros of the Hermite polynomial
    /// `H_n`, `w_i = 2 / h'_n(x_i)^2` with `h_n` the orthonormal polynomial
    ///
    /// # Valid for
    /// Up to some hundred nodes; exact where `f` is a polynomial of degree 2 n - 1 times exp(-x^2).
    ///
    /// # Source
    /// M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, 1964, 25.4.46 and table 25.10.
    pub(super) fn new(count: usize) -> Self {
        let mut nodes = Vec::with_capacity(count);
        // The zeros lie between those of the rule before: bisection needs no luck.
        let mut brackets: Vec<f64> = Vec::new();
        for degree in 1..=count {
            let far = (2.0 * degree as f64 + 1.0).sqrt();
            let mut ends = vec![-far];
            ends.extend(&brackets);
            ends.push(far);
            brackets = ends
                .windows(2)
                .map(|ends| zero_between(degree, ends[0], ends[1]))
                .collect();
        }
        for node in brackets {
            let (_, slope) = orthonormal(count, node);
            nodes.push((node, (2.0 / (slope * slope)).ln() + node * node));
        }
        Self { nodes }
    }
}

fn zero_between(degree: usize, mut low: f64, mut high: f64) -> f64 {
    let rises = orthonormal(degree, high).0 > 0.0;
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if (orthonormal(degree, middle).0 > 0.0) == rises {
            high = middle;
        } else {
            low = middle;
        }
    }
    0.5 * (low + high)
}

/// The orthonormal Hermite polynomial and its slope.
fn orthonormal(degree: usize, x: f64) -> (f64, f64) {
    let (mut before, mut now) = (0.0, std::f64::consts::PI.powf(-0.25));
    for k in 0..degree {
        let k = k as f64;
        let next = x * (2.0 / (k + 1.0)).sqrt() * now - (k / (k + 1.0)).sqrt() * before;
        (before, now) = (now, next);
    }
    (now, (2.0 * degree as f64).sqrt() * before)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Abramowitz & Stegun, table 25.10, n = 5.
    #[test]
    fn five_nodes_are_those_of_the_handbook() {
        let rule = GaussHermite::new(5);
        let printed = [
            (2.020_182_870_456_086, 1.181_488_625_536),
            (0.958_572_464_613_819, 0.986_580_996_751),
            (0.0, 0.945_308_720_483),
        ];
        for (place, (node, weight)) in printed.into_iter().enumerate() {
            let (found, ln_weight) = rule.nodes[4 - place];
            assert!((found - node).abs() < 1e-14, "{found}");
            assert_relative_eq!(ln_weight.exp(), weight, max_relative = 1e-11);
        }
    }

    /// Moments of the normal distribution: 1, 1, 3, 15.
    #[test]
    fn moments_of_the_normal_distribution_come_out() {
        let rule = GaussHermite::new(31);
        for (power, moment) in [(0, 1.0), (2, 1.0), (4, 3.0), (6, 15.0)] {
            let found: f64 = rule
                .nodes
                .iter()
                .map(|(x, ln_weight)| {
                    let z = std::f64::consts::SQRT_2 * x;
                    z.powi(power) * (ln_weight - x * x).exp() / std::f64::consts::PI.sqrt()
                })
                .sum();
            assert_relative_eq!(found, moment, max_relative = 1e-12);
        }
    }
}
