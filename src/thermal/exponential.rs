//! Exponentials of many numbers at once: where fits and answers spend their time.

use pulp::Arch;

/// Largest size of an argument: `exp(-708)` is the last normal double.
pub(crate) const LARGEST_EXPONENT: f64 = 708.0;

/// Writes `exp(-x)` of many numbers; numbers beyond 708 count as 708, not-a-number stays so.
///
/// # Equation
/// `-x = n ln 2 + r`, `|r| <= ln 2 / 2`, `exp(-x) = 2^n exp(r)`; `exp(r)` is its Taylor polynomial
/// of degree 12, whose remainder is under `2e-16`.
///
/// # Valid for
/// `-708 <= x`; relative error under 5e-16. The same bits come out on every machine: only additions
/// and multiplications, never fused, in registers as wide as the processor has.
///
/// # Source
/// Reduction by a two-part `ln 2`: W. Cody, W. Waite, Software Manual for the Elementary Functions
/// (1980) chapter 6 (from memory).
pub(crate) fn write_decays(numbers: &[f64], decays: &mut [f64]) {
    Arch::new().dispatch(
        #[inline(always)]
        || {
            for (x, decay) in numbers.iter().zip(decays.iter_mut()) {
                // Not `min`: a number that is none must not pass for a large one.
                let x = if *x > LARGEST_EXPONENT {
                    LARGEST_EXPONENT
                } else {
                    *x
                };
                *decay = exponential(-x);
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
        let mut numbers: Vec<f64> = (-70_800..=70_800).map(|i| f64::from(i) * 0.01).collect();
        numbers.extend([1e-300, 1e-17, 1e-9, 0.346_573_6, 0.346_573_5]);
        let mut decays = vec![0.0; numbers.len()];
        write_decays(&numbers, &mut decays);
        for (x, decay) in numbers.iter().zip(&decays) {
            let error = (decay / (-x).exp() - 1.0).abs();
            assert!(error < 5e-16, "{x}: {error:e}");
        }
    }
}
