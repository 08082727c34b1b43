//! Firmness laws: from conversion to the reading.

use serde::{Deserialize, Serialize};

/// How a reading follows the conversion.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, PartialOrd, Ord)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum FirmnessLaw {
    /// The logarithm of the reading rises with the conversion.
    Log,
    /// The reading itself rises with the conversion.
    Linear,
    /// The reading grows without bound towards a gel point.
    GelPoint,
}

impl FirmnessLaw {
    /// The word for it on the command line and in the document.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Log => "log",
            Self::Linear => "linear",
            Self::GelPoint => "gel-point",
        }
    }
}

/// A firmness law with its numbers.
///
/// # Equation
/// `log`: `ln P = ln P0 + (ln Pinf - ln P0) a`; `linear`: `P = P0 + (Pinf - P0) a`;
/// `gel-point`: `P = P0 (1 - a/a_gel)^(-s)` for `a < a_gel`
///
/// | symbol | field | unit |
/// |---|---|---|
/// | P0 | `initial` | that of the reading |
/// | Pinf | `plateau` | that of the reading |
/// | a | argument | 1 |
/// | a_gel | `gel_conversion` | 1 |
/// | s | `gel_exponent` | 1 |
///
/// # Valid for
/// `log` and `gel-point` want positive readings, and are the choice where they span decades;
/// `linear` serves a plain first-order rise, and with a plateau of 0 a plain first-order decay.
/// The gel-point law serves readings taken before the gel point.
///
/// # Source
/// `linear`: first-order rise, O. Levenspiel, Chemical Reaction Engineering, 3rd ed. 1999 (from
/// memory). `log`: the same on the logarithm, common practice, no source. `gel-point`: D. Stauffer,
/// A. Coniglio, M. Adam, Adv. Polym. Sci. 44 (1982) 103, power law below the gel point (from
/// memory).
///
/// # Example
/// With the plateau at 0 and order 1 the linear law is N2O5's first-order decay: at 338 K the
/// rate is 4.86e-3 1/s and after 300 s 0.0233 of 0.1 mol/L is left (Zumdahl, Chemistry: Atoms
/// First, 2nd ed., problem 11.87).
/// ```
/// use heatset::kinetics::{FirmnessCurve, ReactionOrder, conversion};
/// let set = conversion(ReactionOrder(1.0), 4.86e-3 * 300.0).fraction;
/// let left = FirmnessCurve::Linear { initial: 0.1, plateau: 0.0 }.reading(set);
/// approx::assert_relative_eq!(left, 0.0233, max_relative = 2e-3);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum FirmnessCurve {
    /// Law `log`.
    Log {
        /// Reading before any heat.
        initial: f64,
        /// Reading when all has set.
        plateau: f64,
    },
    /// Law `linear`.
    Linear {
        /// Reading before any heat.
        initial: f64,
        /// Reading when all has set.
        plateau: f64,
    },
    /// Law `gel-point`.
    GelPoint {
        /// Reading before any heat.
        initial: f64,
        /// Conversion at the gel point; above 1 where it is never reached.
        gel_conversion: f64,
        /// Exponent of the divergence.
        gel_exponent: f64,
    },
}

impl FirmnessCurve {
    /// The law.
    #[must_use]
    pub fn law(&self) -> FirmnessLaw {
        match self {
            Self::Log { .. } => FirmnessLaw::Log,
            Self::Linear { .. } => FirmnessLaw::Linear,
            Self::GelPoint { .. } => FirmnessLaw::GelPoint,
        }
    }

    /// Reading before any heat.
    #[must_use]
    pub fn initial(&self) -> f64 {
        match *self {
            Self::Log { initial, .. }
            | Self::Linear { initial, .. }
            | Self::GelPoint { initial, .. } => initial,
        }
    }

    /// Reading when all has set; infinite behind a gel point.
    #[must_use]
    pub fn plateau(&self) -> f64 {
        self.reading(1.0)
    }

    /// Reading at a conversion; infinite from the gel point on.
    #[must_use]
    pub fn reading(&self, fraction: f64) -> f64 {
        match *self {
            Self::Log { initial, plateau } => {
                (initial.ln() + (plateau / initial).ln() * fraction).exp()
            }
            Self::Linear { initial, plateau } => initial + (plateau - initial) * fraction,
            Self::GelPoint {
                initial,
                gel_conversion,
                gel_exponent,
            } => {
                let left = 1.0 - fraction / gel_conversion;
                if left <= 0.0 {
                    f64::INFINITY
                } else {
                    initial * left.powf(-gel_exponent)
                }
            }
        }
    }

    /// Logarithm of [`FirmnessCurve::reading`], for many conversions of one curve.
    pub(crate) fn ln_reading(&self) -> impl Fn(f64) -> f64 + use<> {
        let curve = *self;
        let straight = match curve {
            Self::Log { initial, plateau } => Some((initial.ln(), (plateau / initial).ln())),
            Self::Linear { .. } | Self::GelPoint { .. } => None,
        };
        move |fraction| match straight {
            Some((at_start, rise)) => at_start + rise * fraction,
            None => curve.reading(fraction).ln(),
        }
    }

    /// Conversion at which the reading is reached.
    ///
    /// Below 0 where the reading lies before the beginning, 1 or more where it lies at or past
    /// the plateau; infinite where the reading does not change.
    #[must_use]
    pub fn conversion_at_reading(&self, reading: f64) -> f64 {
        let ratio = |way: f64, whole: f64| {
            if whole == 0.0 {
                f64::INFINITY
            } else {
                way / whole
            }
        };
        match *self {
            Self::Log { initial, plateau } => {
                ratio((reading / initial).ln(), (plateau / initial).ln())
            }
            Self::Linear { initial, plateau } => ratio(reading - initial, plateau - initial),
            Self::GelPoint {
                initial,
                gel_conversion,
                gel_exponent,
            } => gel_conversion * -((initial / reading).ln() / gel_exponent).exp_m1(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_conversion_of_a_reading_is_its_inverse(
            initial in 1e-4_f64..1.0, ratio in 1.5_f64..1e5, fraction in 0.0_f64..0.99,
        ) {
            let plateau = initial * ratio;
            for curve in [
                FirmnessCurve::Log { initial, plateau },
                FirmnessCurve::Linear { initial, plateau },
                FirmnessCurve::GelPoint { initial, gel_conversion: 1.0, gel_exponent: 1.7 },
            ] {
                let back = curve.conversion_at_reading(curve.reading(fraction));
                prop_assert!((back - fraction).abs() < 1e-9);
            }
        }

        /// A gel point far out of reach is the log law: (1 - a/g)^(-s) nears exp(s a/g).
        #[test]
        fn a_gel_point_far_away_is_the_log_law(fraction in 0.0_f64..1.0, rise in 0.5_f64..9.0) {
            let far = 1e7;
            let gel = FirmnessCurve::GelPoint {
                initial: 2e-3, gel_conversion: far, gel_exponent: rise * far,
            };
            let log = FirmnessCurve::Log { initial: 2e-3, plateau: 2e-3 * rise.exp() };
            prop_assert!((gel.reading(fraction) / log.reading(fraction) - 1.0).abs() < 1e-5);
        }
    }
}
