//! Answers to a step of one: conduction is linear, so one run serves every set temperature.

use super::error::{ConductionError, checked_coefficient};
use super::output_times::{Recorder, checked_times};
use super::outside::Outside;
use super::radial_model::RadialModel;
use super::radial_state::RadialState;
use super::steps::Steps;

/// Fields of a barrel whose temperatures are counted in parts of one step outside.
///
/// # Equation
/// With `U` of [`unit_heating`], a barrel at `T_start` put into a block at `T_set` has
/// `T(r, t) = T_start + (T_set - T_start) U(r, t)`. Taken out at `t_0` into air at `T_air`, with `A` and
/// `B` of [`unit_cooling`] from a field of ones and from `U(r, t_0)`:
/// `T(r, t_0 + t) = T_air + (T_start - T_air) A(r, t) + (T_set - T_start) B(r, t)`.
#[derive(Debug, Clone, PartialEq)]
pub struct UnitField {
    times_s: Vec<f64>,
    cells: usize,
    gel_cells: usize,
    fields: Vec<f64>,
    core_fractions: Vec<f64>,
    edge_fractions: Vec<f64>,
    mean_fractions: Vec<f64>,
}

impl UnitField {
    /// The output times.
    #[must_use]
    pub fn times_s(&self) -> &[f64] {
        &self.times_s
    }

    /// At r = 0 by output time.
    #[must_use]
    pub fn core_fractions(&self) -> &[f64] {
        &self.core_fractions
    }

    /// Of the gel at its wall by output time.
    #[must_use]
    pub fn edge_fractions(&self) -> &[f64] {
        &self.edge_fractions
    }

    /// Volume mean over the gel by output time.
    #[must_use]
    pub fn mean_fractions(&self) -> &[f64] {
        &self.mean_fractions
    }

    /// Rings of gel, one slice for each output time, from the middle outwards.
    pub fn gel_fractions(&self) -> impl ExactSizeIterator<Item = &[f64]> {
        self.cell_fractions().map(|field| &field[..self.gel_cells])
    }

    /// Rings of gel and wall, one slice for each output time: what [`unit_cooling`] starts from.
    pub fn cell_fractions(&self) -> impl ExactSizeIterator<Item = &[f64]> {
        self.fields.chunks_exact(self.cells)
    }
}

/// The barrel starts at 0 and its outside is at 1.
///
/// # Equation
/// See [`UnitField`].
///
/// | symbol | field | unit |
/// |---|---|---|
/// | h | `coefficient_w_per_m2_kelvin` | W/m2/K |
/// | t | `times_s` | s |
///
/// # Valid for
/// See [`RadialModel`]; an outside of one temperature.
///
/// # Errors
/// A coefficient not above 0; times that do not rise from 0 on.
///
/// # Source
/// Superposition in linear conduction: H. Carslaw, J. Jaeger, Conduction of Heat in Solids, section 1.14
/// (from memory).
///
/// # Example
/// ```
/// use heatset::reference::{plasma, polypropylene};
/// use heatset::thermal::conduction::{Barrel, RadialGrid, RadialModel, unit_heating};
/// let barrel = Barrel::new(4.7e-3, 0.9e-3, plasma()?.into(), polypropylene()?.into())?;
/// let model = RadialModel::new(&barrel, RadialGrid::default())?;
/// let unit = unit_heating(&model, 150.0, &[60.0, 360.0])?;
/// // From 22 into 90 °C: 62.19 °C in the core after a minute (tests/references/two_layer.py).
/// let core_celsius = 22.0 + 68.0 * unit.core_fractions()[0];
/// approx::assert_abs_diff_eq!(core_celsius, 62.1936, epsilon = 0.05);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn unit_heating(
    model: &RadialModel,
    coefficient_w_per_m2_kelvin: f64,
    times_s: &[f64],
) -> Result<UnitField, ConductionError> {
    let cold = vec![0.0; model.cell_count()];
    unit_field(
        model,
        Outside::constant(coefficient_w_per_m2_kelvin, 1.0),
        &cold,
        times_s,
    )
}

/// The barrel starts from any field over gel and wall, and its outside is at 0.
///
/// # Equation
/// See [`UnitField`].
///
/// | symbol | field | unit |
/// |---|---|---|
/// | h | `coefficient_w_per_m2_kelvin` | W/m2/K |
/// | T(r, 0) | `initial_field`, by ring of gel and wall | any |
/// | t | `times_s`, since the cooling began | s |
///
/// # Valid for
/// See [`RadialModel`]; an outside of one temperature.
///
/// # Errors
/// A coefficient not above 0, a field of another length than the model's or with a value that is no
/// number, times that do not rise from 0 on.
///
/// # Source
/// H. Carslaw, J. Jaeger, Conduction of Heat in Solids, section 1.14 (from memory).
pub fn unit_cooling(
    model: &RadialModel,
    coefficient_w_per_m2_kelvin: f64,
    initial_field: &[f64],
    times_s: &[f64],
) -> Result<UnitField, ConductionError> {
    unit_field(
        model,
        Outside::constant(coefficient_w_per_m2_kelvin, 0.0),
        initial_field,
        times_s,
    )
}

fn unit_field(
    model: &RadialModel,
    outside: Outside,
    initial_field: &[f64],
    times_s: &[f64],
) -> Result<UnitField, ConductionError> {
    let coefficient = checked_coefficient(outside.coefficient_w_per_m2_kelvin)?;
    checked_times(times_s)?;
    let mut state = RadialState::from_cells(model, initial_field)?;
    let mut recorder = Recorder::new(times_s, state.cells_kelvin());
    if let Some(end_s) = times_s.last().copied().filter(|end_s| *end_s > 0.0) {
        state.march(model, &outside, (0.0, end_s), Steps::default(), |step| {
            recorder.take(0.0, step);
        })?;
    }
    let fields = recorder.finish(state.cells_kelvin());
    let rings = || fields.chunks_exact(model.cell_count());
    let outside_value = outside.temperature.kelvin_at(0.0);
    Ok(UnitField {
        times_s: times_s.to_vec(),
        cells: model.cell_count(),
        gel_cells: model.gel_cell_count(),
        core_fractions: rings().map(|rings| model.cells.core(rings)).collect(),
        edge_fractions: times_s
            .iter()
            .zip(rings())
            .map(|(time_s, rings)| {
                if *time_s > 0.0 {
                    model.cells.edge(rings, coefficient, outside_value)
                } else {
                    rings[model.gel_cell_count() - 1]
                }
            })
            .collect(),
        mean_fractions: rings().map(|rings| model.cells.mean(rings)).collect(),
        fields,
    })
}
