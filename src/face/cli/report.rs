//! `heatset report`: one HTML document of a calibration, to file and to print.

use super::output::{Output, check_free, write_file};
use super::warm_up_argument::parse_warm_up;
use super::{CliError, Context};
use crate::face::report::{ReportRequest, document};
use crate::fit::Calibration;
use crate::plan::{BarrelUsed, DEFAULT_SYRINGE, StatedHeating, heated};
use crate::thermal::WarmUp;
use crate::units;
use clap::Args;
use std::path::{Path, PathBuf};

/// Writes one HTML document of a calibration: readings, fit, charts, heat times, cautions
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Calibration, from 'heatset fit'
    #[arg(value_name = "CAL")]
    calibration: PathBuf,
    /// File to write [default: the calibration's name with .html, beside it]
    #[arg(long, value_name = "FILE.html")]
    out: Option<PathBuf>,
    /// Warm-up of the gel in the table of heat times, in place of the calibration's: none, or a
    /// lag such as 40s
    #[arg(long, value_name = "none|40s|FILE.csv|lag:FILE.csv|syringe:1mL")]
    warm_up: Option<String>,
    /// Temperature of the gel when it goes into the block [default: the calibration's]
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin)]
    #[arg(requires = "warm_up", allow_hyphen_values = true)]
    start_temp: Option<f64>,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        let out = self
            .out
            .clone()
            .unwrap_or_else(|| self.calibration.with_extension("html"));
        if same_file(&out, &self.calibration) {
            return Err(CliError::question(format!(
                "The report would take the place of its calibration {}.\nWhat helps: another name with --out",
                out.display()
            )));
        }
        check_free(&out, context.replace)?;
        let calibration = Calibration::read(&self.calibration)?;
        let warm_up = self.answers_warm_up(&calibration)?;
        let page = document(
            &calibration,
            &ReportRequest {
                name: &stem(&self.calibration),
                seed: context.seed,
                warm_up,
            },
        )?;
        write_file(&out, page.as_bytes(), context.replace)?;
        if context.json {
            return Output::json(&serde_json::json!({
                "written": [out.display().to_string()],
                "invented": calibration.invented,
            }));
        }
        Ok(Output::words(format!(
            "{}Written: {}",
            if calibration.invented {
                "INVENTED DATA, and the report says so.\n"
            } else {
                ""
            },
            out.display()
        )))
    }

    fn answers_warm_up(&self, calibration: &Calibration) -> Result<Option<WarmUp>, CliError> {
        let (Some(text), Some(blend)) = (&self.warm_up, calibration.blends.first()) else {
            return Ok(None);
        };
        let stated = StatedHeating {
            warm_up: Some(parse_warm_up(text)?),
            start_kelvin: self.start_temp,
            ..StatedHeating::default()
        };
        // One table is fitted with one start temperature.
        let usual = BarrelUsed::of_syringe(DEFAULT_SYRINGE)?;
        Ok(heated(blend, &usual, &stated)?.warm_up)
    }
}

/// Name of a file without folder and ending.
fn stem(path: &Path) -> String {
    path.file_stem().map_or_else(
        || path.display().to_string(),
        |name| name.to_string_lossy().into_owned(),
    )
}

/// Whether two paths are the same file, where both are there.
fn same_file(first: &Path, second: &Path) -> bool {
    match (first.canonicalize(), second.canonicalize()) {
        (Ok(first), Ok(second)) => first == second,
        _ => first == second,
    }
}
