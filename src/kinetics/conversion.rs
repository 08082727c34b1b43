//! Conversion: the fraction of the protein that has set, 0 to 1.

use serde::{Deserialize, Serialize};

/// Order of the setting reaction: 1 unless the readings ask for another.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct ReactionOrder(pub f64);

impl Default for ReactionOrder {
    fn default() -> Self {
        Self(1.0)
    }
}

/// A conversion with its derivatives by the logarithm of the rate dose and by the order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conversion {
    /// Fraction set, 0 to 1.
    pub fraction: f64,
    /// Derivative by `ln(k theta)`.
    pub by_ln_rate_dose: f64,
    /// Derivative by the order.
    pub by_order: f64,
}

/// Orders nearer to 1 than this are served by the first-order form and its tangent.
const FIRST_ORDER_MARGIN: f64 = 1e-7;

/// Conversion after a rate dose `x = k_ref theta`.
///
/// # Equation
/// Order 1: `a = 1 - exp(-x)`. Order n: `a = 1 - [1 + (n-1) x]^(-1/(n-1))`; for n < 1 complete at
/// `x = 1/(1-n)` and 1 from then on.
///
/// | symbol | argument | unit |
/// |---|---|---|
/// | x | `rate_dose` | 1 |
/// | n | `order` | 1 |
///
/// # Valid for
/// Rate doses from 0; any order above 0.
///
/// # Source
/// O. Levenspiel, Chemical Reaction Engineering, 3rd ed. 1999, eqs. 3.11 and 3.29 (from memory).
///
/// # Example
/// Half is set at `x = ln 2` for order 1 and at `x = 1` for order 2.
/// ```
/// use heatset::kinetics::{ReactionOrder, conversion};
/// let first = conversion(ReactionOrder(1.0), std::f64::consts::LN_2);
/// let second = conversion(ReactionOrder(2.0), 1.0);
/// approx::assert_relative_eq!(first.fraction, 0.5, max_relative = 1e-15);
/// approx::assert_relative_eq!(second.fraction, 0.5, max_relative = 1e-15);
/// ```
#[must_use]
pub fn conversion(order: ReactionOrder, rate_dose: f64) -> Conversion {
    let x = rate_dose.max(0.0);
    let excess = order.0 - 1.0;
    if excess.abs() < FIRST_ORDER_MARGIN {
        let unset = (-x).exp();
        return Conversion {
            fraction: -(-x).exp_m1(),
            by_ln_rate_dose: x * unset,
            // Tangent of the general form at n = 1: d(ln unset)/dn = x^2/2.
            by_order: -unset * 0.5 * x * x,
        };
    }
    let base = 1.0 + excess * x;
    if base <= 0.0 {
        return Conversion {
            fraction: 1.0,
            by_ln_rate_dose: 0.0,
            by_order: 0.0,
        };
    }
    let ln_base = (excess * x).ln_1p();
    let ln_unset = -ln_base / excess;
    let unset = ln_unset.exp();
    Conversion {
        fraction: -ln_unset.exp_m1(),
        by_ln_rate_dose: x * unset / base,
        by_order: -unset * (ln_base / (excess * excess) - x / (excess * base)),
    }
}

/// Rate dose that gives a conversion: the inverse of [`conversion`].
///
/// # Equation
/// Order 1: `x = -ln(1 - a)`. Order n: `x = [(1-a)^(-(n-1)) - 1]/(n-1)`.
///
/// # Valid for
/// Conversions below 1; infinite from 1 on for orders of 1 and more, 0 at and below 0.
///
/// # Source
/// As for [`conversion`].
#[must_use]
pub fn rate_dose_for_conversion(order: ReactionOrder, fraction: f64) -> f64 {
    if fraction <= 0.0 {
        return 0.0;
    }
    let excess = order.0 - 1.0;
    if fraction >= 1.0 {
        return if excess < -FIRST_ORDER_MARGIN && fraction <= 1.0 {
            -1.0 / excess
        } else {
            f64::INFINITY
        };
    }
    let ln_unset = (-fraction).ln_1p();
    if excess.abs() < FIRST_ORDER_MARGIN {
        -ln_unset
    } else {
        (-excess * ln_unset).exp_m1() / excess
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::{assert_abs_diff_eq, assert_relative_eq};
    use proptest::prelude::*;

    #[test]
    fn the_general_order_nears_the_first_order_from_both_sides() {
        for x in [1e-6, 0.1, 1.0, 5.0] {
            let first = conversion(ReactionOrder(1.0), x);
            for order in [1.0 - 1e-5, 1.0 + 1e-5] {
                let near = conversion(ReactionOrder(order), x);
                assert_abs_diff_eq!(near.fraction, first.fraction, epsilon = 2e-5 * x * x);
                assert_abs_diff_eq!(near.by_ln_rate_dose, first.by_ln_rate_dose, epsilon = 1e-4);
                assert_abs_diff_eq!(near.by_order, first.by_order, epsilon = 1e-3);
            }
        }
    }

    #[test]
    fn an_order_below_one_is_complete_in_finite_time() {
        assert_relative_eq!(conversion(ReactionOrder(0.5), 2.0).fraction, 1.0);
        assert_relative_eq!(conversion(ReactionOrder(0.5), 7.0).fraction, 1.0);
        assert_relative_eq!(rate_dose_for_conversion(ReactionOrder(0.5), 1.0), 2.0);
    }

    proptest! {
        #[test]
        fn the_inverse_gives_back_the_rate_dose(order in 0.3_f64..3.0, x in 1e-6_f64..3.0) {
            prop_assume!(order > 1.0 || (1.0 - order) * x < 0.99);
            let fraction = conversion(ReactionOrder(order), x).fraction;
            prop_assume!(fraction < 0.9999);
            let back = rate_dose_for_conversion(ReactionOrder(order), fraction);
            prop_assert!((back / x - 1.0).abs() < 1e-8, "{back} {x}");
        }

        #[test]
        fn derivatives_agree_with_differences(order in 0.4_f64..2.5, ln_x in -3.0_f64..1.0) {
            let x = ln_x.exp();
            prop_assume!(order > 1.0 || (1.0 - order) * x < 0.9);
            let h = 1e-5;
            let here = conversion(ReactionOrder(order), x);
            let up = conversion(ReactionOrder(order), (ln_x + h).exp());
            let down = conversion(ReactionOrder(order), (ln_x - h).exp());
            let slope = (up.fraction - down.fraction) / (2.0 * h);
            prop_assert!((here.by_ln_rate_dose - slope).abs() < 1e-7);
            let up = conversion(ReactionOrder(order + h), x);
            let down = conversion(ReactionOrder(order - h), x);
            let slope = (up.fraction - down.fraction) / (2.0 * h);
            prop_assert!((here.by_order - slope).abs() < 1e-6, "{} {}", here.by_order, slope);
        }
    }
}
