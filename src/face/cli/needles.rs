//! `heatset needles`: the table of needle tubing and hub colours, with its sources.

use super::output::Output;
use super::push_arguments::gauge;
use super::source_marks::SourceMarks;
use super::text_table::{Side, TextTable};
use super::{CliError, Context};
use crate::reference::{BoreBasis, HubColour, Needle, Wall, all_needles, find_needle, hub_colour};
use crate::units::display;
use clap::Args;
use serde::Serialize;

const LEAD: &str = "\
Needle bores. A 'minimum' is the least that the standard allows: a real bore is wider and takes
less force. A 'nominal' bore is the usual chart's, for regular walls, and may be off by its tolerance.
Force goes with the fourth power of the bore: 5 % of bore is about 20 % of force.
";

/// Which needles to list.
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Only this gauge
    #[arg(long, value_name = "N", value_parser = gauge, allow_hyphen_values = true)]
    gauge: Option<u8>,
}

#[derive(Serialize)]
struct Document {
    needles: Vec<Row>,
}

#[derive(Serialize)]
struct Row {
    gauge: u8,
    wall: Wall,
    bore_basis: BoreBasis,
    bore_m: f64,
    bore_tolerance_m: Option<f64>,
    outer_diameter_m: f64,
    outer_diameter_range_m: (f64, f64),
    source: &'static str,
    how: &'static str,
    note: Option<&'static str>,
    hub_colour: Option<Hub>,
}

#[derive(Serialize)]
struct Hub {
    name: &'static str,
    screen_rgb: (u8, u8, u8),
    source: &'static str,
    how: &'static str,
    note: Option<&'static str>,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        if let Some(gauge) = self.gauge {
            // Says which gauges there are, where this one is not among them.
            find_needle(gauge, Wall::Regular, BoreBasis::Nominal)?;
        }
        let needles: Vec<&Needle> = all_needles()?
            .iter()
            .filter(|needle| self.gauge.is_none_or(|gauge| needle.gauge == gauge))
            .collect();
        if context.json {
            let needles = needles.into_iter().map(row).collect();
            return Output::json(&Document { needles });
        }
        Ok(Output::words(words(&needles)))
    }
}

fn row(needle: &Needle) -> Row {
    Row {
        gauge: needle.gauge,
        wall: needle.wall,
        bore_basis: needle.bore_basis,
        bore_m: needle.bore_m,
        bore_tolerance_m: needle.bore_tolerance_m,
        outer_diameter_m: needle.outer_diameter_m,
        outer_diameter_range_m: needle.outer_diameter_range_m,
        source: needle.source.text,
        how: needle.source.how.as_str(),
        note: needle.source.note,
        hub_colour: hub_colour(needle.gauge).map(hub),
    }
}

fn hub(hub: HubColour) -> Hub {
    Hub {
        name: hub.name,
        screen_rgb: hub.rgb,
        source: hub.source.text,
        how: hub.source.how.as_str(),
        note: hub.source.note,
    }
}

fn words(needles: &[&Needle]) -> String {
    let mut marks = SourceMarks::default();
    let mut table = TextTable::new([
        ("gauge", Side::Right),
        ("hub colour", Side::Left),
        ("wall", Side::Left),
        ("bore mm", Side::Right),
        ("tolerance", Side::Right),
        ("bore is", Side::Left),
        ("outer mm", Side::Right),
        ("source of bore, hub", Side::Left),
    ]);
    for needle in needles {
        let mut source = marks.mark(needle.source);
        let hub = hub_colour(needle.gauge);
        if let Some(hub) = hub {
            source = format!("{source}, {}", marks.mark(hub.source));
        }
        table.push([
            format!("{}G", needle.gauge),
            hub.map_or_else(String::new, |hub| hub.name.to_owned()),
            needle.wall.to_string(),
            millimetres(needle.bore_m),
            needle
                .bore_tolerance_m
                .map_or_else(String::new, |t| format!("± {}", millimetres(t))),
            needle.bore_basis.to_string(),
            millimetres(needle.outer_diameter_m),
            source,
        ]);
    }
    format!("{LEAD}\n{}\n{}", table.text(0), marks.legend())
}

/// As many digits as the table has, and none that the conversion made up.
fn millimetres(metres: f64) -> String {
    display::at_most(metres * 1e3, 6)
}
