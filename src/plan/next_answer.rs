//! What an answer about the next reading holds.

use super::another_lot::LotFactors;
use crate::fit::{ParameterName, Scale, Warning};
use serde::Serialize;

/// What the best reading is best for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Narrows {
    /// The asked heat time: c-optimal.
    HeatTime,
    /// All parameters together: D-optimal.
    Parameters,
}

/// A heat time's 95 % intervals, in s.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct HeatTimeIntervals {
    /// Of the heat time of the fitted curve.
    pub curve_s: [f64; 2],
    /// Of that of one syringe: the spread between lots where it is known, the scatter of single
    /// readings and the bore included.
    pub syringe_s: [f64; 2],
}

/// The asked answer as it stands.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AskedNow {
    /// Set temperature, in K.
    #[serde(rename = "heat_temp_K")]
    pub heat_temp_k: f64,
    /// Heat time at which the estimates alone give the force, in s.
    pub heat_time_s_point: f64,
    /// Its intervals now.
    pub heat_time_interval95: HeatTimeIntervals,
    /// Whether it lies outside what was measured.
    pub extrapolated: bool,
}

/// A reading that could be taken.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ProposedReading {
    /// Set temperature, in K.
    #[serde(rename = "heat_temp_K")]
    pub heat_temp_k: f64,
    /// Heat time on the clock of the bench, in s.
    pub heat_time_s: f64,
    /// Shear rate of the reading, in 1/s; null where no flow index was fitted: as the bench reads.
    pub shear_rate_per_s: Option<f64>,
    /// Reading that the fitted curve expects there, in the unit of the calibration.
    pub expected_reading: f64,
    /// Whether it is longer than any heat time that was measured.
    pub outside_measured_times: bool,
    /// Intervals of the asked answer with it; null where no answer is asked for.
    pub heat_time_interval95: Option<HeatTimeIntervals>,
    /// Standard error of ln heat time with it over that without; null where no answer is asked for.
    pub heat_time_std_error_ratio: Option<f64>,
    /// Geometric mean of the principal standard errors of the parameters with it over that without.
    pub parameter_std_error_ratio: f64,
}

/// A parameter's standard error, now and with the best reading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NarrowedParameter {
    /// Which.
    pub name: ParameterName,
    /// SI unit of the estimate.
    pub unit: String,
    /// Scale of the standard errors.
    pub scale: Scale,
    /// Now.
    pub std_error_now: f64,
    /// With the best reading.
    pub std_error_after: f64,
}

/// What another lot would buy against more readings.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LotOutlook {
    /// Lots at hand.
    pub lots: usize,
    /// Whether the spread between lots is known; lots are fitted as one where it is not.
    pub lot_spread_known: bool,
    /// Student's factors.
    #[serde(flatten)]
    pub factors: LotFactors,
    /// Readings that a lot has on average.
    pub readings_a_lot: usize,
    /// Standard error with so many more readings on the lots at hand, each the best, over that now:
    /// of the fitted curve's ln heat time, or where none is asked of the parameters.
    pub std_error_ratio_with_as_many_readings: f64,
    /// 95 % interval of a new lot's heat time now, in s; null where the spread is not known or no
    /// answer is asked for.
    pub new_lot_heat_time_s_now: Option<[f64; 2]>,
    /// The same with another lot of as many readings.
    pub new_lot_heat_time_s_with_another_lot: Option<[f64; 2]>,
    /// The same with as many more readings on the lots at hand.
    pub new_lot_heat_time_s_with_as_many_readings: Option<[f64; 2]>,
}

/// Several more readings on the lots at hand, each the best that is left to take.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SeveralReadings {
    /// How many.
    pub readings: usize,
    /// Intervals of the asked answer with them; null where no answer is asked for.
    pub heat_time_interval95: Option<HeatTimeIntervals>,
    /// Standard error with them over that now: of ln heat time of the fitted curve, or where none
    /// is asked the geometric mean of the principal ones of the parameters.
    pub std_error_ratio: f64,
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NextAnswer {
    /// What the proposals narrow most.
    pub narrows: Narrows,
    /// The asked answer; null where none.
    pub asked: Option<AskedNow>,
    /// Unit of the expected readings.
    pub reading_unit: String,
    /// The best readings, the best first.
    pub proposals: Vec<ProposedReading>,
    /// The best of the settings that were measured, taken once more.
    pub repeat: Option<ProposedReading>,
    /// Several more readings, each the best that is left.
    pub several: SeveralReadings,
    /// The parameters with the best reading.
    pub parameters: Vec<NarrowedParameter>,
    /// What another lot would buy; null with fewer than two lots.
    pub another_lot: Option<LotOutlook>,
    /// What the reader should know.
    pub warnings: Vec<Warning>,
}
