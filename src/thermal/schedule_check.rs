//! What makes a heat schedule impossible, for one that is read from a file and for one that is
//! made in memory alike.

use super::schedule::StageKind;
use crate::units::display;

/// Temperatures of a schedule lie above absolute zero and up to here, in K.
pub(crate) const HIGHEST_KELVIN: f64 = 400.0;

/// A value that may have been left out, or that stands there and cannot be read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Known {
    Absent,
    Broken,
    Value(f64),
}

impl Known {
    pub(crate) fn value(self) -> Option<f64> {
        match self {
            Self::Value(value) => Some(value),
            Self::Absent | Self::Broken => None,
        }
    }
}

/// A schedule as far as it could be read.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Draft {
    pub start_kelvin: Known,
    pub block_start_kelvin: Known,
    pub ramp_kelvin_per_s: Known,
    pub stages: Vec<DraftStage>,
}

/// A stage as far as it could be read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct DraftStage {
    /// Nothing where the word could not be read.
    pub kind: Option<StageKind>,
    pub set_kelvin: Known,
    pub time_s: Known,
}

/// What a fault of a schedule is the fault of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Part {
    Whole,
    StartTemp,
    BlockStart,
    Ramp,
    /// A stage as a whole, by number from 0.
    Stage(usize),
    StageSet(usize),
    StageTime(usize),
}

#[derive(Debug, Clone, PartialEq)]
pub(crate) struct DraftFault {
    pub part: Part,
    pub message: String,
    pub remedy: String,
}

fn fault(part: Part, message: impl Into<String>, remedy: impl Into<String>) -> DraftFault {
    DraftFault {
        part,
        message: message.into(),
        remedy: remedy.into(),
    }
}

impl Draft {
    /// Everything that is wrong with what could be read.
    pub(crate) fn faults(&self) -> Vec<DraftFault> {
        let mut faults = Vec::new();
        temperature(
            &mut faults,
            Part::StartTemp,
            "start_temp",
            self.start_kelvin,
        );
        temperature(
            &mut faults,
            Part::BlockStart,
            "block_start",
            self.block_start_kelvin,
        );
        self.stage_faults(&mut faults);
        self.ramp_faults(&mut faults);
        faults
    }

    fn stage_faults(&self, faults: &mut Vec<DraftFault>) {
        if self.stages.is_empty() {
            faults.push(fault(
                Part::Whole,
                "the schedule has no stage",
                "add [[stage]] with kind = \"heat\", set = \"86C\" and time = \"7min\"",
            ));
            return;
        }
        let no_heat = self
            .stages
            .iter()
            .all(|stage| stage.kind.is_some_and(|kind| kind != StageKind::Heat));
        if no_heat {
            faults.push(fault(
                Part::Whole,
                "no stage heats",
                "one stage at least has kind = \"heat\"",
            ));
        }
        let mut open = None;
        for (number, stage) in self.stages.iter().enumerate() {
            temperature(faults, Part::StageSet(number), "set", stage.set_kelvin);
            match (stage.time_s, stage.kind) {
                (Known::Absent, Some(StageKind::Heat)) => match open {
                    None => open = Some(number),
                    Some(first) => faults.push(fault(
                        Part::Stage(number),
                        format!(
                            "stages {} and {} both have no time",
                            first + 1,
                            number + 1
                        ),
                        "one heat stage may lack its time, the one that is asked for; give the other its own",
                    )),
                },
                (Known::Absent, Some(kind)) => faults.push(fault(
                    Part::Stage(number),
                    format!("the {} stage has no time", kind.as_str()),
                    "add for instance time = \"6min\"; only a heat stage may leave it open",
                )),
                (Known::Value(time_s), _) if time_s < 0.0 => faults.push(fault(
                    Part::StageTime(number),
                    format!("time is negative ({} s)", display::plain(time_s)),
                    "give zero or more",
                )),
                (Known::Value(time_s), _) if !time_s.is_finite() => faults.push(fault(
                    Part::StageTime(number),
                    "time is not a finite number",
                    "give a time that a clock can show, such as 7min",
                )),
                _ => {}
            }
        }
    }

    /// The first stage that puts the syringe into the block.
    fn insertion(&self) -> Option<&DraftStage> {
        // A stage of unknown kind before it leaves open which it is.
        let first = self
            .stages
            .iter()
            .find(|stage| stage.kind != Some(StageKind::Cool))?;
        first.kind.is_some().then_some(first)
    }

    fn ramp_faults(&self, faults: &mut Vec<DraftFault>) {
        let set_kelvin = self.insertion().and_then(|stage| stage.set_kelvin.value());
        match (self.ramp_kelvin_per_s, self.block_start_kelvin) {
            (Known::Value(ramp), _) if !(ramp.is_finite() && ramp != 0.0) => faults.push(fault(
                Part::Ramp,
                "a ramp of zero never reaches the set temperature",
                "give the block's rate of heating, such as 20K/min, or leave ramp out",
            )),
            (Known::Value(_), Known::Absent) => faults.push(fault(
                Part::Ramp,
                "ramp is given and block_start is not",
                "say where the block starts: block_start = \"22C\"; or leave ramp out",
            )),
            (Known::Value(ramp), Known::Value(block)) => {
                if let Some(set) = set_kelvin
                    && (set - block) * ramp < 0.0
                {
                    let (way, remedy) = if ramp > 0.0 {
                        (
                            "up",
                            "a block that comes down to its set temperature has a ramp below zero",
                        )
                    } else {
                        (
                            "down",
                            "a block that heats up to its set temperature has a ramp above zero",
                        )
                    };
                    faults.push(fault(
                        Part::Ramp,
                        format!(
                            "from block_start {} this ramp goes {way} and never reaches the set temperature {}",
                            display::temperature(block),
                            display::temperature(set)
                        ),
                        remedy,
                    ));
                }
            }
            (Known::Absent, Known::Value(block)) => {
                if let Some(set) = set_kelvin
                    && (set - block).abs() > 1e-9
                {
                    faults.push(fault(
                        Part::BlockStart,
                        format!(
                            "the block starts at {} and is set to {}, and nothing says how fast it gets there",
                            display::temperature(block),
                            display::temperature(set)
                        ),
                        "add its rate of heating, such as ramp = \"20K/min\"; or leave block_start out where the block already reads its set temperature",
                    ));
                }
            }
            _ => {}
        }
    }
}

fn temperature(faults: &mut Vec<DraftFault>, part: Part, name: &str, value: Known) {
    let Some(kelvin) = value.value() else {
        return;
    };
    if !(kelvin > 0.0 && kelvin <= HIGHEST_KELVIN) {
        faults.push(fault(
            part,
            if kelvin > 0.0 {
                format!("{name} is {} K ({})", display::plain(kelvin), display::temperature(kelvin))
            } else {
                format!("{name} is {} K", display::plain(kelvin))
            },
            format!(
                "temperatures lie above 0 K and up to {HIGHEST_KELVIN} K (126.85 °C): is the unit right?"
            ),
        ));
    }
}
