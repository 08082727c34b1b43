//! `heatset practice-fluid`: glycerol and water that push like a gel, to practise with.

use super::optional_question::OptionalQuestion;
use super::output::{Output, check_free, write_file};
use super::push_arguments::{PushArguments, PushAssumptions};
use super::question_arguments::QuestionArguments;
use super::{CliError, Context};
use crate::face::practice_words::{Card, Stated, card, card_page};
use crate::fit::Warning;
use crate::plan::{
    CoolingAsked, ForceQuestion, Gel, PlanError, PracticeFluid, PracticeQuestion, PracticeTarget,
    PushSetup, force_for_heat_time, practice_fluid,
};
use crate::reference::ReferenceError;
use crate::units;
use clap::Args;
use serde::Serialize;
use std::path::PathBuf;

/// Core temperature of `force`, 37 °C; no push depends on it.
const COOL_UNTIL_KELVIN: f64 = 310.15;

/// A mixture of glycerol and water that pushes like a gel, for empty training syringes: never to be
/// injected, never to be mixed with a gel
#[derive(Debug, Args)]
#[command(
    override_usage = "heatset practice-fluid CAL --at 86C --heat-time 7min --gauge 27 [OPTIONS]
       heatset practice-fluid --push 12N --gauge 27 [OPTIONS]
       heatset practice-fluid --viscosity 0.3Pa.s --gauge 27 [OPTIONS]"
)]
pub(super) struct Arguments {
    #[command(flatten)]
    question: OptionalQuestion,
    /// Set temperature of the block, with a calibration
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin)]
    #[arg(allow_hyphen_values = true, conflicts_with_all = ["push", "viscosity"])]
    at: Option<f64>,
    /// Heat time on the clock, with a calibration
    #[arg(long, value_name = "TIME", value_parser = units::duration_s)]
    #[arg(allow_hyphen_values = true, conflicts_with_all = ["push", "viscosity"])]
    heat_time: Option<f64>,
    /// A push to match, in place of a calibration: 12N
    #[arg(long, value_name = "FORCE", value_parser = units::force_n)]
    #[arg(allow_hyphen_values = true, conflicts_with_all = ["calibration", "viscosity"])]
    push: Option<f64>,
    /// A viscosity to match, in place of a calibration: 0.3Pa.s
    #[arg(long, value_name = "VISCOSITY", value_parser = units::viscosity_pa_s)]
    #[arg(allow_hyphen_values = true, conflicts_with = "calibration")]
    viscosity: Option<f64>,
    /// Temperature of the practice fluid when it is pushed
    #[arg(long, default_value = "22C", value_name = "TEMP", value_parser = units::temperature_kelvin)]
    #[arg(allow_hyphen_values = true)]
    room: f64,
    /// How much is made
    #[arg(long, default_value = "20mL", value_name = "VOLUME", value_parser = units::volume_m3)]
    #[arg(allow_hyphen_values = true)]
    volume: f64,
    /// Glycerol by mass in what is sold as glycerol: 85% for the thinned grade
    #[arg(long, default_value = "100%", value_name = "SHARE", value_parser = stock_fraction)]
    #[arg(allow_hyphen_values = true)]
    stock: f64,
    /// Card to write: .html prints on one page, anything else is text
    #[arg(long, value_name = "FILE.html|.txt")]
    out: Option<PathBuf>,
    #[command(flatten)]
    push_through: PushArguments,
}

#[derive(Serialize)]
struct Document {
    #[serde(flatten)]
    fluid: PracticeFluid,
    matches: &'static str,
    #[serde(rename = "heat_temp_K")]
    heat_temp_k: Option<f64>,
    heat_time_s: Option<f64>,
    meaning: &'static str,
    invented: bool,
    extrapolated: bool,
    written: Option<String>,
    assumptions: PushAssumptions,
}

