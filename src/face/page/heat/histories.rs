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

/// A warm-up, and one made ready for the draws of a set temperature.
type Known<Key> = Mutex<VecDeque<(Key, Arc<Heated>)>>;

/// The warm-ups that were asked for last.
#[derive(Debug, Default)]
pub(super) struct Histories {
    computed: Known<Of>,
    ready: Known<(Of, f64)>,
}

impl Histories {
    /// How the gel of a question is heated at a set temperature: as it was computed before, else
    /// computed now.
    ///
    /// # Errors
    /// As for [`heated`].
    pub(super) fn of(
        &self,
        (calibration_sha256, blend_key): (&str, String),
        blend: &BlendCalibration,
        (barrel, set_kelvin): (&BarrelUsed, f64),
        stated: &StatedHeating,
    ) -> Result<Arc<Heated>, PlanError> {
        let of = Of {
            calibration: calibration_sha256.to_owned(),
            blend: blend_key,
            barrel: barrel.clone(),
            stated: stated.clone(),
        };
        let of_temperature = (of, set_kelvin);
        if let Some(ready) = found(&self.ready, &of_temperature) {
            return Ok(ready);
        }
        let computed = match found(&self.computed, &of_temperature.0) {
            Some(computed) => computed,
            None => {
                let computed = Arc::new(heated(blend, barrel, stated)?);
                keep(&self.computed, of_temperature.0.clone(), &computed);
                computed
            }
        };
        let ready = Arc::new(computed.ready(blend, set_kelvin));
        keep(&self.ready, of_temperature, &ready);
        Ok(ready)
    }
}

fn found<Key: PartialEq>(known: &Known<Key>, key: &Key) -> Option<Arc<Heated>> {
    locked(known)
        .iter()
        .find(|(kept, _)| kept == key)
        .map(|(_, heated)| Arc::clone(heated))
}

fn keep<Key>(known: &Known<Key>, key: Key, heated: &Arc<Heated>) {
    let mut known = locked(known);
    if known.len() >= KEPT {
        known.pop_front();
    }
    known.push_back((key, Arc::clone(heated)));
}

fn locked<Key>(known: &Known<Key>) -> MutexGuard<'_, VecDeque<(Key, Arc<Heated>)>> {
    // What is in it is whole whatever happened to the thread that held it.
    known.lock().unwrap_or_else(PoisonError::into_inner)
}
