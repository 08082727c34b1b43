//! Thickening on standing: how the reading goes on rising after cooling.

use super::arrhenius::ArrheniusRate;
use crate::thermal::relative_rate;

/// Course of the logarithm of a reading while the gel stands.
///
/// # Equation
/// - Levels off: `ln P(t_s) = ln P(0) + B [1 - exp(-k_s(T_s) t_s)]`, with
///   `k_s(T_s) = k_ref exp[-(E/R)(1/T_s - 1/T_ref)]`.
/// - Slope: `ln P(t_s) = ln P(0) + S(T_s) t_s`, `S` over temperature as `k_s`. It is the beginning of the
///   former, `S = B k_s`, and all that readings tell which do not level off.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | t_s | `stand_time_s` | s |
/// | T_s | `stand_temp_kelvin` | K |
/// | B | `gain_ln_ratio` | 1 |
/// | k_ref, E, T_ref | `rate` | 1/s, J/mol, K |
/// | S | `slope_ref_per_s` at `reference_kelvin` | 1/s |
///
/// # Valid for
/// The standing times and storage temperatures that were measured, at rest. The slope says nothing
/// beyond the longest time: a gel that thickens without end is none. `B` is taken as the same at every
/// storage temperature and for every heat time.
///
/// # Source
/// First-order build-up of a structure at rest: F. Moore, Trans. Br. Ceram. Soc. 58 (1959) 470 (from
/// memory). That the logarithm of the reading follows it: common practice, no source.
///
/// # Example
/// A published first-order rise: uptake of calcium, `4.309365 [1 - exp(-0.208478 t)]`, t in min
/// (Davison & Hinkley 1997, example 7.7, refitted by R); half of it is there after
/// `ln 2/0.208478` = 3.3248 min.
/// ```
/// use heatset::kinetics::{ArrheniusRate, StandingCourse};
/// let rise = StandingCourse::LevelsOff {
///     gain_ln_ratio: 4.309365,
///     rate: ArrheniusRate {
///         rate_ref_per_s: 0.208478 / 60.0,
///         activation_energy_j_per_mol: 0.0,
///         reference_kelvin: 310.15,
///     },
/// };
/// let half = rise.ln_ratio(310.15, 3.3248 * 60.0);
/// approx::assert_abs_diff_eq!(half, 4.309365 / 2.0, epsilon = 1e-4);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum StandingCourse {
    /// Rises to a level of its own.
    LevelsOff {
        /// Logarithm of the reading after endless standing over that at its beginning.
        gain_ln_ratio: f64,
        /// Rate over storage temperature.
        rate: ArrheniusRate,
    },
    /// Rises in proportion to the time, as far as anybody looked.
    Slope {
        /// Slope of the logarithm at the reference temperature, in 1/s; below zero the gel softens.
        slope_ref_per_s: f64,
        /// Activation energy of the slope, in J/mol.
        activation_energy_j_per_mol: f64,
        /// Reference temperature, in K.
        reference_kelvin: f64,
    },
}

impl StandingCourse {
    /// Logarithm of the reading after standing over that at its beginning.
    #[must_use]
    pub fn ln_ratio(&self, stand_temp_kelvin: f64, stand_time_s: f64) -> f64 {
        match self {
            Self::LevelsOff {
                gain_ln_ratio,
                rate,
            } => -gain_ln_ratio * (-rate.rate_per_s(stand_temp_kelvin) * stand_time_s).exp_m1(),
            Self::Slope { .. } => self.slope_per_s(stand_temp_kelvin) * stand_time_s,
        }
    }

    /// Standing time at which the logarithm has risen so far, in s: 0 at and below no rise, infinite
    /// where it never does.
    ///
    /// # Equation
    /// `t_s = -ln(1 - L/B)/k_s`, or `L/S`
    #[must_use]
    pub fn stand_time_for_ln_ratio_s(&self, stand_temp_kelvin: f64, ln_ratio: f64) -> f64 {
        if ln_ratio.is_nan() {
            return f64::NAN;
        }
        if ln_ratio <= 0.0 {
            return 0.0;
        }
        match self {
            Self::LevelsOff {
                gain_ln_ratio,
                rate,
            } => {
                let rate_per_s = rate.rate_per_s(stand_temp_kelvin);
                if *gain_ln_ratio <= ln_ratio || rate_per_s <= 0.0 {
                    f64::INFINITY
                } else {
                    -(-ln_ratio / gain_ln_ratio).ln_1p() / rate_per_s
                }
            }
            Self::Slope { .. } => {
                let slope_per_s = self.slope_per_s(stand_temp_kelvin);
                if slope_per_s > 0.0 {
                    ln_ratio / slope_per_s
                } else {
                    f64::INFINITY
                }
            }
        }
    }

