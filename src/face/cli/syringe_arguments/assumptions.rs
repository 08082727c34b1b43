//! What is taken for granted of the syringe, for the JSON answer.

use super::tabled::Tabled;
use super::{SyringeArguments, unless};
use crate::reference::{BarrelMaterial, OutsideCoefficient};
use crate::thermal::SyringeSetup;
use serde::Serialize;

/// What is taken for granted of the syringe, in SI units.
#[derive(Debug, Clone, Serialize)]
pub(in crate::face::cli) struct SyringeAssumptions {
    syringe: Option<String>,
    barrel_bore_m: f64,
    wall_thickness_m: f64,
    wall_material: BarrelMaterial,
    #[serde(rename = "contact_W_per_m2_K")]
    contact: f64,
    #[serde(rename = "contact_range_W_per_m2_K")]
    contact_range: Option<(f64, f64)>,
    #[serde(rename = "air_W_per_m2_K")]
    air: f64,
    #[serde(rename = "air_range_W_per_m2_K")]
    air_range: Option<(f64, f64)>,
    #[serde(rename = "conductivity_W_per_m_K")]
    conductivity: f64,
    density_kg_per_m3: f64,
    #[serde(rename = "specific_heat_J_per_kg_K")]
    specific_heat: f64,
    #[serde(rename = "wall_conductivity_W_per_m_K")]
    wall_conductivity: f64,
    filled_m3: Option<f64>,
    filled_length_m: Option<f64>,
    stands_out_m: f64,
    needle_end: &'static str,
    infinite_cylinder: bool,
    /// Names of what nobody stated.
    defaults: Vec<&'static str>,
}

impl SyringeArguments {
    pub(super) fn assumptions(
        &self,
        tabled: &Tabled,
        setup: &SyringeSetup,
        filled_m3: Option<f64>,
        contact: &OutsideCoefficient,
        air: &OutsideCoefficient,
    ) -> SyringeAssumptions {
        let gel = setup.barrel.gel();
        let named = self.syringe.is_some() || self.barrel.is_some();
        let wall_known = self.wall_thickness.is_some() || self.barrel.is_none();
        let defaults = [
            ("syringe", named),
            ("wall_thickness", wall_known),
            ("contact", self.contact.is_some()),
            ("air", self.air.is_some()),
            ("conductivity", self.conductivity.is_some()),
            ("density", self.density.is_some()),
            ("specific_heat", self.specific_heat.is_some()),
            ("wall_conductivity", self.wall_conductivity.is_some()),
        ];
        SyringeAssumptions {
            syringe: tabled.name.clone(),
            barrel_bore_m: setup.barrel.bore_m(),
            wall_thickness_m: setup.barrel.wall_thickness_m(),
            wall_material: tabled.material,
            contact: setup.contact_w_per_m2_kelvin,
            contact_range: unless(self.contact, contact.coefficient_range_w_per_m2_kelvin),
            air: setup.air_w_per_m2_kelvin,
            air_range: unless(self.air, air.coefficient_range_w_per_m2_kelvin),
            conductivity: gel.conductivity_w_per_m_kelvin,
            density_kg_per_m3: gel.density_kg_per_m3,
            specific_heat: gel.specific_heat_j_per_kg_kelvin,
            wall_conductivity: setup.barrel.wall().conductivity_w_per_m_kelvin,
            filled_m3,
            filled_length_m: setup.length.map(|length| length.filled_length_m),
            stands_out_m: setup.length.map_or(0.0, |length| length.stands_out_m),
            needle_end: self.needle_end(),
            infinite_cylinder: setup.length.is_none(),
            defaults: defaults
                .into_iter()
                .filter(|(_, stated)| !stated)
                .map(|(name, _)| name)
                .collect(),
        }
    }

    fn needle_end(&self) -> &'static str {
        match (
            self.open_end,
            self.capped || self.stands_out.unwrap_or(0.0) > 0.0,
        ) {
            (true, _) => "open",
            (false, true) => "capped",
            (false, false) => "not counted",
        }
    }
}
