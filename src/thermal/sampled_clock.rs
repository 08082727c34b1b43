//! Heat dose over clock time of a gel that is sampled in shells.

use super::sampled_history::SampledHistory;
use super::sampled_run::{Arrhenius, Rates, simpson};
use super::temperature_history::HeatDose;
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
use std::sync::Arc;

/// Heat dose of each shell at the nodes of a sampled history, for one set temperature and
/// activation energy.
///
/// # Equation
/// `theta_i(t) = integral from 0 to t of f(T_i) dt`, plus, where cooling counts, the dose of the
/// cooling that follows a heat time t: `f(T_i(t)) Y_i(t)`, `Y` the time at the temperature of the
/// end that cooling is worth. Simpson's rule between nodes; between them the dose is the cubic that
/// has the nodes' values and rates, and `Y` a straight line in the temperature that cooling begins
/// at.
///
/// # Valid for
/// Doses to about 1e-4 of themselves with the nodes of [`SampledHistory`], and to 3e-3 where cooling
/// counts.
#[derive(Debug, Clone, PartialEq)]
pub struct SampledClock {
    history: Arc<SampledHistory>,
    set_kelvin: f64,
    energy_kelvin: f64,
    reference_kelvin: f64,
    /// Dose before the first node, such as that of an earlier stage; by shell.
    before: Vec<[f64; 2]>,
    /// Dose and rate at the nodes, each with its derivative by the energy; shell by shell.
    doses: Vec<[f64; 2]>,
    rates: Vec<[f64; 2]>,
    /// What cooling is worth at the temperature of the end of heating, in s, with its derivative;
    /// shell by shell, one a heat time of the history's cooling.
    cooling_s: Vec<[f64; 2]>,
}

impl SampledClock {
    /// Sets up: one exponential a sample.
    #[must_use]
    pub fn new(
        history: Arc<SampledHistory>,
        set_kelvin: f64,
        activation_energy_j_per_mol: f64,
        reference_kelvin: f64,
    ) -> Self {
        // An energy of 0 has no derivative by its own exponent; the smallest that has serves.
        let energy = activation_energy_j_per_mol.abs().max(1e-6)
            * if activation_energy_j_per_mol < 0.0 {
                -1.0
            } else {
                1.0
            };
        let arrhenius = Arrhenius {
            energy_kelvin: energy / GAS_CONSTANT_J_PER_MOL_K,
            reference_kelvin,
        };
        let mut clock = Self {
            set_kelvin,
            energy_kelvin: arrhenius.energy_kelvin,
            reference_kelvin,
            before: Vec::new(),
            doses: Vec::new(),
            rates: Vec::new(),
            cooling_s: Vec::new(),
            history,
        };
        clock.integrate(&arrhenius);
        clock
    }

    fn integrate(&mut self, arrhenius: &Arrhenius) {
        let history = Arc::clone(&self.history);
        let shells = history.shares().len();
        let nodes = &history.times.node_s;
        let samples = history.times.sample_count();
        let (mut kelvin, mut rates) = (Vec::new(), Rates::default());
        history.heating_kelvin(self.set_kelvin, &mut kelvin);
        arrhenius.rates(&kelvin, &mut rates);
        self.doses.reserve(shells * nodes.len());
        self.rates.reserve(shells * nodes.len());
        for shell in 0..shells {
            let here = shell * samples..(shell + 1) * samples;
            let (values, by) = (&rates.values[here.clone()], &rates.by_energy[here]);
            let mut dose = [0.0; 2];
            for node in 0..nodes.len() {
                if node > 0 {
                    let width_s = nodes[node] - nodes[node - 1];
                    let part = 2 * node - 2..2 * node + 1;
                    dose[0] += simpson(width_s, &values[part.clone()]);
                    dose[1] += simpson(width_s, &by[part]);
                }
                self.doses.push(dose);
                self.rates.push([values[2 * node], by[2 * node]]);
            }
        }
        self.before = vec![[0.0; 2]; shells];
        if let Some(earlier) = &history.earlier {
            let samples = earlier.times.sample_count();
            arrhenius.rates(&earlier.kelvin, &mut rates);
            for (shell, before) in self.before.iter_mut().enumerate() {
                let here = shell * samples..(shell + 1) * samples;
                *before = integral(
                    &earlier.times.node_s,
                    &rates.values[here.clone()],
                    &rates.by_energy[here],
                );
            }
        }
        if let Some(cooling) = &history.cooling {
            let samples = cooling.times.sample_count();
            let starts = cooling.from_nodes.len();
            self.cooling_s = vec![[0.0; 2]; shells * starts];
            for (start, &node) in cooling.from_nodes.iter().enumerate() {
                history.cooling_kelvin(self.set_kelvin, start, &mut kelvin);
                arrhenius.rates(&kelvin, &mut rates);
                for shell in 0..shells {
                    let here = shell * samples..(shell + 1) * samples;
                    let dose = integral(
                        &cooling.times.node_s,
                        &rates.values[here.clone()],
                        &rates.by_energy[here],
                    );
                    let [rate, rate_by] = self.rates[shell * nodes.len() + node];
                    self.cooling_s[shell * starts + start] = [
                        dose[0] / rate,
                        dose[1] / rate - dose[0] * rate_by / (rate * rate),
                    ];
                }
            }
        }
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

    /// Heat dose of a shell after a clock time, with its derivatives.
    #[must_use]
    pub fn dose(&self, shell: usize, clock_time_s: f64) -> HeatDose {
        let arrhenius = Arrhenius {
            energy_kelvin: self.energy_kelvin,
            reference_kelvin: self.reference_kelvin,
        };
        let [dose_s, by_activation_energy_s_mol_per_j] = dose_between_nodes(
            &self.history,
            self,
            &arrhenius,
            (shell, self.set_kelvin, clock_time_s),
        );
        HeatDose {
            dose_s,
            by_activation_energy_s_mol_per_j,
            by_lag_ratio: 0.0,
        }
    }

    pub(super) fn before_all(&self) -> &[[f64; 2]] {
        &self.before
    }

    pub(super) fn doses(&self) -> &[[f64; 2]] {
        &self.doses
    }

    pub(super) fn rates(&self) -> &[[f64; 2]] {
        &self.rates
    }

    pub(super) fn cooling_all(&self) -> &[[f64; 2]] {
        &self.cooling_s
    }
}

/// Doses at the nodes of a sampled history, each with its derivative by the energy; places are
/// counted shell by shell.
pub(super) trait AtNodes {
    /// Dose before the first node.
    fn before(&self, shell: usize) -> [f64; 2];
    /// Dose at a node.
    fn dose_at(&self, place: usize) -> [f64; 2];
    /// Rate at a node.
    fn rate_at(&self, place: usize) -> [f64; 2];
    /// What cooling from one of its starts is worth.
    fn cooling_at(&self, place: usize) -> [f64; 2];
}

impl AtNodes for SampledClock {
    fn before(&self, shell: usize) -> [f64; 2] {
        self.before[shell]
    }

