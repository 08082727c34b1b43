//! The batches held against one calibration: the few columns that control charts need.

use super::BatchLog;
use crate::batches::error::BatchesError;
use rusqlite::{OptionalExtension, Row};
use std::collections::HashMap;
use std::hash::{BuildHasher, RandomState};

/// Batches held against one calibration: what control charts need of them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct HeldBatches {
    /// SHA-256 of the calibration's file; none where nothing is judged.
    pub calibration_sha256: Option<String>,
    /// The batches, the oldest first.
    pub batches: Vec<HeldBatch>,
    /// Most batches of one lot.
    pub most_of_a_lot: usize,
    /// Whether one stands on invented data.
    pub invented: bool,
    /// Whether the prediction of one is extrapolated.
    pub extrapolated: bool,
}

/// One batch, held against its prediction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeldBatch {
    /// Number of its entry.
    pub entry: u64,
    /// Standardised deviation, in standard deviations.
    pub z_sd: f64,
    /// Natural logarithm of reading over predicted median.
    pub ln_ratio: f64,
    /// Whether the reading lies inside its prediction interval.
    pub inside: bool,
}

impl BatchLog {
    /// The batches held against one calibration, by the SHA-256 of its file; against that of the
    /// newest batch where none is named. Only what control charts need is read, and no entry that a
    /// later one corrects.
    ///
    /// # Errors
    /// A file that cannot be read.
    pub fn held(&self, calibration_sha256: Option<&str>) -> Result<HeldBatches, BatchesError> {
        let fault = |e: &rusqlite::Error| self.fault("read", e);
        if !self.is_begun()? {
            return Ok(HeldBatches::default());
        }
        const JUDGED: &str = "z_sd IS NOT NULL AND number NOT IN (SELECT corrects FROM entry WHERE corrects IS NOT NULL)";
        let calibration = match calibration_sha256 {
            Some(sha256) => Some(sha256.to_owned()),
            None => self
                .connection
                .query_row(
                    &format!(
                        "SELECT calibration_sha256 FROM entry WHERE {JUDGED} ORDER BY number DESC LIMIT 1"
                    ),
                    [],
                    |row| row.get::<_, String>(0),
                )
                .optional()
                .map_err(|e| fault(&e))?,
        };
        let mut held = HeldBatches {
            calibration_sha256: calibration,
            ..HeldBatches::default()
        };
        let mut statement = self
            .connection
            .prepare(&format!(
                "SELECT number, lot, z_sd, ln_ratio, inside, invented, extrapolated FROM entry WHERE calibration_sha256 = ?1 AND {JUDGED} ORDER BY number"
            ))
            .map_err(|e| fault(&e))?;
        let mut rows = statement
            .query([&held.calibration_sha256])
            .map_err(|e| fault(&e))?;
        // Lots are only counted: their hashes serve, and cost no text for each.
        let mut of_lots: HashMap<u64, usize> = HashMap::new();
        let hasher = RandomState::new();
        let mut one = |row: &Row| -> rusqlite::Result<HeldBatch> {
            let lot = hasher.hash_one(row.get_ref(1)?.as_str()?);
            *of_lots.entry(lot).or_default() += 1;
            held.invented |= row.get::<_, bool>(5)?;
            held.extrapolated |= row.get::<_, bool>(6)?;
            Ok(HeldBatch {
                entry: row.get::<_, i64>(0)?.cast_unsigned(),
                z_sd: row.get(2)?,
                ln_ratio: row.get(3)?,
                inside: row.get(4)?,
            })
        };
        let mut batches = Vec::new();
        while let Some(row) = rows.next().map_err(|e| fault(&e))? {
            batches.push(one(row).map_err(|e| fault(&e))?);
        }
        held.batches = batches;
        held.most_of_a_lot = of_lots.values().copied().max().unwrap_or(0);
        Ok(held)
    }
}
