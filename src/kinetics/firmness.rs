//! Firmness laws: from conversion to the reading.

use serde::{Deserialize, Serialize};

/// How a reading follows the conversion.
///
/// # Equation
/// `log`: `ln P = ln P0 + (ln Pinf - ln P0) a`; `linear`: `P = P0 + (Pinf - P0) a`
///
/// | symbol | argument | unit |
/// |---|---|---|
/// | P0 | `initial` | that of the reading |
/// | Pinf | `plateau` | that of the reading |
/// | a | `fraction` | 1 |
///
/// # Valid for
/// `log` wants positive readings and is the choice where they span decades; `linear` serves a
/// plain first-order rise, and with a plateau of 0 a plain first-order decay.
///
/// # Source
/// `linear`: first-order rise, Levenspiel 1999 (from memory). `log`: the same on the logarithm,
/// common practice, no source.
///
/// # Example
/// With the plateau at 0 and order 1 the linear law is N2O5's first-order decay: at 338 K the
/// rate is 4.86e-3 1/s and after 300 s 0.0233 of 0.1 mol/L is left (Zumdahl, Chemistry: Atoms
/// First, 2nd ed., problem 11.87).
/// ```
/// use heatset::kinetics::{FirmnessLaw, ReactionOrder, conversion};
/// let set = conversion(ReactionOrder(1.0), 4.86e-3 * 300.0).fraction;
/// let left = FirmnessLaw::Linear.reading(0.1, 0.0, set);
/// approx::assert_relative_eq!(left, 0.0233, max_relative = 2e-3);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, PartialOrd, Ord)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum FirmnessLaw {
    /// The logarithm of the reading rises with the conversion.
    Log,
    /// The reading itself rises with the conversion.
    Linear,
}

impl FirmnessLaw {
    /// The word for it on the command line and in the document.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Log => "log",
            Self::Linear => "linear",
        }
    }

    /// Reading at a conversion, in the unit of `initial` and `plateau`.
    #[must_use]
    pub fn reading(self, initial: f64, plateau: f64, fraction: f64) -> f64 {
        match self {
            Self::Log => (initial.ln() + (plateau / initial).ln() * fraction).exp(),
            Self::Linear => initial + (plateau - initial) * fraction,
        }
    }

    /// Conversion at which the reading is reached.
    ///
    /// Below 0 where the reading lies before the beginning, 1 or more where it lies at or past
    /// the plateau; infinite where the reading does not change.
    #[must_use]
    pub fn conversion_at_reading(self, initial: f64, plateau: f64, reading: f64) -> f64 {
        let (way, whole) = match self {
            Self::Log => ((reading / initial).ln(), (plateau / initial).ln()),
            Self::Linear => (reading - initial, plateau - initial),
        };
        if whole == 0.0 {
            f64::INFINITY
        } else {
            way / whole
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
            initial in 1e-4_f64..1.0, ratio in 1.5_f64..1e5, fraction in 0.0_f64..1.0,
        ) {
            for law in [FirmnessLaw::Log, FirmnessLaw::Linear] {
                let reading = law.reading(initial, initial * ratio, fraction);
                let back = law.conversion_at_reading(initial, initial * ratio, reading);
                prop_assert!((back - fraction).abs() < 1e-9);
            }
        }
    }
}
