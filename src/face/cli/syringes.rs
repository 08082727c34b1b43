//! `heatset syringes`: the table of syringe barrels, with its sources.

use super::output::Output;
use super::source_marks::SourceMarks;
use super::text_table::{Side, TextTable};
use super::{CliError, Context};
use crate::reference::{BarrelMaterial, Syringe, all_syringes, default_friction_n};
use crate::units::display;
use clap::Args;
use serde::Serialize;

const LEAD: &str = "\
Syringe barrels, as --syringe takes them. Force goes with the square of the barrel's bore; makers
differ, so measure your own where it matters and give it with --barrel.
";

/// No arguments.
#[derive(Debug, Args)]
pub(super) struct Arguments {}

#[derive(Serialize)]
struct Document {
    syringes: Vec<Row>,
}

#[derive(Serialize)]
struct Row {
    name: String,
    material: BarrelMaterial,
    nominal_volume_m3: f64,
    bore_m: f64,
    bore_range_m: Option<(f64, f64)>,
    wall_thickness_m: f64,
    source: &'static str,
    how: &'static str,
    note: Option<&'static str>,
    default_friction: Friction,
}

#[derive(Serialize)]
struct Friction {
    #[serde(rename = "friction_N")]
    friction_n: f64,
    #[serde(rename = "friction_range_N")]
    friction_range_n: (f64, f64),
    extrapolated: bool,
    source: &'static str,
    how: &'static str,
    note: Option<&'static str>,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        let syringes = all_syringes()?;
        if context.json {
            let syringes = syringes.iter().map(row).collect::<Result<_, _>>()?;
            return Output::json(&Document { syringes });
        }
        Ok(Output::words(words(syringes)?))
    }
}

fn row(syringe: &Syringe) -> Result<Row, CliError> {
    let friction = default_friction_n(syringe.nominal_volume_m3)?;
    Ok(Row {
        name: syringe.name(),
        material: syringe.material,
        nominal_volume_m3: syringe.nominal_volume_m3,
        bore_m: syringe.bore_m,
        bore_range_m: syringe.bore_range_m,
        wall_thickness_m: syringe.wall_thickness_m,
        source: syringe.source.text,
        how: syringe.source.how.as_str(),
        note: syringe.source.note,
        default_friction: Friction {
            friction_n: friction.friction_n,
            friction_range_n: friction.friction_range_n,
            extrapolated: friction.extrapolated,
            source: friction.source.text,
            how: friction.source.how.as_str(),
            note: friction.source.note,
        },
    })
}

fn words(syringes: &[Syringe]) -> Result<String, CliError> {
    let mut marks = SourceMarks::default();
    let mut table = TextTable::new([
        ("name", Side::Left),
        ("material", Side::Left),
        ("bore mm", Side::Right),
        ("makers mm", Side::Left),
        ("wall mm", Side::Right),
        ("friction assumed", Side::Left),
        ("source of barrel, friction", Side::Left),
    ]);
    for syringe in syringes {
        let friction = default_friction_n(syringe.nominal_volume_m3)?;
        let (least_n, most_n) = friction.friction_range_n;
        table.push([
            syringe.name(),
            syringe.material.to_string(),
            millimetres(syringe.bore_m),
            syringe
                .bore_range_m
                .map_or_else(String::new, |(least, most)| {
                    format!("{} to {}", millimetres(least), millimetres(most))
                }),
            millimetres(syringe.wall_thickness_m),
            format!(
                "{} ({} to {})",
                display::force(friction.friction_n),
                display::at_most(least_n, 3),
                display::at_most(most_n, 3)
            ),
            format!(
                "{}, {}",
                marks.mark(syringe.source),
                marks.mark(friction.source)
            ),
        ]);
    }
    Ok(format!("{LEAD}\n{}\n{}", table.text(0), marks.legend()))
}

/// As many digits as the table has, and none that the conversion made up.
fn millimetres(metres: f64) -> String {
    display::at_most(metres * 1e3, 6)
}
