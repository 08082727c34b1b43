//! Temperatures of a barrel of finite length through a schedule of stages.

use super::axial_barrel::Surroundings;
use super::axial_model::AxialModel;
use super::axial_system::AxialSystem;
use super::error::{ConductionError, checked_kelvin};
use super::heat_balance::HeatBalance;
use super::output_times::{Recorder, checked_times_until};
use super::outside::{Outside, checked_end_s, smooth_spans_s};
use super::steps::Steps;
use super::time_stepping::{HeatPassed, StepRoom, StepTaken, march};

/// One stage: what acts below and above the block's rim, and how long.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AxialStage {
    /// How long the stage lasts.
    pub duration_s: f64,
    /// What acts below the rim: the block, or the air once the barrel is out.
    pub block: Outside,
    /// What acts above the rim.
    pub air: Outside,
}

impl AxialStage {
    /// A stage in the air over the whole length.
    #[must_use]
    pub fn out_of_the_block(duration_s: f64, air: Outside) -> Self {
        Self {
            duration_s,
            block: air,
            air,
        }
    }

    fn side(&self, surroundings: Surroundings) -> &Outside {
        match surroundings {
            Surroundings::Block => &self.block,
            Surroundings::Air => &self.air,
        }
    }
}

/// Temperatures by cell and output time, with core, edge and mean of the gel.
#[derive(Debug, Clone, PartialEq)]
pub struct AxialField {
    times_s: Vec<f64>,
    cells: usize,
    rows: usize,
    fields_kelvin: Vec<f64>,
    core_by_row_kelvin: Vec<f64>,
    edge_by_row_kelvin: Vec<f64>,
    core_kelvin: Vec<f64>,
    edge_kelvin: Vec<f64>,
    mean_kelvin: Vec<f64>,
    heat: HeatBalance,
}

impl AxialField {
    /// The output times.
    #[must_use]
    pub fn times_s(&self) -> &[f64] {
        &self.times_s
    }

    /// Temperature at r = 0, mean over the length, by output time.
    #[must_use]
    pub fn core_kelvin(&self) -> &[f64] {
        &self.core_kelvin
    }

    /// Temperature of the gel at its wall, mean over the length, by output time.
    #[must_use]
    pub fn edge_kelvin(&self) -> &[f64] {
        &self.edge_kelvin
    }

    /// Volume mean over the gel by output time.
    #[must_use]
    pub fn mean_kelvin(&self) -> &[f64] {
        &self.mean_kelvin
    }

    /// Temperature at r = 0 by row from the bottom, one slice for each output time.
    pub fn core_by_row_kelvin(&self) -> impl ExactSizeIterator<Item = &[f64]> {
        self.core_by_row_kelvin.chunks_exact(self.rows)
    }

    /// Temperature of the gel at its wall by row from the bottom, one slice for each output time.
    pub fn edge_by_row_kelvin(&self) -> impl ExactSizeIterator<Item = &[f64]> {
        self.edge_by_row_kelvin.chunks_exact(self.rows)
    }

    /// Temperatures of all cells, one slice for each output time; [`AxialModel::gel_of`] picks the gel's.
    pub fn cells_kelvin(&self) -> impl ExactSizeIterator<Item = &[f64]> {
        self.fields_kelvin.chunks_exact(self.cells)
    }

    /// Heat stored against heat passed, for the whole barrel and schedule.
    #[must_use]
    pub fn heat(&self) -> HeatBalance {
        self.heat
    }
}

