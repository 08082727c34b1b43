//! Saturation pressure of water: what the vapour over a hot gel presses with.

use super::input_error::ThermalInputError;

/// Ends of the saturation line, in K.
const FROM_KELVIN: f64 = 273.15;
const TO_KELVIN: f64 = 647.096;

/// Coefficients `n1` to `n10`.
const N: [f64; 10] = [
    0.116_705_214_527_67e4,
    -0.724_213_167_032_06e6,
    -0.170_738_469_400_92e2,
    0.120_208_247_024_70e5,
    -0.323_255_503_223_33e7,
    0.149_151_086_135_30e2,
    -0.482_326_573_615_91e4,
    0.405_113_405_420_57e6,
    -0.238_555_575_678_49,
    0.650_175_348_447_98e3,
];

/// Saturation pressure of water.
///
/// # Equation
/// `p = 1 MPa [2 C/(-B + (B^2 - 4 A C)^(1/2))]^4` with `t = T + n9/(T - n10)`,
/// `A = t^2 + n1 t + n2`, `B = n3 t^2 + n4 t + n5`, `C = n6 t^2 + n7 t + n8`.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | T | `temperature_kelvin` | K |
/// | p | returned | Pa |
///
/// # Valid for
/// 273.15 to 647.096 K. Salts and protein lower it by under 1 %.
///
/// # Errors
/// [`ThermalInputError::OutOfRange`] outside of that.
///
/// # Source
/// IAPWS R7-97(2012), Industrial Formulation 1997, region 4, eq. 30, table 34 (coefficients seen
/// in several public implementations).
///
/// # Example
/// Table 35 of the release: 3.53658941 kPa at 300 K, 2.63889776 MPa at 500 K.
/// ```
/// use heatset::thermal::water_saturation_pressure_pa;
/// assert!((water_saturation_pressure_pa(300.0)? / 3536.58941 - 1.0).abs() < 1e-8);
/// assert!((water_saturation_pressure_pa(500.0)? / 2.63889776e6 - 1.0).abs() < 1e-8);
/// # Ok::<(), heatset::thermal::ThermalInputError>(())
/// ```
pub fn water_saturation_pressure_pa(temperature_kelvin: f64) -> Result<f64, ThermalInputError> {
    if !(FROM_KELVIN..=TO_KELVIN).contains(&temperature_kelvin) {
        return Err(ThermalInputError::OutOfRange {
            quantity: "a temperature of water",
            value: temperature_kelvin,
            unit: "K",
            low: FROM_KELVIN,
            high: TO_KELVIN,
            remedy: "it freezes below and has no vapour pressure above",
        });
    }
    let [n1, n2, n3, n4, n5, n6, n7, n8, n9, n10] = N;
    let t = temperature_kelvin + n9 / (temperature_kelvin - n10);
    let a = t * t + n1 * t + n2;
    let b = n3 * t * t + n4 * t + n5;
    let c = n6 * t * t + n7 * t + n8;
    Ok(1e6 * (2.0 * c / (-b + (b * b - 4.0 * a * c).sqrt())).powi(4))
}
