//! From blood to plasma, and back.

use super::error::SheetError;
use serde::Serialize;

/// Anticoagulant in the tubes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Anticoagulant {
    /// A volume, in m³, whatever the blood.
    #[serde(rename = "volume_m3")]
    VolumeM3(f64),
    /// Volume for each volume of blood.
    #[serde(rename = "per_blood_ratio")]
    PerBloodRatio(f64),
}

impl Anticoagulant {
    /// Its volume beside a volume of blood.
    #[must_use]
    pub fn volume_m3(self, blood_m3: f64) -> f64 {
        match self {
            Self::VolumeM3(volume_m3) => volume_m3,
            Self::PerBloodRatio(ratio) => ratio * blood_m3,
        }
    }
}

/// How blood is parted.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Separation {
    /// Share of the blood's volume that is cells.
    pub haematocrit_fraction: f64,
    /// Share of the plasma layer, anticoagulant and all, that is drawn off.
    pub recovery_fraction: f64,
    /// Anticoagulant in the tubes.
    pub anticoagulant: Anticoagulant,
}

impl Separation {
    /// Refuses shares that leave no plasma.
    ///
    /// # Errors
    /// [`SheetError::NoPlasma`] for a haematocrit that is not above 0 and under 1, or a recovery that
    /// is not above 0 and at most 1.
    pub fn checked(self) -> Result<Self, SheetError> {
        let Self {
            haematocrit_fraction,
            recovery_fraction,
            ..
        } = self;
        if !(haematocrit_fraction > 0.0 && haematocrit_fraction < 1.0) {
            return Err(SheetError::NoPlasma {
                what: "haematocrit",
                value_fraction: haematocrit_fraction,
                one_allowed: false,
                example: "0.42",
            });
        }
        if !(recovery_fraction > 0.0 && recovery_fraction <= 1.0) {
            return Err(SheetError::NoPlasma {
                what: "recovery",
                value_fraction: recovery_fraction,
                one_allowed: true,
                example: "0.85",
            });
        }
        Ok(self)
    }
}

/// Plasma that is drawn off, with the anticoagulant in it.
///
/// # Equation
/// V_p = r \[V_b (1 - H) + V_a\]
///
/// | symbol | field | unit |
/// |---|---|---|
/// | V_p | returned | m3 |
/// | V_b | `blood_m3`, without anticoagulant | m3 |
/// | H | `haematocrit_fraction` | 1 |
/// | r | `recovery_fraction` | 1 |
/// | V_a | `anticoagulant` | m3 |
///
/// # Valid for
/// Cells that keep their volume and hold back no plasma between them (what they hold back belongs
/// into the recovery), and anticoagulant that stays in the plasma.
///
/// # Source
/// Balance of volumes: the haematocrit is the share of the cells (common practice, no source).
///
/// # Example
/// ```
/// use heatset::plan::sheet::plasma::{Anticoagulant, Separation, plasma_m3};
/// // By hand: 40 mL at 0.42 hold 23.2 mL of plasma; with 4 mL it is 27.2 mL, of which 85 %.
/// let parted = Separation {
///     haematocrit_fraction: 0.42,
///     recovery_fraction: 0.85,
///     anticoagulant: Anticoagulant::VolumeM3(4e-6),
/// };
/// assert!((plasma_m3(40e-6, &parted) - 23.12e-6).abs() < 1e-12);
/// ```
#[must_use]
pub fn plasma_m3(blood_m3: f64, separation: &Separation) -> f64 {
    let own_m3 = blood_m3 * (1.0 - separation.haematocrit_fraction);
    separation.recovery_fraction * (own_m3 + separation.anticoagulant.volume_m3(blood_m3))
}

/// Blood that gives a volume of plasma: [`plasma_m3`] turned round; 0 where the anticoagulant alone
/// would give it.
///
/// # Equation
/// V_b = (V_p/r - V_a)/(1 - H), or V_p/\[r (1 - H + a)\] where V_a = a V_b
#[must_use]
pub fn blood_for_plasma_m3(plasma_m3: f64, separation: &Separation) -> f64 {
    let layer_m3 = plasma_m3 / separation.recovery_fraction;
    let share = 1.0 - separation.haematocrit_fraction;
    let blood_m3 = match separation.anticoagulant {
        Anticoagulant::VolumeM3(volume_m3) => (layer_m3 - volume_m3) / share,
        Anticoagulant::PerBloodRatio(ratio) => layer_m3 / (share + ratio),
    };
    blood_m3.max(0.0)
}

/// Share of the plasma that is drawn off which is the donor's own.
///
/// # Equation
/// f = V_b (1 - H)/\[V_b (1 - H) + V_a\]
///
/// Symbols as in [`plasma_m3`].
#[must_use]
pub fn own_plasma_fraction(blood_m3: f64, separation: &Separation) -> f64 {
    let own_m3 = blood_m3 * (1.0 - separation.haematocrit_fraction);
    own_m3 / (own_m3 + separation.anticoagulant.volume_m3(blood_m3))
}
