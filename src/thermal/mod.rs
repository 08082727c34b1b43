//! What the gel felt: temperature histories and the heat dose they amount to.
//!
//! The block's clock is not the gel's: a syringe put into a hot block warms up first. A
//! [`TemperatureHistory`] turns clock time at a set temperature into the equivalent time at the
//! reference temperature, the heat dose, for the activation energy it is asked with.

mod axial_history;
mod block_check;
mod block_check_document;
mod block_plateau;
mod block_trace_file;
mod boiling;
mod closed_pressure;
pub mod conduction;
mod contact_fit;
mod cool_down;
mod declared_history;
mod dose_clock;
mod dose_table;
mod even_clock;
mod exponential;
mod gel_doses;
mod gel_history;
mod input_error;
mod input_text;
mod isothermal;
mod lag;
mod lag_fit;
mod monotone_cubic;
mod near_match;
mod quadrature;
mod sampled_clock;
mod sampled_history;
mod sampled_run;
mod schedule;
mod schedule_check;
mod schedule_file;
mod schedule_history;
mod stated_warm_up;
mod syringe_setup;
mod temperature_history;
mod timed_schedule;
mod trace;
mod trace_file;
mod trace_table;
mod warm_up;
mod warm_up_summary;
mod water_vapour;

pub use declared_history::{
    DeclaredCooling, DeclaredHistory, DeclaredLength, DeclaredSyringe, HistorySource,
};
pub use dose_clock::DoseClock;
pub(crate) use dose_clock::warmed_clock_time_s;
pub use dose_table::TabledClock;
pub use even_clock::EvenClock;
pub(crate) use exponential::{LARGEST_EXPONENT, write_decays};
pub use isothermal::Isothermal;
pub use lag::WarmUpLag;
pub use quadrature::{LegendreRule, legendre_rule};
pub use sampled_clock::SampledClock;
pub use sampled_history::SampledHistory;
pub use schedule_history::Follows;
pub use stated_warm_up::StatedWarmUp;
pub use temperature_history::{HeatDose, TemperatureHistory, relative_rate};
pub use warm_up::{ThermalError, WarmUp};

pub use block_check::{BlockCheck, BlockTrace, PlaceCheck, SetCheck, check_block};
pub use block_plateau::{BlockCheckOptions, BlockDip, BlockPlateau, block_dip, block_plateau};
pub use block_trace_file::{BlockTraceFile, parse_block_traces, read_block_traces};
pub use closed_pressure::{
    ClosedPressure, ClosedSyringe, PressureParts, StopperTravel, closed_pressure,
};
pub use input_error::{InputFault, InputFaults, SHOWN_INPUT_FAULTS, ThermalInputError};
pub use lag_fit::{LagFit, LagStart, fit_lag, fit_lag_from};
pub use schedule::{HeatSchedule, ScheduleClock, ScheduleStage, StageKind};
pub use schedule_file::{parse_heat_schedule, read_heat_schedule};
pub use timed_schedule::{ScheduleCaution, TimedSchedule, TimedStage};
pub use trace::{
    MeasuredTrace, TracePlateau, TracePoint, TraceReach, TraceScale, TraceTemperature,
};
pub use trace_file::{TraceFile, parse_trace, read_trace};
pub use water_vapour::water_saturation_pressure_pa;

pub use block_check_document::{BLOCK_CHECK_SCHEMA, BlockCheckDocument};
pub use boiling::{check_not_boiling, hottest_block_kelvin};
pub use contact_fit::{ContactFit, ContactQuestion, ProbePlace, fit_contact};
pub use cool_down::{CoolDown, CoolTime, CoreUntil, cool_time};
pub use gel_doses::{ByPart, DoseReference, GelDoses, share_under_half_of_mean, volume_mean};
pub use gel_history::{GelHistory, gel_history};
pub use syringe_setup::{SyringeInput, SyringeModel, SyringeSetup};
pub use warm_up_summary::{
    EndDoses, InputEffect, WarmUpBasis, WarmUpSummary, filled_length_m, warm_up_summary,
    what_matters,
};
