//! The kinds of quantity and the units each is written in.
//!
//! # Source
//! BIPM, *The International System of Units (SI Brochure)*, 9th ed., 2019, tables 7 and 8
//! (min, h, d, L, prefixes); A. Thompson and B. N. Taylor, *NIST Special Publication 811*,
//! 2008, appendix B.8 (kgf = 9.80665 N, cal_th = 4.184 J, mmHg = 133.322 Pa (conventional,
//! 133.322 387 415 Pa), bar = 1e5 Pa, poise = 0.1 Pa s, °F = 1.8 K - 459.67).

/// The kind of a quantity: decides which units are understood and what they become in SI.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[non_exhaustive]
pub enum Dimension {
    /// Absolute temperature; SI: K.
    Temperature,
    /// Difference of two temperatures; SI: K.
    TemperatureDifference,
    /// Time span; SI: s.
    Duration,
    /// Length; SI: m.
    Length,
    /// Force; SI: N.
    Force,
    /// Volume flow rate, also written as time per volume; SI: m³/s.
    FlowRate,
    /// Dynamic viscosity; SI: Pa.s.
    Viscosity,
    /// Consistency of a power law, Pa.s^n whatever n is.
    Consistency,
    /// Pressure, stress or modulus; SI: Pa.
    Pressure,
    /// Activation energy; SI: J/mol.
    ActivationEnergy,
    /// Shear rate; SI: 1/s.
    ShearRate,
    /// Density; SI: kg/m³.
    Density,
    /// Volume; SI: m³.
    Volume,
    /// First-order rate; SI: 1/s.
    RateConstant,
    /// Plain number or per cent.
    Fraction,
    /// A number without any unit (order of reaction, flow index).
    Number,
    /// A firmness reading in its own unit: plain number or `au`.
    Firmness,
    /// Rate of change of temperature; SI: K/s.
    TemperatureRate,
    /// Heat transfer coefficient; SI: W/m²K.
    HeatTransferCoefficient,
    /// Thermal conductivity; SI: W/mK.
    Conductivity,
    /// Specific heat; SI: J/kgK.
    SpecificHeat,
    /// Mass, as a balance shows it; SI: kg.
    Mass,
    /// Speed of a rotor; revolutions in a second.
    RotationSpeed,
    /// Mass in a volume of solution; SI: kg/m³.
    MassConcentration,
    /// Molar mass; SI: kg/mol.
    MolarMass,
}

/// One unit: SI value = (number + offset) * multiply / divide, or the reciprocal of that.
pub(crate) struct Unit {
    /// Spellings that are understood; the first is the one shown.
    pub spellings: &'static [&'static str],
    /// Added to the number first (temperatures only).
    pub offset: f64,
    /// Factor.
    pub multiply: f64,
    /// Divisor: kept apart from the factor so that 0.16 mm is 0.00016 m to the last digit.
    pub divide: f64,
    /// True where the unit is time per volume.
    pub inverse: bool,
}

impl Unit {
    /// The SI value of a number written in this unit.
    pub(crate) fn to_si(&self, number: f64) -> f64 {
        let value = (number + self.offset) * self.multiply / self.divide;
        if self.inverse { 1.0 / value } else { value }
    }
}

const fn unit(spellings: &'static [&'static str], multiply: f64, divide: f64) -> Unit {
    Unit {
        spellings,
        offset: 0.0,
        multiply,
        divide,
        inverse: false,
    }
}

const fn shifted(
    spellings: &'static [&'static str],
    offset: f64,
    multiply: f64,
    divide: f64,
) -> Unit {
    Unit {
        spellings,
        offset,
        multiply,
        divide,
        inverse: false,
    }
}

const fn per_volume(spellings: &'static [&'static str], multiply: f64, divide: f64) -> Unit {
    Unit {
        spellings,
        offset: 0.0,
        multiply,
        divide,
        inverse: true,
    }
}

