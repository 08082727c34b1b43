//! `heatset flow`: pressure and plunger force of a flow curve, with no calibration.

use super::curve_arguments::CurveArguments;
use super::output::Output;
use super::push_arguments::{PushArguments, PushAssumptions};
use super::stated_curve::{StatedCurve, stated_document, stated_words};
use super::{CliError, Context};
use crate::face::cautions;
use crate::fit::Warning;
use crate::flow::{
    EndLosses, Hub, LeavesTable, Push, PushConditions, PushInputs, TubeCurve, push_through_hub,
    warnings as flow_warnings, yield_force_n,
};
use crate::plan::PushSetup;
use crate::units::{self, display};
use clap::Args;
use serde::Serialize;
use serde_json::{Value, json};

/// Flow curve, needle, syringe and push.
#[derive(Debug, Args)]
#[command(override_usage = "heatset flow --newtonian 1Pa.s --gauge 30 [OPTIONS]")]
pub(super) struct Arguments {
    #[command(flatten)]
    curve: CurveArguments,
    /// Which sample of the measured curve's file
    #[arg(long, value_name = "NAME", requires = "curve")]
    sample: Option<String>,
    #[command(flatten)]
    push: PushArguments,
    /// Density of the gel [default: 1025kg/m3, that of plasma]
    #[arg(long, value_name = "DENSITY", value_parser = units::density_kg_per_m3)]
    #[arg(allow_hyphen_values = true)]
    density: Option<f64>,
    /// Bore of the hub at the syringe's end, where it is narrow enough to count
    #[arg(long, value_name = "BORE", value_parser = units::bore_m, requires = "hub_length")]
    #[arg(allow_hyphen_values = true)]
    hub_bore: Option<f64>,
    /// Bore of a conical hub where the needle begins [default: a cylinder]
    #[arg(long, value_name = "BORE", value_parser = units::bore_m, requires = "hub_bore")]
    #[arg(allow_hyphen_values = true)]
    hub_narrows_to: Option<f64>,
    /// Length of the hub
    #[arg(long, value_name = "LENGTH", value_parser = units::length_m, requires = "hub_bore")]
    #[arg(allow_hyphen_values = true)]
    hub_length: Option<f64>,
}

#[derive(Serialize)]
struct Document {
    #[serde(rename = "pressure_Pa")]
    pressure_pa: f64,
    #[serde(rename = "plunger_force_N")]
    plunger_force_n: f64,
    #[serde(rename = "wall_shear_stress_Pa")]
    wall_shear_stress_pa: f64,
    wall_shear_rate_per_s: f64,
    #[serde(rename = "apparent_viscosity_Pa_s")]
    apparent_viscosity_pa_s: f64,
    reynolds: f64,
    critical_reynolds: f64,
    laminar: bool,
    #[serde(rename = "end_loss_Pa")]
    end_loss_pa: f64,
    #[serde(rename = "end_losses_Pa")]
    end_losses_pa: EndLosses,
    /// None for a curve without a yield stress.
    #[serde(rename = "yield_force_N")]
    yield_force_n: Option<f64>,
    yield_force_share_of_push: Option<f64>,
    /// Over the bore's tolerance; none where none is known.
    #[serde(rename = "plunger_force_range_N")]
    plunger_force_range_n: Option<[f64; 2]>,
    #[serde(rename = "joint_pressure_Pa")]
    joint_pressure_pa: f64,
    entrance_length_m: f64,
    flow_curve: Value,
    /// None where the wall's rate lies inside what was measured, and for a law.
    outside_curve: Option<Value>,
    assumptions: Assumptions,
    warnings: Vec<Warning>,
}

#[derive(Serialize)]
struct Assumptions {
    #[serde(flatten)]
    push: PushAssumptions,
    density_kg_per_m3: f64,
    density_is_default: bool,
    hub: Option<Hub>,
    words: Vec<String>,
}

