//! `heatset fit` on a table of what was seen.

use super::output::{Output, check_free, write_file};
use super::{CliError, Context};
use crate::face::set_time_words::blend_in_words;
use crate::fit::Warning;
use crate::fit::set_time::{ScatterForm, SetTimeKnowledge, SetTimeOptions, calibrate_set_time};
use crate::readings::SeenTable;
use crate::units::Dimension;
use crate::units::quantity::parse_si_or_unit;
use std::path::Path;

/// What is asked of the fit.
pub(super) struct Asked<'a> {
    pub(super) table: &'a SeenTable,
    pub(super) scatter: Option<ScatterForm>,
    pub(super) reference_kelvin: Option<f64>,
    pub(super) blend: Option<String>,
    pub(super) hold: &'a [String],
    pub(super) prior: &'a [String],
    pub(super) out: Option<&'a Path>,
}

/// Fits, writes and tells.
pub(super) fn answer(asked: &Asked<'_>, context: Context) -> Result<Output, CliError> {
    if let Some(out) = asked.out {
        check_free(out, context.replace)?;
    }
    let options = SetTimeOptions {
        scatter: asked.scatter,
        reference_kelvin: asked.reference_kelvin,
        blend: asked.blend.clone(),
        knowledge: knowledge(asked.hold, asked.prior)?,
        seed: context.seed,
    };
    let calibration = calibrate_set_time(asked.table, &options)?;
    let document = calibration.to_json()?;
    if let Some(out) = asked.out {
        write_file(out, document.as_bytes(), context.replace)?;
    }
    if context.json {
        return Ok(Output::words(document));
    }
    let mut text = String::new();
    for blend in &calibration.blends {
        let several = calibration.blends.len() > 1;
        text.push_str(&blend_in_words(blend, calibration.invented, several));
        text.push('\n');
    }
    match asked.out {
        Some(out) => text.push_str(&format!("Written: {}\n", out.display())),
        None => {
            text.push_str("Not written: name a file with --out to ask it questions later.\n");
        }
    }
    let notes: Vec<Warning> = asked
        .table
        .unknown_columns
        .iter()
        .map(|column| {
            Warning::new(
                "unknown_column",
                format!(
                    "The column '{column}' is no column of a bench table and is kept as a note."
                ),
            )
        })
        .collect();
    Ok(Output::words(text).with_warnings(&notes))
}

/// `--hold activation_energy=...`, `--hold scatter=...`, `--prior activation_energy=...:...`.
fn knowledge(hold: &[String], prior: &[String]) -> Result<SetTimeKnowledge, CliError> {
    const NAMES: &str = "activation_energy and scatter can be held, and activation_energy can have a prior, in a fit of what was seen";
    let mut found = SetTimeKnowledge::default();
    let fault = |option: &str, text: &str, why: &str| {
        CliError::question(format!(
            "{option} {text}: {why}.\nWhat helps: --hold activation_energy=390kJ/mol, --hold scatter=0.15, or --prior activation_energy=390kJ/mol:80kJ/mol"
        ))
    };
    for text in hold {
        let Some((name, value)) = text.split_once('=') else {
            return Err(fault("--hold", text, "it names no value"));
        };
        let number = |dimension| {
            parse_si_or_unit(value.trim(), dimension)
                .map_err(|e| fault("--hold", text, &e.to_string()))
        };
        match name.trim() {
            "activation_energy" => {
                found.held_energy_j_per_mol = Some(number(Dimension::ActivationEnergy)?);
            }
            "scatter" => found.held_scatter = Some(number(Dimension::Number)?),
            _ => return Err(fault("--hold", text, NAMES)),
        }
    }
    for text in prior {
        let parts = text
            .split_once('=')
            .and_then(|(name, rest)| rest.split_once(':').map(|(value, sd)| (name, value, sd)));
        let Some((name, value, sd)) = parts else {
            return Err(fault(
                "--prior",
                text,
                "it names no value and standard deviation",
            ));
        };
        if name.trim() != "activation_energy" {
            return Err(fault("--prior", text, NAMES));
        }
        let number = |part: &str| {
            parse_si_or_unit(part.trim(), Dimension::ActivationEnergy)
                .map_err(|e| fault("--prior", text, &e.to_string()))
        };
        found.prior_energy_j_per_mol = Some((number(value)?, number(sd)?));
    }
    Ok(found)
}
