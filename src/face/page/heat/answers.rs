//! Answers that were given already: the picture of a setting and what stands beside its answer ask the
//! same question again a moment later.

use super::questions::Answered;
use crate::plan::{NeedleUsed, TimeQuestion};
use crate::units::shown::{Shown, shown};
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// How many are kept.
const KEPT: usize = 32;

/// What an answer follows from.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct AnswerOf {
    question: TimeQuestion,
    any_of: Vec<NeedleUsed>,
    calibration: String,
    blend: String,
    /// Cautions of an answer are worded in these units.
    shown: Shown,
}

impl AnswerOf {
    /// An answer of a calibration's blend to a question.
    pub(super) fn new(
        question: &TimeQuestion,
        any_of: &[NeedleUsed],
        calibration_sha256: &str,
        blend: String,
    ) -> Self {
        Self {
            question: question.clone(),
            any_of: any_of.to_vec(),
            calibration: calibration_sha256.to_owned(),
            blend,
            shown: shown(),
        }
    }
}

/// The answers that were given last.
#[derive(Debug, Default)]
pub(super) struct Answers(Mutex<VecDeque<(AnswerOf, Arc<Answered>)>>);

impl Answers {
    /// The answer that was given before.
    pub(super) fn find(&self, of: &AnswerOf) -> Option<Arc<Answered>> {
        self.kept()
            .iter()
            .rev()
            .find(|(known, _)| known == of)
            .map(|(_, answered)| Arc::clone(answered))
    }

    /// Keeps an answer.
    pub(super) fn keep(&self, of: AnswerOf, answered: &Arc<Answered>) {
        let mut kept = self.kept();
        if kept.len() >= KEPT {
            kept.pop_front();
        }
        kept.push_back((of, Arc::clone(answered)));
    }

    fn kept(&self) -> MutexGuard<'_, VecDeque<(AnswerOf, Arc<Answered>)>> {
        // What is in it is whole whatever happened to the thread that held it.
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
