//! A temperature history in samples: a measured trace, a syringe with its unevenness, a schedule.

use super::axial_history::of_part_of_a_syringe;
use super::conduction::{RadialGrid, RadialModel, UnitField, unit_cooling, unit_heating};
use super::declared_history::{DeclaredCooling, DeclaredHistory, DeclaredSyringe, HistorySource};
use super::dose_clock::DoseClock;
use super::dose_table::{DoseTable, TabledClock};
use super::sampled_clock::SampledClock;
use super::sampled_run::SampleTimes;
use super::temperature_history::TemperatureHistory;
use super::trace::{MeasuredTrace, TracePoint};
use super::warm_up::ThermalError;
use std::sync::Arc;

/// Shells of even volume that a syringe's gel is told apart in.
const SHELLS: usize = 8;
/// Intervals of the warm-up, and of a cooling that counts.
const INTERVALS: usize = 48;
const COOLING_INTERVALS: usize = 16;
/// Every so many nodes of the warm-up, cooling is looked at.
const COOLING_EVERY: usize = 2;
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

    /// Shares of the shells that a syringe's gel is told apart in.
    pub(super) fn even_shares() -> Vec<f64> {
        vec![1.0 / SHELLS as f64; SHELLS]
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

    /// Temperature of a shell, in K, `time_s` after the beginning of the samples.
    pub(super) fn shell_kelvin(&self, shell: usize, set_kelvin: f64, time_s: f64) -> f64 {
        let start = self.declared.start_kelvin;
        let by_air = self.aired.as_ref().map_or(0.0, |aired| {
            (aired.room_kelvin - start) * self.sample_at(&aired.fractions, shell, time_s)
        });
        start + (set_kelvin - start) * self.sample_at(&self.warmed, shell, time_s) + by_air
    }

    /// A sampled course of a shell between its samples.
    fn sample_at(&self, courses: &[f64], shell: usize, time_s: f64) -> f64 {
        let samples = self.times.sample_count();
        let course = &courses[shell * samples..(shell + 1) * samples];
        let nodes = &self.times.node_s;
        let after = nodes.partition_point(|node| *node <= time_s);
        match (after.checked_sub(1), nodes.get(after)) {
            (Some(before), Some(next)) => {
                // The parabola through both nodes and the middle between them.
                let way = (time_s - nodes[before]) / (next - nodes[before]);
                let [low, middle, high] = [0, 1, 2].map(|i| course[2 * before + i]);
                let rest = 1.0 - way;
                rest * (rest - way) * low + 4.0 * rest * way * middle + way * (way - rest) * high
            }
            (Some(_), None) => course[samples - 1],
            _ => course[0],
        }
    }

    /// Temperature of the innermost shell at the end of the cooling that counts after a heat time, in
    /// K; nothing where none does.
    #[must_use]
    pub fn core_after_cooling_kelvin(&self, set_kelvin: f64, clock_time_s: f64) -> Option<f64> {
        let cooling = self.cooling.as_ref()?;
        let time_s = clock_time_s + self.clock_delay_s;
        let start_s = |i: usize| self.times.node_s[cooling.from_nodes[i]];
        let starts = cooling.from_nodes.len();
        let end_kelvin = |start: usize| {
            let mut kelvin = Vec::new();
            self.cooling_kelvin(set_kelvin, start, &mut kelvin);
            kelvin.get(cooling.times.sample_count() - 1).copied()
        };
        let after = (0..starts).take_while(|i| start_s(*i) <= time_s).count();
        let before = end_kelvin(after.checked_sub(1)?)?;
        if after == starts {
            return Some(before);
        }
        let way = (time_s - start_s(after - 1)) / (start_s(after) - start_s(after - 1));
        Some(before + way * (end_kelvin(after)? - before))
    }

    /// Temperatures of the samples while heating, shell by shell.
    pub(super) fn heating_kelvin(&self, set_kelvin: f64, kelvin: &mut Vec<f64>) {
        let start = self.declared.start_kelvin;
        let rise = set_kelvin - start;
        kelvin.clear();
        kelvin.extend(self.warmed.iter().map(|u| start + rise * u));
        if let Some(aired) = &self.aired {
            let fall = aired.room_kelvin - start;
            for (kelvin, share) in kelvin.iter_mut().zip(&aired.fractions) {
                *kelvin += fall * share;
            }
        }
    }

    /// Temperatures of the samples of the cooling from one of its starts, shell by shell.
    pub(super) fn cooling_kelvin(&self, set_kelvin: f64, place: usize, kelvin: &mut Vec<f64>) {
        kelvin.clear();
        let Some(cooling) = &self.cooling else { return };
        let start = self.declared.start_kelvin;
        let (rise, fall) = (set_kelvin - start, cooling.ambient_kelvin - start);
        let size = self.shares.len() * cooling.times.sample_count();
        let here = place * size..(place + 1) * size;
        let left = &cooling.left[here.clone()];
        let taken = if cooling.taken.len() == size {
            &cooling.taken[..]
        } else {
            &cooling.taken[here]
        };
        kelvin.extend(
            left.iter()
                .zip(taken)
                .map(|(b, g)| start + rise * b + fall * g),
        );
    }
}

