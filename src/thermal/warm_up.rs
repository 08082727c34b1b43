//! How the warm-up of a bench or of an answer is declared.

use super::declared_history::DeclaredHistory;
use super::dose_clock::DoseClock;
use super::even_clock::EvenClock;
use super::input_error::ThermalInputError;
use super::isothermal::Isothermal;
use super::lag::WarmUpLag;
use super::sampled_history::SampledHistory;
use super::temperature_history::TemperatureHistory;
use std::sync::Arc;
use thiserror::Error;

/// What cannot be a warm-up.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum ThermalError {
    /// A time constant that is no positive time.
    #[error(
        "a warm-up of {time_constant_s} s is no time constant; give the time in which the gel covers 63 % of the way to the block's temperature, for instance 40s, or none"
    )]
    TimeConstant {
        /// The refused value, in s.
        time_constant_s: f64,
    },
    /// A cooling time that is none.
    #[error(
        "a cooling of {cool_time_s} s is none; give the time between the block and the reading, for instance 5min, or leave it out"
    )]
    CoolTime {
        /// The refused value, in s.
        cool_time_s: f64,
    },
    /// A cooling time beside a trace.
    #[error(
        "a trace brings its own cooling: let it run on until the gel is cold, and leave the cooling time out"
    )]
    CoolTimeOfTrace,
    /// A cooling time where there is no history to cool from.
    #[error(
        "cooling counts only where the warm-up is declared too: give it as the lag of your syringe (40s), a trace, or syringe:1mL"
    )]
    CoolTimeAlone,
    /// A trace that ends before it levels off.
    #[error(
        "{file} still rises at its end, {}: let the trace run until it levels off, so that its warm-up can be scaled",
        crate::units::display::temperature(*reached_kelvin)
    )]
    TraceNotLevel {
        /// Its file.
        file: String,
        /// Temperature near its end, in K.
        reached_kelvin: f64,
    },
    /// A schedule where a history is asked for that serves every temperature.
    #[error("the schedule {name} holds for its own temperatures alone; give it with the question")]
    ScheduleAlone {
        /// Its file.
        name: String,
    },
    /// A schedule in which every time is given.
    #[error(
        "{name} gives every stage its time, so there is none to answer: leave the time of the heat stage out that is asked about"
    )]
    NoOpenStage {
        /// Its file.
        name: String,
    },
    /// A stage set to the temperature that the gel starts at.
    #[error(
        "the gel starts at {}, which is what the stage is set to: there is nothing to heat",
        crate::units::display::temperature(*set_kelvin)
    )]
    NothingToHeat {
        /// Set temperature, in K.
        set_kelvin: f64,
    },
    /// A part of a syringe on a schedule.
    #[error(
        "a schedule is computed for a syringe that is all in the block: leave the filled volume and what stands out away, or ask about one temperature"
    )]
    LengthOnSchedule,
    /// Cooling in another room than the one beside the block.
    #[error(
        "the air beside the block and the air that the syringe cools in are one room: give one ambient temperature"
    )]
    TwoRooms,
    /// A trace that cannot be used.
    #[error("{reason}")]
    Trace {
        /// What is wrong with it, and how to mend it.
        reason: String,
    },
    /// A syringe or a coefficient that heat cannot pass.
    #[error(transparent)]
    Conduction(#[from] super::conduction::ConductionError),
    /// A start temperature that is none.
    #[error("a start temperature of {start_kelvin} K is below absolute zero or not a number")]
    StartTemperature {
        /// The refused value, in K.
        start_kelvin: f64,
    },
}

impl ThermalError {
    pub(super) fn from_input(error: ThermalInputError) -> Self {
        Self::Trace {
            reason: error.to_string(),
        }
    }
}

/// Warm-up of the gel in the block: none, a first-order lag, or samples of a declared history.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum WarmUp {
    /// The gel is at the set temperature from the first moment.
    #[default]
    None,
    /// The gel follows the block with one time constant.
    Lag {
        /// Time constant, in s.
        time_constant_s: f64,
        /// Temperature of the gel at insertion, in K.
        start_temp_k: f64,
    },
    /// The gel follows a trace, conduction in its syringe, or a schedule; cooling may count.
    Sampled(Arc<SampledHistory>),
}

