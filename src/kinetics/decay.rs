//! First-order decay of many rows at once: the exponential that nearly every fit spends its time in.

use pulp::Arch;

/// Largest rate times dose that is told from infinity: `exp(-708)` is the last normal double.
const LARGEST_RATE_DOSE: f64 = 708.0;

/// Writes the unset fraction of a first-order reaction for many doses, and caps the rate doses
/// where nothing that a double can hold is left.
///
/// # Equation
/// `u = exp(-k theta)`; with `-k theta = n ln 2 + r`, `|r| <= ln 2 / 2`, it is `2^n exp(r)`, and
/// `exp(r)` is its Taylor polynomial of degree 12, whose remainder is under `2e-16`.
///
/// | symbol | argument | unit | shape |
/// |---|---|---|---|
/// | k theta | `rate_doses` | 1 | one a row |
/// | u | `unset` | 1 | one a row |
///
/// # Valid for
/// Rate doses of 0 or more; relative error under 5e-16. Beyond 708 the result stays at `exp(-708)`,
/// 3e-308. Not-a-number stays not-a-number. The same bits come out on every machine: only
/// additions and multiplications, never fused, in registers as wide as the processor has.
///
/// # Source
/// Reduction by two-part `ln 2`: W. Cody, W. Waite, Software Manual for the Elementary Functions
/// (1980) chapter 6 (from memory).
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
    Arch::new().dispatch(
        #[inline(always)]
        || {
            for (x, u) in rate_doses.iter_mut().zip(unset.iter_mut()) {
                // Not `min`: a rate that is not a number must not pass for a large one.
                *x = if *x > LARGEST_RATE_DOSE {
                    LARGEST_RATE_DOSE
                } else {
                    *x
                };
                *u = exponential(-*x);
            }
        },
    );
}

/// `exp(x)` for `-708 <= x <= 708` without a branch, so that the compiler takes several at a time.
#[inline(always)]
fn exponential(x: f64) -> f64 {
    /// 1.5 * 2^52: adding it leaves the nearest whole number in the last bits.
    const ROUNDER: f64 = 6_755_399_441_055_744.0;
    /// ln 2 in two parts; the first has so few digits that `n` times it is exact.
    const LN_2_HIGH: f64 = 6.931_471_803_691_238e-1;
    const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;
    let shifted = x * std::f64::consts::LOG2_E + ROUNDER;
    let n = shifted - ROUNDER;
    let r = (x - n * LN_2_HIGH) - n * LN_2_LOW;
    // Even and odd terms apart: two short chains instead of a long one.
    let s = r * r;
    let even = 1.0
        + s * (1.0 / 2.0
            + s * (1.0 / 24.0
                + s * (1.0 / 720.0
                    + s * (1.0 / 40_320.0 + s * (1.0 / 3_628_800.0 + s * (1.0 / 479_001_600.0))))));
    let odd = 1.0
        + s * (1.0 / 6.0
            + s * (1.0 / 120.0
                + s * (1.0 / 5040.0 + s * (1.0 / 362_880.0 + s * (1.0 / 39_916_800.0)))));
    let power_of_two = f64::from_bits((shifted.to_bits() << 52).wrapping_add(1023 << 52));
    (even + r * odd) * power_of_two
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the exponential of the standard library, over all that a double can tell from zero.
    #[test]
    fn it_agrees_with_the_standard_exponential_to_rounding() {
        let mut rate_doses: Vec<f64> = (0..=70_800).map(|i| f64::from(i) * 0.01).collect();
        rate_doses.extend([1e-300, 1e-17, 1e-9, 0.346_573_6, 0.346_573_5]);
        let given = rate_doses.clone();
        let mut unset = vec![0.0; given.len()];
        unset_fractions(&mut rate_doses, &mut unset);
        for (x, u) in given.iter().zip(&unset) {
            let error = (u / (-x).exp() - 1.0).abs();
            assert!(error < 5e-16, "{x}: {error:e}");
        }
    }

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
