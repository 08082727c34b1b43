//! How the gel's warm-up is declared on the command line.

use super::CliError;
use crate::plan::{PartOfSyringe, QuestionWarmUp, StatedHeating};
use crate::reference::find_syringe;
use crate::thermal::{
    DeclaredCooling, DeclaredSyringe, StatedWarmUp, ThermalInputError, WarmUp, fit_lag, read_trace,
};
use crate::units;
use clap::Args;
use std::path::Path;

/// What warm-ups can be, for the help of a message.
const WARM_UPS: &str = "none; the lag of your syringe such as 40s (the time in which the gel covers 63 % of the way to the block's temperature); syringe:1mL for conduction in that syringe; the file of a thermocouple's record (time_s, temp_C); or lag:FILE.csv for the lag that such a record asks for";

/// Coefficients and cooling, where a warm-up is declared.
#[derive(Debug, Clone, Args)]
pub(super) struct HeatingArguments {
    /// Coefficient between block and barrel [default: 150W/m2K, from 100 to 300]
    #[arg(long, value_name = "COEFFICIENT", value_parser = units::heat_transfer_w_per_m2_kelvin, allow_hyphen_values = true)]
    contact: Option<f64>,
    /// Coefficient between barrel and air while it cools [default: 30W/m2K]
    #[arg(long, value_name = "COEFFICIENT", value_parser = units::heat_transfer_w_per_m2_kelvin, allow_hyphen_values = true)]
    pub(super) air: Option<f64>,
    /// Cooling after the block that counts as heating too, until the gel is read or pushed
    #[arg(long, value_name = "TIME", value_parser = units::duration_s)]
    cool_time: Option<f64>,
    /// Temperature of the air that it cools in
    #[arg(long, default_value = "22C", value_name = "TEMP", value_parser = units::temperature_kelvin)]
    #[arg(allow_hyphen_values = true)]
    pub(super) ambient: f64,
    /// Volume of gel in the syringe, where its length counts [default: the nominal volume]
    #[arg(long, value_name = "VOLUME", value_parser = units::volume_m3)]
    filled: Option<f64>,
    /// How much of the gel, at the plunger's end, stands out of the block
    #[arg(long, value_name = "LENGTH", value_parser = units::length_or_zero_m)]
    stands_out: Option<f64>,
    /// The needle's end of the gel meets the room's air, not a cap
    #[arg(long)]
    open_end: bool,
}

impl HeatingArguments {
    pub(super) fn has_part(&self) -> bool {
        self.part().is_some()
    }

    pub(super) fn has_cooling(&self) -> bool {
        self.cool_time.is_some()
    }

    fn cooling(&self) -> Option<DeclaredCooling> {
        self.cool_time.map(|cool_time_s| DeclaredCooling {
            cool_time_s,
            ambient_kelvin: self.ambient,
        })
    }

    fn part(&self) -> Option<PartOfSyringe> {
        let asked = self.filled.is_some() || self.stands_out.is_some() || self.open_end;
        asked.then_some(PartOfSyringe {
            filled_m3: self.filled,
            stands_out_m: self.stands_out.unwrap_or(0.0),
            open_end: self.open_end,
            room_kelvin: self.ambient,
        })
    }

    /// What a question states about its heating.
    pub(super) fn stated(
        &self,
        warm_up: Option<&str>,
        start_kelvin: Option<f64>,
    ) -> Result<StatedHeating, CliError> {
        Ok(StatedHeating {
            warm_up: warm_up.map(parse_warm_up).transpose()?,
            start_kelvin,
            contact_w_per_m2_kelvin: self.contact,
            air_w_per_m2_kelvin: self.air,
            cooling: self.cooling(),
            part: self.part(),
        })
    }

