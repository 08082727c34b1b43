//! Heat conduction into the gel through the barrel's wall.
//!
//! A filled syringe in a hot block is a cylinder of gel in a tube of plastic or glass, warmed from
//! outside through a heat transfer coefficient. Two solvers share one step in time:
//!
//! * radial: an infinitely long barrel, temperature by radius ([`RadialModel`], [`radial_field`],
//!   [`unit_heating`], [`unit_cooling`]);
//! * axial: radius and length, for a barrel that stands out of the block or whose end is not heated
//!   ([`AxialModel`], [`axial_field`], [`axial_unit_heating`], [`axial_unit_cooling`]).
//!
//! No conversion and no rate stands here: these files know temperature only.

mod axial_barrel;
mod axial_field;
mod axial_model;
mod axial_system;
mod axial_unit;
mod banded;
mod body;
mod error;
mod heat_balance;
mod output_times;
mod outside;
mod radial_cells;
mod radial_field;
mod radial_model;
mod radial_state;
mod radial_system;
mod steps;
mod time_stepping;
mod tridiagonal;
mod unit_field;

pub use axial_barrel::{AxialBarrel, AxialGrid, EndCondition, Surroundings};
pub use axial_field::{AxialField, AxialStage, axial_field};
pub use axial_model::AxialModel;
pub use axial_unit::{AxialCoefficients, AxialUnitField, axial_unit_cooling, axial_unit_heating};
pub use body::{Barrel, ThermalBody};
pub use error::ConductionError;
pub use heat_balance::HeatBalance;
pub use outside::{ConductionStage, Outside, OutsideTemperature};
pub use radial_cells::RadialGrid;
pub use radial_field::{RadialField, radial_field};
pub use radial_model::RadialModel;
pub use radial_state::RadialState;
pub use steps::Steps;
pub use unit_field::{UnitField, unit_cooling, unit_heating};
