//! A question about standing, and its answer.

use super::assumptions::Assumptions;
use super::force_table::ForceSpread;
use super::gel::StatedThinning;
use super::setup::PushSetup;
use crate::fit::Warning;
use crate::fit::standing::StandingForm;
use crate::thermal::WarmUp;
use serde::Serialize;

/// Stands beside every time of an answer.
pub const NOT_A_SHELF_LIFE: &str = "Times say only until when the gel passes the needle by its readings (passes the needle until); this is not a shelf life.";

/// Code of the warning that every answer about standing ends with.
pub const PASSING_ONLY: &str = "passing_only";
/// Its words.
pub const PASSING_ONLY_WORDS: &str = "That a gel passes the needle says nothing of sterility: this heating does not sterilise, and what may grow while a gel stands is not looked at here.";

/// Standing times at which the push is told, as far as they were measured, in s: 0, 1, 2, 4, 8, 24, 48
/// and 168 h.
pub const STAND_TIMES_S: [f64; 8] = [
    0.0, 3600.0, 7200.0, 14_400.0, 28_800.0, 86_400.0, 172_800.0, 604_800.0,
];

/// A question about standing.
#[derive(Debug, Clone, PartialEq)]
pub struct StandQuestion {
    /// Set temperature of the block, in K.
    pub set_kelvin: f64,
    /// Heat time, in s.
    pub heat_time_s: f64,
    /// Storage temperatures, in K; those that were measured where none is named.
    pub stand_kelvin: Vec<f64>,
    /// Standing times at which the push is asked for, in s; [`STAND_TIMES_S`] and the longest measured
    /// where none is named.
    pub stand_times_s: Vec<f64>,
    /// Needle, syringe and push, with the force limit.
    pub setup: PushSetup,
    /// Shear thinning as stated.
    pub thinning: StatedThinning,
    /// Warm-up in place of the calibration's.
    pub warm_up: Option<WarmUp>,
    /// Warm-ups over the range of the contact coefficient, all as likely as each other.
    pub contact_histories: Vec<WarmUp>,
    /// Altitude of the place, in m.
    pub altitude_m: f64,
    /// Whether answers outside the measured range are wanted.
    pub extrapolate: bool,
    /// Number of draws.
    pub draws: usize,
    /// Seed.
    pub seed: u64,
    /// Whether the calibration stands on invented data.
    pub invented: bool,
}

/// Standing times until which the gel passes; null where that lies outside what was measured, or is
/// never over.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PassesUntil {
    /// At least 95 of 100 syringes pass until here.
    pub probability95: Option<f64>,
    /// By the estimates alone.
    pub point: Option<f64>,
    /// Median over the draws.
    pub median: Option<f64>,
    /// 95 % interval over the draws.
    pub interval95: [Option<f64>; 2],
}

/// The push after a standing time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PushAfter {
    /// Standing time, in s.
    pub stand_time_s: f64,
    /// Plunger force, in N.
    #[serde(rename = "plunger_force_N")]
    pub plunger_force_n: ForceSpread,
    /// Probability of staying under the limit.
    pub probability: f64,
    /// Whether it lies outside what was measured.
    pub extrapolated: bool,
}

/// The answer at one storage temperature.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AtStorage {
    /// Storage temperature, in K.
    #[serde(rename = "stand_temp_K")]
    pub stand_temp_k: f64,
    /// Passes the needle until, in s of standing.
    pub passes_needle_until_s: PassesUntil,
    /// What ends it: `force`, `measured range`, or `never reached` where the gel levels off under the
    /// limit.
    pub limited_by: String,
    /// Longest standing time that was measured there, in s; null at an extrapolated temperature.
    pub measured_until_s: Option<f64>,
    /// Whether temperature or time lies outside what was measured.
    pub extrapolated: bool,
    /// The push after standing times.
    pub push_after: Vec<PushAfter>,
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StandAnswer {
    /// Set temperature, in K.
    #[serde(rename = "heat_temp_K")]
    pub heat_temp_k: f64,
    /// Heat time, in s.
    pub heat_time_s: f64,
    /// Whether at least 95 of 100 syringes pass at once, without any standing.
    pub passes_at_once: bool,
    /// Share that does.
    pub passes_at_once_probability: f64,
    /// One a storage temperature.
    pub at: Vec<AtStorage>,
    /// `levels-off` or `slope`.
    pub form: StandingForm,
    /// [`NOT_A_SHELF_LIFE`].
    pub meaning: &'static str,
    /// What is taken for granted.
    pub assumptions: Assumptions,
    /// What the reader should know.
    pub warnings: Vec<Warning>,
}
