//! `heatset bubble`: what an air bubble that stays put proves in this bore.

use super::bubble_words::{assumed, lines};
use super::output::Output;
use super::{CliError, Context};
use crate::face::cautions;
use crate::fit::Warning;
use crate::flow::bubble::long::LongBubble;
use crate::flow::bubble::{BubbleAnswer, BubbleInputs, Proves, bubble_check};
use crate::plan::{BarrelUsed, DEFAULT_SYRINGE};
use crate::reference::{plasma, room_surface_tension_n_per_m};
use crate::units;
use clap::Args;
use serde::Serialize;

/// Plasma at room temperature before anything has set: 1.5 to 1.7 mPa.s, from memory. The
/// lower end makes the bubble quicker and the check look no better than it is.
const UNSET_VISCOSITY_PA_S: f64 = 1.5e-3;
/// How long people look, and what they see: common practice, no source.
const WATCHED_S: f64 = 10.0;
const SEEN_TRAVEL_M: f64 = 1e-3;

/// Barrel, bubble and how it was looked at.
#[derive(Debug, Args)]
#[command(override_usage = "heatset bubble --syringe 5mL --bubble 2mm [OPTIONS]")]
pub(super) struct Arguments {
    /// Syringe: 1mL (default), 5mL, glass:1mL-long; 'heatset syringes' lists them
    #[arg(long, value_name = "NAME", conflicts_with = "barrel")]
    syringe: Option<String>,
    /// Bore of the barrel, instead of the syringe: 4.7mm
    #[arg(long, value_name = "BORE", value_parser = units::bore_m, allow_hyphen_values = true)]
    barrel: Option<f64>,
    /// Diameter of the bubble [default: one that fills the bore]
    #[arg(long, value_name = "DIAMETER", value_parser = units::length_m)]
    #[arg(allow_hyphen_values = true)]
    bubble: Option<f64>,
    /// Surface tension of the gel's liquid [default: the range measured on serum and blood]
    #[arg(long, value_name = "TENSION", value_parser = surface_tension_n_per_m)]
    #[arg(allow_hyphen_values = true)]
    surface_tension: Option<f64>,
    /// Density of the gel [default: 1025kg/m3, that of plasma]
    #[arg(long, value_name = "DENSITY", value_parser = units::density_kg_per_m3)]
    #[arg(allow_hyphen_values = true)]
    density: Option<f64>,
    /// Viscosity before anything has set [default: 1.5mPa.s, plasma in the room]
    #[arg(long, value_name = "VISCOSITY", value_parser = units::viscosity_pa_s)]
    #[arg(allow_hyphen_values = true)]
    unset_viscosity: Option<f64>,
    /// How long it was looked at [default: 10s]
    #[arg(long, value_name = "TIME", value_parser = units::duration_s)]
    #[arg(allow_hyphen_values = true)]
    watched: Option<f64>,
    /// Least travel that would have been seen [default: 1mm]
    #[arg(long, value_name = "LENGTH", value_parser = units::length_m)]
    #[arg(allow_hyphen_values = true)]
    moved: Option<f64>,
}

/// The question with what was assumed where nothing was said.
pub(super) struct Question {
    pub(super) barrel: BarrelUsed,
    pub(super) inputs: BubbleInputs,
    pub(super) syringe_is_default: bool,
    pub(super) tension_is_default: bool,
    pub(super) density_is_default: bool,
    pub(super) unset_is_default: bool,
    pub(super) watched_is_default: bool,
    pub(super) moved_is_default: bool,
}

