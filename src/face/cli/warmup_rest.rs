//! `heatset warmup --rest-from`: how long a syringe rests until it has come to the room.

use super::output::Output;
use super::syringe_arguments::{SyringeAsked, SyringeAssumptions, coefficient};
use super::{CliError, Context};
use crate::face::cautions;
use crate::thermal::{CoolTime, CoreUntil, cool_time};
use crate::units::display::{self, Rounding};
use serde::Serialize;
use std::fmt::Write as _;

/// 'Come to the room': within this of it, in K.
const REACH_KELVIN: f64 = 2.0;

/// A syringe that rests.
pub(super) struct Rest {
    pub(super) from_kelvin: f64,
    pub(super) until_kelvin: Option<f64>,
    pub(super) room_kelvin: f64,
}

#[derive(Serialize)]
struct Document {
    rest_time_s: Option<f64>,
    rest_time_range_s: Option<[Option<f64>; 2]>,
    #[serde(rename = "rest_from_K")]
    from_kelvin: f64,
    #[serde(rename = "until_K")]
    until_kelvin: f64,
    #[serde(rename = "ambient_K")]
    room_kelvin: f64,
    assumptions: SyringeAssumptions,
    warnings: [(); 0],
}

pub(super) fn run(
    rest: &Rest,
    syringe: SyringeAsked,
    context: Context,
) -> Result<Output, CliError> {
    let until_kelvin = rest.until_kelvin.unwrap_or_else(|| {
        let towards = (rest.room_kelvin - rest.from_kelvin).signum();
        rest.room_kelvin - towards * REACH_KELVIN
    });
    let until = if rest.room_kelvin >= rest.from_kelvin {
        CoreUntil::Over {
            kelvin: until_kelvin,
        }
    } else {
        CoreUntil::Under {
            kelvin: until_kelvin,
        }
    };
    let model = syringe.setup.model()?;
    let field = vec![rest.from_kelvin; model.cell_count()];
    let time = cool_time(
        &syringe.setup,
        &model,
        &field,
        rest.room_kelvin,
        syringe.air_range,
        until,
    )?;
    if context.json {
        return Output::json(&Document {
            rest_time_s: time.time_s,
            rest_time_range_s: time.range_s,
            from_kelvin: rest.from_kelvin,
            until_kelvin,
            room_kelvin: rest.room_kelvin,
            assumptions: syringe.assumptions,
            warnings: [],
        });
    }
    Ok(Output::words(words(rest, until_kelvin, time, &syringe)))
}

fn words(rest: &Rest, until_kelvin: f64, time: CoolTime, syringe: &SyringeAsked) -> String {
    let said = |time_s: Option<f64>| {
        time_s.map_or_else(
            || "never".to_owned(),
            |time_s| display::duration_rounded(time_s, 10.0, Rounding::Up),
        )
    };
    let room = display::temperature(rest.room_kelvin);
    let until = display::temperature(until_kelvin);
    let from = display::temperature(rest.from_kelvin);
    let mut text = String::new();
    let _ = match time.time_s {
        Some(time_s) => writeln!(
            text,
            "From {from} the core of this {} is at {until} after {} in a room at {room}.",
            syringe.name,
            said(Some(time_s))
        ),
        None => writeln!(
            text,
            "From {from} the core of this {} never comes to {until} in a room at {room}.\nWhat helps: ask for a temperature on this side of the room's, --until",
            syringe.name
        ),
    };
    if let Some([soonest, latest]) = time.range_s {
        let _ = writeln!(
            text,
            "  {} in a strong fan's air, {} in still air; {} is assumed.",
            said(soonest),
            said(latest),
            coefficient(syringe.setup.air_w_per_m2_kelvin)
        );
    }
    text.push_str("  The syringe lies in air on all sides; a tray or a hand under it changes that.\n\nAssumed:\n");
    for line in syringe
        .words
        .iter()
        .filter(|line| !line.starts_with("contact") && !line.starts_with("in the block"))
    {
        let _ = writeln!(text, "  {line}");
    }
    let _ = write!(text, "\n{}", cautions::SHORT);
    text
}
