//! The gel at the needle: from conversion to plunger force, and back.

use super::error::PlanError;
use super::setup::PushSetup;
use crate::fit::{BlendCalibration, ParameterName};
use crate::flow::{FlowCurve, Push, PushConditions, push};
use crate::kinetics::{FlowIndexCourse, SettingModel, ShearThinning};
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
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

/// Where the viscosity at another temperature than that of the readings comes from.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "source")]
pub enum TemperatureFactor {
    /// The gel is pushed at the temperature of its readings.
    None,
    /// As that of water, which is assumed.
    Water {
        /// Viscosity at the push over that at the reading.
        ratio: f64,
    },
    /// By the activation energy of flow that the bench's own readings gave, or that was held.
    Fitted {
        /// Activation energy of flow, in J/mol.
        #[serde(rename = "flow_activation_energy_J_per_mol")]
        flow_activation_energy_j_per_mol: f64,
        /// `(1/T_push - 1/T_read)/R`, in mol/J.
        #[serde(skip)]
        inverse_energy_mol_per_j: f64,
        /// Viscosity at the push over that at the reading.
        ratio: f64,
    },
}

impl TemperatureFactor {
    /// By an activation energy of flow.
    ///
    /// # Equation
    /// `ratio = exp[(E_flow/R)(1/T_push - 1/T_read)]`
    ///
    /// | symbol | field | unit |
    /// |---|---|---|
    /// | E_flow | `flow_activation_energy_j_per_mol` | J/mol |
    /// | T_push | `push_kelvin` | K |
    /// | T_read | `read_kelvin` | K |
    ///
    /// # Valid for
    /// The temperatures that were read at, and near them: the slope of water itself falls from
    /// 18 kJ/mol at 15 °C to 16 kJ/mol at 35 °C (from the viscosities of shared/water.csv).
    ///
    /// # Source
    /// E. Andrade, The viscosity of liquids, Nature 125 (1930) 309, doi:10.1038/125309b0 (from memory).
    #[must_use]
    pub fn fitted(
        flow_activation_energy_j_per_mol: f64,
        push_kelvin: f64,
        read_kelvin: f64,
    ) -> Self {
        let inverse_energy_mol_per_j =
            (1.0 / push_kelvin - 1.0 / read_kelvin) / GAS_CONSTANT_J_PER_MOL_K;
        Self::Fitted {
            flow_activation_energy_j_per_mol,
            inverse_energy_mol_per_j,
            ratio: (flow_activation_energy_j_per_mol * inverse_energy_mol_per_j).exp(),
        }
    }

    /// Viscosity at the push over that at the reading.
    #[must_use]
    pub fn ratio(&self) -> f64 {
        match *self {
            Self::None => 1.0,
            Self::Water { ratio } | Self::Fitted { ratio, .. } => ratio,
        }
    }

    /// The same with a fitted energy moved.
    #[must_use]
    pub(super) fn moved(self, shift_j_per_mol: f64) -> Self {
        match self {
            Self::Fitted {
                flow_activation_energy_j_per_mol,
                inverse_energy_mol_per_j,
                ..
            } => {
                let energy = flow_activation_energy_j_per_mol + shift_j_per_mol;
                Self::Fitted {
                    flow_activation_energy_j_per_mol: energy,
                    inverse_energy_mol_per_j,
                    ratio: (energy * inverse_energy_mol_per_j).exp(),
                }
            }
            other => other,
        }
    }
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
    /// Viscosity at the push over that at the reading, and where it comes from.
    pub temperature_factor: TemperatureFactor,
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
                    yield_share_plateau: 0.0,
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
                    yield_share_plateau: blend.yield_share_plateau().unwrap_or(0.0),
                };
                (thinning, FlowIndexSource::Fitted)
            }
            (None, None) => (ShearThinning::NEWTONIAN, FlowIndexSource::Assumed),
        };
        let temperature_factor = match (setup.gel_kelvin, blend.read_temp_k) {
            (None, _) => TemperatureFactor::None,
            (Some(gel_kelvin), Some(read_kelvin)) => {
                match blend
                    .parameter(ParameterName::FlowActivationEnergy)
                    .map(|energy| energy.estimate)
                {
                    Some(energy) => TemperatureFactor::fitted(energy, gel_kelvin, read_kelvin),
                    None => TemperatureFactor::Water {
                        ratio: water_viscosity_ratio(gel_kelvin, read_kelvin)?,
                    },
                }
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

    /// A gel of which only the setting is asked about.
    #[must_use]
    pub fn of_setting(setting: SettingModel) -> Self {
        Self {
            setting,
            thinning: ShearThinning::NEWTONIAN,
            index_source: FlowIndexSource::Assumed,
            temperature_factor: TemperatureFactor::None,
        }
    }

    /// Flow curve at a conversion, for a viscosity at the reference shear rate.
    #[must_use]
    pub fn curve(&self, viscosity_pa_s: f64, fraction: f64) -> FlowCurve {
        let viscosity = viscosity_pa_s * self.temperature_factor.ratio();
        let flow_index = self.thinning.flow_index(fraction);
        let yield_stress_pa = self.thinning.yield_stress_pa(viscosity, fraction);
        if yield_stress_pa > 0.0 {
            FlowCurve::HerschelBulkley {
                yield_stress_pa,
                consistency_pa_s_n: self.thinning.consistency_pa_s_n(viscosity, fraction),
                flow_index,
            }
        } else if flow_index == 1.0 {
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
