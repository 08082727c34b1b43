//! Heat doses by place in a syringe.

use super::gel_history::GelHistory;
use super::temperature_history::relative_rate;

/// Which activation energy a heat dose is counted with, and at which reference temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DoseReference {
    /// Activation energy.
    pub activation_energy_j_per_mol: f64,
    /// Reference temperature.
    pub reference_kelvin: f64,
}

/// Heat doses from the beginning of a schedule on, by place and time.
#[derive(Debug, Clone, PartialEq)]
pub struct GelDoses {
    core_s: Vec<f64>,
    edge_s: Vec<f64>,
    mean_s: Vec<f64>,
    cells_s: Vec<f64>,
    cells: usize,
}

impl GelDoses {
    /// Dose at r = 0 by time.
    #[must_use]
    pub fn core_s(&self) -> &[f64] {
        &self.core_s
    }

    /// Dose of the gel at its wall by time.
    #[must_use]
    pub fn edge_s(&self) -> &[f64] {
        &self.edge_s
    }

    /// Volume mean of the dose by time; not the dose of the mean temperature.
    #[must_use]
    pub fn mean_s(&self) -> &[f64] {
        &self.mean_s
    }

    /// Doses of the cells of gel, one slice a time.
    pub fn cells_s(&self) -> impl ExactSizeIterator<Item = &[f64]> {
        self.cells_s.chunks_exact(self.cells)
    }
}

impl GelHistory {
    /// Heat doses by place and time.
    ///
    /// # Equation
    /// `theta(t) = integral from 0 to t of exp[-(E/R)(1/T(s) - 1/T_ref)] ds` in every cell, by the
    /// trapezoid rule over the history's times.
    ///
    /// | symbol | field | unit |
    /// |---|---|---|
    /// | E | `activation_energy_j_per_mol` | J/mol |
    /// | T_ref | `reference_kelvin` | K |
    ///
    /// # Valid for
    /// Temperatures that change little within a step; the history's times see to that.
    ///
    /// # Source
    /// As for [`relative_rate`].
    #[must_use]
    pub fn doses(&self, reference: DoseReference) -> GelDoses {
        let rate = |kelvin: f64| {
            relative_rate(
                kelvin,
                reference.reference_kelvin,
                reference.activation_energy_j_per_mol,
            )
        };
        let times_s = self.times_s();
        let along = |kelvins: &[f64]| running_integral(times_s, kelvins.iter().map(|k| rate(*k)));
        let fractions = self.gel_volume_fractions();
        let cells = fractions.len();
        let mut doses = vec![0.0; cells];
        let mut rates_before: Vec<f64> = Vec::new();
        let mut time_before_s = 0.0;
        let mut cells_s = Vec::with_capacity(cells * times_s.len());
        let mut mean_s = Vec::with_capacity(times_s.len());
        for (time_s, kelvins) in times_s.iter().zip(self.gel_kelvin()) {
            let rates: Vec<f64> = kelvins.iter().map(|kelvin| rate(*kelvin)).collect();
            let half_step_s = 0.5 * (time_s - time_before_s);
            for ((dose, before), now) in doses.iter_mut().zip(&rates_before).zip(&rates) {
                *dose += half_step_s * (before + now);
            }
            cells_s.extend_from_slice(&doses);
            mean_s.push(volume_mean(fractions, &doses));
            rates_before = rates;
            time_before_s = *time_s;
        }
        GelDoses {
            core_s: along(self.core_kelvin()),
            edge_s: along(self.edge_kelvin()),
            mean_s,
            cells_s,
            cells,
        }
    }
}

/// Sum of values by their share of the volume.
#[must_use]
pub fn volume_mean(fractions: &[f64], values: &[f64]) -> f64 {
    fractions.iter().zip(values).map(|(f, v)| f * v).sum()
}

/// Share of the volume in which a value is under half of its volume mean: the unset share.
#[must_use]
pub fn share_under_half_of_mean(fractions: &[f64], values: &[f64]) -> f64 {
    let half = 0.5 * volume_mean(fractions, values);
    fractions
        .iter()
        .zip(values)
        .filter(|(_, value)| **value < half)
        .map(|(fraction, _)| fraction)
        .sum()
}

/// Integral from the first time on, by the trapezoid rule.
pub(super) fn running_integral(times_s: &[f64], values: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut sum = 0.0;
    let mut before: Option<(f64, f64)> = None;
    times_s
        .iter()
        .zip(values)
        .map(|(time_s, value)| {
            if let Some((time_before_s, value_before)) = before {
                sum += 0.5 * (time_s - time_before_s) * (value_before + value);
            }
            before = Some((*time_s, value));
            sum
        })
        .collect()
}
