//! `heatset warmup --fit-contact`: the contact between barrel and block from a thermocouple run.

use super::output::Output;
use super::syringe_arguments::{SyringeAsked, SyringeAssumptions, coefficient};
use super::{CliError, Context};
use crate::face::cautions;
use crate::fit::Warning;
use crate::thermal::{
    ContactFit, ContactQuestion, ProbePlace, check_not_boiling, fit_contact, read_trace,
};
use crate::units::display;
use clap::ValueEnum;
use serde::Serialize;
use std::fmt::Write as _;
use std::path::Path;

/// A plateau this far from the set temperature is warned of, in K.
const PLATEAU_KELVIN: f64 = 0.5;

/// Where the thermocouple sat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Probe {
    /// In the middle of the gel
    Core,
    /// At the barrel's wall
    Edge,
    /// A probe that fills the bore and reads its mean
    Mean,
}

/// A run and what is known of it.
pub(super) struct ContactRun<'a> {
    pub(super) file: &'a Path,
    pub(super) set_kelvin: f64,
    pub(super) start_kelvin: Option<f64>,
    pub(super) probe: Probe,
    pub(super) altitude_m: f64,
}

#[derive(Serialize)]
struct Document {
    #[serde(flatten)]
    fit: ContactFit,
    probe: &'static str,
    #[serde(rename = "set_temp_K")]
    set_kelvin: f64,
    invented: bool,
    assumptions: SyringeAssumptions,
    warnings: Vec<Warning>,
}

pub(super) fn run(
    run: &ContactRun<'_>,
    syringe: SyringeAsked,
    context: Context,
) -> Result<Output, CliError> {
    check_not_boiling(run.set_kelvin, run.altitude_m)?;
    let read = read_trace(run.file)?;
    let fit = fit_contact(
        &syringe.setup,
        &read.trace,
        ContactQuestion {
            set_kelvin: run.set_kelvin,
            probe: match run.probe {
                Probe::Core => ProbePlace::Core,
                Probe::Edge => ProbePlace::Edge,
                Probe::Mean => ProbePlace::Mean,
            },
            start_kelvin: run.start_kelvin,
            wall_conductivity_range_w_per_m_kelvin: syringe.wall_conductivity_range,
        },
    )?;
    let warnings = warned(
        &fit,
        run,
        &read.ignored_columns,
        read.rows_without_temperature,
    );
    if context.json {
        return Output::json(&Document {
            fit,
            probe: probe_word(run.probe),
            set_kelvin: run.set_kelvin,
            invented: read.invented,
            assumptions: syringe.assumptions,
            warnings,
        });
    }
    let text = words(&fit, run, &syringe, read.invented);
    Ok(Output::words(text).with_warnings(&warnings))
}

fn warned(
    fit: &ContactFit,
    run: &ContactRun<'_>,
    ignored: &[String],
    rows_without: usize,
) -> Vec<Warning> {
    let mut warnings = Vec::new();
    let off_kelvin = fit.plateau_less_set_kelvin;
    if !fit.levelled {
        warnings.push(Warning::new(
            "not_levelled",
            format!(
                "The run ends while it still rises, {:.1} K short: it does not show whether the block is at the {} of --at, and the contact leans on that. Record until it levels off, or look at the block with heatset blockcheck.",
                off_kelvin.abs(),
                display::temperature(run.set_kelvin)
            ),
        ));
    } else if off_kelvin.abs() > PLATEAU_KELVIN {
        warnings.push(Warning::new(
            "plateau_off_set",
            format!(
                "The run levels off {:.1} K {} the {} of --at: give the temperature that the block has (heatset blockcheck), and fit again.",
                off_kelvin.abs(),
                if off_kelvin > 0.0 { "over" } else { "under" },
                display::temperature(run.set_kelvin)
            ),
        ));
    }
    if fit.residual_sd_kelvin > 1.0 {
        warnings.push(Warning::new(
            "poor_fit",
            format!(
                "The readings lie {:.1} K off the fit: is time 0 the moment of putting in, is the probe where --probe says, and is the whole filled length in the block?",
                fit.residual_sd_kelvin
            ),
        ));
    }
    if !ignored.is_empty() {
        warnings.push(Warning::new(
            "columns_left_aside",
            format!("Columns left aside: {}.", ignored.join(", ")),
        ));
    }
    if rows_without > 0 {
        warnings.push(Warning::new(
            "rows_left_out",
            format!("{rows_without} rows have no temperature and were left out."),
        ));
    }
    warnings
}

fn words(fit: &ContactFit, run: &ContactRun<'_>, syringe: &SyringeAsked, invented: bool) -> String {
    let [low, high] = fit.contact_ci95_w_per_m2_kelvin;
    let digits = display::digits_for_interval(low, high).max(2);
    let number = |value: f64| display::significant(value, digits);
    let mut text = String::new();
    if invented {
        text.push_str("INVENTED DATA: an answer for learning the tool, for nothing else.\n");
    }
    let _ = writeln!(
        text,
        "The contact between this {} and the block is {} W/m2K ({} to {}).",
        syringe.name,
        number(fit.contact_w_per_m2_kelvin),
        number(low),
        number(high)
    );
    let _ = writeln!(
        text,
        "  {} readings until {}; they lie {} K off the fit (root mean square).",
        fit.points,
        display::duration(fit.used_until_s),
        display::at_most(fit.residual_rms_kelvin, 2)
    );
    let whose = match fit.start_std_error_kelvin {
        Some(error) => format!("fitted, ± {} K", display::at_most(error, 1)),
        None => "as stated".to_owned(),
    };
    let _ = writeln!(
        text,
        "  Start at {} ({whose}).",
        display::temperature(fit.start_kelvin)
    );
    let _ = match fit.contact_if_off_centre_w_per_m2_kelvin {
        Some(other) => writeln!(
            text,
            "  Probe: {}. Half-way between core and wall the same readings would say {}.",
            probe_place(run.probe),
            coefficient(other)
        ),
        None => writeln!(
            text,
            "  Probe: {}. Half-way between core and wall no contact would give these readings.",
            probe_place(run.probe)
        ),
    };
    if let Some([low, high]) = fit.contact_over_wall_conductivity_w_per_m2_kelvin {
        let _ = writeln!(
            text,
            "  Over the range of the wall's conductivity it is {} to {}: the two lie in series, and the warm-up computed with both is the measured one either way.",
            display::at_most(low.min(high), 3),
            coefficient(low.max(high))
        );
    }
    let _ = writeln!(
        text,
        "  Use it: --contact {}W/m2K. One run is one syringe in one well: another fits otherwise.",
        number(fit.contact_w_per_m2_kelvin)
    );
    text.push_str("\nAssumed:\n");
    let _ = writeln!(
        text,
        "  block at {}; time 0 is when the syringe went in",
        display::temperature(run.set_kelvin)
    );
    for line in syringe
        .words
        .iter()
        .filter(|line| !line.starts_with("contact") && !line.starts_with("air "))
    {
        let _ = writeln!(text, "  {line}");
    }
    let _ = write!(text, "\n{}", cautions::SHORT);
    text
}

fn probe_word(probe: Probe) -> &'static str {
    match probe {
        Probe::Core => "core",
        Probe::Edge => "edge",
        Probe::Mean => "mean",
    }
}

fn probe_place(probe: Probe) -> &'static str {
    match probe {
        Probe::Core => "in the core",
        Probe::Edge => "at the wall",
        Probe::Mean => "reads the mean of the gel",
    }
}
