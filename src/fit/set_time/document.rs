//! The document of a calibration of set times: what was fitted, how sure it is, what it stands on.

use super::anchors::Anchor;
use super::error::SetTimeError;
use super::scatter::ScatterForm;
use crate::fit::calibration_parts::Warning;
use crate::fit::parameter::Scale;
use crate::readings::Source;
use serde::{Deserialize, Serialize};
use std::path::Path;

/// Schema that this version writes and reads.
pub const SET_TIME_SCHEMA: &str = "heatset/set-time/1";

/// When gels set, by blend.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SetTimeCalibration {
    /// [`SET_TIME_SCHEMA`].
    pub schema: String,
    /// When it was made (RFC 3339); follows SOURCE_DATE_EPOCH where set.
    pub created: String,
    /// Version of heatset that made it.
    pub version: String,
    /// Seed.
    pub seed: u64,
    /// Whether the looks are invented; it travels to every answer.
    pub invented: bool,
    /// The bench tables.
    pub source: Vec<Source>,
    /// The blends.
    pub blends: Vec<SetTimeBlend>,
}

/// When the gels of one blend set.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SetTimeBlend {
    /// Name of the blend.
    pub blend: String,
    /// Criteria, the first being the one that `set_time_ref` holds for.
    pub criteria: Vec<String>,
    /// Form of the scatter.
    pub scatter: ScatterForm,
    /// Reference temperature, in K.
    #[serde(rename = "reference_temp_K")]
    pub reference_temp_k: f64,
    /// The parameters.
    pub parameters: Vec<SetTimeParameter>,
    /// Covariance of the parameters that have a standard error, on their scales, in their order.
    pub covariance: Vec<Vec<f64>>,
    /// How well it fits.
    pub fit: SetTimeSummary,
    /// The forms that were tried.
    pub candidates: Vec<ScatterCandidate>,
    /// Lots; null where none is named.
    pub lots: Option<SetTimeLots>,
    /// What was looked at: answers outside are extrapolated.
    pub range: SetTimeRange,
    /// Figures derived from the parameters.
    pub derived: SetTimeDerived,
    /// Pushes of syringes of known heat: what firmness belongs to one setting.
    pub anchors: Vec<Anchor>,
    /// The syringes that it stands on.
    pub syringes: Vec<SyringeSeen>,
    /// What the reader should know.
    pub warnings: Vec<Warning>,
}

/// Names of parameters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SetTimeName {
    /// Set time at the reference temperature by the first criterion: the median of a lognormal
    /// scatter, the time of 63.2 % of a Weibull one.
    SetTimeRef,
    /// Activation energy.
    ActivationEnergy,
    /// Set time by another criterion over that by the first.
    CriterionRatio,
    /// Scatter of ln of the set time.
    Scatter,
    /// Standard deviation of ln of the set time between lots.
    LotSd,
}

impl SetTimeName {
    /// The name as the document and the command line write it.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::SetTimeRef => "set_time_ref",
            Self::ActivationEnergy => "activation_energy",
            Self::CriterionRatio => "criterion_ratio",
            Self::Scatter => "scatter",
            Self::LotSd => "lot_sd",
        }
    }
}

/// An estimated or held parameter.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SetTimeParameter {
    /// Which.
    pub name: SetTimeName,
    /// The criterion of a `criterion_ratio`; null of the others.
    pub criterion: Option<String>,
    /// SI unit of the estimate.
    pub unit: String,
    /// Scale of the standard error.
    pub scale: Scale,
    /// Estimate, natural scale.
    pub estimate: f64,
    /// Standard error on `scale`; null where held, or at its bound of no spread.
    pub std_error: Option<f64>,
    /// 95 % interval, natural scale, corrected for few syringes; null likewise.
    pub ci95: Option<[f64; 2]>,
    /// Whether it was held.
    pub held: bool,
}

/// How well the fit fits.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SetTimeSummary {
    /// Looks, one a row.
    pub rows: usize,
    /// Syringes, each by one criterion.
    pub syringes: usize,
    /// Of them set when first looked at.
    pub left_censored: usize,
    /// Of them not set when last looked at.
    pub right_censored: usize,
    /// Of them seen not set and, later, set.
    pub interval_censored: usize,
    /// Free parameters.
    pub free_parameters: usize,
    /// Log-likelihood, a prior counted.
    pub log_likelihood: f64,
    /// AICc; null for too few syringes.
    pub aicc: Option<f64>,
    /// Steps of the search.
    pub iterations: usize,
    /// Whether the search ended at a greatest likelihood, by its gradient.
    pub converged: bool,
}

/// A form of scatter that was tried.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ScatterCandidate {
    /// Form.
    pub scatter: ScatterForm,
    /// Log-likelihood; null where it was not found.
    pub log_likelihood: Option<f64>,
    /// AICc.
    pub aicc: Option<f64>,
    /// Akaike weight.
    pub weight: Option<f64>,
    /// Median of set times at the reference temperature, in s.
    pub median_ref_s: Option<f64>,
    /// Time by which 95 of 100 syringes of a usual lot have set there, in s.
    pub by_95_percent_ref_s: Option<f64>,
}

