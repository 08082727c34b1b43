//! The flow curve as it is written on the command line.

use super::CliError;
use crate::flow::{
    CarreauYasuda, FlowCurve, LeavesTable, MeasuredCurve, TubeCurve, WallState, read_curve,
};
use crate::units::quantity::excerpt;
use crate::units::{self, Dimension, Sign, UnitError, display, parse_signed};
use clap::Args;
use serde_json::{Value, json};
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

/// The curve that was stated: a law, or what was measured.
pub(super) enum StatedCurve {
    /// A law.
    Law(FlowCurve),
    /// A table.
    Measured(MeasuredTable),
}

/// A measured curve and where it came from.
pub(super) struct MeasuredTable {
    curve: MeasuredCurve,
    file: String,
    sample: Option<String>,
    invented: bool,
}

impl StatedCurve {
    /// How a shear rate at the wall lies outside a measured curve.
    pub(super) fn leaves_table(&self, wall_shear_rate_per_s: f64) -> Option<LeavesTable> {
        match self {
            Self::Law(_) => None,
            Self::Measured(table) => table.curve.leaves_table(wall_shear_rate_per_s),
        }
    }

    /// Whether the file says of itself that its data are invented.
    pub(super) fn is_invented(&self) -> bool {
        matches!(self, Self::Measured(table) if table.invented)
    }
}

impl TubeCurve for StatedCurve {
    fn shear_stress_pa(&self, shear_rate_per_s: f64) -> f64 {
        match self {
            Self::Law(curve) => curve.shear_stress_pa(shear_rate_per_s),
            Self::Measured(table) => table.curve.shear_stress_pa(shear_rate_per_s),
        }
    }

    fn yield_stress_pa(&self) -> f64 {
        match self {
            Self::Law(curve) => curve.yield_stress_pa(),
            Self::Measured(table) => table.curve.yield_stress_pa(),
        }
    }

    fn wall_at(&self, reduced_flow_per_s: f64) -> WallState {
        match self {
            Self::Law(curve) => curve.wall_at(reduced_flow_per_s),
            Self::Measured(table) => table.curve.wall_at(reduced_flow_per_s),
        }
    }

    fn reduced_flow_per_s(&self, wall_shear_stress_pa: f64) -> f64 {
        match self {
            Self::Law(curve) => curve.reduced_flow_per_s(wall_shear_stress_pa),
            Self::Measured(table) => table.curve.reduced_flow_per_s(wall_shear_stress_pa),
        }
    }

