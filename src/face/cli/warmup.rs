//! `heatset warmup`: what the gel in the syringe feels.

use super::output::{Output, check_free, write_file};
use super::syringe_arguments::{SyringeArguments, SyringeAssumptions};
use super::warmup_contact::{self, ContactRun, Probe};
use super::warmup_findings::{AtHeatEnd, COOL_KELVIN, ROOM_KELVIN, WarmUpFindings, WarmUpQuestion};
use super::warmup_rest::{self, Rest};
use super::warmup_words::{headline, in_words};
use super::{CliError, Context};
use crate::chart::{Chart, ChartFormat, ChartSize};
use crate::face::answer_words::stands_line;
use crate::face::drawings;
use crate::fit::{BlendCalibration, Calibration, Warning};
use crate::thermal::{
    ClosedPressure, EndDoses, HeatSchedule, InputEffect, ScheduleStage, StageKind, TimedSchedule,
    WarmUpBasis, read_heat_schedule,
};
use crate::units;
use clap::Args;
use serde::Serialize;
use std::path::PathBuf;

/// What the gel in a syringe feels, against the block's clock
#[derive(Debug, Args)]
#[command(
    override_usage = "heatset warmup --at 86C --heat-time 7min [OPTIONS]\n       heatset warmup --schedule FILE [OPTIONS]\n       heatset warmup --fit-contact TRACE.csv --at 90C [OPTIONS]\n       heatset warmup --rest-from 4C [OPTIONS]"
)]
pub(super) struct Arguments {
    /// Heat schedule (TOML), in place of --at and --heat-time
    #[arg(long, value_name = "FILE", conflicts_with_all = ["at", "heat_time", "cool_time"])]
    schedule: Option<PathBuf>,
    /// Set temperature of the block
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin, allow_hyphen_values = true)]
    #[arg(required_unless_present_any = ["schedule", "rest_from"])]
    at: Option<f64>,
    /// Time in the block, by the clock
    #[arg(long, value_name = "TIME", value_parser = units::duration_s, allow_hyphen_values = true)]
    #[arg(required_unless_present_any = ["schedule", "rest_from", "fit_contact"])]
    heat_time: Option<f64>,
    /// Time in air after it
    #[arg(long, value_name = "TIME", value_parser = units::duration_s, allow_hyphen_values = true)]
    cool_time: Option<f64>,
    /// Temperature of the room's air [default: 22C; with --schedule that of its cool stage]
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin, allow_hyphen_values = true)]
    ambient: Option<f64>,
    /// Temperature of gel and syringe at the beginning [default: 22C; with --schedule the file's]
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin, allow_hyphen_values = true)]
    start_temp: Option<f64>,
    #[command(flatten)]
    syringe: SyringeArguments,
    /// The core counts as cool under this [default: 37C]
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin, allow_hyphen_values = true)]
    cool_until: Option<f64>,
    /// Air that was closed in with the gel: the pressure that it builds
    #[arg(long, value_name = "VOLUME", value_parser = volume_or_zero_m3, allow_hyphen_values = true)]
    air_gap: Option<f64>,
    /// Activation energy that the heat dose is counted with [default: the calibration's]
    #[arg(long, value_name = "ENERGY", value_parser = units::activation_energy_j_per_mol)]
    #[arg(allow_hyphen_values = true)]
    activation_energy: Option<f64>,
    /// Reference temperature of the heat dose [default: the set temperature]
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin, allow_hyphen_values = true)]
    reference_temp: Option<f64>,
    /// Calibration, from 'heatset fit': conversion and reading in the syringe
    #[arg(long, value_name = "CAL")]
    calibration: Option<PathBuf>,
    /// Blend, where the calibration has several
    #[arg(long, value_name = "NAME", requires = "calibration")]
    blend: Option<String>,
    /// Use the calibration outside what was measured too, and say so
    #[arg(long, requires = "calibration")]
    extrapolate: bool,
    /// Altitude of the place: water boils lower
    #[arg(long, value_name = "HEIGHT", value_parser = units::length_or_zero_m)]
    altitude: Option<f64>,
    /// Thermocouple run in a filled syringe: fits the contact with the block
    #[arg(long, value_name = "TRACE.csv", conflicts_with_all = ["schedule", "heat_time", "rest_from"])]
    fit_contact: Option<PathBuf>,
    /// Where the thermocouple sat
    #[arg(long, value_enum, default_value_t = Probe::Core, requires = "fit_contact")]
    probe: Probe,
    /// Temperature of a syringe out of the refrigerator: how long it rests
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin, allow_hyphen_values = true)]
    #[arg(conflicts_with_all = ["schedule", "at", "heat_time"])]
    rest_from: Option<f64>,
    /// Until its core is here [default: 2K short of the room]
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin, allow_hyphen_values = true)]
    #[arg(requires = "rest_from")]
    until: Option<f64>,
    /// Chart to write as well; its ending says whether it is SVG or PNG
    #[arg(long, value_name = "NAME.svg", conflicts_with_all = ["fit_contact", "rest_from"])]
    out: Option<PathBuf>,
    /// Size of the chart in pixels
    #[arg(long, default_value = "1200x800", value_name = "WxH", value_parser = size)]
    size: ChartSize,
    /// Title of the chart in place of its own finding
    #[arg(long, value_name = "TEXT", requires = "out")]
    title: Option<String>,
}

