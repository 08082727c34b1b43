//! The faces: words, pictures and units as people write them.

pub(crate) mod answer_words;
#[cfg(feature = "batches")]
pub(crate) mod batches_words;
pub mod cautions;
pub mod cli;
pub(crate) mod cooling_words;
pub(crate) mod course;
pub mod drawings;
pub(crate) mod next_words;
pub(crate) mod plan_bench_table;
pub(crate) mod plan_bench_words;
pub mod report;
pub(crate) mod sentences;
pub(crate) mod sheet;
pub(crate) mod standing_words;
pub(crate) mod time_words;
