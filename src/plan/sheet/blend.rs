//! What a blend holds: hyaluronic acid, its coils, and the protein that sets.

use serde::Serialize;

/// Protein of plasma where nobody measured it, in kg/m³ (g/L).
///
/// # Source
/// Total protein of serum, usual reference interval 60 to 80 g/L of clinical chemistry (from
/// memory); that of plasma with anticoagulant is lower by its dilution, which is counted apart.
pub const USUAL_PROTEIN_KG_PER_M3: [f64; 2] = [60.0, 80.0];

/// Intrinsic viscosity of hyaluronic acid in salt solution.
///
/// # Equation
/// \[eta\] = 0.036 M^0.78, \[eta\] in cm3/g, M in g/mol
///
/// | symbol | field | unit |
/// |---|---|---|
/// | \[eta\] | returned | m3/kg |
/// | M | `molar_mass_kg_per_mol` | kg/mol |
///
/// # Valid for
/// About 1 MDa and above, where it gives back a printed table to the last digit; at 0.1 MDa the
/// table lies 5 % higher. Physiological salt.
///
/// # Source
/// T. C. Laurent, M. Ryan, A. Pietruszkiewicz, Biochim. Biophys. Acta 42 (1960) 476 (from memory).
///
/// # Example
/// ```
/// use heatset::plan::sheet::blend::intrinsic_viscosity_m3_per_kg;
/// // printed table: 1.73 m3/kg at 1 MDa, 2.36 at 1.5 MDa, 4.06 at 3 MDa
/// assert!((intrinsic_viscosity_m3_per_kg(1000.0) - 1.73).abs() < 0.01);
/// assert!((intrinsic_viscosity_m3_per_kg(1500.0) - 2.36).abs() < 0.01);
/// assert!((intrinsic_viscosity_m3_per_kg(3000.0) - 4.06).abs() < 0.01);
/// ```
#[must_use]
pub fn intrinsic_viscosity_m3_per_kg(molar_mass_kg_per_mol: f64) -> f64 {
    let grams_per_mol = molar_mass_kg_per_mol * 1e3;
    0.036 * grams_per_mol.powf(0.78) * 1e-3
}

/// How far the coils of a polymer overlap: under 1 they are apart.
///
/// # Equation
/// c \[eta\]
///
/// | symbol | field | unit |
/// |---|---|---|
/// | c | `concentration_kg_per_m3` | kg/m3 |
/// | \[eta\] | [`intrinsic_viscosity_m3_per_kg`] | m3/kg |
///
/// # Valid for
/// An order of size: where overlap begins is put between 1 and 3 by different authors.
///
/// # Source
/// W. W. Graessley, Polymer 21 (1980) 258: overlap begins where c \[eta\] is about 1 (from memory).
#[must_use]
pub fn coil_overlap_ratio(concentration_kg_per_m3: f64, molar_mass_kg_per_mol: f64) -> f64 {
    concentration_kg_per_m3 * intrinsic_viscosity_m3_per_kg(molar_mass_kg_per_mol)
}

/// Hyaluronic acid and coil overlap in the blend.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BlendContents {
    /// Volume fraction of the solution.
    pub ha_fraction: f64,
    /// Hyaluronic acid in the solution, in kg/m³; null where not stated.
    pub ha_solution_kg_per_m3: Option<f64>,
    /// Hyaluronic acid in the blend, in kg/m³.
    pub ha_in_blend_kg_per_m3: Option<f64>,
    /// Molar mass, in kg/mol; null where not stated.
    pub ha_molar_mass_kg_per_mol: Option<f64>,
    /// Concentration in the blend times the intrinsic viscosity; null without both.
    pub coil_overlap_ratio: Option<f64>,
}

/// What a blend holds of hyaluronic acid: the solution's concentration times its fraction.
///
/// # Valid for
/// Volumes that add when they are mixed.
#[must_use]
pub fn blend_contents(
    ha_fraction: f64,
    ha_solution_kg_per_m3: Option<f64>,
    ha_molar_mass_kg_per_mol: Option<f64>,
) -> BlendContents {
    let in_blend = ha_solution_kg_per_m3.map(|c| c * ha_fraction);
    BlendContents {
        ha_fraction,
        ha_solution_kg_per_m3,
        ha_in_blend_kg_per_m3: in_blend,
        ha_molar_mass_kg_per_mol,
        coil_overlap_ratio: in_blend
            .zip(ha_molar_mass_kg_per_mol)
            .map(|(c, m)| coil_overlap_ratio(c, m)),
    }
}

/// Protein on its way from the donor's plasma to the gel, least and greatest, in kg/m³ (g/L).
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Protein {
    /// Whether it was measured, or is the usual range.
    pub is_stated: bool,
    /// In the donor's plasma.
    pub donor_kg_per_m3: [f64; 2],
    /// In the plasma that is drawn off, anticoagulant in it.
    pub plasma_kg_per_m3: [f64; 2],
    /// With the buffer.
    pub buffered_kg_per_m3: [f64; 2],
    /// In the gel.
    pub gel_kg_per_m3: [f64; 2],
}

/// Parts of volume that thin the protein one after the other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProteinDilution {
    /// Share of the drawn-off plasma that is the donor's own; 1 where nobody says.
    pub own_plasma_fraction: f64,
    /// Plasma that is used, in m³.
    pub plasma_m3: f64,
    /// Buffer that is added to it, in m³.
    pub buffer_m3: f64,
    /// Volume fraction of hyaluronic acid solution in the gel.
    pub ha_fraction: f64,
}

/// Protein after anticoagulant, buffer and blend.
///
/// # Equation
/// c_gel = c f V_p/(V_p + V_buffer) (1 - x)
///
/// | symbol | field | unit |
/// |---|---|---|
/// | c | `donor_kg_per_m3` | kg/m3 |
/// | f | `own_plasma_fraction` | 1 |
/// | V_p, V_buffer | `plasma_m3`, `buffer_m3` | m3 |
/// | x | `ha_fraction` | 1 |
///
/// # Valid for
/// Volumes that add when they are mixed; a buffer, an anticoagulant and a solution without protein.
///
/// # Source
/// Conservation of mass; no source needed.
#[must_use]
pub fn diluted_protein(stated_kg_per_m3: Option<f64>, dilution: &ProteinDilution) -> Protein {
    let donor = stated_kg_per_m3.map_or(USUAL_PROTEIN_KG_PER_M3, |c| [c, c]);
    let plasma = donor.map(|c| c * dilution.own_plasma_fraction);
    let with_buffer = dilution.plasma_m3 / (dilution.plasma_m3 + dilution.buffer_m3);
    let buffered = plasma.map(|c| c * with_buffer);
    Protein {
        is_stated: stated_kg_per_m3.is_some(),
        donor_kg_per_m3: donor,
        plasma_kg_per_m3: plasma,
        buffered_kg_per_m3: buffered,
        gel_kg_per_m3: buffered.map(|c| c * (1.0 - dilution.ha_fraction)),
    }
}
