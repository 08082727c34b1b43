//! First-order decay of many rows at once: the exponential that nearly every fit spends its time in.

use crate::thermal::{LARGEST_EXPONENT, write_decays};

/// Writes the unset fraction of a first-order reaction for many doses, and caps the rate doses
/// where nothing that a double can hold is left.
///
/// # Equation
/// `u = exp(-k theta)`
///
/// | symbol | argument | unit | shape |
/// |---|---|---|---|
/// | k theta | `rate_doses` | 1 | one a row |
/// | u | `unset` | 1 | one a row |
///
/// # Valid for
/// Rate doses of 0 or more; relative error under 5e-16. Beyond 708 the result stays at `exp(-708)`,
/// 3e-308. Not-a-number stays not-a-number.
///
/// # Example
/// `exp(-1)` = 0.36787944117144233 (Abramowitz and Stegun, table 4.4, from memory).
/// ```
/// let mut rate_doses = [0.0, 1.0];
/// let mut unset = [0.0; 2];
/// heatset::kinetics::unset_fractions(&mut rate_doses, &mut unset);
/// assert_eq!(unset[0], 1.0);
/// approx::assert_relative_eq!(unset[1], 0.367_879_441_171_442_33, max_relative = 5e-16);
/// ```
pub fn unset_fractions(rate_doses: &mut [f64], unset: &mut [f64]) {
    for x in rate_doses.iter_mut() {
        // Not `min`: a rate that is not a number must not pass for a large one. Written in any
        // case, so that the compiler takes several at a time.
        *x = if *x > LARGEST_EXPONENT {
            LARGEST_EXPONENT
        } else {
            *x
        };
    }
    write_decays(rate_doses, unset);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_rate_dose_is_too_large_and_none_that_is_not_a_number_is_hidden() {
        let mut rate_doses = [f64::INFINITY, 1e300, 709.0, f64::NAN];
        let mut unset = [0.5; 4];
        unset_fractions(&mut rate_doses, &mut unset);
        assert!(unset[..3].iter().all(|u| *u > 0.0 && *u < 1e-306));
        assert!(rate_doses[..3].iter().all(|x| *x == 708.0));
        assert!(unset[3].is_nan() && rate_doses[3].is_nan());
    }
}
