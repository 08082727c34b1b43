//! `heatset flow-curve`: a law through a measured flow curve.

use super::curve_arguments::curve_option;
use super::output::{Output, write_file};
use super::text_table::{Side, TextTable};
use super::{CliError, Context};
use crate::fit::flow_curve::{
    CurveFit, CurveFitOptions, CurveModel, CurveParameter, ShearErrors, fit_curve,
};
use crate::fit::{Scale, Warning};
use crate::flow::{CurveSample, FlowCurve, ShearPoint, read_curve};
use crate::units::{self, display};
use clap::Args;
use serde::Serialize;
use std::path::PathBuf;

const SCHEMA: &str = "heatset/flow-curve/1";
/// A needle that everybody knows, for saying how far a rheometer is from it: 27G nominal at
/// 1 mL/min shears a Newtonian liquid at 32 Q/(pi D^3).
const EXAMPLE_NEEDLE: &str = "27G needle at 1 mL/min";
const EXAMPLE_RATE_PER_S: f64 = 18_000.0;
/// Relative scatter beyond which a law does not describe the readings. Source: common
/// practice, no source; rheometers repeat to a few per cent.
const ILL_FITTING: f64 = 0.15;

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
            lines.extend(self.words(name.as_deref(), *rows, fit));
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

    fn words(&self, sample: Option<&str>, rows: usize, fit: &CurveFit) -> Vec<String> {
        let chosen = &fit.chosen;
        let headline = headline(&chosen.curve);
        let mut lines = vec![match sample {
            Some(name) => format!("{name}: {headline}"),
            None => {
                let mut letters = headline.chars();
                letters.next().map_or_else(String::new, |first| {
                    first.to_uppercase().chain(letters).collect()
                })
            }
        }];
        lines.push(String::new());
        let mut table = TextTable::new([("", Side::Left), ("", Side::Left), ("95 %", Side::Left)]);
        for parameter in &chosen.parameters {
            table.push(parameter_row(parameter));
        }
        let scatter = match self.error {
            ShearErrors::Absolute => display::pressure_to(chosen.residual_sd, 2),
            ShearErrors::Relative | ShearErrors::Log => {
                format!("{} of a reading", display::percent(chosen.residual_sd))
            }
        };
        table.push([
            "scatter".to_owned(),
            scatter,
            "one time in three larger".to_owned(),
        ]);
        lines.extend(
            table
                .text(2)
                .lines()
                .filter(|line| !line.trim().is_empty())
                .map(str::to_owned),
        );
        lines.push(String::new());
        lines.push(self.choice_words(fit));
        let (lowest, highest) = fit.shear_rate_range_per_s;
        lines.push(format!(
            "Stands on: {rows} readings from {} to {} /s{}.",
            display::at_most(lowest, 3),
            display::at_most(highest, 3),
            if highest < EXAMPLE_RATE_PER_S {
                format!(
                    "; beyond them the law is a guess, and a {EXAMPLE_NEEDLE} shears at some {EXAMPLE_RATE_PER_S:.0} /s"
                )
            } else {
                String::new()
            }
        ));
        lines.push(format!(
            "Use it: heatset flow {} --gauge 27",
            curve_option(&chosen.curve, 4)
        ));
        lines
    }

    fn choice_words(&self, fit: &CurveFit) -> String {
        let chosen = &fit.chosen;
        let errors = match self.error {
            ShearErrors::Relative => "relative errors",
            ShearErrors::Log => "errors of the logarithm",
            ShearErrors::Absolute => "absolute errors",
        };
        let law = format!("Law {}, {errors}", chosen.model.words());
        let others = fit.candidates.len().saturating_sub(1);
        if others == 0 {
            return format!("{law}, as asked for.");
        }
        if chosen.aicc.is_none() {
            return format!("{law}: the simplest, for want of readings to choose by.");
        }
        let weight = fit
            .candidates
            .iter()
            .find(|candidate| candidate.model == chosen.model)
            .and_then(|candidate| candidate.weight)
            .map_or_else(String::new, |weight| format!(" (weight {weight:.2})"));
        let missing: Vec<&str> = fit
            .candidates
            .iter()
            .filter(|candidate| candidate.not_found.is_some())
            .map(|candidate| candidate.model.words())
            .collect();
        let not_found = if missing.is_empty() {
            String::new()
        } else {
            format!(" Not found in these readings: {}.", missing.join(", "))
        };
        format!("{law}, chosen over {others} others{weight}.{not_found}")
    }
}

