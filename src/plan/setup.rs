//! Needle, syringe and push, with the stated defaults.

use super::error::PlanError;
use crate::flow::{PushConditions, PushInputs};
use crate::reference::{
    BoreBasis, Syringe, Wall, default_friction_for_bore_n, default_friction_n, find_needle,
    find_syringe, hands, plasma,
};
use crate::units::display;
use serde::Serialize;

/// Syringe where none is named.
pub const DEFAULT_SYRINGE: &str = "1mL";
/// Default length of a needle, in m.
pub const DEFAULT_LENGTH_M: f64 = 13e-3;
/// Default flow rate of a push: 1 mL in a minute, in m³/s.
pub const DEFAULT_FLOW_RATE_M3_PER_S: f64 = 1e-6 / 60.0;
/// How far a hand's flow may be off the one named, as a share of it, where nobody says: a push timed
/// with a stopwatch. Common practice, no source.
pub const DEFAULT_FLOW_TOLERANCE_RATIO: f64 = 0.1;
/// How far a stated friction may be off, as a share of it, where nobody says. Common practice, no
/// source.
pub const STATED_FRICTION_TOLERANCE_RATIO: f64 = 0.2;
/// How far a place of the block may be off the set temperature, in K, where nobody says. Common
/// practice, no source.
pub const DEFAULT_BLOCK_TOLERANCE_K: f64 = 0.5;
/// Highest plunger force that is answered, in N.
pub const LARGEST_FORCE_N: f64 = 200.0;

/// A needle of the answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NeedleUsed {
    /// Gauge; none where the bore was given.
    pub gauge: Option<u8>,
    /// Wall; none where the bore was given.
    pub wall: Option<Wall>,
    /// Whether the bore is the nominal or the least; none where it was given.
    pub bore_basis: Option<BoreBasis>,
    /// Bore, in m.
    pub bore_m: f64,
    /// Half-width of the bore's rectangular tolerance, in m.
    pub bore_tolerance_m: Option<f64>,
    /// Length, in m.
    pub length_m: f64,
}

impl NeedleUsed {
    /// A needle of the tables.
    ///
    /// # Errors
    /// A gauge or wall that the tables do not have.
    pub fn of_gauge(
        gauge: u8,
        wall: Wall,
        basis: BoreBasis,
        length_m: f64,
    ) -> Result<Self, PlanError> {
        let needle = find_needle(gauge, wall, basis)?;
        Ok(Self {
            gauge: Some(gauge),
            wall: Some(wall),
            bore_basis: Some(needle.bore_basis),
            bore_m: needle.bore_m,
            bore_tolerance_m: needle.bore_tolerance_m,
            length_m,
        })
    }

    /// A needle of which the bore is given.
    ///
    /// # Errors
    /// A tolerance as wide as the bore.
    pub fn of_bore(
        bore_m: f64,
        bore_tolerance_m: Option<f64>,
        length_m: f64,
    ) -> Result<Self, PlanError> {
        if let Some(tolerance_m) = bore_tolerance_m
            && tolerance_m >= bore_m
        {
            return Err(PlanError::ToleranceTooLarge {
                bore_m,
                tolerance_m,
            });
        }
        Ok(Self {
            gauge: None,
            wall: None,
            bore_basis: None,
            bore_m,
            bore_tolerance_m,
            length_m,
        })
    }

    /// How people call it: '30G x 13 mm', or the bore where no gauge was named.
    #[must_use]
    pub fn label(&self) -> String {
        let length = display::length_mm(self.length_m);
        match (self.gauge, self.wall) {
            (Some(gauge), Some(Wall::Regular) | None) => format!("{gauge}G x {length}"),
            (Some(gauge), Some(wall)) => format!("{gauge}G {wall} wall x {length}"),
            (None, _) => format!("{} bore x {length}", display::length_mm(self.bore_m)),
        }
    }

    /// What is assumed of the bore.
    #[must_use]
    pub fn bore_words(&self) -> String {
        let bore = display::length_mm(self.bore_m);
        let tolerance = self
            .bore_tolerance_m
            .map_or_else(String::new, |t| format!(" ± {}", display::length_mm(t)));
        match (self.bore_basis, self.gauge, self.wall) {
            (Some(BoreBasis::Nominal), Some(gauge), _) => {
                format!("bore {bore}{tolerance} (nominal, {gauge}G regular wall)")
            }
            (Some(BoreBasis::Minimum), Some(gauge), Some(wall)) => format!(
                "bore {bore} (the least that the standard allows, {gauge}G {wall} wall; a real one is wider and needs less force)"
            ),
            _ => format!("bore {bore}{tolerance} (given)"),
        }
    }
}

/// The barrel of the answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BarrelUsed {
    /// Name of the syringe; none where the bore was given.
    pub syringe: Option<String>,
    /// Bore, in m.
    pub bore_m: f64,
    /// Nominal volume, in m³, where the syringe was named.
    pub nominal_volume_m3: Option<f64>,
}

impl BarrelUsed {
    /// A syringe of the tables.
    ///
    /// # Errors
    /// A syringe that the tables do not have.
    pub fn of_syringe(name: &str) -> Result<Self, PlanError> {
        let syringe: Syringe = find_syringe(name)?;
        Ok(Self {
            syringe: Some(syringe.name()),
            bore_m: syringe.bore_m,
            nominal_volume_m3: Some(syringe.nominal_volume_m3),
        })
    }

