//! `heatset plan-bench`: the smallest bench worth running, before the first reading.

use super::doubt_arguments::DoubtArguments;
use super::output::{Output, check_free, write_file};
use super::plan_bench_beliefs::{BeliefArguments, LimitArguments};
use super::push_arguments::PushArguments;
use super::{CliError, Context};
use crate::face::{cautions, plan_bench_table, plan_bench_words};
use crate::plan::StatedThinning;
use crate::plan::bench_plan::{
    Aggregate, AskedWidth, Beliefs, BenchPlan, BenchPlanQuestion, ForWhom, smallest_bench,
};
use crate::thermal::WarmUp;
use crate::units;
use clap::{Args, ValueEnum};
use serde::Serialize;
use std::path::PathBuf;

/// The smallest bench that tells a heat time as well as asked, before the first reading
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Set temperature at which heat times will be asked; may repeat
    #[arg(long, required = true, value_name = "TEMP", value_parser = units::temperature_kelvin, allow_hyphen_values = true)]
    at: Vec<f64>,
    /// How well the heat time is to be told: half the 95 % interval, as a share (20%) or a time (60s)
    #[arg(long, value_name = "20%|60s", value_parser = width)]
    width: AskedWidth,
    /// Whose heat time: a syringe of a lot that is not on the bench, or the typical lot's curve
    #[arg(long, value_enum, default_value_t = Whom::NewLot)]
    answer: Whom,
    /// Which of the gels that are believed possible the width must hold for: the worst, or their mean
    #[arg(long, value_enum, default_value_t = Serve::Worst)]
    serve: Serve,
    #[command(flatten)]
    beliefs: BeliefArguments,
    #[command(flatten)]
    limits: LimitArguments,
    /// Warm-up of the bench's gels: none, or the lag of their syringe or cell
    #[arg(
        long,
        default_value = "none",
        value_name = "none|40s",
        help_heading = "The bench's gels"
    )]
    warm_up: String,
    /// Temperature of the gel when it goes into the block
    #[arg(long, default_value = "22C", value_name = "TEMP", value_parser = units::temperature_kelvin, allow_hyphen_values = true, help_heading = "The bench's gels")]
    start_temp: f64,
    /// Flow index of the set gel; the gel thins from 1 to this as it sets
    #[arg(long, value_name = "X", value_parser = flow_index, requires = "shear_rate", help_heading = "The bench's gels")]
    flow_index: Option<f64>,
    /// Shear rate at which the bench will read
    #[arg(long, value_name = "RATE", value_parser = units::shear_rate_per_s, help_heading = "The bench's gels")]
    shear_rate: Option<f64>,
    /// Altitude of the place: water boils lower
    #[arg(long, value_name = "HEIGHT", value_parser = units::length_or_zero_m, help_heading = "The bench's gels")]
    altitude: Option<f64>,
    #[command(flatten)]
    doubts: DoubtArguments,
    #[command(flatten)]
    push: PushArguments,
    /// Blank bench table with the settings in a random order, to be filled in: a CSV file
    #[arg(long, value_name = "FILE.csv", help_heading = "The table")]
    out: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Whom {
    NewLot,
    TypicalLot,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Serve {
    Worst,
    Mean,
}

/// The answer as one document.
#[derive(Serialize)]
struct Document<'a, Assumed> {
    asked_half_width: AskedWidth,
    #[serde(rename = "asked_heat_temps_K")]
    asked_kelvin: &'a [f64],
    answer: ForWhom,
    serve: Aggregate,
    #[serde(flatten)]
    plan: &'a BenchPlan,
    beliefs: &'a Beliefs,
    belief_sources: std::collections::BTreeMap<&'static str, &'static str>,
    limits: &'a crate::plan::bench_plan::BenchLimits,
    assumptions: Assumed,
    seed: u64,
    written: Option<String>,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        if let Some(out) = &self.out {
            let is_csv = out
                .extension()
                .is_some_and(|end| end.eq_ignore_ascii_case("csv"));
            if !is_csv {
                return Err(CliError::question(format!(
                    "{} is no CSV file, and the table is written as one.\nWhat helps: --out bench.csv; a spreadsheet opens and saves it",
                    out.display()
                )));
            }
            check_free(out, context.replace)?;
        }
        let question = self.question(context)?;
        let plan = smallest_bench(&question)?;
        let sources: std::collections::BTreeMap<_, _> = Beliefs::SOURCES
            .iter()
            .map(|(name, _)| (*name, self.beliefs.source(name)))
            .collect();
        let mut written = None;
        if let Some(out) = &self.out {
            if !plan.reached {
                return Err(CliError::question(format!(
                    "{}\nNo table was written.",
                    plan_bench_words::not_reached(&question, &plan)
                )));
            }
            let text = plan_bench_table::blank_table(&question, &plan);
            write_file(out, text.as_bytes(), context.replace)?;
            written = Some(out.display().to_string());
        }
        if context.json {
            return Output::json(&Document {
                asked_half_width: question.width,
                asked_kelvin: &question.asked_kelvin,
                answer: question.for_whom,
                serve: question.aggregate,
                plan: &plan,
                beliefs: &question.beliefs,
                belief_sources: sources,
                limits: &question.limits,
                assumptions: self.push.assumptions(&question.setup)?,
                seed: context.seed,
                written,
            });
        }
        let mut text =
            plan_bench_words::in_words(&question, &plan, |name| self.beliefs.source(name));
        let assumed = self.push.assumed_words(&question.setup)?;
        text.push_str(&format!("Assumed: {}.\n", assumed.join("; ")));
        if let Some(file) = written {
            text.push_str(&format!(
                "\nWritten: {file}. Fill in the readings, then: heatset check {file}\n"
            ));
        }
        text.push_str(&format!("\n{}", cautions::SHORT));
        Ok(Output::words(text))
    }

    fn question(&self, context: Context) -> Result<BenchPlanQuestion, CliError> {
        let warm_up = match self.warm_up.trim() {
            "none" => WarmUp::None,
            lag => {
                let time_constant_s = units::duration_s(lag).map_err(|error| {
                    CliError::question(format!(
                        "--warm-up: {error}\nWhat helps: none, or the lag of the bench's syringe or cell, such as 40s"
                    ))
                })?;
                WarmUp::lag(time_constant_s, self.start_temp)
                    .map_err(|error| CliError::question(error.to_string()))?
            }
        };
        let mut asked_kelvin = self.at.clone();
        asked_kelvin.sort_by(f64::total_cmp);
        asked_kelvin.dedup();
        Ok(BenchPlanQuestion {
            beliefs: self.beliefs.beliefs(),
            limits: self.limits.limits(),
            asked_kelvin,
            setup: self.doubts.applied(self.push.setup()?, None)?,
            thinning: StatedThinning {
                flow_index: self.flow_index,
                shear_rate_per_s: self.shear_rate,
                ..StatedThinning::default()
            },
            warm_up,
            width: self.width,
            for_whom: match self.answer {
                Whom::NewLot => ForWhom::NewLot,
                Whom::TypicalLot => ForWhom::TypicalLot,
            },
            aggregate: match self.serve {
                Serve::Worst => Aggregate::Worst,
                Serve::Mean => Aggregate::Mean,
            },
            temperatures: self.limits.temperatures,
            altitude_m: self.altitude.unwrap_or(0.0),
            seed: context.seed,
        })
    }
}

/// '20%' or '60s'.
fn width(text: &str) -> Result<AskedWidth, String> {
    if text.trim().ends_with('%') {
        let ratio = units::fraction(text).map_err(|e| e.to_string())?;
        if ratio < 0.005 {
            return Err(format!(
                "a width of '{text}' is no width that a bench can tell; write 20%"
            ));
        }
        return Ok(AskedWidth::Ratio(ratio));
    }
    match units::duration_s(text) {
        Ok(seconds) => Ok(AskedWidth::Seconds(seconds)),
        Err(_) => Err(format!(
            "'{text}' is no width; write a share of the heat time such as 20%, or a time such as 60s"
        )),
    }
}

fn flow_index(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(value) if value > 0.0 && value <= 3.0 => Ok(value),
        _ => Err(format!(
            "a flow index is a number above 0, such as 0.4 (1 does not thin), and not '{text}'"
        )),
    }
}
