//! One entry of the log.

use super::prediction::Prediction;
use crate::reference::Wall;

/// Codes of an entry; never a name.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Codes {
    /// Donor draw.
    pub lot: String,
    /// Who heated and read.
    pub operator: Option<String>,
    /// Heating block.
    pub block: Option<String>,
    /// Place in the block.
    pub place: Option<String>,
    /// Session.
    pub session: Option<String>,
}

/// How a batch was heated.
#[derive(Debug, Clone, PartialEq)]
pub struct Heated {
    /// Set temperature of the block, in K.
    pub set_kelvin: f64,
    /// Heat time on the clock, in s.
    pub heat_time_s: f64,
    /// How its warm-up was counted, in words.
    pub warm_up: String,
}

/// Needle, syringe and push of a force that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct NeedlePush {
    /// Gauge; none where the bore was given.
    pub gauge: Option<u8>,
    /// Wall; none where the bore was given.
    pub wall: Option<Wall>,
    /// Bore, in m.
    pub bore_m: f64,
    /// Length, in m.
    pub length_m: f64,
    /// Name of the syringe; none where the barrel's bore was given.
    pub syringe: Option<String>,
    /// Bore of the barrel, in m.
    pub barrel_bore_m: f64,
    /// Flow rate, in m³/s.
    pub flow_rate_m3_per_s: f64,
    /// Friction of the stopper, in N.
    pub friction_n: f64,
}

/// What was read of a batch.
#[derive(Debug, Clone, PartialEq)]
pub enum Reading {
    /// Plunger force through a needle.
    PlungerForce {
        /// The force, in N.
        force_n: f64,
        /// The push.
        push: NeedlePush,
    },
    /// Viscosity.
    Viscosity {
        /// The viscosity, in Pa.s.
        viscosity_pa_s: f64,
        /// Shear rate at which it holds, in 1/s, where it is known.
        shear_rate_per_s: Option<f64>,
    },
    /// Whether an air bubble stayed where it was in the tilted barrel: logged, not judged.
    Bubble {
        /// Whether it stayed.
        held: bool,
    },
}

impl Reading {
    /// The word of the file for it.
    #[must_use]
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::PlungerForce { .. } => "force",
            Self::Viscosity { .. } => "viscosity",
            Self::Bubble { .. } => "bubble",
        }
    }

    /// The number that was read, in the SI unit of its kind; none for a bubble.
    #[must_use]
    pub const fn value_in_unit(&self) -> Option<f64> {
        match self {
            Self::PlungerForce { force_n, .. } => Some(*force_n),
            Self::Viscosity { viscosity_pa_s, .. } => Some(*viscosity_pa_s),
            Self::Bubble { .. } => None,
        }
    }
}

/// An entry before it is in the log.
#[derive(Debug, Clone, PartialEq)]
pub struct NewEntry {
    /// When it was entered, RFC 3339.
    pub time: String,
    /// Codes.
    pub codes: Codes,
    /// Blend of the calibration.
    pub blend: String,
    /// Its volume fraction of hyaluronic acid solution, where that is known.
    pub ha_fraction: Option<f64>,
    /// How it was heated.
    pub heated: Heated,
    /// What was read.
    pub reading: Reading,
    /// Temperature of the gel when it was read, in K, where it is known.
    pub gel_kelvin: Option<f64>,
    /// What was predicted; none for a bubble.
    pub prediction: Option<Prediction>,
    /// SHA-256 of the calibration's file, in hexadecimal digits.
    pub calibration_sha256: String,
    /// Version of heatset that predicted.
    pub version: String,
    /// Whether the calibration stands on invented data.
    pub invented: bool,
    /// Whether the prediction is extrapolated.
    pub extrapolated: bool,
    /// Whether a refit may take it.
    pub accepted: bool,
    /// The entry that this one replaces.
    pub corrects: Option<u64>,
}

/// An entry of the log.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Its number: 1 for the first.
    pub number: u64,
    /// What was entered.
    pub entered: NewEntry,
    /// Number of the entry that replaces it.
    pub corrected_by: Option<u64>,
    /// Its link of the chain.
    pub hash: [u8; 32],
}

impl Entry {
    /// Whether it still stands: no later entry replaces it.
    #[must_use]
    pub const fn stands(&self) -> bool {
        self.corrected_by.is_none()
    }
}
