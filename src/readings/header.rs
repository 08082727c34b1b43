//! The header of a bench table: which column is what, in which unit.

use super::error::{Counted, FaultList, Problem};
use super::limits::Limit;
use super::needs::{needed_by, what_needs};
use super::table::ReadingKind;
use crate::units::{ColumnUnit, Dimension, split_header};

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

struct Known {
    base: &'static str,
    role: Role,
    dimension: Option<Dimension>,
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

static KNOWN: [Known; 37] = [
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
    fn headers(self) -> String {
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

/// A column that means something.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct KnownColumn {
    /// Its place in the table, from 0.
    pub index: usize,
    pub role: Role,
    pub unit: Option<ColumnUnit>,
}

/// The header, understood.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Layout {
    pub known: Vec<KnownColumn>,
    /// Places of the columns that mean nothing here.
    pub unknown: Vec<usize>,
    pub kind: Option<ReadingKind>,
}

impl Layout {
    pub(crate) fn column(&self, role: Role) -> Option<KnownColumn> {
        self.known
            .iter()
            .copied()
            .find(|column| column.role == role)
    }

    pub(crate) fn reading(&self) -> Option<KnownColumn> {
        self.known
            .iter()
            .copied()
            .find(|column| matches!(column.role, Role::Reading(_)))
    }

    /// Whether the table says what was seen in place of readings.
    pub(crate) fn is_seen(&self) -> bool {
        self.column(Role::Seen).is_some()
    }

