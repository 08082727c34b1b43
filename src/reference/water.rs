//! Water: the solvent, whose viscosity carries the gel's from one temperature to another.

use serde::Serialize;

use super::error::ReferenceError;
use super::source::Source;
use super::table::{Embedded, Parsed, Row, rows_of};

static POINTS: Parsed<WaterPoint> = Parsed::new();
const FILE: Embedded = Embedded {
    name: "water.csv",
    text: include_str!("../../shared/water.csv"),
};

/// Lower end of the viscosity formula.
const FROM_KELVIN: f64 = 253.15;
/// Upper end of the viscosity formula.
const TO_KELVIN: f64 = 383.15;

/// Water at atmospheric pressure and one temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WaterPoint {
    /// Temperature.
    pub temperature_kelvin: f64,
    /// Viscosity.
    pub viscosity_pa_s: f64,
    /// Density.
    pub density_kg_per_m3: f64,
    /// Thermal conductivity.
    pub conductivity_w_per_m_kelvin: f64,
    /// Specific heat.
    pub specific_heat_j_per_kg_kelvin: f64,
    /// Where the row comes from.
    #[serde(flatten)]
    pub source: Source,
}

fn point(row: &Row<'_>) -> Result<WaterPoint, ReferenceError> {
    Ok(WaterPoint {
        temperature_kelvin: row.positive_si("temperature_C")?,
        viscosity_pa_s: row.positive_si("viscosity_mPa_s")?,
        density_kg_per_m3: row.positive_si("density_kg_per_m3")?,
        conductivity_w_per_m_kelvin: row.positive_si("conductivity_W_per_m_K")?,
        specific_heat_j_per_kg_kelvin: row.positive_si("specific_heat_J_per_kg_K")?,
        source: row.source()?,
    })
}

/// The water table, by rising temperature.
///
/// # Errors
/// [`ReferenceError::BrokenTable`] where the embedded table cannot be read.
pub fn water_table() -> Result<&'static [WaterPoint], ReferenceError> {
    rows_of(&POINTS, FILE, point)
}

/// Viscosity of liquid water at atmospheric pressure.
///
/// # Equation
/// mu = 1e-6 sum a_i (T / 300 K)^b_i, with a = 280.68, 511.45, 61.131, 0.45903 and
/// b = -1.9, -7.7, -19.6, -40.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | mu | returned | Pa s |
/// | T | `temperature_kelvin` | K |
///
/// # Valid for
/// 253.15 K to 383.15 K at 0.1 MPa, to about 1 %; against the table `shared/water.csv`
/// (IAPWS R12-08, 0 to 99.6 C) the two agree to 0.01 %.
///
/// # Errors
/// [`ReferenceError::TemperatureOutOfRange`] outside of that.
///
/// # Source
/// IAPWS SR6-08(2011), Revised Supplementary Release on Properties of Liquid Water at
/// 0.1 MPa, equation for viscosity; coefficients from memory, confirmed by the table.
///
/// # Example
/// ```
/// use heatset::reference::water_viscosity_pa_s;
/// // 1.0016 mPa s at 20 C (IAPWS R12-08, recommended value at 0.1 MPa)
/// let viscosity_pa_s = water_viscosity_pa_s(293.15)?;
/// assert!((viscosity_pa_s - 1.0016e-3).abs() < 1e-7);
/// # Ok::<(), heatset::reference::ReferenceError>(())
/// ```
pub fn water_viscosity_pa_s(temperature_kelvin: f64) -> Result<f64, ReferenceError> {
    if !(FROM_KELVIN..=TO_KELVIN).contains(&temperature_kelvin) {
        return Err(ReferenceError::TemperatureOutOfRange {
            temperature_kelvin,
            from_kelvin: FROM_KELVIN,
            to_kelvin: TO_KELVIN,
        });
    }
    let reduced = temperature_kelvin / 300.0;
    let terms = [
        (280.68, -1.9),
        (511.45, -7.7),
        (61.131, -19.6),
        (0.459_03, -40.0),
    ];
    Ok(1e-6
        * terms
            .iter()
            .map(|(factor, power)| factor * reduced.powf(*power))
            .sum::<f64>())
}

/// Viscosity of water at one temperature over that at another.
///
/// Carries a gel's viscosity from the temperature of its reading to that of the push
/// where the readings themselves tell nothing of it; an assumption that an answer must state.
///
/// # Equation
/// factor = mu(T) / mu(T_read)
///
/// | symbol | field | unit |
/// |---|---|---|
/// | factor | returned | 1 |
/// | T | `temperature_kelvin` | K |
/// | T_read | `read_temperature_kelvin` | K |
///
/// # Valid for
/// Water. That a gel follows its solvent is assumed, not measured.
///
/// # Errors
/// [`ReferenceError::TemperatureOutOfRange`] where either temperature is.
///
/// # Source
/// As [`water_viscosity_pa_s`].
///
/// # Example
/// ```
/// use heatset::reference::water_viscosity_ratio;
/// // IAPWS R12-08: 0.6913 mPa s at 37 C, 1.0016 at 20 C
/// let factor = water_viscosity_ratio(310.15, 293.15)?;
/// assert!((factor - 0.6913 / 1.0016).abs() < 1e-4);
/// # Ok::<(), heatset::reference::ReferenceError>(())
/// ```
pub fn water_viscosity_ratio(
    temperature_kelvin: f64,
    read_temperature_kelvin: f64,
) -> Result<f64, ReferenceError> {
    Ok(water_viscosity_pa_s(temperature_kelvin)? / water_viscosity_pa_s(read_temperature_kelvin)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_water_table_parses_whole_and_rises_in_temperature() {
        let points = water_table().unwrap();
        assert_eq!(points.len(), FILE.text.lines().count() - 1);
        for pair in points.windows(2) {
            assert!(pair[0].temperature_kelvin < pair[1].temperature_kelvin);
        }
    }
}
