//! The calibration document: what was fitted, how sure it is, and what it stands on.

use super::bench::ErrorModel;
use super::error::FitError;
use super::intervals::IntervalKind;
use super::parameter::{ParameterName, Scale};
use super::robust::RobustLoss;
use crate::kinetics::{ArrheniusRate, FirmnessCurve, FirmnessLaw, ReactionOrder, SettingModel};
use crate::readings::{ReadingKind, Source};
use crate::thermal::{DeclaredHistory, WarmUp};
use serde::{Deserialize, Serialize};
use std::path::Path;

/// Schema that this version writes and reads.
pub const SCHEMA: &str = "heatset/calibration/1";

/// A calibration of one bench: one entry a blend.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Calibration {
    /// [`SCHEMA`].
    pub schema: String,
    /// When it was made (RFC 3339); follows SOURCE_DATE_EPOCH where set.
    pub created: String,
    /// Version of heatset that made it.
    pub version: String,
    /// Seed of whatever drew random numbers.
    pub seed: u64,
    /// Whether the readings are invented; it travels to every answer and picture.
    pub invented: bool,
    /// The bench tables.
    pub source: Vec<Source>,
    /// The blends.
    pub blends: Vec<BlendCalibration>,
}

/// The fit of one blend.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BlendCalibration {
    /// Name of the blend.
    pub blend: String,
    /// What was measured.
    pub reading: ReadingKind,
    /// Unit of initial, plateau and readings below.
    pub reading_unit: String,
    /// Firmness law.
    pub law: FirmnessLaw,
    /// Order of the setting reaction.
    pub order: f64,
    /// How readings were taken to scatter.
    pub error: ErrorModel,
    /// Source of the temperature history: `none`, `lag`, `trace` or `syringe`.
    pub warm_up: String,
    /// The history itself where a parameter alone does not say it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub history: Option<DeclaredHistory>,
    /// Temperature of the gel when it goes into the block, in K.
    #[serde(rename = "start_temp_K")]
    pub start_temp_k: f64,
    /// Reference temperature, in K.
    #[serde(rename = "reference_temp_K")]
    pub reference_temp_k: f64,
    /// Shear rate at which initial and plateau hold, in 1/s.
    pub reference_shear_rate_per_s: Option<f64>,
    /// Temperature at which the gel was read, in K: the mean of the rows that say it. Where an
    /// activation energy of flow was fitted, initial and plateau hold at this temperature.
    #[serde(rename = "read_temp_K")]
    pub read_temp_k: Option<f64>,
    /// The parameters.
    pub parameters: Vec<Parameter>,
    /// Covariance of the free parameters on their scales, in the order in which they stand.
    pub covariance: Vec<Vec<f64>>,
    /// Figures derived from the parameters.
    pub derived: Derived,
    /// How well it fits.
    pub fit: FitSummary,
    /// The laws that were tried.
    pub candidates: Vec<Candidate>,
    /// Lots.
    pub lots: Option<Lots>,
    /// What was measured: answers outside are extrapolated.
    pub range: Range,
    /// Verdicts on the fit.
    pub diagnostics: Diagnostics,
    /// What the reader should know.
    pub warnings: Vec<Warning>,
    /// The readings that it stands on.
    pub readings: Vec<FittedReading>,
}

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

impl BlendCalibration {
    /// A parameter by name.
    #[must_use]
    pub fn parameter(&self, name: ParameterName) -> Option<&Parameter> {
        self.parameters.iter().find(|p| p.name == name)
    }

    fn estimate(&self, name: ParameterName) -> Option<f64> {
        self.parameter(name).map(|p| p.estimate)
    }

    /// Names of the free parameters in the order of the covariance.
    #[must_use]
    pub fn free_parameters(&self) -> Vec<ParameterName> {
        self.parameters
            .iter()
            .filter(|p| !p.held)
            .map(|p| p.name)
            .collect()
    }

