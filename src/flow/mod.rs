//! The gel in the needle: flow curves, pressure drop, plunger force.
//!
//! The way through the room: a [`FlowCurve`] says how stress answers shear rate,
//! [`pipe`] turns it into the pressure drop of a tube, [`push`] puts needle, barrel and
//! stopper round it, [`warnings`] says where the figures stop holding, and
//! [`viscosity_from_force`] goes the other way: a needle as a viscometer.

mod capillary;
mod carreau;
mod curve;
mod end_correction;
mod end_losses;
mod error;
pub mod pipe;
mod push;
pub mod reynolds;
mod root;
mod wall_slope;
mod warning;
mod yielding;

pub use capillary::{CapillaryReading, viscosity_from_force};
pub use carreau::CarreauYasuda;
pub use curve::FlowCurve;
pub use end_correction::{
    EndCorrection, LengthPoint, creeping_end_correction_radii, end_correction,
    end_correction_along_rates,
};
pub use end_losses::{EndLosses, end_losses};
pub use error::{FlowError, FlowQuantity};
pub use pipe::{Tube, WallState};
pub use push::{
    Push, PushConditions, PushInputs, consistency_for_force, pressure_for_force, push,
    viscosity_for_force,
};
pub use wall_slope::{SlopeShape, WallPoint, WallSlope, distinct_rates, slope_shape, wall_slope};
pub use warning::{FlowWarning, JOINT_STATEMENT, warnings};
