//! `heatset force`: the push that a heat time asks for.

use super::output::Output;
use super::push_arguments::PushArguments;
use super::question_arguments::QuestionArguments;
use super::{CliError, Context};
use crate::face::answer_words::{assumed_line, hand_line, stands_line, thinning_line};
use crate::face::cautions;
use crate::face::cooling_words::cooling_words;
use crate::plan::{CoolingAsked, ForceAnswer, ForceQuestion, force_for_heat_time, history_words};
use crate::reference::hub_colour;
use crate::units::{self, display};
use clap::Args;
use std::fmt::Write as _;

/// Plunger force for a heat time, through the needle named or through every needle
#[derive(Debug, Args)]
pub(super) struct Arguments {
    #[command(flatten)]
    question: QuestionArguments,
    /// Set temperature of the block
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin, allow_hyphen_values = true)]
    at: f64,
    /// Heat time on the clock
    #[arg(long, value_name = "TIME", value_parser = units::duration_s, allow_hyphen_values = true)]
    heat_time: f64,
    /// Temperature under which the core must be before the syringe is handed on
    #[arg(long, default_value = "37C", value_name = "TEMP", value_parser = units::temperature_kelvin)]
    #[arg(allow_hyphen_values = true)]
    cool_until: f64,
    #[command(flatten)]
    push: PushArguments,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        let (setup, needles) = self.push.setup_and_needles()?;
        let asked = self.question.read()?;
        let blend = asked.blend();
        let heated = self.question.heated(blend, &setup.barrel)?;
        let setup = self.question.doubts.applied(setup, None)?;
        let question = ForceQuestion {
            set_kelvin: self.at,
            heat_time_s: self.heat_time,
            setup,
            needles,
            thinning: self.question.stated_thinning(),
            warm_up: heated.warm_up,
            contact_histories: heated.contact_histories,
            cooling: CoolingAsked {
                until_kelvin: self.cool_until,
                ambient_kelvin: self.question.heating.ambient,
                air_w_per_m2_kelvin: self.question.heating.air,
            },
            altitude_m: self.question.altitude_m(),
            extrapolate: self.question.extrapolate,
            draws: self.question.draws,
            seed: context.seed,
            invented: asked.calibration.invented,
        };
        let mut answer = force_for_heat_time(blend, &question)?;
        answer.warnings.extend(heated.warnings);
        if context.json {
            return Output::json(&answer);
        }
        let mut text = in_words(&answer, &question);
        if let Some(warm_up) = question.warm_up.as_ref().filter(|w| w.is_declared()) {
            let _ = writeln!(text, "  {}.", capitalised(&history_words(warm_up)));
        }
        let counted = answer.assumptions.cooling_counted;
        text.push_str(&cooling_words(
            &answer.hand_over,
            &question.cooling,
            counted,
        ));
        let _ = writeln!(text, "\n{}", stands_line(&self.question.file_name(), blend));
        let one = (answer.needles.len() == 1)
            .then(|| {
                answer
                    .needles
                    .first()
                    .map(|n| n.pressure_pa + question.setup.tissue_pressure_pa)
            })
            .flatten();
        let spoken_of = match answer.needles.as_slice() {
            [_] => Some(question.setup.needle.label()),
            all => all
                .iter()
                .rfind(|n| n.passes)
                .and_then(|n| n.gauge)
                .map(|g| format!("{g}G")),
        };
        let thinning = spoken_of.and_then(|needle| thinning_line(&answer.if_flow_index, &needle));
        let assumed = assumed_line(&answer.assumptions, &question.setup, one);
        if one.is_some() {
            let _ = writeln!(text, "{assumed}");
        } else {
            let _ = writeln!(
                text,
                "{}",
                without_bore(&assumed, &question.setup.needle.bore_words())
            );
        }
        if let Some(line) = thinning {
            let _ = writeln!(text, "{line}");
        }
        let _ = writeln!(text, "\n{}", cautions::SHORT);
        Ok(Output::words(text).with_warnings(&answer.warnings))
    }
}

/// The same with a capital letter.
fn capitalised(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// A probability as syringes of a hundred; draws are finite, so none and all are not said.
fn share_words(probability: f64) -> String {
    let of_hundred = (100.0 * probability).floor();
    if probability > 0.99 {
        "More than 99 syringes of 100".to_owned()
    } else if of_hundred < 1.0 {
        "Fewer than 1 syringe of 100".to_owned()
    } else {
        format!("{of_hundred} syringes of 100")
    }
}

/// With many needles the bores stand in the table.
fn without_bore(line: &str, bore: &str) -> String {
    line.replace(bore, "bores as in the table")
}

fn in_words(answer: &ForceAnswer, question: &ForceQuestion) -> String {
    let mut text = String::new();
    if answer.assumptions.invented {
        text.push_str("INVENTED DATA: an answer for learning the tool, for nothing else.\n");
    }
    if answer.assumptions.extrapolated {
        text.push_str("EXTRAPOLATED: this lies outside what was measured.\n");
    }
    let heated = format!(
        "{} at {}",
        display::duration(question.heat_time_s),
        display::temperature(question.set_kelvin)
    );
    let limit = display::force(question.setup.force_limit_n);
    if let [only] = answer.needles.as_slice() {
        let [low, high] = only.plunger_force_n.interval95;
        let digits = display::digits_for_interval(low, high).max(2);
        let _ = writeln!(
            text,
            "After {heated} the gel takes about {} ({} to {} N) through a {} needle.",
            display::force_to(only.plunger_force_n.median, digits),
            display::significant(low, digits),
            display::significant(high, digits),
            question.setup.needle.label()
        );
        if let Some(line) = hand_line(only.plunger_force_n.median, question.setup.force_limit_n) {
            let _ = writeln!(text, "  {line}");
        }
        let _ = writeln!(
            text,
            "  {} stay under {limit}{}.",
            share_words(only.probability),
            if only.passes {
                ": it passes"
            } else {
                ": it does not pass reliably"
            }
        );
        return text;
    }
    let finest = answer
        .needles
        .iter()
        .rfind(|n| n.passes)
        .and_then(|n| n.gauge);
    let _ = match finest {
        Some(gauge) => writeln!(
            text,
            "After {heated} the finest needle that passes with {limit} is {gauge}G x {}.",
            display::length_mm(question.setup.needle.length_m)
        ),
        None => writeln!(
            text,
            "After {heated} no needle of the table passes with {limit}."
        ),
    };
    let _ = writeln!(
        text,
        "\n  needle  hub             bore      push     95 % of syringes  under {limit}"
    );
    for needle in &answer.needles {
        let gauge = needle.gauge.unwrap_or(0);
        let hub = hub_colour(gauge).map_or("", |h| h.name);
        let [low, high] = needle.plunger_force_n.interval95;
        let _ = writeln!(
            text,
            "  {:<7} {hub:<15} {:<9} {:<8} {:<17} {}",
            format!("{gauge}G"),
            display::length_mm(needle.bore_m),
            display::force_to(needle.plunger_force_n.median, 2),
            format!(
                "{} to {} N",
                display::significant(low, 2),
                display::significant(high, 2)
            ),
            if needle.passes { "passes" } else { "no" }
        );
    }
    text
}