    /// Warm-up that the calibration was fitted with.
    #[must_use]
    pub fn warm_up(&self) -> WarmUp {
        if let Some(history) = &self.history {
            // A document whose history cannot be computed is refused when it is read.
            return WarmUp::sampled(history.clone()).unwrap_or_default();
        }
        match self.estimate(ParameterName::WarmUp) {
            Some(time_constant_s) if self.warm_up == "lag" => WarmUp::Lag {
                time_constant_s,
                start_temp_k: self.start_temp_k,
            },
            _ => WarmUp::None,
        }
    }

    /// The fitted setting, at its estimates.
    ///
    /// # Errors
    /// A document without one of the parameters that its law needs.
    pub fn setting(&self) -> Result<SettingModel, FitError> {
        let need = |name: ParameterName| {
            self.estimate(name)
                .ok_or_else(|| FitError::IncompleteDocument {
                    blend: self.blend.clone(),
                    missing: name.as_str(),
                })
        };
        let firmness = match self.law {
            FirmnessLaw::Log => FirmnessCurve::Log {
                initial: need(ParameterName::Initial)?,
                plateau: need(ParameterName::Plateau)?,
            },
            FirmnessLaw::Linear => FirmnessCurve::Linear {
                initial: need(ParameterName::Initial)?,
                plateau: need(ParameterName::Plateau)?,
            },
            FirmnessLaw::GelPoint => FirmnessCurve::GelPoint {
                initial: need(ParameterName::Initial)?,
                gel_conversion: need(ParameterName::GelConversion)?,
                gel_exponent: need(ParameterName::GelExponent)?,
            },
        };
        Ok(SettingModel {
            firmness,
            order: ReactionOrder(self.order),
            rate: ArrheniusRate {
                rate_ref_per_s: need(ParameterName::RateRef)?,
                activation_energy_j_per_mol: need(ParameterName::ActivationEnergy)?,
                reference_kelvin: self.reference_temp_k,
            },
            dose_lag_s: self.estimate(ParameterName::DoseLag).unwrap_or(0.0),
            warm_up: self.warm_up(),
        })
    }

    /// The calibration of one of its lots: that lot's estimates and covariance, no spread between
    /// lots.
    ///
    /// # Errors
    /// Lots that were fitted as one, or a lot that is not there.
    pub fn for_lot(&self, lot: &str) -> Result<Self, FitError> {
        let effects = self.lots.as_ref().map_or(&[][..], |l| l.effects.as_slice());
        let known = || effects.iter().map(|e| e.lot.clone()).collect::<Vec<_>>();
        let effect = effects
            .iter()
            .find(|e| e.lot == lot)
            .ok_or_else(|| FitError::UnknownLot {
                asked: lot.to_owned(),
                lots: known(),
            })?;
        let mut own = self.clone();
        for parameter in &mut own.parameters {
            if let Some(value) = effect.estimates.get(parameter.name.as_str()) {
                parameter.estimate = *value;
            }
        }
        own.covariance.clone_from(&effect.covariance);
        own.lots = Some(Lots {
            count: 1,
            sd: std::collections::BTreeMap::new(),
            log_likelihood: None,
            effects: Vec::new(),
        });
        own.warnings.retain(|w| w.code != "few_lots");
        Ok(own)
    }

    /// Degrees of freedom of intervals on the curve: lots less one where the spread between lots is
    /// part of them, else rows less parameters.
    #[must_use]
    pub fn interval_freedom(&self) -> usize {
        match &self.lots {
            Some(lots) if lots.are_separate() => lots.count.saturating_sub(1),
            _ => self.fit.degrees_of_freedom,
        }
    }

    /// Flow index of the set gel, where the bench had several shear rates.
    #[must_use]
    pub fn flow_index_plateau(&self) -> Option<f64> {
        self.estimate(ParameterName::FlowIndexPlateau)
    }

    /// Activation energy of flow, in J/mol, where the bench read at several temperatures.
    #[must_use]
    pub fn flow_activation_energy(&self) -> Option<f64> {
        self.estimate(ParameterName::FlowActivationEnergy)
    }

    /// Whether readings are viscosities (as read, or from a push), so that pushes can be asked for.
    #[must_use]
    pub fn answers_pushes(&self) -> bool {
        matches!(self.reading, ReadingKind::Viscosity | ReadingKind::Force)
    }
}