static TEMPERATURE: [Unit; 3] = [
    shifted(&["C", "degC"], 273.15, 1.0, 1.0),
    shifted(&["K", "degK"], 0.0, 1.0, 1.0),
    shifted(&["F", "degF"], 459.67, 5.0, 9.0),
];
static TEMPERATURE_DIFFERENCE: [Unit; 3] = [
    unit(&["K"], 1.0, 1.0),
    unit(&["C", "degC"], 1.0, 1.0),
    unit(&["F", "degF"], 5.0, 9.0),
];
static DURATION: [Unit; 4] = [
    unit(&["s", "sec"], 1.0, 1.0),
    unit(&["min"], 60.0, 1.0),
    unit(&["h", "hr"], 3600.0, 1.0),
    unit(&["d"], 86400.0, 1.0),
];
static LENGTH: [Unit; 4] = [
    unit(&["mm"], 1.0, 1e3),
    unit(&["m"], 1.0, 1.0),
    unit(&["um"], 1.0, 1e6),
    unit(&["cm"], 1.0, 1e2),
];
static FORCE: [Unit; 5] = [
    unit(&["N"], 1.0, 1.0),
    unit(&["mN"], 1.0, 1e3),
    unit(&["kN"], 1e3, 1.0),
    unit(&["gf"], 9.80665, 1e3),
    unit(&["kgf"], 9.80665, 1.0),
];
static FLOW_RATE: [Unit; 12] = [
    unit(&["mL/min", "ml/min"], 1.0, 6e7),
    unit(&["mL/s", "ml/s"], 1.0, 1e6),
    unit(&["uL/s", "ul/s"], 1.0, 1e9),
    unit(&["uL/min", "ul/min"], 1.0, 6e10),
    unit(&["mL/h", "ml/h"], 1.0, 3.6e9),
    unit(&["L/h", "l/h"], 1.0, 3.6e6),
    unit(&["L/min", "l/min"], 1.0, 6e4),
    unit(&["m3/s"], 1.0, 1.0),
    per_volume(&["s/mL", "s/ml"], 1e6, 1.0),
    per_volume(&["min/mL", "min/ml"], 6e7, 1.0),
    per_volume(&["h/mL", "h/ml"], 3.6e9, 1.0),
    per_volume(&["s/uL", "s/ul"], 1e9, 1.0),
];
static VISCOSITY: [Unit; 4] = [
    unit(&["Pa.s", "Pas"], 1.0, 1.0),
    unit(&["mPa.s", "mPas"], 1.0, 1e3),
    unit(&["cP"], 1.0, 1e3),
    unit(&["P"], 1.0, 10.0),
];
static CONSISTENCY: [Unit; 2] = [
    unit(&["Pa.s^n", "Pa.sn"], 1.0, 1.0),
    unit(&["mPa.s^n", "mPa.sn"], 1.0, 1e3),
];
static PRESSURE: [Unit; 6] = [
    unit(&["Pa", "N/m2"], 1.0, 1.0),
    unit(&["kPa"], 1e3, 1.0),
    unit(&["MPa"], 1e6, 1.0),
    unit(&["bar"], 1e5, 1.0),
    unit(&["mbar", "hPa"], 1e2, 1.0),
    unit(&["mmHg"], 133.322_387_415, 1.0),
];
static ACTIVATION_ENERGY: [Unit; 4] = [
    unit(&["kJ/mol"], 1e3, 1.0),
    unit(&["J/mol"], 1.0, 1.0),
    unit(&["kcal/mol"], 4184.0, 1.0),
    unit(&["cal/mol"], 4.184, 1.0),
];
static SHEAR_RATE: [Unit; 1] = [unit(&["1/s", "/s", "s-1", "per_s"], 1.0, 1.0)];
static DENSITY: [Unit; 3] = [
    unit(&["kg/m3"], 1.0, 1.0),
    unit(&["g/mL", "g/ml", "g/cm3"], 1e3, 1.0),
    unit(&["kg/L", "kg/l"], 1e3, 1.0),
];
static VOLUME: [Unit; 4] = [
    unit(&["mL", "ml", "cm3"], 1.0, 1e6),
    unit(&["uL", "ul"], 1.0, 1e9),
    unit(&["L", "l"], 1.0, 1e3),
    unit(&["m3"], 1.0, 1.0),
];
static RATE_CONSTANT: [Unit; 4] = [
    unit(&["1/s", "/s", "s-1", "per_s"], 1.0, 1.0),
    unit(&["1/min", "/min", "min-1"], 1.0, 60.0),
    unit(&["1/h", "/h", "h-1"], 1.0, 3600.0),
    unit(&["1/d", "/d", "d-1"], 1.0, 86400.0),
];
static FRACTION: [Unit; 2] = [unit(&[""], 1.0, 1.0), unit(&["%"], 1.0, 1e2)];
static NUMBER: [Unit; 1] = [unit(&[""], 1.0, 1.0)];
static FIRMNESS: [Unit; 2] = [unit(&["au"], 1.0, 1.0), unit(&[""], 1.0, 1.0)];
static TEMPERATURE_RATE: [Unit; 3] = [
    unit(&["K/min", "C/min", "degC/min"], 1.0, 60.0),
    unit(&["K/s", "C/s", "degC/s"], 1.0, 1.0),
    unit(&["K/h", "C/h", "degC/h"], 1.0, 3600.0),
];
static HEAT_TRANSFER: [Unit; 1] = [unit(
    &["W/m2K", "W/m2/K", "W/m2.K", "W/(m2K)", "W/(m2.K)"],
    1.0,
    1.0,
)];
static CONDUCTIVITY: [Unit; 2] = [
    unit(&["W/mK", "W/m/K", "W/m.K", "W/(mK)", "W/(m.K)"], 1.0, 1.0),
    unit(&["mW/mK", "mW/m/K", "mW/m.K"], 1.0, 1e3),
];
static SPECIFIC_HEAT: [Unit; 2] = [
    unit(
        &["J/kgK", "J/kg/K", "J/kg.K", "J/(kgK)", "J/(kg.K)"],
        1.0,
        1.0,
    ),
    unit(&["kJ/kgK", "kJ/kg/K", "kJ/kg.K", "J/gK", "J/g/K"], 1e3, 1.0),
];

