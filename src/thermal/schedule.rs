//! The heat schedule: what the block is told to do, stage by stage.
//!
//! Time runs from the beginning of the first stage. A syringe goes into the block at the first
//! heat or hold stage (a cool stage may come before: resting in room air); at that moment the
//! block stands at `block_start` and moves at `ramp` until it reads its set temperature. What
//! becomes of a schedule once its times are known stands in [`TimedSchedule`].

use serde::{Deserialize, Serialize};

use super::input_error::{InputFault, InputFaults, ThermalInputError};
use super::schedule_check::{Draft, DraftStage, Known};
use super::timed_schedule::TimedSchedule;

/// When a stage's clock starts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ScheduleClock {
    /// When the stage begins: for the first one, when the syringe goes in.
    #[default]
    Insertion,
    /// When the block reads the stage's set temperature: a cold block's ramp comes on top.
    AtSet,
}

/// What surrounds the syringe in a stage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum StageKind {
    /// In the block, to set.
    Heat,
    /// Still in the block, at another temperature or with its lid open or off.
    Hold,
    /// In air.
    Cool,
}

impl StageKind {
    /// As it stands in a schedule file.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Heat => "heat",
            Self::Hold => "hold",
            Self::Cool => "cool",
        }
    }

    /// Whether the syringe sits in the block.
    #[must_use]
    pub const fn in_block(self) -> bool {
        matches!(self, Self::Heat | Self::Hold)
    }
}

/// One stage of a heat schedule.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ScheduleStage {
    /// What surrounds the syringe.
    pub kind: StageKind,
    /// Set temperature of the block, or temperature of the air, in K.
    #[serde(rename = "set_temp_K")]
    pub set_kelvin: f64,
    /// Time on the stage's clock, in s; nothing in the one heat stage whose time is asked for.
    pub time_s: Option<f64>,
}

/// A heat schedule.
///
/// # Example
/// Into a block at 86 °C for 7 min, then 6 min in air at 22 °C.
/// ```
/// use heatset::thermal::HeatSchedule;
/// let schedule = HeatSchedule::simple(295.15, 359.15, Some(420.0))?.then_cool(295.15, 360.0)?;
/// let timed = schedule.timed()?;
/// assert_eq!(timed.total_s(), 780.0);
/// assert_eq!(timed.outside_kelvin(419.0), 359.15);
/// assert_eq!(timed.outside_kelvin(421.0), 295.15);
/// # Ok::<(), heatset::thermal::ThermalInputError>(())
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HeatSchedule {
    /// Temperature of gel and syringe when the schedule begins, in K.
    #[serde(rename = "start_temp_K")]
    pub start_kelvin: f64,
    /// When a stage's clock starts.
    pub clock: ScheduleClock,
    /// Temperature of the block when the syringe goes in, in K; nothing where the block already
    /// reads its set temperature.
    #[serde(rename = "block_start_K")]
    pub block_start_kelvin: Option<f64>,
    /// Rate at which the block moves to its set temperature, in K/s; below zero for one that
    /// comes down.
    #[serde(rename = "ramp_K_per_s")]
    pub ramp_kelvin_per_s: Option<f64>,
    /// The stages, in order.
    pub stages: Vec<ScheduleStage>,
}

impl HeatSchedule {
    /// One heat stage in a block that already reads its set temperature; its time may be left
    /// open.
    ///
    /// # Errors
    /// As [`Self::checked`].
    pub fn simple(
        start_kelvin: f64,
        set_kelvin: f64,
        heat_time_s: Option<f64>,
    ) -> Result<Self, ThermalInputError> {
        Self {
            start_kelvin,
            clock: ScheduleClock::Insertion,
            block_start_kelvin: None,
            ramp_kelvin_per_s: None,
            stages: vec![ScheduleStage {
                kind: StageKind::Heat,
                set_kelvin,
                time_s: heat_time_s,
            }],
        }
        .checked()
    }

    /// The same with a stage in air behind it.
    ///
    /// # Errors
    /// As [`Self::checked`].
    pub fn then_cool(
        mut self,
        air_kelvin: f64,
        cool_time_s: f64,
    ) -> Result<Self, ThermalInputError> {
        self.stages.push(ScheduleStage {
            kind: StageKind::Cool,
            set_kelvin: air_kelvin,
            time_s: Some(cool_time_s),
        });
        self.checked()
    }

    /// The schedule, if it can be run.
    ///
    /// # Errors
    /// [`ThermalInputError::Schedule`] with every fault: no stage, no heat stage, more than one
    /// stage without a time or one that is not a heat stage, a negative time, a temperature not
    /// between 0 and 400 K, a ramp of zero, without `block_start` or away from the set
    /// temperature, a block that starts elsewhere than at its set temperature without a ramp.
    pub fn checked(self) -> Result<Self, ThermalInputError> {
        let mut faults = InputFaults::default();
        for fault in self.draft().faults() {
            faults.push(InputFault {
                line: None,
                column: None,
                message: fault.message,
                remedy: Some(fault.remedy),
            });
        }
        if faults.is_empty() {
            Ok(self)
        } else {
            Err(ThermalInputError::Schedule { faults })
        }
    }

    fn draft(&self) -> Draft {
        let given = |value: Option<f64>| value.map_or(Known::Absent, Known::Value);
        Draft {
            start_kelvin: Known::Value(self.start_kelvin),
            block_start_kelvin: given(self.block_start_kelvin),
            ramp_kelvin_per_s: given(self.ramp_kelvin_per_s),
            stages: self
                .stages
                .iter()
                .map(|stage| DraftStage {
                    kind: Some(stage.kind),
                    set_kelvin: Known::Value(stage.set_kelvin),
                    time_s: given(stage.time_s),
                })
                .collect(),
        }
    }

    /// Number of the heat stage without a time, from 0; nothing where every time is given.
    #[must_use]
    pub fn open_stage(&self) -> Option<usize> {
        self.stages.iter().position(|stage| stage.time_s.is_none())
    }

    /// The schedule with its times laid out, where every stage has its time.
    ///
    /// # Errors
    /// [`ThermalInputError::OpenStage`] where one has none.
    pub fn timed(&self) -> Result<TimedSchedule, ThermalInputError> {
        match self.stages.iter().find(|stage| stage.time_s.is_none()) {
            Some(stage) => Err(ThermalInputError::OpenStage {
                set_kelvin: stage.set_kelvin,
            }),
            None => Ok(self.with_heat_time(0.0)),
        }
    }

    /// The schedule with its times laid out, the open heat stage lasting `heat_time_s` on its
    /// clock; a schedule without an open stage takes no notice of it.
    #[must_use]
    pub fn with_heat_time(&self, heat_time_s: f64) -> TimedSchedule {
        TimedSchedule::of(self, heat_time_s)
    }

    /// What the block reads after `time_s` from the beginning of the schedule, in K; an open heat
    /// stage lasts for ever. While the syringe cools in air the block keeps its temperature.
    #[must_use]
    pub fn block_kelvin(&self, time_s: f64) -> f64 {
        self.with_heat_time(f64::INFINITY).block_kelvin(time_s)
    }

    /// Set temperature of the first heat stage, in K.
    #[must_use]
    pub fn first_set_kelvin(&self) -> Option<f64> {
        self.stages
            .iter()
            .find(|stage| stage.kind == StageKind::Heat)
            .map(|stage| stage.set_kelvin)
    }
}
