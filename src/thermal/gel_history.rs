//! What the gel in a syringe felt through a heat schedule: temperatures by place and time.

use super::conduction::{
    AxialStage, ConductionStage, Outside, OutsideTemperature, axial_field, radial_field,
};
use super::input_error::ThermalInputError;
use super::schedule::StageKind;
use super::syringe_setup::{SyringeModel, SyringeSetup};
use super::timed_schedule::{TimedSchedule, TimedStage};

/// Times between two temperatures: 1 s, or less where the syringe warms so fast that this would be
/// coarse (over a thirtieth of its time constant).
const STEPS_S: [f64; 5] = [1.0, 0.5, 0.2, 0.1, 0.05];
const STEPS_A_TIME_CONSTANT: f64 = 30.0;
/// Longest schedules, in s: of an infinitely long barrel, and of one with ends.
const LONGEST_S: f64 = 86_400.0;
const LONGEST_WITH_ENDS_S: f64 = 7_200.0;
/// Most times of a schedule.
const MOST_TIMES: f64 = 90_000.0;

/// Temperatures of the gel in a syringe, from the beginning of a schedule to its end.
#[derive(Debug, Clone, PartialEq)]
pub struct GelHistory {
    model: SyringeModel,
    times_s: Vec<f64>,
    core_kelvin: Vec<f64>,
    edge_kelvin: Vec<f64>,
    mean_kelvin: Vec<f64>,
    gel_kelvin: Vec<f64>,
    gel_cells: usize,
    core_rows_kelvin: Vec<f64>,
    edge_rows_kelvin: Vec<f64>,
    row_fractions: Vec<f64>,
    heat_end: usize,
    block_end: usize,
    block_end_field_kelvin: Vec<f64>,
}

impl GelHistory {
    /// Times from 0 to the end of the schedule, every second or finer, with the ends of all stages.
    #[must_use]
    pub fn times_s(&self) -> &[f64] {
        &self.times_s
    }

    /// Temperature at r = 0 (of a barrel with ends: mean over its length).
    #[must_use]
    pub fn core_kelvin(&self) -> &[f64] {
        &self.core_kelvin
    }

    /// Temperature of the gel at its wall (of a barrel with ends: mean over its length).
    #[must_use]
    pub fn edge_kelvin(&self) -> &[f64] {
        &self.edge_kelvin
    }

    /// Volume mean over the gel.
    #[must_use]
    pub fn mean_kelvin(&self) -> &[f64] {
        &self.mean_kelvin
    }

    /// Temperatures of the cells of gel, one slice a time.
    pub fn gel_kelvin(&self) -> impl ExactSizeIterator<Item = &[f64]> {
        self.gel_kelvin.chunks_exact(self.gel_cells)
    }

    /// Temperatures at r = 0 by row of the length, one slice a time; one row where the barrel counts
    /// as infinitely long.
    pub fn core_rows_kelvin(&self) -> impl ExactSizeIterator<Item = &[f64]> {
        self.core_rows_kelvin.chunks_exact(self.row_fractions.len())
    }

    /// Temperatures of the gel at its wall by row of the length, one slice a time.
    pub fn edge_rows_kelvin(&self) -> impl ExactSizeIterator<Item = &[f64]> {
        self.edge_rows_kelvin.chunks_exact(self.row_fractions.len())
    }

    /// Share of the length by row; the sum is 1.
    #[must_use]
    pub fn row_fractions(&self) -> &[f64] {
        &self.row_fractions
    }

    /// Share of the gel's volume by cell.
    #[must_use]
    pub fn gel_volume_fractions(&self) -> &[f64] {
        self.model.gel_volume_fractions()
    }

    /// Number of the time at which the last heat stage ends.
    #[must_use]
    pub fn heat_end(&self) -> usize {
        self.heat_end
    }

    /// Number of the time at which the syringe leaves the block.
    #[must_use]
    pub fn block_end(&self) -> usize {
        self.block_end
    }

    /// The cells that it was computed with.
    #[must_use]
    pub fn model(&self) -> &SyringeModel {
        &self.model
    }

    /// Temperatures of gel and wall when the syringe leaves the block: what it cools down from.
    #[must_use]
    pub fn block_end_field_kelvin(&self) -> &[f64] {
        &self.block_end_field_kelvin
    }

