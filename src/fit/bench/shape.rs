//! Under which law, errors and history a bench is fitted, and what is held or known beforehand.

use crate::fit::parameter::{ParameterName, Scale};
use crate::kinetics::FirmnessLaw;
use crate::thermal::WarmUp;
use serde::{Deserialize, Serialize};

/// How readings scatter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, Default)]
#[serde(rename_all = "kebab-case")]
pub enum ErrorModel {
    /// By the same share of the reading everywhere: the logarithm is fitted.
    #[default]
    Relative,
    /// By the same amount everywhere.
    Absolute,
    /// By the standard deviation stated for each reading.
    Given,
}

/// Values by parameter, natural scale; `None` where there is none.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Held([Option<f64>; ParameterName::COUNT]);

impl Held {
    /// The value at which a parameter is held.
    #[must_use]
    pub fn get(&self, name: ParameterName) -> Option<f64> {
        self.0[name.index()]
    }

    /// Whether nothing is held.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.iter().all(Option::is_none)
    }

    /// The same with one more parameter held, unchecked; see `Held::hold` for a checked one.
    #[must_use]
    pub fn with(mut self, name: ParameterName, value: f64) -> Self {
        self.set(name, value);
        self
    }

    pub(in crate::fit) fn set(&mut self, name: ParameterName, value: f64) {
        self.0[name.index()] = Some(value);
    }
}

/// What is known of a parameter before any reading: a published value and its standard deviation,
/// natural scale. It enters as one more residual row.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Prior {
    /// Parameter.
    pub name: ParameterName,
    /// Published value.
    pub value: f64,
    /// Its standard deviation.
    pub sd: f64,
}

impl Prior {
    /// Value and standard deviation on a scale.
    #[must_use]
    pub fn on(&self, scale: Scale) -> (f64, f64) {
        match scale {
            Scale::Log => (self.value.ln(), self.sd / self.value),
            Scale::Linear => (self.value, self.sd),
        }
    }
}

/// Law, errors and history under which a bench is fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    /// Firmness law.
    pub law: FirmnessLaw,
    /// How readings scatter.
    pub errors: ErrorModel,
    /// Warm-up of the gel; where its lag is fitted, the temperature that it starts from.
    pub warm_up: WarmUp,
    /// Reference temperature, in K.
    pub reference_kelvin: f64,
    /// What is held; the order is held at 1 where neither held nor fitted.
    pub held: Held,
    /// Whether the order is fitted.
    pub fits_order: bool,
    /// Whether a dose lag is fitted.
    pub fits_dose_lag: bool,
    /// Whether the time constant of the warm-up is fitted.
    pub fits_warm_up: bool,
    /// Whether a yield stress that comes with setting is fitted, where rows have several shear rates.
    pub fits_yield_stress: bool,
    /// What is known beforehand.
    pub priors: Vec<Prior>,
}

impl Shape {
    /// A first-order shape without lag, nothing held.
    #[must_use]
    pub fn new(law: FirmnessLaw, errors: ErrorModel, reference_kelvin: f64) -> Self {
        Self {
            law,
            errors,
            warm_up: WarmUp::None,
            reference_kelvin,
            held: Held::default(),
            fits_order: false,
            fits_dose_lag: false,
            fits_warm_up: false,
            fits_yield_stress: false,
            priors: Vec::new(),
        }
    }

    /// Whether a parameter belongs to this shape at all.
    #[must_use]
    pub fn has(&self, name: ParameterName) -> bool {
        let gel_point = self.law == FirmnessLaw::GelPoint;
        match name {
            ParameterName::Initial | ParameterName::RateRef | ParameterName::ActivationEnergy => {
                true
            }
            ParameterName::Plateau => !gel_point,
            ParameterName::Order => {
                self.fits_order
                    || self
                        .held
                        .get(ParameterName::Order)
                        .is_some_and(|n| n != 1.0)
            }
            ParameterName::DoseLag => {
                self.fits_dose_lag || self.held.get(ParameterName::DoseLag).is_some()
            }
            ParameterName::WarmUp => self.fits_warm_up || self.warm_up.as_lag().is_some(),
            ParameterName::GelConversion | ParameterName::GelExponent => gel_point,
            // Whether rows have several shear rates or temperatures of reading is for the rows to say.
            ParameterName::FlowIndexPlateau | ParameterName::FlowActivationEnergy => true,
            ParameterName::YieldSharePlateau => {
                self.fits_yield_stress || self.held.get(name).is_some()
            }
        }
    }

    /// Whether a parameter of this shape is held, by the user or by what the shape declares.
    #[must_use]
    pub fn holds(&self, name: ParameterName) -> bool {
        self.held.get(name).is_some()
            || (name == ParameterName::WarmUp && !self.fits_warm_up)
            || (name == ParameterName::Order && !self.fits_order)
            || (name == ParameterName::DoseLag && !self.fits_dose_lag)
    }
}
