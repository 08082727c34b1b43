//! `heatset stand`: how long a needle still passes a gel that stands.

use super::output::Output;
use super::push_arguments::PushArguments;
use super::question_arguments::{Asked, QuestionArguments};
use super::{CliError, Context};
use crate::face::answer_words::{assumed_line, stands_line, thinning_line};
use crate::face::drawings::StandingDrawing;
use crate::face::standing_words::{PRACTICE, PRACTICE_BASIS};
use crate::face::{cautions, standing_words};
use crate::fit::Warning;
use crate::plan::{
    NOT_A_SHELF_LIFE, PASSING_ONLY, PASSING_ONLY_WORDS, StandAnswer, StandQuestion, stand,
    thinning_consequences,
};
use crate::units;
use clap::Args;
use serde::Serialize;
use std::fmt::Write as _;

/// How long a needle still passes a gel while it stands, from readings taken after standing
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
    /// Temperature at which it stands; may repeat [default: those that were measured]
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin, allow_hyphen_values = true)]
    stand_temp: Vec<f64>,
    /// Standing time at which the push is told; may repeat [default: at once, 1 h, 2 h, ... as far as
    /// measured]
    #[arg(long, value_name = "TIME", value_parser = units::duration_s, allow_hyphen_values = true)]
    after: Vec<f64>,
    /// Say too what is usual where nobody measured, marked as such
    #[arg(long)]
    common_practice: bool,
    #[command(flatten)]
    push: PushArguments,
}

/// One usual time.
#[derive(Debug, Clone, Copy, Serialize)]
struct Practice {
    kept: &'static str,
    usual: &'static str,
}

/// What is usual, and what it stands on.
#[derive(Debug, Clone, Serialize)]
struct CommonPractice {
    basis: &'static str,
    usual: Vec<Practice>,
}

impl CommonPractice {
    fn new() -> Self {
        Self {
            basis: PRACTICE_BASIS,
            usual: PRACTICE
                .iter()
                .map(|(kept, usual)| Practice { kept, usual })
                .collect(),
        }
    }

    fn in_words(&self) -> String {
        let mut text =
            String::from("COMMON PRACTICE, NO SOURCE. What is usual where nobody measured:\n");
        for practice in &self.usual {
            let _ = writeln!(text, "  {}: {}", practice.kept, practice.usual);
        }
        let _ = writeln!(text, "{}", self.basis);
        text
    }
}

#[derive(Serialize)]
struct Known<'a> {
    known: bool,
    #[serde(flatten)]
    answer: &'a StandAnswer,
    common_practice: Option<CommonPractice>,
}

#[derive(Serialize)]
struct Unknown {
    known: bool,
    meaning: &'static str,
    common_practice: CommonPractice,
    warnings: Vec<Warning>,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        let setup = self.push.setup()?;
        let asked = self.question.read()?;
        let blend = asked.blend();
        if blend.standing.is_none() && self.common_practice {
            return unknown(blend.blend.as_str(), asked.calibration.invented, context);
        }
        let heated = self.question.heated(blend, &setup.barrel)?;
        let question = StandQuestion {
            set_kelvin: self.at,
            heat_time_s: self.heat_time,
            stand_kelvin: self.stand_temp.clone(),
            stand_times_s: self.after.clone(),
            setup: self.question.doubts.applied(setup, None)?,
            thinning: self.question.stated_thinning(),
            warm_up: heated.warm_up,
            contact_histories: heated.contact_histories,
            altitude_m: self.question.altitude_m(),
            extrapolate: self.question.extrapolate,
            draws: self.question.draws,
            seed: context.seed,
            invented: asked.calibration.invented,
        };
        let mut answer = stand(blend, &question)?;
        answer.warnings.extend(heated.warnings);
        let practice = self.common_practice.then(CommonPractice::new);
        if context.json {
            return Output::json(&Known {
                known: true,
                answer: &answer,
                common_practice: practice,
            });
        }
        let mut text = standing_words::in_words(&answer, &question);
        let _ = writeln!(text, "\n{NOT_A_SHELF_LIFE}");
        let _ = writeln!(text, "{PASSING_ONLY_WORDS}");
        let _ = writeln!(text, "\n{}", stands_line(&self.question.file_name(), blend));
        if let Some(standing) = &blend.standing {
            let _ = writeln!(
                text,
                "Standing: {} readings of {} gels; another lot is not allowed for in how they thicken.",
                standing.rows, standing.gels
            );
        }
        let _ = writeln!(
            text,
            "{}",
            assumed_line(&answer.assumptions, &question.setup, None)
        );
        if let Some(line) = self.thinning(&asked, &question)? {
            let _ = writeln!(text, "{line}");
        }
        if let Some(practice) = practice {
            let _ = writeln!(text, "\n{}", practice.in_words().trim_end());
        }
        let _ = writeln!(text, "\n{}", cautions::SHORT);
        let notes: Vec<Warning> = answer
            .warnings
            .into_iter()
            .filter(|warning| warning.code != PASSING_ONLY)
            .collect();
        Ok(Output::words(text).with_warnings(&notes))
    }

    /// What the flow index does to the push at once.
    fn thinning(
        &self,
        asked: &Asked,
        question: &StandQuestion,
    ) -> Result<Option<String>, CliError> {
        let blend = asked.blend();
        let mut gel = crate::plan::Gel::new(blend, &question.setup, question.thinning)?;
        if let Some(warm_up) = &question.warm_up {
            gel.setting.warm_up = warm_up.clone();
        }
        let fraction = gel
            .setting
            .conversion(question.set_kelvin, question.heat_time_s);
        let found = thinning_consequences(
            &gel,
            &question.setup.conditions()?,
            fraction,
            question
                .thinning
                .shear_rate_per_s
                .or(blend.reference_shear_rate_per_s),
        );
        Ok(thinning_line(&found, &question.setup.needle.label()))
    }
}

