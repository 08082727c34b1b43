//! The cells of an axial model while block and air act on their outside.

use super::axial_barrel::{EndCondition, Surroundings};
use super::axial_model::AxialModel;
use super::banded::BandedFactor;
use super::outside::{Outside, OutsideTemperature};
use super::time_stepping::HeatSystem;

/// The cells with the block and the air of one stage.
pub(super) struct AxialSystem<'a> {
    model: &'a AxialModel,
    block: OutsideTemperature,
    air: OutsideTemperature,
    /// Conductance from each cell to the block.
    to_block: Vec<f64>,
    /// Conductance from each cell to the air.
    to_air: Vec<f64>,
    /// Conductance from each cell to the next; 0 from the last ring of a row.
    to_next: Vec<f64>,
    /// Conductance from each cell to the cell above it.
    to_above: Vec<f64>,
    /// The diagonal of `K`: all that leaves a cell by kelvin.
    leaving: Vec<f64>,
}

impl<'a> AxialSystem<'a> {
    pub(super) fn new(model: &'a AxialModel, block: &Outside, air: &Outside) -> Self {
        let rings = &model.rings;
        let width = rings.count();
        let size = model.cell_count();
        let heights = model.row_heights_m();
        let mut system = Self {
            model,
            block: block.temperature,
            air: air.temperature,
            to_block: vec![0.0; size],
            to_air: vec![0.0; size],
            to_next: vec![0.0; size],
            to_above: vec![0.0; size - width],
            leaving: Vec::new(),
        };
        let of = |surroundings| match surroundings {
            Surroundings::Block => block.coefficient_w_per_m2_kelvin,
            Surroundings::Air => air.coefficient_w_per_m2_kelvin,
        };
        for (row, height) in heights.iter().enumerate() {
            let first = row * width;
            for (ring, conductance) in rings.conductances_w_per_m_kelvin.iter().enumerate() {
                system.to_next[first + ring] = conductance * height;
            }
            let side = model.side_of(row);
            let conductance = rings.outside_conductance_w_per_m_kelvin(of(side)) * height;
            system.towards(side)[first + width - 1] += conductance;
            if let Some(above) = heights.get(row + 1) {
                for ring in 0..width {
                    system.to_above[first + ring] = rings.areas_m2[ring]
                        * model.conductivities[ring]
                        / (0.5 * (height + above));
                }
            }
        }
        let ends = [
            (model.length().bottom_end, 0),
            (model.length().top_end, heights.len() - 1),
        ];
        for (end, row) in ends {
            let (coefficient, surroundings) = match end {
                EndCondition::Insulated => continue,
                EndCondition::AsSide { surroundings } => (of(surroundings), surroundings),
                EndCondition::Contact {
                    coefficient_w_per_m2_kelvin,
                    surroundings,
                } => (coefficient_w_per_m2_kelvin, surroundings),
            };
            for ring in 0..width {
                let half = 0.5 * heights[row] / model.conductivities[ring];
                system.towards(surroundings)[row * width + ring] +=
                    rings.areas_m2[ring] / (half + 1.0 / coefficient);
            }
        }
        system.leaving = (0..size)
            .map(|cell| {
                let below = if cell < width {
                    0.0
                } else {
                    system.to_above[cell - width]
                };
                let before = if cell == 0 {
                    0.0
                } else {
                    system.to_next[cell - 1]
                };
                let above = system.to_above.get(cell).copied().unwrap_or(0.0);
                below
                    + before
                    + above
                    + system.to_next[cell]
                    + system.to_block[cell]
                    + system.to_air[cell]
            })
            .collect();
        system
    }

    fn towards(&mut self, surroundings: Surroundings) -> &mut [f64] {
        match surroundings {
            Surroundings::Block => &mut self.to_block,
            Surroundings::Air => &mut self.to_air,
        }
    }
}

impl AxialModel {
    /// What the side of a row meets.
    pub(super) fn side_of(&self, row: usize) -> Surroundings {
        if row < self.rows_in_block() {
            Surroundings::Block
        } else {
            Surroundings::Air
        }
    }
}

impl HeatSystem for AxialSystem<'_> {
    type Factor = BandedFactor;

    fn capacities(&self) -> &[f64] {
        self.model.capacities_j_per_kelvin()
    }

    fn blank_factor(&self) -> BandedFactor {
        BandedFactor::blank(self.model.cell_count(), self.model.ring_count())
    }

    fn refill(&self, weight_s: f64, factor: &mut BandedFactor) {
        factor.refill(
            self.capacities()
                .iter()
                .zip(&self.leaving)
                .map(|(capacity, leaving)| capacity + weight_s * leaving),
            self.to_next
                .iter()
                .map(|conductance| -weight_s * conductance),
            self.to_above
                .iter()
                .map(|conductance| -weight_s * conductance),
        );
    }

    fn solve(&self, factor: &BandedFactor, values: &mut [f64]) {
        factor.solve(values);
    }

    fn add_supply(&self, time_s: f64, weight_s: f64, values: &mut [f64]) {
        let block = weight_s * self.block.kelvin_at(time_s);
        let air = weight_s * self.air.kelvin_at(time_s);
        for ((value, to_block), to_air) in values.iter_mut().zip(&self.to_block).zip(&self.to_air) {
            *value += to_block * block + to_air * air;
        }
    }

    fn inflow(&self, time_s: f64, temperatures: &[f64]) -> f64 {
        let block = self.block.kelvin_at(time_s);
        let air = self.air.kelvin_at(time_s);
        temperatures
            .iter()
            .zip(self.to_block.iter().zip(&self.to_air))
            .map(|(kelvin, (to_block, to_air))| {
                to_block * (block - kelvin) + to_air * (air - kelvin)
            })
            .sum()
    }

    fn gains(&self, time_s: f64, temperatures: &[f64], gains: &mut [f64]) {
        let width = self.model.ring_count();
        gains.fill(0.0);
        self.add_supply(time_s, 1.0, gains);
        for (gain, (kelvin, (to_block, to_air))) in gains.iter_mut().zip(
            temperatures
                .iter()
                .zip(self.to_block.iter().zip(&self.to_air)),
        ) {
            *gain -= (to_block + to_air) * kelvin;
        }
        for cell in 0..gains.len() - 1 {
            let flow = self.to_next[cell] * (temperatures[cell + 1] - temperatures[cell]);
            gains[cell] += flow;
            gains[cell + 1] -= flow;
        }
        for (cell, conductance) in self.to_above.iter().enumerate() {
            let flow = conductance * (temperatures[cell + width] - temperatures[cell]);
            gains[cell] += flow;
            gains[cell + width] -= flow;
        }
    }
}
