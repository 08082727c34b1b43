//! What the charts about a heat time are asked with: window, contributions, equal forces.

use super::push_arguments::PushArguments;
use super::question_arguments::{Asked, QuestionArguments};
use super::{CliError, Context, time};
use crate::plan::{CoolingAsked, TimeQuestion, Varied};
use crate::units;
use clap::Args;

/// Temperature under which a core may be handed on, in K; these charts do not show it.
const COOL_UNTIL_KELVIN: f64 = 310.15;

/// What the gel must be at least.
#[derive(Debug, Args)]
#[command(next_help_heading = "Chart of the window")]
pub(super) struct WindowArguments {
    /// The gel must need at least this push to be firm enough
    #[arg(long, value_name = "FORCE", value_parser = units::force_n, conflicts_with = "least_reading")]
    least_force: Option<f64>,
    /// The gel must read at least this to be firm enough: 0.5Pa.s
    #[arg(long, value_name = "READING")]
    least_reading: Option<String>,
}

impl WindowArguments {
    /// Without a least firmness.
    pub(super) const fn without_least() -> Self {
        Self {
            least_force: None,
            least_reading: None,
        }
    }

    /// Refuses a least firmness for a chart that would not show it.
    pub(super) fn refuse_unless(&self, shown: bool) -> Result<(), CliError> {
        if !shown && (self.least_force.is_some() || self.least_reading.is_some()) {
            return Err(CliError::question(
                "Only the chart of the window shows where the gel is firm enough.\nWhat helps: leave --least-force and --least-reading out, or draw 'chart window'",
            ));
        }
        Ok(())
    }

    /// The question behind a chart, as `heatset time` asks it.
    pub(super) fn question(
        &self,
        asked: &Asked,
        question: &QuestionArguments,
        push: &PushArguments,
        set_kelvin: f64,
        context: Context,
    ) -> Result<TimeQuestion, CliError> {
        let blend = asked.blend();
        let setup = question.doubts.applied(push.setup()?, None)?;
        let heated = question.heated(blend, &setup.barrel)?;
        Ok(TimeQuestion {
            set_kelvin,
            setup,
            thinning: question.stated_thinning(),
            least: time::least(
                self.least_force,
                self.least_reading.as_deref(),
                blend.reading,
            )?,
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
            varied: Varied::ALL,
            seed: context.seed,
            invented: asked.calibration.invented,
        })
    }
}
