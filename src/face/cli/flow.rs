//! `heatset flow`: pressure and plunger force of a flow curve, with no calibration.

use super::curve_arguments::{CurveArguments, curve_document, curve_words};
use super::output::Output;
use super::push_arguments::{PushArguments, PushAssumptions};
use super::{CliError, Context};
use crate::face::cautions;
use crate::fit::Warning;
use crate::flow::reynolds::LAMINAR_LIMIT_REYNOLDS;
use crate::flow::{
    FlowCurve, JOINT_STATEMENT, Push, PushConditions, PushInputs, push, warnings as flow_warnings,
};
use crate::plan::PushSetup;
use crate::reference::{BoreBasis, hands};
use crate::units::{self, display};
use clap::Args;
use serde::Serialize;
use serde_json::Value;

/// What is tried on the bore where nobody gave its tolerance: 5 % less.
const TRIED_BORE_RATIO: f64 = 0.95;

/// Flow curve, needle, syringe and push.
#[derive(Debug, Args)]
#[command(override_usage = "heatset flow --newtonian 1Pa.s --gauge 30 [OPTIONS]")]
pub(super) struct Arguments {
    #[command(flatten)]
    curve: CurveArguments,
    #[command(flatten)]
    push: PushArguments,
    /// Density of the gel [default: 1025kg/m3, that of plasma]
    #[arg(long, value_name = "DENSITY", value_parser = units::density_kg_per_m3)]
    #[arg(allow_hyphen_values = true)]
    density: Option<f64>,
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
    laminar: bool,
    #[serde(rename = "end_loss_Pa")]
    end_loss_pa: f64,
    /// Over the bore's tolerance; none where none is known.
    #[serde(rename = "plunger_force_range_N")]
    plunger_force_range_n: Option<[f64; 2]>,
    #[serde(rename = "joint_pressure_Pa")]
    joint_pressure_pa: f64,
    entrance_length_m: f64,
    flow_curve: Value,
    assumptions: Assumptions,
    warnings: Vec<Warning>,
}

#[derive(Serialize)]
struct Assumptions {
    #[serde(flatten)]
    push: PushAssumptions,
    density_kg_per_m3: f64,
    density_is_default: bool,
    words: Vec<String>,
}

/// The push as it was asked for, and what its bore leaves open.
struct Answer {
    curve: FlowCurve,
    setup: PushSetup,
    conditions: PushConditions,
    push: Push,
    /// Least and greatest force over the bore's tolerance.
    force_range_n: Option<[f64; 2]>,
    warnings: Vec<Warning>,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        let curve = self.curve.curve()?;
        let setup = self.push.setup()?;
        let inputs = *setup.conditions()?.inputs();
        let conditions = PushConditions::new(PushInputs {
            density_kg_per_m3: self.density.unwrap_or(inputs.density_kg_per_m3),
            ..inputs
        })?;
        let answer = Answer::of(curve, setup, conditions)?;
        if context.json {
            return Output::json(&self.document(answer)?);
        }
        Ok(Output::words(self.words(&answer)?).with_warnings(&answer.warnings))
    }

    fn document(&self, answer: Answer) -> Result<Document, CliError> {
        let push = answer.push;
        Ok(Document {
            pressure_pa: push.pressure_pa,
            plunger_force_n: push.plunger_force_n,
            wall_shear_stress_pa: push.wall_shear_stress_pa,
            wall_shear_rate_per_s: push.wall_shear_rate_per_s,
            apparent_viscosity_pa_s: push.apparent_viscosity_pa_s,
            reynolds: push.reynolds,
            laminar: push.laminar,
            end_loss_pa: push.end_loss_pa,
            plunger_force_range_n: answer.force_range_n,
            joint_pressure_pa: push.joint_pressure_pa,
            entrance_length_m: push.entrance_length_m,
            flow_curve: curve_document(&answer.curve),
            assumptions: Assumptions {
                push: self.push.assumptions(&answer.setup)?,
                density_kg_per_m3: answer.conditions.inputs().density_kg_per_m3,
                density_is_default: self.density.is_none(),
                words: self.assumed(&answer)?,
            },
            warnings: answer.warnings,
        })
    }

    fn words(&self, answer: &Answer) -> Result<String, CliError> {
        let mut lines = vec![answer.headline()];
        lines.extend(answer.range_words().map(indented));
        lines.extend(answer.limit_words()?.into_iter().map(indented));
        lines.extend(answer.state_words().into_iter().map(indented));
        lines.push(String::new());
        lines.push("Assumed:".to_owned());
        lines.extend(self.assumed(answer)?.into_iter().map(indented));
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
        let at = answer.setup.gel_kelvin.map_or_else(String::new, |kelvin| {
            format!(" and taken as that at {}", display::temperature(kelvin))
        });
        lines.push(format!(
            "flow curve as given{at} ({}): only as good as the shear rates that it was measured at, and this push shears at {} /s",
            curve_words(&answer.curve),
            display::at_most(answer.push.wall_shear_rate_per_s, 2)
        ));
        Ok(lines)
    }
}

fn indented(line: impl AsRef<str>) -> String {
    format!("  {}", line.as_ref())
}

impl Answer {
    fn of(
        curve: FlowCurve,
        setup: PushSetup,
        conditions: PushConditions,
    ) -> Result<Self, CliError> {
        let answer = finite(push(&curve, &conditions))?;
        let force_range_n = match setup.needle.bore_tolerance_m {
            Some(tolerance_m) if tolerance_m > 0.0 => {
                let bore_m = setup.needle.bore_m;
                let wide = push_with_bore(&curve, &conditions, bore_m + tolerance_m)?;
                let narrow = push_with_bore(&curve, &conditions, bore_m - tolerance_m)?;
                Some([wide.plunger_force_n, narrow.plunger_force_n])
            }
            _ => None,
        };
        let warnings = flow_warnings(&answer, &conditions)?
            .iter()
            .map(|warning| Warning::new(warning.code(), warning.to_string()))
            .collect();
        Ok(Self {
            curve,
            setup,
            conditions,
            push: answer,
            force_range_n,
            warnings,
        })
    }

