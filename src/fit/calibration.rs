//! The calibration document: what was fitted, how sure it is, and what it stands on.

use super::bench::ErrorModel;
use super::calibration_parts::{
    Candidate, Derived, Diagnostics, FitSummary, FittedReading, Lots, Parameter, Range, Warning,
};
use super::error::FitError;
use super::parameter::ParameterName;
use super::standing::Standing;
use crate::kinetics::{ArrheniusRate, FirmnessCurve, FirmnessLaw, ReactionOrder, SettingModel};
use crate::readings::{ReadingKind, Source, system_words};
use crate::thermal::{DeclaredHistory, WarmUp};
use serde::{Deserialize, Serialize};
use std::path::Path;

/// Protein sets with hundreds of kJ/mol: less than this was meant in kJ/mol.
const LEAST_ENERGY_J_PER_MOL: f64 = 1000.0;
/// A reference temperature this far from the measured ones is in another unit, in K.
const FAR_KELVIN: f64 = 100.0;

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
    /// Volume fraction of hyaluronic acid solution, where every row states the same; 0 for a blend
    /// called plain whose rows state none.
    #[serde(default)]
    pub ha_fraction: Option<f64>,
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
    /// How the gel goes on thickening after cooling, where readings after standing tell.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub standing: Option<Standing>,
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
        own.readings
            .retain(|reading| reading.lot.as_deref() == Some(lot));
        if !own.readings.is_empty() {
            own.fit.rows = own.readings.iter().filter(|reading| reading.used).count();
        }
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

    /// Share of the stress at the reference shear rate that the set gel bears at rest, where a yield
    /// stress was fitted.
    #[must_use]
    pub fn yield_share_plateau(&self) -> Option<f64> {
        self.estimate(ParameterName::YieldSharePlateau)
    }

    /// Activation energy of flow, in J/mol, where the bench read at several temperatures.
    #[must_use]
    pub fn flow_activation_energy(&self) -> Option<f64> {
        self.estimate(ParameterName::FlowActivationEnergy)
    }

    /// Whether readings are viscosities (as read, or from a push), so that pushes can be asked for.
    #[must_use]
    pub fn answers_pushes(&self) -> bool {
        self.reading == ReadingKind::Viscosity || self.reading.is_push()
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
        if super::set_time::says_set_time(text) {
            return Err(FitError::KnowsSetTimesOnly {
                file: file.to_owned(),
            });
        }
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
            reason: system_words(&e),
        })?;
        Self::from_json(&file, &text)
    }
}

impl BlendCalibration {
    /// Refuses a document that was changed by hand into something no fit writes.
    /// Numbers that no fit writes: a document that was changed by hand must not be answered from.
    fn check_numbers(&self, fault: &impl Fn(String) -> FitError) -> Result<(), FitError> {
        let refused = |what: &str| Err(fault(format!("blend {}: {what}", self.blend)));
        let energy = self.estimate(ParameterName::ActivationEnergy);
        if energy.is_some_and(|e| e != 0.0 && e.abs() < LEAST_ENERGY_J_PER_MOL) {
            return refused(
                "its activation energy is under 1 kJ/mol; the document has it in J/mol",
            );
        }
        let [coldest, hottest] = self.range.heat_temp_k;
        if self.reference_temp_k < coldest - FAR_KELVIN
            || self.reference_temp_k > hottest + FAR_KELVIN
        {
            return refused(
                "its reference temperature lies far from those that were measured; the document has it in K",
            );
        }
        if self
            .flow_index_plateau()
            .is_some_and(|n| n.is_nan() || n <= 0.0)
        {
            return refused("its flow index is not above 0");
        }
        if self
            .reference_shear_rate_per_s
            .is_some_and(|g| g.is_nan() || g <= 0.0)
        {
            return refused("its reference shear rate is not above 0");
        }
        let is_sd = |sd: f64| sd.is_finite() && sd >= 0.0;
        let lots_sd = self.lots.iter().flat_map(|lots| lots.sd.values());
        if !is_sd(self.fit.residual_sd) || !lots_sd.copied().all(is_sd) {
            return refused("a standard deviation is below 0 or no number");
        }
        let covariance = &self.covariance;
        let entry = |i: usize, j: usize| {
            let row = covariance.get(i);
            row.and_then(|row| row.get(j)).copied().unwrap_or(0.0)
        };
        for i in 0..covariance.len() {
            for j in 0..=i {
                let size = (entry(i, i) * entry(j, j)).abs().sqrt();
                if entry(i, i) < 0.0 || (entry(i, j) - entry(j, i)).abs() > 1e-6 * size {
                    return refused(
                        "its covariance is none: a variance below 0, or not the same both ways",
                    );
                }
            }
        }
        Ok(())
    }

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
        let is_range = |[low, high]: [f64; 2]| low.is_finite() && high.is_finite() && low <= high;
        if !is_range(self.range.heat_temp_k)
            || !is_range(self.range.heat_time_s)
            || self.range.heat_time_s[0] < 0.0
        {
            return Err(fault(format!(
                "blend {}: the range of heat temperatures or times is none, from the lower to the higher",
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
        self.check_numbers(&fault)?;
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
        if let Some(what) = self.standing.as_ref().and_then(Standing::fault) {
            return Err(fault(format!("blend {}, standing: {what}", self.blend)));
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
