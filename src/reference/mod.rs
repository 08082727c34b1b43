//! Needles, hub colours, syringe barrels, materials, water, hands and constants.
//!
//! The figures stand in the project's `shared/*.csv`, each row with its source and
//! with how the figure is known. They are embedded in the binary, parsed once, and
//! looked up by type. Everything a look-up returns is SI.

pub mod air;
pub mod constants;
mod error;
pub mod friction;
pub mod glycerol;
pub mod hands;
pub mod hubs;
pub mod limits;
pub mod materials;
pub mod needles;
pub mod outside;
pub mod rated_temperature;
mod source;
pub mod surface_tension;
pub mod syringes;
mod table;
pub mod water;

pub use error::ReferenceError;
pub use friction::{
    DefaultFriction, default_friction_for_bore_n, default_friction_n, measured_frictions,
};
pub use glycerol::{
    GLYCEROL_DENSITY_DOUBT_RATIO, GLYCEROL_VISCOSITY_DOUBT_RATIO, glycerol_density_kg_per_m3,
    glycerol_mass_fraction, glycerol_viscosity_pa_s,
};
pub use hands::{Hands, PushBand, hands};
pub use hubs::{HubColour, all_hub_colours, hub_colour};
pub use limits::{PlungerForceLimit, dead_space_max_m3, plunger_force_limit};
pub use materials::{Material, borosilicate, plasma, polypropylene, wall_material, water};
pub use needles::{BoreBasis, Needle, Wall, all_needles, find_needle};
pub use source::{Provenance, Source};
pub use surface_tension::{SurfaceTension, room_surface_tension_n_per_m, surface_tensions};
pub use syringes::{BarrelMaterial, Syringe, all_syringes, find_syringe};
pub use water::{WaterPoint, water_table, water_viscosity_pa_s, water_viscosity_ratio};

pub use air::{
    AirProperties, ForcedAir, StillAir, air_properties, cross_flow_nusselt_ratio, forced_air,
    still_air_about_barrel,
};
pub use outside::{
    MovingAirRow, OutsideCoefficient, air_gap_w_per_m2_kelvin, block_contact, default_air,
    moving_air, moving_air_table, still_air,
};
pub use rated_temperature::{RatedTemperature, rated_temperature};
