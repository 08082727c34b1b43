//! The bench table: measured rows, how they are read, checked, converted and written.
//!
//! [`table`] holds the rows as arrays; [`columns`] turns named columns of text or numbers into
//! a table and finds every fault; [`gaps`] says what the readings cannot tell; [`template`]
//! is the blank table. Files are read and written with the feature `tables`.

pub mod columns;
mod error;
#[cfg(feature = "tables")]
mod files;
#[cfg(feature = "tables")]
mod frame;
pub mod gaps;
mod header;
mod kind;
mod limits;
mod needle_runs;
mod needs;
mod number;
#[cfg(feature = "tables")]
mod opacity;
#[cfg(feature = "tables")]
mod page_headers;
#[cfg(feature = "tables")]
mod parquet;
#[cfg(feature = "tables")]
mod records;
mod row;
mod row_reader;
pub mod table;
pub mod template;
#[cfg(feature = "tables")]
mod text;
#[cfg(feature = "tables")]
pub mod write;

pub use columns::{CellColumn, ColumnTable};
pub use error::{Counted, FaultList, Problem, ReadingsError};
#[cfg(feature = "tables")]
pub use files::{read_bench, read_bench_bytes, read_bench_text};
pub use gaps::{Gap, TableSummary, summarise};
pub use limits::{LARGEST_FILE_BYTES, LARGEST_ROWS};
pub use needle_runs::{
    BoreSource, BoreUsed, CommonParts, ForceAssumption, FrictionSource, FrictionUsed, NeedleAdvice,
    NeedleCoverage, NeedleReading, ViscosityReadings,
};
#[cfg(feature = "tables")]
pub use opacity::{
    CARD_STEPS, Judgement, MeasuredPush, Opacity, OpacityTable, read_opacity, read_opacity_text,
};
pub use table::{
    BenchTable, Content, NeedleDetails, ReadingKind, RowDetails, RunWithoutGel, Source,
};
pub use template::blank_bench_table;
