//! Units in the headers of a bench table: `heat_temp_C` is a temperature in °C.

use super::dimension::{Dimension, Unit};

/// The unit that a header's suffix names.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ColumnUnit {
    suffix: &'static str,
    dimension: Dimension,
    spelling: &'static str,
}

/// A header taken apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HeaderParts<'a> {
    /// What the column is: `heat_temp`.
    pub base: &'a str,
    /// The unit that it is in.
    pub unit: ColumnUnit,
}

const fn suffix(suffix: &'static str, dimension: Dimension, spelling: &'static str) -> ColumnUnit {
    ColumnUnit {
        suffix,
        dimension,
        spelling,
    }
}

/// Longer suffixes stand before those that they end in (`_mPa_s` before `_s`).
static SUFFIXES: [ColumnUnit; 22] = [
    suffix("_mL_per_min", Dimension::FlowRate, "mL/min"),
    suffix("_mPa_s", Dimension::Viscosity, "mPa.s"),
    suffix("_per_s", Dimension::ShearRate, "1/s"),
    suffix("_Pa_s", Dimension::Viscosity, "Pa.s"),
    suffix("_min", Dimension::Duration, "min"),
    suffix("_kPa", Dimension::Pressure, "kPa"),
    suffix("_Pa", Dimension::Pressure, "Pa"),
    suffix("_cP", Dimension::Viscosity, "cP"),
    suffix("_kgf", Dimension::Force, "kgf"),
    suffix("_gf", Dimension::Force, "gf"),
    suffix("_mL", Dimension::Volume, "mL"),
    suffix("_kg", Dimension::Mass, "kg"),
    suffix("_g", Dimension::Mass, "g"),
    suffix("_au", Dimension::Firmness, "au"),
    suffix("_mm", Dimension::Length, "mm"),
    suffix("_mN", Dimension::Force, "mN"),
    suffix("_N", Dimension::Force, "N"),
    suffix("_C", Dimension::Temperature, "C"),
    suffix("_K", Dimension::Temperature, "K"),
    suffix("_F", Dimension::Temperature, "F"),
    suffix("_s", Dimension::Duration, "s"),
    suffix("_h", Dimension::Duration, "h"),
];

impl ColumnUnit {
    /// The suffix with its underscore: `_mPa_s`.
    pub fn suffix(&self) -> &'static str {
        self.suffix
    }

    /// The kind of quantity.
    pub fn dimension(&self) -> Dimension {
        self.dimension
    }

    /// The unit as a person writes it: `mPa.s`.
    pub fn symbol(&self) -> &'static str {
        self.spelling
    }

    fn unit(&self) -> Option<&'static Unit> {
        self.dimension.unit(self.spelling)
    }

    /// The SI value of a number in this column.
    pub fn to_si(&self, number: f64) -> f64 {
        self.unit().map_or(number, |unit| unit.to_si(number))
    }

    /// The SI size of a difference of two numbers in this column (a standard deviation):
    /// a temperature's zero point drops out.
    pub fn difference_to_si(&self, number: f64) -> f64 {
        self.unit()
            .map_or(number, |unit| number * unit.multiply / unit.divide)
    }

    /// The number in this column's unit of an SI value.
    pub fn from_si(&self, value: f64) -> f64 {
        self.unit().map_or(value, |unit| {
            value * unit.divide / unit.multiply - unit.offset
        })
    }

    /// The suffixes of one kind of quantity, for messages.
    pub fn suffixes_of(dimension: Dimension) -> Vec<&'static str> {
        SUFFIXES
            .iter()
            .filter(|unit| unit.dimension == dimension)
            .map(|unit| unit.suffix)
            .collect()
    }

    /// The unit of a suffix written with its underscore.
    pub fn of_suffix(suffix: &str) -> Option<ColumnUnit> {
        SUFFIXES.iter().copied().find(|unit| unit.suffix == suffix)
    }
}

/// Takes a header apart: `heat_temp_C` is `heat_temp` in °C. `None` where no suffix is a unit.
///
/// # Example
/// ```
/// use heatset::units::{Dimension, split_header};
/// let parts = split_header("heat_temp_C").unwrap();
/// assert_eq!((parts.base, parts.unit.dimension()), ("heat_temp", Dimension::Temperature));
/// // SI Brochure, 9th ed., 2.3.1: 0 °C is 273.15 K.
/// assert_eq!(parts.unit.to_si(0.0), 273.15);
/// ```
pub fn split_header(header: &str) -> Option<HeaderParts<'_>> {
    SUFFIXES.iter().find_map(|unit| {
        let base = header.strip_suffix(unit.suffix)?;
        (!base.is_empty()).then_some(HeaderParts { base, unit: *unit })
    })
}
