//! The bench as a separable problem: what the search asks of every row, over and over.

use super::BenchModel;
use crate::fit::bench::conversions::{TIMING, Timing};
use crate::fit::bench::estimates::Estimates;
use crate::fit::bench::response::{Ends, Read, Response, response};
use crate::fit::bench::roles::Role;
use crate::fit::least_squares::{MAX_LINEAR, SeparableModel};
use crate::fit::parameter::ParameterName;
use crate::kinetics::FirmnessLaw;
use crate::thermal::WarmUp;

impl SeparableModel for BenchModel<'_> {
    fn row_count(&self) -> usize {
        self.rows.len() + self.shape.priors.len()
    }

    fn linear_count(&self) -> usize {
        self.linear_count
    }

    fn search_count(&self) -> usize {
        self.search_count
    }

    fn fixed_count(&self) -> usize {
        usize::from(self.lean.is_some())
    }

    fn fixed(&mut self, target: &mut [f64], basis: &mut [f64]) {
        target.copy_from_slice(&self.weighted_response);
        basis.copy_from_slice(&self.weights);
    }

    fn basis(&mut self, search: &[f64], target: &mut [f64], basis: &mut [f64]) {
        let ln_rate = self.inner(ParameterName::RateRef, search);
        let energy_ratio = self.inner(ParameterName::ActivationEnergy, search);
        if let Some(lean) = &mut self.lean {
            lean.compute(ln_rate, energy_ratio);
            lean.write_fractions(&self.weights, basis);
            return;
        }
        // Projected parameters are taken at zero in the offset: ln 1 = 0 for a logarithm.
        let values = self.estimates(search, &[0.0; MAX_LINEAR]);
        self.conversions.compute(self.rows, &self.timing(&values));
        let rows = self.rows.len();
        let total = self.row_count();
        let projected =
            |name: ParameterName| matches!(self.roles[name.index()], Role::Projected(_));
        let held = |name: ParameterName| self.roles[name.index()] == Role::Held;
        let no_offset = projected(ParameterName::Initial)
            && (projected(ParameterName::Plateau) || projected(ParameterName::GelExponent))
            && !held(ParameterName::FlowActivationEnergy)
            && matches!(
                self.roles[ParameterName::FlowIndexPlateau.index()],
                Role::Absent | Role::Projected(_)
            );
        target[..rows].copy_from_slice(&self.weighted_response);
        let ends = self.ends(&values);
        if !no_offset {
            for (row, slot) in target[..rows].iter_mut().enumerate() {
                *slot -= self.weights[row] * self.row_response(row, &ends).value;
            }
        }
        let unset = &self.conversions.unset;
        let fraction = &self.conversions.fraction;
        let gel_point = self.shape.law == FirmnessLaw::GelPoint;
        for name in ParameterName::ALL {
            let Role::Projected(j) = self.roles[name.index()] else {
                continue;
            };
            let column = &mut basis[j * total..(j + 1) * total];
            column[rows..].fill(0.0);
            let cells = column.iter_mut().zip(&self.weights);
            match name {
                ParameterName::Initial if gel_point => {
                    cells.for_each(|(value, weight)| *value = *weight);
                }
                ParameterName::Initial => {
                    cells
                        .zip(unset)
                        .for_each(|((value, weight), u)| *value = weight * u);
                }
                ParameterName::Plateau => {
                    cells
                        .zip(fraction)
                        .for_each(|((value, weight), a)| *value = weight * a);
                }
                ParameterName::GelExponent => {
                    let gel = values.get(ParameterName::GelConversion);
                    cells
                        .zip(fraction)
                        .for_each(|((value, weight), a)| *value = -weight * (-a / gel).ln_1p());
                }
                ParameterName::FlowActivationEnergy => {
                    let ratios = self.rows.read_temperatures.iter().flat_map(|r| &r.ratios);
                    cells
                        .zip(ratios)
                        .for_each(|((value, weight), ratio)| *value = weight * ratio);
                }
                _ => {
                    cells
                        .zip(fraction.iter().zip(&self.rows.ln_shear_ratios))
                        .for_each(|((value, weight), (a, ln_shear))| {
                            *value = -weight * a * ln_shear
                        });
                }
            }
        }
        for (place, prior) in self.shape.priors.iter().enumerate() {
            let row = rows + place;
            let weight = self.prior_weights[place];
            let scale = prior.name.scale(self.shape.errors);
            let (known, _) = prior.on(scale);
            target[row] = match self.roles[prior.name.index()] {
                // 1 - n is projected: its row is minus that of n.
                Role::Projected(j) if prior.name == ParameterName::FlowIndexPlateau => {
                    basis[j * total + row] = weight;
                    weight * (1.0 - known)
                }
                // The search sees the energy over R T_ref.
                Role::Projected(j) if prior.name == ParameterName::FlowActivationEnergy => {
                    basis[j * total + row] = weight * self.flow_thermal_energy_j_per_mol;
                    weight * known
                }
                Role::Projected(j) => {
                    basis[j * total + row] = weight;
                    weight * known
                }
                _ => weight * (known - scale.of(values.get(prior.name))),
            };
        }
    }

    fn derivatives(&mut self, search: &[f64], linear: &[f64], derivatives: &mut [f64]) {
        let rows = self.rows.len();
        let total = self.row_count();
        if let Some(lean) = &self.lean {
            let rate = self.search_slot(ParameterName::RateRef);
            let energy = self.search_slot(ParameterName::ActivationEnergy);
            // The rate is always searched before the energy; where it is held, the energy's own
            // column takes both in turn.
            let (first, second) = derivatives.split_at_mut(derivatives.len().min(total));
            lean.write_by_rate(linear[1], &self.weights, first);
            match (rate, energy) {
                (Some(_), Some(_)) => lean.write_by_energy(first, second),
                (None, Some(_)) => lean.scale_by_energy(first),
                _ => {}
            }
            return;
        }
        let values = self.estimates(search, linear);
        let ends = self.ends(&values);
        for row in 0..rows {
            let weight = self.weights[row];
            let r = self.row_response(row, &ends);
            for (name, source) in TIMING.iter().zip(&self.conversions.by) {
                if let Role::Searched(slot) = self.roles[name.index()] {
                    derivatives[slot * total + row] = weight * r.by_conversion * source[row];
                }
            }
            for (name, part) in [
                (ParameterName::Initial, r.by_initial),
                (ParameterName::Plateau, r.by_plateau),
                (ParameterName::GelConversion, r.by_gel_conversion),
                (ParameterName::GelExponent, r.by_gel_exponent),
                (ParameterName::FlowIndexPlateau, r.by_thinning),
                (ParameterName::YieldSharePlateau, r.by_yield_share),
                (ParameterName::FlowActivationEnergy, r.by_flow_energy),
            ] {
                if let Role::Searched(slot) = self.roles[name.index()] {
                    derivatives[slot * total + row] = weight * part;
                }
            }
        }
        for (place, prior) in self.shape.priors.iter().enumerate() {
            for slot in 0..self.search_count {
                derivatives[slot * total + rows + place] = 0.0;
            }
            if let Role::Searched(slot) = self.roles[prior.name.index()] {
                // The search sees the energy over R T_ref, and 1 - n for the index.
                let inner = match prior.name {
                    ParameterName::ActivationEnergy => self.thermal_energy_j_per_mol,
                    ParameterName::FlowActivationEnergy => self.flow_thermal_energy_j_per_mol,
                    ParameterName::FlowIndexPlateau => -1.0,
                    _ => 1.0,
                };
                derivatives[slot * total + rows + place] = self.prior_weights[place] * inner;
            }
        }
    }

    fn response_norm(&self) -> f64 {
        self.response_norm
    }
}

