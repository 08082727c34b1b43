//! How set times scatter: the probability of what was seen, with exact derivatives.

use crate::fit::interval::normal_quantile;
use serde::{Deserialize, Serialize};
use statrs::function::erf::erfc;
use std::f64::consts::{LN_2, PI, SQRT_2};

/// Deviate beyond which the normal tail goes by its continued fraction.
const FAR_DEVIATE: f64 = 1.0;
/// Terms of that fraction at a deviate of 1, over those that every deviate takes.
const TERMS_AT_ONE: f64 = 260.0;
/// Terms that every deviate takes.
const LEAST_TERMS: u32 = 20;
/// Under this the least probability of the extreme-value form is its leading term.
const SMALL_EXTREME: f64 = -30.0;

/// Distribution of the logarithm of set times about its place.
///
/// # Equation
/// `ln t = m + s e`; lognormal: `e` standard normal; Weibull: `P(e < z) = 1 - exp(-exp z)`
///
/// | symbol | meaning | unit |
/// |---|---|---|
/// | m | place: ln of the median (lognormal), ln of the time of 63.2 % (Weibull), t in s | 1 |
/// | s | scatter; of Weibull the inverse of its shape | 1 |
///
/// # Source
/// W. Meeker, L. Escobar, Statistical Methods for Reliability Data, 1998, chapter 4.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ScatterForm {
    /// Normal on the logarithm.
    Lognormal,
    /// Least extreme value on the logarithm.
    Weibull,
}

/// Logarithm of a probability with its derivatives by the two ends of its interval.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct LogProbability {
    pub(super) value: f64,
    /// By the lower end, by the upper end; 0 for an open end.
    pub(super) slope: [f64; 2],
    /// Second: lower, both, upper.
    pub(super) curvature: [f64; 3],
}

impl ScatterForm {
    /// Both forms, the one kept where both fit alike first.
    pub const ALL: [Self; 2] = [Self::Lognormal, Self::Weibull];

    /// The word of documents and of the command line.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Lognormal => "lognormal",
            Self::Weibull => "weibull",
        }
    }

    /// Deviate under which a share of the set times lies.
    ///
    /// # Equation
    /// Lognormal: `Phi^-1(p)`; Weibull: `ln[-ln(1 - p)]`
    ///
    /// # Valid for
    /// Shares between 0 and 1; not a number outside.
    ///
    /// # Source
    /// Meeker & Escobar 1998, sections 4.5 and 4.8.
    ///
    /// # Example
    /// ```
    /// use heatset::fit::set_time::ScatterForm;
    /// // Table of the normal distribution, NIST/SEMATECH e-Handbook 1.3.6.7.1: 0.95 at 1.645.
    /// let normal = ScatterForm::Lognormal.deviate(0.95);
    /// approx::assert_abs_diff_eq!(normal, 1.645, epsilon = 5e-4);
    /// // By definition the Weibull's own time is passed by 1/e of all.
    /// let weibull = ScatterForm::Weibull.deviate(1.0 - (-1.0_f64).exp());
    /// approx::assert_abs_diff_eq!(weibull, 0.0, epsilon = 1e-12);
    /// ```
    #[must_use]
    pub fn deviate(self, share: f64) -> f64 {
        match self {
            Self::Lognormal => normal_quantile(share).unwrap_or(f64::NAN),
            Self::Weibull => (-(-share).ln_1p()).ln(),
        }
    }

    /// Share of the set times below a deviate.
    ///
    /// # Source
    /// Meeker & Escobar 1998, sections 4.5 and 4.8.
    #[must_use]
    pub fn share_below(self, deviate: f64) -> f64 {
        match self {
            Self::Lognormal => 0.5 * erfc(-deviate / SQRT_2),
            Self::Weibull => -(-deviate.exp()).exp_m1(),
        }
    }

    /// Logarithm of the density at a deviate.
    fn ln_density(self, deviate: f64) -> f64 {
        match self {
            Self::Lognormal => -0.5 * deviate * deviate - 0.5 * (2.0 * PI).ln(),
            Self::Weibull => deviate - deviate.exp(),
        }
    }

    /// Derivative of [`Self::ln_density`].
    fn score(self, deviate: f64) -> f64 {
        match self {
            Self::Lognormal => -deviate,
            Self::Weibull => 1.0 - deviate.exp(),
        }
    }

    /// Logarithm of the share above.
    fn ln_above(self, deviate: f64) -> f64 {
        match self {
            Self::Lognormal => ln_normal_tail(deviate),
            Self::Weibull => -deviate.exp(),
        }
    }

    /// Logarithm of the share below.
    fn ln_below(self, deviate: f64) -> f64 {
        match self {
            Self::Lognormal => ln_normal_tail(-deviate),
            Self::Weibull if deviate < SMALL_EXTREME => deviate,
            Self::Weibull => (-(-deviate.exp()).exp_m1()).ln(),
        }
    }

    /// Logarithm of the share between two deviates, the lower first.
    fn ln_between(self, lower: f64, upper: f64) -> f64 {
        match self {
            // In the upper tail both shares are near 1: mirrored, they are near 0.
            Self::Lognormal if lower > 0.0 => {
                ln_of_difference(ln_normal_tail(lower), ln_normal_tail(upper))
            }
            Self::Lognormal => ln_of_difference(ln_normal_tail(-upper), ln_normal_tail(-lower)),
            Self::Weibull => {
                let gap = lower.exp() * (upper - lower).exp_m1();
                -lower.exp() + (-(-gap).exp_m1()).ln()
            }
        }
    }

    /// Logarithm of the probability of a set time between two deviates; an open end is `None`.
    pub(super) fn ln_probability(self, lower: Option<f64>, upper: Option<f64>) -> LogProbability {
        let value = match (lower, upper) {
            (Some(lower), Some(upper)) => self.ln_between(lower, upper),
            (Some(lower), None) => self.ln_above(lower),
            (None, Some(upper)) => self.ln_below(upper),
            (None, None) => return LogProbability::default(),
        };
        // Density at an end over the probability.
        let ratio = |end: Option<f64>| {
            end.map_or((0.0, 0.0), |z| {
                ((self.ln_density(z) - value).exp(), self.score(z))
            })
        };
        let ((below, below_score), (above, above_score)) = (ratio(lower), ratio(upper));
        LogProbability {
            value,
            slope: [-below, above],
            curvature: [
                -below_score * below - below * below,
                below * above,
                above_score * above - above * above,
            ],
        }
    }

    /// Logarithm of the density at a deviate, its first and second derivative.
    pub(super) fn ln_density_with_slopes(self, deviate: f64) -> [f64; 3] {
        let second = match self {
            Self::Lognormal => -1.0,
            Self::Weibull => -deviate.exp(),
        };
        [self.ln_density(deviate), self.score(deviate), second]
    }
}

