//! What the user may ask of a fit.

use super::bench::{ErrorModel, Held, Prior};
use super::error::FitError;
use super::intervals::IntervalKind;
use super::parameter::ParameterName;
use super::robust::RobustLoss;
use crate::kinetics::FirmnessLaw;
use crate::thermal::WarmUp;

/// The order of the setting reaction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OrderChoice {
    /// At this value.
    Fixed(f64),
    /// 1, or fitted where the readings ask for it by AICc.
    Auto,
}

/// A heat dose before setting begins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DoseLagChoice {
    /// None.
    None,
    /// At this value, in s at the reference temperature.
    Fixed(f64),
    /// None, or fitted where the readings ask for it by AICc.
    Auto,
}

/// A yield stress that comes with setting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum YieldStressChoice {
    /// None.
    None,
    /// Fitted with the flow index where three shear rates or more ask for it by AICc.
    Auto,
}

/// The warm-up of the gel.
#[derive(Debug, Clone, PartialEq)]
pub enum WarmUpChoice {
    /// As declared.
    Declared(WarmUp),
    /// A lag whose time constant is fitted with the kinetics.
    Fitted,
}

/// Choices of a fit; the default is what a user gets who asks for nothing.
#[derive(Debug, Clone, PartialEq)]
pub struct FitOptions {
    /// Law, or `None` for the better of all by AICc.
    pub law: Option<FirmnessLaw>,
    /// Order of the setting reaction.
    pub order: OrderChoice,
    /// Heat dose before setting begins.
    pub dose_lag: DoseLagChoice,
    /// A yield stress that comes with setting.
    pub yield_stress: YieldStressChoice,
    /// How readings scatter.
    pub errors: ErrorModel,
    /// Loss that outlying rows are taken with.
    pub robust: RobustLoss,
    /// Warm-up of the gel.
    pub warm_up: WarmUpChoice,
    /// Temperature of the gel when it goes into the block, in K.
    pub start_kelvin: f64,
    /// Reference temperature, in K; the harmonic mean of the used rows where `None`.
    pub reference_kelvin: Option<f64>,
    /// Only this blend; all where `None`.
    pub blend: Option<String>,
    /// Parameters held.
    pub held: Held,
    /// What is known beforehand.
    pub priors: Vec<Prior>,
    /// Kind of the parameters' intervals.
    pub interval: IntervalKind,
    /// Number of bootstrap draws.
    pub draws: usize,
    /// Seed of whatever draws random numbers.
    pub seed: u64,
}

impl Default for FitOptions {
    fn default() -> Self {
        Self {
            law: None,
            order: OrderChoice::Fixed(1.0),
            dose_lag: DoseLagChoice::None,
            yield_stress: YieldStressChoice::Auto,
            errors: ErrorModel::Relative,
            robust: RobustLoss::None,
            warm_up: WarmUpChoice::Declared(WarmUp::None),
            start_kelvin: 295.15,
            reference_kelvin: None,
            blend: None,
            held: Held::default(),
            priors: Vec::new(),
            interval: IntervalKind::T,
            draws: 2000,
            seed: 1,
        }
    }
}

impl Held {
    /// Holds one parameter at a value in SI on the natural scale.
    ///
    /// # Errors
    /// A parameter that cannot be held here, or a value that it cannot have.
    pub fn hold(&mut self, name: ParameterName, value: f64) -> Result<(), FitError> {
        let refuse = |why: &'static str| {
            Err(FitError::HeldValue {
                parameter: name.as_str(),
                value,
                why,
            })
        };
        if !value.is_finite() {
            return refuse("it is not a number");
        }
        match name {
            ParameterName::Initial if value <= 0.0 => refuse("it must be above zero"),
            ParameterName::Plateau if value < 0.0 => refuse("it must not be below zero"),
            ParameterName::RateRef if value <= 0.0 => refuse("a rate must be above zero"),
            ParameterName::ActivationEnergy if value <= 0.0 => {
                refuse("an activation energy must be above zero")
            }
            ParameterName::FlowIndexPlateau if value <= 0.0 => {
                refuse("a flow index must be above zero")
            }
            ParameterName::YieldSharePlateau if !(0.0..1.0).contains(&value) => {
                refuse("a share of the stress must not be below zero and must be under one")
            }
            ParameterName::FlowActivationEnergy if value < 0.0 => {
                refuse("an activation energy of flow must not be below zero")
            }
            ParameterName::GelConversion if value <= 0.0 => {
                refuse("the conversion at the gel point must be above zero")
            }
            ParameterName::GelExponent if value <= 0.0 => {
                refuse("the exponent of the gel point must be above zero")
            }
            ParameterName::Order => refuse("the order is set with --order"),
            ParameterName::DoseLag => refuse("the dose lag is set with --dose-lag"),
            ParameterName::WarmUp => refuse("the warm-up is set with --warm-up"),
            _ => {
                self.set(name, value);
                Ok(())
            }
        }
    }
}

impl Prior {
    /// A published value and its standard deviation, SI on the natural scale, checked.
    ///
    /// # Errors
    /// A parameter that takes no prior, a value that it cannot have, or a standard deviation that
    /// is not above zero.
    pub fn new(name: ParameterName, value: f64, sd: f64) -> Result<Self, FitError> {
        let refuse = |why: &'static str| {
            Err(FitError::PriorValue {
                parameter: name.as_str(),
                value,
                sd,
                why,
            })
        };
        if !value.is_finite() || !sd.is_finite() {
            return refuse("it is not a number");
        }
        if sd <= 0.0 {
            return refuse("its standard deviation must be above zero (to fix it, use --hold)");
        }
        let positive = !matches!(name, ParameterName::Order | ParameterName::Plateau);
        if value < 0.0 || (positive && value == 0.0) {
            return refuse("it must be above zero");
        }
        Ok(Self { name, value, sd })
    }
}
