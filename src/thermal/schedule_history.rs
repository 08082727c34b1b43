//! A heat schedule as the gel feels it: stages before the one that is asked about, that stage, and
//! what comes after it.

use super::conduction::{Outside, OutsideTemperature, RadialGrid, RadialModel, RadialState, Steps};
use super::declared_history::{DeclaredHistory, DeclaredSyringe, HistorySource};
use super::sampled_history::{
    EarlierRun, SampledCooling, SampledHistory, cooling_starts, shells_of,
};
use super::sampled_run::SampleTimes;
use super::schedule::{HeatSchedule, StageKind};
use super::timed_schedule::TimedStage;
use super::warm_up::ThermalError;

/// Intervals of the stage that is asked about, of each other stage, and of one span inside them.
const INTERVALS: usize = 48;
const STAGE_INTERVALS: usize = 12;
/// Longest stage that is looked at, in s, where nothing else sets its end.
const LONGEST_S: f64 = 4.0 * 3600.0;

/// How the gel follows the block and the air.
#[derive(Debug, Clone, PartialEq)]
pub enum Follows {
    /// At once.
    AtOnce,
    /// With one time constant, in s, in every stage.
    Lag {
        /// Time constant, in s.
        time_constant_s: f64,
    },
    /// By conduction.
    Syringe(DeclaredSyringe),
}

impl SampledHistory {
    /// A schedule whose open heat stage takes the heat time that is asked about.
    ///
    /// # Equation
    /// While a stage lasts the outside is at the stage's temperature, or on its ramp there. A lag
    /// follows `dT/dt = (T_out - T)/tau`; conduction as [`RadialModel`]. In a later stage the gel
    /// starts from where the stage before left it.
    ///
    /// # Errors
    /// A schedule without an open heat stage; a time constant or a syringe that cannot be.
    pub fn of_schedule(
        name: &str,
        schedule: &HeatSchedule,
        follows: &Follows,
    ) -> Result<Self, ThermalError> {
        let Some(open) = schedule.open_stage() else {
            return Err(ThermalError::NoOpenStage {
                name: name.to_owned(),
            });
        };
        let gel = GelRun::new(follows)?;
        let timed = schedule.with_heat_time(LONGEST_S);
        let mut state = gel.uniform(schedule.start_kelvin)?;
        let mut earlier: Option<EarlierRun> = None;
        for stage in &timed.stages[..open] {
            let run = gel.sample(&mut state, stage, &stage_times(stage, STAGE_INTERVALS))?;
            earlier = Some(match earlier {
                None => run,
                Some(before) => before.followed_by(&run, gel.shares().len()),
            });
        }
        let stage = &timed.stages[open];
        let times = open_times(stage, follows);
        let (warmed, states) = gel.sample_keeping(state, stage, &times)?;
        let rise = stage.set_kelvin - schedule.start_kelvin;
        if rise.abs() < 1e-6 {
            return Err(ThermalError::NothingToHeat {
                set_kelvin: stage.set_kelvin,
            });
        }
        let as_fraction = |kelvin: f64| (kelvin - schedule.start_kelvin) / rise;
        let later = timed.stages.len() > open + 1;
        let cooling = if later {
            let from_nodes = cooling_starts(times.node_s.len());
            let mut left = Vec::new();
            let mut cool_times = None;
            for &node in &from_nodes {
                let clock_s = times.node_s[node] - stage.clock_delay_s;
                let after = schedule.with_heat_time(clock_s.max(0.0));
                let mut state = states[node].clone();
                let mut whole: Option<EarlierRun> = None;
                for stage in &after.stages[open + 1..] {
                    let run =
                        gel.sample(&mut state, stage, &stage_times(stage, STAGE_INTERVALS))?;
                    whole = Some(match whole {
                        None => run,
                        Some(before) => before.followed_by(&run, gel.shares().len()),
                    });
                }
                if let Some(whole) = whole {
                    left.extend(whole.kelvin.iter().map(|k| as_fraction(*k)));
                    cool_times = Some(whole.times);
                }
            }
            cool_times.map(|times| SampledCooling {
                ambient_kelvin: schedule.start_kelvin,
                taken: vec![0.0; gel.shares().len() * times.sample_count()],
                times,
                from_nodes,
                left,
            })
        } else {
            None
        };
        Ok(Self {
            declared: DeclaredHistory {
                source: HistorySource::Schedule {
                    name: name.to_owned(),
                    syringe: match follows {
                        Follows::Syringe(syringe) => Some(syringe.clone()),
                        Follows::AtOnce | Follows::Lag { .. } => None,
                    },
                },
                start_kelvin: schedule.start_kelvin,
                cooling: None,
            },
            shells_of_slice: gel.shares().len(),
            shares: gel.shares(),
            times,
            warmed: warmed.into_iter().map(as_fraction).collect(),
            aired: None,
            clock_delay_s: stage.clock_delay_s,
            earlier,
            cooling,
            only_set_kelvin: Some(stage.set_kelvin),
            table: None,
        })
    }
}

