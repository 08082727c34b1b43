//! A bench of what is only seen: syringes that had set, or not, when somebody looked.
//!
//! `table` holds the rows, `reader` checks them, `syringes` joins the looks at one syringe,
//! `summary` says what they cover and cannot tell.

#[cfg(feature = "tables")]
mod files;
mod reader;
mod summary;
mod syringes;
mod table;

#[cfg(feature = "tables")]
pub use files::{Bench, read_bench_or_seen, read_seen_text};
pub use summary::{SeenAt, SeenGap, SeenSummary, summarise_seen};
pub use syringes::SeenSyringe;
pub use table::{SEEN_CRITERION, Seen, SeenRow, SeenTable};
