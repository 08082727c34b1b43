//! What every question to a calibration shares beside needle and push.

use super::CliError;
use super::doubt_arguments::DoubtArguments;
use super::warm_up_argument::HeatingArguments;
use crate::fit::{BlendCalibration, Calibration, Warning};
use crate::kinetics::FlowIndexCourse;
use crate::plan::{BarrelUsed, Heated, StatedHeating, StatedThinning, heated, heated_on_schedule};
use crate::thermal::{check_not_boiling, read_heat_schedule};
use crate::units;
use clap::{Args, ValueEnum};
use std::path::{Path, PathBuf};

/// Heat time with which a schedule's cautions are looked at, in s: long enough for any ramp.
const CAUTIONS_AT_S: f64 = 3600.0;

/// Calibration, blend, heat and gel.
#[derive(Debug, Clone, Args)]
pub(super) struct QuestionArguments {
    /// Calibration, from 'heatset fit'
    #[arg(value_name = "CAL")]
    pub(super) calibration: PathBuf,
    /// Blend, where the calibration has several
    #[arg(long, value_name = "NAME", conflicts_with = "ha_fraction")]
    blend: Option<String>,
    /// Volume fraction of hyaluronic acid solution, in place of a blend's name: one that was measured,
    /// or one between two that were
    #[arg(long, value_name = "X", value_parser = fraction, allow_hyphen_values = true)]
    ha_fraction: Option<f64>,
    /// Warm-up of the gel in the block, in place of the calibration's: none, a lag such as 40s, a
    /// trace, or conduction in a syringe (syringe: the one that is asked about)
    #[arg(
        long,
        value_name = "none|40s|FILE.csv|lag:FILE.csv|syringe|syringe:1mL",
        allow_hyphen_values = true
    )]
    warm_up: Option<String>,
    /// Temperature of the gel when it goes into the block [default: the calibration's]
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin)]
    #[arg(allow_hyphen_values = true)]
    start_temp: Option<f64>,
    #[command(flatten)]
    pub(super) heating: HeatingArguments,
    /// Flow index of the set gel: 1 does not thin; the gel thins from 1 to this as it sets
    #[arg(long, value_name = "X", value_parser = flow_index)]
    flow_index: Option<f64>,
    /// Shear rate at which the bench read, where it does not say
    #[arg(long, value_name = "RATE", value_parser = units::shear_rate_per_s)]
    shear_rate: Option<f64>,
    /// Whether the flow index comes with setting or holds from the first moment
    #[arg(long, value_enum, default_value_t = ThinningChoice::WithSetting)]
    thinning: ThinningChoice,
    #[command(flatten)]
    pub(super) doubts: DoubtArguments,
    /// Altitude of the place: water boils lower
    #[arg(long, value_name = "HEIGHT", value_parser = units::length_or_zero_m)]
    altitude: Option<f64>,
    /// Answer outside what was measured too, and say so
    #[arg(long)]
    pub(super) extrapolate: bool,
    /// Number of Monte Carlo draws
    #[arg(long, default_value_t = crate::plan::DEFAULT_DRAWS, value_name = "N", value_parser = draws)]
    pub(super) draws: usize,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum ThinningChoice {
    WithSetting,
    Constant,
}

/// A calibration that was read, and the blend asked about.
pub(super) struct Asked {
    pub(super) calibration: Calibration,
    blend: BlendCalibration,
}

impl Asked {
    pub(super) fn blend(&self) -> &BlendCalibration {
        &self.blend
    }
}

impl Asked {
    /// The blend, where its own readings are looked at.
    ///
    /// # Errors
    /// A blend between two that were measured: it has none.
    pub(super) fn measured_blend(&self) -> Result<&BlendCalibration, CliError> {
        if self.blend.readings.is_empty() {
            return Err(CliError::question(format!(
                "Blend {} was not measured: it is reckoned between two that were, and has no readings to look at.\nWhat helps: name a measured blend with --blend; 'heatset time', 'heatset force' and 'heatset chart force' answer for one between",
                self.blend.blend
            )));
        }
        Ok(&self.blend)
    }
}

impl QuestionArguments {
    /// Name of the blend, where one was stated.
    pub(super) fn blend_name(&self) -> Option<&str> {
        self.blend.as_deref()
    }

    /// Flow index, where one was stated.
    pub(super) fn flow_index(&self) -> Option<f64> {
        self.flow_index
    }

    /// Whether a warm-up was stated, or a blend by its fraction: nothing for a calibration of set times.
    pub(super) fn states_warm_up_or_fraction(&self) -> bool {
        self.warm_up.is_some() || self.start_temp.is_some() || self.ha_fraction.is_some()
    }

    pub(super) fn read(&self) -> Result<Asked, CliError> {
        self.of(Calibration::read(&self.calibration)?)
    }

    /// The blend that is asked about, of a calibration that is at hand.
    pub(super) fn of(&self, calibration: Calibration) -> Result<Asked, CliError> {
        let blend = match self.ha_fraction {
            Some(fraction) => calibration.blend_at(fraction)?,
            None => calibration.blend(self.blend.as_deref())?.clone(),
        };
        Ok(Asked { calibration, blend })
    }

