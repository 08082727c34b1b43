//! The radial model: an infinitely long barrel cut into rings.

use super::body::Barrel;
use super::error::ConductionError;
use super::radial_cells::{RadialCells, RadialGrid};

/// Gel and wall of an infinitely long barrel, cut into rings that exchange heat.
///
/// # Equation
/// `rho cp dT/dt = (1/r) d/dr (k r dT/dr)`, zero slope at r = 0, one temperature and one flow at the
/// gel's surface, `k dT/dr = h (T_outside - T)` at the barrel's outside. By rings
/// `C_i dT_i/dt = (T_(i-1) - T_i)/R_(i-1) + (T_(i+1) - T_i)/R_i` with
///
/// * `C_i = rho cp pi (r_(i+1/2)^2 - r_(i-1/2)^2)`, the exact shell;
/// * in the wall `R = ln(r_(i+1)/r_i)/(2 pi k)`, a tube's;
/// * in the gel `R = [(r_(i+1)^2 - r_i^2)/(2 r_(i+1/2)^2)]/(2 pi k)`, exact for the parabola as which
///   a solid cylinder warms (and the same as the tube's where rings are thin);
/// * at the gel's surface the two half rings in series, at the outside the half ring and `1/(2 pi r h)`.
///
/// The rings of gel have equal volumes, so they are thin where the field is steep, and each counts the
/// same in a mean over the gel.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | r_i, r_(i+1/2) | `centre_radii_m`, `face_radii_m` | m |
/// | C_i | `capacities_j_per_m_kelvin` | J/m/K |
///
/// # Valid for
/// A barrel much longer than wide, heated alike all round, with constant properties and a gel that
/// does not flow. For ends and for a length outside the block see [`AxialModel`](super::AxialModel).
///
/// # Errors
/// A grid with fewer than 2 cells of gel, or none of a wall that is there.
///
/// # Source
/// S. Patankar, Numerical Heat Transfer and Fluid Flow, Hemisphere 1980, chapter 4 (control volumes,
/// resistances in series); cylinder and tube: F. Incropera, D. DeWitt, Fundamentals of Heat and Mass
/// Transfer, section 3.3.1 (from memory).
#[derive(Debug, Clone, PartialEq)]
pub struct RadialModel {
    barrel: Barrel,
    pub(super) cells: RadialCells,
    gel_volume_fractions: Vec<f64>,
}

impl RadialModel {
    /// Cuts a barrel into rings.
    ///
    /// # Errors
    /// See [`RadialModel`].
    pub fn new(barrel: &Barrel, grid: RadialGrid) -> Result<Self, ConductionError> {
        let cells = RadialCells::new(barrel, grid)?;
        let gel = &cells.areas_m2[..cells.gel_cells];
        let whole: f64 = gel.iter().sum();
        let gel_volume_fractions = gel.iter().map(|area| area / whole).collect();
        Ok(Self {
            barrel: *barrel,
            cells,
            gel_volume_fractions,
        })
    }

    /// The barrel that was cut.
    #[must_use]
    pub fn barrel(&self) -> &Barrel {
        &self.barrel
    }

    /// Rings of gel.
    #[must_use]
    pub fn gel_cell_count(&self) -> usize {
        self.cells.gel_cells
    }

    /// Rings of gel and wall together: the length of a whole field.
    #[must_use]
    pub fn cell_count(&self) -> usize {
        self.cells.count()
    }

    /// Share of the gel's volume by ring, from the middle outwards; the sum is 1.
    #[must_use]
    pub fn gel_volume_fractions(&self) -> &[f64] {
        &self.gel_volume_fractions
    }

    /// Radii of the faces between rings of gel and wall, from 0 to the outside.
    #[must_use]
    pub fn face_radii_m(&self) -> &[f64] {
        &self.cells.face_radii_m
    }

    /// Radius at which each ring's temperature stands, gel and wall.
    #[must_use]
    pub fn centre_radii_m(&self) -> &[f64] {
        &self.cells.centre_radii_m
    }

    /// Volume of each ring, gel and wall, for one metre of barrel (m3/m).
    #[must_use]
    pub fn areas_m2(&self) -> &[f64] {
        &self.cells.areas_m2
    }

    /// Heat capacity of each ring, gel and wall, for one metre of barrel.
    #[must_use]
    pub fn capacities_j_per_m_kelvin(&self) -> &[f64] {
        &self.cells.capacities_j_per_m_kelvin
    }
}
