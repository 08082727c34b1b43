//! Doses of a sampled history over a range of activation energies, for draws by the thousand.

use super::sampled_clock::{AtNodes, SampledClock, dose_between_nodes};
use super::sampled_history::SampledHistory;
use super::sampled_run::Arrhenius;
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
use std::sync::Arc;

/// Number of energies.
const ENERGIES: usize = 8;

/// Weights of the energies for one energy between them.
type EnergyWeights = [f64; ENERGIES];

/// Doses, rates and the worth of cooling at Chebyshev's points of a range of activation energies.
///
/// # Equation
/// `f(E) = sum w_k(E) f(E_k)`, `w` the weights of the interpolating polynomial through
/// `E_k = E_0 + width cos[(2k+1) pi/(2n)]`, `n = 8`.
///
/// # Valid for
/// A width over which the rates that matter change by less than e-fold: the error is then under
/// 1e-7 of a dose.
///
/// # Source
/// J.-P. Berrut, L. Trefethen, Barycentric Lagrange interpolation, SIAM Review 46 (2004) 501,
/// eqs. 4.2 and 5.3, doi:10.1137/S0036144502417715 (from memory).
#[derive(Debug, Clone)]
pub(super) struct DoseTable {
    set_kelvin: f64,
    reference_kelvin: f64,
    energy_j_per_mol: f64,
    width_j_per_mol: f64,
    energies: [f64; ENERGIES],
    /// Each `[value at E_0, ..., value at E_7]`, laid out as in [`SampledClock`].
    before: Vec<[f64; ENERGIES]>,
    doses: Vec<[f64; ENERGIES]>,
    rates: Vec<[f64; ENERGIES]>,
    cooling_s: Vec<[f64; ENERGIES]>,
}

impl DoseTable {
    pub(super) fn new(
        history: &Arc<SampledHistory>,
        set_kelvin: f64,
        reference_kelvin: f64,
        energy_j_per_mol: f64,
        width_j_per_mol: f64,
    ) -> Self {
        let mut energies = [0.0; ENERGIES];
        for (k, energy) in energies.iter_mut().enumerate() {
            let angle = (2 * k + 1) as f64 * std::f64::consts::PI / (2 * ENERGIES) as f64;
            *energy = energy_j_per_mol + width_j_per_mol * angle.cos();
        }
        let clocks: Vec<SampledClock> = energies
            .iter()
            .map(|e| SampledClock::new(Arc::clone(history), set_kelvin, *e, reference_kelvin))
            .collect();
        let gather = |pick: fn(&SampledClock) -> &[[f64; 2]]| -> Vec<[f64; ENERGIES]> {
            let count = clocks.first().map_or(0, |clock| pick(clock).len());
            (0..count)
                .map(|place| {
                    let mut values = [0.0; ENERGIES];
                    for (value, clock) in values.iter_mut().zip(&clocks) {
                        *value = pick(clock)[place][0];
                    }
                    values
                })
                .collect()
        };
        Self {
            set_kelvin,
            reference_kelvin,
            energy_j_per_mol,
            width_j_per_mol,
            energies,
            before: gather(SampledClock::before_all),
            doses: gather(SampledClock::doses),
            rates: gather(SampledClock::rates),
            cooling_s: gather(SampledClock::cooling_all),
        }
    }

    /// Whether it was made for this set and reference temperature, energy and width.
    pub(super) fn is_of(&self, asked: (f64, f64, f64, f64)) -> bool {
        asked
            == (
                self.set_kelvin,
                self.reference_kelvin,
                self.energy_j_per_mol,
                self.width_j_per_mol,
            )
    }