/// What a practitioner wants to know of a curve.
fn headline(curve: &FlowCurve) -> String {
    let shear = |index: f64| {
        if index < 0.995 {
            format!(
                "thins with shear (flow index {})",
                display::at_most(index, 2)
            )
        } else if index > 1.005 {
            format!(
                "thickens with shear (flow index {}), which gels do not: look at the readings",
                display::at_most(index, 2)
            )
        } else {
            "flows like a Newtonian liquid".to_owned()
        }
    };
    match *curve {
        FlowCurve::Newtonian { viscosity_pa_s } => format!(
            "one viscosity at every shear rate, {}.",
            display::viscosity(viscosity_pa_s)
        ),
        FlowCurve::PowerLaw { flow_index, .. } => {
            format!("it {}; no yield stress shows.", shear(flow_index))
        }
        FlowCurve::Bingham {
            yield_stress_pa, ..
        } => format!(
            "it holds still up to {}, then flows like a Newtonian liquid.",
            display::pressure(yield_stress_pa)
        ),
        FlowCurve::HerschelBulkley {
            yield_stress_pa,
            flow_index,
            ..
        } => format!(
            "it holds still up to {}, then {}.",
            display::pressure(yield_stress_pa),
            shear(flow_index)
        ),
        FlowCurve::CarreauYasuda(shape) => format!(
            "{} at rest; from about {} /s on it {}.",
            display::viscosity(shape.zero_shear_viscosity_pa_s),
            display::at_most(1.0 / shape.time_constant_s, 2),
            shear(shape.flow_index)
        ),
    }
}

fn parameter_row(parameter: &CurveParameter) -> [String; 3] {
    let unit = match parameter.unit {
        "1" => String::new(),
        unit => format!(" {unit}"),
    };
    let (digits, interval) = match parameter.ci95 {
        Some([low, high]) => {
            let digits = display::digits_for_interval(low, high).max(2);
            let ends = [low, high].map(|end| display::significant(end, digits));
            (digits, format!("{} to {}", ends[0], ends[1]))
        }
        None => (3, "not known".to_owned()),
    };
    [
        parameter.name.replace('_', " "),
        format!("{}{unit}", display::significant(parameter.estimate, digits)),
        interval,
    ]
}

/// What the chosen law leaves in doubt.
fn doubts(sample: Option<&str>, errors_are_relative: bool, fit: &CurveFit) -> Vec<Warning> {
    let of = sample.map_or_else(String::new, |name| format!("sample {name}: "));
    let chosen = &fit.chosen;
    let mut found = Vec::new();
    for parameter in &chosen.parameters {
        if let Some([low, _]) = parameter.ci95
            && parameter.name == "yield_stress"
            && low <= 0.0
        {
            found.push(Warning::new(
                "yield_stress_not_sure",
                format!(
                    "{of}the yield stress may as well be zero.\nWhat helps: readings at lower shear rates, where the stress levels off"
                ),
            ));
        }
    }
    if errors_are_relative && chosen.residual_sd > ILL_FITTING {
        found.push(Warning::new(
            "law_misses_readings",
            format!(
                "{of}the law misses a reading by more than {} one time in three: it does not describe this gel.\nWhat helps: --model auto, or look for readings that are not of this gel",
                display::percent(chosen.residual_sd)
            ),
        ));
    }
    let (lowest, highest) = fit.shear_rate_range_per_s;
    if highest < 10.0 * lowest {
        found.push(Warning::new(
            "narrow_shear_rates",
            format!(
                "{of}the shear rates span less than a factor of ten: the law's bend and slope stand on little.\nWhat helps: readings over two decades"
            ),
        ));
    }
    if chosen.degrees_of_freedom < 5 {
        found.push(Warning::new(
            "few_readings",
            format!(
                "{of}only {} readings more than unknowns: the intervals rest on few numbers.",
                chosen.degrees_of_freedom
            ),
        ));
    }
    if chosen.aicc.is_none() && fit.candidates.len() > 1 {
        found.push(Warning::new(
            "no_choice",
            format!(
                "{of}too few readings to choose among laws; the simplest was taken.\nWhat helps: six readings or more"
            ),
        ));
    }
    found
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