    fn critical_reynolds(
        &self,
        radius_m: f64,
        density_kg_per_m3: f64,
        reduced_flow_per_s: f64,
        wall: WallState,
    ) -> f64 {
        match self {
            Self::Law(curve) => {
                curve.critical_reynolds(radius_m, density_kg_per_m3, reduced_flow_per_s, wall)
            }
            Self::Measured(table) => {
                table
                    .curve
                    .critical_reynolds(radius_m, density_kg_per_m3, reduced_flow_per_s, wall)
            }
        }
    }
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

/// The measured curve of a file.
fn measured(path: &std::path::Path, sample: Option<&str>) -> Result<MeasuredTable, CliError> {
    let table = read_curve(path)?;
    let names: Vec<&str> = table
        .samples
        .iter()
        .map(|sample| sample.name.as_deref().unwrap_or("(no name)"))
        .collect();
    let chosen = match (sample, table.samples.as_slice()) {
        (None, [only]) => Some(only),
        (None, _) => None,
        (Some(wanted), samples) => samples
            .iter()
            .find(|sample| sample.name.as_deref() == Some(wanted)),
    };
    let Some(chosen) = chosen else {
        let what = match sample {
            Some(wanted) => format!("{} has no sample {}", table.file, excerpt(wanted)),
            None => format!(
                "{} holds {} samples, and one flows at a time",
                table.file,
                names.len()
            ),
        };
        return Err(CliError::question(format!(
            "{what}.\nWhat helps: --sample with one of {}",
            names.join(", ")
        )));
    };
    Ok(MeasuredTable {
        curve: chosen.measured_curve(&table.file)?,
        file: table.file.clone(),
        sample: chosen.name.clone(),
        invented: table.invented,
    })
}

/// The stated curve in words.
pub(super) fn stated_words(curve: &StatedCurve) -> String {
    match curve {
        StatedCurve::Law(curve) => curve_words(curve),
        StatedCurve::Measured(table) => {
            let (lowest, highest) = table.curve.shear_rate_range_per_s();
            let sample = table
                .sample
                .as_ref()
                .map_or_else(String::new, |name| format!(", sample {name}"));
            format!(
                "measured, {}{sample}: {} shear rates from {} to {} /s",
                table.file,
                table.curve.points().len(),
                display::at_most(lowest, 3),
                display::at_most(highest, 3)
            )
        }
    }
}

/// The stated curve for programs.
pub(super) fn stated_document(curve: &StatedCurve) -> Value {
    match curve {
        StatedCurve::Law(curve) => curve_document(curve),
        StatedCurve::Measured(table) => json!({
            "curve": "measured", "file": table.file, "sample": table.sample,
            "invented": table.invented, "points": table.curve.points().len(),
            "shear_rate_per_s": table.curve.shear_rate_range_per_s()
        }),
    }
}

/// A law as the option of `heatset flow` that states it, with as many digits as need be.
pub(super) fn curve_option(curve: &FlowCurve, digits: usize) -> String {
    let number = |value: f64| display::at_most(value, digits);
    match *curve {
        FlowCurve::Newtonian { viscosity_pa_s } => {
            format!("--newtonian {}Pa.s", number(viscosity_pa_s))
        }
        FlowCurve::PowerLaw {
            consistency_pa_s_n,
            flow_index,
        } => format!(
            "--power K={}Pa.s^n,n={}",
            number(consistency_pa_s_n),
            number(flow_index)
        ),
        FlowCurve::Bingham {
            yield_stress_pa,
            plastic_viscosity_pa_s,
        } => format!(
            "--bingham tau_y={}Pa,mu={}Pa.s",
            number(yield_stress_pa),
            number(plastic_viscosity_pa_s)
        ),
        FlowCurve::HerschelBulkley {
            yield_stress_pa,
            consistency_pa_s_n,
            flow_index,
        } => format!(
            "--herschel-bulkley tau_y={}Pa,K={}Pa.s^n,n={}",
            number(yield_stress_pa),
            number(consistency_pa_s_n),
            number(flow_index)
        ),
        FlowCurve::CarreauYasuda(shape) => format!(
            "--carreau eta0={}Pa.s,eta_inf={}Pa.s,lambda={}s,n={},a={}",
            number(shape.zero_shear_viscosity_pa_s),
            number(shape.infinite_shear_viscosity_pa_s),
            number(shape.time_constant_s),
            number(shape.flow_index),
            number(shape.transition_index)
        ),
    }
}

/// The curve in words.
fn curve_words(curve: &FlowCurve) -> String {
    let number = |value: f64| display::at_most(value, 4);
    match *curve {
        FlowCurve::Newtonian { viscosity_pa_s } => {
            format!(
                "Newtonian, {} at every shear rate",
                display::viscosity(viscosity_pa_s)
            )
        }
        FlowCurve::PowerLaw {
            consistency_pa_s_n,
            flow_index,
        } => format!(
            "power law, K {} Pa.s^n, n {}",
            number(consistency_pa_s_n),
            number(flow_index)
        ),
        FlowCurve::Bingham {
            yield_stress_pa,
            plastic_viscosity_pa_s,
        } => format!(
            "Bingham, yield stress {}, viscosity beyond it {}",
            display::pressure(yield_stress_pa),
            display::viscosity(plastic_viscosity_pa_s)
        ),
        FlowCurve::HerschelBulkley {
            yield_stress_pa,
            consistency_pa_s_n,
            flow_index,
        } => format!(
            "Herschel-Bulkley, yield stress {}, K {} Pa.s^n, n {}",
            display::pressure(yield_stress_pa),
            number(consistency_pa_s_n),
            number(flow_index)
        ),
        FlowCurve::CarreauYasuda(shape) => format!(
            "Carreau-Yasuda, {} at rest, {} at great shear rates, lambda {} s, n {}, a {}",
            display::viscosity(shape.zero_shear_viscosity_pa_s),
            display::viscosity(shape.infinite_shear_viscosity_pa_s),
            number(shape.time_constant_s),
            number(shape.flow_index),
            number(shape.transition_index)
        ),
    }
}

/// The curve for programs.
pub(super) fn curve_document(curve: &FlowCurve) -> Value {
    match *curve {
        FlowCurve::Newtonian { viscosity_pa_s } => {
            json!({ "curve": "newtonian", "viscosity_Pa_s": viscosity_pa_s })
        }
        FlowCurve::PowerLaw {
            consistency_pa_s_n,
            flow_index,
        } => json!({
            "curve": "power", "K_Pa_s_n": consistency_pa_s_n, "n": flow_index
        }),
        FlowCurve::Bingham {
            yield_stress_pa,
            plastic_viscosity_pa_s,
        } => json!({
            "curve": "bingham", "tau_y_Pa": yield_stress_pa, "mu_Pa_s": plastic_viscosity_pa_s
        }),
        FlowCurve::HerschelBulkley {
            yield_stress_pa,
            consistency_pa_s_n,
            flow_index,
        } => json!({
            "curve": "herschel-bulkley", "tau_y_Pa": yield_stress_pa,
            "K_Pa_s_n": consistency_pa_s_n, "n": flow_index
        }),
        FlowCurve::CarreauYasuda(shape) => json!({
            "curve": "carreau", "eta0_Pa_s": shape.zero_shear_viscosity_pa_s,
            "eta_inf_Pa_s": shape.infinite_shear_viscosity_pa_s,
            "lambda_s": shape.time_constant_s, "n": shape.flow_index, "a": shape.transition_index
        }),
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