#[derive(Serialize)]
struct Document {
    proves: Proves,
    bore_m: f64,
    bubble_diameter_m: Option<f64>,
    bubble_fills_bore: bool,
    bond_number: (f64, f64),
    critical_bore_m: (f64, f64),
    /// Of a bubble that fills the bore, in the unset liquid; 0 where it is stuck.
    long_bubble_speed_m_per_s: (f64, f64),
    /// Whether those are the speeds at the end of the relation: it is faster.
    long_bubble_speed_is_least: (bool, bool),
    #[serde(rename = "yield_stress_at_least_Pa")]
    yield_stress_at_least_pa: Option<(f64, f64)>,
    #[serde(rename = "or_viscosity_at_least_Pa_s")]
    viscosity_at_least_pa_s: Option<f64>,
    #[serde(rename = "or_viscosity_in_wide_vessel_Pa_s")]
    wide_vessel_viscosity_pa_s: Option<f64>,
    wall_slowing_ratio: Option<f64>,
    #[serde(rename = "yield_stress_holds_any_bubble_Pa")]
    slug_yield_stress_pa: f64,
    assumptions: Assumptions,
    warnings: Vec<Warning>,
}

#[derive(Serialize)]
struct Assumptions {
    syringe: Option<String>,
    #[serde(rename = "surface_tension_N_per_m")]
    surface_tension_n_per_m: (f64, f64),
    density_kg_per_m3: f64,
    #[serde(rename = "unset_viscosity_Pa_s")]
    unset_viscosity_pa_s: f64,
    watched_s: f64,
    least_seen_travel_m: f64,
    words: Vec<String>,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        let question = self.question()?;
        let answer = bubble_check(&question.inputs)?;
        let warnings = warnings(&question, &answer);
        if context.json {
            return Output::json(&document(&question, &answer, warnings));
        }
        let mut words = lines(&question, &answer);
        words.push(String::new());
        words.push("Assumed:".to_owned());
        words.extend(assumed(&question).iter().map(|line| format!("  {line}")));
        words.push(String::new());
        words.push(cautions::SHORT.to_owned());
        Ok(Output::words(words.join("\n")).with_warnings(&warnings))
    }

    fn question(&self) -> Result<Question, CliError> {
        let barrel = match (self.barrel, &self.syringe) {
            (Some(bore_m), _) => BarrelUsed::of_bore(bore_m),
            (None, Some(name)) => {
                // '5 mL' and '5mL' are the same syringe.
                let name: String = name.split_whitespace().collect();
                BarrelUsed::of_syringe(&name)?
            }
            (None, None) => BarrelUsed::of_syringe(DEFAULT_SYRINGE)?,
        };
        if let Some(diameter_m) = self.bubble.filter(|diameter_m| *diameter_m > barrel.bore_m) {
            return Err(CliError::question(format!(
                "A bubble of {} in diameter is wider than the barrel's bore of {}.\nWhat helps: leave --bubble out for a bubble that fills the bore",
                crate::units::display::length_mm(diameter_m),
                crate::units::display::length_mm(barrel.bore_m)
            )));
        }
        let tension = match self.surface_tension {
            Some(tension) => (tension, tension),
            None => room_surface_tension_n_per_m()?,
        };
        Ok(Question {
            inputs: BubbleInputs {
                bore_m: barrel.bore_m,
                bubble_diameter_m: self.bubble,
                surface_tension_n_per_m: tension,
                density_kg_per_m3: match self.density {
                    Some(density) => density,
                    None => plasma()?.density_kg_per_m3,
                },
                unset_viscosity_pa_s: self.unset_viscosity.unwrap_or(UNSET_VISCOSITY_PA_S),
                watched_s: self.watched.unwrap_or(WATCHED_S),
                seen_travel_m: self.moved.unwrap_or(SEEN_TRAVEL_M),
            },
            barrel,
            syringe_is_default: self.syringe.is_none() && self.barrel.is_none(),
            tension_is_default: self.surface_tension.is_none(),
            density_is_default: self.density.is_none(),
            unset_is_default: self.unset_viscosity.is_none(),
            watched_is_default: self.watched.is_none(),
            moved_is_default: self.moved.is_none(),
        })
    }
}