impl Calibration {
    /// The blend asked for; the only one where none is named.
    ///
    /// # Errors
    /// Several blends and none named, or a name that is not there: both list the blends.
    pub fn blend(&self, name: Option<&str>) -> Result<&BlendCalibration, FitError> {
        let names = || {
            self.blends
                .iter()
                .map(|b| b.blend.clone())
                .collect::<Vec<_>>()
        };
        match (name, self.blends.as_slice()) {
            (None, [only]) => Ok(only),
            (None, _) => Err(FitError::BlendNotNamed { blends: names() }),
            (Some(name), blends) => {
                blends
                    .iter()
                    .find(|b| b.blend == name)
                    .ok_or_else(|| FitError::UnknownBlend {
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
    pub fn to_json(&self) -> Result<String, FitError> {
        let mut text = serde_json::to_string_pretty(self).map_err(|e| FitError::Document {
            file: String::new(),
            reason: e.to_string(),
        })?;
        text.push('\n');
        Ok(text)
    }

    /// Reads a document from JSON text; `file` names it in messages.
    ///
    /// # Errors
    /// Text that is no calibration, or one of another schema.
    pub fn from_json(file: &str, text: &str) -> Result<Self, FitError> {
        let found: Self = serde_json::from_str(text).map_err(|e| FitError::Document {
            file: file.to_owned(),
            reason: e.to_string(),
        })?;
        if found.schema != SCHEMA {
            return Err(FitError::Schema {
                file: file.to_owned(),
                found: found.schema,
            });
        }
        for blend in &found.blends {
            blend.check(file)?;
        }
        Ok(found)
    }

    /// Reads a document from a file.
    ///
    /// # Errors
    /// A file that cannot be read, or that is no calibration.
    pub fn read(path: &Path) -> Result<Self, FitError> {
        let file = path.display().to_string();
        let text = std::fs::read_to_string(path).map_err(|e| FitError::File {
            file: file.clone(),
            reason: e.to_string(),
        })?;
        Self::from_json(&file, &text)
    }
}

impl BlendCalibration {
    /// Refuses a document that was changed by hand into something no fit writes.
    fn check(&self, file: &str) -> Result<(), FitError> {
        let fault = |reason: String| FitError::Document {
            file: file.to_owned(),
            reason,
        };
        let setting = self.setting()?;
        let positive = |value: f64| value.is_finite() && value > 0.0;
        if !positive(self.reference_temp_k) || !positive(self.start_temp_k) {
            return Err(fault(format!(
                "blend {}: a temperature is not above 0 K",
                self.blend
            )));
        }
        if let Some(history) = &self.history {
            WarmUp::sampled(history.clone())
                .map_err(|e| fault(format!("blend {}: history: {e}", self.blend)))?;
        }
        if !positive(setting.rate.rate_ref_per_s) || !positive(self.order) {
            return Err(fault(format!(
                "blend {}: rate and order must be above 0",
                self.blend
            )));
        }
        let ends = [setting.firmness.initial(), setting.firmness.plateau()];
        if self.law == FirmnessLaw::Log && !ends.into_iter().all(positive) {
            return Err(fault(format!(
                "blend {}: initial and plateau of the log law must be above 0",
                self.blend
            )));
        }
        let free = self.free_parameters().len();
        let is_square = |matrix: &[Vec<f64>]| {
            matrix.len() == free
                && matrix.iter().all(|row| row.len() == free)
                && matrix.iter().flatten().all(|v| v.is_finite())
        };
        if !is_square(&self.covariance) {
            return Err(fault(format!(
                "blend {}: the covariance is not {free} by {free} numbers",
                self.blend
            )));
        }
        // Each lot's own covariance is drawn from as well, when that lot is asked for.
        let mut effects = self.lots.iter().flat_map(|lots| &lots.effects);
        if let Some(effect) = effects.find(|effect| !is_square(&effect.covariance)) {
            return Err(fault(format!(
                "blend {}, lot {}: the covariance is not {free} by {free} numbers",
                self.blend, effect.lot
            )));
        }
        Ok(())
    }
}