/// Temperatures in a barrel of finite length through a schedule, at the asked times.
///
/// # Equation
/// See [`AxialModel`] for space, [`Steps`] for the choice of steps; between steps a cubic through
/// both ends' temperatures and slopes.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | T(r, z, 0) | `start_kelvin` | K |
/// | h, T_outside, duration | `stages` | W/m2/K, K, s |
/// | t | `output_times_s`, since the first stage began | s |
///
/// # Valid for
/// See [`AxialModel`].
///
/// # Errors
/// A start not above 0 K, no stage, a stage that is none, output times that do not rise or lie
/// after the end.
///
/// # Source
/// See [`AxialModel`]; R. Alexander, SIAM Journal on Numerical Analysis 14, 1977, p. 1006
/// (from memory), DOI 10.1137/0714068.
///
/// # Example
/// A bare cylinder as long as wide, heated alike all round at Bi = 1 and Fo = 0.2: the mean has
/// 0.718516 x 0.851595 of the way still to go, cylinder times plane wall (product solution, Incropera &
/// DeWitt section 5.8, from memory; both series summed with SciPy).
/// ```
/// use heatset::thermal::conduction::{
///     AxialBarrel, AxialGrid, AxialModel, AxialStage, Barrel, EndCondition, Outside, Surroundings,
///     ThermalBody, axial_field,
/// };
/// let gel = ThermalBody {
///     conductivity_w_per_m_kelvin: 0.5,
///     density_kg_per_m3: 1000.0,
///     specific_heat_j_per_kg_kelvin: 4000.0,
/// };
/// let end = EndCondition::AsSide { surroundings: Surroundings::Block };
/// let length = AxialBarrel {
///     filled_length_m: 4e-3, stands_out_m: 0.0, bottom_end: end, top_end: end,
/// };
/// let barrel = Barrel::new(4e-3, 0.0, gel, gel)?;
/// let model = AxialModel::new(&barrel, &length, AxialGrid::default())?;
/// let time_s = 0.2 * 2e-3 * 2e-3 / gel.diffusivity_m2_per_s();
/// let stage = AxialStage::out_of_the_block(time_s, Outside::constant(250.0, 301.0));
/// let field = axial_field(&model, 300.0, &[stage], &[time_s])?;
/// approx::assert_abs_diff_eq!(301.0 - field.mean_kelvin()[0], 0.611_885, epsilon = 5e-4);
/// # Ok::<(), heatset::thermal::conduction::ConductionError>(())
/// ```
pub fn axial_field(
    model: &AxialModel,
    start_kelvin: f64,
    stages: &[AxialStage],
    output_times_s: &[f64],
) -> Result<AxialField, ConductionError> {
    checked_kelvin(start_kelvin)?;
    let end_s = checked_end_s(stages.iter().map(|stage| stage.duration_s))?;
    for stage in stages {
        stage.block.check()?;
        stage.air.check()?;
    }
    checked_times_until(output_times_s, end_s)?;

    let mut field = vec![start_kelvin; model.cell_count()];
    let stored_before = model.stored_j(&field);
    let mut recorder = Recorder::new(output_times_s, &field);
    let mut passed = HeatPassed::default();
    let mut begun_s = 0.0;
    for stage in stages {
        passed += march_axial(model, &mut field, stage, |step| {
            recorder.take(begun_s, step);
        })?;
        begun_s += stage.duration_s;
    }
    let stored_j = model.stored_j(&field) - stored_before;
    let fields_kelvin = recorder.finish(&field);

    let mut answer = AxialField {
        times_s: output_times_s.to_vec(),
        cells: model.cell_count(),
        rows: model.row_count(),
        fields_kelvin: Vec::new(),
        core_by_row_kelvin: Vec::new(),
        edge_by_row_kelvin: Vec::new(),
        core_kelvin: Vec::new(),
        edge_kelvin: Vec::new(),
        mean_kelvin: Vec::new(),
        heat: HeatBalance::new(stored_j, passed),
    };
    let mut place = 0;
    let mut begun_s = 0.0;
    let fields = fields_kelvin.chunks_exact(model.cell_count());
    for (time_s, cells) in output_times_s.iter().zip(fields) {
        while place + 1 < stages.len() && *time_s > begun_s + stages[place].duration_s {
            begun_s += stages[place].duration_s;
            place += 1;
        }
        let sides = |side| {
            let outside = stages[place].side(side);
            let kelvin = outside.temperature.kelvin_at(time_s - begun_s);
            (outside.coefficient_w_per_m2_kelvin, kelvin)
        };
        let profile = profile(model, cells, *time_s > 0.0, sides);
        answer.core_kelvin.push(profile.core);
        answer.edge_kelvin.push(profile.edge);
        answer.mean_kelvin.push(profile.mean);
        answer.core_by_row_kelvin.extend(profile.core_by_row);
        answer.edge_by_row_kelvin.extend(profile.edge_by_row);
    }
    answer.fields_kelvin = fields_kelvin;
    Ok(answer)
}

/// Core, edge and mean of one field.
pub(super) struct Profile {
    pub core_by_row: Vec<f64>,
    pub edge_by_row: Vec<f64>,
    pub core: f64,
    pub edge: f64,
    pub mean: f64,
}

/// Core, edge and mean of one field; `sides` gives coefficient and temperature of a surrounding.
pub(super) fn profile(
    model: &AxialModel,
    cells: &[f64],
    begun: bool,
    sides: impl Fn(Surroundings) -> (f64, f64),
) -> Profile {
    let rows = || cells.chunks_exact(model.ring_count());
    let core_by_row: Vec<f64> = rows().map(|rings| model.rings.core(rings)).collect();
    let edge_by_row: Vec<f64> = rows()
        .enumerate()
        .map(|(row, rings)| {
            if begun {
                let (coefficient, outside) = sides(model.side_of(row));
                model.rings.edge(rings, coefficient, outside)
            } else {
                rings[model.gel_ring_count() - 1]
            }
        })
        .collect();
    Profile {
        core: model.mean_over_rows(core_by_row.iter().copied()),
        edge: model.mean_over_rows(edge_by_row.iter().copied()),
        mean: model.mean_over_rows(rows().map(|rings| model.rings.mean(rings))),
        core_by_row,
        edge_by_row,
    }
}

/// Steps a field through one stage.
pub(super) fn march_axial(
    model: &AxialModel,
    field: &mut [f64],
    stage: &AxialStage,
    mut observe: impl FnMut(&StepTaken<'_>),
) -> Result<HeatPassed, ConductionError> {
    let system = AxialSystem::new(model, &stage.block, &stage.air);
    let mut room = StepRoom::new(field.len());
    let mut heat = HeatPassed::default();
    let breaks_s = [&stage.block, &stage.air].map(|outside| outside.temperature.break_s());
    for (start_s, end_s) in smooth_spans_s(0.0, stage.duration_s, breaks_s) {
        let ladder = Steps::default().ladder(end_s - start_s, model.rings.crossing_time_s)?;
        heat += march(
            &system,
            &mut room,
            field,
            (start_s, end_s),
            ladder,
            &mut observe,
        );
    }
    Ok(heat)
}