    /// Least and greatest temperature of the gel at a time, in K.
    #[must_use]
    pub fn extremes_kelvin(&self, time: usize) -> [f64; 2] {
        let all = || {
            [
                self.gel_kelvin().nth(time),
                self.core_rows_kelvin().nth(time),
                self.edge_rows_kelvin().nth(time),
            ]
            .into_iter()
            .flatten()
            .flatten()
            .copied()
        };
        [
            all().fold(f64::INFINITY, f64::min),
            all().fold(f64::NEG_INFINITY, f64::max),
        ]
    }
}

/// What the gel in a syringe feels through a schedule.
///
/// # Equation
/// Conduction in gel and wall ([`super::conduction`]); in heat and hold stages the barrel meets the
/// block through the contact (and above its rim the air of the room), in cool stages air.
///
/// # Valid for
/// A hold with the lid open counts as a block at the temperature stated. Schedules to 24 h, with
/// ends or a length outside the block to 2 h.
///
/// # Errors
/// A setup that no conduction follows from; a schedule without any time, or one too long.
///
/// # Source
/// As for [`super::conduction::RadialModel`] and [`super::conduction::AxialModel`].
///
/// # Example
/// Bores of 4.7 and 12 mm in polypropylene go from 22 °C into a block at 90 °C: after a minute their
/// cores stand at 62 and 31 °C (`tests/references/two_layer.py`).
/// ```
/// use heatset::reference::{plasma, polypropylene};
/// use heatset::thermal::conduction::Barrel;
/// use heatset::thermal::{HeatSchedule, SyringeSetup, gel_history};
/// let schedule = HeatSchedule::simple(295.15, 363.15, Some(60.0))?.timed()?;
/// for (bore_m, wall_m, celsius) in [(4.7e-3, 0.9e-3, 62.0), (12e-3, 1e-3, 31.0)] {
///     let setup = SyringeSetup {
///         barrel: Barrel::new(bore_m, wall_m, plasma()?.into(), polypropylene()?.into())?,
///         contact_w_per_m2_kelvin: 150.0,
///         air_w_per_m2_kelvin: 30.0,
///         room_kelvin: 295.15,
///         length: None,
///     };
///     let history = gel_history(&setup, &schedule)?;
///     let core_celsius = history.core_kelvin()[history.heat_end()] - 273.15;
///     assert!((core_celsius - celsius).abs() < 0.5);
/// }
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn gel_history(
    setup: &SyringeSetup,
    schedule: &TimedSchedule,
) -> Result<GelHistory, ThermalInputError> {
    let stages: Vec<&TimedStage> = schedule
        .stages
        .iter()
        .filter(|stage| stage.duration_s > 0.0)
        .collect();
    let total_s = schedule.total_s();
    let longest_s = match setup.length {
        None => LONGEST_S,
        Some(_) => LONGEST_WITH_ENDS_S,
    };
    if !(total_s > 0.0 && total_s <= longest_s) {
        return Err(ThermalInputError::OutOfRange {
            quantity: "a schedule",
            value: total_s,
            unit: "s",
            low: 0.0,
            high: longest_s,
            remedy: if total_s > 0.0 {
                "shorten it; a barrel with ends takes 2 h, one without 24 h"
            } else {
                "give its heat stage a time"
            },
        });
    }
    let times_s = output_times_s(setup, &stages, total_s);
    let at = |time_s: f64| {
        times_s
            .iter()
            .position(|time| *time >= time_s * (1.0 - 1e-12))
            .unwrap_or(times_s.len() - 1)
    };
    let heat_end = at(schedule.heat_end_s());
    let block_end = at(schedule
        .stages
        .iter()
        .rfind(|stage| stage.kind.in_block())
        .map_or(0.0, TimedStage::end_s));
    let model = setup.model()?;
    let start_kelvin = schedule.start_kelvin;
    let history = match &model {
        SyringeModel::Radial(radial) => {
            let stages: Vec<ConductionStage> = stages
                .iter()
                .map(|stage| ConductionStage {
                    duration_s: stage.duration_s,
                    outside: outside(setup, stage),
                })
                .collect();
            let field = radial_field(radial, start_kelvin, &stages, &times_s)?;
            GelHistory {
                core_kelvin: field.core_kelvin().to_vec(),
                edge_kelvin: field.edge_kelvin().to_vec(),
                mean_kelvin: field.mean_kelvin().to_vec(),
                gel_kelvin: field.gel_kelvin().flatten().copied().collect(),
                gel_cells: radial.gel_cell_count(),
                core_rows_kelvin: field.core_kelvin().to_vec(),
                edge_rows_kelvin: field.edge_kelvin().to_vec(),
                row_fractions: vec![1.0],
                block_end_field_kelvin: whole_field(field.cells_kelvin(), block_end),
                model,
                times_s,
                heat_end,
                block_end,
            }
        }
        SyringeModel::Axial(axial) => {
            let room = Outside::constant(setup.air_w_per_m2_kelvin, setup.room_kelvin);
            let stages: Vec<AxialStage> = stages
                .iter()
                .map(|stage| {
                    let block = outside(setup, stage);
                    AxialStage {
                        duration_s: stage.duration_s,
                        block,
                        air: if stage.kind.in_block() { room } else { block },
                    }
                })
                .collect();
            let field = axial_field(axial, start_kelvin, &stages, &times_s)?;
            GelHistory {
                core_kelvin: field.core_kelvin().to_vec(),
                edge_kelvin: field.edge_kelvin().to_vec(),
                mean_kelvin: field.mean_kelvin().to_vec(),
                gel_kelvin: field
                    .cells_kelvin()
                    .flat_map(|cells| axial.gel_of(cells))
                    .collect(),
                gel_cells: axial.gel_volume_fractions().len(),
                core_rows_kelvin: field.core_by_row_kelvin().flatten().copied().collect(),
                edge_rows_kelvin: field.edge_by_row_kelvin().flatten().copied().collect(),
                row_fractions: axial
                    .row_heights_m()
                    .iter()
                    .map(|height| height / axial.length().filled_length_m)
                    .collect(),
                block_end_field_kelvin: whole_field(field.cells_kelvin(), block_end),
                model,
                times_s,
                heat_end,
                block_end,
            }
        }
    };
    Ok(history)
}

