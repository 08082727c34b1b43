//! Temperatures of shells over a stretch of time, and the heat dose they amount to.

use super::exponential::write_decays;
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;

/// Times at which a run is sampled: nodes, and the middle between each two.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct SampleTimes {
    /// The nodes, from 0, in s.
    pub(super) node_s: Vec<f64>,
}

impl SampleTimes {
    /// Nodes that lie the closer the earlier, `count` intervals up to `end_s`.
    pub(super) fn graded(end_s: f64, count: usize) -> Self {
        // exp(3) between the last interval and the first.
        const GRADING: f64 = 3.0;
        let whole = GRADING.exp_m1();
        Self {
            node_s: (0..=count)
                .map(|i| end_s * (GRADING * i as f64 / count as f64).exp_m1() / whole)
                .collect(),
        }
    }

    /// Nodes and middles in order.
    pub(super) fn all_s(&self) -> Vec<f64> {
        let mut times = Vec::with_capacity(2 * self.node_s.len());
        for pair in self.node_s.windows(2) {
            times.push(pair[0]);
            times.push(0.5 * (pair[0] + pair[1]));
        }
        times.extend(self.node_s.last());
        times
    }

    /// Number of samples: nodes and middles.
    pub(super) fn sample_count(&self) -> usize {
        2 * self.node_s.len() - 1
    }

    pub(super) fn last_s(&self) -> f64 {
        self.node_s.last().copied().unwrap_or(0.0)
    }
}

/// How the rate follows temperature: for the samples of a run.
#[derive(Debug, Clone, Copy)]
pub(super) struct Arrhenius {
    /// `E/R`, in K.
    pub(super) energy_kelvin: f64,
    pub(super) reference_kelvin: f64,
}

impl Arrhenius {
    /// Relative rates at temperatures, and their derivatives by the energy, in mol/J.
    pub(super) fn rates(&self, temperatures_kelvin: &[f64], rates: &mut Rates) {
        let inverse_reference = 1.0 / self.reference_kelvin;
        rates.exponents.clear();
        rates.exponents.extend(
            temperatures_kelvin
                .iter()
                .map(|kelvin| self.energy_kelvin * (1.0 / kelvin - inverse_reference)),
        );
        rates.values.resize(temperatures_kelvin.len(), 0.0);
        write_decays(&rates.exponents, &mut rates.values);
        // d rate/d E = -(1/T - 1/T_ref)/R rate = -exponent/E rate
        let per_energy = -1.0 / (self.energy_kelvin * GAS_CONSTANT_J_PER_MOL_K);
        rates.by_energy.clear();
        rates.by_energy.extend(
            rates
                .exponents
                .iter()
                .zip(&rates.values)
                .map(|(x, rate)| per_energy * x * rate),
        );
    }

    /// The same at one temperature.
    pub(super) fn rate(&self, kelvin: f64) -> [f64; 2] {
        let exponent = self.energy_kelvin * (1.0 / kelvin - 1.0 / self.reference_kelvin);
        let rate = (-exponent).exp();
        [
            rate,
            -exponent / (self.energy_kelvin * GAS_CONSTANT_J_PER_MOL_K) * rate,
        ]
    }
}

/// Scratch of the rates of one run.
#[derive(Debug, Clone, Default)]
pub(super) struct Rates {
    exponents: Vec<f64>,
    pub(super) values: Vec<f64>,
    pub(super) by_energy: Vec<f64>,
}

/// Integral over one interval from its ends and its middle.
///
/// # Source
/// Simpson's rule; M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, eq. 25.4.5 (from
/// memory).
pub(super) fn simpson(width_s: f64, samples: &[f64]) -> f64 {
    match samples {
        [first, middle, last] => width_s / 6.0 * (first + 4.0 * middle + last),
        _ => 0.0,
    }
}
