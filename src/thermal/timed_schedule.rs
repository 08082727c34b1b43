//! A heat schedule laid out in time: what the syringe sits in from its beginning to its end.

use std::fmt;

use serde::Serialize;

use super::schedule::{HeatSchedule, ScheduleClock, StageKind};
use crate::units::display;

/// One stage, laid out in time.
///
/// # Equation
/// `T_out(t) = T_begin + r t` for `t < t_r`, then the set temperature; `t` from the beginning of
/// the stage.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | T_begin | `outside_start_kelvin` | K |
/// | r | `ramp_kelvin_per_s` | K/s |
/// | t_r | `ramp_s` | s |
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TimedStage {
    /// What surrounds the syringe.
    pub kind: StageKind,
    /// Set temperature of the block, or temperature of the air, in K.
    #[serde(rename = "set_temp_K")]
    pub set_kelvin: f64,
    /// Beginning of the stage, in s from the beginning of the schedule.
    pub start_s: f64,
    /// How long the syringe stays in it, in s; with the clock `at-set` the time and the ramp.
    pub duration_s: f64,
    /// The stage's own clock time, in s.
    pub time_s: f64,
    /// How long after the stage's beginning its clock starts, in s.
    pub clock_delay_s: f64,
    /// Temperature outside the syringe when the stage begins, in K.
    #[serde(rename = "outside_start_K")]
    pub outside_start_kelvin: f64,
    /// Rate at which it moves at first, in K/s; zero where it does not.
    #[serde(rename = "ramp_K_per_s")]
    pub ramp_kelvin_per_s: f64,
    /// How long it would move until it reads the set temperature, in s; zero where it does not.
    pub ramp_s: f64,
    /// Temperature outside the syringe when the stage ends, in K.
    #[serde(rename = "outside_end_K")]
    pub outside_end_kelvin: f64,
}

impl TimedStage {
    /// Temperature outside the syringe, `time_s` after the beginning of the stage, in K.
    #[must_use]
    pub fn outside_kelvin(&self, time_s: f64) -> f64 {
        if time_s < self.ramp_s {
            self.outside_start_kelvin + self.ramp_kelvin_per_s * time_s.max(0.0)
        } else {
            self.set_kelvin
        }
    }

    /// End of the stage, in s from the beginning of the schedule.
    #[must_use]
    pub fn end_s(&self) -> f64 {
        self.start_s + self.duration_s
    }
}

/// What a reader of an answer must be told of a schedule that can be run.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "code")]
pub enum ScheduleCaution {
    /// The ramp is still under way when the stage ends.
    SetNotReached {
        /// Number of the stage, from 1.
        stage: usize,
        /// Temperature of the block at its end, in K.
        #[serde(rename = "reached_K")]
        reached_kelvin: f64,
        /// Temperature that it was set to, in K.
        #[serde(rename = "set_temp_K")]
        set_kelvin: f64,
    },
    /// The ramp goes the other way, so the change of set temperature counts as sudden.
    SuddenChange {
        /// Number of the stage, from 1.
        stage: usize,
        /// Temperature of the block before, in K.
        #[serde(rename = "from_K")]
        from_kelvin: f64,
        /// Temperature that it is set to, in K.
        #[serde(rename = "set_temp_K")]
        set_kelvin: f64,
    },
}

impl fmt::Display for ScheduleCaution {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::SetNotReached {
                stage,
                reached_kelvin,
                set_kelvin,
            } => write!(
                out,
                "stage {stage} ends while the block is at {}, on its way to {}: give it more time, or let the clock start at-set",
                display::temperature(*reached_kelvin),
                display::temperature(*set_kelvin)
            ),
            Self::SuddenChange {
                stage,
                from_kelvin,
                set_kelvin,
            } => write!(
                out,
                "in stage {stage} the block goes from {} to {} and the ramp does not say how fast: counted as sudden, as in a second block",
                display::temperature(*from_kelvin),
                display::temperature(*set_kelvin)
            ),
        }
    }
}

/// A heat schedule laid out in time. In a later stage the gel starts from where the stage before
/// left it; the block as well.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TimedSchedule {
    /// Temperature of gel and syringe when the schedule begins, in K.
    #[serde(rename = "start_temp_K")]
    pub start_kelvin: f64,
    /// The stages, in order.
    pub stages: Vec<TimedStage>,
    /// What a reader of an answer must be told.
    pub cautions: Vec<ScheduleCaution>,
}