fn whole_field<'a>(mut fields: impl Iterator<Item = &'a [f64]>, time: usize) -> Vec<f64> {
    fields.nth(time).map(<[f64]>::to_vec).unwrap_or_default()
}

/// What the barrel meets below the block's rim.
fn outside(setup: &SyringeSetup, stage: &TimedStage) -> Outside {
    let temperature = if stage.ramp_s > 0.0 {
        OutsideTemperature::Ramp {
            start_kelvin: stage.outside_start_kelvin,
            rate_kelvin_per_s: stage.ramp_kelvin_per_s,
            end_kelvin: stage.set_kelvin,
        }
    } else {
        OutsideTemperature::Constant {
            kelvin: stage.set_kelvin,
        }
    };
    Outside {
        coefficient_w_per_m2_kelvin: match stage.kind {
            StageKind::Heat | StageKind::Hold => setup.contact_w_per_m2_kelvin,
            StageKind::Cool => setup.air_w_per_m2_kelvin,
        },
        temperature,
    }
}

/// Even times, with the ends of the stages among them.
fn output_times_s(setup: &SyringeSetup, stages: &[&TimedStage], total_s: f64) -> Vec<f64> {
    let wanted_s = setup.lumped_time_s(setup.contact_w_per_m2_kelvin) / STEPS_A_TIME_CONSTANT;
    let step_s = STEPS_S
        .into_iter()
        .filter(|step_s| total_s / step_s <= MOST_TIMES)
        .find(|step_s| *step_s <= wanted_s)
        .or_else(|| {
            STEPS_S
                .into_iter()
                .rfind(|step_s| total_s / step_s <= MOST_TIMES)
        })
        .unwrap_or(1.0);
    let even = (0..=(total_s / step_s) as usize).map(|count| count as f64 * step_s);
    let mut times_s: Vec<f64> = even
        .chain(stages.iter().map(|stage| stage.end_s()))
        .filter(|time_s| *time_s <= total_s)
        .collect();
    times_s.push(total_s);
    times_s.sort_by(f64::total_cmp);
    times_s.dedup_by(|later, earlier| *later - *earlier < 1e-6);
    times_s
}
