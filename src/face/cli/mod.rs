//! The command line: one file a command.

mod agree;
#[cfg(feature = "batches")]
mod batches;
#[cfg(feature = "batches")]
mod batches_add;
#[cfg(feature = "batches")]
mod batches_chart;
#[cfg(feature = "batches")]
mod batches_check;
#[cfg(feature = "batches")]
mod batches_control;
#[cfg(feature = "batches")]
mod batches_document;
#[cfg(feature = "batches")]
mod batches_export;
#[cfg(feature = "batches")]
mod batches_list;
mod block_check;
mod bubble;
mod bubble_words;
mod cautions;
mod chart;
mod chart_consequences;
mod chart_syringes;
mod chart_window;
mod check;
mod check_seen;
mod codes;
mod convert;
mod convert_document;
mod convert_words;
mod course;
mod course_folder;
mod curve_arguments;
mod demo;
mod doubt_arguments;
mod error;
pub(crate) mod fit;
mod fit_set_time;
mod flow;
mod flow_curve;
mod flow_curve_words;
mod flow_words;
#[cfg(feature = "page")]
pub(crate) mod for_page;
mod force;
mod needles;
mod next;
mod optional_question;
mod output;
#[cfg(feature = "page")]
mod page;
mod plan_bench;
mod plan_bench_beliefs;
mod practice_fluid;
mod push_arguments;
mod question_arguments;
mod report;
mod same_as;
mod set_time;
mod sheet;
mod sheet_arguments;
mod source_marks;
mod stand;
mod stated_curve;
mod study;
mod study_document;
mod syringe_arguments;
mod syringes;
mod template;
mod text_table;
mod time;
mod time_of_reading;
mod warm_up_argument;
mod warmup;
mod warmup_contact;
mod warmup_findings;
mod warmup_rest;
mod warmup_words;

use clap::{Parser, Subcommand};
pub use error::CliError;
use std::process::ExitCode;

/// How long to heat a plasma gel for a needle, from your own bench readings.
#[derive(Debug, Parser)]
#[command(name = "heatset", version, about, long_about = None, disable_help_subcommand = true)]
struct Arguments {
    /// One JSON document on standard output, in SI units, instead of words.
    #[arg(long, global = true)]
    json: bool,
    /// Seed of whatever draws random numbers.
    #[arg(long, global = true, default_value_t = 1, value_name = "N")]
    seed: u64,
    /// Replace files that are there already.
    #[arg(long, global = true)]
    replace: bool,
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Whether readers of opacity agree, and what opacity has to do with push.
    Agree(agree::Arguments),
    /// A log of batches, each held against its prediction; drift.
    #[cfg(feature = "batches")]
    Batches(Box<batches::Arguments>),
    /// What a heating block really does, from thermocouple traces.
    #[command(name = "blockcheck")]
    BlockCheck(block_check::Arguments),
    /// What an air bubble that stays put proves in this bore.
    Bubble(bubble::Arguments),
    /// The full text of the cautions.
    Cautions(cautions::Arguments),
    /// Draws a chart of a calibration.
    Chart(Box<chart::Arguments>),
    /// What a bench table holds, and what it cannot tell.
    Check(check::Arguments),
    /// Forces and timed runs of a needle bench to viscosities.
    Convert(convert::Arguments),
    /// A folder for teaching from a calibration: slides, a sheet to predict and measure, its answers.
    Course(Box<course::Arguments>),
    /// The whole job on an invented bench: fit, answer, charts, report.
    Demo(demo::Arguments),
    /// Fits bench tables to a calibration.
    Fit(fit::Arguments),
    /// Pressure and plunger force of a flow curve, with no calibration.
    Flow(Box<flow::Arguments>),
    /// Fits a law to a measured flow curve: shear rates and stresses.
    #[command(name = "flow-curve")]
    FlowCurve(flow_curve::Arguments),
    /// Plunger force for a heat time.
    Force(force::Arguments),
    /// The table of needles, with its sources.
    Needles(needles::Arguments),
    /// Which reading to take next.
    Next(Box<next::Arguments>),
    /// The local page: heat, bench, charts and session in a browser.
    #[cfg(feature = "page")]
    Page(page::Arguments),
    /// Glycerol and water that push like a gel, to practise with; never to be injected.
    #[command(name = "practice-fluid")]
    PracticeFluid(Box<practice_fluid::Arguments>),
    /// The smallest bench worth running, before the first reading.
    #[command(name = "plan-bench")]
    PlanBench(Box<plan_bench::Arguments>),
    /// One HTML document of a calibration, to file and to print.
    Report(report::Arguments),
    /// How long a needle still passes a gel that stands.
    Stand(Box<stand::Arguments>),
    /// A run sheet for one session: syringes, turns of the block, clock times.
    Sheet(Box<sheet::Arguments>),
    /// Where scatter comes from: other hands, other blocks; whether two agree.
    Study(study::Arguments),
    /// The table of syringes, with its sources.
    Syringes(syringes::Arguments),
    /// A blank bench table, every column explained.
    Template(template::Arguments),
    /// How long to heat for a plunger force.
    Time(time::Arguments),
    /// What the gel in a syringe feels, against the block's clock.
    Warmup(Box<warmup::Arguments>),
}

/// What every command is handed beside its own arguments.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Context {
    /// Whether JSON was asked for.
    pub(crate) json: bool,
    /// Seed.
    pub(crate) seed: u64,
    /// Whether existing files may be replaced.
    pub(crate) replace: bool,
}

/// Runs the command line: 0 done, 1 not served, 2 malformed.
#[must_use]
pub fn run() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => return output::print_usage(&error),
    };
    let context = Context {
        json: arguments.json,
        seed: arguments.seed,
        replace: arguments.replace,
    };
    let outcome = match arguments.command {
        #[cfg(feature = "batches")]
        Command::Batches(a) => a.run(context),
        Command::Agree(a) => a.run(context),
        Command::BlockCheck(a) => a.run(context),
        Command::Bubble(a) => a.run(context),
        Command::Cautions(a) => a.run(context),
        Command::Check(a) => a.run(context),
        Command::Convert(a) => a.run(context),
        Command::Chart(a) => a.run(context),
        Command::Course(a) => a.run(context),
        Command::Demo(a) => a.run(context),
        Command::Fit(a) => a.run(context),
        Command::Force(a) => a.run(context),
        Command::Time(a) => a.run(context),
        Command::Flow(a) => a.run(context),
        Command::FlowCurve(a) => a.run(context),
        Command::Needles(a) => a.run(context),
        Command::Next(a) => a.run(context),
        #[cfg(feature = "page")]
        Command::Page(a) => a.run(context),
        Command::PracticeFluid(a) => a.run(context),
        Command::PlanBench(a) => a.run(context),
        Command::Report(a) => a.run(context),
        Command::Stand(a) => a.run(context),
        Command::Sheet(a) => a.run(context),
        Command::Study(a) => a.run(context),
        Command::Syringes(a) => a.run(context),
        Command::Template(a) => a.run(context),
        Command::Warmup(a) => a.run(context),
    };
    match outcome {
        Ok(output) => output.print(),
        Err(error) => output::print_error(&error),
    }
}
