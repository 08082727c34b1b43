//! `heatset fit`: readings to a calibration, in words a lab lead reads.

use super::output::{Output, check_free, write_file};
use super::warm_up_argument::HeatingArguments;
use super::{CliError, Context, fit_set_time};
use crate::face::{next_words, sentences};
use crate::fit::set_time::ScatterForm;
use crate::fit::{
    DoseLagChoice, ErrorModel, FitOptions, Held, IntervalKind, OrderChoice, ParameterName, Prior,
    RobustLoss, WarmUpChoice, YieldStressChoice, calibrate,
};
use crate::kinetics::FirmnessLaw;
use crate::readings::{Bench, BenchTable, ReadingKind, SeenTable, read_bench_or_seen};
use crate::units::quantity::parse_si_or_unit;
use crate::units::{self, Dimension};
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// Fits bench tables; prints the calibration in words, or the document with --json
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Bench tables: CSV, TSV, semicolon-separated text, Parquet or XLSX
    #[arg(required = true, value_name = "BENCH")]
    benches: Vec<PathBuf>,
    /// Worksheet of an XLSX workbook [default: the first that is not hidden]
    #[arg(long, value_name = "NAME")]
    worksheet: Option<String>,
    /// Where the calibration is written
    #[arg(long, value_name = "CAL.json")]
    out: Option<PathBuf>,
    /// Firmness law; auto takes the better by AICc
    #[arg(long, value_enum, default_value_t = LawChoice::Auto)]
    law: LawChoice,
    /// Order of the setting reaction: 1, another number, or auto (1, or fitted where the readings ask for it)
    #[arg(long, default_value = "1", value_name = "auto|1|X", value_parser = order)]
    order: OrderChoice,
    /// Heat dose before setting begins, at the reference temperature: none, auto, or a time such as 60s
    #[arg(long, default_value = "none", value_name = "none|auto|60s", value_parser = dose_lag)]
    dose_lag: DoseLagChoice,
    /// Yield stress of the set gel: auto (fitted where three shear rates or more ask for it), or none
    #[arg(long, value_enum, default_value_t = YieldStressArgument::Auto)]
    yield_stress: YieldStressArgument,
    /// How readings scatter: by a share of the reading, by the same amount, or as reading_sd says
    #[arg(long, value_enum, default_value_t = ErrorChoice::Relative)]
    error: ErrorChoice,
    /// Loss for outlying readings: squares, or one that lets them count less and names them
    #[arg(long, value_enum, default_value_t = RobustChoice::None)]
    robust: RobustChoice,
    /// Reference temperature [default: harmonic mean of the used rows, in whole °C]
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin)]
    reference_temp: Option<f64>,
    /// Warm-up of the gel: none, its lag such as 40s, fit (the lag with the kinetics), a trace, or
    /// conduction in the bench's syringe
    #[arg(
        long,
        default_value = "none",
        value_name = "none|40s|fit|FILE.csv|lag:FILE.csv|syringe:1mL"
    )]
    warm_up: String,
    #[command(flatten)]
    heating: HeatingArguments,
    /// Temperature of the gel when it goes into the block
    #[arg(long, default_value = "22C", value_name = "TEMP", value_parser = units::temperature_kelvin)]
    #[arg(allow_hyphen_values = true)]
    start_temp: f64,
    /// Of a table of set and not-set: how set times scatter; auto takes the better by AICc
    #[arg(long, value_enum, default_value_t = ScatterChoice::Auto)]
    scatter: ScatterChoice,
    /// Only this blend [default: every blend of the table]
    #[arg(long, value_name = "NAME")]
    blend: Option<String>,
    /// Hold a parameter, in SI or with its unit: plateau=0, activation_energy=390kJ/mol
    #[arg(long, value_name = "PARAM=VALUE")]
    hold: Vec<String>,
    /// A published value and its standard deviation: activation_energy=260kJ/mol:30kJ/mol
    #[arg(long, value_name = "PARAM=VALUE:SD")]
    prior: Vec<String>,
    /// Intervals of the parameters
    #[arg(long, value_enum, default_value_t = IntervalChoice::T)]
    interval: IntervalChoice,
    /// Bootstrap draws
    #[arg(long, default_value_t = 2000, value_name = "N", value_parser = draws)]
    draws: usize,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum RobustChoice {
    None,
    Huber,
    Tukey,
    Student,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum ScatterChoice {
    Auto,
    Lognormal,
    Weibull,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum IntervalChoice {
    T,
    Profile,
    Bootstrap,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum YieldStressArgument {
    Auto,
    None,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum LawChoice {
    Auto,
    Log,
    Linear,
    GelPoint,
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
        let table = match read_bench_or_seen(&self.benches, self.worksheet.as_deref())? {
            Bench::Readings(table) => table,
            Bench::Seen(table) => return self.of_seen(&table, context),
        };
        if !matches!(self.scatter, ScatterChoice::Auto) {
            return Err(CliError::question(
                "--scatter belongs to a table of what was seen (set or not-set), and this one holds readings.\nWhat helps: leave it out; --error says how readings scatter",
            ));
        }
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
            if let Some(next) = next_words::after_fit(blend) {
                text.push_str(&next);
                text.push('\n');
            }
            text.push('\n');
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

    /// The fit of what was seen.
    fn of_seen(&self, table: &SeenTable, context: Context) -> Result<Output, CliError> {
        let of_readings = [
            (!matches!(self.law, LawChoice::Auto), "--law"),
            (self.order != OrderChoice::Fixed(1.0), "--order"),
            (self.dose_lag != DoseLagChoice::None, "--dose-lag"),
            (!matches!(self.error, ErrorChoice::Relative), "--error"),
            (!matches!(self.robust, RobustChoice::None), "--robust"),
            (!matches!(self.interval, IntervalChoice::T), "--interval"),
            (self.warm_up.trim() != "none", "--warm-up"),
        ];
        if let Some((_, name)) = of_readings.iter().find(|(asked, _)| *asked) {
            return Err(CliError::question(format!(
                "{name} belongs to readings, and this table says what was seen (set or not-set).\nWhat helps: leave it out; its own options are --scatter, --reference-temp, --blend, --hold and --prior"
            )));
        }
        fit_set_time::answer(
            &fit_set_time::Asked {
                table,
                scatter: match self.scatter {
                    ScatterChoice::Auto => None,
                    ScatterChoice::Lognormal => Some(ScatterForm::Lognormal),
                    ScatterChoice::Weibull => Some(ScatterForm::Weibull),
                },
                reference_kelvin: self.reference_temp,
                blend: self.blend.clone(),
                hold: &self.hold,
                prior: &self.prior,
                out: self.out.as_deref(),
            },
            context,
        )
    }

    fn options(&self, table: &BenchTable, seed: u64) -> Result<FitOptions, CliError> {
        let mut held = Held::default();
        for text in &self.hold {
            let (name, value) = parse_hold(text, table.kind)?;
            held.hold(name, value)?;
        }
        let priors = self
            .prior
            .iter()
            .map(|text| parse_prior(text, table.kind))
            .collect::<Result<Vec<_>, _>>()?;
        Ok(FitOptions {
            law: match self.law {
                LawChoice::Auto => None,
                LawChoice::Log => Some(FirmnessLaw::Log),
                LawChoice::Linear => Some(FirmnessLaw::Linear),
                LawChoice::GelPoint => Some(FirmnessLaw::GelPoint),
            },
            order: self.order,
            yield_stress: match self.yield_stress {
                YieldStressArgument::Auto => YieldStressChoice::Auto,
                YieldStressArgument::None => YieldStressChoice::None,
            },
            dose_lag: self.dose_lag,
            robust: match self.robust {
                RobustChoice::None => RobustLoss::None,
                RobustChoice::Huber => RobustLoss::Huber,
                RobustChoice::Tukey => RobustLoss::Tukey,
                RobustChoice::Student => RobustLoss::Student,
            },
            priors,
            interval: match self.interval {
                IntervalChoice::T => IntervalKind::T,
                IntervalChoice::Profile => IntervalKind::Profile,
                IntervalChoice::Bootstrap => IntervalKind::Bootstrap,
            },
            draws: self.draws,
            errors: match self.error {
                ErrorChoice::Relative => ErrorModel::Relative,
                ErrorChoice::Absolute => ErrorModel::Absolute,
                ErrorChoice::Given => ErrorModel::Given,
            },
            warm_up: match self.warm_up.trim() {
                "fit" => {
                    self.heating.refuse_with_fitted_lag()?;
                    WarmUpChoice::Fitted
                }
                declared => {
                    WarmUpChoice::Declared(self.heating.of_bench(declared, self.start_temp)?)
                }
            },
            start_kelvin: self.start_temp,
            reference_kelvin: self.reference_temp,
            blend: self.blend.clone(),
            held,
            seed,
        })
    }
}

/// Name and the rest of `PARAM=...`.
fn split_name<'a>(
    option: &str,
    text: &'a str,
    example: &str,
) -> Result<(ParameterName, &'a str), CliError> {
    let Some((name, rest)) = text.split_once('=') else {
        return Err(CliError::question(format!(
            "{option} {text} names no value.\nWhat helps: {option} {example}"
        )));
    };
    let name = name
        .trim()
        .parse()
        .map_err(|e: String| CliError::question(format!("{option} {text}: {e}")))?;
    Ok((name, rest.trim()))
}

/// `PARAM=VALUE`, the value in SI or with its unit.
fn parse_hold(text: &str, kind: ReadingKind) -> Result<(ParameterName, f64), CliError> {
    let (name, value) = split_name("--hold", text, "plateau=0")?;
    let value = parse_si_or_unit(value, dimension_of(name, kind))
        .map_err(|e| CliError::question(format!("--hold {text}: {e}")))?;
    Ok((name, value))
}

/// `PARAM=VALUE:SD`, both in SI or with their unit.
fn parse_prior(text: &str, kind: ReadingKind) -> Result<Prior, CliError> {
    let example = "activation_energy=260kJ/mol:30kJ/mol";
    let (name, rest) = split_name("--prior", text, example)?;
    let Some((value, sd)) = rest.split_once(':') else {
        return Err(CliError::question(format!(
            "--prior {text} has no standard deviation.\nWhat helps: --prior {example}"
        )));
    };
    let number = |part: &str| {
        parse_si_or_unit(part.trim(), dimension_of(name, kind))
            .map_err(|e| CliError::question(format!("--prior {text}: {e}")))
    };
    Ok(Prior::new(name, number(value)?, number(sd)?)?)
}

/// What a parameter is measured in.
pub(crate) fn dimension_of(name: ParameterName, kind: ReadingKind) -> Dimension {
    match name {
        ParameterName::Initial | ParameterName::Plateau => match kind {
            // Forces are fitted as viscosities.
            ReadingKind::Viscosity | ReadingKind::Force | ReadingKind::RunTime => {
                Dimension::Viscosity
            }
            ReadingKind::Modulus => Dimension::Pressure,
            ReadingKind::Firmness => Dimension::Number,
        },
        ParameterName::RateRef => Dimension::RateConstant,
        ParameterName::ActivationEnergy | ParameterName::FlowActivationEnergy => {
            Dimension::ActivationEnergy
        }
        ParameterName::WarmUp | ParameterName::DoseLag => Dimension::Duration,
        _ => Dimension::Number,
    }
}

fn order(text: &str) -> Result<OrderChoice, String> {
    match (text.trim(), text.trim().parse::<f64>()) {
        ("auto", _) => Ok(OrderChoice::Auto),
        (_, Ok(value)) if (0.1..=5.0).contains(&value) => Ok(OrderChoice::Fixed(value)),
        _ => Err(format!(
            "an order is auto or a number from 0.1 to 5, such as 1 or 1.5, and not '{text}'"
        )),
    }
}

fn dose_lag(text: &str) -> Result<DoseLagChoice, String> {
    match text.trim() {
        "none" => Ok(DoseLagChoice::None),
        "auto" => Ok(DoseLagChoice::Auto),
        time => units::duration_s(time)
            .map(DoseLagChoice::Fixed)
            .map_err(|e| e.to_string()),
    }
}

fn draws(text: &str) -> Result<usize, String> {
    match text.trim().parse::<usize>() {
        Ok(count) if (100..=1_000_000).contains(&count) => Ok(count),
        _ => Err(format!(
            "draws are a whole number from 100 to 1000000, and not '{text}'"
        )),
    }
}
