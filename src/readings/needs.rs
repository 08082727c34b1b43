//! The columns that a push needs beside its reading.

use super::header::Role;
use super::kind::ReadingKind;

/// 'a force reading', 'a timed run'.
pub(crate) fn what_needs(kind: ReadingKind) -> &'static str {
    if kind == ReadingKind::RunTime {
        "a timed run"
    } else {
        "a force reading"
    }
}

/// The columns that a push needs beside its reading; a measured bore stands for gauge and wall.
pub(crate) fn needed_by(kind: ReadingKind) -> &'static [(Role, &'static str)] {
    const FORCE: [(Role, &str); 5] = [
        (Role::NeedleGauge, "the needle's gauge"),
        (Role::NeedleWall, "the needle's wall"),
        (Role::NeedleLength, "the needle's length"),
        (Role::BarrelBore, "the barrel's bore"),
        (Role::Flow, "the flow rate of the push"),
    ];
    const RUN: [(Role, &str); 6] = [
        (Role::DeadWeight, "the weight on the plunger"),
        (Role::RunVolume, "the volume that was timed"),
        (Role::NeedleGauge, "the needle's gauge"),
        (Role::NeedleWall, "the needle's wall"),
        (Role::NeedleLength, "the needle's length"),
        (Role::BarrelBore, "the barrel's bore"),
    ];
    match kind {
        ReadingKind::Force => &FORCE,
        ReadingKind::RunTime => &RUN,
        _ => &[],
    }
}
