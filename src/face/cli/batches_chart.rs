//! `heatset batches chart`, and the control charts of a log for whoever draws them.

use super::batches_control::{ControlArguments, notes};
use super::output::{Output, check_free, write_file};
use super::{CliError, Context};
use crate::batches::{BatchLog, ControlSettings, judge};
use crate::chart::{Chart, ChartFormat, ChartSize};
use crate::face::drawings;
use crate::fit::Warning;
use clap::Args;
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
pub(super) struct ChartArguments {
    /// The log
    #[arg(value_name = "LOG")]
    log: PathBuf,
    /// File to write; its ending says whether it is SVG or PNG
    #[arg(long, value_name = "NAME.svg")]
    out: PathBuf,
    /// Size in pixels
    #[arg(long, default_value = "1200x800", value_name = "WxH", value_parser = size)]
    size: ChartSize,
    /// Title in place of the chart's own finding
    #[arg(long, value_name = "TEXT")]
    title: Option<String>,
    #[command(flatten)]
    control: ControlArguments,
}

impl ChartArguments {
    pub(super) fn run(&self, context: Context) -> Result<Output, CliError> {
        let settings = self.control.settings()?;
        let format = ChartFormat::of_file(&self.out)?;
        check_free(&self.out, context.replace)?;
        let mut drawn = LogDrawing::of(&self.log, &settings, None)?;
        if let Some(title) = &self.title {
            drawn.chart.words.title.clone_from(title);
        }
        let bytes = drawn.chart.draw(format, self.size)?;
        write_file(&self.out, &bytes, context.replace)?;
        let invented = drawn.chart.words.invented;
        if context.json {
            return Output::json(&serde_json::json!({
                "written": [self.out.display().to_string()],
                "invented": invented,
            }));
        }
        Ok(Output::words(format!(
            "{}Written: {}",
            if invented {
                "INVENTED DATA, and the chart says so.\n"
            } else {
                ""
            },
            self.out.display()
        ))
        .with_warnings(&drawn.warnings))
    }
}

/// The chart of a log, filled.
pub(super) struct LogDrawing {
    pub(super) chart: crate::chart::BatchesChart,
    warnings: Vec<Warning>,
}

impl LogDrawing {
    /// The entries held against one calibration, by the SHA-256 of its file; that of the newest entry
    /// where none is named.
    pub(super) fn of(
        log: &Path,
        settings: &ControlSettings,
        calibration_sha256: Option<&str>,
    ) -> Result<Self, CliError> {
        let held = BatchLog::open(log)?.held(calibration_sha256)?;
        let judged = judge(&held, settings);
        let (Some(first), Some(last)) = (judged.charted.first(), judged.charted.last()) else {
            return Err(CliError::question(format!(
                "{} has no batch to chart{}.\nWhat helps: 'heatset batches add' with a force or a viscosity that was read",
                log.display(),
                if calibration_sha256.is_some() {
                    " that was held against this calibration"
                } else {
                    ""
                }
            )));
        };
        if judged.shewhart.is_none() {
            return Err(CliError::question(format!(
                "{} has no spread of its own to chart by: fewer than two batches, or all alike.\nWhat helps: more batches; or --of z",
                log.display()
            )));
        }
        let name = log.file_name().map_or_else(
            || log.display().to_string(),
            |n| n.to_string_lossy().into_owned(),
        );
        let stands_on = format!(
            "{name}, entries {} to {}, {} batches held against calibration {}",
            first.entry,
            last.entry,
            judged.charted.len(),
            judged
                .calibration_sha256
                .as_deref()
                .and_then(|sha| sha.get(..8))
                .unwrap_or_default()
        );
        let chart = drawings::batches(
            &judged,
            settings,
            &stands_on,
            held.invented,
            held.extrapolated,
        );
        Ok(Self {
            chart,
            warnings: notes(&judged),
        })
    }
}

/// The chart of a log's batches that were held against one calibration.
pub(super) fn of_calibration(
    log: Option<&Path>,
    calibration_sha256: &str,
) -> Result<crate::chart::BatchesChart, CliError> {
    let log = log.ok_or_else(|| {
        CliError::question(
            "The chart of batches needs a log.\nWhat helps: --log LOG; 'heatset batches add' begins one",
        )
    })?;
    let drawing = LogDrawing::of(log, &ControlSettings::default(), Some(calibration_sha256))?;
    Ok(drawing.chart)
}

fn size(text: &str) -> Result<ChartSize, String> {
    ChartSize::parse(text).map_err(|e| e.to_string())
}