    /// A barrel of which the bore is given.
    #[must_use]
    pub fn of_bore(bore_m: f64) -> Self {
        Self {
            syringe: None,
            bore_m,
            nominal_volume_m3: None,
        }
    }

    /// How people call it.
    #[must_use]
    pub fn label(&self) -> String {
        self.syringe.as_ref().map_or_else(
            || format!("{} barrel", display::length_mm(self.bore_m)),
            |name| format!("{name} syringe").replace("mL", " mL"),
        )
    }

    /// Friction of its stopper where none was measured, and how far it may be off, in N.
    ///
    /// # Errors
    /// A table that does not read; none on the embedded ones.
    pub fn default_friction_n(&self) -> Result<(f64, f64), PlanError> {
        let found = match self.nominal_volume_m3 {
            Some(volume) => default_friction_n(volume)?,
            None => default_friction_for_bore_n(self.bore_m)?,
        };
        let (least_n, most_n) = found.friction_range_n;
        Ok((found.friction_n, 0.5 * (most_n - least_n)))
    }
}

/// Needle, syringe and push of one question.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PushSetup {
    /// Needle.
    pub needle: NeedleUsed,
    /// Barrel.
    pub barrel: BarrelUsed,
    /// Flow rate, in m³/s.
    pub flow_rate_m3_per_s: f64,
    /// Friction of the stopper, in N.
    pub friction_n: f64,
    /// Whether the friction is the stated default rather than the user's.
    pub friction_is_default: bool,
    /// Pressure of the tissue, in Pa.
    pub tissue_pressure_pa: f64,
    /// Whether entrance and exit losses count.
    pub include_end_losses: bool,
    /// Temperature of the gel at the push, in K; that of the readings where none.
    pub gel_kelvin: Option<f64>,
    /// Force limit, in N.
    pub force_limit_n: f64,
    /// What is not known of it.
    pub doubts: PushDoubts,
}

/// What is not known of a push, and of the place that its syringe was heated in: half-widths of
/// rectangular distributions.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PushDoubts {
    /// Of the stopper's friction, in N; never below no friction.
    #[serde(rename = "friction_tolerance_N")]
    pub friction_tolerance_n: f64,
    /// Of the flow rate, as a share of it.
    pub flow_tolerance_ratio: f64,
    /// Of the block's temperature at the place of the syringe, in K.
    #[serde(rename = "block_tolerance_K")]
    pub block_tolerance_k: f64,
}

impl PushDoubts {
    /// All known exactly.
    pub const NONE: Self = Self {
        friction_tolerance_n: 0.0,
        flow_tolerance_ratio: 0.0,
        block_tolerance_k: 0.0,
    };
}

impl PushSetup {
    /// The stated defaults with one needle: 1 mL syringe, 1 mL/min, usual friction, no tissue
    /// pressure, no end losses, and the published target force as the limit.
    ///
    /// # Errors
    /// As for the tables.
    pub fn with_needle(needle: NeedleUsed) -> Result<Self, PlanError> {
        let barrel = BarrelUsed::of_syringe("1mL")?;
        let (friction_n, friction_tolerance_n) = barrel.default_friction_n()?;
        Ok(Self {
            friction_n,
            doubts: PushDoubts {
                friction_tolerance_n,
                flow_tolerance_ratio: DEFAULT_FLOW_TOLERANCE_RATIO,
                block_tolerance_k: DEFAULT_BLOCK_TOLERANCE_K,
            },
            needle,
            barrel,
            flow_rate_m3_per_s: DEFAULT_FLOW_RATE_M3_PER_S,
            friction_is_default: true,
            tissue_pressure_pa: 0.0,
            include_end_losses: false,
            gel_kelvin: None,
            force_limit_n: hands()?.target_n,
        })
    }

    /// The same push through another needle.
    #[must_use]
    pub fn through(&self, needle: NeedleUsed) -> Self {
        Self {
            needle,
            ..self.clone()
        }
    }

    /// Checked conditions for the flow room.
    ///
    /// # Errors
    /// A size, rate or force that cannot be.
    pub fn conditions(&self) -> Result<PushConditions, PlanError> {
        Ok(PushConditions::new(PushInputs {
            bore_m: self.needle.bore_m,
            length_m: self.needle.length_m,
            barrel_bore_m: self.barrel.bore_m,
            flow_rate_m3_per_s: self.flow_rate_m3_per_s,
            friction_n: self.friction_n,
            tissue_pressure_pa: self.tissue_pressure_pa,
            density_kg_per_m3: plasma()?.density_kg_per_m3,
            include_end_losses: self.include_end_losses,
        })?)
    }

    /// Refuses a limit that friction takes up or that no hand gives.
    ///
    /// # Errors
    /// A limit at or under friction and tissue pressure, or over 200 N.
    pub fn check_force(&self, force_n: f64) -> Result<(), PlanError> {
        let area = std::f64::consts::PI * self.barrel.bore_m * self.barrel.bore_m / 4.0;
        let taken_n = self.friction_n + self.tissue_pressure_pa * area;
        if force_n > LARGEST_FORCE_N {
            return Err(PlanError::ForceTooHigh { force_n });
        }
        if force_n <= taken_n {
            return Err(PlanError::ForceUnderFriction { force_n, taken_n });
        }
        Ok(())
    }
}
