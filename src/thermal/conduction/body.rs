//! What heat meets on its way: the gel, and the barrel's wall around it.

use super::error::ConductionError;
use crate::reference::Material;
use serde::{Deserialize, Serialize};

/// What conduction needs to know of a material.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | k | `conductivity_w_per_m_kelvin` | W/m/K |
/// | rho | `density_kg_per_m3` | kg/m3 |
/// | cp | `specific_heat_j_per_kg_kelvin` | J/kg/K |
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ThermalBody {
    /// Thermal conductivity.
    #[serde(rename = "conductivity_W_per_m_K")]
    pub conductivity_w_per_m_kelvin: f64,
    /// Density.
    pub density_kg_per_m3: f64,
    /// Specific heat.
    #[serde(rename = "specific_heat_J_per_kg_K")]
    pub specific_heat_j_per_kg_kelvin: f64,
}

impl ThermalBody {
    /// Thermal diffusivity, in m2/s.
    ///
    /// # Equation
    /// `alpha = k/(rho cp)`
    ///
    /// # Source
    /// F. Incropera, D. DeWitt, Fundamentals of Heat and Mass Transfer, section 2.2.2 (from memory).
    ///
    /// # Example
    /// Water at 25 °C: 1.46e-7 m2/s (conductivity, density and specific heat of IAPWS-95).
    /// ```
    /// use heatset::thermal::conduction::ThermalBody;
    /// let water = ThermalBody::from(&heatset::reference::water()?);
    /// approx::assert_relative_eq!(water.diffusivity_m2_per_s(), 1.455e-7, max_relative = 1e-3);
    /// # Ok::<(), heatset::reference::ReferenceError>(())
    /// ```
    #[must_use]
    pub fn diffusivity_m2_per_s(&self) -> f64 {
        self.conductivity_w_per_m_kelvin / self.heat_capacity_j_per_m3_kelvin()
    }

    /// Heat capacity of a volume, `rho cp`, in J/m3/K.
    #[must_use]
    pub fn heat_capacity_j_per_m3_kelvin(&self) -> f64 {
        self.density_kg_per_m3 * self.specific_heat_j_per_kg_kelvin
    }

    fn check(&self) -> Result<(), ConductionError> {
        ConductionError::unless_positive(
            self.conductivity_w_per_m_kelvin,
            |conductivity_w_per_m_kelvin| ConductionError::Conductivity {
                conductivity_w_per_m_kelvin,
            },
        )?;
        ConductionError::unless_positive(self.density_kg_per_m3, |density_kg_per_m3| {
            ConductionError::Density { density_kg_per_m3 }
        })?;
        ConductionError::unless_positive(
            self.specific_heat_j_per_kg_kelvin,
            |specific_heat_j_per_kg_kelvin| ConductionError::SpecificHeat {
                specific_heat_j_per_kg_kelvin,
            },
        )?;
        Ok(())
    }
}

impl From<&Material> for ThermalBody {
    fn from(material: &Material) -> Self {
        Self {
            conductivity_w_per_m_kelvin: material.conductivity_w_per_m_kelvin,
            density_kg_per_m3: material.density_kg_per_m3,
            specific_heat_j_per_kg_kelvin: material.specific_heat_j_per_kg_kelvin,
        }
    }
}

impl From<Material> for ThermalBody {
    fn from(material: Material) -> Self {
        Self::from(&material)
    }
}

/// A cylinder of gel in its barrel, checked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Barrel {
    bore_m: f64,
    wall_thickness_m: f64,
    gel: ThermalBody,
    wall: ThermalBody,
}

impl Barrel {
    /// A barrel of this inner diameter and wall; with a thickness of 0 the contact acts on the gel
    /// and `wall` is not used.
    ///
    /// # Errors
    /// A bore not above 0, a thickness below 0, a property not above 0, any of them not finite.
    ///
    /// # Example
    /// ```
    /// use heatset::reference::{plasma, polypropylene};
    /// use heatset::thermal::conduction::Barrel;
    /// let one_ml = Barrel::new(4.7e-3, 0.9e-3, plasma()?.into(), polypropylene()?.into())?;
    /// approx::assert_relative_eq!(one_ml.outer_radius_m(), 3.25e-3);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn new(
        bore_m: f64,
        wall_thickness_m: f64,
        gel: ThermalBody,
        wall: ThermalBody,
    ) -> Result<Self, ConductionError> {
        ConductionError::unless_positive(bore_m, |bore_m| ConductionError::Bore { bore_m })?;
        if !(wall_thickness_m.is_finite() && wall_thickness_m >= 0.0) {
            return Err(ConductionError::WallThickness { wall_thickness_m });
        }
        gel.check()?;
        wall.check()?;
        Ok(Self {
            bore_m,
            wall_thickness_m,
            gel,
            wall,
        })
    }

    /// Inner diameter of the barrel, in m.
    #[must_use]
    pub fn bore_m(&self) -> f64 {
        self.bore_m
    }

    /// Thickness of the wall, in m; 0 where there is none.
    #[must_use]
    pub fn wall_thickness_m(&self) -> f64 {
        self.wall_thickness_m
    }

    /// Radius of the gel, in m.
    #[must_use]
    pub fn gel_radius_m(&self) -> f64 {
        0.5 * self.bore_m
    }

    /// Radius of the barrel's outside, in m.
    #[must_use]
    pub fn outer_radius_m(&self) -> f64 {
        self.gel_radius_m() + self.wall_thickness_m
    }

    /// The gel.
    #[must_use]
    pub fn gel(&self) -> &ThermalBody {
        &self.gel
    }

    /// The wall.
    #[must_use]
    pub fn wall(&self) -> &ThermalBody {
        &self.wall
    }

    /// Whether there is a wall.
    #[must_use]
    pub fn has_wall(&self) -> bool {
        self.wall_thickness_m > 0.0
    }
}