static MASS: [Unit; 3] = [
    unit(&["g"], 1.0, 1e3),
    unit(&["kg"], 1.0, 1.0),
    unit(&["mg"], 1.0, 1e6),
];

static ROTATION_SPEED: [Unit; 2] = [
    unit(&["rpm", "1/min", "/min"], 1.0, 60.0),
    unit(&["1/s", "/s"], 1.0, 1.0),
];
static MASS_CONCENTRATION: [Unit; 3] = [
    unit(&["mg/mL", "mg/ml"], 1.0, 1.0),
    unit(&["g/L", "g/l", "kg/m3"], 1.0, 1.0),
    unit(&["g/dL", "g/dl", "g/100mL"], 10.0, 1.0),
];
static MOLAR_MASS: [Unit; 4] = [
    unit(&["kDa", "kg/mol"], 1.0, 1.0),
    unit(&["MDa"], 1e3, 1.0),
    unit(&["g/mol"], 1.0, 1e3),
    unit(&["Da"], 1.0, 1e3),
];

impl Dimension {
    /// Every kind of quantity.
    pub const ALL: [Dimension; 25] = [
        Dimension::Temperature,
        Dimension::TemperatureDifference,
        Dimension::Duration,
        Dimension::Length,
        Dimension::Force,
        Dimension::FlowRate,
        Dimension::Viscosity,
        Dimension::Consistency,
        Dimension::Pressure,
        Dimension::ActivationEnergy,
        Dimension::ShearRate,
        Dimension::Density,
        Dimension::Volume,
        Dimension::RateConstant,
        Dimension::Fraction,
        Dimension::Number,
        Dimension::Firmness,
        Dimension::TemperatureRate,
        Dimension::HeatTransferCoefficient,
        Dimension::Conductivity,
        Dimension::SpecificHeat,
        Dimension::Mass,
        Dimension::RotationSpeed,
        Dimension::MassConcentration,
        Dimension::MolarMass,
    ];