/// Samples of a stage whose length is known; a ramp's end is a node.
fn stage_times(stage: &TimedStage, intervals: usize) -> SampleTimes {
    broken_times(stage.ramp_s, stage.duration_s, intervals)
}

/// Samples of the stage that is asked about, until the gel has settled.
fn open_times(stage: &TimedStage, follows: &Follows) -> SampleTimes {
    let slowest_s = match follows {
        Follows::AtOnce => 60.0,
        Follows::Lag { time_constant_s } => *time_constant_s,
        Follows::Syringe(syringe) => syringe.slowest_time_s(syringe.contact_w_per_m2_kelvin),
    };
    let end_s = (stage.ramp_s + 12.0 * slowest_s).min(LONGEST_S + stage.ramp_s);
    broken_times(stage.ramp_s, end_s, INTERVALS)
}

fn broken_times(break_s: f64, end_s: f64, intervals: usize) -> SampleTimes {
    if break_s <= 0.0 || break_s >= end_s {
        return SampleTimes::graded(end_s, intervals);
    }
    let half = intervals / 2;
    let mut node_s: Vec<f64> = (0..half)
        .map(|i| break_s * i as f64 / half as f64)
        .collect();
    let after = SampleTimes::graded(end_s - break_s, intervals - half);
    node_s.extend(after.node_s.iter().map(|t| break_s + t));
    SampleTimes { node_s }
}

impl EarlierRun {
    /// One run after another, shell by shell.
    fn followed_by(self, next: &Self, shells: usize) -> Self {
        let (own, other) = (self.times.sample_count(), next.times.sample_count());
        let start_s = self.times.last_s();
        let mut kelvin = Vec::with_capacity(shells * (own + other));
        for shell in 0..shells {
            kelvin.extend(&self.kelvin[shell * own..(shell + 1) * own]);
            // Between both lies an interval of no length, so that a jump at once stays a jump.
            kelvin.push(next.kelvin[shell * other]);
            kelvin.extend(&next.kelvin[shell * other..(shell + 1) * other]);
        }
        let mut node_s = self.times.node_s;
        node_s.extend(next.times.node_s.iter().map(|t| start_s + t));
        Self {
            times: SampleTimes { node_s },
            kelvin,
        }
    }
}

/// The gel on its way through the stages.
enum GelRun {
    AtOnce,
    Lag(f64),
    Conduction {
        model: Box<RadialModel>,
        contact: f64,
        air: f64,
    },
}

/// Where the gel stands.
#[derive(Clone)]
enum GelState {
    Even(f64),
    Rings(RadialState),
}

impl GelRun {
    fn new(follows: &Follows) -> Result<Self, ThermalError> {
        match follows {
            Follows::AtOnce => Ok(Self::AtOnce),
            Follows::Lag { time_constant_s } if *time_constant_s > 0.0 => {
                Ok(Self::Lag(*time_constant_s))
            }
            Follows::Lag { time_constant_s } => Err(ThermalError::TimeConstant {
                time_constant_s: *time_constant_s,
            }),
            Follows::Syringe(syringe) if syringe.length.is_some() => {
                Err(ThermalError::LengthOnSchedule)
            }
            Follows::Syringe(syringe) => Ok(Self::Conduction {
                model: Box::new(RadialModel::new(&syringe.barrel()?, RadialGrid::default())?),
                contact: syringe.contact_w_per_m2_kelvin,
                air: syringe.air_w_per_m2_kelvin,
            }),
        }
    }

    fn shares(&self) -> Vec<f64> {
        match self {
            Self::AtOnce | Self::Lag(_) => vec![1.0],
            Self::Conduction { .. } => SampledHistory::even_shares(),
        }
    }

    fn uniform(&self, kelvin: f64) -> Result<GelState, ThermalError> {
        Ok(match self {
            Self::AtOnce | Self::Lag(_) => GelState::Even(kelvin),
            Self::Conduction { model, .. } => GelState::Rings(RadialState::uniform(model, kelvin)?),
        })
    }