#[derive(Serialize)]
struct Document<'a> {
    time_s: &'a [f64],
    #[serde(rename = "core_temp_K")]
    core_kelvin: &'a [f64],
    #[serde(rename = "edge_temp_K")]
    edge_kelvin: &'a [f64],
    #[serde(rename = "mean_temp_K")]
    mean_kelvin: &'a [f64],
    heat_dose_s: Option<EndDoses>,
    lag_s: Option<f64>,
    #[serde(rename = "activation_energy_J_per_mol")]
    activation_energy: Option<f64>,
    #[serde(rename = "reference_temp_K")]
    reference_kelvin: Option<f64>,
    #[serde(rename = "set_temp_K")]
    set_kelvin: f64,
    heat_time_s: f64,
    warm_up_s: f64,
    warm_up_by: WarmUpBasis,
    at_heat_end: AtHeatEnd,
    #[serde(rename = "unevenness_K")]
    unevenness_kelvin: f64,
    #[serde(rename = "extremes_at_heat_end_K")]
    extremes_kelvin: [f64; 2],
    core_near_set_s: Option<f64>,
    #[serde(rename = "gel_temp_K")]
    gel_kelvin: f64,
    #[serde(rename = "cool_until_K")]
    cool_until_kelvin: f64,
    cool_time_s: Option<f64>,
    cool_time_range_s: Option<[Option<f64>; 2]>,
    unset_fraction: Option<f64>,
    setting: Option<SettingDocument<'a>>,
    closed_pressure: Option<ClosedPressure>,
    what_matters: &'a [InputEffect],
    schedule: &'a TimedSchedule,
    written: Option<String>,
    invented: bool,
    extrapolated: bool,
    assumptions: SyringeAssumptions,
    warnings: &'a [Warning],
}

#[derive(Serialize)]
struct SettingDocument<'a> {
    blend: &'a str,
    conversion: ByPlace<&'a [f64]>,
    conversion_at_end: AtEnd,
    reading_at_end: Option<f64>,
    reading: crate::readings::ReadingKind,
    reading_unit: &'a str,
}

#[derive(Serialize)]
struct ByPlace<T> {
    core: T,
    edge: T,
    mean: T,
}

