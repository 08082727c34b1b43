//! What can go wrong in a look-up.

use thiserror::Error;

use super::needles::Wall;

/// A look-up that the reference tables cannot answer.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum ReferenceError {
    /// The needle table has no row of this gauge.
    #[error(
        "no {gauge}G needle is in the table; it holds {widest_gauge}G to {finest_gauge}G. \
         Name one of these, or give the bore itself (such as 0.16mm)"
    )]
    UnknownGauge {
        /// The gauge asked for.
        gauge: u8,
        /// Smallest gauge number, the widest needle.
        widest_gauge: u8,
        /// Largest gauge number, the finest needle.
        finest_gauge: u8,
    },
    /// The gauge exists, but not with this wall.
    #[error(
        "no {gauge}G needle with {wall} wall is in the table; {gauge}G has: {walls}. \
         Name one of these, or give the bore itself (such as 0.16mm)"
    )]
    WallNotInTable {
        /// The gauge asked for.
        gauge: u8,
        /// The wall asked for.
        wall: Wall,
        /// The walls that the table has for this gauge.
        walls: String,
    },
    /// A word that is no needle wall.
    #[error("\"{given}\" is no needle wall; write regular, thin, extra-thin or ultra-thin")]
    UnknownWall {
        /// What was given.
        given: String,
    },
    /// A word that is no bore basis.
    #[error("\"{given}\" is no bore basis; write nominal or minimum")]
    UnknownBoreBasis {
        /// What was given.
        given: String,
    },
    /// A word that names no syringe of the table.
    #[error(
        "no syringe \"{given}\" is in the table; it holds {known}. \
         Name one of these, or give the barrel's bore itself (such as 4.7mm)"
    )]
    UnknownSyringe {
        /// What was given.
        given: String,
        /// Every name that the table answers to.
        known: String,
    },
    /// The material table has no such row.
    #[error("the material table has no {property} of {material}")]
    MissingProperty {
        /// The material asked for.
        material: &'static str,
        /// The property asked for.
        property: &'static str,
    },
    /// The hands table lacks a row that answers are made from.
    #[error("the table of hand forces has no row \"{name}\"")]
    MissingHandForce {
        /// The row asked for.
        name: &'static str,
    },
    /// A size that no row covers (zero, negative or not a number).
    #[error("a {quantity} of {value} has no row in the table; it must be above zero")]
    SizeNotInTable {
        /// What the size is, with its unit.
        quantity: &'static str,
        /// The value asked for.
        value: f64,
    },
    /// A temperature outside what the source of a formula allows.
    #[error(
        "the viscosity of water at {temperature_kelvin} K is not known here: \
         its formula holds from {from_kelvin} K to {to_kelvin} K"
    )]
    TemperatureOutOfRange {
        /// The temperature asked for.
        temperature_kelvin: f64,
        /// Lower end of the formula.
        from_kelvin: f64,
        /// Upper end of the formula.
        to_kelvin: f64,
    },
    /// A mixture or a temperature outside of the formulas for glycerol and water.
    #[error(
        "{} of glycerol by mass at {} is outside of what its formulas hold for: 0 to 100 %, 0 to 100 °C",
        crate::units::display::percent(*glycerol_mass_fraction),
        crate::units::display::temperature(*temperature_kelvin)
    )]
    GlycerolOutOfRange {
        /// Mass fraction of glycerol.
        glycerol_mass_fraction: f64,
        /// Temperature.
        temperature_kelvin: f64,
    },
    /// A viscosity that no mixture with glycerol is thin enough for.
    #[error(
        "no mixture of glycerol and water is as thin as {} at {}: water alone has {}",
        crate::units::display::viscosity(*viscosity_pa_s),
        crate::units::display::temperature(*temperature_kelvin),
        crate::units::display::viscosity(*thinnest_pa_s)
    )]
    ThinnerThanWater {
        /// The viscosity asked for.
        viscosity_pa_s: f64,
        /// That of water.
        thinnest_pa_s: f64,
        /// Temperature.
        temperature_kelvin: f64,
    },
    /// A viscosity that glycerol alone does not reach.
    #[error(
        "no mixture of glycerol and water is as thick as {} at {}: glycerol alone has {}",
        crate::units::display::viscosity(*viscosity_pa_s),
        crate::units::display::temperature(*temperature_kelvin),
        crate::units::display::viscosity(*thickest_pa_s)
    )]
    ThickerThanGlycerol {
        /// The viscosity asked for.
        viscosity_pa_s: f64,
        /// That of glycerol.
        thickest_pa_s: f64,
        /// Temperature.
        temperature_kelvin: f64,
    },
    /// A table of the project cannot be read.
    #[error("shared/{table}, line {line}, column {column}: {reason}")]
    BrokenTable {
        /// File name of the table.
        table: &'static str,
        /// Line in the file, counted from 1.
        line: usize,
        /// Column name.
        column: String,
        /// What is wrong with the cell.
        reason: String,
    },
}
