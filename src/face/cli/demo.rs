//! `heatset demo`: the whole job on an invented bench, so that one command shows all of it.

use super::output::{Output, check_free, progress, write_file};
use super::{CliError, Context};
use crate::chart::{Chart, ChartFormat, ChartSize};
use crate::face::answer_words::{assumed_line, stands_line, sure_line};
use crate::face::demo_bench::{BENCH, BENCH_FILE, demo_calibration, demo_table};
use crate::face::report::{ReportRequest, document, usual_force_drawing};
use crate::face::time_words::in_words;
use crate::face::{cautions, drawings, report};
use crate::fit::{BlendCalibration, Calibration};
use crate::plan::{
    DEFAULT_LENGTH_M, NeedleUsed, PushSetup, StatedThinning, TimeAnswer, TimeQuestion, heat_time,
};
use crate::readings::write;
use crate::reference::{BoreBasis, Wall};
use crate::thermal::WarmUp;
use clap::Args;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

const CALIBRATION_NAME: &str = "demo-calibration";
/// Blend of the question and the charts.
const BLEND: &str = "plain";
/// Block of the question: 90 °C.
const SET_KELVIN: f64 = 363.15;
const GAUGE: u8 = 30;
/// Limit of the push: the published target for hands.
const FORCE_LIMIT_N: f64 = 20.0;
/// Warm-up of a 1 mL syringe in the question, and where it starts: 35 s from 22 °C.
const LAG_S: f64 = 35.0;
const START_KELVIN: f64 = 295.15;

/// The whole job on an invented bench: calibration, answer, charts and report
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Folder for the files; it is made where it is not there
    #[arg(long, default_value = "heatset-demo", value_name = "DIR")]
    out: PathBuf,
}

/// A file to be, in memory.
struct Made {
    name: String,
    bytes: Vec<u8>,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        for name in names() {
            check_free(&self.out.join(name), context.replace)?;
        }
        progress("Fitting the invented bench");
        let table = demo_table()?;
        let calibration = demo_calibration(&table, context.seed)?;
        let blend = calibration.blend(Some(BLEND))?;
        let warm_up = WarmUp::lag(LAG_S, START_KELVIN)
            .map_err(|error| CliError::question(error.to_string()))?;

        progress("Asking how long to heat");
        let question = question(&calibration, warm_up.clone(), context.seed)?;
        let answer = heat_time(blend, &question)?;

        progress("Drawing charts and report");
        let mut files = vec![
            Made {
                name: BENCH_FILE.to_owned(),
                bytes: BENCH.as_bytes().to_vec(),
            },
            Made {
                name: "demo-bench.parquet".to_owned(),
                bytes: write::parquet_bytes(&table)?,
            },
            Made {
                name: format!("{CALIBRATION_NAME}.json"),
                bytes: calibration.to_json()?.into_bytes(),
            },
        ];
        files.extend(charts(&calibration, blend, warm_up.clone(), context.seed)?);
        let page = document(
            &calibration,
            &ReportRequest {
                name: CALIBRATION_NAME,
                seed: context.seed,
                warm_up: Some(warm_up),
            },
        )?;
        files.push(Made {
            name: "demo-report.html".to_owned(),
            bytes: page.into_bytes(),
        });

        // Everything is made before anything is written.
        let written = write_all(&self.out, &files, context.replace)?;
        if context.json {
            return Output::json(&serde_json::json!({
                "answer": answer,
                "written": written,
                "invented": calibration.invented,
            }));
        }
        let text = words(&self.out, &written, blend, &question, &answer);
        Ok(Output::words(text).with_warnings(&answer.warnings))
    }
}

/// Charts of the demo, by name.
const CHARTS: [&str; 4] = ["firmness", "force", "rates", "residuals"];

/// Names of all files, in the order in which they are written.
fn names() -> Vec<String> {
    let mut names = vec![
        BENCH_FILE.to_owned(),
        "demo-bench.parquet".to_owned(),
        format!("{CALIBRATION_NAME}.json"),
    ];
    for chart in CHARTS {
        names.push(chart_name(chart, ChartFormat::Svg));
        names.push(chart_name(chart, ChartFormat::Png));
    }
    names.push("demo-report.html".to_owned());
    names
}

