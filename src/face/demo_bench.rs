//! The invented bench that the demo and the page open with.

use crate::fit::{Calibration, FitError, FitOptions, calibrate};
use crate::readings::{BenchTable, ReadingsError, read_bench_text};

/// The invented bench, as a file.
pub(crate) const BENCH: &str = include_str!("../../data/demo_bench.csv");
/// Its name.
pub(crate) const BENCH_FILE: &str = "demo-bench.csv";

/// The invented bench, read.
///
/// # Errors
/// None that a test would not have found: the table is embedded.
pub(crate) fn demo_table() -> Result<BenchTable, ReadingsError> {
    read_bench_text(BENCH_FILE, BENCH.as_bytes())
}

/// The calibration that the invented bench gives.
///
/// # Errors
/// None that a test would not have found: the table is embedded.
pub(crate) fn demo_calibration(table: &BenchTable, seed: u64) -> Result<Calibration, FitError> {
    calibrate(
        table,
        &FitOptions {
            seed,
            ..FitOptions::default()
        },
    )
}