/// `ln(exp(greater) - exp(less))`.
fn ln_of_difference(greater: f64, less: f64) -> f64 {
    let apart = less - greater;
    // Of the two forms the one that keeps its digits.
    greater
        + if apart > -LN_2 {
            (-apart.exp_m1()).ln()
        } else {
            (-apart.exp()).ln_1p()
        }
}

/// Logarithm of the probability that a standard normal deviate is larger.
///
/// # Equation
/// Near `Q(z) = 1/2 - phi(z) (z + z^3/3 + z^5/(3 5) + z^7/(3 5 7) + ...)`,
/// far out `Q(z) = phi(z) / (z + 1/(z + 2/(z + 3/(z + ...))))`
///
/// # Valid for
/// Every deviate, to 1e-12 of the logarithm; the error function of a general library was good to
/// 1e-11 here.
///
/// # Source
/// M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, 1964, 26.2.11 and 26.2.14.
fn ln_normal_tail(deviate: f64) -> f64 {
    if deviate < -FAR_DEVIATE {
        return (-ln_normal_tail(-deviate).exp()).ln_1p();
    }
    let ln_density = -0.5 * deviate * deviate - 0.5 * (2.0 * PI).ln();
    if deviate < FAR_DEVIATE {
        let (mut term, mut sum, mut odd) = (deviate, deviate, 1.0);
        while term.abs() > f64::EPSILON * sum.abs() {
            odd += 2.0;
            term *= deviate * deviate / odd;
            sum += term;
        }
        return (0.5 - ln_density.exp() * sum).ln();
    }
    // The nearer, the more terms: the rest falls as exp(-2 z sqrt(2 n)).
    let terms = LEAST_TERMS + (TERMS_AT_ONE / (deviate * deviate)) as u32;
    let fraction = (1..=terms)
        .rev()
        .fold(deviate, |rest, term| deviate + f64::from(term) / rest);
    ln_density - fraction.ln()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    /// R 4.2.2: pnorm(z, lower.tail = FALSE, log.p = TRUE).
    #[test]
    fn the_normal_tail_keeps_its_digits_far_out() {
        for (deviate, expected) in [
            (-8.0, -6.220_960_574_271_787e-16),
            (-0.5, -0.368_946_415_288_656_5),
            (2.0, -3.783_184_333_682_032),
            (4.999, -15.059_812_373_671_576),
            (5.001, -15.070_185_381_609_44),
            (12.0, -75.410_673_001_568_8),
            (40.0, -804.608_442_013_754_3),
        ] {
            assert_relative_eq!(ln_normal_tail(deviate), expected, max_relative = 1e-12);
        }
    }

    /// The two ends of an interval share its probability: with the shares outside it comes to 1.
    #[test]
    fn what_lies_below_within_and_above_comes_to_one() {
        for form in ScatterForm::ALL {
            for (lower, upper) in [(-3.0, -2.0), (-0.4, 0.3), (0.5, 2.0), (1.0, 1.0001)] {
                let parts = [
                    form.ln_probability(None, Some(lower)).value,
                    form.ln_probability(Some(lower), Some(upper)).value,
                    form.ln_probability(Some(upper), None).value,
                ];
                let whole: f64 = parts.iter().map(|part| part.exp()).sum();
                assert_abs_diff_eq!(whole, 1.0, epsilon = 1e-13);
            }
        }
    }

    #[test]
    fn derivatives_agree_with_differences() {
        let step = 1e-5;
        for form in ScatterForm::ALL {
            for (lower, upper) in [
                (None, Some(-2.5)),
                (None, Some(1.2)),
                (Some(0.7), None),
                (Some(-6.0), None),
                (Some(-0.8), Some(0.4)),
                (Some(1.5), Some(1.9)),
                (Some(-9.0), Some(-7.0)),
            ] {
                let at = |shift: [f64; 2]| {
                    form.ln_probability(lower.map(|z| z + shift[0]), upper.map(|z| z + shift[1]))
                };
                let found = at([0.0, 0.0]);
                for end in 0..2 {
                    let mut up = [0.0; 2];
                    up[end] = step;
                    let down = up.map(|shift| -shift);
                    let slope = (at(up).value - at(down).value) / (2.0 * step);
                    assert_abs_diff_eq!(
                        found.slope[end],
                        slope,
                        epsilon = 1e-7 * (1.0 + slope.abs())
                    );
                    for other in 0..2 {
                        let second = (at(up).slope[other] - at(down).slope[other]) / (2.0 * step);
                        let ours = found.curvature[end + other];
                        assert_abs_diff_eq!(ours, second, epsilon = 1e-7 * (1.0 + second.abs()));
                    }
                }
            }
        }
    }
}