fn document(question: &Question, answer: &BubbleAnswer, warnings: Vec<Warning>) -> Document {
    let inputs = &question.inputs;
    let is_least = |bubble: LongBubble| matches!(bubble, LongBubble::FasterThan { .. });
    let (slow, fast) = answer.long_bubble;
    Document {
        proves: answer.proves,
        bore_m: inputs.bore_m,
        bubble_diameter_m: inputs.bubble_diameter_m,
        bubble_fills_bore: inputs.fills_bore(),
        bond_number: answer.bond_number,
        critical_bore_m: answer.critical_bore_m,
        long_bubble_speed_m_per_s: (slow.speed_m_per_s(), fast.speed_m_per_s()),
        long_bubble_speed_is_least: (is_least(slow), is_least(fast)),
        yield_stress_at_least_pa: answer.held.map(|held| held.yield_stress_at_least_pa),
        viscosity_at_least_pa_s: answer.held.map(|held| held.viscosity_at_least_pa_s),
        wide_vessel_viscosity_pa_s: answer.held.map(|held| held.wide_vessel_viscosity_pa_s),
        wall_slowing_ratio: answer.held.map(|held| held.wall_slowing_ratio),
        slug_yield_stress_pa: answer.slug_yield_stress_pa,
        assumptions: Assumptions {
            syringe: question.barrel.syringe.clone(),
            surface_tension_n_per_m: inputs.surface_tension_n_per_m,
            density_kg_per_m3: inputs.density_kg_per_m3,
            unset_viscosity_pa_s: inputs.unset_viscosity_pa_s,
            watched_s: inputs.watched_s,
            least_seen_travel_m: inputs.seen_travel_m,
            words: assumed(question),
        },
        warnings,
    }
}

fn warnings(question: &Question, answer: &BubbleAnswer) -> Vec<Warning> {
    let mut found = Vec::new();
    match answer.proves {
        Proves::Nothing => found.push(Warning::new(
            "bore_under_critical",
            "in so narrow a bore the check proves nothing.\nWhat helps: look at a bubble in a wider barrel, from 5 mm of bore on",
        )),
        Proves::Little => found.push(Warning::new(
            "bore_barely_critical",
            "in this bore the check proves little.\nWhat helps: a wider barrel, or a longer look",
        )),
        Proves::Something => {}
    }
    if question.inputs.fills_bore() && question.inputs.bubble_diameter_m.is_some() {
        found.push(Warning::new(
            "bubble_fills_bore",
            "so wide a bubble is taken to fill the bore: the criteria for a bubble by itself do not hold beside walls.",
        ));
    }
    found
}

/// A surface tension with its unit, in N/m.
fn surface_tension_n_per_m(text: &str) -> Result<f64, String> {
    let shown = units::quantity::excerpt(text.trim());
    let ways = "write 56mN/m, 0.056N/m or 56dyn/cm";
    let trimmed = text.trim();
    let end = trimmed
        .find(|letter: char| letter.is_ascii_alphabetic())
        .unwrap_or(trimmed.len());
    let (number, unit) = trimmed.split_at_checked(end).unwrap_or((trimmed, ""));
    let number = number.trim();
    if number.contains(',') {
        return Err(format!("\"{shown}\" has a decimal comma: {ways}"));
    }
    let value: f64 = number
        .parse()
        .map_err(|_| format!("\"{shown}\" is no surface tension: {ways}"))?;
    let to_si = match unit.trim() {
        "mN/m" | "dyn/cm" | "dyne/cm" => 1e-3,
        "N/m" => 1.0,
        "" => return Err(format!("\"{shown}\" has no unit: {ways}")),
        _ => {
            return Err(format!(
                "\"{shown}\" is not in a unit of surface tension: {ways}"
            ));
        }
    };
    if value > 0.0 && value.is_finite() {
        Ok(value * to_si)
    } else {
        Err(format!(
            "a surface tension of {shown} belongs to no liquid; give a value above zero"
        ))
    }
}
