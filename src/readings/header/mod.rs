//! The header of a bench table: which column is what, in which unit.

mod layout;
mod recognise;
mod roles;

pub(crate) use layout::{KnownColumn, Layout};
#[cfg(feature = "tables")]
pub(crate) use recognise::is_known_number;
pub(crate) use roles::Role;

use self::recognise::{Recognised, near, recognise};
use super::error::{Counted, FaultList, Problem};
use super::needs::{needed_by, what_needs};
use super::table::ReadingKind;

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

fn shown(headers: &[&str]) -> String {
    headers
        .iter()
        .map(|header| crate::units::quantity::excerpt(header))
        .collect::<Vec<_>>()
        .join(", ")
}
