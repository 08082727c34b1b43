//! Answers of a barrel of finite length to a step of one in the block, and to one in the air.

use super::axial_barrel::Surroundings;
use super::axial_field::{AxialStage, march_axial, profile};
use super::axial_model::AxialModel;
use super::error::{ConductionError, checked_coefficient, checked_field};
use super::output_times::{Recorder, checked_times};
use super::outside::Outside;

/// Coefficients at the barrel's side below and above the block's rim.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AxialCoefficients {
    /// Below the rim.
    pub block_w_per_m2_kelvin: f64,
    /// Above the rim.
    pub air_w_per_m2_kelvin: f64,
}

/// Fields of a barrel of finite length, in parts of one step outside.
///
/// # Equation
/// With `B` and `A` of [`axial_unit_heating`] for the block and for the air, a barrel at `T_start` in a
/// block at `T_set` under air at `T_air` has
/// `T = T_start + (T_set - T_start) B + (T_air - T_start) A`. Cooling follows as in
/// [`UnitField`](super::UnitField), from a field of ones, from `B` and from `A`.
#[derive(Debug, Clone, PartialEq)]
pub struct AxialUnitField {
    times_s: Vec<f64>,
    cells: usize,
    rows: usize,
    fields: Vec<f64>,
    core_by_row: Vec<f64>,
    edge_by_row: Vec<f64>,
    mean_fractions: Vec<f64>,
}

impl AxialUnitField {
    /// The output times.
    #[must_use]
    pub fn times_s(&self) -> &[f64] {
        &self.times_s
    }

    /// Volume mean over the gel by output time.
    #[must_use]
    pub fn mean_fractions(&self) -> &[f64] {
        &self.mean_fractions
    }

    /// At r = 0 by row from the bottom, one slice for each output time.
    pub fn core_by_row_fractions(&self) -> impl ExactSizeIterator<Item = &[f64]> {
        self.core_by_row.chunks_exact(self.rows)
    }

    /// Of the gel at its wall by row from the bottom, one slice for each output time.
    pub fn edge_by_row_fractions(&self) -> impl ExactSizeIterator<Item = &[f64]> {
        self.edge_by_row.chunks_exact(self.rows)
    }

    /// All cells of gel and wall, one slice for each output time; [`AxialModel::gel_of`] picks the gel's.
    pub fn cell_fractions(&self) -> impl ExactSizeIterator<Item = &[f64]> {
        self.fields.chunks_exact(self.cells)
    }
}

/// The barrel starts at 0, the asked surrounding is at 1, the other at 0.
///
/// # Equation
/// See [`AxialUnitField`].
///
/// # Valid for
/// See [`AxialModel`]; surroundings of one temperature each.
///
/// # Errors
/// A coefficient not above 0; times that do not rise from 0 on.
///
/// # Source
/// Superposition in linear conduction: H. Carslaw, J. Jaeger, Conduction of Heat in Solids, section 1.14
/// (from memory).
pub fn axial_unit_heating(
    model: &AxialModel,
    coefficients: AxialCoefficients,
    heated: Surroundings,
    times_s: &[f64],
) -> Result<AxialUnitField, ConductionError> {
    let (block, air) = match heated {
        Surroundings::Block => (1.0, 0.0),
        Surroundings::Air => (0.0, 1.0),
    };
    let cold = vec![0.0; model.cell_count()];
    unit_field(model, coefficients, (block, air), &cold, times_s)
}

/// The barrel starts from any field over gel and wall, and its surroundings are at 0.
///
/// # Equation
/// See [`AxialUnitField`].
///
/// # Valid for
/// See [`AxialModel`]; surroundings of one temperature each.
///
/// # Errors
/// A coefficient not above 0, a field of another length than the model's or with a value that is no
/// number, times that do not rise from 0 on.
///
/// # Source
/// H. Carslaw, J. Jaeger, Conduction of Heat in Solids, section 1.14 (from memory).
pub fn axial_unit_cooling(
    model: &AxialModel,
    coefficients: AxialCoefficients,
    initial_field: &[f64],
    times_s: &[f64],
) -> Result<AxialUnitField, ConductionError> {
    unit_field(model, coefficients, (0.0, 0.0), initial_field, times_s)
}

fn unit_field(
    model: &AxialModel,
    coefficients: AxialCoefficients,
    (block, air): (f64, f64),
    initial_field: &[f64],
    times_s: &[f64],
) -> Result<AxialUnitField, ConductionError> {
    let block_coefficient = checked_coefficient(coefficients.block_w_per_m2_kelvin)?;
    let air_coefficient = checked_coefficient(coefficients.air_w_per_m2_kelvin)?;
    checked_times(times_s)?;
    checked_field(initial_field, model.cell_count())?;
    let mut field = initial_field.to_vec();
    let mut recorder = Recorder::new(times_s, &field);
    if let Some(end_s) = times_s.last().copied().filter(|end_s| *end_s > 0.0) {
        let stage = AxialStage {
            duration_s: end_s,
            block: Outside::constant(block_coefficient, block),
            air: Outside::constant(air_coefficient, air),
        };
        march_axial(model, &mut field, &stage, |step| recorder.take(0.0, step))?;
    }
    let fields = recorder.finish(&field);
    let sides = |side| match side {
        Surroundings::Block => (block_coefficient, block),
        Surroundings::Air => (air_coefficient, air),
    };
    let mut answer = AxialUnitField {
        times_s: times_s.to_vec(),
        cells: model.cell_count(),
        rows: model.row_count(),
        fields: Vec::new(),
        core_by_row: Vec::new(),
        edge_by_row: Vec::new(),
        mean_fractions: Vec::new(),
    };
    for (time_s, cells) in times_s.iter().zip(fields.chunks_exact(model.cell_count())) {
        let profile = profile(model, cells, *time_s > 0.0, sides);
        answer.mean_fractions.push(profile.mean);
        answer.core_by_row.extend(profile.core_by_row);
        answer.edge_by_row.extend(profile.edge_by_row);
    }
    answer.fields = fields;
    Ok(answer)
}
