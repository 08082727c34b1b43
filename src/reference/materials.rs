//! Density, conductivity and specific heat of the gel's plasma and of barrels.

use serde::Serialize;

use super::error::ReferenceError;
use super::source::Source;
use super::syringes::BarrelMaterial;
use super::table::{Embedded, Parsed, Row, rows_of};

static PROPERTIES: Parsed<Property> = Parsed::new();
const FILE: Embedded = Embedded {
    name: "materials.csv",
    text: include_str!("../../shared/materials.csv"),
};

struct Property {
    material: &'static str,
    name: &'static str,
    value: f64,
    range: (f64, f64),
    source: Source,
}

/// What heat and flow need to know of a material.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Material {
    /// Name of the material.
    pub name: &'static str,
    /// Density.
    pub density_kg_per_m3: f64,
    /// Least and greatest density of the texts.
    pub density_range_kg_per_m3: (f64, f64),
    /// Where the density comes from.
    pub density_source: Source,
    /// Thermal conductivity.
    pub conductivity_w_per_m_kelvin: f64,
    /// Least and greatest conductivity of the texts.
    pub conductivity_range_w_per_m_kelvin: (f64, f64),
    /// Where the conductivity comes from.
    pub conductivity_source: Source,
    /// Specific heat.
    pub specific_heat_j_per_kg_kelvin: f64,
    /// Least and greatest specific heat of the texts.
    pub specific_heat_range_j_per_kg_kelvin: (f64, f64),
    /// Where the specific heat comes from.
    pub specific_heat_source: Source,
}

fn property(row: &Row<'_>) -> Result<Property, ReferenceError> {
    let value = row.positive_si("value")?;
    let range = (row.positive_si("low")?, row.positive_si("high")?);
    if value < range.0 || value > range.1 {
        return Err(row.fault("value", "the value lies outside its own range"));
    }
    Ok(Property {
        material: row.text("material")?,
        name: row.text("property")?,
        value,
        range,
        source: row.source()?,
    })
}

fn material(name: &'static str) -> Result<Material, ReferenceError> {
    let rows = rows_of(&PROPERTIES, FILE, property)?;
    let find = |property: &'static str| {
        rows.iter()
            .find(|row| row.material == name && row.name == property)
            .ok_or(ReferenceError::MissingProperty {
                material: name,
                property,
            })
    };
    let density = find("density_kg_per_m3")?;
    let conductivity = find("conductivity_W_per_m_K")?;
    let specific_heat = find("specific_heat_J_per_kg_K")?;
    Ok(Material {
        name,
        density_kg_per_m3: density.value,
        density_range_kg_per_m3: density.range,
        density_source: density.source,
        conductivity_w_per_m_kelvin: conductivity.value,
        conductivity_range_w_per_m_kelvin: conductivity.range,
        conductivity_source: conductivity.source,
        specific_heat_j_per_kg_kelvin: specific_heat.value,
        specific_heat_range_j_per_kg_kelvin: specific_heat.range,
        specific_heat_source: specific_heat.source,
    })
}

/// Human plasma; stands for the gel as well.
///
/// # Errors
/// A [`ReferenceError`] where the embedded table cannot be read.
///
/// # Source
/// Texts, from memory: density 1024 to 1028 kg/m3.
///
/// # Example
/// ```
/// assert_eq!(heatset::reference::plasma()?.density_kg_per_m3, 1025.0);
/// # Ok::<(), heatset::reference::ReferenceError>(())
/// ```
pub fn plasma() -> Result<Material, ReferenceError> {
    material("plasma")
}

/// Water at 25 C and atmospheric pressure.
///
/// # Errors
/// A [`ReferenceError`] where the embedded table cannot be read.
///
/// # Source
/// IAPWS-95 and the IAPWS thermal conductivity, by the open packages iapws and CoolProp.
pub fn water() -> Result<Material, ReferenceError> {
    material("water")
}

/// Polypropylene of disposable barrels.
///
/// # Errors
/// A [`ReferenceError`] where the embedded table cannot be read.
///
/// # Source
/// Callister, Materials Science and Engineering, table of thermal properties
/// (conductivity 0.12 W/m/K, specific heat 1925 J/kg/K); other texts give a conductivity
/// of 0.17 to 0.22 W/m/K, from memory. 0.17 is used, 0.12 to 0.22 is its range.
pub fn polypropylene() -> Result<Material, ReferenceError> {
    material("polypropylene")
}

/// Borosilicate glass of glass barrels.
///
/// # Errors
/// A [`ReferenceError`] where the embedded table cannot be read.
///
/// # Source
/// Callister and other texts: conductivity 1.1 to 1.4 W/m/K, specific heat 850 J/kg/K;
/// density from memory.
pub fn borosilicate() -> Result<Material, ReferenceError> {
    material("borosilicate")
}

/// The material of a barrel's wall.
///
/// # Errors
/// A [`ReferenceError`] where the embedded table cannot be read.
pub fn wall_material(material: BarrelMaterial) -> Result<Material, ReferenceError> {
    match material {
        BarrelMaterial::Polypropylene => polypropylene(),
        BarrelMaterial::Glass => borosilicate(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_material_table_parses_whole_and_every_material_is_complete() {
        let rows = rows_of(&PROPERTIES, FILE, property).unwrap();
        assert_eq!(rows.len(), FILE.text.lines().count() - 1);
        for material in [plasma(), water(), polypropylene(), borosilicate()] {
            material.unwrap();
        }
        assert_eq!(
            material("jam").unwrap_err(),
            ReferenceError::MissingProperty {
                material: "jam",
                property: "density_kg_per_m3"
            }
        );
    }
}
