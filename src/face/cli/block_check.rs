//! `heatset blockcheck`: what a heating block really does.

use super::output::{Output, check_free, write_file};
use super::text_table::{Side, TextTable};
use super::{CliError, Context};
use crate::thermal::{
    BlockCheck, BlockCheckDocument, BlockCheckOptions, PlaceCheck, SetCheck, check_block,
    read_block_traces,
};
use crate::units::{self, display};
use clap::Args;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// Offset, spread, dip and recovery of a heating block, from thermocouple traces
#[derive(Debug, Args)]
#[command(override_usage = "heatset blockcheck TRACE... [--at 86C] [OPTIONS]")]
pub(super) struct Arguments {
    /// Traces: time_s or time_min, temp_C or temp_K, and, where there are several, place, set_temp_C
    #[arg(value_name = "TRACE", required = true)]
    traces: Vec<PathBuf>,
    /// Set temperature of the block, where the files do not say
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin, allow_hyphen_values = true)]
    at: Option<f64>,
    /// When a syringe was put in, on the traces' clock
    #[arg(long, value_name = "TIME", value_parser = units::duration_or_zero_s)]
    #[arg(allow_hyphen_values = true)]
    insertion: Option<f64>,
    /// Length of the plateau that the end of a trace must show [default: 5min]
    #[arg(long, value_name = "TIME", value_parser = units::duration_s, allow_hyphen_values = true)]
    window: Option<f64>,
    /// Farther than this from the plateau is not settled [default: 1K]
    #[arg(long, value_name = "K", value_parser = positive_kelvin, allow_hyphen_values = true)]
    band: Option<f64>,
    /// A dip has recovered within this of where it was [default: 0.5K]
    #[arg(long, value_name = "K", value_parser = positive_kelvin, allow_hyphen_values = true)]
    recovery_band: Option<f64>,
    /// Standard uncertainty of the thermocouples against the true temperature [default: 0K]
    #[arg(long, value_name = "K", value_parser = kelvin_or_zero, allow_hyphen_values = true)]
    probe_uncertainty: Option<f64>,
    /// File to write the result to, for other answers
    #[arg(long, value_name = "FILE.json")]
    out: Option<PathBuf>,
}

/// What a check of the block says at a set temperature.
pub(super) fn set_check(path: &Path, set_kelvin: f64) -> Result<SetCheck, CliError> {
    let document = BlockCheckDocument::read(path).map_err(|e| CliError::question(e.to_string()))?;
    document.check.nearest(set_kelvin).cloned().ok_or_else(|| {
        CliError::question(format!(
            "{} holds no check of a set temperature.\nWhat helps: 'heatset blockcheck TRACE.csv --at 86C --out {}'",
            path.display(),
            path.display()
        ))
    })
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        if let Some(out) = &self.out {
            check_free(out, context.replace)?;
        }
        let usual = BlockCheckOptions::default();
        let options = BlockCheckOptions {
            plateau_window_s: self.window.unwrap_or(usual.plateau_window_s),
            plateau_band_kelvin: self.band.unwrap_or(usual.plateau_band_kelvin),
            recovery_band_kelvin: self.recovery_band.unwrap_or(usual.recovery_band_kelvin),
            probe_uncertainty_kelvin: self
                .probe_uncertainty
                .unwrap_or(usual.probe_uncertainty_kelvin),
        };
        let mut traces = Vec::new();
        let mut invented = false;
        let mut notes = Vec::new();
        for file in &self.traces {
            let read = read_block_traces(file, self.at, self.insertion)?;
            invented |= read.invented;
            if !read.ignored_columns.is_empty() {
                notes.push(format!(
                    "{}: columns left aside: {}.",
                    file.display(),
                    read.ignored_columns.join(", ")
                ));
            }
            if read.rows_without_temperature > 0 {
                notes.push(format!(
                    "{}: {} rows have no temperature and were left out.",
                    file.display(),
                    read.rows_without_temperature
                ));
            }
            traces.extend(read.traces);
        }
        let check = check_block(&traces, &options)?;
        let source = self
            .traces
            .iter()
            .map(|file| file.display().to_string())
            .collect();
        let document = BlockCheckDocument::new(source, invented, check);
        if let Some(out) = &self.out {
            write_file(out, document.to_json()?.as_bytes(), context.replace)?;
        }
        if context.json {
            return Output::json(&document);
        }
        let mut text = words(&document.check, invented);
        for note in notes {
            let _ = writeln!(text, "Note: {note}");
        }
        if let Some(out) = &self.out {
            let _ = writeln!(text, "\nWritten: {}", out.display());
        }
        Ok(Output::words(text))
    }
}

