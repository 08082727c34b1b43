//! The log of batches: what each batch was predicted to be, what it was, and whether the readings
//! drift away from the calibration.
//!
//! A log is one SQLite file that only grows: [`BatchLog`]. Each entry is chained to the one before
//! by a hash, so that a change shows ([`BatchLog::check`]). [`control`] draws the limits, [`judge`]
//! says in a word what they come to. This room knows nothing of how a prediction is made; it is
//! handed the numbers.

mod chain;
mod codes;
pub mod control;
mod entry;
mod error;
mod export;
mod precision;
mod prediction;
mod rows;
mod schema;
mod store;
mod verdict;

pub use chain::{FIRST_LINK, chain_hash};
pub use codes::{LONGEST_CODE, code};
pub use entry::{Codes, Entry, Heated, NeedlePush, NewEntry, Reading};
pub use error::BatchesError;
pub use export::{accepted_bench, accepted_entries};
pub use precision::{LogStudy, log_study};
pub use prediction::Prediction;
pub use rows::Cell;
pub use store::{Altered, BatchLog, ChainCheck, HeldBatch, HeldBatches};
pub use verdict::{
    Basis, Charted, ControlSettings, FoundBy, Judged, Rule, RuleSaid, Side, Verdict, judge,
};
