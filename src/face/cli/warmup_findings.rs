//! What is found for a syringe and a heat schedule: temperatures, doses, setting, cooling,
//! pressure, and what must be said of them.

use super::CliError;
use super::syringe_arguments::SyringeAsked;
use crate::fit::{BlendCalibration, Warning};
use crate::kinetics::SettingCourse;
use crate::plan::PlanError;
use crate::thermal::{
    ClosedPressure, ClosedSyringe, CoolTime, CoreUntil, DoseReference, GelHistory, InputEffect,
    ScheduleCaution, StageKind, TimedSchedule, WarmUp, WarmUpSummary, check_not_boiling,
    closed_pressure, cool_time, gel_history, warm_up_summary, what_matters,
};
use crate::units::display;
use serde::Serialize;

/// Gel, syringe and room where nobody says: 22 °C, common practice, no source.
pub(super) const ROOM_KELVIN: f64 = 295.15;
/// Under this a core counts as cool: 37 °C, the temperature of the body.
pub(super) const COOL_KELVIN: f64 = 310.15;
/// Pressure outside, in Pa: at sea level, which is the most that a gap can be closed at.
const AMBIENT_PA: f64 = 101_325.0;
/// A share of the gel from which on unset gel is warned of.
const UNSET_FRACTION: f64 = 0.01;
/// A gel shorter than this many bores is not told by an infinite cylinder.
const SHORT_BORES: f64 = 3.0;

/// A schedule and what else is asked about it.
pub(super) struct WarmUpQuestion<'a> {
    pub(super) syringe: &'a SyringeAsked,
    pub(super) schedule: TimedSchedule,
    pub(super) ambient_kelvin: f64,
    pub(super) cool_until_kelvin: f64,
    pub(super) activation_energy_j_per_mol: Option<f64>,
    pub(super) reference_kelvin: Option<f64>,
    pub(super) air_gap_m3: Option<f64>,
    pub(super) altitude_m: f64,
    pub(super) blend: Option<&'a BlendCalibration>,
    pub(super) extrapolate: bool,
}

/// All that is found.
pub(super) struct WarmUpFindings {
    pub(super) history: GelHistory,
    pub(super) summary: WarmUpSummary,
    pub(super) reference: Option<DoseReference>,
    pub(super) setting: Option<SettingCourse>,
    pub(super) cool: CoolTime,
    pub(super) effects: Vec<InputEffect>,
    pub(super) pressure: Option<ClosedPressure>,
    pub(super) extrapolated: bool,
    pub(super) warnings: Vec<Warning>,
}

/// Temperatures when the last heat stage ends.
#[derive(Debug, Serialize)]
pub(super) struct AtHeatEnd {
    pub(super) time_s: f64,
    #[serde(rename = "core_temp_K")]
    pub(super) core_kelvin: f64,
    #[serde(rename = "edge_temp_K")]
    pub(super) edge_kelvin: f64,
    #[serde(rename = "mean_temp_K")]
    pub(super) mean_kelvin: f64,
}

impl WarmUpFindings {
    pub(super) fn of(question: &WarmUpQuestion<'_>) -> Result<Self, CliError> {
        let schedule = &question.schedule;
        let setup = &question.syringe.setup;
        for stage in schedule.stages.iter().filter(|stage| stage.kind.in_block()) {
            check_not_boiling(stage.set_kelvin, question.altitude_m)?;
            check_not_boiling(stage.outside_start_kelvin, question.altitude_m)?;
        }
        let extrapolated = question.blend.map_or(Ok(false), |blend| {
            outside_measured(blend, schedule, question.extrapolate)
        })?;
        let model = question.blend.map(BlendCalibration::setting).transpose()?;
        let history = gel_history(setup, schedule)?;
        let hottest_kelvin = schedule
            .stages
            .iter()
            .filter(|stage| stage.kind == StageKind::Heat)
            .map(|stage| stage.set_kelvin)
            .fold(0.0, f64::max);
        let energy = question.activation_energy_j_per_mol.or(model
            .as_ref()
            .map(|model| model.rate.activation_energy_j_per_mol));
        let reference = energy.map(|activation_energy_j_per_mol| DoseReference {
            activation_energy_j_per_mol,
            reference_kelvin: question.reference_kelvin.unwrap_or(hottest_kelvin),
        });
        let doses = reference.map(|reference| history.doses(reference));
        let summary = warm_up_summary(&history, schedule, reference, doses.as_ref());
        let setting = model.map(|model| {
            let own = history.doses(DoseReference {
                activation_energy_j_per_mol: model.rate.activation_energy_j_per_mol,
                reference_kelvin: model.rate.reference_kelvin,
            });
            model.course(&own)
        });
        let cool = cool_time(
            setup,
            history.model(),
            history.block_end_field_kelvin(),
            question.ambient_kelvin,
            question.syringe.air_range,
            CoreUntil::Under {
                kelvin: question.cool_until_kelvin,
            },
        )?;
        let effects = what_matters(setup, schedule, reference, &question.syringe.ranges)?;
        let pressure = question
            .air_gap_m3
            .map(|air_gap_m3| question.pressure(air_gap_m3, hottest_kelvin))
            .transpose()?;
        let mut findings = Self {
            history,
            summary,
            reference,
            setting,
            cool,
            effects,
            pressure,
            extrapolated,
            warnings: Vec::new(),
        };
        findings.warnings = findings.warned(question);
        Ok(findings)
    }

