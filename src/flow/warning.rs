//! Where the figures of a push stop holding.

use std::fmt;

use super::push::{Push, PushConditions};
use crate::reference::constants::LUER_JOINT_PROOF_PRESSURE_PA;
use crate::reference::{Hands, ReferenceError, hands};
use crate::units::display;

/// What every face that shows a pressure says of the joint.
pub const JOINT_STATEMENT: &str = "the needle must sit on a locking joint; \
     a luer joint is tested for leaks at 300 kPa (from memory)";

/// An entrance up to this share of the needle is small. Source: common practice, no source.
const SMALL_ENTRANCE_RATIO: f64 = 0.1;

/// A doubt about a push. Its figures are shown all the same.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum FlowWarning {
    /// The Reynolds number forbids the laminar law.
    NotLaminar {
        /// Generalised Reynolds number.
        reynolds: f64,
        /// The value of it up to which this curve flows laminar.
        critical_reynolds: f64,
    },
    /// The flow takes a good part of the needle to develop, and the losses at its ends are
    /// not counted.
    EntranceNotSmall {
        /// Length after which the flow is developed.
        entrance_length_m: f64,
        /// Length of the needle.
        length_m: f64,
    },
    /// The flow is nowhere developed in so short a needle.
    EntranceLongerThanNeedle {
        /// Length after which the flow would be developed.
        entrance_length_m: f64,
        /// Length of the needle.
        length_m: f64,
    },
    /// More pressure than the luer joint is tested for, in a push above what hands should give.
    PressureAboveJointTest {
        /// Pressure in the barrel.
        joint_pressure_pa: f64,
        /// Force on the plunger.
        plunger_force_n: f64,
    },
    /// More force than the most that is published for hands.
    ForceAboveHand {
        /// Force on the plunger.
        plunger_force_n: f64,
        /// The published most.
        at_most_n: f64,
    },
}

impl FlowWarning {
    /// The code that programs read.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::NotLaminar { .. } => "not_laminar",
            Self::EntranceNotSmall { .. } => "entrance_not_small",
            Self::EntranceLongerThanNeedle { .. } => "entrance_longer_than_needle",
            Self::PressureAboveJointTest { .. } => "pressure_above_joint_test",
            Self::ForceAboveHand { .. } => "force_above_hand",
        }
    }
}

impl fmt::Display for FlowWarning {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::NotLaminar {
                reynolds,
                critical_reynolds,
            } => write!(
                out,
                "the flow is not laminar (Reynolds number {reynolds:.0}, limit \
                 {critical_reynolds:.0}): the laminar figure does not hold, the true force is \
                 higher.\nWhat helps: push slower"
            ),
            Self::EntranceNotSmall {
                entrance_length_m,
                length_m,
            } => write!(
                out,
                "the flow needs {} of the needle's {} to develop, and what that takes is not \
                 counted: the true force is higher.\nWhat helps: count it (--end-losses), or \
                 push slower",
                display::length_mm((entrance_length_m * 1e5).round() * 1e-5),
                display::length_mm(length_m)
            ),
            Self::EntranceLongerThanNeedle {
                entrance_length_m,
                length_m,
            } => write!(
                out,
                "the flow needs {:.1} mm behind the entrance to develop and the needle has \
                 {}: the true force is higher.\nWhat helps: push slower, or count the end \
                 losses",
                entrance_length_m * 1e3,
                display::length_mm(length_m)
            ),
            Self::PressureAboveJointTest {
                joint_pressure_pa,
                plunger_force_n,
            } => write!(
                out,
                "{} in the barrel at {} is above the {} that a luer joint is tested for: it \
                 may leak or come apart, and must be a locking one.\nWhat helps: a wider \
                 needle, a slower push, less heat",
                display::pressure(joint_pressure_pa),
                display::force(plunger_force_n),
                display::pressure(LUER_JOINT_PROOF_PRESSURE_PA)
            ),
            Self::ForceAboveHand {
                plunger_force_n,
                at_most_n,
            } => write!(
                out,
                "{} is above the {} that publications give a hand at most.\nWhat helps: a wider \
                 needle, a slower push, a smaller syringe, less heat",
                display::force(plunger_force_n),
                display::force(at_most_n)
            ),
        }
    }
}

/// The doubts about a push; none where there is none.
///
/// The pressure alone is no warning: a 1 mL syringe passes the joint's test pressure at
/// 7 N. It is always stated, with [`JOINT_STATEMENT`], and becomes a warning where the
/// force is above what hands should give.
///
/// # Errors
/// [`ReferenceError`] where the embedded table of hand forces cannot be read.
///
/// # Source
/// Laminar limit: [`super::reynolds::critical_reynolds`]. Joint: ISO 80369-7, from memory. Hands: Watt et
/// al. 2019, at most 40 N.
pub fn warnings(
    push: &Push,
    conditions: &PushConditions,
) -> Result<Vec<FlowWarning>, ReferenceError> {
    Ok(warnings_against(
        push,
        conditions.inputs().length_m,
        conditions.inputs().include_end_losses,
        &hands()?,
    ))
}

fn warnings_against(
    push: &Push,
    length_m: f64,
    ends_counted: bool,
    hands: &Hands,
) -> Vec<FlowWarning> {
    let mut found = Vec::new();
    if !push.laminar {
        found.push(FlowWarning::NotLaminar {
            reynolds: push.reynolds,
            critical_reynolds: push.critical_reynolds,
        });
    }
    if push.entrance_length_m > length_m {
        found.push(FlowWarning::EntranceLongerThanNeedle {
            entrance_length_m: push.entrance_length_m,
            length_m,
        });
    } else if !ends_counted && push.entrance_length_m > SMALL_ENTRANCE_RATIO * length_m {
        found.push(FlowWarning::EntranceNotSmall {
            entrance_length_m: push.entrance_length_m,
            length_m,
        });
    }
    if push.plunger_force_n > hands.at_most_n {
        if push.joint_pressure_pa > LUER_JOINT_PROOF_PRESSURE_PA {
            found.push(FlowWarning::PressureAboveJointTest {
                joint_pressure_pa: push.joint_pressure_pa,
                plunger_force_n: push.plunger_force_n,
            });
        }
        found.push(FlowWarning::ForceAboveHand {
            plunger_force_n: push.plunger_force_n,
            at_most_n: hands.at_most_n,
        });
    }
    found
}
