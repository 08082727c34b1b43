//! The bench table: measured rows, how they are read, checked, converted and written.
//!
//! [`table`] holds the rows as arrays; [`columns`] turns named columns of text or numbers into
//! a table and finds every fault; [`gaps`] says what the readings cannot tell; [`template`]
//! is the blank table. Files are read and written with the feature `tables`.

#[cfg(feature = "page")]
mod as_written;
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
mod seen;
pub mod table;
pub mod template;
#[cfg(feature = "tables")]
mod text;
#[cfg(feature = "tables")]
mod workbook;
#[cfg(feature = "tables")]
pub mod write;

#[cfg(feature = "page")]
pub(crate) use as_written::{TableAsWritten, table_as_written};
pub use columns::{CellColumn, ColumnTable, SheetCell, SheetOfTable};
pub(crate) use error::system_words;
pub use error::{Counted, FaultList, Problem, ReadingsError, SheetPlace};
#[cfg(feature = "page")]
pub(crate) use files::read_bench_parts;
#[cfg(feature = "tables")]
pub use files::{
    read_bench, read_bench_bytes, read_bench_bytes_of_worksheet, read_bench_of_worksheet,
    read_bench_text,
};
#[cfg(feature = "cli")]
pub(crate) use gaps::summarise_converted;
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
#[cfg(feature = "tables")]
pub use seen::{Bench, read_bench_or_seen, read_seen_text};
pub use seen::{
    SEEN_CRITERION, Seen, SeenAt, SeenGap, SeenRow, SeenSummary, SeenSyringe, SeenTable,
    summarise_seen,
};
pub use table::{
    BenchTable, Content, NeedleDetails, ReadingKind, RowDetails, RunWithoutGel, Source,
};
pub use template::blank_bench_table;
#[cfg(feature = "tables")]
pub use workbook::blank_bench_workbook;