    pub(super) fn at_heat_end(&self) -> AtHeatEnd {
        AtHeatEnd {
            time_s: self.summary.heat_end_s,
            core_kelvin: self.summary.core_at_heat_end_kelvin,
            edge_kelvin: self.summary.edge_at_heat_end_kelvin,
            mean_kelvin: self.summary.mean_at_heat_end_kelvin,
        }
    }

    /// Share of the gel that is set under half as far as the mean, or got under half of its dose.
    pub(super) fn unset_fraction(&self) -> Option<f64> {
        match &self.setting {
            Some(course) => Some(course.unset_fraction),
            None => self.summary.unset_fraction,
        }
    }

    fn warned(&self, question: &WarmUpQuestion<'_>) -> Vec<Warning> {
        let schedule = &question.schedule;
        let mut warnings: Vec<Warning> = schedule
            .cautions
            .iter()
            .map(|caution| {
                let code = match caution {
                    ScheduleCaution::SetNotReached { .. } => "set_not_reached",
                    ScheduleCaution::SuddenChange { .. } => "sudden_change",
                };
                Warning::new(code, caution.to_string())
            })
            .collect();
        let mut warn = |code: &str, message: String| warnings.push(Warning::new(code, message));
        let hottest_kelvin = self.summary.set_kelvin;
        let rated = &question.syringe.rated;
        if hottest_kelvin > rated.rated_range_kelvin.0 {
            let over = if hottest_kelvin > rated.rated_kelvin {
                "over what charts of the material give for lasting load"
            } else {
                "over the least that charts of the material give for lasting load"
            };
            warn(
                "above_rated_temperature",
                format!(
                    "{} is {over} ({}, {} to {}): look at the maker's figure for barrel and stopper.",
                    display::temperature(hottest_kelvin),
                    display::temperature(rated.rated_kelvin),
                    display::temperature(rated.rated_range_kelvin.0),
                    display::temperature(rated.rated_range_kelvin.1)
                ),
            );
        }
        if self.summary.core_at_end_kelvin > question.cool_until_kelvin {
            warn(
                "still_hot",
                format!(
                    "At the end of this schedule the core is at {}: hot gel burns, and the wall feels cooler than the core is.",
                    degrees(self.summary.core_at_end_kelvin)
                ),
            );
        }
        if let Some(unset) = self
            .unset_fraction()
            .filter(|share| *share > UNSET_FRACTION)
        {
            let what = if self.setting.is_some() {
                "is set less than half as far as the mean"
            } else {
                "got less than half of the mean heat dose"
            };
            warn(
                "unset_share",
                format!(
                    "{} of the gel {what}: thin gel comes out among firm gel, in an order that depends on how it is pushed.",
                    display::percent(unset)
                ),
            );
        }
        let bore_m = question.syringe.setup.barrel.bore_m();
        let short = question.syringe.filled_m3.filter(|filled_m3| {
            let length_m =
                crate::thermal::filled_length_m(&question.syringe.setup.barrel, *filled_m3);
            length_m < SHORT_BORES * bore_m
        });
        if short.is_some() && question.syringe.setup.length.is_none() {
            warn(
                "ends_not_counted",
                "The gel is shorter than three bores, and an infinitely long barrel is computed: --capped or --open-end counts its ends.".to_owned(),
            );
        }
        if let Some(blend) = question.blend
            && matches!(blend.warm_up(), WarmUp::None)
            && blend.warm_up == "none"
        {
            warn(
                "calibration_without_warm_up",
                "The calibration was fitted as if the gel had been hot at once. If its readings came from syringes, the warm-up is counted twice here.".to_owned(),
            );
        }
        warnings
    }
}

impl WarmUpQuestion<'_> {
    fn pressure(&self, air_gap_m3: f64, hot_kelvin: f64) -> Result<ClosedPressure, CliError> {
        let Some(filled_m3) = self.syringe.filled_m3 else {
            return Err(CliError::question(
                "How much gel is under the air gap is not known: a barrel given by its bore has no nominal volume.\nWhat helps: --filled 0.8mL, or --syringe in place of --barrel",
            ));
        };
        Ok(closed_pressure(&ClosedSyringe {
            start_kelvin: self.schedule.start_kelvin,
            hot_kelvin,
            ambient_pa: AMBIENT_PA,
            air_gap_m3,
            filled_m3,
            barrel_bore_m: self.syringe.setup.barrel.bore_m(),
            barrel_expansion_per_kelvin: 0.0,
        })?)
    }
}

/// Refuses set temperatures outside the measured ones unless asked for; true where one is.
fn outside_measured(
    blend: &BlendCalibration,
    schedule: &TimedSchedule,
    extrapolate: bool,
) -> Result<bool, CliError> {
    let [low_kelvin, high_kelvin] = blend.range.heat_temp_k;
    let outside = schedule
        .stages
        .iter()
        .filter(|stage| stage.kind == StageKind::Heat)
        .map(|stage| stage.set_kelvin)
        .find(|set| *set < low_kelvin - 0.05 || *set > high_kelvin + 0.05);
    match outside {
        Some(asked_kelvin) if !extrapolate => Err(PlanError::TemperatureOutside {
            asked_kelvin,
            low_kelvin,
            high_kelvin,
        }
        .into()),
        found => Ok(found.is_some()),
    }
}

/// A temperature to the whole degree: no more is known of a core.
pub(super) fn degrees(kelvin: f64) -> String {
    display::temperature((kelvin - 273.15).round() + 273.15)
}
