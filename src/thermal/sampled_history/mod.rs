//! A temperature history in samples: a measured trace, a syringe with its unevenness, a schedule.

mod cooling;
mod of_lag;
mod of_syringe;
mod of_trace;
mod shells;
mod temperatures;

pub(super) use cooling::{check_cooling, cooling_starts};
pub(super) use shells::shells_of;

use self::of_lag::of_lag;
use self::of_syringe::of_syringe;
use self::of_trace::of_trace;
use super::axial_history::of_part_of_a_syringe;
use super::declared_history::{DeclaredHistory, HistorySource};
use super::dose_table::DoseTable;
use super::sampled_run::SampleTimes;
use super::warm_up::ThermalError;
use std::sync::Arc;

/// Intervals of the warm-up.
const INTERVALS: usize = 48;
/// After so many of its slowest times a syringe is at the block's temperature to 1e-5.
const SLOWEST_TIMES: f64 = 12.0;

/// A temperature history in samples, shell by shell.
///
/// # Equation
/// While heating `T_i(t) = T_start + (T_set - T_start) u_i(t)`, `u` the samples: conduction and
/// measured warm-ups scale with the step of temperature. In a cooling that counts, which follows
/// every heat time t, `T_i(t, s) = T_start + (T_set - T_start) b_i(t, s) + (T_air - T_start) g_i(s)`.
///
/// # Valid for
/// Properties and coefficients that do not depend on temperature. Between samples a shell's
/// temperature is a parabola; past the last node it stays.
///
/// # Source
/// Linearity of conduction: H. Carslaw, J. Jaeger, Conduction of Heat in Solids, 2nd ed., 1959,
/// section 1.6 (from memory).
#[derive(Debug, Clone)]
pub struct SampledHistory {
    pub(super) declared: DeclaredHistory,
    pub(super) shares: Vec<f64>,
    /// Shells that leave the barrel together: all of them where the gel is alike along it.
    pub(super) shells_of_slice: usize,
    pub(super) times: SampleTimes,
    /// `u`, shell by shell.
    pub(super) warmed: Vec<f64>,
    /// What the room's air does beside the block, where part of the gel meets it.
    pub(super) aired: Option<Aired>,
    /// Time from the beginning of `times` until the clock starts, in s.
    pub(super) clock_delay_s: f64,
    pub(super) earlier: Option<EarlierRun>,
    pub(super) cooling: Option<SampledCooling>,
    /// The one set temperature that it holds for, in K, where it does not scale.
    pub(super) only_set_kelvin: Option<f64>,
    /// Doses at one set temperature over a range of energies, where many are asked for.
    pub(super) table: Option<Box<DoseTable>>,
}

/// Two histories are the same where they were declared alike: what is computed of them follows.
impl PartialEq for SampledHistory {
    fn eq(&self, other: &Self) -> bool {
        self.declared == other.declared
            && self.only_set_kelvin == other.only_set_kelvin
            && self.times == other.times
            && self.warmed == other.warmed
    }
}

/// What the gel felt before the stage whose time is asked for: temperatures, shell by shell.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct EarlierRun {
    pub(super) times: SampleTimes,
    pub(super) kelvin: Vec<f64>,
}

/// Share of the way to the room's temperature that the air beside the block has given, shell by
/// shell.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Aired {
    pub(super) room_kelvin: f64,
    pub(super) fractions: Vec<f64>,
}

/// Cooling that follows a heat time.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct SampledCooling {
    pub(super) ambient_kelvin: f64,
    pub(super) times: SampleTimes,
    /// Nodes of the warm-up from which it was computed.
    pub(super) from_nodes: Vec<usize>,
    /// `b`: start by start, shell by shell.
    pub(super) left: Vec<f64>,
    /// `g`, shell by shell; start by start too where it differs between them.
    pub(super) taken: Vec<f64>,
}

impl SampledHistory {
    /// Computes what was declared.
    ///
    /// # Errors
    /// A time constant, a start, a trace or a syringe that cannot be.
    pub fn new(declared: DeclaredHistory) -> Result<Self, ThermalError> {
        let start = declared.start_kelvin;
        if !(start.is_finite() && start > 0.0) {
            return Err(ThermalError::StartTemperature {
                start_kelvin: start,
            });
        }
        match declared.source.clone() {
            HistorySource::Lag { time_constant_s } => of_lag(declared, time_constant_s),
            HistorySource::Trace {
                set_kelvin, points, ..
            } => of_trace(declared, set_kelvin, points),
            HistorySource::Syringe(syringe) => match &syringe.length {
                None => of_syringe(declared, &syringe),
                Some(length) => of_part_of_a_syringe(declared, &syringe, length),
            },
            HistorySource::Schedule { name, .. } => Err(ThermalError::ScheduleAlone { name }),
        }
    }

    /// The same history, made ready for many energies within a width about one, at one set
    /// temperature.
    #[must_use]
    pub fn tabled(
        self: &Arc<Self>,
        set_kelvin: f64,
        reference_kelvin: f64,
        (energy_j_per_mol, width_j_per_mol): (f64, f64),
    ) -> Arc<Self> {
        let asked = (
            set_kelvin,
            reference_kelvin,
            energy_j_per_mol,
            width_j_per_mol,
        );
        if self.table.as_ref().is_some_and(|table| table.is_of(asked)) {
            return Arc::clone(self);
        }
        let table = DoseTable::new(
            self,
            set_kelvin,
            reference_kelvin,
            energy_j_per_mol,
            width_j_per_mol,
        );
        Arc::new(Self {
            table: Some(Box::new(table)),
            ..(**self).clone()
        })
    }

    /// A gel that is alike along its barrel, on a clock that starts as it goes in.
    fn all_in_the_block(
        declared: DeclaredHistory,
        shares: Vec<f64>,
        times: SampleTimes,
        warmed: Vec<f64>,
        cooling: Option<SampledCooling>,
    ) -> Self {
        Self {
            declared,
            shells_of_slice: shares.len(),
            shares,
            times,
            warmed,
            aired: None,
            clock_delay_s: 0.0,
            earlier: None,
            cooling,
            only_set_kelvin: None,
            table: None,
        }
    }

    /// Whether cooling after every heat time counts.
    #[must_use]
    pub fn counts_cooling(&self) -> bool {
        self.cooling.is_some()
    }

    /// What it was computed from.
    #[must_use]
    pub fn declared(&self) -> &DeclaredHistory {
        &self.declared
    }

    /// Share of the volume of each shell; they add up to 1.
    #[must_use]
    pub fn shares(&self) -> &[f64] {
        &self.shares
    }

    /// Number of shells that leave the barrel together, one slice after the other.
    #[must_use]
    pub fn shells_of_slice(&self) -> usize {
        self.shells_of_slice
    }

    /// Last node, in s on the clock: past it the gel counts as being at its last temperature.
    #[must_use]
    pub fn last_s(&self) -> f64 {
        self.times.last_s() - self.clock_delay_s
    }

    /// The one set temperature that it holds for, in K, where it does not scale.
    #[must_use]
    pub fn only_set_kelvin(&self) -> Option<f64> {
        self.only_set_kelvin
    }
}
