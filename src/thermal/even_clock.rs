//! Heat dose over clock time of a gel of one temperature throughout: at the block's from the first
//! moment, or lagging behind it.

use super::lag::WarmUpLag;
use super::quadrature::legendre_rule;
use super::temperature_history::{HeatDose, relative_rate};
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;

/// Clock and dose at one set temperature and activation energy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EvenClock {
    set_kelvin: f64,
    reference_kelvin: f64,
    activation_energy_j_per_mol: f64,
    /// Relative rate at the set temperature.
    set_rate: f64,
    lag: Option<LagPart>,
}

/// The part of the lag that depends on no time.
#[derive(Debug, Clone, Copy, PartialEq)]
struct LagPart {
    lag: WarmUpLag,
    /// `E/R`, in K.
    energy_kelvin: f64,
    rise_kelvin: f64,
    /// Integral of the deficit over the whole warm-up, and its derivative by `E/R`.
    whole: [f64; 2],
}

impl EvenClock {
    /// For a gel at the set temperature from the first moment, or one that lags.
    #[must_use]
    pub fn new(
        lag: Option<WarmUpLag>,
        set_kelvin: f64,
        activation_energy_j_per_mol: f64,
        reference_kelvin: f64,
    ) -> Self {
        Self {
            set_kelvin,
            reference_kelvin,
            activation_energy_j_per_mol,
            set_rate: relative_rate(set_kelvin, reference_kelvin, activation_energy_j_per_mol),
            lag: lag.map(|lag| {
                let mut part = LagPart {
                    lag,
                    energy_kelvin: activation_energy_j_per_mol / GAS_CONSTANT_J_PER_MOL_K,
                    rise_kelvin: set_kelvin - lag.start_kelvin,
                    whole: [0.0; 2],
                };
                part.whole = part.integral(set_kelvin, 0.0, 1.0);
                part
            }),
        }
    }

    /// Heat dose after a clock time, with its derivatives.
    #[must_use]
    pub fn dose(&self, clock_time_s: f64) -> HeatDose {
        let inverse_temperature_difference = 1.0 / self.set_kelvin - 1.0 / self.reference_kelvin;
        let Some(part) = &self.lag else {
            let dose_s = clock_time_s * self.set_rate;
            return HeatDose {
                dose_s,
                by_activation_energy_s_mol_per_j: -dose_s * inverse_temperature_difference
                    / GAS_CONSTANT_J_PER_MOL_K,
                by_lag_ratio: 0.0,
            };
        };
        let tau_s = part.lag.time_constant_s;
        let remaining = (-clock_time_s / tau_s).exp();
        let [integral, integral_by_energy] = part.integral_from(self.set_kelvin, remaining);
        let dose_s = self.set_rate * (clock_time_s - tau_s * integral);
        let edge = part.deficit(self.set_kelvin, remaining)[0];
        HeatDose {
            dose_s,
            by_activation_energy_s_mol_per_j: (-inverse_temperature_difference * dose_s
                - self.set_rate * tau_s * integral_by_energy)
                / GAS_CONSTANT_J_PER_MOL_K,
            by_lag_ratio: -self.set_rate * (integral - edge * remaining * clock_time_s / tau_s),
        }
    }

    /// Heat dose after a clock time alone, in s.
    #[must_use]
    pub fn dose_s(&self, clock_time_s: f64) -> f64 {
        match &self.lag {
            None => clock_time_s * self.set_rate,
            Some(_) => self.dose(clock_time_s).dose_s,
        }
    }

    /// Clock time at which the dose is reached, in s; 0 for none, infinite where it never is.
    ///
    /// Newton's method inside a bracket: the dose rises with the clock, and its slope is the
    /// relative rate at that moment's temperature.
    #[must_use]
    pub fn clock_time_s(&self, dose_s: f64) -> f64 {
        if dose_s <= 0.0 {
            return 0.0;
        }
        let at_set_temperature_s = dose_s / self.set_rate;
        let Some(part) = &self.lag else {
            return at_set_temperature_s;
        };
        if !at_set_temperature_s.is_finite() {
            return f64::INFINITY;
        }
        let tau_s = part.lag.time_constant_s;
        let (mut below_s, mut above_s) = (0.0, f64::INFINITY);
        // After the whole warm-up the dose is the clock's less a constant.
        let mut time_s = (at_set_temperature_s + tau_s * part.whole[0]).max(0.0);
        for _ in 0..200 {
            let remaining = (-time_s / tau_s).exp();
            let integral = part.integral_from(self.set_kelvin, remaining)[0];
            let excess_s = time_s - tau_s * integral - at_set_temperature_s;
            if excess_s.abs() <= 1e-13 * at_set_temperature_s {
                return time_s;
            }
            if excess_s < 0.0 {
                below_s = time_s;
            } else {
                above_s = time_s;
            }
            let kelvin = self.set_kelvin - part.rise_kelvin * remaining;
            let slope = relative_rate(kelvin, self.set_kelvin, self.activation_energy_j_per_mol);
            let mut next_s = time_s - excess_s / slope;
            if !(next_s > below_s && next_s < above_s) {
                next_s = if above_s.is_finite() {
                    0.5 * (below_s + above_s)
                } else {
                    2.0 * time_s.max(tau_s)
                };
            }
            if (next_s - time_s).abs() <= 4.0 * f64::EPSILON * time_s {
                return next_s;
            }
            time_s = next_s;
        }
        time_s
    }
}

impl LagPart {
    /// `(1 - exp(-x))/w` and its derivative by `E/R` at one `w`.
    fn deficit(&self, set_kelvin: f64, w: f64) -> [f64; 2] {
        let per_w = self.rise_kelvin / ((set_kelvin - self.rise_kelvin * w) * set_kelvin);
        let exponent = self.energy_kelvin * per_w * w;
        let decayed = (-exponent).exp();
        let value = if exponent.abs() < 1e-5 {
            // Series: 1 - exp(-x) over w would lose the digits that the division brings back.
            self.energy_kelvin * per_w * (1.0 - 0.5 * exponent)
        } else if exponent.abs() < 0.1 {
            -(-exponent).exp_m1() / w
        } else {
            (1.0 - decayed) / w
        };
        [value, decayed * per_w]
    }

    /// Integral of the deficit over `w` from `low` to `high`, and its derivative by `E/R`.
    fn integral(&self, set_kelvin: f64, low: f64, high: f64) -> [f64; 2] {
        let exponent = |w: f64| {
            self.energy_kelvin * self.rise_kelvin * w
                / ((set_kelvin - self.rise_kelvin * w) * set_kelvin)
        };
        let range = (exponent(high) - exponent(low)).abs();
        let width = high - low;
        let mut sums = [0.0; 2];
        for (node, weight) in legendre_rule(range) {
            let parts = self.deficit(set_kelvin, low + width * node);
            sums[0] += weight * parts[0];
            sums[1] += weight * parts[1];
        }
        [sums[0] * width, sums[1] * width]
    }

    /// The same from `remaining` to 1: what is left out of the whole is the shorter piece once the
    /// gel is nearly warm.
    fn integral_from(&self, set_kelvin: f64, remaining: f64) -> [f64; 2] {
        if remaining > 0.05 {
            return self.integral(set_kelvin, remaining, 1.0);
        }
        let rest = self.integral(set_kelvin, 0.0, remaining);
        [self.whole[0] - rest[0], self.whole[1] - rest[1]]
    }
}
