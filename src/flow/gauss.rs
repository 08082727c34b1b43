//! The quadrature rule of this room: ten-point Gauss-Legendre.

/// Nodes of the ten-point Gauss-Legendre rule on (-1, 1), positive half.
/// Source: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 1964, table 25.4.
const NODES: [f64; 5] = [
    0.148_874_338_981_631_22,
    0.433_395_394_129_247_2,
    0.679_409_568_299_024_4,
    0.865_063_366_688_984_5,
    0.973_906_528_517_171_7,
];
/// Weights of the same rule.
const WEIGHTS: [f64; 5] = [
    0.295_524_224_714_752_87,
    0.269_266_719_309_996_35,
    0.219_086_362_515_982_04,
    0.149_451_349_150_580_6,
    0.066_671_344_308_688_14,
];

/// Integral of a smooth function from `from` to `to`, by one panel.
pub(super) fn panel_integral(from: f64, to: f64, function: impl Fn(f64) -> f64) -> f64 {
    let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
    let sum: f64 = NODES
        .iter()
        .zip(WEIGHTS)
        .map(|(node, weight)| {
            let away = half * node;
            weight * (function(middle - away) + function(middle + away))
        })
        .sum();
    half * sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_polynomial_of_degree_19_is_exact() {
        // n points of Gauss's rule integrate degree 2 n - 1 exactly (Abramowitz & Stegun 25.4.29)
        let found = panel_integral(0.0, 2.0, |x| 20.0 * x.powi(19));
        assert_relative_eq!(found, 2f64.powi(20), max_relative = 1e-13);
    }
}