    /// Goes from one time of a stage to a later one.
    fn advance(
        &self,
        state: &mut GelState,
        stage: &TimedStage,
        (from_s, to_s): (f64, f64),
    ) -> Result<(), ThermalError> {
        if to_s <= from_s {
            if let (Self::AtOnce, GelState::Even(kelvin)) = (self, &mut *state) {
                *kelvin = stage.outside_kelvin(to_s);
            }
            return Ok(());
        }
        match (self, state) {
            (Self::AtOnce, GelState::Even(kelvin)) => *kelvin = stage.outside_kelvin(to_s),
            (Self::Lag(tau_s), GelState::Even(kelvin)) => {
                *kelvin = lagged(*tau_s, *kelvin, stage, from_s, to_s);
            }
            (
                Self::Conduction {
                    model,
                    contact,
                    air,
                },
                GelState::Rings(rings),
            ) => {
                let coefficient_w_per_m2_kelvin = if stage.kind == StageKind::Cool {
                    *air
                } else {
                    *contact
                };
                let temperature = if stage.ramp_s > 0.0 {
                    OutsideTemperature::Ramp {
                        start_kelvin: stage.outside_start_kelvin,
                        rate_kelvin_per_s: stage.ramp_kelvin_per_s,
                        end_kelvin: stage.set_kelvin,
                    }
                } else {
                    OutsideTemperature::Constant {
                        kelvin: stage.set_kelvin,
                    }
                };
                let outside = Outside {
                    coefficient_w_per_m2_kelvin,
                    temperature,
                };
                let steps = if from_s == 0.0 {
                    Steps::default()
                } else {
                    Steps::Equal { count: 6 }
                };
                model.advance(rings, &outside, from_s, to_s, steps)?;
            }
            _ => {}
        }
        Ok(())
    }

    fn shell_kelvin(&self, states: &[GelState]) -> Vec<f64> {
        match self {
            Self::AtOnce | Self::Lag(_) => states
                .iter()
                .map(|state| match state {
                    GelState::Even(kelvin) => *kelvin,
                    GelState::Rings(_) => f64::NAN,
                })
                .collect(),
            Self::Conduction { model, .. } => {
                let rings: Vec<&[f64]> = states
                    .iter()
                    .filter_map(|state| match state {
                        GelState::Rings(rings) => Some(rings.gel_kelvin()),
                        GelState::Even(_) => None,
                    })
                    .collect();
                shells_of(model.gel_cell_count(), &rings)
            }
        }
    }

    /// Runs a stage and gives the samples, shell by shell; the state is left at its end.
    fn sample(
        &self,
        state: &mut GelState,
        stage: &TimedStage,
        times: &SampleTimes,
    ) -> Result<EarlierRun, ThermalError> {
        let (kelvin, states) = self.run(state.clone(), stage, times)?;
        if let Some(last) = states.last() {
            *state = last.clone();
        }
        Ok(EarlierRun {
            times: times.clone(),
            kelvin,
        })
    }

    /// The same, with the state at each node.
    fn sample_keeping(
        &self,
        state: GelState,
        stage: &TimedStage,
        times: &SampleTimes,
    ) -> Result<(Vec<f64>, Vec<GelState>), ThermalError> {
        let (kelvin, states) = self.run(state, stage, times)?;
        Ok((kelvin, states.into_iter().step_by(2).collect()))
    }

    fn run(
        &self,
        mut state: GelState,
        stage: &TimedStage,
        times: &SampleTimes,
    ) -> Result<(Vec<f64>, Vec<GelState>), ThermalError> {
        let mut states = Vec::with_capacity(times.sample_count());
        let mut before_s = 0.0;
        for time_s in times.all_s() {
            self.advance(&mut state, stage, (before_s, time_s))?;
            states.push(state.clone());
            before_s = time_s;
        }
        Ok((self.shell_kelvin(&states), states))
    }
}

/// A lag over part of a stage: exact on the ramp and after it.
///
/// # Equation
/// On a ramp `T_out = a + b t`: `T = a + b (t - tau) + c exp(-t/tau)`; at rest
/// `T = T_out + c exp(-t/tau)`.
fn lagged(tau_s: f64, kelvin: f64, stage: &TimedStage, from_s: f64, to_s: f64) -> f64 {
    let ramp_end_s = stage.ramp_s.clamp(from_s, to_s);
    let mut kelvin = kelvin;
    if ramp_end_s > from_s {
        let rate = stage.ramp_kelvin_per_s;
        let span_s = ramp_end_s - from_s;
        let at_start = stage.outside_kelvin(from_s) - rate * tau_s;
        kelvin = at_start + rate * span_s + (kelvin - at_start) * (-span_s / tau_s).exp();
    }
    if to_s > ramp_end_s {
        let rest = stage.outside_kelvin(to_s);
        kelvin = rest + (kelvin - rest) * (-(to_s - ramp_end_s) / tau_s).exp();
    }
    kelvin
}
