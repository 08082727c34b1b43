//! The flow curve as it is written on the command line.

use super::CliError;
use super::stated_curve::{StatedCurve, measured};
use crate::flow::{CarreauYasuda, FlowCurve};
use crate::units::quantity::excerpt;
use crate::units::{self, Dimension, Sign, UnitError, parse_signed};
use clap::Args;
use std::path::PathBuf;

const POWER: &str = "K=2Pa.s^n,n=0.4";
const BINGHAM: &str = "tau_y=50Pa,mu=1Pa.s";
const HERSCHEL_BULKLEY: &str = "tau_y=50Pa,K=2Pa.s^n,n=0.4";
const CARREAU: &str = "eta0=10Pa.s,eta_inf=0.01Pa.s,lambda=1s,n=0.3,a=2";

/// How the gel answers shear: exactly one curve.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Flow curve (exactly one)")]
#[group(required = true, multiple = false)]
pub(super) struct CurveArguments {
    /// One viscosity at every shear rate
    #[arg(long, value_name = "1Pa.s", value_parser = newtonian, allow_hyphen_values = true)]
    newtonian: Option<FlowCurve>,
    /// Power law: stress = K rate^n
    #[arg(long, value_name = POWER, value_parser = power, allow_hyphen_values = true)]
    power: Option<FlowCurve>,
    /// Yield stress, then one viscosity: stress = tau_y + mu rate
    #[arg(long, value_name = BINGHAM, value_parser = bingham, allow_hyphen_values = true)]
    bingham: Option<FlowCurve>,
    /// Yield stress, then a power law: stress = tau_y + K rate^n
    #[arg(long, value_name = HERSCHEL_BULKLEY, value_parser = herschel_bulkley)]
    #[arg(allow_hyphen_values = true)]
    herschel_bulkley: Option<FlowCurve>,
    /// Carreau-Yasuda: viscosity = eta_inf + (eta0 - eta_inf) [1 + (lambda rate)^a]^((n-1)/a)
    #[arg(long, value_name = CARREAU, value_parser = carreau, allow_hyphen_values = true)]
    carreau: Option<FlowCurve>,
    /// A measured curve: CSV with the columns shear_rate_per_s and shear_stress_Pa (or
    /// viscosity_Pa_s)
    #[arg(long, value_name = "FILE.csv")]
    curve: Option<PathBuf>,
}

impl CurveArguments {
    /// The curve that was given; `sample` is the one of the file's samples that is meant.
    pub(super) fn curve(&self, sample: Option<&str>) -> Result<StatedCurve, CliError> {
        if let Some(path) = &self.curve {
            return measured(path, sample).map(StatedCurve::Measured);
        }
        [self.newtonian, self.power, self.bingham, self.herschel_bulkley, self.carreau]
            .into_iter()
            .flatten()
            .next()
            .map(StatedCurve::Law)
            .ok_or_else(|| {
                CliError::question(
                    "No flow curve was given.\nWhat helps: a viscosity, --newtonian 1Pa.s; or another curve, see 'heatset flow --help'",
                )
            })
    }
}

fn newtonian(text: &str) -> Result<FlowCurve, String> {
    let viscosity_pa_s = units::viscosity_pa_s(text).map_err(|e| e.to_string())?;
    FlowCurve::newtonian(viscosity_pa_s).map_err(|e| e.to_string())
}

fn power(text: &str) -> Result<FlowCurve, String> {
    let named = Named::read(text, ["K", "n"], POWER)?;
    let consistency_pa_s_n = named.value("K", units::consistency_pa_s_n)?;
    let flow_index = named.value("n", flow_index)?;
    FlowCurve::power_law(consistency_pa_s_n, flow_index).map_err(|e| e.to_string())
}

fn bingham(text: &str) -> Result<FlowCurve, String> {
    let named = Named::read(text, ["tau_y", "mu"], BINGHAM)?;
    let yield_stress_pa = named.value("tau_y", yield_stress_pa)?;
    let plastic_viscosity_pa_s = named.value("mu", units::viscosity_pa_s)?;
    FlowCurve::bingham(yield_stress_pa, plastic_viscosity_pa_s).map_err(|e| e.to_string())
}