impl WarmUp {
    /// A first-order lag, checked.
    ///
    /// # Errors
    /// A time constant that is not positive and finite; a start temperature not above 0 K.
    pub fn lag(time_constant_s: f64, start_kelvin: f64) -> Result<Self, ThermalError> {
        if !(time_constant_s.is_finite() && time_constant_s > 0.0) {
            return Err(ThermalError::TimeConstant { time_constant_s });
        }
        if !(start_kelvin.is_finite() && start_kelvin > 0.0) {
            return Err(ThermalError::StartTemperature { start_kelvin });
        }
        Ok(Self::Lag {
            time_constant_s,
            start_temp_k: start_kelvin,
        })
    }

    /// A declared history, computed.
    ///
    /// # Errors
    /// Whatever [`SampledHistory::new`] refuses.
    pub fn sampled(declared: DeclaredHistory) -> Result<Self, ThermalError> {
        SampledHistory::new(declared).map(|history| Self::Sampled(Arc::new(history)))
    }

    /// The same warm-up, made ready for many energies within a width about one, at one set
    /// temperature.
    #[must_use]
    pub fn tabled(
        &self,
        set_kelvin: f64,
        reference_kelvin: f64,
        energy_and_width_j_per_mol: (f64, f64),
    ) -> Self {
        match self {
            Self::Sampled(history) => Self::Sampled(history.tabled(
                set_kelvin,
                reference_kelvin,
                energy_and_width_j_per_mol,
            )),
            other => other.clone(),
        }
    }

    /// Whether cooling after every heat time counts.
    #[must_use]
    pub fn counts_cooling(&self) -> bool {
        self.as_sampled()
            .is_some_and(|history| history.counts_cooling())
    }

    /// The sampled history, where there is one.
    #[must_use]
    pub fn as_sampled(&self) -> Option<&Arc<SampledHistory>> {
        match self {
            Self::Sampled(history) => Some(history),
            Self::None | Self::Lag { .. } => None,
        }
    }

    /// The lag, where there is one.
    #[must_use]
    pub fn as_lag(&self) -> Option<WarmUpLag> {
        match self {
            Self::None | Self::Sampled(_) => None,
            Self::Lag {
                time_constant_s,
                start_temp_k,
            } => Some(WarmUpLag {
                time_constant_s: *time_constant_s,
                start_kelvin: *start_temp_k,
            }),
        }
    }

    /// Where it comes from, in one word: `none`, `lag`, `trace` or `syringe`.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self {
            Self::None => "none",
            Self::Lag { .. } => "lag",
            Self::Sampled(history) => history.declared().source.word(),
        }
    }

    /// Whether a warm-up is declared.
    #[must_use]
    pub fn is_declared(&self) -> bool {
        *self != Self::None
    }
}

impl TemperatureHistory for WarmUp {
    fn temperature_kelvin(&self, set_kelvin: f64, clock_time_s: f64) -> f64 {
        match self {
            Self::None => Isothermal.temperature_kelvin(set_kelvin, clock_time_s),
            Self::Lag {
                time_constant_s,
                start_temp_k,
            } => WarmUpLag {
                time_constant_s: *time_constant_s,
                start_kelvin: *start_temp_k,
            }
            .temperature_kelvin(set_kelvin, clock_time_s),
            Self::Sampled(history) => history.temperature_kelvin(set_kelvin, clock_time_s),
        }
    }

    fn dose_clock(
        &self,
        set_kelvin: f64,
        activation_energy_j_per_mol: f64,
        reference_kelvin: f64,
    ) -> DoseClock {
        let energy = activation_energy_j_per_mol;
        match self {
            Self::Sampled(history) => history.dose_clock(set_kelvin, energy, reference_kelvin),
            Self::None | Self::Lag { .. } => DoseClock::Even(EvenClock::new(
                self.as_lag(),
                set_kelvin,
                energy,
                reference_kelvin,
            )),
        }
    }
}
