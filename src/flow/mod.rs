//! The gel in the needle: flow curves, pressure drop, plunger force; and what a held bubble
//! proves.
//!
//! The way through the room: a [`FlowCurve`] says how stress answers shear rate, a
//! [`MeasuredCurve`] says it by a table; [`pipe`] turns either into the pressure drop of a
//! tube, [`push`] puts needle, barrel and stopper round it, [`yield_force_n`] says what
//! holds before anything flows, [`warnings`] says where the figures stop holding, and
//! [`viscosity_from_force`] goes the other way: a needle as a viscometer. [`bubble`] stands
//! by itself.
//!
//! No published needle force with all its inputs was found for a liquid that thins with
//! shear. Those curves are held by textbook pipes, by their limits and by quadrature of the
//! general integral, done independently of this room (`tests/flow_published.rs`,
//! `tests/flow_measured.rs`).

pub mod bubble;
mod capillary;
mod carreau;
mod curve;
mod curve_file;
mod end_correction;
mod end_losses;
mod error;
mod gauss;
mod hub;
mod limit_flow;
mod log_interpolant;
mod measured;
pub mod pipe;
mod push;
mod rabinowitsch;
pub mod reynolds;
mod root;
mod tube_curve;
mod wall_slope;
mod warning;
mod yield_force;
mod yielding;

pub use capillary::{CapillaryReading, viscosity_from_force};
pub use carreau::CarreauYasuda;
pub use curve::FlowCurve;
pub use curve_file::{
    CurveFault, CurveFileError, CurveSample, CurveTable, parse_curve, read_curve,
};
pub use end_correction::{
    EndCorrection, LengthPoint, creeping_end_correction_radii, end_correction,
    end_correction_along_rates,
};
pub use end_losses::{EndLosses, end_losses};
pub use error::{FlowError, FlowQuantity};
pub use hub::{Hub, hub_loss_pa};
pub(crate) use limit_flow::{LimitFlow, LogCurve};
pub use measured::{LeavesTable, MeasuredCurve, ShearPoint};
pub use pipe::{Tube, WallState};
pub use push::{
    Push, PushConditions, PushInputs, consistency_for_force, pressure_for_force, push,
    push_through_hub, viscosity_for_force,
};
pub use tube_curve::TubeCurve;
pub use wall_slope::{SlopeShape, WallPoint, WallSlope, distinct_rates, slope_shape, wall_slope};
pub use warning::{FlowWarning, JOINT_STATEMENT, warnings};
pub use yield_force::yield_force_n;