fn herschel_bulkley(text: &str) -> Result<FlowCurve, String> {
    let named = Named::read(text, ["tau_y", "K", "n"], HERSCHEL_BULKLEY)?;
    let yield_stress_pa = named.value("tau_y", yield_stress_pa)?;
    let consistency_pa_s_n = named.value("K", units::consistency_pa_s_n)?;
    let flow_index = named.value("n", flow_index)?;
    FlowCurve::herschel_bulkley(yield_stress_pa, consistency_pa_s_n, flow_index)
        .map_err(|e| e.to_string())
}

fn carreau(text: &str) -> Result<FlowCurve, String> {
    let named = Named::read(text, ["eta0", "eta_inf", "lambda", "n", "a"], CARREAU)?;
    FlowCurve::CarreauYasuda(CarreauYasuda {
        zero_shear_viscosity_pa_s: named.value("eta0", units::viscosity_pa_s)?,
        infinite_shear_viscosity_pa_s: named.value("eta_inf", viscosity_or_zero_pa_s)?,
        time_constant_s: named.value("lambda", units::duration_s)?,
        flow_index: named.value("n", flow_index)?,
        transition_index: named.value("a", transition_index)?,
    })
    .checked()
    .map_err(|e| e.to_string())
}

fn flow_index(text: &str) -> Result<f64, UnitError> {
    let why = "is no flow curve";
    parse_signed(text, Dimension::Number, Sign::Positive, "flow index", why)
}

fn transition_index(text: &str) -> Result<f64, UnitError> {
    let why = "is no flow curve";
    parse_signed(
        text,
        Dimension::Number,
        Sign::Positive,
        "transition index",
        why,
    )
}

fn yield_stress_pa(text: &str) -> Result<f64, UnitError> {
    parse_signed(
        text,
        Dimension::Pressure,
        Sign::NotNegative,
        "yield stress",
        "",
    )
}

fn viscosity_or_zero_pa_s(text: &str) -> Result<f64, UnitError> {
    parse_signed(
        text,
        Dimension::Viscosity,
        Sign::NotNegative,
        "viscosity",
        "",
    )
}

/// Values with names, separated by commas: `K=2Pa.s^n,n=0.4`.
struct Named<'a> {
    pairs: Vec<(&'a str, &'a str)>,
    example: &'static str,
}

impl<'a> Named<'a> {
    /// Takes the text apart; every name must be one of `names`, and stand once.
    fn read<const COUNT: usize>(
        text: &'a str,
        names: [&'static str; COUNT],
        example: &'static str,
    ) -> Result<Self, String> {
        let mut pairs: Vec<(&str, &str)> = Vec::new();
        for part in text.split(',') {
            let Some((name, value)) = part.split_once('=') else {
                return Err(format!(
                    "\"{}\" has no name and equals sign (is this a decimal comma? then use a point); write {example}",
                    excerpt(part.trim())
                ));
            };
            let name = name.trim();
            if !names.contains(&name) {
                return Err(format!(
                    "\"{}\" is not a name of this curve, which has {}; write {example}",
                    excerpt(name),
                    names.join(", ")
                ));
            }
            if pairs.iter().any(|(known, _)| *known == name) {
                return Err(format!("{name} is given twice; write {example}"));
            }
            pairs.push((name, value));
        }
        Ok(Self { pairs, example })
    }

    /// The value of a name.
    fn value(&self, name: &str, read: fn(&str) -> Result<f64, UnitError>) -> Result<f64, String> {
        let (_, text) = self
            .pairs
            .iter()
            .find(|(known, _)| *known == name)
            .ok_or_else(|| format!("{name} is missing; write {}", self.example))?;
        read(text).map_err(|error| format!("{name}: {error}"))
    }
}