    /// Slope of the logarithm at the beginning of standing, in 1/s.
    #[must_use]
    pub fn slope_per_s(&self, stand_temp_kelvin: f64) -> f64 {
        match self {
            Self::LevelsOff {
                gain_ln_ratio,
                rate,
            } => gain_ln_ratio * rate.rate_per_s(stand_temp_kelvin),
            Self::Slope {
                slope_ref_per_s,
                activation_energy_j_per_mol,
                reference_kelvin,
            } => {
                slope_ref_per_s
                    * relative_rate(
                        stand_temp_kelvin,
                        *reference_kelvin,
                        *activation_energy_j_per_mol,
                    )
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    fn levels_off(gain: f64, rate_ref_per_s: f64, energy: f64) -> StandingCourse {
        StandingCourse::LevelsOff {
            gain_ln_ratio: gain,
            rate: ArrheniusRate {
                rate_ref_per_s,
                activation_energy_j_per_mol: energy,
                reference_kelvin: 285.15,
            },
        }
    }

    proptest! {
        #[test]
        fn the_time_of_a_rise_is_its_inverse(
            gain in 0.05_f64..3.0, share in 0.001_f64..0.99, hours in 0.2_f64..100.0,
            celsius in 2.0_f64..25.0, energy in 0.0_f64..120e3,
        ) {
            let course = levels_off(gain, 1.0 / (3600.0 * hours), energy);
            let kelvin = celsius + 273.15;
            let time = course.stand_time_for_ln_ratio_s(kelvin, share * gain);
            prop_assert!((course.ln_ratio(kelvin, time) - share * gain).abs() < 1e-9);
        }

        /// The slope is the beginning of the course that levels off.
        #[test]
        fn a_slow_course_with_a_great_gain_is_a_slope(celsius in 2.0_f64..25.0) {
            let (rate, energy) = (1e-6, 50e3);
            let far = levels_off(1e4, rate / 1e4, energy);
            let slope = StandingCourse::Slope {
                slope_ref_per_s: rate,
                activation_energy_j_per_mol: energy,
                reference_kelvin: 285.15,
            };
            let kelvin = celsius + 273.15;
            let (a, b) = (far.ln_ratio(kelvin, 3e5), slope.ln_ratio(kelvin, 3e5));
            prop_assert!((a / b - 1.0).abs() < 1e-3, "{a} {b}");
        }
    }

    #[test]
    fn a_gel_that_levels_off_under_the_rise_asked_for_never_gets_there() {
        let course = levels_off(0.5, 1e-4, 60e3);
        assert_eq!(course.stand_time_for_ln_ratio_s(277.15, 0.5), f64::INFINITY);
        assert_eq!(course.stand_time_for_ln_ratio_s(277.15, 0.0), 0.0);
        assert_eq!(course.stand_time_for_ln_ratio_s(277.15, -0.1), 0.0);
        let softens = levels_off(-0.5, 1e-4, 60e3);
        assert_eq!(
            softens.stand_time_for_ln_ratio_s(277.15, 0.1),
            f64::INFINITY
        );
    }

    /// By hand: at the reference temperature half is there after ln 2/k.
    #[test]
    fn half_times_go_with_the_inverse_rates() {
        let course = levels_off(0.7, 2e-5, 80e3);
        let half = |kelvin| course.stand_time_for_ln_ratio_s(kelvin, 0.35);
        let ratio = relative_rate(295.15, 277.15, 80e3);
        assert_relative_eq!(half(277.15) / half(295.15), ratio, max_relative = 1e-12);
        assert_relative_eq!(
            half(285.15),
            std::f64::consts::LN_2 / 2e-5,
            max_relative = 1e-12
        );
    }
}
