//! Temperatures of the gel through a schedule of stages.

use super::error::{ConductionError, checked_kelvin};
use super::heat_balance::HeatBalance;
use super::output_times::{Recorder, checked_times_until};
use super::outside::{ConductionStage, checked_end_s};
use super::radial_model::RadialModel;
use super::radial_state::RadialState;
use super::steps::Steps;
use super::time_stepping::HeatPassed;

/// Temperatures by ring and output time, with core, edge and mean of the gel.
#[derive(Debug, Clone, PartialEq)]
pub struct RadialField {
    times_s: Vec<f64>,
    cells: usize,
    gel_cells: usize,
    fields_kelvin: Vec<f64>,
    core_kelvin: Vec<f64>,
    edge_kelvin: Vec<f64>,
    mean_kelvin: Vec<f64>,
    heat: HeatBalance,
}

impl RadialField {
    /// The output times.
    #[must_use]
    pub fn times_s(&self) -> &[f64] {
        &self.times_s
    }

    /// Temperature at r = 0 by output time: a parabola of zero slope through the two inner rings.
    #[must_use]
    pub fn core_kelvin(&self) -> &[f64] {
        &self.core_kelvin
    }

    /// Temperature of the gel at its wall by output time, from the flow that passes there.
    #[must_use]
    pub fn edge_kelvin(&self) -> &[f64] {
        &self.edge_kelvin
    }

    /// Volume mean over the gel by output time.
    #[must_use]
    pub fn mean_kelvin(&self) -> &[f64] {
        &self.mean_kelvin
    }

    /// Temperatures of the rings of gel, one slice for each output time, from the middle outwards.
    pub fn gel_kelvin(&self) -> impl ExactSizeIterator<Item = &[f64]> {
        self.cells_kelvin().map(|field| &field[..self.gel_cells])
    }

    /// Temperatures of the rings of gel and wall, one slice for each output time.
    pub fn cells_kelvin(&self) -> impl ExactSizeIterator<Item = &[f64]> {
        self.fields_kelvin.chunks_exact(self.cells)
    }

    /// Heat stored against heat passed, for one metre of barrel and the whole schedule.
    #[must_use]
    pub fn heat(&self) -> HeatBalance {
        self.heat
    }
}

/// Temperatures in gel and wall through a schedule, at the asked times.
///
/// # Equation
/// See [`RadialModel`] for space, [`Steps`] for the choice of steps; between steps a cubic through
/// both ends' temperatures and slopes. At the end of a stage the outside is that of the stage that ends.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | T(r, 0) | `start_kelvin` | K |
/// | h, T_outside, duration | `stages` | W/m2/K, K, s |
/// | t | `output_times_s`, since the first stage began | s |
///
/// # Valid for
/// See [`RadialModel`]. In the first second of a sudden change the steps are coarse beside it.
///
/// # Errors
/// A start not above 0 K, no stage, a stage that is none, output times that do not rise or lie
/// after the end.
///
/// # Source
/// See [`RadialModel`]; R. Alexander, SIAM Journal on Numerical Analysis 14, 1977, p. 1006
/// (from memory), DOI 10.1137/0714068.
///
/// # Example
/// A bare cylinder at Bi = h R/k = 1 and Fo = alpha t/R^2 = 0.2: the centre has 0.870174 of the way
/// still to go, the surface 0.570228, the mean 0.718516 (series solution of the infinite cylinder,
/// Incropera & DeWitt section 5.6, summed with SciPy).
/// ```
/// use heatset::reference::plasma;
/// use heatset::thermal::conduction::{
///     Barrel, ConductionStage, Outside, RadialGrid, RadialModel, ThermalBody, radial_field,
/// };
/// let gel = ThermalBody::from(plasma()?);
/// let model = RadialModel::new(&Barrel::new(4e-3, 0.0, gel, gel)?, RadialGrid::default())?;
/// let time_s = 0.2 * 2e-3 * 2e-3 / gel.diffusivity_m2_per_s();
/// let stage = ConductionStage { duration_s: time_s, outside: Outside::constant(290.0, 301.0) };
/// let field = radial_field(&model, 300.0, &[stage], &[time_s])?;
/// approx::assert_abs_diff_eq!(301.0 - field.core_kelvin()[0], 0.870174, epsilon = 5e-4);
/// approx::assert_abs_diff_eq!(301.0 - field.edge_kelvin()[0], 0.570228, epsilon = 5e-4);
/// approx::assert_abs_diff_eq!(301.0 - field.mean_kelvin()[0], 0.718516, epsilon = 5e-4);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn radial_field(
    model: &RadialModel,
    start_kelvin: f64,
    stages: &[ConductionStage],
    output_times_s: &[f64],
) -> Result<RadialField, ConductionError> {
    checked_kelvin(start_kelvin)?;
    let end_s = checked_end_s(stages.iter().map(|stage| stage.duration_s))?;
    for stage in stages {
        stage.outside.check()?;
    }
    checked_times_until(output_times_s, end_s)?;

    let mut state = RadialState::uniform(model, start_kelvin)?;
    let stored_before = model.stored_j(state.cells_kelvin());
    let mut recorder = Recorder::new(output_times_s, state.cells_kelvin());
    let mut passed = HeatPassed::default();
    let mut begun_s = 0.0;
    for stage in stages {
        let span_s = (0.0, stage.duration_s);
        passed += state.march(model, &stage.outside, span_s, Steps::default(), |step| {
            recorder.take(begun_s, step);
        })?;
        begun_s += stage.duration_s;
    }
    let stored_j = model.stored_j(state.cells_kelvin()) - stored_before;
    let fields_kelvin = recorder.finish(state.cells_kelvin());
    let fields = || fields_kelvin.chunks_exact(model.cell_count());
    Ok(RadialField {
        times_s: output_times_s.to_vec(),
        cells: model.cell_count(),
        gel_cells: model.gel_cell_count(),
        core_kelvin: fields().map(|rings| model.cells.core(rings)).collect(),
        edge_kelvin: edges(model, stages, output_times_s, fields()),
        mean_kelvin: fields().map(|rings| model.cells.mean(rings)).collect(),
        fields_kelvin,
        heat: HeatBalance::new(stored_j, passed),
    })
}

/// The gel at its wall, with the outside of the stage that each time falls in.
fn edges<'a>(
    model: &RadialModel,
    stages: &[ConductionStage],
    times_s: &[f64],
    fields: impl Iterator<Item = &'a [f64]>,
) -> Vec<f64> {
    let mut place = 0;
    let mut begun_s = 0.0;
    times_s
        .iter()
        .zip(fields)
        .map(|(time_s, rings)| {
            while place + 1 < stages.len() && *time_s > begun_s + stages[place].duration_s {
                begun_s += stages[place].duration_s;
                place += 1;
            }
            if *time_s <= 0.0 {
                // Nothing has passed the surface yet: the gel there is as it started.
                return rings[model.gel_cell_count() - 1];
            }
            let outside = &stages[place].outside;
            model.cells.edge(
                rings,
                outside.coefficient_w_per_m2_kelvin,
                outside.temperature.kelvin_at(time_s - begun_s),
            )
        })
        .collect()
}
