//! A field of temperatures that is stepped by hand.

use super::error::{ConductionError, checked_field, checked_kelvin};
use super::heat_balance::HeatBalance;
use super::outside::{Outside, smooth_spans_s};
use super::radial_model::RadialModel;
use super::radial_system::RadialSystem;
use super::steps::Steps;
use super::time_stepping::{HeatPassed, StepRoom, StepTaken, march};

/// Temperatures of all rings at one moment, from the middle of the gel to the barrel's outside.
#[derive(Debug, Clone, PartialEq)]
pub struct RadialState {
    temperatures_kelvin: Vec<f64>,
    gel_cells: usize,
    room: StepRoom,
}

impl RadialState {
    /// One temperature throughout.
    ///
    /// # Errors
    /// A temperature not above 0 K.
    pub fn uniform(model: &RadialModel, kelvin: f64) -> Result<Self, ConductionError> {
        let kelvin = checked_kelvin(kelvin)?;
        Ok(Self::unchecked(model, vec![kelvin; model.cell_count()]))
    }

    /// A temperature for every ring of gel and wall.
    ///
    /// # Errors
    /// A field of another length than the model's, or a value that is not finite.
    pub fn from_cells(model: &RadialModel, field: &[f64]) -> Result<Self, ConductionError> {
        checked_field(field, model.cell_count())?;
        Ok(Self::unchecked(model, field.to_vec()))
    }

    fn unchecked(model: &RadialModel, temperatures_kelvin: Vec<f64>) -> Self {
        Self {
            gel_cells: model.gel_cell_count(),
            room: StepRoom::new(temperatures_kelvin.len()),
            temperatures_kelvin,
        }
    }

    /// Temperatures of the rings of gel and wall.
    #[must_use]
    pub fn cells_kelvin(&self) -> &[f64] {
        &self.temperatures_kelvin
    }

    /// Temperatures of the rings of gel.
    #[must_use]
    pub fn gel_kelvin(&self) -> &[f64] {
        &self.temperatures_kelvin[..self.gel_cells]
    }

    /// Steps through a span of one stage; times since the stage began.
    pub(super) fn march(
        &mut self,
        model: &RadialModel,
        outside: &Outside,
        (from_s, to_s): (f64, f64),
        steps: Steps,
        mut observe: impl FnMut(&StepTaken<'_>),
    ) -> Result<HeatPassed, ConductionError> {
        let system = RadialSystem::new(&model.cells, outside);
        let mut heat = HeatPassed::default();
        for (start_s, end_s) in smooth_spans_s(from_s, to_s, [outside.temperature.break_s(), None])
        {
            heat += march(
                &system,
                &mut self.room,
                &mut self.temperatures_kelvin,
                (start_s, end_s),
                steps.ladder(end_s - start_s, model.cells.crossing_time_s)?,
                &mut observe,
            );
        }
        Ok(heat)
    }
}

impl RadialModel {
    /// Carries a state from one time to another while one thing acts on the outside, and tells
    /// what heat came through it. Both times count from the beginning of the stage, where a ramp starts.
    ///
    /// # Valid for
    /// Graded steps start small at `from_s`; inside a smooth stretch equal steps serve better.
    ///
    /// # Errors
    /// An outside that is none, an end that is not after the start, steps that are none, a state of
    /// another model.
    ///
    /// # Example
    /// Bi = 0.01, so one temperature throughout, within 1 in 100: after one time constant
    /// `rho cp R/(2 h)` the share of the way still to go is 1/e (lumped capacitance).
    /// ```
    /// use heatset::reference::plasma;
    /// use heatset::thermal::conduction::{
    ///     Barrel, Outside, RadialGrid, RadialModel, RadialState, Steps,
    /// };
    /// let gel = plasma()?.into();
    /// let model = RadialModel::new(&Barrel::new(4e-3, 0.0, gel, gel)?, RadialGrid::default())?;
    /// let mut state = RadialState::uniform(&model, 300.0)?;
    /// let air = Outside::constant(0.01 * 0.58 / 2e-3, 301.0);
    /// let time_constant_s = 1025.0 * 3900.0 * 2e-3 / (2.0 * 2.9);
    /// model.advance(&mut state, &air, 0.0, time_constant_s, Steps::default())?;
    /// let to_go = 301.0 - state.gel_kelvin()[0];
    /// approx::assert_relative_eq!(to_go, (-1.0_f64).exp(), max_relative = 0.01);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn advance(
        &self,
        state: &mut RadialState,
        outside: &Outside,
        from_s: f64,
        to_s: f64,
        steps: Steps,
    ) -> Result<HeatBalance, ConductionError> {
        outside.check()?;
        if !(from_s >= 0.0 && to_s > from_s && to_s.is_finite()) {
            return Err(ConductionError::Span { from_s, to_s });
        }
        if state.cells_kelvin().len() != self.cell_count() {
            return Err(ConductionError::FieldLength {
                found: state.cells_kelvin().len(),
                expected: self.cell_count(),
            });
        }
        let stored_before = self.stored_j(state.cells_kelvin());
        let heat = state.march(self, outside, (from_s, to_s), steps, |_| {})?;
        let stored_after = self.stored_j(state.cells_kelvin());
        Ok(HeatBalance::new(stored_after - stored_before, heat))
    }

    /// Heat stored in one metre of barrel, counted from 0 K.
    pub(super) fn stored_j(&self, temperatures_kelvin: &[f64]) -> f64 {
        self.capacities_j_per_m_kelvin()
            .iter()
            .zip(temperatures_kelvin)
            .map(|(capacity, kelvin)| capacity * kelvin)
            .sum()
    }
}
