//! Samples of a measured trace: its heating scaled, and its own cooling.

use super::cooling::{COOLING_INTERVALS, check_cooling, cooling_starts};
use super::{INTERVALS, SampledCooling, SampledHistory};
use crate::thermal::declared_history::DeclaredHistory;
use crate::thermal::sampled_run::SampleTimes;
use crate::thermal::trace::{MeasuredTrace, TracePoint};
use crate::thermal::warm_up::ThermalError;

/// A trace: its heating scaled, and its own cooling part, if it has one, after every heat time.
pub(super) fn of_trace(
    declared: DeclaredHistory,
    set_kelvin: f64,
    points: Vec<TracePoint>,
) -> Result<SampledHistory, ThermalError> {
    let trace = MeasuredTrace::new(points).map_err(ThermalError::from_input)?;
    let scale = trace
        .scale(Some(set_kelvin))
        .map_err(ThermalError::from_input)?;
    let (start, rise) = (scale.start_kelvin, scale.set_kelvin - scale.start_kelvin);
    let end_s = trace.plateau().heating_end_s;
    // The readings themselves are nodes, with more between where they lie far apart.
    let longest_s = end_s / INTERVALS as f64;
    let mut node_s = vec![0.0];
    let inside = trace.points().iter().map(|p| p.time_s);
    for time_s in inside.filter(|t| *t > 0.0 && *t < end_s).chain([end_s]) {
        let before = node_s.last().copied().unwrap_or(0.0);
        if time_s - before < 0.25 * longest_s && time_s < end_s {
            continue;
        }
        let pieces = ((time_s - before) / longest_s).ceil().max(1.0);
        for piece in 1..=pieces as usize {
            node_s.push(before + (time_s - before) * piece as f64 / pieces);
        }
    }
    let times = SampleTimes { node_s };
    let fraction = |time_s: f64| (trace.at(time_s).temperature_kelvin - start) / rise;
    let warmed: Vec<f64> = times.all_s().into_iter().map(fraction).collect();
    let own_cooling_s = trace.last_s() - end_s;
    let end_kelvin = trace.at(end_s).temperature_kelvin;
    let last_kelvin = trace.at(trace.last_s()).temperature_kelvin;
    let cooling = match declared.cooling {
        Some(cooling) => {
            check_cooling(&cooling)?;
            return Err(ThermalError::CoolTimeOfTrace);
        }
        // A trace that ends back down has a cooling part.
        None if own_cooling_s > 0.0 && (end_kelvin - last_kelvin).abs() > 0.25 * rise.abs() => {
            let from_nodes = cooling_starts(times.node_s.len());
            let cool = SampleTimes::graded(own_cooling_s, COOLING_INTERVALS);
            let fades: Vec<f64> = cool
                .all_s()
                .into_iter()
                .map(|s| {
                    (trace.at(end_s + s).temperature_kelvin - last_kelvin)
                        / (end_kelvin - last_kelvin)
                })
                .collect();
            let left = from_nodes
                .iter()
                .flat_map(|node| fades.iter().map(|fade| warmed[2 * *node] * fade))
                .collect();
            Some(SampledCooling {
                ambient_kelvin: last_kelvin,
                times: cool,
                from_nodes,
                left,
                taken: fades.iter().map(|fade| 1.0 - fade).collect(),
            })
        }
        None => None,
    };
    Ok(SampledHistory::all_in_the_block(
        declared,
        vec![1.0],
        times,
        warmed,
        cooling,
    ))
}
