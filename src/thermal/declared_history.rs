//! What a user declares of the gel's temperature, as a calibration remembers it.

use super::conduction::{Barrel, ConductionError, ThermalBody};
use super::trace::TracePoint;
use crate::reference::{Syringe, block_contact, default_air, plasma, wall_material};
use serde::{Deserialize, Serialize};

/// A declared temperature history: where it comes from, where the gel starts, whether cooling
/// counts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DeclaredHistory {
    /// Where the warm-up comes from.
    pub source: HistorySource,
    /// Temperature of the gel when it goes into the block, in K.
    #[serde(rename = "start_temp_K")]
    pub start_kelvin: f64,
    /// Cooling that follows every heat time and counts.
    pub cooling: Option<DeclaredCooling>,
}

/// Where a warm-up comes from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum HistorySource {
    /// One time constant, here only where cooling counts too.
    Lag {
        /// Time constant, in s.
        time_constant_s: f64,
    },
    /// A thermocouple's record, scaled to each set temperature.
    Trace {
        /// Its file.
        file: String,
        /// Temperature that the block was set to when it was taken, in K.
        #[serde(rename = "set_temp_K")]
        set_kelvin: f64,
        /// The readings.
        points: Vec<TracePoint>,
    },
    /// Conduction in a syringe.
    Syringe(DeclaredSyringe),
    /// A heat schedule; of a question alone, because it holds for its own temperatures.
    Schedule {
        /// Its file.
        name: String,
        /// The syringe that conduction was computed in, where it was.
        syringe: Option<DeclaredSyringe>,
    },
}

/// A syringe as heat sees it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DeclaredSyringe {
    /// Its name, such as 1mL.
    pub name: String,
    /// Inner diameter of the barrel, in m.
    pub bore_m: f64,
    /// Thickness of the wall, in m.
    pub wall_thickness_m: f64,
    /// The gel.
    pub gel: ThermalBody,
    /// The wall.
    pub wall: ThermalBody,
    /// Coefficient between block and barrel, in W/m2/K.
    #[serde(rename = "contact_W_per_m2_K")]
    pub contact_w_per_m2_kelvin: f64,
    /// Coefficient between barrel and air, in W/m2/K.
    #[serde(rename = "air_W_per_m2_K")]
    pub air_w_per_m2_kelvin: f64,
    /// Length and ends, where they count; else the barrel is taken as all in the block and long.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length: Option<DeclaredLength>,
}

/// How much of a syringe is filled, and how much of that stands in the block.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct DeclaredLength {
    /// Length of the gel, in m.
    pub filled_length_m: f64,
    /// How much of it stands out of the block, at the plunger's end, in m.
    pub stands_out_m: f64,
    /// Whether the needle's end meets the air; else it lets no heat through.
    pub open_end: bool,
    /// Temperature of the room, in K.
    #[serde(rename = "room_temp_K")]
    pub room_kelvin: f64,
}

/// Cooling that counts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct DeclaredCooling {
    /// How long it lasts, in s.
    pub cool_time_s: f64,
    /// Temperature of the air, in K.
    #[serde(rename = "ambient_temp_K")]
    pub ambient_kelvin: f64,
}

impl HistorySource {
    /// The source in one word.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self {
            Self::Lag { .. } => "lag",
            Self::Trace { .. } => "trace",
            Self::Syringe(_) => "syringe",
            Self::Schedule { .. } => "schedule",
        }
    }
}

impl DeclaredSyringe {
    /// A syringe of the reference table with plasma in it, and the tables' coefficients.
    ///
    /// # Errors
    /// A [`crate::reference::ReferenceError`] where an embedded table cannot be read.
    pub fn of(syringe: &Syringe) -> Result<Self, crate::reference::ReferenceError> {
        Ok(Self {
            name: syringe.name(),
            bore_m: syringe.bore_m,
            wall_thickness_m: syringe.wall_thickness_m,
            gel: plasma()?.into(),
            wall: wall_material(syringe.material)?.into(),
            contact_w_per_m2_kelvin: block_contact()?.coefficient_w_per_m2_kelvin,
            air_w_per_m2_kelvin: default_air()?.coefficient_w_per_m2_kelvin,
            length: None,
        })
    }

    /// The barrel, checked.
    ///
    /// # Errors
    /// A size or a property that is none.
    pub fn barrel(&self) -> Result<Barrel, ConductionError> {
        Barrel::new(self.bore_m, self.wall_thickness_m, self.gel, self.wall)
    }

    /// About how long the gel takes to cover most of the way: the barrel's and the gel's heat over
    /// the outside's coefficient, and the gel's own time constant, in s.
    ///
    /// # Equation
    /// `tau = C/(2 pi r_o h) + R^2/(5.78 alpha)`, `C` the heat capacity of a metre of barrel and gel,
    /// `5.78 = 2.405^2` the first root of `J_0` squared.
    ///
    /// # Source
    /// F. Incropera, D. DeWitt, Fundamentals of Heat and Mass Transfer, sections 5.1 and 5.6 (from
    /// memory).
    #[must_use]
    pub fn slowest_time_s(&self, coefficient_w_per_m2_kelvin: f64) -> f64 {
        let radius = 0.5 * self.bore_m;
        let outer = radius + self.wall_thickness_m;
        let heat = |body: &ThermalBody| body.density_kg_per_m3 * body.specific_heat_j_per_kg_kelvin;
        let capacity = std::f64::consts::PI
            * (radius * radius * heat(&self.gel)
                + (outer * outer - radius * radius) * heat(&self.wall));
        capacity / (2.0 * std::f64::consts::PI * outer * coefficient_w_per_m2_kelvin)
            + radius * radius / (5.78 * self.gel.diffusivity_m2_per_s())
    }
}
