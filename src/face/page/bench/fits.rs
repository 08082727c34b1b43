//! The fits that wait, run and have ended: the newest few, in memory. A fit runs on threads of its
//! own, and whoever asked for it comes back to its address.

use super::choices::Choices;
use super::tables::KeptTable;
use crate::face::page::problem::PageError;
use crate::face::page::shelf::Shelved;
use crate::face::page::state::Shared;
use crate::fit::{FitError, FitOptions, FitStep, calibrate_telling};
use crate::units::shown::Shown;
use sha2::{Digest, Sha256};
use std::collections::VecDeque;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// How many fits are kept.
const KEPT: usize = 24;
/// How many may wait or run at once.
const UNFINISHED: usize = 6;
/// Letters of a code.
const CODE_LETTERS: usize = 12;

/// Where a fit stands.
#[derive(Debug, Clone)]
pub(super) enum Progress {
    /// Others are before it.
    Waiting,
    /// It runs.
    Fitting {
        /// What is being fitted.
        step: Option<FitStep>,
    },
    /// It has ended in a calibration.
    Fitted {
        /// The calibration, as it stands on the shelf.
        shelved: Arc<Shelved>,
        /// How long it took.
        took: Duration,
    },
    /// The readings do not give a calibration.
    Refused {
        /// Why.
        error: Arc<FitError>,
    },
    /// It ended early.
    Ended,
}

/// A fit.
#[derive(Debug)]
pub(super) struct Fit {
    /// Its code in addresses: the head of the SHA-256 of table, choices and seed, so that the same
    /// question is fitted once.
    pub(super) code: String,
    /// Name of the table.
    pub(super) table_name: String,
    /// Code of the table.
    pub(super) table_code: String,
    /// The choices, as they were typed.
    pub(super) choices: Choices,
    begun: Instant,
    progress: Mutex<Progress>,
}

impl Fit {
    /// Where it stands.
    pub(super) fn progress(&self) -> Progress {
        self.locked().clone()
    }

    /// Time since it was asked for.
    pub(super) fn elapsed(&self) -> Duration {
        self.begun.elapsed()
    }

    fn is_unfinished(&self) -> bool {
        matches!(*self.locked(), Progress::Waiting | Progress::Fitting { .. })
    }

    fn set(&self, progress: Progress) {
        *self.locked() = progress;
    }

    fn locked(&self) -> MutexGuard<'_, Progress> {
        self.progress.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// The fits.
#[derive(Debug, Default)]
pub(super) struct Fits {
    kept: Mutex<VecDeque<Arc<Fit>>>,
}

impl Fits {
    /// Starts a fit and says where it stands; the same question again leads to the same fit.
    ///
    /// # Errors
    /// Too many wait already.
    pub(super) fn start(
        &self,
        state: &Shared,
        table: &Arc<KeptTable>,
        choices: Choices,
        options: FitOptions,
        shown: Shown,
    ) -> Result<Arc<Fit>, PageError> {
        let fit = Arc::new(Fit {
            code: code_of(table, &options),
            table_name: table.name(),
            table_code: table.code.clone(),
            choices,
            begun: Instant::now(),
            progress: Mutex::new(Progress::Waiting),
        });
        {
            let mut kept = self.kept();
            if let Some(there) = kept.iter().find(|there| there.code == fit.code)
                && !matches!(there.progress(), Progress::Ended)
            {
                return Ok(Arc::clone(there));
            }
            if kept.iter().filter(|fit| fit.is_unfinished()).count() >= UNFINISHED {
                return Err(PageError::words(format!(
                    "{UNFINISHED} fits wait or run already.\nWhat helps: wait until one has ended, then start this one"
                )));
            }
            kept.retain(|there| there.code != fit.code);
            while kept.len() >= KEPT {
                let oldest = kept.iter().position(|fit| !fit.is_unfinished());
                kept.remove(oldest.unwrap_or(0));
            }
            kept.push_back(Arc::clone(&fit));
        }
        tokio::spawn(run(
            Arc::clone(state),
            Arc::clone(&fit),
            Arc::clone(table),
            options,
            shown,
        ));
        Ok(fit)
    }

    /// The fit of a code.
    ///
    /// # Errors
    /// None with that code, or no longer.
    pub(super) fn find(&self, code: &str) -> Result<Arc<Fit>, PageError> {
        self.kept()
            .iter()
            .find(|fit| fit.code == code)
            .cloned()
            .ok_or_else(|| {
                PageError::gone(
                    "This fit is not here: the page keeps the last few, and only while it runs.\nWhat helps: fit the table again under 'Bench'; a calibration that was saved can be handed over under 'Calibrations'",
                )
            })
    }

    /// All that are kept, the newest first.
    pub(super) fn all(&self) -> Vec<Arc<Fit>> {
        self.kept().iter().rev().cloned().collect()
    }

    fn kept(&self) -> MutexGuard<'_, VecDeque<Arc<Fit>>> {
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

fn code_of(table: &KeptTable, options: &FitOptions) -> String {
    let mut hash = Sha256::new();
    hash.update(table.code.as_bytes());
    hash.update(format!("{options:?}").as_bytes());
    crate::readings::table::hexadecimal(&hash.finalize())
        .chars()
        .take(CODE_LETTERS)
        .collect()
}

/// Runs a fit and puts what comes of it where its address finds it.
async fn run(
    state: Shared,
    fit: Arc<Fit>,
    table: Arc<KeptTable>,
    options: FitOptions,
    shown: Shown,
) {
    let begun = Instant::now();
    let (told, readings) = (Arc::clone(&fit), table);
    let outcome = state
        .work
        .fit(shown, move || {
            told.set(Progress::Fitting { step: None });
            let read = readings.outcome.as_ref().ok()?;
            let tell = |step| told.set(Progress::Fitting { step: Some(step) });
            let calibration = calibrate_telling(&read.table, &options, &tell);
            Some(calibration.and_then(|calibration| {
                let document = calibration.to_json()?;
                Ok((calibration, document))
            }))
        })
        .await;
    fit.set(match outcome {
        Ok(Some(Ok((calibration, document)))) => {
            let name = format!("{}.json", stem(&fit.table_name));
            Progress::Fitted {
                shelved: state.shelf.put(&name, calibration, document),
                took: begun.elapsed(),
            }
        }
        Ok(Some(Err(error))) => Progress::Refused {
            error: Arc::new(error),
        },
        Ok(None) | Err(_) => Progress::Ended,
    });
}

/// A table's name without its ending.
pub(super) fn stem(name: &str) -> &str {
    name.rsplit_once('.').map_or(name, |(stem, _)| stem)
}
