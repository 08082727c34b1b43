//! Looks at a conversion and lists what it assumed.

use super::super::table::BenchTable;
use super::assumptions::{ForceAssumption, extremes};
use super::bores::{BoreSource, Bores};
use super::frictions::{FrictionSource, Frictions};
use super::{CommonParts, NeedleReading};
use crate::flow::creeping_end_correction_radii;
use crate::reference::constants::LUER_JOINT_PROOF_PRESSURE_PA;

/// The Reynolds number over which a tube's flow may not be laminar.
const LAMINAR_REYNOLDS: f64 = 2100.0;

pub(super) fn assumptions(
    table: &BenchTable,
    readings: &[NeedleReading],
    bores: &Bores,
    frictions: &Frictions,
) -> Vec<ForceAssumption> {
    let mut found = of_bores(bores);
    found.extend(of_frictions(frictions));
    let jets = || {
        readings
            .iter()
            .filter(|one| one.kinetic_pa > 0.0)
            .map(|one| one.kinetic_pa / (one.kinetic_pa + one.pressure_pa))
    };
    if let Some((_, highest_ratio)) = extremes(jets()) {
        found.push(ForceAssumption::JetTakenOff {
            rows: jets().count(),
            highest_ratio,
        });
    }
    let fast: Vec<(usize, f64)> = readings
        .iter()
        .zip(&table.rows)
        .filter(|(one, _)| one.reynolds > LAMINAR_REYNOLDS)
        .map(|(one, row)| (row.line, one.reynolds))
        .collect();
    if let Some((_, highest_reynolds)) = extremes(fast.iter().map(|(_, reynolds)| *reynolds)) {
        found.push(ForceAssumption::NotLaminar {
            lines: fast.iter().map(|(line, _)| *line).collect(),
            highest_reynolds,
        });
    }
    let loaded = || {
        readings
            .iter()
            .map(|one| one.pressure_pa + one.kinetic_pa)
            .filter(|pressure_pa| *pressure_pa > LUER_JOINT_PROOF_PRESSURE_PA)
    };
    if let Some((_, highest_pa)) = extremes(loaded()) {
        found.push(ForceAssumption::OverJointPressure {
            rows: loaded().count(),
            highest_pa,
        });
    }
    let slopes = || readings.iter().filter_map(|one| one.local_slope);
    if let Some(extremes) = extremes(slopes()) {
        found.push(ForceAssumption::TrueRate {
            rows: slopes().count(),
            slopes: extremes,
        });
    }
    let apparent = readings
        .iter()
        .filter(|one| one.local_slope.is_none())
        .count();
    if apparent > 0 {
        found.push(ForceAssumption::ApparentViscosity { rows: apparent });
    }
    let radii = || readings.iter().filter_map(|one| one.end_correction_radii);
    if let Some(extremes) = extremes(radii()) {
        found.push(ForceAssumption::EndsTakenOff {
            rows: radii().count(),
            radii: extremes,
        });
    }
    let left_in = || {
        readings
            .iter()
            .filter(|one| one.end_correction_radii.is_none())
            .map(|one| {
                creeping_end_correction_radii() * 0.5 * bores.bore_m(one.bore) / one.length_m
            })
    };
    if let Some(creeping_ratio) = extremes(left_in()) {
        found.push(ForceAssumption::EndsLeftIn {
            rows: left_in().count(),
            creeping_ratio,
        });
    }
    let greatest = |pick: fn(&CommonParts) -> f64| {
        readings
            .iter()
            .map(|one| pick(&one.common_parts))
            .fold(0.0, f64::max)
    };
    let parts = CommonParts {
        bore_ratio: greatest(|parts| parts.bore_ratio),
        friction_ratio: greatest(|parts| parts.friction_ratio),
        length_ratio: greatest(|parts| parts.length_ratio),
        volume_ratio: greatest(|parts| parts.volume_ratio),
    };
    if parts.total_ratio() > 0.0 {
        found.push(ForceAssumption::CommonUncertainty { parts });
    }
    found
}

fn of_bores(bores: &Bores) -> Vec<ForceAssumption> {
    let mut found = Vec::new();
    let mut used: Vec<_> = bores.used.iter().filter(|used| used.rows > 0).collect();
    used.sort_by_key(|used| (used.gauge, used.wall));
    for used in used {
        let rows = used.rows;
        found.push(match (used.source, used.gauge, used.wall) {
            (BoreSource::Nominal, Some(gauge), _) => ForceAssumption::NominalBore {
                gauge,
                bore_m: used.bore_m,
                bore_tolerance_m: used.tolerance_m,
                rows,
            },
            (BoreSource::Minimum, Some(gauge), Some(wall)) => ForceAssumption::MinimumBore {
                gauge,
                wall,
                bore_m: used.bore_m,
                rows,
            },
            (BoreSource::KnownLiquid, ..) => ForceAssumption::BoreOfKnownLiquid {
                needle: used.name(),
                bore_m: used.bore_m,
                sd_m: used.sd_m,
                tabled_m: used.tabled_m,
                tolerance_m: used.tolerance_m,
                runs: used.runs,
                rows,
            },
            _ => ForceAssumption::MeasuredBore {
                bore_m: used.bore_m,
                sd_m: used.sd_m,
                rows,
            },
        });
    }
    for used in bores.no_better.iter().filter_map(|&n| bores.used.get(n)) {
        found.push(ForceAssumption::KnownLiquidNoBetter {
            needle: used.name(),
        });
    }
    found
}

fn of_frictions(frictions: &Frictions) -> Vec<ForceAssumption> {
    let mut found = Vec::new();
    let used = || frictions.used.iter().filter(|used| used.rows > 0);
    for used in used() {
        let water = match used.source {
            FrictionSource::EmptyRuns => false,
            FrictionSource::WaterRuns => true,
            FrictionSource::Stated | FrictionSource::Default => continue,
        };
        found.push(ForceAssumption::FrictionOfRuns {
            friction_n: used.friction_n,
            run_sd_n: used.run_sd_n,
            runs: used.runs,
            water,
            barrel_bore_m: used.barrel_bore_m,
            session: used.session.clone(),
            rows: used.rows,
        });
    }
    let default = || used().filter(|used| used.source == FrictionSource::Default);
    if let Some((lowest_n, highest_n)) = extremes(default().map(|used| used.friction_n)) {
        found.push(ForceAssumption::DefaultFriction {
            lowest_n,
            highest_n,
            rows: default().map(|used| used.rows).sum(),
        });
    }
    found
}