impl TemperatureHistory for Arc<SampledHistory> {
    fn temperature_kelvin(&self, set_kelvin: f64, clock_time_s: f64) -> f64 {
        let time_s = clock_time_s + self.clock_delay_s;
        (0..self.shares.len())
            .map(|shell| self.shares[shell] * self.shell_kelvin(shell, set_kelvin, time_s))
            .sum()
    }

    fn dose_clock(
        &self,
        set_kelvin: f64,
        activation_energy_j_per_mol: f64,
        reference_kelvin: f64,
    ) -> DoseClock {
        let tabled = TabledClock::new(
            self,
            set_kelvin,
            activation_energy_j_per_mol,
            reference_kelvin,
        );
        if let Some(tabled) = tabled {
            return DoseClock::Tabled(tabled);
        }
        DoseClock::Sampled(Box::new(SampledClock::new(
            Self::clone(self),
            set_kelvin,
            activation_energy_j_per_mol,
            reference_kelvin,
        )))
    }
}

pub(super) fn cooling_starts(nodes: usize) -> Vec<usize> {
    (0..nodes).step_by(COOLING_EVERY).collect()
}

pub(super) fn check_cooling(cooling: &DeclaredCooling) -> Result<(), ThermalError> {
    if cooling.cool_time_s.is_finite() && cooling.cool_time_s > 0.0 {
        Ok(())
    } else {
        Err(ThermalError::CoolTime {
            cool_time_s: cooling.cool_time_s,
        })
    }
}

fn of_lag(declared: DeclaredHistory, tau_s: f64) -> Result<SampledHistory, ThermalError> {
    if !(tau_s.is_finite() && tau_s > 0.0) {
        return Err(ThermalError::TimeConstant {
            time_constant_s: tau_s,
        });
    }
    let warm = |t: f64| -(-t / tau_s).exp_m1();
    let times = SampleTimes::graded(SLOWEST_TIMES * tau_s, INTERVALS);
    let warmed = times.all_s().into_iter().map(warm).collect();
    let cooling = declared
        .cooling
        .map(|cooling| -> Result<SampledCooling, ThermalError> {
            check_cooling(&cooling)?;
            let from_nodes = cooling_starts(times.node_s.len());
            let cool = SampleTimes::graded(cooling.cool_time_s, COOLING_INTERVALS);
            let fades: Vec<f64> = cool
                .all_s()
                .into_iter()
                .map(|s| (-s / tau_s).exp())
                .collect();
            let left = from_nodes
                .iter()
                .flat_map(|node| fades.iter().map(|fade| warm(times.node_s[*node]) * fade))
                .collect();
            Ok(SampledCooling {
                ambient_kelvin: cooling.ambient_kelvin,
                times: cool,
                from_nodes,
                left,
                taken: fades.iter().map(|fade| 1.0 - fade).collect(),
            })
        })
        .transpose()?;
    Ok(SampledHistory::all_in_the_block(
        declared,
        vec![1.0],
        times,
        warmed,
        cooling,
    ))
}

