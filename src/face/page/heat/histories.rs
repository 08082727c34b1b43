//! Warm-ups that were computed already. Conduction in a syringe is the dearest step of an answer and
//! serves every set temperature, so a slider that moves the temperature, the push or the needle finds
//! it here.

use crate::fit::BlendCalibration;
use crate::plan::{BarrelUsed, Heated, PlanError, StatedHeating, heated};
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// How many are kept.
const KEPT: usize = 24;

/// What a warm-up follows from.
#[derive(Debug, Clone, PartialEq)]
struct Of {
    /// SHA-256 of the calibration.
    calibration: String,
    /// Blend, fraction and lot in it.
    blend: String,
    barrel: BarrelUsed,
    stated: StatedHeating,
}

/// The warm-ups that were asked for last.
#[derive(Debug, Default)]
pub(super) struct Histories(Mutex<VecDeque<(Of, Arc<Heated>)>>);

impl Histories {
    /// How the gel of a question is heated: as it was computed before, else computed now.
    ///
    /// # Errors
    /// As for [`heated`].
    pub(super) fn of(
        &self,
        (calibration_sha256, blend_key): (&str, String),
        blend: &BlendCalibration,
        barrel: &BarrelUsed,
        stated: &StatedHeating,
    ) -> Result<Arc<Heated>, PlanError> {
        let of = Of {
            calibration: calibration_sha256.to_owned(),
            blend: blend_key,
            barrel: barrel.clone(),
            stated: stated.clone(),
        };
        if let Some((_, found)) = self.kept().iter().find(|(known, _)| *known == of) {
            return Ok(Arc::clone(found));
        }
        let computed = Arc::new(heated(blend, barrel, stated)?);
        let mut kept = self.kept();
        if kept.len() >= KEPT {
            kept.pop_front();
        }
        kept.push_back((of, Arc::clone(&computed)));
        Ok(computed)
    }

    fn kept(&self) -> MutexGuard<'_, VecDeque<(Of, Arc<Heated>)>> {
        // What is in it is whole whatever happened to the thread that held it.
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
