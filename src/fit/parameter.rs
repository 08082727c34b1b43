//! The names of the fitted parameters, and the scales on which they are estimated.

use super::bench::ErrorModel;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// A parameter of a calibration.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
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
    /// Heat dose before setting begins.
    DoseLag,
    /// Time constant of the warm-up.
    WarmUp,
    /// Conversion at the gel point.
    GelConversion,
    /// Exponent of the divergence at the gel point.
    GelExponent,
    /// Flow index of the fully set gel.
    FlowIndexPlateau,
    /// Activation energy of flow: how the reading falls with the gel's temperature when it is read.
    FlowActivationEnergy,
    /// Share of the stress at the reference shear rate that the fully set gel bears at rest.
    YieldSharePlateau,
}

impl ParameterName {
    /// Number of names.
    pub const COUNT: usize = 12;

    /// All names, in the order of a calibration.
    pub const ALL: [Self; Self::COUNT] = [
        Self::Initial,
        Self::Plateau,
        Self::RateRef,
        Self::ActivationEnergy,
        Self::Order,
        Self::DoseLag,
        Self::WarmUp,
        Self::GelConversion,
        Self::GelExponent,
        Self::FlowIndexPlateau,
        Self::FlowActivationEnergy,
        Self::YieldSharePlateau,
    ];

    /// Place among [`ParameterName::ALL`].
    #[must_use]
    pub fn index(self) -> usize {
        self as usize
    }

    /// The name as the document and the command line write it.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Initial => "initial",
            Self::Plateau => "plateau",
            Self::RateRef => "rate_ref",
            Self::ActivationEnergy => "activation_energy",
            Self::Order => "order",
            Self::DoseLag => "dose_lag",
            Self::WarmUp => "warm_up",
            Self::GelConversion => "gel_conversion",
            Self::GelExponent => "gel_exponent",
            Self::FlowIndexPlateau => "flow_index_plateau",
            Self::FlowActivationEnergy => "flow_activation_energy",
            Self::YieldSharePlateau => "yield_share_plateau",
        }
    }

    /// Scale on which it is estimated under a kind of errors.
    #[must_use]
    pub fn scale(self, errors: ErrorModel) -> Scale {
        match self {
            Self::RateRef | Self::DoseLag | Self::WarmUp => Scale::Log,
            Self::Initial | Self::Plateau if errors == ErrorModel::Relative => Scale::Log,
            _ => Scale::Linear,
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

impl Scale {
    /// A natural value on this scale.
    #[must_use]
    pub fn of(self, natural: f64) -> f64 {
        match self {
            Self::Log => natural.ln(),
            Self::Linear => natural,
        }
    }

    /// The natural value of one on this scale.
    #[must_use]
    pub fn back(self, value: f64) -> f64 {
        match self {
            Self::Log => value.exp(),
            Self::Linear => value,
        }
    }
}
