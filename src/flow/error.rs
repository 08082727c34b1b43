//! What flow refuses.

use std::fmt;

use thiserror::Error;

use crate::units::display;

/// A quantity that flow is asked with; says its name, its unit and how it is mended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum FlowQuantity {
    /// Bore of the needle.
    Bore,
    /// Length of the needle.
    Length,
    /// Bore of the syringe's barrel.
    BarrelBore,
    /// Flow rate.
    FlowRate,
    /// Friction of the stopper.
    Friction,
    /// Pressure of the tissue at the needle's tip.
    TissuePressure,
    /// Density of the gel.
    Density,
    /// Viscosity.
    Viscosity,
    /// Consistency of a power law.
    Consistency,
    /// Flow index.
    FlowIndex,
    /// Yield stress.
    YieldStress,
    /// Viscosity at great shear rates.
    InfiniteShearViscosity,
    /// Time constant of a Carreau-Yasuda curve.
    TimeConstant,
    /// Transition index of a Carreau-Yasuda curve.
    TransitionIndex,
    /// Reference shear rate.
    ShearRate,
    /// Plunger force.
    PlungerForce,
    /// Bore of the hub.
    HubBore,
    /// Length of the hub.
    HubLength,
    /// Diameter of a bubble.
    BubbleDiameter,
    /// Surface tension.
    SurfaceTension,
    /// Time that was looked on for.
    Watched,
    /// Least travel that the eye would have seen.
    SeenTravel,
}

impl FlowQuantity {
    /// Name, SI unit and an example of a usable value.
    const fn words(self) -> (&'static str, &'static str, &'static str) {
        match self {
            Self::Bore => ("needle's bore", " m", "0.16mm"),
            Self::Length => ("needle's length", " m", "13mm"),
            Self::BarrelBore => ("barrel's bore", " m", "4.7mm"),
            Self::FlowRate => ("flow rate", " m3/s", "1mL/min"),
            Self::Friction => ("stopper friction", " N", "2N"),
            Self::TissuePressure => ("tissue pressure", " Pa", "0Pa"),
            Self::Density => ("density", " kg/m3", "1025kg/m3"),
            Self::Viscosity => ("viscosity", " Pa.s", "1Pa.s"),
            Self::Consistency => ("consistency", " Pa.s^n", "2Pa.s^n"),
            Self::FlowIndex => ("flow index", "", "0.4"),
            Self::YieldStress => ("yield stress", " Pa", "50Pa"),
            Self::InfiniteShearViscosity => ("viscosity at great shear rates", " Pa.s", "0.01Pa.s"),
            Self::TimeConstant => ("time constant", " s", "1s"),
            Self::TransitionIndex => ("transition index", "", "2"),
            Self::ShearRate => ("shear rate", " 1/s", "10 1/s"),
            Self::PlungerForce => ("plunger force", " N", "20N"),
            Self::HubBore => ("hub's bore", " m", "0.6mm"),
            Self::HubLength => ("hub's length", " m", "8mm"),
            Self::BubbleDiameter => ("bubble's diameter", " m", "2mm"),
            Self::SurfaceTension => ("surface tension", " N/m", "56mN/m"),
            Self::Watched => ("time looked on for", " s", "10s"),
            Self::SeenTravel => ("least travel seen", " m", "1mm"),
        }
    }

    /// The unit with a blank before it, or nothing.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        self.words().1
    }

    /// A value that would serve.
    #[must_use]
    pub const fn example(self) -> &'static str {
        self.words().2
    }

    /// The value itself where it is finite and above zero.
    pub(super) fn positive(self, value: f64) -> Result<f64, FlowError> {
        if !value.is_finite() {
            Err(FlowError::NotFinite {
                quantity: self,
                value,
            })
        } else if value > 0.0 {
            Ok(value)
        } else {
            Err(FlowError::NotPositive {
                quantity: self,
                value,
            })
        }
    }

    /// The value itself where it is finite and not negative.
    pub(super) fn not_negative(self, value: f64) -> Result<f64, FlowError> {
        if !value.is_finite() {
            Err(FlowError::NotFinite {
                quantity: self,
                value,
            })
        } else if value >= 0.0 {
            Ok(value)
        } else {
            Err(FlowError::Negative {
                quantity: self,
                value,
            })
        }
    }
}

impl fmt::Display for FlowQuantity {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.words().0)
    }
}

/// An input that no push can be computed from.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[non_exhaustive]
pub enum FlowError {
    /// Zero or negative where only more than zero makes sense.
    #[error(
        "the {quantity} is {value}{unit}; it must be above zero, such as {example}",
        unit = quantity.unit(), example = quantity.example()
    )]
    NotPositive {
        /// Which quantity.
        quantity: FlowQuantity,
        /// Its value, SI.
        value: f64,
    },
    /// Negative where zero or more makes sense.
    #[error(
        "the {quantity} is {value}{unit}; it must be zero or above, such as {example}",
        unit = quantity.unit(), example = quantity.example()
    )]
    Negative {
        /// Which quantity.
        quantity: FlowQuantity,
        /// Its value, SI.
        value: f64,
    },
    /// Infinite or not a number.
    #[error(
        "the {quantity} is {value}; it must be a finite number, such as {example}",
        example = quantity.example()
    )]
    NotFinite {
        /// Which quantity.
        quantity: FlowQuantity,
        /// Its value.
        value: f64,
    },
    /// A measured curve of fewer than two points.
    #[error("a flow curve of {points} points is no curve; it takes at least 2")]
    TooFewPoints {
        /// How many there are.
        points: usize,
    },
    /// A measured curve that does not rise.
    #[error(
        "point {point} of the flow curve ({shear_rate_per_s} 1/s, {shear_stress_pa} Pa) does not \
         lie above the one before it in both; sort by shear rate, and fit a law to readings \
         that scatter"
    )]
    TableDoesNotRise {
        /// Number of the point, from 1.
        point: usize,
        /// Its shear rate.
        shear_rate_per_s: f64,
        /// Its shear stress.
        shear_stress_pa: f64,
    },
    /// A Carreau-Yasuda curve whose viscosity would fall below zero.
    #[error(
        "a viscosity of {infinite_shear_viscosity_pa_s} Pa.s at great shear rates above \
         {zero_shear_viscosity_pa_s} Pa.s at rest, with a flow index of {flow_index} above 1, \
         falls below zero; swap the two viscosities or take a flow index of at most 1"
    )]
    ViscosityBelowZero {
        /// Viscosity at rest.
        zero_shear_viscosity_pa_s: f64,
        /// Viscosity at great shear rates.
        infinite_shear_viscosity_pa_s: f64,
        /// Flow index.
        flow_index: f64,
    },
    /// The force is used up before the gel gets any.
    #[error(
        "a plunger force of {force} leaves nothing for the gel: stopper friction, tissue and \
         the ends of the needle already take {taken} at this flow rate; check the force and \
         the friction (measure it on an empty syringe)",
        force = display::force(*plunger_force_n), taken = display::force(*taken_n)
    )]
    NothingLeftForTheGel {
        /// The plunger force.
        plunger_force_n: f64,
        /// What friction, tissue pressure and end losses take of it.
        taken_n: f64,
    },
}
