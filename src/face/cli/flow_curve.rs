//! `heatset flow-curve`: a law through a measured flow curve.

use super::flow_curve_words::{doubts, words};
use super::output::{Output, write_file};
use super::stated_curve::curve_option;
use super::{CliError, Context};
use crate::fit::flow_curve::{CurveFit, CurveFitOptions, CurveModel, ShearErrors, fit_curve};
use crate::fit::{Scale, Warning};
use crate::flow::{CurveSample, FlowCurve, ShearPoint, read_curve};
use crate::units;
use clap::Args;
use serde::Serialize;
use std::path::PathBuf;

const SCHEMA: &str = "heatset/flow-curve/1";

/// Table, law and errors.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// CSV with the columns shear_rate_per_s and shear_stress_Pa (or viscosity_Pa_s), and
    /// sample where it holds several
    #[arg(value_name = "FILE.csv")]
    file: PathBuf,
    /// Which law: auto, newtonian, power-law, bingham, herschel-bulkley or carreau
    #[arg(long, value_name = "LAW", default_value = "auto", value_parser = model)]
    model: ModelChoice,
    /// How readings scatter: relative (default), log (of their logarithm) or absolute
    #[arg(long, value_name = "KIND", default_value = "relative", value_parser = errors)]
    error: ShearErrors,
    /// Viscosity at great shear rates of the Carreau-Yasuda law, held [default: 0Pa.s]
    #[arg(long, value_name = "VISCOSITY", value_parser = units::viscosity_pa_s)]
    #[arg(allow_hyphen_values = true)]
    infinite_viscosity: Option<f64>,
    /// Only this sample of the file
    #[arg(long, value_name = "NAME")]
    sample: Option<String>,
    /// Also write the document to this file
    #[arg(long, value_name = "FILE.json")]
    out: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy)]
struct ModelChoice(Option<CurveModel>);

#[derive(Serialize)]
struct Document {
    schema: &'static str,
    version: &'static str,
    file: String,
    invented: bool,
    samples: Vec<SampleDocument>,
    warnings: Vec<Warning>,
}

#[derive(Serialize)]
struct SampleDocument {
    sample: Option<String>,
    model: &'static str,
    error: &'static str,
    parameters: Vec<ParameterDocument>,
    flow_option: String,
    fit: FitDocument,
    candidates: Vec<CandidateDocument>,
    range: RangeDocument,
}

#[derive(Serialize)]
struct ParameterDocument {
    name: &'static str,
    unit: &'static str,
    scale: Scale,
    estimate: f64,
    std_error: Option<f64>,
    ci95: Option<[f64; 2]>,
    held: bool,
}

#[derive(Serialize)]
struct FitDocument {
    rows: usize,
    degrees_of_freedom: usize,
    residual_sd: f64,
    weighted_rss: f64,
    aicc: Option<f64>,
    iterations: usize,
    converged: bool,
}

#[derive(Serialize)]
struct CandidateDocument {
    model: &'static str,
    aicc: Option<f64>,
    weight: Option<f64>,
    not_found: Option<String>,
}

