//! One function a quantity, of the shape that a command-line value parser wants:
//! `fn(&str) -> Result<f64, UnitError>`. Signs are checked where only one makes sense.

use super::dimension::Dimension;
use super::error::UnitError;
use super::quantity::{Sign, excerpt, parse_quantity, parse_signed};

/// Declares functions that differ in dimension, sign and words alone.
macro_rules! quantities {
    ($($(#[$doc:meta])* $function:ident: $dimension:ident, $sign:ident, $name:literal, $why:literal;)*) => {$(
        $(#[$doc])*
        ///
        /// # Errors
        /// As [`parse_quantity`], and a sign that makes no sense.
        pub fn $function(text: &str) -> Result<f64, UnitError> {
            parse_signed(text, Dimension::$dimension, Sign::$sign, $name, $why)
        }
    )*};
}

quantities! {
    /// A temperature such as `86C`, in K.
    temperature_kelvin: Temperature, Any, "temperature", "";
    /// A temperature difference such as `2K`, in K.
    temperature_difference_kelvin: TemperatureDifference, Any, "temperature difference", "";
    /// A time above zero such as `7min` or `6 min 10 s`, in s.
    duration_s: Duration, Positive, "time", "is no time at all";
    /// A time of zero or more, in s.
    duration_or_zero_s: Duration, NotNegative, "time", "";
    /// A length above zero such as `13mm`, in m.
    length_m: Length, Positive, "length", "does not exist";
    /// A length of zero or more (a wall, what stands out of the block), in m.
    length_or_zero_m: Length, NotNegative, "length", "";
    /// A bore above zero such as `0.16mm`, in m.
    bore_m: Length, Positive, "bore", "lets nothing through";
    /// A force above zero such as `15N`, in N.
    force_n: Force, Positive, "force", "moves nothing";
    /// A force of zero or more (friction), in N.
    force_or_zero_n: Force, NotNegative, "force", "";
    /// A flow rate above zero such as `1mL/min` or `60s/mL`, in m³/s.
    flow_rate_m3_per_s: FlowRate, Positive, "flow rate", "empties no syringe";
    /// A flow rate of zero or more (how far one may be off), in m³/s.
    flow_rate_or_zero_m3_per_s: FlowRate, NotNegative, "flow rate", "";
    /// A temperature difference of zero or more, in K.
    temperature_difference_or_zero_kelvin: TemperatureDifference, NotNegative, "temperature difference", "";
    /// A viscosity above zero such as `1000mPa.s`, in Pa.s.
    viscosity_pa_s: Viscosity, Positive, "viscosity", "belongs to no liquid or gel";
    /// A consistency above zero such as `2Pa.s^n`, in Pa.s^n.
    consistency_pa_s_n: Consistency, Positive, "consistency", "belongs to no liquid or gel";
    /// A pressure, stress or modulus above zero such as `50Pa`, in Pa.
    pressure_pa: Pressure, Positive, "pressure", "moves nothing";
    /// A pressure or stress of zero or more (tissue, yield stress), in Pa.
    pressure_or_zero_pa: Pressure, NotNegative, "pressure", "";
    /// An activation energy above zero such as `150kJ/mol`, in J/mol.
    activation_energy_j_per_mol: ActivationEnergy, Positive, "activation energy", "would make heat slow the setting or leave it alone";
    /// A shear rate above zero such as `10/s`, in 1/s.
    shear_rate_per_s: ShearRate, Positive, "shear rate", "is no flow";
    /// A density above zero such as `1025kg/m3`, in kg/m³.
    density_kg_per_m3: Density, Positive, "density", "belongs to no material";
    /// A volume above zero such as `1mL`, in m³.
    volume_m3: Volume, Positive, "volume", "holds nothing";
    /// A rate above zero such as `0.12/min`, in 1/s.
    rate_per_s: RateConstant, Positive, "rate", "sets nothing";
    /// A rate of heating above zero such as `20K/min`, in K/s.
    temperature_rate_kelvin_per_s: TemperatureRate, Positive, "rate of heating", "heats nothing";
    /// A heat transfer coefficient above zero such as `150W/m2K`, in W/m²K.
    heat_transfer_w_per_m2_kelvin: HeatTransferCoefficient, Positive, "heat transfer coefficient", "lets no heat through";
    /// A thermal conductivity above zero such as `0.58W/mK`, in W/mK.
    conductivity_w_per_m_kelvin: Conductivity, Positive, "thermal conductivity", "lets no heat through";
    /// A specific heat above zero such as `3900J/kgK`, in J/kgK.
    specific_heat_j_per_kg_kelvin: SpecificHeat, Positive, "specific heat", "belongs to no material";
    /// A speed of rotation above zero such as `3000rpm`, in revolutions a second.
    rotation_speed_per_s: RotationSpeed, Positive, "speed of rotation", "spins nothing down";
    /// A mass concentration above zero such as `20mg/mL` or `65g/L`, in kg/m³.
    mass_concentration_kg_per_m3: MassConcentration, Positive, "mass concentration", "is a solution of nothing";
    /// A molar mass above zero such as `1500kDa`, in kg/mol.
    molar_mass_kg_per_mol: MolarMass, Positive, "molar mass", "belongs to no molecule";
    /// A volume of zero or more (a loss, an anticoagulant), in m³.
    volume_or_zero_m3: Volume, NotNegative, "volume", "";
    /// A number without unit, decimal point.
    number: Number, Any, "number", "";
    /// A number above zero without unit (order, flow index).
    positive_number: Number, Positive, "number", "is not above zero";
}

/// A fraction from 0 to 1, written as `0.2` or `20%`.
///
/// # Errors
/// As [`parse_quantity`], and a value outside 0 to 1.
pub fn fraction(text: &str) -> Result<f64, UnitError> {
    let value = parse_quantity(text, Dimension::Fraction)?;
    if (0.0..=1.0).contains(&value) {
        Ok(value + 0.0)
    } else {
        Err(UnitError::OutsideFraction {
            text: excerpt(text.trim()),
            name: "fraction",
        })
    }
}
