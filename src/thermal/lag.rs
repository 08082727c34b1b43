//! First-order warm-up: the gel nears the block's temperature with one time constant.

use super::dose_clock::DoseClock;
use super::even_clock::EvenClock;
use super::temperature_history::TemperatureHistory;

/// A gel whose temperature lags behind the block by one time constant.
///
/// # Equation
/// `T(t) = T_set - (T_set - T_start) exp(-t/tau)`
///
/// With `w = exp(-s/tau)` the heat dose becomes a smooth integral over a finite range,
/// `theta(t) = f(T_set) [ t - tau G ]`, `G = integral from exp(-t/tau) to 1 of (1 - exp(-x(w)))/w dw`,
/// `x(w) = (E/R) (T_set - T_start) w / (T(w) T_set)`, `f` the relative rate.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | tau | `time_constant_s` | s |
/// | T_start | `start_kelvin` | K |
///
/// # Valid for
/// A body so small or so well stirred inside that its own temperature is even (Biot number under
/// about 0.1); in a wider syringe it is an average. The quadrature is exact to 1e-8 for
/// `(E/R)(1/T_start - 1/T_set)` up to 100, which no protein between 0 and 100 °C exceeds.
///
/// # Source
/// F. Incropera, D. DeWitt, Fundamentals of Heat and Mass Transfer, lumped capacitance method
/// (eq. 5.6, from memory).
///
/// # Example
/// From 25 °C into a block at 70 °C with tau = 120 s, E = 390 kJ/mol: 900 s on the clock are a
/// heat dose of 484.70 s at 70 °C (value from an independent quadrature, SciPy).
/// ```
/// use heatset::thermal::{TemperatureHistory, WarmUpLag};
/// let lag = WarmUpLag { time_constant_s: 120.0, start_kelvin: 298.15 };
/// let dose = lag.heat_dose(343.15, 900.0, 390_000.0, 343.15);
/// approx::assert_abs_diff_eq!(dose.dose_s, 484.70, epsilon = 0.005);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WarmUpLag {
    /// Time constant of the warm-up, in s.
    pub time_constant_s: f64,
    /// Temperature of the gel when it goes into the block, in K.
    pub start_kelvin: f64,
}

impl TemperatureHistory for WarmUpLag {
    fn temperature_kelvin(&self, set_kelvin: f64, clock_time_s: f64) -> f64 {
        set_kelvin - (set_kelvin - self.start_kelvin) * (-clock_time_s / self.time_constant_s).exp()
    }

    fn dose_clock(
        &self,
        set_kelvin: f64,
        activation_energy_j_per_mol: f64,
        reference_kelvin: f64,
    ) -> DoseClock {
        DoseClock::Even(EvenClock::new(
            Some(*self),
            set_kelvin,
            activation_energy_j_per_mol,
            reference_kelvin,
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::thermal::relative_rate;
    use approx::assert_relative_eq;

    /// Composite Simpson in time: slow, plain, and independent of the substitution above.
    fn dose_by_simpson_s(
        lag: WarmUpLag,
        set: f64,
        time_s: f64,
        energy: f64,
        reference: f64,
    ) -> f64 {
        let steps = 40_000;
        let step_s = time_s / f64::from(steps);
        let rate = |t: f64| relative_rate(lag.temperature_kelvin(set, t), reference, energy);
        let mut sum = rate(0.0) + rate(time_s);
        for i in 1..steps {
            sum += rate(f64::from(i) * step_s) * if i % 2 == 1 { 4.0 } else { 2.0 };
        }
        sum * step_s / 3.0
    }

    #[test]
    fn the_dose_agrees_with_simpson_to_1e_8_over_the_whole_range() {
        for energy in [50e3, 150e3, 390e3, 600e3, 900e3] {
            for set in [333.15, 353.15, 371.15] {
                for start in [277.15, 295.15, 310.15] {
                    for time_s in [5.0, 60.0, 400.0, 3000.0] {
                        let lag = WarmUpLag {
                            time_constant_s: 45.0,
                            start_kelvin: start,
                        };
                        let ours = lag.heat_dose(set, time_s, energy, 353.15).dose_s;
                        let plain = dose_by_simpson_s(lag, set, time_s, energy, 353.15);
                        // A dose is compared with the clock's: early doses are all but nothing.
                        let scale = plain.max(1e-6 * time_s * relative_rate(set, 353.15, energy));
                        assert!(
                            ((ours - plain) / scale).abs() < 1e-8,
                            "E {energy} set {set} start {start} t {time_s}: {ours} against {plain}"
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn derivatives_agree_with_differences() {
        let at = |tau: f64, energy: f64| {
            WarmUpLag {
                time_constant_s: tau,
                start_kelvin: 295.15,
            }
            .heat_dose(359.15, 150.0, energy, 351.15)
        };
        let dose = at(40.0, 260e3);
        let by_energy = (at(40.0, 260e3 + 10.0).dose_s - at(40.0, 260e3 - 10.0).dose_s) / 20.0;
        let by_lag = (at(40.001, 260e3).dose_s - at(39.999, 260e3).dose_s) / 0.002;
        assert_relative_eq!(
            dose.by_activation_energy_s_mol_per_j,
            by_energy,
            max_relative = 1e-6
        );
        assert_relative_eq!(dose.by_lag_ratio, by_lag, max_relative = 1e-6);
    }

    #[test]
    fn the_clock_for_a_dose_gives_back_the_dose() {
        let lag = WarmUpLag {
            time_constant_s: 70.0,
            start_kelvin: 293.15,
        };
        for dose_s in [0.05, 0.5, 30.0, 900.0] {
            let clock_s = lag.clock_time_for_dose_s(363.15, dose_s, 300e3, 353.15);
            let back = lag.heat_dose(363.15, clock_s, 300e3, 353.15).dose_s;
            assert_relative_eq!(back, dose_s, max_relative = 1e-9);
        }
    }

    #[test]
    fn a_very_short_lag_is_isothermal() {
        let lag = WarmUpLag {
            time_constant_s: 1e-9,
            start_kelvin: 293.15,
        };
        assert_relative_eq!(
            lag.heat_dose(353.15, 100.0, 300e3, 353.15).dose_s,
            100.0,
            max_relative = 1e-9
        );
    }
}
