//! The whole way from clock time in the block to the reading.

use super::arrhenius::ArrheniusRate;
use super::conversion::{ReactionOrder, conversion, rate_dose_for_conversion};
use super::firmness::FirmnessCurve;
use crate::thermal::{DoseClock, TemperatureHistory, WarmUp, relative_rate, warmed_clock_time_s};

/// A mean conversion that is complete, to the rounding of its sum.
const COMPLETE: f64 = 1.0 - 4.0 * f64::EPSILON;
/// A rate dose after which nothing is left that could set, whatever the order.
const MOST_RATE_DOSE: f64 = 1e18;

/// Setting of one blend: history, rate, order, dose lag and firmness law.
///
/// # Equation
/// `P(t) = law(a)`, `a = sum over shells of v_i conversion(k_ref max(0, theta_i(t) - theta_lag))`,
/// `v_i` the shares of the volume. Under the `log` law the reading is then the mean of `ln P` over
/// the volume: a needle mixes the column.
///
/// # Valid for
/// A gel that is even, or set unevenly under the `log` law; under the others the mean conversion
/// stands in for the mean of `ln P`, which is near as long as the shells are.
#[derive(Debug, Clone, PartialEq)]
pub struct SettingModel {
    /// Firmness law with its numbers, readings in SI (or their own unit).
    pub firmness: FirmnessCurve,
    /// Order of the setting reaction.
    pub order: ReactionOrder,
    /// Rate over temperature.
    pub rate: ArrheniusRate,
    /// Heat dose before setting begins, at the reference temperature, in s.
    pub dose_lag_s: f64,
    /// Warm-up of the gel in the block.
    pub warm_up: WarmUp,
}

impl SettingModel {
    /// Fraction set after `clock_time_s` in a block set to `set_kelvin`: where the gel is not even, the
    /// mean over what leaves the barrel together; where it is not alike along the barrel, of the
    /// firmest slice.
    #[must_use]
    pub fn conversion(&self, set_kelvin: f64, clock_time_s: f64) -> f64 {
        self.conversion_on(&self.dose_clock(set_kelvin), clock_time_s)
    }

    /// Least and greatest fraction set in any part of the gel.
    #[must_use]
    pub fn conversion_extremes(&self, set_kelvin: f64, clock_time_s: f64) -> [f64; 2] {
        let clock = self.dose_clock(set_kelvin);
        (0..clock.shares().len())
            .map(|shell| self.conversion_at_dose(clock.shell_dose(shell, clock_time_s).dose_s))
            .fold([1.0, 0.0], |[low, high], a| [a.min(low), a.max(high)])
    }

    /// Share of the gel that is set less than half as far as [`SettingModel::conversion`] says.
    #[must_use]
    pub fn unset_share(&self, set_kelvin: f64, clock_time_s: f64) -> f64 {
        let clock = self.dose_clock(set_kelvin);
        let half = 0.5 * self.conversion_on(&clock, clock_time_s);
        clock
            .shares()
            .iter()
            .enumerate()
            .filter(|(shell, _)| {
                self.conversion_at_dose(clock.shell_dose(*shell, clock_time_s).dose_s) < half
            })
            .map(|(_, share)| share)
            .sum()
    }

    /// Dose over the clock at one set temperature, for many questions about it.
    #[must_use]
    pub fn dose_clock(&self, set_kelvin: f64) -> DoseClock {
        self.warm_up.dose_clock(
            set_kelvin,
            self.rate.activation_energy_j_per_mol,
            self.rate.reference_kelvin,
        )
    }

    /// Fraction set after a heat dose at the reference temperature.
    #[must_use]
    pub fn conversion_at_dose(&self, dose_s: f64) -> f64 {
        let counted_s = (dose_s - self.dose_lag_s).max(0.0);
        conversion(self.order, self.rate.rate_ref_per_s * counted_s).fraction
    }

    /// Mean over the slice that is set farthest: what leaves the barrel together is mixed, and the
    /// push must pass the firmest.
    ///
    /// On a clock of [`SettingModel::dose_clock`].
    #[must_use]
    pub fn conversion_on(&self, clock: &DoseClock, clock_time_s: f64) -> f64 {
        let size = clock.shells_of_slice().max(1);
        clock
            .shares()
            .chunks(size)
            .enumerate()
            .map(|(slice, shares)| {
                let set: f64 = shares
                    .iter()
                    .enumerate()
                    .map(|(shell, share)| {
                        let dose = clock.shell_dose(slice * size + shell, clock_time_s);
                        share * self.conversion_at_dose(dose.dose_s)
                    })
                    .sum();
                set / shares.iter().sum::<f64>().max(f64::MIN_POSITIVE)
            })
            .fold(0.0, f64::max)
    }

    /// Reading at a conversion.
    #[must_use]
    pub fn reading_at_conversion(&self, fraction: f64) -> f64 {
        self.firmness.reading(fraction)
    }

    /// Reading after `clock_time_s` in a block set to `set_kelvin`.
    #[must_use]
    pub fn reading(&self, set_kelvin: f64, clock_time_s: f64) -> f64 {
        self.reading_at_conversion(self.conversion(set_kelvin, clock_time_s))
    }

    /// Clock time at which a conversion is reached, in s: 0 at and below none, infinite at full
    /// conversion and beyond.
    #[must_use]
    pub fn clock_time_for_conversion_s(&self, set_kelvin: f64, fraction: f64) -> f64 {
        if fraction.is_nan() {
            return f64::NAN;
        }
        if fraction <= 0.0 {
            return 0.0;
        }
        let rate_dose = rate_dose_for_conversion(self.order, fraction);
        if rate_dose.is_infinite() {
            return f64::INFINITY;
        }
        let dose_s = rate_dose / self.rate.rate_ref_per_s + self.dose_lag_s;
        let clock = self.dose_clock(set_kelvin);
        if clock.shares().len() == 1 {
            return clock.clock_time_s(dose_s);
        }
        // The rate dose that an even gel would need for the mean conversion rises evenly with the clock
        // once all is warm, as the conversion itself does not.
        let slope_per_s = self.rate.rate_ref_per_s
            * relative_rate(
                set_kelvin,
                self.rate.reference_kelvin,
                self.rate.activation_energy_j_per_mol,
            );
        warmed_clock_time_s(
            |time_s| {
                let set = self.conversion_on(&clock, time_s);
                let set = if set >= COMPLETE { 1.0 } else { set };
                // Complete: as far past any wish as a number can say and still be reckoned with.
                rate_dose_for_conversion(self.order, set).min(MOST_RATE_DOSE) - rate_dose
            },
            rate_dose / slope_per_s,
            slope_per_s,
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_clock_time_of_a_conversion_is_its_inverse(
            fraction in 0.001_f64..0.999, celsius in 65.0_f64..95.0, tau in 0.0_f64..120.0,
            dose_lag_s in 0.0_f64..200.0,
        ) {
            let warm_up = if tau < 1.0 {
                WarmUp::None
            } else {
                WarmUp::lag(tau, 295.15).unwrap()
            };
            let setting = SettingModel {
                firmness: FirmnessCurve::Log { initial: 1.6e-3, plateau: 5.0 },
                order: ReactionOrder(1.0),
                rate: ArrheniusRate {
                    rate_ref_per_s: 2e-3,
                    activation_energy_j_per_mol: 280e3,
                    reference_kelvin: 353.15,
                },
                dose_lag_s,
                warm_up,
            };
            let set = celsius + 273.15;
            let time = setting.clock_time_for_conversion_s(set, fraction);
            prop_assert!((setting.conversion(set, time) - fraction).abs() < 1e-9);
        }
    }
}
