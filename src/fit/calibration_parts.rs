//! The pieces of a calibration document.

use super::intervals::IntervalKind;
use super::parameter::{ParameterName, Scale};
use super::robust::RobustLoss;
use crate::kinetics::FirmnessLaw;
use serde::{Deserialize, Serialize};

/// An estimated or held parameter.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Parameter {
    /// Which.
    pub name: ParameterName,
    /// SI unit of the estimate.
    pub unit: String,
    /// Scale of the standard error.
    pub scale: Scale,
    /// Estimate, natural scale.
    pub estimate: f64,
    /// Standard error on `scale`; null where held.
    pub std_error: Option<f64>,
    /// 95 % interval, natural scale; null where held.
    pub ci95: Option<[f64; 2]>,
    /// Whether it was held.
    pub held: bool,
}

/// Derived figures.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Derived {
    /// `A = k_ref exp(E/(R T_ref))`; null where it leaves the range of doubles.
    pub pre_exponential_per_s: Option<f64>,
    /// Temperature step that changes the rate tenfold at the reference temperature.
    #[serde(rename = "z_value_K")]
    pub z_value_k: f64,
    /// Time in which half sets, by measured temperature, for a gel at that temperature.
    pub half_time_s: Vec<HalfTime>,
    /// Yield stress of the fully set gel, where one was fitted or held.
    #[serde(
        rename = "yield_stress_plateau_Pa",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub yield_stress_plateau_pa: Option<YieldStress>,
}

/// A yield stress: share times plateau times reference shear rate.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct YieldStress {
    /// Estimate, in Pa.
    pub estimate: f64,
    /// 95 % interval, in Pa, first order on the logarithm; null where the share was held.
    pub ci95: Option<[f64; 2]>,
}

/// Half time at a temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct HalfTime {
    /// Temperature, in K.
    #[serde(rename = "temp_K")]
    pub temp_k: f64,
    /// Half time, in s.
    pub value: f64,
}

/// How well the fit fits.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FitSummary {
    /// Rows fitted.
    pub rows: usize,
    /// Rows less free parameters.
    pub degrees_of_freedom: usize,
    /// `sqrt(weighted_rss/(rows - free parameters))`, of ln P under relative errors.
    pub residual_sd: f64,
    /// Weighted sum of squares.
    pub weighted_rss: f64,
    /// Log-likelihood at the residual sd of greatest likelihood; null for an exact fit.
    pub log_likelihood: Option<f64>,
    /// AICc, the residual sd counted; null for an exact fit or too few rows.
    pub aicc: Option<f64>,
    /// Iterations of the search.
    pub iterations: usize,
    /// Whether the search ended in a minimum, by its gradient.
    pub converged: bool,
    /// Kind of the parameters' intervals: `t`, `profile` or `bootstrap`.
    #[serde(default)]
    pub interval: IntervalKind,
    /// Loss that outlying rows were taken with.
    #[serde(default)]
    pub robust: RobustLoss,
}

/// A law that was tried.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Candidate {
    /// Firmness law.
    pub law: FirmnessLaw,
    /// Order.
    pub order: f64,
    /// Dose lag: `none`, `fitted` or `held`.
    pub lag: String,
    /// Whether a yield stress was fitted with it.
    #[serde(default)]
    pub yield_stress: bool,
    /// AICc; null for an exact fit or too few rows.
    pub aicc: Option<f64>,
    /// Akaike weight.
    pub weight: Option<f64>,
}

/// Lots in the table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Lots {
    /// How many.
    pub count: usize,
    /// Standard deviations between lots, by parameter, on the logarithm; empty where lots were
    /// fitted as one.
    pub sd: std::collections::BTreeMap<String, f64>,
    /// Restricted log-likelihood of the fit with lots; null where lots were fitted as one.
    #[serde(default)]
    pub log_likelihood: Option<f64>,
    /// Each lot on its own; empty where lots were fitted as one.
    #[serde(default)]
    pub effects: Vec<LotEffect>,
}

impl Lots {
    /// Whether the spread between lots was estimated.
    #[must_use]
    pub fn are_separate(&self) -> bool {
        !self.sd.is_empty()
    }
}

/// One lot of a bench.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LotEffect {
    /// Code of the lot.
    pub lot: String,
    /// Its readings.
    pub rows: usize,
    /// Its free parameters, natural scale.
    pub estimates: std::collections::BTreeMap<String, f64>,
    /// Their covariance on their scales, in the order of the document's covariance.
    pub covariance: Vec<Vec<f64>>,
}

/// Measured ranges.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Range {
    /// Set temperatures, in K.
    #[serde(rename = "heat_temp_K")]
    pub heat_temp_k: [f64; 2],
    /// Heat times, in s.
    pub heat_time_s: [f64; 2],
    /// Shear rates, in 1/s.
    pub shear_rate_per_s: Option<[f64; 2]>,
    /// Readings.
    pub reading: [f64; 2],
}

/// Replicate lack-of-fit test.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LackOfFit {
    /// F ratio.
    pub f: f64,
    /// Degrees of freedom of the lack of fit.
    pub df1: usize,
    /// Degrees of freedom of the replicates.
    pub df2: usize,
    /// Probability of a larger ratio.
    pub p: f64,
}

/// Two parameters and their correlation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Correlation {
    /// The two.
    pub pair: [ParameterName; 2],
    /// Correlation of their estimates.
    pub value: f64,
}

/// Verdicts on the fit. Rows are counted from 1 over the data rows of all tables.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, Default)]
pub struct Diagnostics {
    /// Replicate lack of fit; null without replicates.
    pub lack_of_fit: Option<LackOfFit>,
    /// Probability of as few or as many runs of signs.
    pub runs_p: Option<f64>,
    /// Anderson-Darling probability of normal residuals.
    pub normality_p: Option<f64>,
    /// Condition of the column-scaled derivatives.
    pub condition: Option<f64>,
    /// Largest correlation between two estimates.
    pub largest_correlation: Option<Correlation>,
    /// Rows that pull hardest, the hardest first.
    pub influential: Vec<usize>,
    /// Rows that a robust loss has down-weighted.
    pub downweighted: Vec<usize>,
}

/// Something that the reader should know.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Warning {
    /// Short code, for programs.
    pub code: String,
    /// Words, for people.
    pub message: String,
}

impl Warning {
    /// A warning from its code and words.
    pub fn new(code: &str, message: impl Into<String>) -> Self {
        Self {
            code: code.to_owned(),
            message: message.into(),
        }
    }
}

/// A reading of the blend, as it went into the fit or was left out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FittedReading {
    /// Data row, counted from 1 over all tables.
    pub row: usize,
    /// Set temperature, in K.
    #[serde(rename = "heat_temp_K")]
    pub heat_temp_k: f64,
    /// Clock time, in s.
    pub heat_time_s: f64,
    /// Reading, in `reading_unit`.
    pub reading: f64,
    /// Stated standard deviation of the reading, in `reading_unit`.
    pub reading_sd: Option<f64>,
    /// Shear rate, in 1/s.
    pub shear_rate_per_s: Option<f64>,
    /// Temperature of the gel when it was read, in K, where an activation energy of flow was fitted.
    #[serde(
        rename = "read_temp_K",
        default,
        skip_serializing_if = "Option::is_none"
    )]
    pub read_temp_k: Option<f64>,
    /// Lot.
    pub lot: Option<String>,
    /// Whether it was fitted.
    pub used: bool,
    /// Residual on the fitted scale, reading less model; null where not fitted.
    pub residual: Option<f64>,
}
