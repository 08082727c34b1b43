//! What a column can be, how it is headed, and what its numbers may be.

use crate::readings::kind::ReadingKind;
use crate::readings::limits::Limit;
use crate::units::{ColumnUnit, Dimension};

/// What a column is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Role {
    HeatTemp,
    HeatTime,
    Reading(ReadingKind),
    ReadingSd,
    ShearRate,
    Lot,
    Operator,
    Block,
    Place,
    Session,
    Blend,
    HaFraction,
    ReadTemp,
    StandTime,
    StandTemp,
    NeedleGauge,
    NeedleWall,
    NeedleLength,
    BarrelBore,
    Flow,
    Friction,
    NeedleBore,
    NeedleBoreSd,
    DeadWeight,
    RunVolume,
    Content,
    KnownViscosity,
    KnownViscositySd,
    Seen,
    Criterion,
    Syringe,
    Use,
    Note,
}

pub(super) struct Known {
    pub(super) base: &'static str,
    pub(super) role: Role,
    pub(super) dimension: Option<Dimension>,
}

const fn with_unit(base: &'static str, role: Role, dimension: Dimension) -> Known {
    Known {
        base,
        role,
        dimension: Some(dimension),
    }
}

const fn bare(base: &'static str, role: Role) -> Known {
    Known {
        base,
        role,
        dimension: None,
    }
}

pub(super) static KNOWN: [Known; 37] = [
    with_unit("heat_temp", Role::HeatTemp, Dimension::Temperature),
    with_unit("heat_time", Role::HeatTime, Dimension::Duration),
    with_unit(
        "viscosity",
        Role::Reading(ReadingKind::Viscosity),
        Dimension::Viscosity,
    ),
    with_unit(
        "modulus",
        Role::Reading(ReadingKind::Modulus),
        Dimension::Pressure,
    ),
    with_unit("force", Role::Reading(ReadingKind::Force), Dimension::Force),
    with_unit(
        "firmness",
        Role::Reading(ReadingKind::Firmness),
        Dimension::Firmness,
    ),
    with_unit(
        "run_time",
        Role::Reading(ReadingKind::RunTime),
        Dimension::Duration,
    ),
    bare("reading_sd", Role::ReadingSd),
    with_unit("shear_rate", Role::ShearRate, Dimension::ShearRate),
    bare("lot", Role::Lot),
    bare("operator", Role::Operator),
    bare("block", Role::Block),
    bare("place", Role::Place),
    bare("session", Role::Session),
    bare("blend", Role::Blend),
    bare("ha_fraction", Role::HaFraction),
    with_unit("read_temp", Role::ReadTemp, Dimension::Temperature),
    with_unit("stand_time", Role::StandTime, Dimension::Duration),
    with_unit("stand_temp", Role::StandTemp, Dimension::Temperature),
    bare("needle_gauge", Role::NeedleGauge),
    bare("needle_wall", Role::NeedleWall),
    with_unit("needle_length", Role::NeedleLength, Dimension::Length),
    with_unit("barrel_bore", Role::BarrelBore, Dimension::Length),
    with_unit("flow", Role::Flow, Dimension::FlowRate),
    with_unit("friction", Role::Friction, Dimension::Force),
    with_unit("needle_bore", Role::NeedleBore, Dimension::Length),
    with_unit("needle_bore_sd", Role::NeedleBoreSd, Dimension::Length),
    with_unit("dead_weight", Role::DeadWeight, Dimension::Mass),
    with_unit("run_volume", Role::RunVolume, Dimension::Volume),
    bare("content", Role::Content),
    with_unit(
        "content_viscosity",
        Role::KnownViscosity,
        Dimension::Viscosity,
    ),
    with_unit(
        "content_viscosity_sd",
        Role::KnownViscositySd,
        Dimension::Viscosity,
    ),
    bare("seen", Role::Seen),
    bare("criterion", Role::Criterion),
    bare("syringe", Role::Syringe),
    bare("use", Role::Use),
    bare("note", Role::Note),
];

impl Role {
    /// What a number of this column may be; `None` for text.
    pub(crate) fn limit(self) -> Option<Limit> {
        match self {
            Role::HeatTemp | Role::ReadTemp | Role::StandTemp => Some(Limit::Temperature),
            Role::HeatTime | Role::StandTime | Role::Friction => Some(Limit::NotNegative),
            Role::Reading(kind) => Some(kind.limit()),
            Role::ReadingSd
            | Role::ShearRate
            | Role::NeedleLength
            | Role::BarrelBore
            | Role::Flow
            | Role::NeedleBore
            | Role::DeadWeight
            | Role::RunVolume
            | Role::KnownViscosity => Some(Limit::Positive),
            Role::NeedleBoreSd | Role::KnownViscositySd => Some(Limit::NotNegative),
            Role::HaFraction => Some(Limit::Fraction),
            Role::NeedleGauge => Some(Limit::Gauge),
            Role::Lot
            | Role::Operator
            | Role::Block
            | Role::Place
            | Role::Session
            | Role::Blend
            | Role::NeedleWall
            | Role::Content
            | Role::Seen
            | Role::Criterion
            | Role::Syringe
            | Role::Use
            | Role::Note => None,
        }
    }

    /// The ways to head such a column: 'heat_temp_C, heat_temp_K or heat_temp_F'.
    pub(super) fn headers(self) -> String {
        KNOWN
            .iter()
            .find(|known| known.role == self)
            .map_or_else(String::new, headers_of)
    }
}

fn headers_of(known: &Known) -> String {
    let Some(dimension) = known.dimension else {
        return known.base.to_string();
    };
    let written: Vec<String> = ColumnUnit::suffixes_of(dimension)
        .iter()
        .map(|suffix| format!("{}{suffix}", known.base))
        .collect();
    match written.split_last() {
        Some((last, before)) if !before.is_empty() => format!("{} or {last}", before.join(", ")),
        _ => written.concat(),
    }
}