    /// Weights for an energy; nothing where the table does not reach it, or was made for another
    /// temperature.
    pub(super) fn weights(
        &self,
        set_kelvin: f64,
        reference_kelvin: f64,
        energy_j_per_mol: f64,
    ) -> Option<EnergyWeights> {
        let highest = self.energies[0];
        let lowest = self.energies[ENERGIES - 1];
        let fits = set_kelvin == self.set_kelvin
            && reference_kelvin == self.reference_kelvin
            && (lowest..=highest).contains(&energy_j_per_mol);
        if !fits {
            return None;
        }
        let mut weights = [0.0; ENERGIES];
        for (k, (weight, energy)) in weights.iter_mut().zip(&self.energies).enumerate() {
            let difference = energy_j_per_mol - energy;
            if difference == 0.0 {
                weights = [0.0; ENERGIES];
                weights[k] = 1.0;
                return Some(weights);
            }
            let angle = (2 * k + 1) as f64 * std::f64::consts::PI / (2 * ENERGIES) as f64;
            let sign = if k % 2 == 0 { 1.0 } else { -1.0 };
            *weight = sign * angle.sin() / difference;
        }
        let sum: f64 = weights.iter().sum();
        for weight in &mut weights {
            *weight /= sum;
        }
        Some(weights)
    }
}

/// The value at the energy of the weights.
#[inline]
fn at(weights: &EnergyWeights, values: &[f64; ENERGIES]) -> f64 {
    let mut products = [0.0; ENERGIES];
    for ((product, weight), value) in products.iter_mut().zip(weights).zip(values) {
        *product = weight * value;
    }
    let [a, b, c, d, e, f, g, h] = products;
    ((a + e) + (b + f)) + ((c + g) + (d + h))
}

/// Doses of one energy, taken from a table as they are asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct TabledClock {
    history: Arc<SampledHistory>,
    weights: EnergyWeights,
    energy_kelvin: f64,
}

impl TabledClock {
    /// For an energy that the history's table reaches.
    pub(super) fn new(
        history: &Arc<SampledHistory>,
        set_kelvin: f64,
        energy_j_per_mol: f64,
        reference_kelvin: f64,
    ) -> Option<Self> {
        let table = history.table.as_ref()?;
        Some(Self {
            weights: table.weights(set_kelvin, reference_kelvin, energy_j_per_mol)?,
            history: Arc::clone(history),
            energy_kelvin: energy_j_per_mol / GAS_CONSTANT_J_PER_MOL_K,
        })
    }

    /// Number of shells that leave the barrel together.
    #[must_use]
    pub fn shells_of_slice(&self) -> usize {
        self.history.shells_of_slice()
    }

    /// Share of the volume of each shell.
    #[must_use]
    pub fn shares(&self) -> &[f64] {
        self.history.shares()
    }

    /// Heat dose of a shell after a clock time, in s.
    #[must_use]
    pub fn dose_s(&self, shell: usize, clock_time_s: f64) -> f64 {
        let Some(table) = &self.history.table else {
            return f64::NAN;
        };
        let known = Known {
            table,
            weights: &self.weights,
        };
        let arrhenius = Arrhenius {
            energy_kelvin: self.energy_kelvin,
            reference_kelvin: table.reference_kelvin,
        };
        let asked = (shell, table.set_kelvin, clock_time_s);
        dose_between_nodes(&self.history, &known, &arrhenius, asked)[0]
    }
}

/// A table at one energy; derivatives are left at zero.
struct Known<'a> {
    table: &'a DoseTable,
    weights: &'a EnergyWeights,
}

impl AtNodes for Known<'_> {
    fn before(&self, shell: usize) -> [f64; 2] {
        [at(self.weights, &self.table.before[shell]), 0.0]
    }

    fn dose_at(&self, place: usize) -> [f64; 2] {
        [at(self.weights, &self.table.doses[place]), 0.0]
    }

    fn rate_at(&self, place: usize) -> [f64; 2] {
        [at(self.weights, &self.table.rates[place]), 0.0]
    }

    fn cooling_at(&self, place: usize) -> [f64; 2] {
        [at(self.weights, &self.table.cooling_s[place]), 0.0]
    }
}
