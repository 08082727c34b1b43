//! The result of a block check as a document that other answers can be given.

use std::path::Path;

use serde::{Deserialize, Serialize};

use super::block_check::BlockCheck;
use super::input_error::ThermalInputError;
use super::input_text::read_text;

/// What the document calls itself.
pub const BLOCK_CHECK_SCHEMA: &str = "heatset/block-check/1";
/// A result larger than this is another file.
const LARGEST_BYTES: u64 = 16 * 1024 * 1024;

/// A block check with what it was made from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BlockCheckDocument {
    /// `heatset/block-check/1`.
    pub schema: String,
    /// The files that the traces came from.
    pub source: Vec<String>,
    /// Whether one of them says that its data are invented.
    pub invented: bool,
    /// The check.
    #[serde(flatten)]
    pub check: BlockCheck,
}

impl BlockCheckDocument {
    /// A document of a check.
    #[must_use]
    pub fn new(source: Vec<String>, invented: bool, check: BlockCheck) -> Self {
        Self {
            schema: BLOCK_CHECK_SCHEMA.to_owned(),
            source,
            invented,
            check,
        }
    }

    /// The document as JSON text.
    ///
    /// # Errors
    /// Values that JSON cannot hold; a check makes none.
    pub fn to_json(&self) -> Result<String, ThermalInputError> {
        let mut text =
            serde_json::to_string_pretty(self).map_err(|e| ThermalInputError::Document {
                file: "the block check".to_owned(),
                reason: e.to_string(),
            })?;
        text.push('\n');
        Ok(text)
    }

    /// Reads a document from JSON text; `file` names it in messages.
    ///
    /// # Errors
    /// [`ThermalInputError::Document`] for a text that is no block check.
    pub fn from_json(file: &str, text: &str) -> Result<Self, ThermalInputError> {
        let fault = |reason: String| ThermalInputError::Document {
            file: file.to_owned(),
            reason,
        };
        let found: Self = serde_json::from_str(text).map_err(|e| fault(e.to_string()))?;
        if found.schema != BLOCK_CHECK_SCHEMA {
            return Err(fault(format!(
                "it calls itself {} and not {BLOCK_CHECK_SCHEMA}",
                found.schema
            )));
        }
        let sound = |set: &super::block_check::SetCheck| {
            set.set_kelvin > 0.0 && set.set_kelvin.is_finite() && set.offset_kelvin.is_finite()
        };
        if found.check.by_set.is_empty() || !found.check.by_set.iter().all(sound) {
            return Err(fault(
                "no set temperature with its offset stands in it".to_owned(),
            ));
        }
        Ok(found)
    }

    /// Reads a document from a file.
    ///
    /// # Errors
    /// As [`Self::from_json`]; a file that cannot be opened, is too large or is not UTF-8.
    pub fn read(path: &Path) -> Result<Self, ThermalInputError> {
        let text = read_text(path, "block check", LARGEST_BYTES)?;
        Self::from_json(&path.display().to_string(), &text)
    }
}