#[derive(Serialize)]
struct AtEnd {
    #[serde(flatten)]
    places: ByPlace<Option<f64>>,
    least: f64,
    greatest: f64,
    spread: f64,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        let (schedule, ambient_kelvin) = match self.schedule()? {
            Some(schedule) => {
                let ambient = self.ambient.or_else(|| air_of(&schedule));
                (Some(schedule), ambient.unwrap_or(ROOM_KELVIN))
            }
            None => (None, self.ambient.unwrap_or(ROOM_KELVIN)),
        };
        let syringe = self.syringe.asked(ambient_kelvin)?;
        let altitude_m = self.altitude.unwrap_or(0.0);
        if let Some(from_kelvin) = self.rest_from {
            let rest = Rest {
                from_kelvin,
                until_kelvin: self.until,
                room_kelvin: ambient_kelvin,
            };
            return warmup_rest::run(&rest, syringe, context);
        }
        if let (Some(file), Some(set_kelvin)) = (&self.fit_contact, self.at) {
            let run = ContactRun {
                file,
                set_kelvin,
                start_kelvin: self.start_temp,
                probe: self.probe,
                altitude_m,
            };
            return warmup_contact::run(&run, syringe, context);
        }
        let Some(schedule) = schedule else {
            return Err(CliError::question(
                "No heating was named.\nWhat helps: --at 86C --heat-time 7min, or --schedule FILE",
            ));
        };
        let format = match &self.out {
            Some(out) => {
                let format = ChartFormat::of_file(out)?;
                check_free(out, context.replace)?;
                Some(format)
            }
            None => None,
        };
        let calibration = self
            .calibration
            .as_deref()
            .map(Calibration::read)
            .transpose()?;
        let blend = match &calibration {
            Some(calibration) => Some(calibration.blend(self.blend.as_deref())?),
            None => None,
        };
        let question = WarmUpQuestion {
            syringe: &syringe,
            schedule: schedule.timed()?,
            ambient_kelvin,
            cool_until_kelvin: self.cool_until.unwrap_or(COOL_KELVIN),
            activation_energy_j_per_mol: self.activation_energy,
            reference_kelvin: self.reference_temp,
            air_gap_m3: self.air_gap,
            altitude_m,
            blend,
            extrapolate: self.extrapolate,
        };
        let findings = WarmUpFindings::of(&question)?;
        let invented = calibration.as_ref().is_some_and(|c| c.invented);
        if let (Some(out), Some(format)) = (&self.out, format) {
            let mut chart = drawings::history(
                &findings.history,
                &question.schedule,
                findings.setting.as_ref(),
            );
            chart.words = drawings::history_words(
                self.title
                    .clone()
                    .unwrap_or_else(|| headline(&findings, &question)),
                &match blend {
                    Some(blend) => format!(
                        "{}, blend {}; {}",
                        self.calibration_name(),
                        blend.blend,
                        syringe.chart_words()
                    ),
                    None => syringe.chart_words(),
                },
                invented,
                findings.extrapolated,
            );
            write_file(out, &chart.draw(format, self.size)?, context.replace)?;
        }
        if context.json {
            return self.document(&findings, &question, invented, blend);
        }
        let stands_on = blend.map(|blend| stands_line(&self.calibration_name(), blend));
        let mut text = in_words(&findings, &question, invented, stands_on);
        if let Some(out) = &self.out {
            text = format!("{text}\n\nWritten: {}", out.display());
        }
        Ok(Output::words(text).with_warnings(&findings.warnings))
    }

    /// Name of the calibration's file without its folder.
    fn calibration_name(&self) -> String {
        self.calibration
            .as_deref()
            .and_then(std::path::Path::file_name)
            .map(|name| name.to_string_lossy().into_owned())
            .unwrap_or_default()
    }

    /// The schedule, from its file or from its one stage on the command line.
    fn schedule(&self) -> Result<Option<HeatSchedule>, CliError> {
        if let Some(file) = &self.schedule {
            let mut schedule = read_heat_schedule(file)?;
            if let Some(start_kelvin) = self.start_temp {
                schedule.start_kelvin = start_kelvin;
            }
            return Ok(Some(schedule.checked()?));
        }
        let (Some(set_kelvin), Some(heat_time_s)) = (self.at, self.heat_time) else {
            return Ok(None);
        };
        let start_kelvin = self.start_temp.unwrap_or(ROOM_KELVIN);
        let mut schedule = HeatSchedule::simple(start_kelvin, set_kelvin, Some(heat_time_s))?;
        if let Some(cool_time_s) = self.cool_time {
            schedule.stages.push(ScheduleStage {
                kind: StageKind::Cool,
                set_kelvin: self.ambient.unwrap_or(ROOM_KELVIN),
                time_s: Some(cool_time_s),
            });
        }
        Ok(Some(schedule.checked()?))
    }

    fn document(
        &self,
        findings: &WarmUpFindings,
        question: &WarmUpQuestion<'_>,
        invented: bool,
        blend: Option<&BlendCalibration>,
    ) -> Result<Output, CliError> {
        let history = &findings.history;
        let summary = &findings.summary;
        Output::json(&Document {
            time_s: history.times_s(),
            core_kelvin: history.core_kelvin(),
            edge_kelvin: history.edge_kelvin(),
            mean_kelvin: history.mean_kelvin(),
            heat_dose_s: summary.doses,
            lag_s: summary.lag_s,
            activation_energy: findings
                .reference
                .map(|reference| reference.activation_energy_j_per_mol),
            reference_kelvin: findings
                .reference
                .map(|reference| reference.reference_kelvin),
            set_kelvin: summary.set_kelvin,
            heat_time_s: summary.heat_time_s,
            warm_up_s: summary.warm_up_s,
            warm_up_by: summary.warm_up_basis,
            at_heat_end: findings.at_heat_end(),
            unevenness_kelvin: summary.unevenness_kelvin(),
            extremes_kelvin: summary.extremes_at_heat_end_kelvin,
            core_near_set_s: summary.core_near_set_s,
            gel_kelvin: summary.core_at_end_kelvin,
            cool_until_kelvin: question.cool_until_kelvin,
            cool_time_s: findings.cool.time_s,
            cool_time_range_s: findings.cool.range_s,
            unset_fraction: findings.unset_fraction(),
            setting: findings
                .setting
                .as_ref()
                .zip(blend)
                .map(|(course, blend)| SettingDocument {
                    blend: &blend.blend,
                    conversion: ByPlace {
                        core: &course.core_fractions,
                        edge: &course.edge_fractions,
                        mean: &course.mean_fractions,
                    },
                    conversion_at_end: AtEnd {
                        places: ByPlace {
                            core: course.core_fractions.last().copied(),
                            edge: course.edge_fractions.last().copied(),
                            mean: course.mean_fractions.last().copied(),
                        },
                        least: course.least_at_end_fraction,
                        greatest: course.greatest_at_end_fraction,
                        spread: course.greatest_at_end_fraction - course.least_at_end_fraction,
                    },
                    reading_at_end: course.reading_at_end,
                    reading: blend.reading,
                    reading_unit: &blend.reading_unit,
                }),
            closed_pressure: findings.pressure,
            what_matters: &findings.effects,
            schedule: &question.schedule,
            written: self.out.as_ref().map(|out| out.display().to_string()),
            invented,
            extrapolated: findings.extrapolated,
            assumptions: question.syringe.assumptions.clone(),
            warnings: &findings.warnings,
        })
    }
}

/// The air of a schedule's first cool stage.
fn air_of(schedule: &HeatSchedule) -> Option<f64> {
    schedule
        .stages
        .iter()
        .find(|stage| stage.kind == StageKind::Cool)
        .map(|stage| stage.set_kelvin)
}

fn size(text: &str) -> Result<ChartSize, String> {
    ChartSize::parse(text).map_err(|e| e.to_string())
}

fn volume_or_zero_m3(text: &str) -> Result<f64, units::UnitError> {
    units::parse_signed(
        text,
        units::Dimension::Volume,
        units::Sign::NotNegative,
        "volume",
        "",
    )
}
