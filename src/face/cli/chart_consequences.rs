//! `heatset chart consequences`: what single changes do to a push.

use super::push_arguments::PushArguments;
use super::question_arguments::{Asked, QuestionArguments};
use super::{CliError, Context};
use crate::plan::{Consequences, CoolingAsked, ForceQuestion, consequences};
use serde::Serialize;

/// Temperature under which a core may be handed on, in K; this chart does not show it.
const COOL_UNTIL_KELVIN: f64 = 310.15;

/// What the chart shows, as one document.
#[derive(Serialize)]
pub(super) struct Document<'a> {
    #[serde(rename = "heat_temp_K")]
    heat_temp_k: f64,
    heat_time_s: f64,
    needle: String,
    #[serde(rename = "force_limit_N")]
    force_limit_n: f64,
    #[serde(flatten)]
    found: &'a Consequences,
    written: [String; 1],
    invented: bool,
}

impl<'a> Document<'a> {
    pub(super) fn new(
        question: &ForceQuestion,
        found: &'a Consequences,
        written: String,
        invented: bool,
    ) -> Self {
        Self {
            heat_temp_k: question.set_kelvin,
            heat_time_s: question.heat_time_s,
            needle: question.setup.needle.label(),
            force_limit_n: question.setup.force_limit_n,
            found,
            written: [written],
            invented,
        }
    }
}

/// Today's push and what changes do to it.
pub(super) fn found(
    asked: &Asked,
    question: &QuestionArguments,
    push: &PushArguments,
    set_kelvin: f64,
    heat_time_s: Option<f64>,
    context: Context,
) -> Result<(ForceQuestion, Consequences), CliError> {
    let Some(heat_time_s) = heat_time_s else {
        return Err(CliError::question(
            "The consequences are those for one push, and nothing says how long its gel was heated.\nWhat helps: --heat-time 7min",
        ));
    };
    let blend = asked.blend();
    let setup = question.doubts.applied(push.setup()?, None)?;
    let (heated, stated) = question.heated_as_stated(blend, &setup.barrel)?;
    let today = ForceQuestion {
        set_kelvin,
        heat_time_s,
        setup,
        needles: Vec::new(),
        thinning: question.stated_thinning(),
        warm_up: heated.warm_up,
        contact_histories: heated.contact_histories,
        cooling: CoolingAsked {
            until_kelvin: COOL_UNTIL_KELVIN,
            ambient_kelvin: question.heating.ambient,
            air_w_per_m2_kelvin: question.heating.air,
        },
        altitude_m: question.altitude_m(),
        extrapolate: question.extrapolate,
        draws: question.draws,
        seed: context.seed,
        invented: asked.calibration.invented,
    };
    let found = consequences(blend, &today, &stated)?;
    Ok((today, found))
}