    /// Beside readings, columns of what was seen mean nothing: their text is kept as a note.
    fn leave_seen_columns_aside(&mut self) {
        if self.is_seen() {
            return;
        }
        let aside = |column: &KnownColumn| matches!(column.role, Role::Criterion | Role::Syringe);
        let columns = self.known.iter().copied().filter(aside);
        self.unknown.extend(columns.map(|column| column.index));
        self.unknown.sort_unstable();
        self.known.retain(|column| !aside(column));
    }
}

/// Finds out what every column is; what is wrong with the header goes into `faults`.
pub(crate) fn understand(
    headers: &[&str],
    line: Option<usize>,
    counted: Counted,
    faults: &mut FaultList,
) -> Layout {
    let mut layout = Layout::default();
    let mut misnamed: Vec<(Role, &str)> = Vec::new();
    let mut readings: Vec<&str> = Vec::new();
    let mut fault = |column: Option<&str>, message: String, remedy: Option<String>| {
        faults.push(Problem {
            line,
            counted,
            // A header that stands twice is told where it stands the second time.
            column_index: column.and_then(|name| headers.iter().rposition(|own| *own == name)),
            column: column.map(crate::units::quantity::excerpt),
            found: column.map(crate::units::quantity::excerpt),
            message,
            remedy,
            ..Problem::default()
        });
    };
    for (index, &header) in headers.iter().enumerate() {
        if header.is_empty() {
            fault(
                None,
                format!("column {} has values and no header", index + 1),
                Some("name it, or empty it".to_string()),
            );
            continue;
        }
        if headers.iter().take(index).any(|earlier| *earlier == header) {
            fault(
                Some(header),
                "this header stands twice".to_string(),
                Some("rename or remove one of the two columns".to_string()),
            );
            continue;
        }
        match recognise(header) {
            Recognised::Column(role, unit) => {
                if let Role::Reading(kind) = role {
                    readings.push(header);
                    layout.kind.get_or_insert(kind);
                } else if layout.column(role).is_some() {
                    fault(
                        Some(header),
                        "an earlier column gives the same in another unit".to_string(),
                        Some("keep one of the two".to_string()),
                    );
                    continue;
                }
                layout.known.push(KnownColumn { index, role, unit });
            }
            Recognised::NoUnit(role) => {
                misnamed.push((role, header));
                fault(
                    Some(header),
                    "the header has no unit".to_string(),
                    Some(format!("write {}", role.headers())),
                );
            }
            Recognised::OtherUnit(role, symbol) => {
                misnamed.push((role, header));
                fault(
                    Some(header),
                    format!("{symbol} is no unit for this column"),
                    Some(format!("write {}", role.headers())),
                );
            }
            Recognised::Unknown => layout.unknown.push(index),
        }
    }
    if readings.len() > 1 {
        fault(
            readings.get(1).copied(),
            format!("{} reading columns: {}", readings.len(), shown(&readings)),
            Some("keep one; the others can go into a table of their own".to_string()),
        );
    }
    layout.leave_seen_columns_aside();
    if let (true, Some(kind)) = (layout.is_seen(), layout.kind)
        && kind != ReadingKind::Force
    {
        fault(
            readings.first().copied(),
            "a table holds readings or what was seen, not both".to_string(),
            Some("put one of them into a table of its own; only force_N may stand beside seen, for syringes that were pushed too".to_string()),
        );
    }
    // A column that is there under a wrong header has been told already.
    let told = |role: Role| misnamed.iter().any(|(wrong, _)| *wrong == role);
    for (role, what) in [
        (Role::HeatTemp, "the block's set temperature"),
        (Role::HeatTime, "the heat time"),
    ] {
        if layout.column(role).is_none() && !told(role) {
            fault(
                None,
                format!("no column for {what}"),
                Some(format!(
                    "add {}{}",
                    role.headers(),
                    near(headers, &layout, &[role])
                )),
            );
        }
    }
    let kinds = [
        Role::Reading(ReadingKind::Viscosity),
        Role::Reading(ReadingKind::Modulus),
        Role::Reading(ReadingKind::Force),
        Role::Reading(ReadingKind::Firmness),
        Role::Reading(ReadingKind::RunTime),
    ];
    if readings.is_empty() && !layout.is_seen() && !kinds.iter().any(|kind| told(*kind)) {
        fault(
            None,
            "no column for the reading".to_string(),
            Some(format!(
                "add one of viscosity_Pa_s, modulus_Pa, force_N, run_time_s, firmness_au{}",
                near(headers, &layout, &kinds)
            )),
        );
    }
    if let Some(kind) = layout.kind.filter(|kind| kind.is_push()) {
        let what_needs = what_needs(kind);
        let measured_bore = layout.column(Role::NeedleBore).is_some();
        for &(role, what) in needed_by(kind) {
            let replaced = measured_bore && matches!(role, Role::NeedleGauge | Role::NeedleWall);
            if layout.column(role).is_none() && !told(role) && !replaced {
                fault(
                    None,
                    format!("no column for {what}, which {what_needs} needs"),
                    Some(format!(
                        "add {}{}",
                        role.headers(),
                        near(headers, &layout, &[role])
                    )),
                );
            }
        }
    }
    for role in [Role::DeadWeight, Role::RunVolume] {
        let header = layout
            .column(role)
            .and_then(|column| headers.get(column.index));
        if let (Some(header), Some(kind)) = (header, layout.kind)
            && !matches!(kind, ReadingKind::RunTime | ReadingKind::Viscosity)
        {
            fault(
                Some(header),
                format!("this belongs to a timed run, and the readings are of {}", kind.quantity()),
                Some("for timed runs add run_time_s in place of the reading; else take the column out".to_string()),
            );
        }
    }
    for role in [
        Role::Content,
        Role::KnownViscosity,
        Role::NeedleBore,
        Role::NeedleBoreSd,
    ] {
        let header = layout
            .column(role)
            .and_then(|column| headers.get(column.index));
        if let (Some(header), Some(ReadingKind::Modulus | ReadingKind::Firmness)) =
            (header, layout.kind)
        {
            fault(
                Some(header),
                "this belongs to a push through a needle, and no reading here is one".to_string(),
                Some("take the column out".to_string()),
            );
        }
    }
    layout
}

/// Whether a header names a column of numbers that is understood.
#[cfg(feature = "tables")]
pub(crate) fn is_known_number(header: &str) -> bool {
    matches!(recognise(header), Recognised::Column(role, _) if role.limit().is_some())
}

enum Recognised {
    Column(Role, Option<ColumnUnit>),
    NoUnit(Role),
    OtherUnit(Role, &'static str),
    Unknown,
}

fn recognise(header: &str) -> Recognised {
    if let Some(known) = KNOWN.iter().find(|known| known.base == header) {
        return match known.dimension {
            None => Recognised::Column(known.role, None),
            Some(_) => Recognised::NoUnit(known.role),
        };
    }
    // Longer bases first by construction of the suffixes: `heat_temp_C` ends in one unit only.
    if let Some(parts) = split_header(header)
        && let Some(known) = KNOWN.iter().find(|known| known.base == parts.base)
        && let Some(dimension) = known.dimension
    {
        return if parts.unit.dimension() == dimension {
            Recognised::Column(known.role, Some(parts.unit))
        } else {
            Recognised::OtherUnit(known.role, parts.unit.symbol())
        };
    }
    Recognised::Unknown
}

/// ': is it "heat_temp_degC"?' where an unknown column begins like the missing one.
fn near(headers: &[&str], layout: &Layout, roles: &[Role]) -> String {
    let plain = |text: &str| {
        text.to_lowercase()
            .replace([' ', '-', '(', ')', '.', '/'], "_")
    };
    layout
        .unknown
        .iter()
        .filter_map(|&index| headers.get(index))
        .find(|header| {
            KNOWN
                .iter()
                .any(|known| roles.contains(&known.role) && plain(header).starts_with(known.base))
        })
        .map_or_else(String::new, |header| {
            format!("; is it \"{}\"?", crate::units::quantity::excerpt(header))
        })
}

fn shown(headers: &[&str]) -> String {
    headers
        .iter()
        .map(|header| crate::units::quantity::excerpt(header))
        .collect::<Vec<_>>()
        .join(", ")
}

#[cfg(all(test, feature = "tables"))]
mod tests {
    use super::*;
    use crate::readings::template::{blank_bench_table, explained_columns};

    /// Columns of what was seen stand in a part of the blank table of their own.
    fn of_what_was_seen(name: &str) -> bool {
        blank_bench_table()
            .lines()
            .any(|line| line.starts_with("#   ") && line.split_whitespace().nth(1) == Some(name))
    }

    #[test]
    fn every_known_column_is_explained_and_every_explained_header_is_known() {
        for known in &KNOWN {
            assert!(
                explained_columns().iter().any(|explained| {
                    split_header(explained.column).map_or(explained.column, |parts| parts.base)
                        == known.base
                }) || of_what_was_seen(known.base),
                "{}",
                known.base
            );
        }
        for explained in explained_columns() {
            let also = explained.also.split(", ").filter(|name| !name.is_empty());
            for header in also.chain([explained.column]) {
                assert!(
                    matches!(recognise(header), Recognised::Column(..)),
                    "{header}"
                );
            }
        }
    }
}