/// The push as it was asked for, and what its bore leaves open.
pub(super) struct Answer {
    pub(super) curve: StatedCurve,
    pub(super) setup: PushSetup,
    pub(super) conditions: PushConditions,
    pub(super) hub: Option<Hub>,
    pub(super) push: Push,
    /// Force below which nothing flows, for a curve with a yield stress.
    pub(super) yield_force_n: Option<f64>,
    /// How the wall's shear rate lies outside a measured curve.
    pub(super) outside: Option<LeavesTable>,
    /// Least and greatest force over the bore's tolerance.
    pub(super) force_range_n: Option<[f64; 2]>,
    warnings: Vec<Warning>,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        let curve = self.curve.curve(self.sample.as_deref())?;
        let setup = self.push.setup()?;
        let inputs = *setup.conditions()?.inputs();
        let conditions = PushConditions::new(PushInputs {
            density_kg_per_m3: self.density.unwrap_or(inputs.density_kg_per_m3),
            ..inputs
        })?;
        let hub = match (self.hub_bore, self.hub_length) {
            (Some(bore_m), Some(length_m)) => {
                let end_m = self.hub_narrows_to.unwrap_or(bore_m);
                Some(Hub::cone(bore_m, end_m, length_m)?)
            }
            _ => None,
        };
        let answer = Answer::of(curve, setup, conditions, hub)?;
        if context.json {
            return Output::json(&self.document(answer)?);
        }
        Ok(Output::words(self.words(&answer)?).with_warnings(&answer.warnings))
    }

    fn document(&self, answer: Answer) -> Result<Document, CliError> {
        let push = answer.push;
        let share = |force_n: f64| force_n / push.plunger_force_n;
        Ok(Document {
            pressure_pa: push.pressure_pa,
            plunger_force_n: push.plunger_force_n,
            wall_shear_stress_pa: push.wall_shear_stress_pa,
            wall_shear_rate_per_s: push.wall_shear_rate_per_s,
            apparent_viscosity_pa_s: push.apparent_viscosity_pa_s,
            reynolds: push.reynolds,
            critical_reynolds: push.critical_reynolds,
            laminar: push.laminar,
            end_loss_pa: push.end_loss_pa,
            end_losses_pa: push.end_losses,
            yield_force_n: answer.yield_force_n,
            yield_force_share_of_push: answer.yield_force_n.map(share),
            plunger_force_range_n: answer.force_range_n,
            joint_pressure_pa: push.joint_pressure_pa,
            entrance_length_m: push.entrance_length_m,
            flow_curve: stated_document(&answer.curve),
            outside_curve: answer.outside.map(|outside| {
                json!({
                    "side": if outside.is_above { "above" } else { "below" },
                    "times_outside": outside.times_outside_ratio(),
                    "table_end_per_s": outside.table_end_per_s
                })
            }),
            assumptions: Assumptions {
                push: self.push.assumptions(&answer.setup)?,
                density_kg_per_m3: answer.conditions.inputs().density_kg_per_m3,
                density_is_default: self.density.is_none(),
                hub: answer.hub,
                words: self.assumed(&answer)?,
            },
            warnings: answer.warnings,
        })
    }

    fn words(&self, answer: &Answer) -> Result<String, CliError> {
        let mut lines = answer.lines()?;
        lines.push(String::new());
        lines.push("Assumed:".to_owned());
        lines.extend(
            self.assumed(answer)?
                .into_iter()
                .map(|line| format!("  {line}")),
        );
        lines.push(String::new());
        lines.push(cautions::SHORT.to_owned());
        Ok(lines.join("\n"))
    }

    fn assumed(&self, answer: &Answer) -> Result<Vec<String>, CliError> {
        let mut lines = self.push.assumed_words(&answer.setup)?;
        let density = answer.conditions.inputs().density_kg_per_m3;
        let whose = if self.density.is_none() {
            " (default: plasma)"
        } else {
            ""
        };
        lines.push(format!(
            "density {} kg/m3{whose}",
            display::at_most(density, 4)
        ));
        if let Some(hub) = &answer.hub {
            lines.push(hub_words(hub));
        }
        let at = answer.setup.gel_kelvin.map_or_else(String::new, |kelvin| {
            format!(" and taken as that at {}", display::temperature(kelvin))
        });
        lines.push(format!(
            "flow curve as given{at} ({}): only as good as the shear rates that it was measured at, and this push shears at {} /s",
            stated_words(&answer.curve),
            display::at_most(answer.push.wall_shear_rate_per_s, 2)
        ));
        Ok(lines)
    }
}

