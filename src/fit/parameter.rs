//! The names of the fitted parameters, their units and the scales on which they are estimated.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// A parameter of a calibration.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum ParameterName {
    /// Reading before any heat.
    Initial,
    /// Reading when all has set.
    Plateau,
    /// Rate at the reference temperature.
    RateRef,
    /// Activation energy.
    ActivationEnergy,
    /// Order of the setting reaction.
    Order,
    /// Time constant of the warm-up.
    WarmUp,
    /// Flow index of the fully set gel.
    FlowIndexPlateau,
}

impl ParameterName {
    /// All names, in the order of a calibration.
    pub const ALL: [Self; 7] = [
        Self::Initial,
        Self::Plateau,
        Self::RateRef,
        Self::ActivationEnergy,
        Self::Order,
        Self::WarmUp,
        Self::FlowIndexPlateau,
    ];

    /// The name as the document and the command line write it.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Initial => "initial",
            Self::Plateau => "plateau",
            Self::RateRef => "rate_ref",
            Self::ActivationEnergy => "activation_energy",
            Self::Order => "order",
            Self::WarmUp => "warm_up",
            Self::FlowIndexPlateau => "flow_index_plateau",
        }
    }
}

impl fmt::Display for ParameterName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

impl FromStr for ParameterName {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Self::ALL
            .into_iter()
            .find(|name| name.as_str() == text)
            .ok_or_else(|| {
                let known: Vec<&str> = Self::ALL.into_iter().map(Self::as_str).collect();
                format!("'{text}' is no parameter; there are {}", known.join(", "))
            })
    }
}

/// Scale on which a parameter is estimated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Scale {
    /// On its natural logarithm.
    Log,
    /// As it is.
    Linear,
}
