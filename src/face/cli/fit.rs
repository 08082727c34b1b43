//! `heatset fit`: readings to a calibration, in words a lab lead reads.

use super::output::{Output, check_free, write_file};
use super::warm_up_argument::warm_up;
use super::{CliError, Context};
use crate::face::sentences;
use crate::fit::{ErrorModel, FitOptions, Held, ParameterName, calibrate};
use crate::kinetics::{FirmnessLaw, ReactionOrder};
use crate::readings::{BenchTable, ReadingKind, read_bench};
use crate::units::quantity::parse_si_or_unit;
use crate::units::{self, Dimension};
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// Fits bench tables; prints the calibration in words, or the document with --json
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Bench tables: CSV, TSV, semicolon-separated text or Parquet
    #[arg(required = true, value_name = "BENCH")]
    benches: Vec<PathBuf>,
    /// Where the calibration is written
    #[arg(long, value_name = "CAL.json")]
    out: Option<PathBuf>,
    /// Firmness law; auto takes the better by AICc
    #[arg(long, value_enum, default_value_t = LawChoice::Auto)]
    law: LawChoice,
    /// Order of the setting reaction
    #[arg(long, default_value = "1", value_name = "X", value_parser = order)]
    order: f64,
    /// How readings scatter: by a share of the reading, by the same amount, or as reading_sd says
    #[arg(long, value_enum, default_value_t = ErrorChoice::Relative)]
    error: ErrorChoice,
    /// Reference temperature [default: harmonic mean of the used rows, in whole °C]
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin)]
    reference_temp: Option<f64>,
    /// Warm-up of the gel: none, or its lag such as 40s
    #[arg(long, default_value = "none", value_name = "none|40s")]
    warm_up: String,
    /// Temperature of the gel when it goes into the block
    #[arg(long, default_value = "22C", value_name = "TEMP", value_parser = units::temperature_kelvin)]
    #[arg(allow_hyphen_values = true)]
    start_temp: f64,
    /// Only this blend [default: every blend of the table]
    #[arg(long, value_name = "NAME")]
    blend: Option<String>,
    /// Hold a parameter, in SI or with its unit: plateau=0, activation_energy=390kJ/mol
    #[arg(long, value_name = "PARAM=VALUE")]
    hold: Vec<String>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum LawChoice {
    Auto,
    Log,
    Linear,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum ErrorChoice {
    Relative,
    Absolute,
    Given,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        if let Some(out) = &self.out {
            check_free(out, context.replace)?;
        }
        let table = read_bench(&self.benches)?;
        let options = self.options(&table, context.seed)?;
        let calibration = calibrate(&table, &options)?;
        let document = calibration.to_json()?;
        if let Some(out) = &self.out {
            write_file(out, document.as_bytes(), context.replace)?;
        }
        if context.json {
            return Ok(Output::words(document));
        }
        let mut text = String::new();
        for blend in &calibration.blends {
            text.push_str(&sentences::blend_in_words(
                blend,
                calibration.invented,
                calibration.blends.len() > 1,
            ));
        }
        if let Some(out) = &self.out {
            text.push_str(&format!("Written: {}\n", out.display()));
        } else {
            text.push_str("Not written: name a file with --out to ask it questions later.\n");
        }
        let notes: Vec<_> = table
            .unknown_columns
            .iter()
            .map(|column| {
                crate::fit::Warning::new(
                    "unknown_column",
                    format!(
                        "The column '{column}' is no column of a bench table and is kept as a note."
                    ),
                )
            })
            .collect();
        Ok(Output::words(text).with_warnings(&notes))
    }

    fn options(&self, table: &BenchTable, seed: u64) -> Result<FitOptions, CliError> {
        let mut held = Held::default();
        for text in &self.hold {
            let (name, value) = parse_hold(text, table.kind)?;
            held.hold(name, value)?;
        }
        Ok(FitOptions {
            law: match self.law {
                LawChoice::Auto => None,
                LawChoice::Log => Some(FirmnessLaw::Log),
                LawChoice::Linear => Some(FirmnessLaw::Linear),
            },
            order: ReactionOrder(self.order),
            errors: match self.error {
                ErrorChoice::Relative => ErrorModel::Relative,
                ErrorChoice::Absolute => ErrorModel::Absolute,
                ErrorChoice::Given => ErrorModel::Given,
            },
            warm_up: warm_up(&self.warm_up, self.start_temp)?,
            start_kelvin: self.start_temp,
            reference_kelvin: self.reference_temp,
            blend: self.blend.clone(),
            held,
            seed,
        })
    }
}

/// `PARAM=VALUE`, the value in SI or with its unit.
fn parse_hold(text: &str, kind: ReadingKind) -> Result<(ParameterName, f64), CliError> {
    let Some((name, value)) = text.split_once('=') else {
        return Err(CliError::question(format!(
            "--hold {text} names no value.\nWhat helps: --hold plateau=0, or --hold activation_energy=390kJ/mol"
        )));
    };
    let name: ParameterName = name
        .trim()
        .parse()
        .map_err(|e: String| CliError::question(format!("--hold {text}: {e}")))?;
    let dimension = match name {
        ParameterName::Initial | ParameterName::Plateau => match kind {
            // Forces are fitted as viscosities.
            ReadingKind::Viscosity | ReadingKind::Force => Dimension::Viscosity,
            ReadingKind::Modulus => Dimension::Pressure,
            ReadingKind::Firmness => Dimension::Number,
        },
        ParameterName::RateRef => Dimension::RateConstant,
        ParameterName::ActivationEnergy => Dimension::ActivationEnergy,
        ParameterName::WarmUp => Dimension::Duration,
        _ => Dimension::Number,
    };
    let value = parse_si_or_unit(value.trim(), dimension)
        .map_err(|e| CliError::question(format!("--hold {text}: {e}")))?;
    Ok((name, value))
}

fn order(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(value) if (0.1..=5.0).contains(&value) => Ok(value),
        _ => Err(format!(
            "an order is a number from 0.1 to 5, such as 1 or 1.5, and not '{text}'"
        )),
    }
}