/// A trace: its heating scaled, and its own cooling part, if it has one, after every heat time.
fn of_trace(
    declared: DeclaredHistory,
    set_kelvin: f64,
    points: Vec<TracePoint>,
) -> Result<SampledHistory, ThermalError> {
    let trace = MeasuredTrace::new(points).map_err(ThermalError::from_input)?;
    let scale = trace
        .scale(Some(set_kelvin))
        .map_err(ThermalError::from_input)?;
    let (start, rise) = (scale.start_kelvin, scale.set_kelvin - scale.start_kelvin);
    let end_s = trace.plateau().heating_end_s;
    // The readings themselves are nodes, with more between where they lie far apart.
    let longest_s = end_s / INTERVALS as f64;
    let mut node_s = vec![0.0];
    let inside = trace.points().iter().map(|p| p.time_s);
    for time_s in inside.filter(|t| *t > 0.0 && *t < end_s).chain([end_s]) {
        let before = node_s.last().copied().unwrap_or(0.0);
        if time_s - before < 0.25 * longest_s && time_s < end_s {
            continue;
        }
        let pieces = ((time_s - before) / longest_s).ceil().max(1.0);
        for piece in 1..=pieces as usize {
            node_s.push(before + (time_s - before) * piece as f64 / pieces);
        }
    }
    let times = SampleTimes { node_s };
    let fraction = |time_s: f64| (trace.at(time_s).temperature_kelvin - start) / rise;
    let warmed: Vec<f64> = times.all_s().into_iter().map(fraction).collect();
    let own_cooling_s = trace.last_s() - end_s;
    let end_kelvin = trace.at(end_s).temperature_kelvin;
    let last_kelvin = trace.at(trace.last_s()).temperature_kelvin;
    let cooling = match declared.cooling {
        Some(cooling) => {
            check_cooling(&cooling)?;
            return Err(ThermalError::CoolTimeOfTrace);
        }
        // A trace that ends back down has a cooling part.
        None if own_cooling_s > 0.0 && (end_kelvin - last_kelvin).abs() > 0.25 * rise.abs() => {
            let from_nodes = cooling_starts(times.node_s.len());
            let cool = SampleTimes::graded(own_cooling_s, COOLING_INTERVALS);
            let fades: Vec<f64> = cool
                .all_s()
                .into_iter()
                .map(|s| {
                    (trace.at(end_s + s).temperature_kelvin - last_kelvin)
                        / (end_kelvin - last_kelvin)
                })
                .collect();
            let left = from_nodes
                .iter()
                .flat_map(|node| fades.iter().map(|fade| warmed[2 * *node] * fade))
                .collect();
            Some(SampledCooling {
                ambient_kelvin: last_kelvin,
                times: cool,
                from_nodes,
                left,
                taken: fades.iter().map(|fade| 1.0 - fade).collect(),
            })
        }
        None => None,
    };
    Ok(SampledHistory::all_in_the_block(
        declared,
        vec![1.0],
        times,
        warmed,
        cooling,
    ))
}

fn of_syringe(
    declared: DeclaredHistory,
    syringe: &DeclaredSyringe,
) -> Result<SampledHistory, ThermalError> {
    let model = RadialModel::new(&syringe.barrel()?, RadialGrid::default())?;
    let contact = syringe.contact_w_per_m2_kelvin;
    let end_s = SLOWEST_TIMES * syringe.slowest_time_s(contact);
    let times = SampleTimes::graded(end_s, INTERVALS);
    let heated = unit_heating(&model, contact, &times.all_s())?;
    let warmed = by_shell(&model, &heated);
    let cooling = match declared.cooling {
        None => None,
        Some(cooling) => {
            check_cooling(&cooling)?;
            let from_nodes = cooling_starts(times.node_s.len());
            let cool = SampleTimes::graded(cooling.cool_time_s, COOLING_INTERVALS);
            let samples = cool.all_s();
            let air = syringe.air_w_per_m2_kelvin;
            let ones = vec![1.0; model.cell_count()];
            let kept = unit_cooling(&model, air, &ones, &samples)?;
            let mut left = Vec::new();
            let fields: Vec<&[f64]> = heated.cell_fractions().collect();
            for node in &from_nodes {
                let cooled = unit_cooling(&model, air, fields[2 * node], &samples)?;
                left.extend(by_shell(&model, &cooled));
            }
            Some(SampledCooling {
                ambient_kelvin: cooling.ambient_kelvin,
                times: cool,
                from_nodes,
                left,
                taken: by_shell(&model, &kept).iter().map(|a| 1.0 - a).collect(),
            })
        }
    };
    Ok(SampledHistory::all_in_the_block(
        declared,
        SampledHistory::even_shares(),
        times,
        warmed,
        cooling,
    ))
}

/// Samples shell by shell: the mean of the rings that share a shell.
pub(super) fn by_shell(model: &RadialModel, field: &UnitField) -> Vec<f64> {
    let rings: Vec<&[f64]> = field.gel_fractions().collect();
    shells_of(model.gel_cell_count(), &rings)
}

/// The same for any fields of gel rings of even volume, one a sample.
pub(super) fn shells_of(ring_count: usize, fields: &[&[f64]]) -> Vec<f64> {
    let mut samples = Vec::with_capacity(SHELLS * fields.len());
    for shell in 0..SHELLS {
        let rings = shell * ring_count / SHELLS..(shell + 1) * ring_count / SHELLS;
        for field in fields {
            let sum: f64 = field[rings.clone()].iter().sum();
            samples.push(sum / rings.len() as f64);
        }
    }
    samples
}
