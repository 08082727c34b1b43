//! A question about heat time, and its answer.

use super::alternatives::Alternative;
use super::assumptions::Assumptions;
use super::block_says::BlockSays;
use super::draws::Varied;
use super::finest_needle::NeedleWindow;
use super::gel::StatedThinning;
use super::hand_over::CoolingAsked;
use super::setup::PushSetup;
use super::thinning_consequence::ThinningConsequence;
use crate::fit::Warning;
use crate::reference::PushBand;
use crate::thermal::WarmUp;
use serde::Serialize;
use std::collections::BTreeMap;

/// Draws of an answer.
pub const DEFAULT_DRAWS: usize = 10_000;

/// The least that the gel must be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Least {
    /// A plunger force through the needle asked about, in N.
    Force(f64),
    /// A reading, in SI.
    Reading(f64),
}

/// A question about heat time.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeQuestion {
    /// Set temperature of the block, in K.
    pub set_kelvin: f64,
    /// Needle, syringe and push, with the force limit.
    pub setup: PushSetup,
    /// Shear thinning as stated.
    pub thinning: StatedThinning,
    /// The least firmness, if any.
    pub least: Option<Least>,
    /// Warm-up in place of the calibration's.
    pub warm_up: Option<WarmUp>,
    /// Warm-ups over the range of the contact coefficient, all as likely as each other; none where
    /// it is not uncertain.
    pub contact_histories: Vec<WarmUp>,
    /// Cooling after the block.
    pub cooling: CoolingAsked,
    /// Altitude of the place, in m.
    pub altitude_m: f64,
    /// Whether answers outside the measured range are wanted.
    pub extrapolate: bool,
    /// Number of draws.
    pub draws: usize,
    /// Which inputs the interval and the window allow for; all, unless for a study.
    pub varied: Varied,
    /// Seed.
    pub seed: u64,
    /// Whether the calibration stands on invented data.
    pub invented: bool,
}

/// The window.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Default)]
pub struct Window {
    /// Firm enough with 95 % probability from here on; null where not asked.
    pub not_before: Option<f64>,
    /// Aim.
    pub aim: Option<f64>,
    /// Passes with 95 % probability until here.
    pub not_beyond: Option<f64>,
}

/// Median and 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Spread {
    /// Median.
    pub median: f64,
    /// 95 % interval.
    pub interval95: [f64; 2],
}

/// A gel that is hotter at the wall than in the middle, or that stands out of the block.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Uneven {
    /// Least and greatest conversion of a part of it.
    pub conversion: [f64; 2],
    /// Share of the volume that is set less than half as far as the mean.
    pub unset_share: f64,
    /// Plunger force while the least and the most set part pass the needle unmixed, in N, by the
    /// point estimates.
    #[serde(rename = "plunger_force_N")]
    pub plunger_force_n: [f64; 2],
}

/// What to expect at the aim.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AtAim {
    /// Plunger force, in N.
    #[serde(rename = "plunger_force_N")]
    pub plunger_force_n: Spread,
    /// How hard a hand finds the median push, by the published bands.
    pub hand_band: PushBand,
    /// Reading at the estimates.
    pub reading: f64,
    /// Conversion at the estimates.
    pub conversion: f64,
    /// How unevenly it is set; null for a gel of one temperature.
    pub uneven: Option<Uneven>,
    /// Shear rate at the needle's wall, in 1/s.
    pub wall_shear_rate_per_s: f64,
    /// Reynolds number.
    pub reynolds: f64,
    /// Pressure in the needle, in Pa.
    #[serde(rename = "pressure_Pa")]
    pub pressure_pa: f64,
    /// Pressure at the joint, in Pa.
    #[serde(rename = "joint_pressure_Pa")]
    pub joint_pressure_pa: f64,
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TimeAnswer {
    /// Set temperature, in K.
    #[serde(rename = "heat_temp_K")]
    pub heat_temp_k: f64,
    /// The window, in s.
    pub heat_time_s: Window,
    /// Time at which the estimates alone give the force, in s.
    pub heat_time_s_point: Option<f64>,
    /// Median over the draws, in s.
    pub heat_time_s_median: Option<f64>,
    /// 95 % interval over the draws, in s; an end that lies outside the measured times is null.
    pub heat_time_s_interval95: [Option<f64>; 2],
    /// What to expect at the aim.
    pub at_aim: Option<AtAim>,
    /// Time to cool; null until it can be computed from syringe and air.
    pub cool_time_s: Option<f64>,
    /// The same in air that moves much and in air that hardly moves, in s; null where the
    /// coefficient was given, or the air is too warm.
    pub cool_time_s_range: Option<[f64; 2]>,
    /// Gel temperature at hand-over, in K; null where not computed.
    #[serde(rename = "gel_temp_K")]
    pub gel_temp_k: Option<f64>,
    /// What the block's check says; null where none was given.
    pub block: Option<BlockSays>,
    /// Whether there is a window.
    pub window_open: bool,
    /// What ends the window: `force`, `measured range`, `plateau`; or what closes it: `force`,
    /// `firmness`.
    pub limited_by: String,
    /// Share of the variance of ln heat time, by input.
    pub contributions: BTreeMap<String, f64>,
    /// What would open a closed window.
    pub alternatives: Vec<Alternative>,
    /// Force at the shortest measured heat time, in N: what a closed window stands before.
    #[serde(rename = "force_at_shortest_N")]
    pub force_at_shortest_n: f64,
    /// The push at the aim (at the shortest measured time where there is none) without thinning and
    /// with it, where the flow index is not fitted.
    pub if_flow_index: Vec<ThinningConsequence>,
    /// The windows of all needles, the widest first, where any of them was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub needles: Option<Vec<NeedleWindow>>,
    /// What is taken for granted.
    pub assumptions: Assumptions,
    /// What the reader should know.
    pub warnings: Vec<Warning>,
}