    fn dose_at(&self, place: usize) -> [f64; 2] {
        self.doses[place]
    }

    fn rate_at(&self, place: usize) -> [f64; 2] {
        self.rates[place]
    }

    fn cooling_at(&self, place: usize) -> [f64; 2] {
        self.cooling_s[place]
    }
}

/// Dose of a shell after a clock time, from what is known at the nodes.
pub(super) fn dose_between_nodes(
    history: &SampledHistory,
    known: &impl AtNodes,
    arrhenius: &Arrhenius,
    (shell, set_kelvin, clock_time_s): (usize, f64, f64),
) -> [f64; 2] {
    let time_s = (clock_time_s + history.clock_delay_s).max(0.0);
    let nodes = &history.times.node_s;
    let place = |node: usize| shell * nodes.len() + node;
    let after = nodes.partition_point(|node| *node <= time_s);
    let mut dose = known.before(shell);
    let Some(low) = after.checked_sub(1) else {
        return dose;
    };
    let (low_dose, low_rate) = (known.dose_at(place(low)), known.rate_at(place(low)));
    let way_s = time_s - nodes[low];
    if let Some(high_s) = nodes.get(after) {
        let width_s = high_s - nodes[low];
        let (high_dose, high_rate) = (known.dose_at(place(after)), known.rate_at(place(after)));
        for part in 0..2 {
            dose[part] += hermite(
                way_s / width_s,
                width_s,
                [low_dose[part], high_dose[part]],
                [low_rate[part], high_rate[part]],
            );
        }
    } else {
        // Past the last node the gel keeps its temperature.
        for part in 0..2 {
            dose[part] += low_dose[part] + way_s * low_rate[part];
        }
    }
    let Some(cooling) = &history.cooling else {
        return dose;
    };
    let starts = cooling.from_nodes.len();
    let start_s = |i: usize| nodes[cooling.from_nodes[i]];
    let kelvin = history.shell_kelvin(shell, set_kelvin, time_s);
    let after = cooling
        .from_nodes
        .partition_point(|node| nodes[*node] <= time_s);
    let Some(before) = after.checked_sub(1) else {
        return dose;
    };
    let worth = known.cooling_at(shell * starts + before);
    let cooling_s = if after < starts {
        // What cooling is worth follows the temperature that it begins at.
        let start_kelvin = |i: usize| history.shell_kelvin(shell, set_kelvin, start_s(i));
        let (low, high) = (start_kelvin(before), start_kelvin(after));
        let way = if (high - low).abs() > 1e-6 {
            ((kelvin - low) / (high - low)).clamp(0.0, 1.0)
        } else {
            (time_s - start_s(before)) / (start_s(after) - start_s(before))
        };
        between(way, worth, known.cooling_at(shell * starts + after))
    } else {
        worth
    };
    let [rate, rate_by] = arrhenius.rate(kelvin);
    dose[0] += rate * cooling_s[0];
    dose[1] += rate_by * cooling_s[0] + rate * cooling_s[1];
    dose
}

/// Integral over a whole run, and of its derivative.
fn integral(node_s: &[f64], values: &[f64], by_energy: &[f64]) -> [f64; 2] {
    let mut sum = [0.0; 2];
    for (interval, pair) in node_s.windows(2).enumerate() {
        let part = 2 * interval..2 * interval + 3;
        sum[0] += simpson(pair[1] - pair[0], &values[part.clone()]);
        sum[1] += simpson(pair[1] - pair[0], &by_energy[part]);
    }
    sum
}

/// Geometric mean of two positive values with their derivatives, `way` of the way from the first.
fn between(way: f64, [low, low_by]: [f64; 2], [high, high_by]: [f64; 2]) -> [f64; 2] {
    let value = low * (high / low).powf(way);
    let slope = (1.0 - way) * low_by / low + way * high_by / high;
    [value, value * slope]
}

/// Cubic with the given values and slopes at both ends, at a fraction of the way.
fn hermite(way: f64, width_s: f64, values: [f64; 2], slopes: [f64; 2]) -> f64 {
    let rest = 1.0 - way;
    rest * rest * ((1.0 + 2.0 * way) * values[0] + way * width_s * slopes[0])
        + way * way * ((3.0 - 2.0 * way) * values[1] - rest * width_s * slopes[1])
}