#[derive(Serialize)]
struct RangeDocument {
    shear_rate_per_s: (f64, f64),
    #[serde(rename = "shear_stress_Pa")]
    shear_stress_pa: (f64, f64),
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        let table = read_curve(&self.file)?;
        let samples: Vec<&CurveSample> = table
            .samples
            .iter()
            .filter(|sample| self.sample.is_none() || sample.name == self.sample)
            .collect();
        if samples.is_empty() {
            let names: Vec<&str> = table
                .samples
                .iter()
                .filter_map(|sample| sample.name.as_deref())
                .collect();
            return Err(CliError::question(format!(
                "{} has no sample {}.\nWhat helps: {}",
                table.file,
                self.sample.as_deref().unwrap_or_default(),
                if names.is_empty() {
                    "leave --sample out: the table has no column sample".to_owned()
                } else {
                    format!("--sample with one of {}", names.join(", "))
                }
            )));
        }
        let options = CurveFitOptions {
            model: self.model.0,
            errors: self.error,
            infinite_shear_viscosity_pa_s: self.infinite_viscosity.unwrap_or(0.0),
        };
        let mut fits = Vec::new();
        for sample in samples {
            let points: Vec<ShearPoint> = sample.rows.iter().map(|row| row.point).collect();
            let fit = fit_curve(&points, &options).map_err(|error| match &sample.name {
                Some(name) => CliError::question(format!("Sample {name}: {error}")),
                None => CliError::from(error),
            })?;
            fits.push((sample.name.clone(), points.len(), fit));
        }
        let mut warnings = Vec::new();
        if table.invented {
            warnings.push(Warning::new(
                "invented_data",
                "the file says of itself that its data are invented: no ground for use.",
            ));
        }
        if !table.ignored_columns.is_empty() {
            warnings.push(Warning::new(
                "columns_left_aside",
                format!("left aside: {}.", table.ignored_columns.join(", ")),
            ));
        }
        for (name, _, fit) in &fits {
            warnings.extend(doubts(
                name.as_deref(),
                self.error != ShearErrors::Absolute,
                fit,
            ));
        }
        let document = Document {
            schema: SCHEMA,
            version: env!("CARGO_PKG_VERSION"),
            file: table.file.clone(),
            invented: table.invented,
            samples: fits
                .iter()
                .map(|(name, rows, fit)| self.sample_document(name.clone(), *rows, fit))
                .collect(),
            warnings,
        };
        if let Some(path) = &self.out {
            let mut text = serde_json::to_string_pretty(&document).map_err(|error| {
                CliError::question(format!("the document cannot be written as JSON: {error}"))
            })?;
            text.push('\n');
            write_file(path, text.as_bytes(), context.replace)?;
        }
        if context.json {
            return Output::json(&document);
        }
        let mut lines = Vec::new();
        for (name, rows, fit) in &fits {
            lines.extend(words(name.as_deref(), *rows, self.error, fit));
            lines.push(String::new());
        }
        if let Some(path) = &self.out {
            lines.push(format!("Written: {}", path.display()));
            lines.push(String::new());
        }
        lines.push(
            "A flow curve says how the gel answers shear in the instrument, not what is fit to inject."
                .to_owned(),
        );
        lines.push(crate::face::cautions::SHORT.to_owned());
        Ok(Output::words(lines.join("\n")).with_warnings(&document.warnings))
    }

    fn sample_document(
        &self,
        sample: Option<String>,
        rows: usize,
        fit: &CurveFit,
    ) -> SampleDocument {
        let chosen = &fit.chosen;
        let mut parameters: Vec<ParameterDocument> = chosen
            .parameters
            .iter()
            .map(|p| ParameterDocument {
                name: p.name,
                unit: p.unit,
                scale: p.scale,
                estimate: p.estimate,
                std_error: p.std_error,
                ci95: p.ci95,
                held: false,
            })
            .collect();
        if let FlowCurve::CarreauYasuda(shape) = chosen.curve {
            parameters.push(ParameterDocument {
                name: "infinite_shear_viscosity",
                unit: "Pa.s",
                scale: Scale::Linear,
                estimate: shape.infinite_shear_viscosity_pa_s,
                std_error: None,
                ci95: None,
                held: true,
            });
        }
        SampleDocument {
            sample,
            model: chosen.model.name(),
            error: self.error.name(),
            parameters,
            flow_option: curve_option(&chosen.curve, 6),
            fit: FitDocument {
                rows,
                degrees_of_freedom: chosen.degrees_of_freedom,
                residual_sd: chosen.residual_sd,
                weighted_rss: chosen.weighted_rss,
                aicc: chosen.aicc,
                iterations: chosen.iterations,
                converged: chosen.converged,
            },
            candidates: fit
                .candidates
                .iter()
                .map(|candidate| CandidateDocument {
                    model: candidate.model.name(),
                    aicc: candidate.aicc,
                    weight: candidate.weight,
                    not_found: candidate.not_found.clone(),
                })
                .collect(),
            range: RangeDocument {
                shear_rate_per_s: fit.shear_rate_range_per_s,
                shear_stress_pa: fit.shear_stress_range_pa,
            },
        }
    }
}

fn model(text: &str) -> Result<ModelChoice, String> {
    if text == "auto" {
        return Ok(ModelChoice(None));
    }
    CurveModel::ALL
        .into_iter()
        .find(|model| model.name() == text || (text == "power" && *model == CurveModel::PowerLaw))
        .map(|model| ModelChoice(Some(model)))
        .ok_or_else(|| {
            let names: Vec<&str> = CurveModel::ALL.iter().map(|model| model.name()).collect();
            format!(
                "\"{}\" is no law here; write auto, {}",
                units::quantity::excerpt(text),
                names.join(", ")
            )
        })
}

fn errors(text: &str) -> Result<ShearErrors, String> {
    [
        ShearErrors::Relative,
        ShearErrors::Log,
        ShearErrors::Absolute,
    ]
    .into_iter()
    .find(|errors| errors.name() == text)
    .ok_or_else(|| {
        format!(
            "\"{}\" is no kind of error here; write relative, log or absolute",
            units::quantity::excerpt(text)
        )
    })
}