    /// Refuses coefficients and cooling beside a lag that is itself fitted.
    pub(super) fn refuse_with_fitted_lag(&self) -> Result<(), CliError> {
        let stated = self.contact.is_some() || self.air.is_some() || self.cool_time.is_some();
        if stated || self.part().is_some() {
            return Err(CliError::question(
                "--warm-up fit finds one time constant and nothing else: contact, air and cooling do not enter.\nWhat helps: leave them out, or declare the warm-up (--warm-up syringe:1mL)",
            ));
        }
        Ok(())
    }

    /// The warm-up of a bench.
    pub(super) fn of_bench(&self, text: &str, start_kelvin: f64) -> Result<WarmUp, CliError> {
        if self.part().is_some() {
            return Err(CliError::question(
                "A bench is fitted as read from syringes that stand in the block over all of their gel.\nWhat helps: leave --filled, --stands-out and --open-end out, and read syringes that were heated so; ask about others with 'heatset time'",
            ));
        }
        let stated = match parse_warm_up(text)? {
            QuestionWarmUp::Stated(StatedWarmUp::Syringe(syringe)) => {
                StatedWarmUp::Syringe(DeclaredSyringe {
                    contact_w_per_m2_kelvin: self
                        .contact
                        .unwrap_or(syringe.contact_w_per_m2_kelvin),
                    air_w_per_m2_kelvin: self.air.unwrap_or(syringe.air_w_per_m2_kelvin),
                    ..syringe
                })
            }
            QuestionWarmUp::Stated(_) if self.contact.is_some() => {
                return Err(CliError::question(
                    "A contact of block and barrel counts only where the warm-up is computed by conduction.\nWhat helps: --warm-up syringe:1mL, or leave --contact out",
                ));
            }
            QuestionWarmUp::Stated(stated) => stated,
            QuestionWarmUp::OwnSyringe => {
                return Err(CliError::question(format!(
                    "--warm-up {text} does not say which syringe the bench was heated in.\nWhat helps: --warm-up syringe:1mL"
                )));
            }
        };
        stated
            .history(start_kelvin, self.cooling())
            .map_err(|e| CliError::question(e.to_string()))
    }
}

/// A warm-up from its words.
pub(super) fn parse_warm_up(text: &str) -> Result<QuestionWarmUp, CliError> {
    let words = text.trim();
    if words == "none" {
        return Ok(QuestionWarmUp::Stated(StatedWarmUp::None));
    }
    if words == "syringe" {
        return Ok(QuestionWarmUp::OwnSyringe);
    }
    if let Some(name) = words.strip_prefix("syringe:") {
        let name: String = name.split_whitespace().collect();
        let syringe = DeclaredSyringe::of(&find_syringe(&name)?)?;
        return Ok(QuestionWarmUp::Stated(StatedWarmUp::Syringe(syringe)));
    }
    if let Some(file) = words.strip_prefix("lag:") {
        let path = Path::new(file.trim());
        let fail = |e: ThermalInputError| CliError::question(e.to_string());
        let read = read_trace(path).map_err(fail)?;
        let fitted = fit_lag(&read.trace, None).map_err(fail)?;
        return Ok(QuestionWarmUp::Stated(StatedWarmUp::Lag {
            time_constant_s: fitted.time_constant_s,
        }));
    }
    let as_duration = units::duration_s(words);
    if let Ok(time_constant_s) = as_duration {
        return Ok(QuestionWarmUp::Stated(StatedWarmUp::Lag {
            time_constant_s,
        }));
    }
    let path = Path::new(words);
    if path.exists() || path.extension().is_some() {
        let read = read_trace(path).map_err(|e| CliError::question(e.to_string()))?;
        return Ok(QuestionWarmUp::Stated(StatedWarmUp::Trace {
            file: path.file_name().map_or_else(
                || words.to_owned(),
                |name| name.to_string_lossy().into_owned(),
            ),
            trace: read.trace,
        }));
    }
    let reason = as_duration
        .err()
        .map_or_else(String::new, |e| format!(": {e}"));
    Err(CliError::question(format!(
        "--warm-up {text}{reason}\nWhat helps: {WARM_UPS}"
    )))
}
