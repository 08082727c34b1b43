//! A setting as the rooms below are asked.

use super::super::shelf::Shelved;
use super::super::state::PageState;
use super::answers::AnswerOf;
use super::faults::Fault;
use super::setting::Setting;
use crate::fit::{BlendCalibration, Warning};
use crate::plan::{
    DEFAULT_DRAWS, ForceQuestion, Heated, PlanError, ReadingTimeQuestion, StandQuestion,
    TimeAnswer, TimeQuestion, Varied, finest_needle_alone, heat_time,
};
use std::sync::Arc;

/// A setting with the warm-up of its gel, ready to be asked.
pub(super) struct Asking<'a> {
    pub(super) shelved: &'a Shelved,
    pub(super) setting: Setting,
    heated: Arc<Heated>,
    seed: u64,
}

/// An answer about heat time, with the question that it answers.
#[derive(Debug)]
pub(super) struct Answered {
    pub(super) answer: TimeAnswer,
    pub(super) question: TimeQuestion,
}

impl<'a> Asking<'a> {
    /// Makes a setting ready.
    ///
    /// # Errors
    /// A warm-up that cannot be.
    pub(super) fn new(
        state: &PageState,
        shelved: &'a Shelved,
        setting: Setting,
    ) -> Result<Self, PlanError> {
        let barrel = &setting.pushed.setup.barrel;
        let heated = state.heat.histories.of(
            (&shelved.sha256, setting.blend_key()),
            &setting.blend,
            (barrel, setting.set_kelvin),
            &setting.stated,
        )?;
        Ok(Self {
            shelved,
            setting,
            heated,
            seed: state.seed,
        })
    }

    /// The blend that is asked about.
    pub(super) fn blend(&self) -> &BlendCalibration {
        &self.setting.blend
    }

    /// What the warm-up adds to the cautions of an answer.
    pub(super) fn warm_up_warnings(&self) -> &[Warning] {
        &self.heated.warnings
    }

    /// The question about heat time, as `heatset time` asks it.
    pub(super) fn time_question(&self) -> TimeQuestion {
        let setting = &self.setting;
        TimeQuestion {
            set_kelvin: setting.set_kelvin,
            setup: setting.pushed.setup.clone(),
            thinning: setting.thinning,
            least: setting.least,
            warm_up: self.heated.warm_up.clone(),
            contact_histories: self.heated.contact_histories.clone(),
            cooling: setting.cooling,
            altitude_m: setting.altitude_m,
            extrapolate: setting.extrapolate,
            draws: DEFAULT_DRAWS,
            varied: Varied::ALL,
            seed: self.seed,
            invented: self.shelved.calibration.invented,
        }
    }

    /// The answer about heat time: as it was given a moment ago, else reckoned now.
    ///
    /// # Errors
    /// What is refused, at its field.
    pub(super) fn answered(&self, state: &PageState) -> Result<Arc<Answered>, Fault> {
        let question = self.time_question();
        let needles = &self.setting.pushed.any_of;
        let of = AnswerOf::new(
            &question,
            needles,
            &self.shelved.sha256,
            self.setting.blend_key(),
        );
        if let Some(answered) = state.heat.answers.find(&of) {
            return Ok(answered);
        }
        let (mut answer, question) = if needles.is_empty() {
            let answer = heat_time(self.blend(), &question).map_err(|e| Fault::of_plan(&e))?;
            (answer, question)
        } else {
            // What all of them allow stands beside the answer, and is reckoned once it is read.
            finest_needle_alone(self.blend(), &question, needles).map_err(|e| Fault::of_plan(&e))?
        };
        answer.warnings.extend(self.heated.warnings.iter().cloned());
        let answered = Arc::new(Answered { answer, question });
        state.heat.answers.keep(of, &answered);
        Ok(answered)
    }

    /// The question about the push after a heat time, through the needle of an answer.
    pub(super) fn force_question(&self, of: &TimeQuestion, heat_time_s: f64) -> ForceQuestion {
        ForceQuestion {
            set_kelvin: of.set_kelvin,
            heat_time_s,
            setup: of.setup.clone(),
            needles: Vec::new(),
            thinning: of.thinning,
            warm_up: of.warm_up.clone(),
            contact_histories: of.contact_histories.clone(),
            cooling: of.cooling,
            altitude_m: of.altitude_m,
            extrapolate: of.extrapolate,
            draws: of.draws,
            seed: of.seed,
            invented: of.invented,
        }
    }

    /// The question about standing after a heat time, at the temperatures that were measured.
    pub(super) fn stand_question(&self, of: &TimeQuestion, heat_time_s: f64) -> StandQuestion {
        StandQuestion {
            set_kelvin: of.set_kelvin,
            heat_time_s,
            stand_kelvin: Vec::new(),
            stand_times_s: Vec::new(),
            setup: of.setup.clone(),
            thinning: of.thinning,
            warm_up: of.warm_up.clone(),
            contact_histories: of.contact_histories.clone(),
            altitude_m: of.altitude_m,
            extrapolate: of.extrapolate,
            draws: of.draws,
            seed: of.seed,
            invented: of.invented,
        }
    }

    /// The question about the heat time of a reading.
    pub(super) fn reading_question(&self, reading: f64) -> ReadingTimeQuestion {
        let setting = &self.setting;
        ReadingTimeQuestion {
            set_kelvin: setting.set_kelvin,
            reading,
            warm_up: self.heated.warm_up.clone(),
            contact_histories: self.heated.contact_histories.clone(),
            block_tolerance_k: setting.pushed.setup.doubts.block_tolerance_k,
            altitude_m: setting.altitude_m,
            extrapolate: setting.extrapolate,
            draws: DEFAULT_DRAWS,
            seed: self.seed,
        }
    }
}
