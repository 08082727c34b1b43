//! Samples of a warm-up with a lag.

use super::cooling::{COOLING_INTERVALS, check_cooling, cooling_starts};
use super::{INTERVALS, SLOWEST_TIMES, SampledCooling, SampledHistory};
use crate::thermal::declared_history::DeclaredHistory;
use crate::thermal::sampled_run::SampleTimes;
use crate::thermal::warm_up::ThermalError;

pub(super) fn of_lag(
    declared: DeclaredHistory,
    tau_s: f64,
) -> Result<SampledHistory, ThermalError> {
    if !(tau_s.is_finite() && tau_s > 0.0) {
        return Err(ThermalError::TimeConstant {
            time_constant_s: tau_s,
        });
    }
    let warm = |t: f64| -(-t / tau_s).exp_m1();
    let times = SampleTimes::graded(SLOWEST_TIMES * tau_s, INTERVALS);
    let warmed = times.all_s().into_iter().map(warm).collect();
    let cooling = declared
        .cooling
        .map(|cooling| -> Result<SampledCooling, ThermalError> {
            check_cooling(&cooling)?;
            let from_nodes = cooling_starts(times.node_s.len());
            let cool = SampleTimes::graded(cooling.cool_time_s, COOLING_INTERVALS);
            let fades: Vec<f64> = cool
                .all_s()
                .into_iter()
                .map(|s| (-s / tau_s).exp())
                .collect();
            let left = from_nodes
                .iter()
                .flat_map(|node| fades.iter().map(|fade| warm(times.node_s[*node]) * fade))
                .collect();
            Ok(SampledCooling {
                ambient_kelvin: cooling.ambient_kelvin,
                times: cool,
                from_nodes,
                left,
                taken: fades.iter().map(|fade| 1.0 - fade).collect(),
            })
        })
        .transpose()?;
    Ok(SampledHistory::all_in_the_block(
        declared,
        vec![1.0],
        times,
        warmed,
        cooling,
    ))
}