fn hub_words(hub: &Hub) -> String {
    let (bore, length) = (
        display::length_mm(hub.bore_m),
        display::length_mm(hub.length_m),
    );
    if hub.bore_m == hub.needle_end_bore_m {
        format!("hub {bore} bore x {length} (given)")
    } else {
        format!(
            "hub from {bore} to {} bore over {length} (given)",
            display::length_mm(hub.needle_end_bore_m)
        )
    }
}

impl Answer {
    fn of(
        curve: StatedCurve,
        setup: PushSetup,
        conditions: PushConditions,
        hub: Option<Hub>,
    ) -> Result<Self, CliError> {
        let push = finite(push_through_hub(&curve, &conditions, hub.as_ref()))?;
        let outside = curve.leaves_table(push.wall_shear_rate_per_s);
        let mut warnings: Vec<Warning> = outside.map(extrapolated).into_iter().collect();
        if curve.is_invented() {
            warnings.push(Warning::new(
                "invented_data",
                "the flow curve's file says of itself that its data are invented: no ground for use.",
            ));
        }
        warnings.extend(
            flow_warnings(&push, &conditions)?
                .iter()
                .map(|warning| Warning::new(warning.code(), warning.to_string())),
        );
        let mut answer = Self {
            yield_force_n: (curve.yield_stress_pa() > 0.0)
                .then(|| yield_force_n(&curve, &conditions)),
            curve,
            setup,
            conditions,
            hub,
            push,
            outside,
            force_range_n: None,
            warnings,
        };
        let needle = &answer.setup.needle;
        if let Some(tolerance_m) = needle.bore_tolerance_m.filter(|t| *t > 0.0) {
            let wide = answer.with_bore(needle.bore_m + tolerance_m)?;
            let narrow = answer.with_bore(needle.bore_m - tolerance_m)?;
            answer.force_range_n = Some([wide.plunger_force_n, narrow.plunger_force_n]);
        }
        Ok(answer)
    }

    /// The same push through another bore.
    pub(super) fn with_bore(&self, bore_m: f64) -> Result<Push, CliError> {
        let other = PushConditions::new(PushInputs {
            bore_m,
            ..*self.conditions.inputs()
        })?;
        finite(push_through_hub(&self.curve, &other, self.hub.as_ref()))
    }
}

/// The wall's rate lies outside what was measured.
fn extrapolated(outside: LeavesTable) -> Warning {
    let (than, end) = if outside.is_above {
        ("above the highest", "last")
    } else {
        ("below the lowest", "first")
    };
    Warning::new(
        "curve_extrapolated",
        format!(
            "the needle's wall shears at {} /s, {} times {than} shear rate of the flow curve, {} /s: the force stands on the slope of its {end} two readings carried on, and nobody measured that.\nWhat helps: readings at the needle's own shear rate, for instance with the needle as the viscometer",
            display::at_most(outside.wall_shear_rate_per_s, 2),
            display::at_most(outside.times_outside_ratio(), 2),
            display::at_most(outside.table_end_per_s, 3)
        ),
    )
}

/// Refuses figures that ran out of what a number holds.
fn finite(push: Push) -> Result<Push, CliError> {
    let figures = [
        push.pressure_pa,
        push.joint_pressure_pa,
        push.plunger_force_n,
        push.wall_shear_stress_pa,
        push.wall_shear_rate_per_s,
        push.apparent_viscosity_pa_s,
        push.reynolds,
        push.critical_reynolds,
        push.end_loss_pa,
        push.entrance_length_m,
    ];
    if figures.iter().all(|figure| figure.is_finite()) {
        return Ok(push);
    }
    Err(CliError::question(
        "This push has no figure: flow curve, needle and flow rate together are beyond what can be computed.\nWhat helps: look at the units of the flow curve, --bore, --length and --flow",
    ))
}