    pub(crate) fn units(self) -> &'static [Unit] {
        match self {
            Dimension::Temperature => &TEMPERATURE,
            Dimension::TemperatureDifference => &TEMPERATURE_DIFFERENCE,
            Dimension::Duration => &DURATION,
            Dimension::Length => &LENGTH,
            Dimension::Force => &FORCE,
            Dimension::FlowRate => &FLOW_RATE,
            Dimension::Viscosity => &VISCOSITY,
            Dimension::Consistency => &CONSISTENCY,
            Dimension::Pressure => &PRESSURE,
            Dimension::ActivationEnergy => &ACTIVATION_ENERGY,
            Dimension::ShearRate => &SHEAR_RATE,
            Dimension::Density => &DENSITY,
            Dimension::Volume => &VOLUME,
            Dimension::RateConstant => &RATE_CONSTANT,
            Dimension::Fraction => &FRACTION,
            Dimension::Number => &NUMBER,
            Dimension::Firmness => &FIRMNESS,
            Dimension::TemperatureRate => &TEMPERATURE_RATE,
            Dimension::HeatTransferCoefficient => &HEAT_TRANSFER,
            Dimension::Conductivity => &CONDUCTIVITY,
            Dimension::SpecificHeat => &SPECIFIC_HEAT,
            Dimension::Mass => &MASS,
            Dimension::RotationSpeed => &ROTATION_SPEED,
            Dimension::MassConcentration => &MASS_CONCENTRATION,
            Dimension::MolarMass => &MOLAR_MASS,
        }
    }

    /// The unit of that spelling, if it is one of this dimension.
    pub(crate) fn unit(self, spelling: &str) -> Option<&'static Unit> {
        self.units()
            .iter()
            .find(|unit| unit.spellings.contains(&spelling))
    }

    /// What the quantity is called: 'temperature', 'flow rate'.
    pub fn name(self) -> &'static str {
        match self {
            Dimension::Temperature => "temperature",
            Dimension::TemperatureDifference => "temperature difference",
            Dimension::Duration => "time",
            Dimension::Length => "length",
            Dimension::Force => "force",
            Dimension::FlowRate => "flow rate",
            Dimension::Viscosity => "viscosity",
            Dimension::Consistency => "consistency",
            Dimension::Pressure => "pressure",
            Dimension::ActivationEnergy => "molar energy",
            Dimension::ShearRate => "shear rate",
            Dimension::Density => "density",
            Dimension::Volume => "volume",
            Dimension::RateConstant => "rate",
            Dimension::Fraction => "fraction",
            Dimension::Number => "number",
            Dimension::Firmness => "firmness",
            Dimension::TemperatureRate => "rate of heating",
            Dimension::HeatTransferCoefficient => "heat transfer coefficient",
            Dimension::Conductivity => "thermal conductivity",
            Dimension::SpecificHeat => "specific heat",
            Dimension::Mass => "mass",
            Dimension::RotationSpeed => "speed of rotation",
            Dimension::MassConcentration => "mass concentration",
            Dimension::MolarMass => "molar mass",
        }
    }

    /// Ways to write a quantity of this kind, for messages: '86C, 359.15K or 186.8F'.
    pub fn examples(self) -> &'static str {
        match self {
            Dimension::Temperature => "86C, 359.15K or 186.8F",
            Dimension::TemperatureDifference => "2K",
            Dimension::Duration => "420s, 7min or 0.1h",
            Dimension::Length => "0.16mm, 13mm or 0.013m",
            Dimension::Force => "15N, 1.5kgf or 1500gf",
            Dimension::FlowRate => "1mL/min, 0.1mL/s or 60s/mL",
            Dimension::Viscosity => "1Pa.s, 1000mPa.s or 1000cP",
            Dimension::Consistency => "2Pa.s^n",
            Dimension::Pressure => "50Pa, 2kPa or 20mmHg",
            Dimension::ActivationEnergy => "150kJ/mol or 36kcal/mol",
            Dimension::ShearRate => "10/s",
            Dimension::Density => "1025kg/m3 or 1.025g/mL",
            Dimension::Volume => "1mL or 500uL",
            Dimension::RateConstant => "0.002/s or 0.12/min",
            Dimension::Fraction => "0.2 or 20%",
            Dimension::Number => "1 or 0.4",
            Dimension::Firmness => "0.5au or 0.5",
            Dimension::TemperatureRate => "20K/min",
            Dimension::HeatTransferCoefficient => "150W/m2K",
            Dimension::Conductivity => "0.58W/mK",
            Dimension::SpecificHeat => "3900J/kgK",
            Dimension::Mass => "450g or 0.45kg",
            Dimension::RotationSpeed => "3000rpm",
            Dimension::MassConcentration => "20mg/mL or 65g/L",
            Dimension::MolarMass => "1500kDa or 1.5MDa",
        }
    }

    /// The units that are understood, for messages: 's, min, h, d'.
    pub fn understood(self) -> String {
        let shown: Vec<&str> = self
            .units()
            .iter()
            .filter_map(|unit| unit.spellings.first().copied())
            .map(|spelling| {
                if spelling.is_empty() {
                    "no unit"
                } else {
                    spelling
                }
            })
            .collect();
        shown.join(", ")
    }
}