fn words(check: &BlockCheck, invented: bool) -> String {
    let mut text = String::new();
    if invented {
        text.push_str("INVENTED DATA: an answer for learning the tool, for nothing else.\n");
    }
    for set in &check.by_set {
        let _ = writeln!(text, "{}", set_line(set));
        if let (Some(spread), Some(sd)) = (set.place_spread_kelvin, set.place_sd_kelvin) {
            let _ = writeln!(
                text,
                "  Over {} places {}: hottest {}, coldest {}; another place may lie {} off (standard deviation).",
                set.places,
                tenths(spread),
                set.hottest_place,
                set.coldest_place,
                tenths(sd)
            );
        } else {
            text.push_str(
                "  One place alone: how the others differ is not known.\n  What helps: one trace each from a corner, an edge and the middle\n",
            );
        }
    }
    text.push_str(&dip_words(check));
    let mut table = TextTable::new([
        ("place", Side::Left),
        ("set", Side::Right),
        ("plateau", Side::Right),
        ("offset", Side::Right),
        ("swing", Side::Right),
        ("dip", Side::Right),
        ("back after", Side::Right),
    ]);
    for place in &check.traces {
        table.push(row(place));
    }
    let _ = write!(text, "\n{}", table.text(2));
    for place in check.traces.iter().filter(|place| !place.plateau.settled) {
        let _ = writeln!(
            text,
            "Not settled: {} still moves by more than {} in its last {}; its offset is that of the window alone.",
            place.place,
            tenths(check.options.plateau_band_kelvin),
            display::duration(check.options.plateau_window_s)
        );
    }
    if check.options.probe_uncertainty_kelvin == 0.0 {
        text.push_str(
            "The thermocouples count as exact: a usual one may be 1 to 2 K off, the same for all readings. Give it with --probe-uncertainty, or check it in melting ice and boiling water.\n",
        );
    }
    text.push_str(
        "Add the offset to the set temperature to know what a syringe gets. The block is hot.\n",
    );
    text
}

fn set_line(set: &SetCheck) -> String {
    let offset = set.offset_kelvin;
    let error = set
        .offset_std_error_kelvin
        .map_or_else(String::new, |error| {
            format!(" (standard error {})", tenths(error))
        });
    let found = display::temperature(set.set_kelvin + offset);
    let asked = display::temperature(set.set_kelvin);
    if offset.abs() < 0.05 {
        format!("Set to {asked} the block stands at {found}{error}: it reads true.")
    } else {
        format!(
            "Set to {asked} the block stands at {found}{error}: {} {}.",
            tenths(offset.abs()),
            if offset > 0.0 { "too hot" } else { "too cold" }
        )
    }
}

fn dip_words(check: &BlockCheck) -> String {
    let Some(fall) = check.largest_fall_kelvin else {
        return "Dip under load: not measured. What helps: record while a filled syringe goes in, and say when (--insertion)\n".to_owned();
    };
    match check.longest_recovery_s {
        Some(0.0) => format!(
            "A syringe put in lowers it by {} at most: no recovery is needed.\n",
            tenths(fall)
        ),
        Some(time_s) => format!(
            "A syringe put in lowers it by {} at most; it is back within {} after {}.\n",
            tenths(fall),
            tenths(check.options.recovery_band_kelvin),
            display::duration(time_s)
        ),
        None => format!(
            "A syringe put in lowers it by {} at most, and the record ends before it is back: record longer.\n",
            tenths(fall)
        ),
    }
}

fn row(place: &PlaceCheck) -> [String; 7] {
    let dip = place.dip.as_ref();
    [
        place.place.clone(),
        display::temperature(place.set_kelvin),
        display::temperature(place.plateau.mean_kelvin),
        format!("{:+.1} K", place.offset_kelvin),
        format!("{:.2} K", place.plateau.swing_sd_kelvin),
        dip.map_or_else(|| "-".to_owned(), |dip| format!("{:.1} K", dip.fall_kelvin)),
        match dip.map(|dip| dip.recovered_after_s) {
            None => "-".to_owned(),
            Some(None) => "not yet".to_owned(),
            Some(Some(time_s)) => display::duration(time_s),
        },
    ]
}

fn tenths(kelvin: f64) -> String {
    format!("{:.1} K", kelvin)
}

fn positive_kelvin(text: &str) -> Result<f64, units::UnitError> {
    units::parse_signed(
        text,
        units::Dimension::TemperatureDifference,
        units::Sign::Positive,
        "band",
        "holds no reading",
    )
}

fn kelvin_or_zero(text: &str) -> Result<f64, units::UnitError> {
    units::parse_signed(
        text,
        units::Dimension::TemperatureDifference,
        units::Sign::NotNegative,
        "uncertainty",
        "",
    )
}
