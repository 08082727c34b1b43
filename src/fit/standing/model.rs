//! The course of standing as a separable least-squares model.

use super::choice::StandingForm;
use super::gels::StandingRows;
use crate::fit::least_squares::SeparableModel;
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;

/// Gain (or slope over the longest time) solved for; ln rate and `E/(R T_ref)` searched. Beginnings of
/// gels are taken out beforehand, which leaves the same estimates and covariance as fitting them
/// beside (R. Frisch, F. Waugh, Econometrica 1 (1933) 387, doi:10.2307/1907330).
#[derive(Debug, Clone)]
pub(super) struct StandingModel<'a> {
    rows: &'a StandingRows,
    form: StandingForm,
    fits_energy: bool,
    pub(super) reference_kelvin: f64,
    pub(super) longest_s: f64,
    targets: Vec<f64>,
    norm: f64,
}

impl<'a> StandingModel<'a> {
    pub(super) fn new(rows: &'a StandingRows, form: StandingForm, fits_energy: bool) -> Self {
        let targets = rows.targets();
        Self {
            form,
            fits_energy,
            reference_kelvin: rows.reference_kelvin(),
            longest_s: rows.stand_times_s()[1],
            norm: targets.iter().map(|y| y * y).sum::<f64>().sqrt(),
            targets,
            rows,
        }
    }

    /// `E/(R T_ref)` as an energy, in J/mol.
    pub(super) fn energy_j_per_mol(&self, search: &[f64]) -> f64 {
        let ratio = search.get(self.energy_slot()).copied().unwrap_or(0.0);
        ratio * self.thermal_energy_j_per_mol()
    }

    pub(super) fn thermal_energy_j_per_mol(&self) -> f64 {
        GAS_CONSTANT_J_PER_MOL_K * self.reference_kelvin
    }

    fn energy_slot(&self) -> usize {
        match self.form {
            StandingForm::LevelsOff => 1,
            StandingForm::Slope => 0,
        }
    }

    /// What a row's logarithm gains a unit of the linear parameter, its derivative by ln rate, and
    /// how much of that goes with `E/(R T_ref)`.
    fn row(&self, row: usize, search: &[f64]) -> [f64; 3] {
        let Some(row) = self.rows.rows.get(row) else {
            return [0.0; 3];
        };
        if row.stand_time_s <= 0.0 {
            return [0.0; 3];
        }
        let energy = search.get(self.energy_slot()).copied().unwrap_or(0.0);
        let share = 1.0 - self.reference_kelvin / row.stand_temp_kelvin;
        match self.form {
            StandingForm::LevelsOff => {
                let ln_rate = search.first().copied().unwrap_or(0.0);
                let dose = (ln_rate + energy * share).exp() * row.stand_time_s;
                [-(-dose).exp_m1(), dose * (-dose).exp(), share]
            }
            StandingForm::Slope => {
                let rise = (energy * share).exp() * row.stand_time_s / self.longest_s;
                [rise, rise, share]
            }
        }
    }

    /// Derivatives of the logarithm by the linear parameter, ln rate where it levels off, and
    /// the energy in J/mol where it is fitted, column by column, own beginnings taken out.
    pub(super) fn derivatives_by_all(&self, search: &[f64], linear: f64) -> Vec<f64> {
        let count = self.rows.rows.len();
        let per_energy = 1.0 / self.thermal_energy_j_per_mol();
        let column = |value: &dyn Fn([f64; 3]) -> f64| {
            let mut cells: Vec<f64> = (0..count).map(|i| value(self.row(i, search))).collect();
            self.rows.centre(&mut cells);
            cells
        };
        let mut jacobian = column(&|[gain, _, _]| gain);
        if self.form == StandingForm::LevelsOff {
            jacobian.extend(column(&|[_, by_rate, _]| linear * by_rate));
        }
        if self.fits_energy {
            jacobian.extend(column(&|[_, by_rate, share]| {
                linear * by_rate * share * per_energy
            }));
        }
        jacobian
    }

    /// Gain of each row a unit of the linear parameter, nothing taken out.
    pub(super) fn gains(&self, search: &[f64]) -> Vec<f64> {
        (0..self.rows.rows.len())
            .map(|row| self.row(row, search)[0])
            .collect()
    }
}

impl SeparableModel for StandingModel<'_> {
    fn row_count(&self) -> usize {
        self.rows.rows.len()
    }

    fn linear_count(&self) -> usize {
        1
    }

    fn search_count(&self) -> usize {
        usize::from(self.form == StandingForm::LevelsOff) + usize::from(self.fits_energy)
    }

    fn basis(&mut self, search: &[f64], target: &mut [f64], basis: &mut [f64]) {
        target.copy_from_slice(&self.targets);
        basis.copy_from_slice(&self.gains(search));
        self.rows.centre(basis);
    }

    fn derivatives(&mut self, search: &[f64], linear: &[f64], derivatives: &mut [f64]) {
        let gain = linear.first().copied().unwrap_or(0.0);
        let all = self.derivatives_by_all(search, gain);
        let scale = self.thermal_energy_j_per_mol();
        let rows = self.rows.rows.len();
        let searched = all.get(rows..).unwrap_or_default();
        for (value, found) in derivatives.iter_mut().zip(searched) {
            *value = *found;
        }
        // The search sees the energy over R T_ref.
        if self.fits_energy {
            let first = self.energy_slot() * rows;
            for value in derivatives.iter_mut().skip(first) {
                *value *= scale;
            }
        }
    }

    fn response_norm(&self) -> f64 {
        self.norm
    }
}