fn chart_name(chart: &str, format: ChartFormat) -> String {
    let ending = match format {
        ChartFormat::Svg => "svg",
        ChartFormat::Png => "png",
    };
    format!("demo-{chart}.{ending}")
}

fn question(
    calibration: &Calibration,
    warm_up: WarmUp,
    seed: u64,
) -> Result<TimeQuestion, CliError> {
    let needle = NeedleUsed::of_gauge(GAUGE, Wall::Regular, BoreBasis::Nominal, DEFAULT_LENGTH_M)?;
    Ok(TimeQuestion {
        set_kelvin: SET_KELVIN,
        setup: PushSetup {
            force_limit_n: FORCE_LIMIT_N,
            ..PushSetup::with_needle(needle)?
        },
        thinning: StatedThinning::default(),
        least: None,
        warm_up: Some(warm_up),
        contact_histories: Vec::new(),
        cooling: crate::plan::CoolingAsked::default(),
        altitude_m: 0.0,
        extrapolate: false,
        // As many as behind the report's table, so that its cell is this very answer.
        draws: report::DRAWS,
        varied: crate::plan::Varied::ALL,
        seed,
        invented: calibration.invented,
    })
}

fn charts(
    calibration: &Calibration,
    blend: &BlendCalibration,
    warm_up: WarmUp,
    seed: u64,
) -> Result<Vec<Made>, CliError> {
    let force = usual_force_drawing(blend, Some(warm_up), seed)?;
    let drawn: [Box<dyn Chart>; 4] = [
        Box::new(drawings::firmness(calibration, blend)?),
        Box::new(drawings::force(calibration, blend, &force)?),
        Box::new(drawings::rates(calibration, blend)?),
        Box::new(drawings::residuals(calibration, blend)?),
    ];
    let mut files = Vec::with_capacity(2 * drawn.len());
    for (name, chart) in CHARTS.into_iter().zip(&drawn) {
        for format in [ChartFormat::Svg, ChartFormat::Png] {
            files.push(Made {
                name: chart_name(name, format),
                bytes: chart.draw(format, ChartSize::default())?,
            });
        }
    }
    Ok(files)
}

/// Writes the files and says where each one is.
fn write_all(folder: &Path, files: &[Made], replace: bool) -> Result<Vec<String>, CliError> {
    std::fs::create_dir_all(folder).map_err(|error| CliError::NotWritten {
        file: folder.display().to_string(),
        reason: error.to_string(),
    })?;
    let mut written = Vec::with_capacity(files.len());
    for file in files {
        let path = folder.join(&file.name);
        write_file(&path, &file.bytes, replace)?;
        written.push(path.display().to_string());
    }
    Ok(written)
}

fn words(
    folder: &Path,
    written: &[String],
    blend: &BlendCalibration,
    question: &TimeQuestion,
    answer: &TimeAnswer,
) -> String {
    let calibration = format!("{CALIBRATION_NAME}.json");
    let mut text = in_words(answer, question);
    // Writing to a String cannot fail.
    let _ = writeln!(text, "\n{}", stands_line(&calibration, blend));
    if let Some(line) = sure_line(answer, blend) {
        let _ = writeln!(text, "{line}");
    }
    let joint_pressure_pa = answer.at_aim.as_ref().map(|aim| aim.joint_pressure_pa);
    let _ = writeln!(
        text,
        "{}",
        assumed_line(&answer.assumptions, &question.setup, joint_pressure_pa)
    );
    let _ = writeln!(text, "\nWritten, all of it marked as invented data:");
    for file in written {
        let _ = writeln!(text, "  {file}");
    }
    let _ = writeln!(
        text,
        "\nThe same answer by hand, and another:\n  heatset time {path} --blend {BLEND} --at 90C --gauge {GAUGE} --warm-up 35s --draws {draws}\n  heatset time {path} --blend ha-30 --at 85C --gauge 27 --warm-up 35s",
        path = folder.join(&calibration).display(),
        draws = report::DRAWS
    );
    let _ = writeln!(text, "\n{}", cautions::SHORT);
    text
}
