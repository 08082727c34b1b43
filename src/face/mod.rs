//! The faces: words, pictures and units as people write them.

pub(crate) mod agreement_words;
pub(crate) mod answer_words;
#[cfg(feature = "batches")]
pub(crate) mod batches_words;
pub mod cautions;
pub mod cli;
pub(crate) mod cooling_words;
pub(crate) mod course;
pub(crate) mod demo_bench;
pub mod drawings;
pub(crate) mod next_words;
#[cfg(feature = "page")]
pub mod page;
pub(crate) mod plan_bench_table;
pub(crate) mod plan_bench_words;
pub(crate) mod practice_words;
pub(crate) mod precision_words;
pub(crate) mod reading_time_words;
pub mod report;
pub(crate) mod sentences;
pub(crate) mod set_time_words;
pub(crate) mod sheet;
pub(crate) mod standing_words;
pub(crate) mod time_words;
