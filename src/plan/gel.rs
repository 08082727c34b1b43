//! The gel at the needle: from conversion to plunger force, and back.

use super::error::PlanError;
use super::setup::PushSetup;
use crate::fit::BlendCalibration;
use crate::flow::{FlowCurve, Push, PushConditions, push};
use crate::kinetics::{FlowIndexCourse, SettingModel, ShearThinning};
use crate::reference::water_viscosity_ratio;
use serde::Serialize;

/// Where the flow index of an answer comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum FlowIndexSource {
    /// Nothing is known: Newtonian, said in the answer.
    Assumed,
    /// Stated by the user.
    Stated,
    /// Fitted from several shear rates.
    Fitted,
}

/// What the user says of the gel's shear thinning.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct StatedThinning {
    /// Flow index.
    pub flow_index: Option<f64>,
    /// Shear rate at which the readings hold, in 1/s.
    pub shear_rate_per_s: Option<f64>,
    /// How the index runs with setting.
    pub course: FlowIndexCourse,
}

/// The gel of one blend as it reaches the needle.
#[derive(Debug, Clone, PartialEq)]
pub struct Gel {
    /// Setting at the estimates.
    pub setting: SettingModel,
    /// Shear thinning.
    pub thinning: ShearThinning,
    /// Where the flow index comes from.
    pub index_source: FlowIndexSource,
    /// Viscosity at the push over that at the reading.
    pub temperature_factor: f64,
}

impl Gel {
    /// The gel of a calibration under a push.
    ///
    /// # Errors
    /// Readings that are no viscosities or that fall with heat; a flow index without its shear
    /// rate; a push temperature where the reading's is unknown.
    pub fn new(
        blend: &BlendCalibration,
        setup: &PushSetup,
        stated: StatedThinning,
    ) -> Result<Self, PlanError> {
        if !blend.answers_pushes() {
            return Err(PlanError::NoViscosity {
                blend: blend.blend.clone(),
                quantity: blend.reading.quantity(),
            });
        }
        let setting = blend.setting()?;
        let firmness = &setting.firmness;
        if firmness.plateau() <= firmness.initial() || firmness.initial() < 0.0 {
            return Err(PlanError::ReadingFalls {
                blend: blend.blend.clone(),
            });
        }
        let reference = stated.shear_rate_per_s.or(blend.reference_shear_rate_per_s);
        let (thinning, index_source) = match (stated.flow_index, blend.flow_index_plateau()) {
            (Some(1.0), _) => (ShearThinning::NEWTONIAN, FlowIndexSource::Stated),
            (Some(flow_index), _) => {
                let reference_shear_rate_per_s =
                    reference.ok_or(PlanError::ShearRateUnknown { flow_index })?;
                let thinning = ShearThinning {
                    flow_index_plateau: flow_index,
                    reference_shear_rate_per_s,
                    course: stated.course,
                };
                (thinning, FlowIndexSource::Stated)
            }
            (None, Some(flow_index_plateau)) => {
                let reference_shear_rate_per_s =
                    blend
                        .reference_shear_rate_per_s
                        .ok_or(PlanError::ShearRateUnknown {
                            flow_index: flow_index_plateau,
                        })?;
                let thinning = ShearThinning {
                    flow_index_plateau,
                    reference_shear_rate_per_s,
                    course: FlowIndexCourse::WithSetting,
                };
                (thinning, FlowIndexSource::Fitted)
            }
            (None, None) => (ShearThinning::NEWTONIAN, FlowIndexSource::Assumed),
        };
        let temperature_factor = match (setup.gel_kelvin, blend.read_temp_k) {
            (None, _) => 1.0,
            (Some(gel_kelvin), Some(read_kelvin)) => {
                water_viscosity_ratio(gel_kelvin, read_kelvin)?
            }
            (Some(gel_kelvin), None) => {
                return Err(PlanError::ReadTemperatureUnknown { gel_kelvin });
            }
        };
        Ok(Self {
            setting,
            thinning,
            index_source,
            temperature_factor,
        })
    }

    /// Flow curve at a conversion, for a viscosity at the reference shear rate.
    #[must_use]
    pub fn curve(&self, viscosity_pa_s: f64, fraction: f64) -> FlowCurve {
        let viscosity = viscosity_pa_s * self.temperature_factor;
        let flow_index = self.thinning.flow_index(fraction);
        if flow_index == 1.0 {
            FlowCurve::Newtonian {
                viscosity_pa_s: viscosity,
            }
        } else {
            FlowCurve::PowerLaw {
                consistency_pa_s_n: self.thinning.consistency_pa_s_n(viscosity, fraction),
                flow_index,
            }
        }
    }

    /// The push at a conversion.
    #[must_use]
    pub fn push(&self, conditions: &PushConditions, fraction: f64) -> Push {
        push(
            &self.curve(self.setting.reading_at_conversion(fraction), fraction),
            conditions,
        )
    }

    /// Whether the force surely rises with setting, so that it reaches a limit but once.
    #[must_use]
    pub fn force_is_monotone(&self) -> bool {
        self.thinning.is_constant()
    }
}
