//! The lean path: first order, no lag of any kind, both ends of the firmness law solved for.
//!
//! Nearly every fit is of this kind, and refits by the thousand are. With `u = exp(-k t)` the
//! response is `y_0 + (y_inf - y_0)(1 - u)`: one function that never changes, a constant, and one
//! that does. So the constant is taken out of the readings once, and each point of the search
//! costs one exponential a row.

use super::rows::BenchRows;
use crate::kinetics::unset_fractions;

/// Rows and scratch of the lean path.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct FirstOrder {
    /// Which temperature each row was heated at.
    temperature_of_row: Vec<usize>,
    time_s: Vec<f64>,
    /// `1 - T_ref/T` of each temperature, and of each row: the derivative of `ln k` by
    /// `E/(R T_ref)`.
    share_of_temperature: Vec<f64>,
    share_of_row: Vec<f64>,
    rates_per_s: Vec<f64>,
    rate_doses: Vec<f64>,
    unset: Vec<f64>,
    /// What the unset fractions were computed with: `ln k_ref` and `E/(R T_ref)`.
    made_with: (f64, f64),
}

impl FirstOrder {
    pub(super) fn new(rows: &BenchRows, reference_kelvin: f64) -> Self {
        let share_of_temperature: Vec<f64> = rows
            .temperatures_kelvin
            .iter()
            .map(|kelvin| 1.0 - reference_kelvin / kelvin)
            .collect();
        let points = || rows.point_of_row.iter().map(|&point| rows.points[point]);
        Self {
            temperature_of_row: points().map(|p| p.0).collect(),
            time_s: points().map(|p| p.1).collect(),
            share_of_row: points().map(|p| share_of_temperature[p.0]).collect(),
            rates_per_s: vec![0.0; share_of_temperature.len()],
            share_of_temperature,
            rate_doses: vec![0.0; rows.len()],
            unset: vec![0.0; rows.len()],
            made_with: (f64::NAN, f64::NAN),
        }
    }

    /// Computes the unset fraction of all rows, unless they stand already.
    ///
    /// # Equation
    /// `ln k(T) = ln k_ref + E/(R T_ref) (1 - T_ref/T)`, `u = exp(-k t)`
    pub(super) fn compute(&mut self, ln_rate: f64, energy_ratio: f64) {
        if self.made_with == (ln_rate, energy_ratio) {
            return;
        }
        self.made_with = (ln_rate, energy_ratio);
        for (rate, share) in self.rates_per_s.iter_mut().zip(&self.share_of_temperature) {
            *rate = (ln_rate + energy_ratio * share).exp();
        }
        let places = self.temperature_of_row.iter().zip(&self.time_s);
        for (rate_dose, (&place, time_s)) in self.rate_doses.iter_mut().zip(places) {
            *rate_dose = self.rates_per_s[place] * time_s;
        }
        unset_fractions(&mut self.rate_doses, &mut self.unset);
    }

    /// Unset fraction of each row at the point computed last.
    pub(super) fn unset(&self) -> &[f64] {
        &self.unset
    }

    /// Writes the weighted unset fraction of each row.
    pub(super) fn write_unset(&self, weights: &[f64], column: &mut [f64]) {
        for ((value, u), weight) in column.iter_mut().zip(&self.unset).zip(weights) {
            *value = weight * u;
        }
    }

    /// Writes the weighted conversion of each row.
    pub(super) fn write_fractions(&self, weights: &[f64], column: &mut [f64]) {
        for ((value, u), weight) in column.iter_mut().zip(&self.unset).zip(weights) {
            *value = weight * (1.0 - u);
        }
    }

    /// Writes the weighted derivative of the response by `ln k_ref`, at the given rise of the
    /// response from unset to set.
    pub(super) fn write_by_rate(&self, rise: f64, weights: &[f64], column: &mut [f64]) {
        let cells = self.rate_doses.iter().zip(&self.unset).zip(weights);
        for (value, ((rate_dose, u), weight)) in column.iter_mut().zip(cells) {
            *value = rise * weight * (rate_dose * u);
        }
    }

    /// Writes the derivatives by `E/(R T_ref)` that belong to those by `ln k_ref`.
    pub(super) fn write_by_energy(&self, by_rate: &[f64], column: &mut [f64]) {
        for ((value, by), share) in column.iter_mut().zip(by_rate).zip(&self.share_of_row) {
            *value = by * share;
        }
    }

    /// Turns derivatives by `ln k_ref` into those by `E/(R T_ref)`.
    pub(super) fn scale_by_energy(&self, column: &mut [f64]) {
        for (value, share) in column.iter_mut().zip(&self.share_of_row) {
            *value *= share;
        }
    }
}
