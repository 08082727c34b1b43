//! What one row of a bench table says beside temperature, time and reading.

use serde::Serialize;

use crate::units::display;

/// What rows without a blend belong to.
pub const PLAIN_BLEND: &str = "plain";

/// What was in the barrel when it was pushed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Content {
    /// The gel, heated or not.
    #[default]
    Gel,
    /// Nothing: the push is the stopper's friction.
    Empty,
    /// Water.
    Water,
    /// Another liquid whose viscosity is stated.
    Known,
}

impl Content {
    /// Every content.
    pub const ALL: [Self; 4] = [Self::Gel, Self::Empty, Self::Water, Self::Known];

    /// The word in the table.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Gel => "gel",
            Self::Empty => "empty",
            Self::Water => "water",
            Self::Known => "known",
        }
    }
}

/// A push without gel, which tells of the syringe and the needle.
#[derive(Debug, Clone, PartialEq)]
pub struct RunWithoutGel {
    /// What was in the barrel.
    pub content: Content,
    /// The reading in the SI unit of the table's kind; an empty barrel under a dead weight has none.
    pub reading: Option<f64>,
    /// Viscosity of a liquid of known viscosity.
    pub known_viscosity_pa_s: Option<f64>,
    /// Its standard deviation.
    pub known_viscosity_sd_pa_s: Option<f64>,
    /// The rest of the row.
    pub details: RowDetails,
}

/// The needle, syringe and push of a force reading or a timed run.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct NeedleDetails {
    /// Gauge.
    pub gauge: Option<u8>,
    /// Wall: `regular`, `thin`, `extra-thin` or `ultra-thin`.
    pub wall: Option<String>,
    /// Length of the needle.
    pub length_m: Option<f64>,
    /// Bore of the syringe barrel.
    pub barrel_bore_m: Option<f64>,
    /// Flow rate of the push.
    pub flow_rate_m3_per_s: Option<f64>,
    /// Friction of the stopper.
    pub friction_n: Option<f64>,
    /// Bore of the needle where it was measured.
    pub bore_m: Option<f64>,
    /// Standard deviation of that bore.
    pub bore_sd_m: Option<f64>,
    /// All that pressed on the plunger, plunger included.
    pub dead_weight_kg: Option<f64>,
    /// Volume that was timed.
    pub run_volume_m3: Option<f64>,
}

/// What a row says beside temperature, time and reading.
#[derive(Debug, Clone, PartialEq)]
pub struct RowDetails {
    /// Which of the table's sources the row came from.
    pub source: usize,
    /// Its line in that file (its row, where the file has no lines).
    pub line: usize,
    /// False leaves the row out of the fit; it is still drawn.
    pub used: bool,
    /// Standard deviation of the reading, in SI.
    pub reading_sd: Option<f64>,
    /// Shear rate of a viscosity reading.
    pub shear_rate_per_s: Option<f64>,
    /// Code of the donor draw.
    pub lot: Option<String>,
    /// Code of who measured.
    pub operator: Option<String>,
    /// Code of the heating block.
    pub block: Option<String>,
    /// Code of the place in the block.
    pub place: Option<String>,
    /// Code of the day.
    pub session: Option<String>,
    /// Name of the blend.
    pub blend: Option<String>,
    /// Volume fraction of hyaluronic acid solution.
    pub ha_fraction: Option<f64>,
    /// Gel temperature when read.
    pub read_temp_kelvin: Option<f64>,
    /// Standing before the reading.
    pub stand_time_s: Option<f64>,
    /// Temperature while standing.
    pub stand_temp_kelvin: Option<f64>,
    /// Needle, syringe and push of a force reading.
    pub needle: Option<NeedleDetails>,
    /// The note, with what stood in unknown columns as `header=text`.
    pub note: Option<String>,
}

impl Default for RowDetails {
    /// A used row that says nothing further.
    fn default() -> Self {
        RowDetails {
            source: 0,
            line: 0,
            used: true,
            reading_sd: None,
            shear_rate_per_s: None,
            lot: None,
            operator: None,
            block: None,
            place: None,
            session: None,
            blend: None,
            ha_fraction: None,
            read_temp_kelvin: None,
            stand_time_s: None,
            stand_temp_kelvin: None,
            needle: None,
            note: None,
        }
    }
}

impl RowDetails {
    /// The blend that the row belongs to: its name; without one `HA 0.2` by its fraction, or `plain`.
    pub fn blend_name(&self) -> String {
        match (&self.blend, self.ha_fraction) {
            (Some(name), _) => name.clone(),
            (None, Some(fraction)) if fraction > 0.0 => format!("HA {}", display::plain(fraction)),
            _ => PLAIN_BLEND.to_string(),
        }
    }
}
