//! Heat dose over clock time at one set temperature, with all that does not depend on time done
//! once.

use super::dose_table::TabledClock;
use super::even_clock::EvenClock;
use super::sampled_clock::SampledClock;
use super::temperature_history::HeatDose;

/// Clock and dose at one set temperature and activation energy.
///
/// A gel in a wide barrel is hotter at the wall than in the middle: it is told apart in shells of
/// stated shares of the volume, each with a dose of its own. An even gel is one shell.
#[derive(Debug, Clone, PartialEq)]
pub enum DoseClock {
    /// One temperature throughout.
    Even(EvenClock),
    /// Shells with a temperature each.
    Sampled(Box<SampledClock>),
    /// The same, from a table; its doses come without derivatives (not a number).
    Tabled(TabledClock),
}

impl DoseClock {
    /// Share of the volume of each shell; they add up to 1.
    #[must_use]
    pub fn shares(&self) -> &[f64] {
        match self {
            Self::Even(_) => &[1.0],
            Self::Sampled(clock) => clock.shares(),
            Self::Tabled(clock) => clock.shares(),
        }
    }

    /// Number of shells that leave the barrel together, one slice after the other.
    #[must_use]
    pub fn shells_of_slice(&self) -> usize {
        match self {
            Self::Even(_) => 1,
            Self::Sampled(clock) => clock.shells_of_slice(),
            Self::Tabled(clock) => clock.shells_of_slice(),
        }
    }

    /// Heat dose of one shell after a clock time, with its derivatives.
    #[must_use]
    pub fn shell_dose(&self, shell: usize, clock_time_s: f64) -> HeatDose {
        match self {
            Self::Even(clock) => clock.dose(clock_time_s),
            Self::Sampled(clock) => clock.dose(shell, clock_time_s),
            Self::Tabled(clock) => HeatDose {
                dose_s: clock.dose_s(shell, clock_time_s),
                by_activation_energy_s_mol_per_j: f64::NAN,
                by_lag_ratio: 0.0,
            },
        }
    }

    /// Heat dose after a clock time, with its derivatives: the mean over the volume.
    #[must_use]
    pub fn dose(&self, clock_time_s: f64) -> HeatDose {
        match self {
            Self::Even(clock) => clock.dose(clock_time_s),
            Self::Sampled(_) | Self::Tabled(_) => {
                let mut mean = HeatDose::default();
                for (shell, share) in self.shares().iter().enumerate() {
                    let dose = self.shell_dose(shell, clock_time_s);
                    mean.dose_s += share * dose.dose_s;
                    mean.by_activation_energy_s_mol_per_j +=
                        share * dose.by_activation_energy_s_mol_per_j;
                }
                mean
            }
        }
    }

    /// Heat dose after a clock time alone, in s: the mean over the volume.
    #[must_use]
    pub fn dose_s(&self, clock_time_s: f64) -> f64 {
        match self {
            Self::Even(clock) => clock.dose_s(clock_time_s),
            Self::Sampled(_) | Self::Tabled(_) => self.dose(clock_time_s).dose_s,
        }
    }

    /// Clock time at which the mean dose is reached, in s; 0 for none, infinite where it never is.
    #[must_use]
    pub fn clock_time_s(&self, dose_s: f64) -> f64 {
        match self {
            Self::Even(clock) => clock.clock_time_s(dose_s),
            Self::Sampled(_) | Self::Tabled(_) => {
                rising_clock_time_s(|time_s| self.dose(time_s).dose_s - dose_s, dose_s)
            }
        }
    }
}

/// Longest clock time that is looked at, in s: four months.
const LONGEST_S: f64 = 1e7;

