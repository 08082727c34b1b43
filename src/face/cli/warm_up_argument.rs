//! `--warm-up`: how the gel's warm-up is declared.

use super::CliError;
use crate::thermal::WarmUp;
use crate::units;

/// A warm-up from its words; `none`, or the time constant of a lag.
pub(super) fn warm_up(text: &str, start_kelvin: f64) -> Result<WarmUp, CliError> {
    if text.trim() == "none" {
        return Ok(WarmUp::None);
    }
    let time_constant_s = units::duration_s(text).map_err(|e| {
        CliError::question(format!(
            "--warm-up {text}: {e}\nWhat helps: none, or the lag of your syringe such as 40s (the time in which the gel covers 63 % of the way to the block's temperature)"
        ))
    })?;
    WarmUp::lag(time_constant_s, start_kelvin).map_err(|e| CliError::question(e.to_string()))
}
