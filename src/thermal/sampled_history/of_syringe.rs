//! Samples of a syringe that is alike along its barrel, by conduction.

use super::cooling::{COOLING_INTERVALS, check_cooling, cooling_starts};
use super::shells::by_shell;
use super::{INTERVALS, SLOWEST_TIMES, SampledCooling, SampledHistory};
use crate::thermal::conduction::{RadialGrid, RadialModel, unit_cooling, unit_heating};
use crate::thermal::declared_history::{DeclaredHistory, DeclaredSyringe};
use crate::thermal::sampled_run::SampleTimes;
use crate::thermal::warm_up::ThermalError;

pub(super) fn of_syringe(
    declared: DeclaredHistory,
    syringe: &DeclaredSyringe,
) -> Result<SampledHistory, ThermalError> {
    let model = RadialModel::new(&syringe.barrel()?, RadialGrid::default())?;
    let contact = syringe.contact_w_per_m2_kelvin;
    let end_s = SLOWEST_TIMES * syringe.slowest_time_s(contact);
    let times = SampleTimes::graded(end_s, INTERVALS);
    let heated = unit_heating(&model, contact, &times.all_s())?;
    let warmed = by_shell(&model, &heated);
    let cooling = match declared.cooling {
        None => None,
        Some(cooling) => {
            check_cooling(&cooling)?;
            let from_nodes = cooling_starts(times.node_s.len());
            let cool = SampleTimes::graded(cooling.cool_time_s, COOLING_INTERVALS);
            let samples = cool.all_s();
            let air = syringe.air_w_per_m2_kelvin;
            let ones = vec![1.0; model.cell_count()];
            let kept = unit_cooling(&model, air, &ones, &samples)?;
            let mut left = Vec::new();
            let fields: Vec<&[f64]> = heated.cell_fractions().collect();
            for node in &from_nodes {
                let cooled = unit_cooling(&model, air, fields[2 * node], &samples)?;
                left.extend(by_shell(&model, &cooled));
            }
            Some(SampledCooling {
                ambient_kelvin: cooling.ambient_kelvin,
                times: cool,
                from_nodes,
                left,
                taken: by_shell(&model, &kept).iter().map(|a| 1.0 - a).collect(),
            })
        }
    };
    Ok(SampledHistory::all_in_the_block(
        declared,
        SampledHistory::even_shares(),
        times,
        warmed,
        cooling,
    ))
}
