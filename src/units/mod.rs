//! Text with units to SI numbers and back: the only place that converts.
//!
//! Inside the crate every number is SI. A person writes `86C`, `7min`, `0.16 mm`;
//! a bench table writes `heat_temp_C`; an answer prints `6 min 10 s`.
//! [`quantity`] reads, [`columns`] reads headers, [`display`] prints.

pub mod clock;
pub mod columns;
pub mod dimension;
pub mod display;
mod error;
pub mod named;
pub mod quantity;
pub mod shown;

pub use columns::{ColumnUnit, HeaderParts, split_header};
pub use dimension::Dimension;
pub use error::UnitError;
pub use named::{
    activation_energy_j_per_mol, bore_m, conductivity_w_per_m_kelvin, consistency_pa_s_n,
    density_kg_per_m3, duration_or_zero_s, duration_s, flow_rate_m3_per_s,
    flow_rate_or_zero_m3_per_s, force_n, force_or_zero_n, fraction, heat_transfer_w_per_m2_kelvin,
    length_m, length_or_zero_m, mass_concentration_kg_per_m3, molar_mass_kg_per_mol, number,
    positive_number, pressure_or_zero_pa, pressure_pa, rate_per_s, rotation_speed_per_s,
    shear_rate_per_s, specific_heat_j_per_kg_kelvin, temperature_difference_kelvin,
    temperature_difference_or_zero_kelvin, temperature_kelvin, temperature_rate_kelvin_per_s,
    viscosity_pa_s, volume_m3, volume_or_zero_m3,
};
pub use quantity::{Sign, parse_one_of, parse_quantity, parse_si_or_unit, parse_signed};
