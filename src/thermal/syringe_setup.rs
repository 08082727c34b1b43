//! A filled syringe, and what surrounds it in the block and out of it.

use super::conduction::{
    AxialBarrel, AxialGrid, AxialModel, Barrel, ConductionError, RadialGrid, RadialModel,
    ThermalBody,
};

/// A filled syringe with what acts on its outside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SyringeSetup {
    /// Gel and wall.
    pub barrel: Barrel,
    /// Coefficient between barrel and block.
    pub contact_w_per_m2_kelvin: f64,
    /// Coefficient between barrel and air, above the block's rim and out of the block.
    pub air_w_per_m2_kelvin: f64,
    /// Temperature of the air above the block's rim.
    pub room_kelvin: f64,
    /// Length and ends of the gel; nothing for a barrel that counts as infinitely long.
    pub length: Option<AxialBarrel>,
}

/// A number of a syringe setup that is known within a range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SyringeInput {
    /// Coefficient between barrel and block, in W/m2/K.
    Contact,
    /// Coefficient between barrel and air, in W/m2/K.
    Air,
    /// Inner diameter of the barrel, in m.
    Bore,
    /// Conductivity of the barrel's wall, in W/m/K.
    WallConductivity,
    /// Conductivity of the gel, in W/m/K.
    GelConductivity,
    /// Density of the gel, in kg/m3.
    GelDensity,
    /// Specific heat of the gel, in J/kg/K.
    GelSpecificHeat,
}

impl SyringeSetup {
    /// The same setup with one number changed.
    ///
    /// # Errors
    /// A number that the barrel cannot have.
    pub fn with(&self, input: SyringeInput, value: f64) -> Result<Self, ConductionError> {
        let mut bore_m = self.barrel.bore_m();
        let mut gel = *self.barrel.gel();
        let mut wall = *self.barrel.wall();
        let mut changed = *self;
        match input {
            SyringeInput::Contact => changed.contact_w_per_m2_kelvin = value,
            SyringeInput::Air => changed.air_w_per_m2_kelvin = value,
            SyringeInput::Bore => bore_m = value,
            SyringeInput::WallConductivity => wall.conductivity_w_per_m_kelvin = value,
            SyringeInput::GelConductivity => gel.conductivity_w_per_m_kelvin = value,
            SyringeInput::GelDensity => gel.density_kg_per_m3 = value,
            SyringeInput::GelSpecificHeat => gel.specific_heat_j_per_kg_kelvin = value,
        }
        changed.barrel = Barrel::new(bore_m, self.barrel.wall_thickness_m(), gel, wall)?;
        Ok(changed)
    }

    /// Time constant of a barrel of one temperature throughout, in s: the least that warming can
    /// take.
    ///
    /// # Equation
    /// `tau = C/(2 pi R_o h)`, `C` the heat capacity of gel and wall of one metre
    ///
    /// # Source
    /// F. Incropera, D. DeWitt, Fundamentals of Heat and Mass Transfer, section 5.1 (from memory).
    pub(super) fn lumped_time_s(&self, coefficient_w_per_m2_kelvin: f64) -> f64 {
        let (gel_m, outer_m) = (self.barrel.gel_radius_m(), self.barrel.outer_radius_m());
        let capacity = |body: &ThermalBody, square_m2: f64| {
            std::f64::consts::PI * square_m2 * body.heat_capacity_j_per_m3_kelvin()
        };
        let whole = capacity(self.barrel.gel(), gel_m * gel_m)
            + capacity(self.barrel.wall(), outer_m * outer_m - gel_m * gel_m);
        whole / (2.0 * std::f64::consts::PI * outer_m * coefficient_w_per_m2_kelvin)
    }

    /// The cells that the setup is computed with.
    ///
    /// # Errors
    /// A length that the barrel cannot have.
    pub fn model(&self) -> Result<SyringeModel, ConductionError> {
        Ok(match &self.length {
            None => SyringeModel::Radial(Box::new(RadialModel::new(
                &self.barrel,
                RadialGrid::default(),
            )?)),
            Some(length) => SyringeModel::Axial(Box::new(AxialModel::new(
                &self.barrel,
                length,
                AxialGrid::default(),
            )?)),
        })
    }
}

/// The cells of a syringe: by radius alone, or by radius and length.
#[derive(Debug, Clone, PartialEq)]
pub enum SyringeModel {
    /// An infinitely long barrel.
    Radial(Box<RadialModel>),
    /// A barrel with ends, or one that stands out of the block.
    Axial(Box<AxialModel>),
}

impl SyringeModel {
    /// Cells of gel and wall: the length of a whole field.
    #[must_use]
    pub fn cell_count(&self) -> usize {
        match self {
            Self::Radial(model) => model.cell_count(),
            Self::Axial(model) => model.cell_count(),
        }
    }

    /// Share of the gel's volume by cell of gel; the sum is 1.
    #[must_use]
    pub fn gel_volume_fractions(&self) -> &[f64] {
        match self {
            Self::Radial(model) => model.gel_volume_fractions(),
            Self::Axial(model) => model.gel_volume_fractions(),
        }
    }
}