/// Lots.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SetTimeLots {
    /// Lots of the syringes.
    pub count: usize,
    /// Whether they are told apart.
    pub told_apart: bool,
    /// What is known of each; empty where they show no spread.
    pub effects: Vec<SetTimeLotEffect>,
}

/// What is known of one lot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SetTimeLotEffect {
    /// Its code.
    pub lot: String,
    /// Its set time over that of the usual lot.
    pub ratio: f64,
    /// Standard deviation of ln of it.
    pub sd_ln_ratio: f64,
}

/// What was looked at.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SetTimeRange {
    /// Set temperatures, in K.
    #[serde(rename = "heat_temp_K")]
    pub heat_temp_k: [f64; 2],
    /// Times of looks, in s.
    pub heat_time_s: [f64; 2],
}

/// Derived figures.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SetTimeDerived {
    /// Temperature step that makes it ten times as fast at the reference temperature.
    #[serde(rename = "z_value_K")]
    pub z_value_k: f64,
    /// Set times by criterion and temperature looked at.
    pub set_time_s: Vec<SetTimeAt>,
}

/// A set time at a temperature, for the usual lot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SetTimeAt {
    /// Criterion.
    pub criterion: String,
    /// Temperature, in K.
    #[serde(rename = "temp_K")]
    pub temp_k: f64,
    /// Median over syringes, in s.
    pub median: f64,
    /// Its 95 % interval, in s.
    pub median_ci95: [f64; 2],
    /// Time by which 95 of 100 syringes have set, in s.
    pub by_95_percent: f64,
}

/// One syringe.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SyringeSeen {
    /// Data rows, counted from 1 over all tables.
    pub rows: Vec<usize>,
    /// Lot.
    pub lot: Option<String>,
    /// Criterion.
    pub criterion: String,
    /// Set temperature, in K.
    #[serde(rename = "heat_temp_K")]
    pub heat_temp_k: f64,
    /// Latest time at which it was not set, in s; null where none.
    pub not_set_until_s: Option<f64>,
    /// Earliest time at which it was set, in s; null where none.
    pub set_by_s: Option<f64>,
}

impl SetTimeBlend {
    /// A parameter by name; of criteria the first further one.
    #[must_use]
    pub fn parameter(&self, name: SetTimeName) -> Option<&SetTimeParameter> {
        self.parameters.iter().find(|p| p.name == name)
    }

    /// An estimate by name; not a number where there is none.
    #[must_use]
    pub fn estimate(&self, name: SetTimeName) -> f64 {
        self.parameter(name).map_or(f64::NAN, |p| p.estimate)
    }

    /// Standard deviation of ln of the set time between lots; 0 where they show none.
    #[must_use]
    pub fn lot_sd(&self) -> f64 {
        self.parameter(SetTimeName::LotSd)
            .map_or(0.0, |p| p.estimate)
    }

    /// Lots that are told apart; 1 where they are not.
    #[must_use]
    pub fn lots_told_apart(&self) -> usize {
        self.lots
            .as_ref()
            .filter(|lots| lots.told_apart)
            .map_or(1, |lots| lots.count)
    }

    /// By how much greatest likelihood finds the scatter, and with it every standard error, too small.
    ///
    /// # Equation
    /// `exp(p v)`, at most `exp(1/2)`; of complete observations, where `v = 1/(2 n)`, that is
    /// `sqrt(n/(n - p))` to first order
    ///
    /// | symbol | meaning | unit |
    /// |---|---|---|
    /// | p | free coefficients of the place: time, energy, ratios | 1 |
    /// | v | variance of ln of the scatter; 0 where it is held | 1 |
    ///
    /// # Valid for
    /// A correction for few syringes; its worth was looked at by simulation
    /// (`benches/set_time_coverage.rs`).
    ///
    /// # Source
    /// The bias of the variance of greatest likelihood: Harville, J. Am. Stat. Assoc. 72 (1977) 320;
    /// carried over to censored observations by the information on the scatter.
    #[must_use]
    pub fn error_correction_ratio(&self) -> f64 {
        let free = |p: &&SetTimeParameter| {
            p.std_error.is_some() && !matches!(p.name, SetTimeName::Scatter | SetTimeName::LotSd)
        };
        let coefficients = self.parameters.iter().filter(free).count();
        let error = self
            .parameter(SetTimeName::Scatter)
            .and_then(|p| p.std_error);
        error_correction_ratio(coefficients, error.map_or(0.0, |error| error * error))
    }

    /// Place of a criterion; the only one where none is named.
    ///
    /// # Errors
    /// Several and none named, or a name that is not there.
    pub fn criterion(&self, asked: Option<&str>) -> Result<usize, SetTimeError> {
        match (asked, self.criteria.len()) {
            (None, 1) => Ok(0),
            (None, _) => Err(SetTimeError::CriterionNotNamed {
                criteria: self.criteria.clone(),
            }),
            (Some(asked), _) => self
                .criteria
                .iter()
                .position(|c| c == asked)
                .ok_or_else(|| SetTimeError::UnknownCriterion {
                    asked: asked.to_owned(),
                    criteria: self.criteria.clone(),
                }),
        }
    }

