//! Before the first reading: the smallest bench that tells a heat time as well as asked.
//!
//! What is believed of the gel ([`Beliefs`]) is laid out in cases; each case says how well a set of
//! readings would tell the heat time. An exchange of settings finds the best readings of a lot, and
//! Student's t with lots less one degrees of freedom says what a number of lots makes of them.

mod beliefs;
mod believed_blend;
mod error;
mod exchange;
mod information;
mod planner;
mod sessions;
mod settings;
mod smallest;
mod widths;

pub use beliefs::{BeliefCase, Beliefs, Span};
pub use error::BenchPlanError;
pub use exchange::{Aggregate, CaseReadings, DesignWeights, best_settings};
pub use sessions::{BenchReading, BenchSession, laid_out_in_sessions};
pub use settings::{BenchLimits, BenchSetting, candidate_temperatures_kelvin, candidate_times_s};
pub use smallest::{
    AskedWidth, BenchPlan, BenchPlanQuestion, CaseWidths, ForWhom, PlanStep, WidthFloor,
    smallest_bench,
};
pub use widths::{LotWidths, WidthParts, half_width_ratio, lot_widths};