/// What a target says beside itself.
struct Asked {
    target: PracticeTarget,
    stated: Stated,
    warnings: Vec<Warning>,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        if let Some(out) = &self.out {
            check_free(out, context.replace)?;
        }
        let setup = self.push_through.setup()?;
        let asked = self.asked(&setup, context)?;
        let question = PracticeQuestion {
            target: asked.target,
            setup,
            room_kelvin: self.room,
            volume_m3: self.volume,
            stock_mass_fraction: self.stock,
        };
        let mut fluid = practice_fluid(&question).map_err(with_remedy)?;
        fluid.warnings.extend(asked.warnings);
        let card: Card = card(&fluid, &question, &asked.stated);
        if let Some(path) = &self.out {
            let is_page = path
                .extension()
                .is_some_and(|ending| ending.eq_ignore_ascii_case("html"));
            let written = if is_page {
                card_page(&card)
            } else {
                card.text()
            };
            write_file(path, written.as_bytes(), context.replace)?;
        }
        let written = self.out.as_ref().map(|path| path.display().to_string());
        if context.json {
            return Output::json(&Document {
                matches: asked.stated.matches(),
                heat_temp_k: self.at,
                heat_time_s: self.heat_time,
                meaning: crate::face::practice_words::MEANING,
                invented: asked.stated.invented,
                extrapolated: asked.stated.extrapolated,
                written,
                assumptions: self.push_through.assumptions(&question.setup)?,
                fluid,
            });
        }
        let mut text = card.text();
        if let Some(file) = written {
            text.push_str(&format!("\nWritten: {file}\n"));
        }
        Ok(Output::words(text).with_warnings(&fluid.warnings))
    }

    fn asked(&self, setup: &PushSetup, context: Context) -> Result<Asked, CliError> {
        let stated = |target| Asked {
            target,
            stated: Stated::default(),
            warnings: Vec::new(),
        };
        match (&self.question.0, self.push, self.viscosity) {
            (Some(question), ..) => self.of_gel(question, setup, context),
            (None, Some(plunger_force_n), _) => {
                Ok(stated(PracticeTarget::Push { plunger_force_n }))
            }
            (None, None, Some(viscosity_pa_s)) => {
                Ok(stated(PracticeTarget::Viscosity { viscosity_pa_s }))
            }
            (None, None, None) => Err(CliError::question(
                "There is nothing to match.\nWhat helps: a calibration with --at and --heat-time; or --push 12N; or --viscosity 0.3Pa.s",
            )),
        }
    }

    fn of_gel(
        &self,
        asked: &QuestionArguments,
        setup: &PushSetup,
        context: Context,
    ) -> Result<Asked, CliError> {
        let (Some(set_kelvin), Some(heat_time_s)) = (self.at, self.heat_time) else {
            return Err(CliError::question(
                "A calibration knows many gels: which one is to be practised?\nWhat helps: --at 86C --heat-time 7min",
            ));
        };
        let read = asked.read()?;
        let blend = read.blend();
        let heated = asked.heated(blend, &setup.barrel)?;
        let setup = asked.doubts.applied(setup.clone(), None)?;
        let thinning = asked.stated_thinning();
        let question = ForceQuestion {
            set_kelvin,
            heat_time_s,
            setup: setup.clone(),
            needles: Vec::new(),
            thinning,
            warm_up: heated.warm_up,
            contact_histories: heated.contact_histories,
            cooling: CoolingAsked {
                until_kelvin: COOL_UNTIL_KELVIN,
                ambient_kelvin: asked.heating.ambient,
                air_w_per_m2_kelvin: asked.heating.air,
            },
            altitude_m: asked.altitude_m(),
            extrapolate: asked.extrapolate,
            draws: asked.draws,
            seed: context.seed,
            invented: read.calibration.invented,
        };
        let mut answer = force_for_heat_time(blend, &question)?;
        answer.warnings.extend(heated.warnings);
        let needle = answer.needles.first().ok_or_else(|| {
            CliError::question("No needle was named.\nWhat helps: name it: --gauge 27")
        })?;
        let gel = Gel::new(blend, &setup, thinning)?;
        Ok(Asked {
            stated: Stated {
                heated: Some((set_kelvin, heat_time_s)),
                stands_on: Some(crate::face::answer_words::stands_line(
                    &asked.file_name(),
                    blend,
                )),
                thinning_is_known: gel.index_source != crate::plan::FlowIndexSource::Assumed,
                invented: read.calibration.invented,
                extrapolated: answer.assumptions.extrapolated,
            },
            target: PracticeTarget::Gel {
                gel: Box::new(gel),
                conversion: answer.conversion,
                plunger_force_n: needle.plunger_force_n,
            },
            warnings: answer.warnings,
        })
    }
}

/// Says what would help where no mixture matches.
fn with_remedy(error: PlanError) -> CliError {
    let help = match &error {
        PlanError::Reference(ReferenceError::ThickerThanGlycerol { .. }) => {
            "practise with a finer needle at the same push (--push with that needle), or in a colder room; no mixture of glycerol and water stands for this gel through this needle"
        }
        PlanError::Reference(ReferenceError::ThinnerThanWater { .. }) => {
            "practise with a wider needle at the same push (--push with that needle), or with water itself: most of this push is friction of the stopper"
        }
        PlanError::Reference(ReferenceError::GlycerolOutOfRange { .. }) => {
            "a --room from 0 to 100 °C"
        }
        _ => return error.into(),
    };
    let words = error.to_string();
    let mut letters = words.chars();
    let sentence: String = letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect())
        .unwrap_or_default();
    CliError::question(format!("{sentence}.\nWhat helps: {help}"))
}

/// A share of glycerol that is some.
fn stock_fraction(text: &str) -> Result<f64, String> {
    match units::fraction(text) {
        Ok(share) if share > 0.0 => Ok(share),
        Ok(_) => Err("a stock without glycerol is water: write such as 86%".to_string()),
        Err(error) => Err(error.to_string()),
    }
}
