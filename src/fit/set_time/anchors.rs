//! Pushes of syringes whose heat is known: they tie one setting to one firmness.

use super::error::SetTimeError;
use crate::readings::{FrictionSource, SeenTable};
use serde::{Deserialize, Serialize};

/// One push.
///
/// # Equation
/// At equal dose the gel is equally firm, whatever the temperature: its stress at the wall `tau_w` at
/// the apparent shear rate `32 Q/(pi D^3)` is what the push says of that dose, and of no other.
///
/// # Source
/// tau_w and rate as for a bench of forces: Bird, Stewart, Lightfoot, Transport Phenomena, 2nd ed. 2002,
/// equation 2.3-21.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Anchor {
    /// Data row, counted from 1 over all tables.
    pub row: usize,
    /// Lot.
    pub lot: Option<String>,
    /// Set temperature, in K.
    #[serde(rename = "heat_temp_K")]
    pub heat_temp_k: f64,
    /// Heat time, in s.
    pub heat_time_s: f64,
    /// Heat time over the median set time there by the first criterion, for the usual lot.
    pub over_median_set_time_ratio: f64,
    /// Plunger force, in N.
    #[serde(rename = "plunger_force_N")]
    pub plunger_force_n: f64,
    /// Gauge; null where the bore was measured.
    pub gauge: Option<u8>,
    /// Bore of its needle, in m.
    pub bore_m: f64,
    /// Length of its needle, in m.
    pub needle_length_m: f64,
    /// Bore of its barrel, in m.
    pub barrel_bore_m: f64,
    /// Flow rate, in m³/s.
    pub flow_rate_m3_per_s: f64,
    /// Friction taken off, in N.
    #[serde(rename = "friction_N")]
    pub friction_n: f64,
    /// Whether that friction is the usual one rather than one of this bench.
    pub friction_is_default: bool,
    /// Shear stress at the needle's wall, in Pa.
    #[serde(rename = "wall_shear_stress_Pa")]
    pub wall_shear_stress_pa: f64,
    /// Apparent shear rate at the wall, in 1/s.
    pub apparent_shear_rate_per_s: f64,
    /// Standard deviation of ln of the stress, by all that is not known of the push.
    pub wall_shear_stress_sd_ratio: f64,
    /// Temperature of the gel at the push, in K.
    #[serde(rename = "read_temp_K")]
    pub read_temp_k: Option<f64>,
}

/// The pushes of a blend; `median_s` gives the median set time at a temperature.
///
/// # Errors
/// Pushes that cannot be turned into stresses, all at once.
pub(super) fn anchors_of(
    table: &SeenTable,
    blend: &str,
    median_s: impl Fn(f64) -> f64,
) -> Result<Vec<Anchor>, SetTimeError> {
    let Some((pushes, places)) = table.pushes(blend) else {
        return Ok(Vec::new());
    };
    let converted = pushes.viscosity_readings()?;
    let mut found = Vec::new();
    for (at, (reading, place)) in converted.readings.iter().zip(&places).enumerate() {
        let Some(row) = table.rows.get(*place) else {
            continue;
        };
        let needle = row.details.needle.as_ref();
        let own = reading.own_sd_pa_s.unwrap_or(0.0) / reading.viscosity_pa_s;
        let common = reading.common_sd_pa_s / reading.viscosity_pa_s;
        let friction = converted.frictions.get(reading.friction);
        found.push(Anchor {
            row: place + 1,
            lot: row.details.lot.clone(),
            heat_temp_k: row.heat_temp_kelvin,
            heat_time_s: row.heat_time_s,
            over_median_set_time_ratio: row.heat_time_s / median_s(row.heat_temp_kelvin),
            plunger_force_n: pushes.reading.get(at).copied().unwrap_or(f64::NAN),
            gauge: needle.filter(|n| n.bore_m.is_none()).and_then(|n| n.gauge),
            bore_m: converted
                .bores
                .get(reading.bore)
                .map_or(f64::NAN, |b| b.bore_m),
            needle_length_m: reading.length_m,
            barrel_bore_m: needle.and_then(|n| n.barrel_bore_m).unwrap_or(f64::NAN),
            flow_rate_m3_per_s: reading.flow_rate_m3_per_s,
            friction_n: reading.friction_n,
            friction_is_default: friction.is_some_and(|f| f.source == FrictionSource::Default),
            wall_shear_stress_pa: reading.wall_shear_stress_pa,
            apparent_shear_rate_per_s: reading.apparent_rate_per_s,
            wall_shear_stress_sd_ratio: own.hypot(common),
            read_temp_k: row.details.read_temp_kelvin,
        });
    }
    Ok(found)
}
