//! Accepted entries as a bench table, for a refit.

use super::entry::{Entry, Reading};
use super::error::BatchesError;
use crate::readings::{BenchTable, NeedleDetails, ReadingKind, ReadingsError, RowDetails, Source};

/// The entries that a refit may take: accepted, not corrected, read as a number of that kind.
#[must_use]
pub fn accepted_entries(entries: &[Entry], kind: ReadingKind) -> Vec<&Entry> {
    entries
        .iter()
        .filter(|entry| entry.stands() && entry.entered.accepted)
        .filter(|entry| {
            matches!(
                (&entry.entered.reading, kind),
                (Reading::PlungerForce { .. }, ReadingKind::Force)
                    | (Reading::Viscosity { .. }, ReadingKind::Viscosity)
            )
        })
        .collect()
}

/// A bench table of the accepted entries of one kind of reading, as a fit takes it; `file` names the
/// log in it.
///
/// # Errors
/// No such entry; values that no bench table may have.
pub fn accepted_bench(
    entries: &[Entry],
    kind: ReadingKind,
    file: &str,
) -> Result<Result<BenchTable, ReadingsError>, BatchesError> {
    let accepted = accepted_entries(entries, kind);
    if accepted.is_empty() {
        return Err(BatchesError::NothingToExport {
            reason: format!(
                "{file} has no accepted entry with a reading of {}.",
                kind.quantity()
            ),
            helps: "entries inside their interval are accepted by themselves; one outside that was read well is entered again with --corrects N --accept".to_owned(),
        });
    }
    let column = |pick: fn(&Entry) -> f64| accepted.iter().map(|e| pick(e)).collect::<Vec<_>>();
    let rows: Vec<RowDetails> = accepted.iter().map(|entry| row(entry)).collect();
    let invented = accepted.iter().any(|entry| entry.entered.invented);
    let table = BenchTable::from_arrays(
        kind,
        column(|e| e.entered.heated.set_kelvin),
        column(|e| e.entered.heated.heat_time_s),
        column(|e| e.entered.reading.value_in_unit().unwrap_or(f64::NAN)),
    )
    .map(|table| BenchTable {
        sources: table
            .sources
            .iter()
            .map(|source| Source {
                file: file.to_owned(),
                ..source.clone()
            })
            .collect(),
        rows,
        invented,
        ..table
    });
    Ok(table)
}

fn row(entry: &Entry) -> RowDetails {
    let entered = &entry.entered;
    let (shear_rate_per_s, needle) = match &entered.reading {
        Reading::PlungerForce { push, .. } => {
            let needle = NeedleDetails {
                gauge: push.gauge,
                wall: push.wall.map(|wall| wall.to_string()),
                length_m: Some(push.length_m),
                barrel_bore_m: Some(push.barrel_bore_m),
                flow_rate_m3_per_s: Some(push.flow_rate_m3_per_s),
                friction_n: Some(push.friction_n),
                // The tables know the bore of a gauge better, its tolerance with it.
                bore_m: push.gauge.is_none().then_some(push.bore_m),
                ..NeedleDetails::default()
            };
            (None, Some(needle))
        }
        Reading::Viscosity {
            shear_rate_per_s, ..
        } => (*shear_rate_per_s, None),
        Reading::Bubble { .. } => (None, None),
    };
    RowDetails {
        shear_rate_per_s,
        lot: Some(entered.codes.lot.clone()),
        operator: entered.codes.operator.clone(),
        block: entered.codes.block.clone(),
        place: entered.codes.place.clone(),
        session: entered.codes.session.clone(),
        blend: Some(entered.blend.clone()),
        ha_fraction: entered.ha_fraction,
        read_temp_kelvin: entered.gel_kelvin,
        needle,
        note: Some(format!("log entry {}", entry.number)),
        ..RowDetails::default()
    }
}
