//! Entries of the log as readings of a study of other hands and other blocks.

use super::entry::{Entry, Reading};
use crate::fit::precision::StudyReading;

/// Entries of a log, ready for a study.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LogStudy {
    /// The readings: ln of what was read over what was predicted.
    pub readings: Vec<StudyReading>,
    /// SHA-256 of the calibration that they are held against.
    pub calibration_sha256: Option<String>,
    /// Entries held against another calibration.
    pub of_other_calibrations: usize,
    /// Entries that were read as no number, corrected, or marked as not well read.
    pub left_out: usize,
    /// Whether one stands on invented data.
    pub invented: bool,
    /// Whether the prediction of one is extrapolated.
    pub extrapolated: bool,
}

/// Takes a study from a log: the newest batch's calibration, one cell a blend, lot and kind of reading.
///
/// A reading outside its interval counts, accepted or not: a study that leaves out what scatters finds
/// no scatter. Left out is what a later entry corrects, what was read as no number, and what lies inside its
/// interval and was still marked to be left out.
#[must_use]
pub fn log_study(entries: &[Entry]) -> LogStudy {
    let judged = |entry: &&Entry| entry.stands() && entry.entered.prediction.is_some();
    let mut study = LogStudy {
        calibration_sha256: entries
            .iter()
            .rev()
            .find(judged)
            .map(|e| e.entered.calibration_sha256.clone()),
        ..LogStudy::default()
    };
    for entry in entries {
        let entered = &entry.entered;
        let (true, Some(prediction)) = (entry.stands(), entered.prediction) else {
            study.left_out += 1;
            continue;
        };
        if Some(&entered.calibration_sha256) != study.calibration_sha256.as_ref() {
            study.of_other_calibrations += 1;
            continue;
        }
        if prediction.inside && !entered.accepted {
            study.left_out += 1;
            continue;
        }
        let way = match &entered.reading {
            Reading::PlungerForce { push, .. } => {
                format!("force through {:.0} µm", push.bore_m * 1e6)
            }
            other => other.kind().to_owned(),
        };
        let codes = &entered.codes;
        study.invented |= entered.invented;
        study.extrapolated |= entered.extrapolated;
        study.readings.push(StudyReading {
            ln_reading: prediction.ln_ratio,
            cell: format!("{}, lot {}, {way}", entered.blend, codes.lot),
            lot: Some(codes.lot.clone()),
            operator: codes.operator.clone(),
            block: codes.block.clone(),
            place: codes.place.clone(),
            session: codes.session.clone(),
        });
    }
    study
}
