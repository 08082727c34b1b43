//! The rings of a radial model while one thing acts on their outside.

use super::outside::{Outside, OutsideTemperature};
use super::radial_cells::RadialCells;
use super::time_stepping::HeatSystem;
use super::tridiagonal::TridiagonalFactor;

/// The rings with the outside of one stage; heat by metre of barrel.
pub(super) struct RadialSystem<'a> {
    cells: &'a RadialCells,
    temperature: OutsideTemperature,
    /// Conductance to the surroundings.
    outside: f64,
    /// The diagonal of `K`: all that leaves a ring by kelvin.
    leaving: Vec<f64>,
}

impl<'a> RadialSystem<'a> {
    pub(super) fn new(cells: &'a RadialCells, outside: &Outside) -> Self {
        let conductance =
            cells.outside_conductance_w_per_m_kelvin(outside.coefficient_w_per_m2_kelvin);
        let between = &cells.conductances_w_per_m_kelvin;
        let inner = std::iter::once(0.0).chain(between.iter().copied());
        let outer = between.iter().copied().chain(std::iter::once(conductance));
        Self {
            cells,
            temperature: outside.temperature,
            outside: conductance,
            leaving: inner.zip(outer).map(|(a, b)| a + b).collect(),
        }
    }
}

impl HeatSystem for RadialSystem<'_> {
    type Factor = TridiagonalFactor;

    fn capacities(&self) -> &[f64] {
        &self.cells.capacities_j_per_m_kelvin
    }

    fn blank_factor(&self) -> TridiagonalFactor {
        TridiagonalFactor::blank(self.cells.count())
    }

    fn refill(&self, weight_s: f64, factor: &mut TridiagonalFactor) {
        factor.refill(
            self.capacities()
                .iter()
                .zip(&self.leaving)
                .map(|(capacity, leaving)| capacity + weight_s * leaving),
            self.cells
                .conductances_w_per_m_kelvin
                .iter()
                .map(|conductance| -weight_s * conductance),
        );
    }

    fn solve(&self, factor: &TridiagonalFactor, values: &mut [f64]) {
        factor.solve(values);
    }

    fn add_supply(&self, time_s: f64, weight_s: f64, values: &mut [f64]) {
        if let Some(last) = values.last_mut() {
            *last += weight_s * self.outside * self.temperature.kelvin_at(time_s);
        }
    }

    fn inflow(&self, time_s: f64, temperatures: &[f64]) -> f64 {
        temperatures.last().map_or(0.0, |last| {
            self.outside * (self.temperature.kelvin_at(time_s) - last)
        })
    }

    fn gains(&self, time_s: f64, temperatures: &[f64], gains: &mut [f64]) {
        gains.fill(0.0);
        for (i, conductance) in self.cells.conductances_w_per_m_kelvin.iter().enumerate() {
            let flow = conductance * (temperatures[i + 1] - temperatures[i]);
            gains[i] += flow;
            gains[i + 1] -= flow;
        }
        if let Some(last) = gains.last_mut() {
            *last += self.inflow(time_s, temperatures);
        }
    }
}