    pub(super) fn stated_thinning(&self) -> StatedThinning {
        StatedThinning {
            flow_index: self.flow_index,
            shear_rate_per_s: self.shear_rate,
            course: match self.thinning {
                ThinningChoice::WithSetting => FlowIndexCourse::WithSetting,
                ThinningChoice::Constant => FlowIndexCourse::Constant,
            },
        }
    }

    /// How the gel of the answer is heated: as stated, else as the calibration's bench.
    pub(super) fn heated(
        &self,
        blend: &BlendCalibration,
        barrel: &BarrelUsed,
    ) -> Result<Heated, CliError> {
        let stated = self
            .heating
            .stated(self.warm_up.as_deref(), self.start_temp)?;
        Ok(heated(blend, barrel, &stated)?)
    }

    /// The same, with what was stated: for questions that heat other syringes too.
    pub(super) fn heated_as_stated(
        &self,
        blend: &BlendCalibration,
        barrel: &BarrelUsed,
    ) -> Result<(Heated, StatedHeating), CliError> {
        let stated = self
            .heating
            .stated(self.warm_up.as_deref(), self.start_temp)?;
        Ok((heated(blend, barrel, &stated)?, stated))
    }

    /// The same, by conduction in the barrel unless another warm-up is stated.
    pub(super) fn heated_by_conduction(
        &self,
        blend: &BlendCalibration,
        barrel: &BarrelUsed,
    ) -> Result<Heated, CliError> {
        if self.heating.has_part() {
            return Err(CliError::question(
                "Two protocols are compared for syringes that are all in the block.\nWhat helps: leave --filled, --stands-out and --open-end out",
            ));
        }
        let text = self.warm_up.as_deref().unwrap_or("syringe");
        let stated = self.heating.stated(Some(text), self.start_temp)?;
        Ok(heated(blend, barrel, &stated)?)
    }

    /// The same on a heat schedule, with the set temperature of the stage that is asked about, in K.
    pub(super) fn heated_on_schedule(
        &self,
        blend: &BlendCalibration,
        barrel: &BarrelUsed,
        path: &Path,
    ) -> Result<(Heated, f64), CliError> {
        if self.start_temp.is_some() || self.heating.has_cooling() {
            return Err(CliError::question(
                "A schedule says itself where the gel starts and how it cools.\nWhat helps: leave --start-temp and --cool-time out, and write start_temp and a cool stage into the schedule",
            ));
        }
        let stated = self.heating.stated(self.warm_up.as_deref(), None)?;
        let schedule = read_heat_schedule(path).map_err(|e| CliError::question(e.to_string()))?;
        let name = path.file_name().map_or_else(
            || path.display().to_string(),
            |name| name.to_string_lossy().into_owned(),
        );
        // The stage that is asked about is held against boiling with the rest of the question.
        for stage in schedule.stages.iter().filter(|s| s.kind.in_block()) {
            check_not_boiling(stage.set_kelvin, self.altitude_m())
                .map_err(|e| CliError::question(format!("{name}: {e}")))?;
        }
        let mut found = heated_on_schedule(blend, barrel, &stated, &name, &schedule)?;
        found.0.warnings.extend(
            schedule
                .with_heat_time(CAUTIONS_AT_S)
                .cautions
                .iter()
                .map(|caution| Warning::new("schedule", format!("{name}: {caution}."))),
        );
        Ok(found)
    }

    /// Whether a warm-up was stated in place of the calibration's.
    pub(super) fn states_warm_up(&self) -> bool {
        self.warm_up.is_some()
    }

    /// Volume fraction of hyaluronic acid solution: as asked, else the blend's own where it knows it.
    pub(super) fn ha_fraction_of(&self, blend: &BlendCalibration) -> Option<f64> {
        self.ha_fraction.or(blend.ha_fraction)
    }

    pub(super) fn altitude_m(&self) -> f64 {
        self.altitude.unwrap_or(0.0)
    }

    /// Name of the calibration's file without its folder.
    pub(super) fn file_name(&self) -> String {
        self.calibration.file_name().map_or_else(
            || self.calibration.display().to_string(),
            |n| n.to_string_lossy().into_owned(),
        )
    }
}

fn flow_index(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(value) if value > 0.0 && value <= 3.0 => Ok(value),
        _ => Err(format!(
            "a flow index is a number above 0, such as 0.4 (1 does not thin), and not '{text}'"
        )),
    }
}

fn fraction(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(value) if (0.0..=1.0).contains(&value) => Ok(value),
        _ => Err(format!(
            "a volume fraction is a number from 0 to 1, such as 0.2 for one part in five, and not '{text}'"
        )),
    }
}

fn draws(text: &str) -> Result<usize, String> {
    match text.trim().parse::<usize>() {
        Ok(count) if (1_000..=10_000_000).contains(&count) => Ok(count),
        _ => Err(format!(
            "draws are a whole number from 1000 to 10000000, and not '{text}'"
        )),
    }
}
