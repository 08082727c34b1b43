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

/// Values by part of the gel and time.
#[derive(Debug, Clone, PartialEq)]
pub struct ByPart {
    values: Vec<f64>,
    fractions: Vec<f64>,
}

impl ByPart {
    /// The parts' values, one slice a time.
    pub fn parts(&self) -> impl ExactSizeIterator<Item = &[f64]> {
        self.values.chunks_exact(self.fractions.len())
    }

    /// The parts' values at the end.
    #[must_use]
    pub fn last_parts(&self) -> &[f64] {
        let count = self.fractions.len();
        &self.values[self.values.len().saturating_sub(count)..]
    }

    /// Share that each part has in the whole; the sum is 1.
    #[must_use]
    pub fn fractions(&self) -> &[f64] {
        &self.fractions
    }

    /// Mean over the parts by time.
    #[must_use]
    pub fn means(&self) -> Vec<f64> {
        self.parts()
            .map(|parts| volume_mean(&self.fractions, parts))
            .collect()
    }

    /// Every value put through a function.
    #[must_use]
    pub fn map(&self, of: impl Fn(f64) -> f64) -> Self {
        Self {
            values: self.values.iter().map(|value| of(*value)).collect(),
            fractions: self.fractions.clone(),
        }
    }
}

/// Heat doses from the beginning of a schedule on, in s at the reference temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct GelDoses {
    /// At r = 0, by row of the length.
    pub core_s: ByPart,
    /// Of the gel at its wall, by row of the length.
    pub edge_s: ByPart,
    /// Of all cells of gel. Their mean is the mean dose, not the dose of the mean temperature.
    pub gel_s: ByPart,
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
        GelDoses {
            core_s: self.doses_of(self.core_rows_kelvin(), self.row_fractions(), reference),
            edge_s: self.doses_of(self.edge_rows_kelvin(), self.row_fractions(), reference),
            gel_s: self.doses_of(self.gel_kelvin(), self.gel_volume_fractions(), reference),
        }
    }

    fn doses_of<'a>(
        &self,
        parts_kelvin: impl Iterator<Item = &'a [f64]>,
        fractions: &[f64],
        reference: DoseReference,
    ) -> ByPart {
        let times_s = self.times_s();
        let mut doses = vec![0.0; fractions.len()];
        let mut rates_before: Vec<f64> = Vec::new();
        let mut time_before_s = 0.0;
        let mut values = Vec::with_capacity(doses.len() * times_s.len());
        for (time_s, kelvins) in times_s.iter().zip(parts_kelvin) {
            let rates: Vec<f64> = kelvins
                .iter()
                .map(|kelvin| {
                    relative_rate(
                        *kelvin,
                        reference.reference_kelvin,
                        reference.activation_energy_j_per_mol,
                    )
                })
                .collect();
            let half_step_s = 0.5 * (time_s - time_before_s);
            for ((dose, before), now) in doses.iter_mut().zip(&rates_before).zip(&rates) {
                *dose += half_step_s * (before + now);
            }
            values.extend_from_slice(&doses);
            rates_before = rates;
            time_before_s = *time_s;
        }
        ByPart {
            values,
            fractions: fractions.to_vec(),
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