    /// ln of a criterion's set time over that of the first.
    #[must_use]
    pub fn ln_criterion_ratio(&self, criterion: usize) -> f64 {
        let ratio = |place: usize| {
            self.parameters
                .iter()
                .filter(|p| p.name == SetTimeName::CriterionRatio)
                .nth(place)
                .map_or(1.0, |p| p.estimate)
        };
        criterion
            .checked_sub(1)
            .map_or(0.0, |place| ratio(place).ln())
    }
}

impl SetTimeCalibration {
    /// The blend asked for; the only one where none is named.
    ///
    /// # Errors
    /// Several blends and none named, or a name that is not there.
    pub fn blend(&self, name: Option<&str>) -> Result<&SetTimeBlend, SetTimeError> {
        let names = || self.blends.iter().map(|b| b.blend.clone()).collect();
        match (name, self.blends.as_slice()) {
            (None, [only]) => Ok(only),
            (None, _) => Err(SetTimeError::BlendNotNamed { blends: names() }),
            (Some(name), blends) => {
                blends
                    .iter()
                    .find(|b| b.blend == name)
                    .ok_or_else(|| SetTimeError::UnknownBlend {
                        asked: name.to_owned(),
                        blends: names(),
                    })
            }
        }
    }

    /// The document as JSON text.
    ///
    /// # Errors
    /// Values that JSON cannot hold; the fit makes none.
    pub fn to_json(&self) -> Result<String, SetTimeError> {
        let mut text = serde_json::to_string_pretty(self).map_err(|e| SetTimeError::Document {
            file: String::new(),
            reason: e.to_string(),
        })?;
        text.push('\n');
        Ok(text)
    }

    /// Reads a document from JSON text; `file` names it in messages.
    ///
    /// # Errors
    /// Text that is no calibration of set times, or one that was changed into something no fit writes.
    pub fn from_json(file: &str, text: &str) -> Result<Self, SetTimeError> {
        let fault = |reason: String| SetTimeError::Document {
            file: file.to_owned(),
            reason,
        };
        let found: Self = serde_json::from_str(text).map_err(|e| fault(e.to_string()))?;
        if found.schema != SET_TIME_SCHEMA {
            return Err(fault(format!("its schema is '{}'", found.schema)));
        }
        for blend in &found.blends {
            if let Some(what) = blend.fault() {
                return Err(fault(format!("blend {}: {what}", blend.blend)));
            }
        }
        Ok(found)
    }

    /// Reads a document from a file where it is one of set times; none where it is another.
    ///
    /// # Errors
    /// A file that cannot be read, or a damaged document of set times.
    pub fn read_if_set_time(path: &Path) -> Result<Option<Self>, SetTimeError> {
        let file = path.display().to_string();
        let text = std::fs::read_to_string(path).map_err(|e| SetTimeError::File {
            file: file.clone(),
            reason: e.to_string(),
        })?;
        if !says_set_time(&text) {
            return Ok(None);
        }
        Self::from_json(&file, &text).map(Some)
    }
}

/// The ratio of [`SetTimeBlend::error_correction_ratio`].
pub(super) fn error_correction_ratio(coefficients: usize, ln_scatter_variance: f64) -> f64 {
    (coefficients as f64 * ln_scatter_variance).min(0.5).exp()
}

/// Whether a JSON text calls itself a document of set times.
pub(crate) fn says_set_time(text: &str) -> bool {
    #[derive(Deserialize)]
    struct Schema {
        schema: String,
    }
    serde_json::from_str::<Schema>(text).is_ok_and(|found| found.schema == SET_TIME_SCHEMA)
}

impl SetTimeBlend {
    /// What no fit writes.
    fn fault(&self) -> Option<String> {
        let positive = |value: f64| value.is_finite() && value > 0.0;
        for name in [SetTimeName::SetTimeRef, SetTimeName::Scatter] {
            if !positive(self.estimate(name)) {
                return Some(format!("{} must be above 0", name.as_str()));
            }
        }
        if !self.estimate(SetTimeName::ActivationEnergy).is_finite() {
            return Some("there is no activation_energy".to_owned());
        }
        if !positive(self.reference_temp_k) {
            return Some("the reference temperature is not above 0 K".to_owned());
        }
        let ratios = self
            .parameters
            .iter()
            .filter(|p| p.name == SetTimeName::CriterionRatio)
            .count();
        if self.criteria.is_empty() || ratios + 1 != self.criteria.len() {
            return Some("criteria and their ratios do not go together".to_owned());
        }
        let known = self
            .parameters
            .iter()
            .filter(|p| p.std_error.is_some())
            .count();
        let is_square = self.covariance.len() == known
            && self.covariance.iter().all(|row| row.len() == known)
            && self.covariance.iter().flatten().all(|v| v.is_finite());
        (!is_square).then(|| format!("the covariance is not {known} by {known} numbers"))
    }
}