/// Nothing was measured, and what is usual was asked for.
fn unknown(blend: &str, invented: bool, context: Context) -> Result<Output, CliError> {
    let practice = CommonPractice::new();
    if context.json {
        let mut warnings = vec![Warning::new(PASSING_ONLY, PASSING_ONLY_WORDS)];
        if invented {
            warnings.push(Warning::new(
                "invented_data",
                "Invented data: this calibration was made from readings that nobody took.",
            ));
        }
        return Output::json(&Unknown {
            known: false,
            meaning: NOT_A_SHELF_LIFE,
            common_practice: practice,
            warnings,
        });
    }
    let mut text = format!(
        "How long a needle passes this gel while it stands is not known: the calibration of blend {blend} holds no readings taken after standing.\n\
         What helps: read a few gels at once and again after standing, and say so in the columns stand_time_min and stand_temp_C of the bench; then 'heatset fit' again\n\n"
    );
    let _ = writeln!(text, "{}", practice.in_words());
    let _ = writeln!(text, "{PASSING_ONLY_WORDS}");
    let _ = writeln!(text, "\n{}", cautions::SHORT);
    Ok(Output::words(text))
}

/// What a chart of standing is asked for.
pub(super) struct StandingAsked<'a> {
    pub(super) asked: &'a Asked,
    pub(super) question: &'a QuestionArguments,
    pub(super) push: &'a PushArguments,
    pub(super) set_kelvin: f64,
    pub(super) heat_time_s: Option<f64>,
    pub(super) stand_kelvin: Vec<f64>,
    pub(super) extrapolated: bool,
}

impl StandingAsked<'_> {
    pub(super) fn drawing(self, context: Context) -> Result<StandingDrawing, CliError> {
        let Some(heat_time_s) = self.heat_time_s else {
            return Err(CliError::question(
                "A chart of standing needs the heat time of the gel that stands.\nWhat helps: --heat-time 7min",
            ));
        };
        let setup = self.push.setup()?;
        let heated = self.question.heated(self.asked.blend(), &setup.barrel)?;
        Ok(StandingDrawing {
            question: StandQuestion {
                set_kelvin: self.set_kelvin,
                heat_time_s,
                stand_kelvin: self.stand_kelvin,
                stand_times_s: Vec::new(),
                setup: self.question.doubts.applied(setup, None)?,
                thinning: self.question.stated_thinning(),
                warm_up: heated.warm_up,
                contact_histories: heated.contact_histories,
                altitude_m: self.question.altitude_m(),
                extrapolate: self.question.extrapolate,
                draws: self.question.draws,
                seed: context.seed,
                invented: self.asked.calibration.invented,
            },
            extrapolated: self.extrapolated,
        })
    }
}