    /// What it takes; where the flow is not laminar, that this is not known.
    fn headline(&self) -> String {
        let force = about(self.push.plunger_force_n);
        let needle = self.needle_words();
        let rate = display::flow_rate(self.setup.flow_rate_m3_per_s);
        if self.push.laminar {
            return format!("It takes about {force} to push this through {needle} at {rate}.");
        }
        format!(
            "NOT LAMINAR: it takes more than {force} to push this through {needle} at {rate}, and how much more is not known here.\n  \
             The Reynolds number is {}, and the laws used here end at {LAMINAR_LIMIT_REYNOLDS}: the figures below are the laminar ones, and force and pressure are higher.",
            reynolds_words(self.push.reynolds)
        )
    }

    fn needle_words(&self) -> String {
        let label = self.setup.needle.label();
        match self.setup.needle.gauge {
            Some(11 | 18) => format!("an {label} needle"),
            Some(_) => format!("a {label} needle"),
            None => format!("a needle of {label}"),
        }
    }

    /// What the bore leaves open.
    fn range_words(&self) -> Option<String> {
        let needle = &self.setup.needle;
        if let (Some([least_n, most_n]), Some(tolerance_m)) =
            (self.force_range_n, needle.bore_tolerance_m)
        {
            return Some(format!(
                "{} to {} over the tolerance of the bore (± {}).",
                display::at_most(least_n, 2),
                about(most_n),
                display::length_mm(tolerance_m)
            ));
        }
        if needle.bore_basis == Some(BoreBasis::Minimum) {
            return Some("Less through a real needle: this bore is the least allowed.".to_owned());
        }
        let tried_m = needle.bore_m * TRIED_BORE_RATIO;
        let narrower = push_with_bore(&self.curve, &self.conditions, tried_m).ok()?;
        Some(format!(
            "The bore's tolerance was not given: 5 % less bore would make it {}.",
            about(narrower.plunger_force_n)
        ))
    }

    /// Whether the push stays under the force limit.
    fn limit_words(&self) -> Result<Vec<String>, CliError> {
        let limit_n = self.setup.force_limit_n;
        let published = hands()?.target_n == limit_n;
        let limit = format!(
            "the limit of {}{}",
            display::force(limit_n),
            if published {
                " (published target for hands)"
            } else {
                ""
            }
        );
        let [least_n, most_n] = self.force_range_n.unwrap_or([self.push.plunger_force_n; 2]);
        let helps =
            "What helps: a wider needle, a slower push, a smaller syringe or less heat.".to_owned();
        Ok(if least_n > limit_n {
            vec![format!("Over {limit}."), helps]
        } else if most_n > limit_n {
            let side = if self.push.plunger_force_n > limit_n {
                "Over"
            } else {
                "Under"
            };
            let other = if side == "Over" { "wide" } else { "narrow" };
            let turned = if side == "Over" { "under" } else { "over" };
            vec![
                format!("{side} {limit}, but {turned} it with a bore at the {other} end."),
                helps,
            ]
        } else if self.push.laminar {
            vec![format!("Under {limit}.")]
        } else {
            Vec::new()
        })
    }

    /// Pressure, wall, regime, ends.
    fn state_words(&self) -> Vec<String> {
        let push = &self.push;
        let elsewhere_pa = push.joint_pressure_pa - push.pressure_pa;
        let joint = if elsewhere_pa > 0.0 {
            format!(
                "Pressure at the joint {}, {} of it in the needle",
                display::pressure(push.joint_pressure_pa),
                display::pressure(push.pressure_pa)
            )
        } else {
            format!("Pressure {}", display::pressure(push.pressure_pa))
        };
        let regime = if push.laminar {
            "laminar"
        } else {
            "not laminar"
        };
        let ends_n = push.end_loss_pa * self.conditions.barrel_area_m2();
        let counted = if self.setup.include_end_losses {
            "counted."
        } else {
            "not counted (--end-losses counts it)."
        };
        vec![
            format!("{joint}: {JOINT_STATEMENT}."),
            format!(
                "At the needle's wall: shear rate {} /s, stress {}, viscosity {}.",
                display::at_most(push.wall_shear_rate_per_s, 3),
                display::pressure(push.wall_shear_stress_pa),
                display::viscosity(push.apparent_viscosity_pa_s)
            ),
            format!(
                "Reynolds number {}: {regime} (limit {LAMINAR_LIMIT_REYNOLDS}).",
                reynolds_words(push.reynolds)
            ),
            format!(
                "Entrance and exit of the needle take about {}, which is {}: {counted}",
                display::pressure_to(push.end_loss_pa, 2),
                about(ends_n)
            ),
        ]
    }
}

/// The same push through another bore.
fn push_with_bore(
    curve: &FlowCurve,
    conditions: &PushConditions,
    bore_m: f64,
) -> Result<Push, CliError> {
    let other = PushConditions::new(PushInputs {
        bore_m,
        ..*conditions.inputs()
    })?;
    finite(push(curve, &other))
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

fn about(force_n: f64) -> String {
    format!("{} N", display::at_most(force_n, 2))
}

fn reynolds_words(reynolds: f64) -> String {
    if (100.0..1e6).contains(&reynolds) {
        format!("{reynolds:.0}")
    } else {
        display::at_most(reynolds, 2)
    }
}
