//! The history of a syringe of finite length: part of it out of the block, its end in the air.

use super::conduction::{
    AxialBarrel, AxialCoefficients, AxialGrid, AxialModel, AxialUnitField, EndCondition,
    Surroundings, axial_unit_cooling, axial_unit_heating,
};
use super::declared_history::{DeclaredHistory, DeclaredLength, DeclaredSyringe};
use super::sampled_history::{Aired, SampledCooling, SampledHistory, check_cooling};
use super::sampled_run::SampleTimes;
use super::warm_up::ThermalError;

/// Slices along the barrel, of rows with like histories, and groups of rings in each.
const SLICES: usize = 14;
const RINGS: usize = 3;
/// Intervals of the warm-up, and of a cooling that counts; every so many nodes it is looked at.
const INTERVALS: usize = 64;
const COOLING_INTERVALS: usize = 16;
const COOLING_EVERY: usize = 6;

/// Computes the history of a syringe of which part stands out of the block.
///
/// # Equation
/// `T = T_start + (T_set - T_start) B + (T_room - T_start) A`, `B` and `A` the answers to a step of
/// the block and of the air alone. Rows are put together by how warm the block makes them, into
/// slices of like volume, and each slice is told apart in rings.
///
/// # Errors
/// A length, an end or a coefficient that cannot be; cooling in air of another temperature than
/// the room's.
pub(super) fn of_part_of_a_syringe(
    declared: DeclaredHistory,
    syringe: &DeclaredSyringe,
    length: &DeclaredLength,
) -> Result<SampledHistory, ThermalError> {
    let barrel = AxialBarrel {
        filled_length_m: length.filled_length_m,
        stands_out_m: length.stands_out_m,
        bottom_end: if length.open_end {
            EndCondition::AsSide {
                surroundings: Surroundings::Air,
            }
        } else {
            EndCondition::Insulated
        },
        top_end: EndCondition::Insulated,
    };
    let model = AxialModel::new(&syringe.barrel()?, &barrel, AxialGrid::default())?;
    let coefficients = AxialCoefficients {
        block_w_per_m2_kelvin: syringe.contact_w_per_m2_kelvin,
        air_w_per_m2_kelvin: syringe.air_w_per_m2_kelvin,
    };
    let end_s = 12.0 * syringe.slowest_time_s(syringe.contact_w_per_m2_kelvin)
        + 4.0 * syringe.slowest_time_s(syringe.air_w_per_m2_kelvin);
    let times = SampleTimes::graded(end_s, INTERVALS);
    let samples = times.all_s();
    let by_block = axial_unit_heating(&model, coefficients, Surroundings::Block, &samples)?;
    let by_air = axial_unit_heating(&model, coefficients, Surroundings::Air, &samples)?;
    let groups = Groups::of(&model, &by_block);
    let cooling = match declared.cooling {
        None => None,
        Some(cooling) => {
            check_cooling(&cooling)?;
            if (cooling.ambient_kelvin - length.room_kelvin).abs() > 1e-6 {
                return Err(ThermalError::TwoRooms);
            }
            let from_nodes: Vec<usize> = (0..times.node_s.len()).step_by(COOLING_EVERY).collect();
            let cool = SampleTimes::graded(cooling.cool_time_s, COOLING_INTERVALS);
            let seconds = cool.all_s();
            let in_air = AxialCoefficients {
                block_w_per_m2_kelvin: syringe.air_w_per_m2_kelvin,
                ..coefficients
            };
            let fade = |field: &[f64]| axial_unit_cooling(&model, in_air, field, &seconds);
            let kept = groups.means(&model, &fade(&vec![1.0; model.cell_count()])?);
            let (blocks, airs): (Vec<&[f64]>, Vec<&[f64]>) = (
                by_block.cell_fractions().collect(),
                by_air.cell_fractions().collect(),
            );
            let (mut left, mut taken) = (Vec::new(), Vec::new());
            for node in &from_nodes {
                left.extend(groups.means(&model, &fade(blocks[2 * node])?));
                let of_air = groups.means(&model, &fade(airs[2 * node])?);
                taken.extend(kept.iter().zip(of_air).map(|(k, a)| 1.0 - k + a));
            }
            Some(SampledCooling {
                ambient_kelvin: cooling.ambient_kelvin,
                times: cool,
                from_nodes,
                left,
                taken,
            })
        }
    };
    Ok(SampledHistory {
        warmed: groups.means(&model, &by_block),
        aired: Some(Aired {
            room_kelvin: length.room_kelvin,
            fractions: groups.means(&model, &by_air),
        }),
        shells_of_slice: RINGS,
        shares: groups.shares,
        declared,
        times,
        clock_delay_s: 0.0,
        earlier: None,
        cooling,
        only_set_kelvin: None,
        table: None,
    })
}

/// Which group each gel cell belongs to: the groups of a slice follow each other.
struct Groups {
    group_of_cell: Vec<usize>,
    shares: Vec<f64>,
}

impl Groups {
    fn of(model: &AxialModel, by_block: &AxialUnitField) -> Self {
        let shares_of_cells = model.gel_volume_fractions();
        let rings = model.gel_ring_count();
        let rows = model.row_count();
        let mut warmth = vec![0.0; rows];
        for field in by_block.cell_fractions() {
            let gel = model.gel_of(field);
            for (row, sum) in warmth.iter_mut().enumerate() {
                *sum += gel[row * rings..(row + 1) * rings].iter().sum::<f64>();
            }
        }
        let mut order: Vec<usize> = (0..rows).collect();
        order.sort_by(|a, b| warmth[*a].total_cmp(&warmth[*b]).then(a.cmp(b)));
        let mut group_of_cell = vec![0; shares_of_cells.len()];
        let mut shares = vec![0.0; SLICES * RINGS];
        let mut passed = 0.0;
        for row in order {
            let cells = row * rings..(row + 1) * rings;
            let share: f64 = shares_of_cells[cells.clone()].iter().sum();
            let middle = passed + 0.5 * share;
            let slice = ((middle * SLICES as f64) as usize).min(SLICES - 1);
            for (ring, cell) in cells.enumerate() {
                let group = slice * RINGS + ring * RINGS / rings;
                group_of_cell[cell] = group;
                shares[group] += shares_of_cells[cell];
            }
            passed += share;
        }
        Self {
            group_of_cell,
            shares,
        }
    }

    /// Volume means over the groups, group by group, a value for each time of the field.
    fn means(&self, model: &AxialModel, field: &AxialUnitField) -> Vec<f64> {
        let count = field.times_s().len();
        let mut means = vec![0.0; self.shares.len() * count];
        let shares = model.gel_volume_fractions();
        for (time, cells) in field.cell_fractions().enumerate() {
            for ((value, share), &group) in model
                .gel_of(cells)
                .iter()
                .zip(shares)
                .zip(&self.group_of_cell)
            {
                means[group * count + time] += share * value;
            }
        }
        for (group, share) in self.shares.iter().enumerate() {
            if *share > 0.0 {
                for mean in &mut means[group * count..(group + 1) * count] {
                    *mean /= share;
                }
            }
        }
        means
    }
}