/// Clock time at which something that rises with the clock passes zero: 0 where it is there from the
/// first moment, infinite where four months do not reach it. Bracketed by doubling from `scale_s`,
/// then by [`root_between`].
pub(crate) fn rising_clock_time_s(excess: impl Fn(f64) -> f64, scale_s: f64) -> f64 {
    let low = (0.0, excess(0.0));
    if low.1 >= 0.0 {
        return 0.0;
    }
    let first_s = if scale_s.is_finite() {
        scale_s.clamp(1.0, LONGEST_S)
    } else {
        1.0
    };
    rising_from(&excess, low, first_s, None)
}

/// The same for something that rises by no more than `slope_per_s` and mostly by that, such as the rate
/// dose of a gel that warms up: from a time that is too short by the warm-up alone, a step at that slope
/// ends just short of the root, and a secant past it.
pub(crate) fn warmed_clock_time_s(
    excess: impl Fn(f64) -> f64,
    without_warm_up_s: f64,
    slope_per_s: f64,
) -> f64 {
    let start_s = without_warm_up_s.clamp(0.0, LONGEST_S);
    let low = (start_s, excess(start_s));
    let step_s = -low.1 / slope_per_s;
    if !(low.1 < 0.0 && step_s.is_finite() && start_s > 0.0) {
        return rising_clock_time_s(excess, without_warm_up_s);
    }
    let within = Some(WITHIN * slope_per_s * start_s);
    let next_s = start_s + step_s.max(STEP_RATIO * start_s);
    let next = (next_s, excess(next_s));
    if next.1 >= 0.0 {
        return root_between(&excess, low, next, within);
    }
    // A little farther than straight on, so that the root lies between; a gel that is still cold shows
    // hardly any slope, and would send it to where all is set.
    let straight_s = next.0 - next.1 * (next.0 - low.0) / (next.1 - low.1);
    let past_s = next.0 + 1.01 * (straight_s - next.0);
    let past_s = if past_s > next.0 {
        past_s.min(2.0 * next.0)
    } else {
        2.0 * next.0
    };
    rising_from(&excess, next, past_s, within)
}

/// Nearness to the root that is enough, as a ratio of the whole rise.
const WITHIN: f64 = 1e-10;
/// A step that is worth taking, as a ratio of the time.
const STEP_RATIO: f64 = 1e-9;

/// From a time that is too short, by doubling.
fn rising_from(
    excess: &impl Fn(f64) -> f64,
    mut low: (f64, f64),
    mut time_s: f64,
    within: Option<f64>,
) -> f64 {
    loop {
        let value = excess(time_s);
        if value >= 0.0 {
            return root_between(excess, low, (time_s, value), within);
        }
        if value.is_nan() || time_s >= LONGEST_S {
            return f64::INFINITY;
        }
        low = (time_s, value);
        time_s *= 2.0;
    }
}

/// A root between a time that is too short and one that is not: a secant that halves the weight of an
/// end that stays (Illinois rule), until it is as near as `within`, or as a share of the first rise.
///
/// # Source
/// M. Dowell, P. Jarratt, BIT 11 (1971) 168, doi:10.1007/BF01934364.
fn root_between(
    excess: &impl Fn(f64) -> f64,
    mut low: (f64, f64),
    mut high: (f64, f64),
    within: Option<f64>,
) -> f64 {
    let within = within.unwrap_or(WITHIN * (high.1 - low.1));
    let mut side = 0_i8;
    for _ in 0..100 {
        let secant = low.0 - low.1 * (high.0 - low.0) / (high.1 - low.1);
        let middle = if secant > low.0 && secant < high.0 {
            secant
        } else {
            0.5 * (low.0 + high.0)
        };
        if high.0 - low.0 <= 1e-12 * high.0 {
            break;
        }
        let value = excess(middle);
        if value.abs() <= within {
            return middle;
        }
        let weight = |same: bool| if same { 0.5 } else { 1.0 };
        if value < 0.0 {
            high.1 *= weight(side == -1);
            (low, side) = ((middle, value), -1);
        } else {
            low.1 *= weight(side == 1);
            (high, side) = ((middle, value), 1);
        }
    }
    0.5 * (low.0 + high.0)
}