impl BenchModel<'_> {
    #[inline]
    pub(super) fn timing(&self, values: &Estimates) -> Timing {
        Timing {
            ln_rate: values.get(ParameterName::RateRef).ln(),
            energy_j_per_mol: values.get(ParameterName::ActivationEnergy),
            order: values.get(ParameterName::Order),
            dose_lag_s: values.get(ParameterName::DoseLag),
            warm_up: match &self.shape.warm_up {
                WarmUp::Lag { start_temp_k, .. } => WarmUp::Lag {
                    time_constant_s: values.get(ParameterName::WarmUp),
                    start_temp_k: *start_temp_k,
                },
                other => other.clone(),
            },
            reference_kelvin: self.shape.reference_kelvin,
        }
    }

    #[inline]
    pub(super) fn ends(&self, values: &Estimates) -> Ends {
        Ends {
            initial: values.get(ParameterName::Initial),
            plateau: values.get(ParameterName::Plateau),
            gel_conversion: values.get(ParameterName::GelConversion),
            gel_exponent: values.get(ParameterName::GelExponent),
            thinning: 1.0 - values.get(ParameterName::FlowIndexPlateau),
            yield_share: values.get(ParameterName::YieldSharePlateau),
            flow_energy: self.inward(
                ParameterName::FlowActivationEnergy,
                values.get(ParameterName::FlowActivationEnergy),
            ),
        }
    }

    #[inline]
    pub(super) fn row_response(&self, row: usize, ends: &Ends) -> Response {
        let read = Read {
            ln_shear: self.rows.ln_shear_ratios.get(row).copied().unwrap_or(0.0),
            temperature_ratio: self
                .rows
                .read_temperatures
                .as_ref()
                .and_then(|read| read.ratios.get(row).copied())
                .unwrap_or(0.0),
        };
        let conversion = (self.conversions.fraction[row], self.conversions.unset[row]);
        response(self.shape.law, self.shape.errors, ends, conversion, read)
    }
}