impl TimedSchedule {
    pub(crate) fn of(schedule: &HeatSchedule, heat_time_s: f64) -> Self {
        let mut timed = Self {
            start_kelvin: schedule.start_kelvin,
            stages: Vec::with_capacity(schedule.stages.len()),
            cautions: Vec::new(),
        };
        let mut block_kelvin = schedule.block_start_kelvin;
        let mut start_s = 0.0;
        for (number, stage) in (1..).zip(&schedule.stages) {
            let time_s = stage.time_s.unwrap_or(heat_time_s).max(0.0);
            let mut next = TimedStage {
                kind: stage.kind,
                set_kelvin: stage.set_kelvin,
                start_s,
                duration_s: time_s,
                time_s,
                clock_delay_s: 0.0,
                outside_start_kelvin: stage.set_kelvin,
                ramp_kelvin_per_s: 0.0,
                ramp_s: 0.0,
                outside_end_kelvin: stage.set_kelvin,
            };
            if stage.kind.in_block() {
                let from_kelvin = block_kelvin.unwrap_or(stage.set_kelvin);
                let rise_kelvin = stage.set_kelvin - from_kelvin;
                match schedule.ramp_kelvin_per_s {
                    Some(ramp) if rise_kelvin * ramp > 0.0 => {
                        next.outside_start_kelvin = from_kelvin;
                        next.ramp_kelvin_per_s = ramp;
                        next.ramp_s = rise_kelvin / ramp;
                    }
                    Some(_) if rise_kelvin != 0.0 => {
                        timed.cautions.push(ScheduleCaution::SuddenChange {
                            stage: number,
                            from_kelvin,
                            set_kelvin: stage.set_kelvin,
                        });
                    }
                    // Without a ramp nothing is known of the way, and a stage's set temperature
                    // is what the user says that the block reads.
                    _ => {}
                }
                if schedule.clock == ScheduleClock::AtSet {
                    next.clock_delay_s = next.ramp_s;
                    next.duration_s += next.ramp_s;
                }
                next.outside_end_kelvin = next.outside_kelvin(next.duration_s);
                if next.duration_s < next.ramp_s {
                    timed.cautions.push(ScheduleCaution::SetNotReached {
                        stage: number,
                        reached_kelvin: next.outside_end_kelvin,
                        set_kelvin: stage.set_kelvin,
                    });
                }
                block_kelvin = Some(next.outside_end_kelvin);
            }
            start_s = next.end_s();
            timed.stages.push(next);
        }
        timed
    }

    /// From the beginning of the first stage to the end of the last, in s.
    #[must_use]
    pub fn total_s(&self) -> f64 {
        self.stages.last().map_or(0.0, TimedStage::end_s)
    }

    /// End of the last heat stage, in s from the beginning.
    #[must_use]
    pub fn heat_end_s(&self) -> f64 {
        self.stages
            .iter()
            .rev()
            .find(|stage| stage.kind == StageKind::Heat)
            .map_or(0.0, TimedStage::end_s)
    }

    /// The stage at a time from the beginning; past the end the last one. A stage holds from its
    /// beginning to just before its end.
    #[must_use]
    pub fn stage_at(&self, time_s: f64) -> Option<&TimedStage> {
        self.stages
            .iter()
            .find(|stage| time_s < stage.end_s())
            .or(self.stages.last())
    }

    /// Temperature outside the syringe at a time from the beginning, in K: of the block, or of
    /// the air. Held past the end.
    #[must_use]
    pub fn outside_kelvin(&self, time_s: f64) -> f64 {
        self.stage_at(time_s).map_or(self.start_kelvin, |stage| {
            let in_stage_s = (time_s - stage.start_s).min(stage.duration_s);
            stage.outside_kelvin(in_stage_s)
        })
    }

    /// What the block reads at a time from the beginning, in K; it keeps its temperature while
    /// the syringe is in air.
    #[must_use]
    pub fn block_kelvin(&self, time_s: f64) -> f64 {
        let mut reading = self
            .stages
            .iter()
            .find(|stage| stage.kind.in_block())
            .map_or(self.start_kelvin, |stage| stage.outside_start_kelvin);
        for stage in self.stages.iter().filter(|stage| stage.kind.in_block()) {
            if time_s < stage.start_s {
                break;
            }
            reading = stage.outside_kelvin((time_s - stage.start_s).min(stage.duration_s));
        }
        reading
    }
}
