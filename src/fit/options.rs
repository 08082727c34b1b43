//! What the user may ask of a fit.

use super::bench::{ErrorModel, Held};
use super::error::FitError;
use super::parameter::ParameterName;
use crate::kinetics::{FirmnessLaw, ReactionOrder};
use crate::thermal::WarmUp;

/// Choices of a fit; the default is what a user gets who asks for nothing.
#[derive(Debug, Clone, PartialEq)]
pub struct FitOptions {
    /// Law, or `None` for the better of all by AICc.
    pub law: Option<FirmnessLaw>,
    /// Order of the setting reaction.
    pub order: ReactionOrder,
    /// How readings scatter.
    pub errors: ErrorModel,
    /// Warm-up of the gel.
    pub warm_up: WarmUp,
    /// Temperature of the gel when it goes into the block, in K.
    pub start_kelvin: f64,
    /// Reference temperature, in K; the harmonic mean of the used rows where `None`.
    pub reference_kelvin: Option<f64>,
    /// Only this blend; all where `None`.
    pub blend: Option<String>,
    /// Parameters held.
    pub held: Held,
    /// Seed of whatever draws random numbers.
    pub seed: u64,
}

impl Default for FitOptions {
    fn default() -> Self {
        Self {
            law: None,
            order: ReactionOrder(1.0),
            errors: ErrorModel::Relative,
            warm_up: WarmUp::None,
            start_kelvin: 295.15,
            reference_kelvin: None,
            blend: None,
            held: Held::default(),
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
            ParameterName::Order => refuse("the order is set with --order"),
            ParameterName::WarmUp => refuse("the warm-up is set with --warm-up"),
            ParameterName::Initial => {
                self.initial = Some(value);
                Ok(())
            }
            ParameterName::Plateau => {
                self.plateau = Some(value);
                Ok(())
            }
            ParameterName::RateRef => {
                self.rate_ref_per_s = Some(value);
                Ok(())
            }
            ParameterName::ActivationEnergy => {
                self.activation_energy_j_per_mol = Some(value);
                Ok(())
            }
            ParameterName::FlowIndexPlateau => {
                self.flow_index_plateau = Some(value);
                Ok(())
            }
        }
    }
}
