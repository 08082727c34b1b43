//! What the tables say of the barrel.

use super::SyringeArguments;
use crate::face::cli::CliError;
use crate::reference::{BarrelMaterial, find_syringe};
use crate::units::display;

/// Syringe where none is named.
const DEFAULT_SYRINGE: &str = "1mL";
/// Wall of a barrel of which the bore alone is given.
const DEFAULT_WALL_M: f64 = 0.9e-3;

/// What the tables say of the barrel.
pub(super) struct Tabled {
    pub(super) name: Option<String>,
    pub(super) label: String,
    pub(super) material: BarrelMaterial,
    pub(super) nominal_m3: Option<f64>,
    pub(super) bore_m: f64,
    pub(super) bore_range_m: Option<(f64, f64)>,
    pub(super) wall_m: f64,
}

impl SyringeArguments {
    pub(super) fn tabled(&self) -> Result<Tabled, CliError> {
        if let Some(bore_m) = self.barrel {
            return Ok(Tabled {
                name: None,
                label: format!("{} barrel", display::length_mm(bore_m)),
                material: BarrelMaterial::Polypropylene,
                nominal_m3: None,
                bore_m,
                bore_range_m: None,
                wall_m: DEFAULT_WALL_M,
            });
        }
        let name = self.syringe.as_deref().unwrap_or(DEFAULT_SYRINGE);
        // '5 mL' and '5mL' are the same syringe.
        let name: String = name.split_whitespace().collect();
        let row = find_syringe(&name)?;
        let label = row.label.replace("mL-", " mL ").replace("mL", " mL");
        let label = label.replace("  ", " ");
        Ok(Tabled {
            name: Some(row.name()),
            label: match row.material {
                BarrelMaterial::Polypropylene => format!("{label} syringe"),
                BarrelMaterial::Glass => format!("{label} glass syringe"),
            },
            material: row.material,
            nominal_m3: Some(row.nominal_volume_m3),
            bore_m: row.bore_m,
            bore_range_m: row.bore_range_m,
            wall_m: row.wall_thickness_m,
        })
    }
}
