//! Which pushes are of the same gel through the same bore.

use std::collections::BTreeMap;

use super::super::table::BenchTable;
use super::runs::Run;

/// Gels read at temperatures further apart than this are not the same reading, in K.
const SAME_READ_TEMPERATURE_KELVIN: f64 = 2.0;

/// Pushes of one gel through one bore.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Gel {
    /// Their numbers among the runs.
    pub runs: Vec<usize>,
    /// Number of the gel, which several bores can share.
    pub gel: usize,
    /// Number of the bore.
    pub bore: usize,
}

/// Blend, lot, heat temperature and time, standing time and temperature.
type Same = (String, Option<String>, [u64; 4]);

/// The sets, in the order in which their first rows stand.
pub(super) fn gels_of(table: &BenchTable, runs: &[Run]) -> Vec<Gel> {
    let bits = |value: Option<f64>| value.map_or(u64::MAX, f64::to_bits);
    let mut same: BTreeMap<Same, Vec<(Option<f64>, usize)>> = BTreeMap::new();
    for (number, run) in runs.iter().enumerate() {
        let Some(row) = table.rows.get(run.row) else {
            continue;
        };
        let key = (
            row.blend_name(),
            row.lot.clone(),
            [
                // Written in °C or K, the same temperature differs in its last bits.
                (table.heat_temp_kelvin.get(run.row).copied().unwrap_or(0.0) * 1e4).round() as u64,
                (table.heat_time_s.get(run.row).copied().unwrap_or(0.0) * 1e3).round() as u64,
                bits(row.stand_time_s),
                bits(row.stand_temp_kelvin),
            ],
        );
        same.entry(key)
            .or_default()
            .push((row.read_temp_kelvin, number));
    }
    let mut gels: Vec<Vec<usize>> = Vec::new();
    for mut rows in same.into_values() {
        rows.sort_by(|a, b| {
            let kelvin = |value: &Option<f64>| value.unwrap_or(0.0);
            kelvin(&a.0).total_cmp(&kelvin(&b.0)).then(a.1.cmp(&b.1))
        });
        let mut from = f64::NEG_INFINITY;
        for (kelvin, number) in rows {
            let kelvin = kelvin.unwrap_or(0.0);
            match gels.last_mut() {
                Some(gel) if kelvin - from <= SAME_READ_TEMPERATURE_KELVIN => gel.push(number),
                _ => {
                    from = kelvin;
                    gels.push(vec![number]);
                }
            }
        }
    }
    for gel in &mut gels {
        gel.sort_unstable();
    }
    gels.sort_by_key(|gel| gel.first().copied());
    let mut sets = Vec::new();
    for (gel, numbers) in gels.into_iter().enumerate() {
        let mut by_bore: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for number in numbers {
            if let Some(run) = runs.get(number) {
                by_bore.entry(run.bore).or_default().push(number);
            }
        }
        sets.extend(
            by_bore
                .into_iter()
                .map(|(bore, runs)| Gel { runs, gel, bore }),
        );
    }
    sets
}
