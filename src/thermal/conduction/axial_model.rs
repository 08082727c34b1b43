//! The axial model: a barrel of finite length cut into rings and rows.

use super::axial_barrel::{AxialBarrel, AxialGrid, Rows};
use super::body::Barrel;
use super::error::ConductionError;
use super::radial_cells::RadialCells;

/// Gel and wall of a barrel of finite length, cut into rings and rows that exchange heat.
///
/// # Equation
/// `rho cp dT/dt = (1/r) d/dr (k r dT/dr) + d/dz (k dT/dz)`. Across a row heat passes as in
/// [`RadialModel`](super::RadialModel), by the row's height; from row to row of a ring
/// `R = (dz_j/2 + dz_(j+1)/2)/(k A)`, at an end `R = (dz/2)/(k A) + 1/(h A)`. Below the rim the side
/// meets the block, above it the air.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | dz | `row_heights_m` | m |
/// | A | ring's cross-section | m2 |
///
/// A field holds row after row from the bottom, and in a row ring after ring from the middle outwards.
///
/// # Valid for
/// As [`RadialModel`](super::RadialModel); the block's rim is sharp, the ends are flat, the barrel's wall
/// ends with the gel. A stopper or cap with heat of its own is not in it.
///
/// # Errors
/// A filled length not above 0, more standing out than is filled, an end's coefficient not above 0,
/// fewer than 2 cells of gel or 2 rows in a zone.
///
/// # Source
/// S. Patankar, Numerical Heat Transfer and Fluid Flow, Hemisphere 1980, chapter 4 (from memory).
#[derive(Debug, Clone, PartialEq)]
pub struct AxialModel {
    barrel: Barrel,
    length: AxialBarrel,
    pub(super) rings: RadialCells,
    /// Conductivity by ring.
    pub(super) conductivities: Vec<f64>,
    rows: Rows,
    row_heights_m: Vec<f64>,
    capacities_j_per_kelvin: Vec<f64>,
    volumes_m3: Vec<f64>,
    gel_volume_fractions: Vec<f64>,
}

impl AxialModel {
    /// Cuts a barrel into rings and rows.
    ///
    /// # Errors
    /// See [`AxialModel`].
    pub fn new(
        barrel: &Barrel,
        length: &AxialBarrel,
        grid: AxialGrid,
    ) -> Result<Self, ConductionError> {
        length.check()?;
        let rings = RadialCells::new(barrel, grid.radial)?;
        let rows = length.rows(grid)?;
        let heights: Vec<f64> = rows
            .faces_m
            .windows(2)
            .map(|pair| pair[1] - pair[0])
            .collect();
        let by_cell = |by_ring: &[f64]| -> Vec<f64> {
            heights
                .iter()
                .flat_map(|height| by_ring.iter().map(move |value| value * height))
                .collect()
        };
        let volumes_m3 = by_cell(&rings.areas_m2);
        let gel_volumes = by_cell(&rings.areas_m2[..rings.gel_cells]);
        let gel_volume: f64 = gel_volumes.iter().sum();
        let conductivities = (0..rings.count())
            .map(|ring| {
                if ring < rings.gel_cells {
                    barrel.gel().conductivity_w_per_m_kelvin
                } else {
                    barrel.wall().conductivity_w_per_m_kelvin
                }
            })
            .collect();
        Ok(Self {
            barrel: *barrel,
            length: *length,
            capacities_j_per_kelvin: by_cell(&rings.capacities_j_per_m_kelvin),
            volumes_m3,
            gel_volume_fractions: gel_volumes.iter().map(|v| v / gel_volume).collect(),
            conductivities,
            row_heights_m: heights,
            rings,
            rows,
        })
    }

    /// The barrel that was cut.
    #[must_use]
    pub fn barrel(&self) -> &Barrel {
        &self.barrel
    }

    /// Its length and ends.
    #[must_use]
    pub fn length(&self) -> &AxialBarrel {
        &self.length
    }

    /// Rings of gel in a row.
    #[must_use]
    pub fn gel_ring_count(&self) -> usize {
        self.rings.gel_cells
    }

    /// Rings of gel and wall in a row.
    #[must_use]
    pub fn ring_count(&self) -> usize {
        self.rings.count()
    }

    /// Rows from the bottom to the plunger.
    #[must_use]
    pub fn row_count(&self) -> usize {
        self.row_heights_m.len()
    }

    /// Rows below the block's rim.
    #[must_use]
    pub fn rows_in_block(&self) -> usize {
        self.rows.in_block
    }

    /// Cells of gel and wall: the length of a whole field.
    #[must_use]
    pub fn cell_count(&self) -> usize {
        self.volumes_m3.len()
    }

    /// Heights of the rows from the bottom to the plunger.
    #[must_use]
    pub fn row_heights_m(&self) -> &[f64] {
        &self.row_heights_m
    }

    /// Faces between the rows, from 0 at the bottom to the filled length.
    #[must_use]
    pub fn row_faces_m(&self) -> &[f64] {
        &self.rows.faces_m
    }

    /// Radius at which each ring's temperature stands, gel and wall.
    #[must_use]
    pub fn centre_radii_m(&self) -> &[f64] {
        &self.rings.centre_radii_m
    }

    /// Volume of every cell, gel and wall, row after row.
    #[must_use]
    pub fn volumes_m3(&self) -> &[f64] {
        &self.volumes_m3
    }

    /// Heat capacity of every cell, gel and wall, row after row.
    #[must_use]
    pub fn capacities_j_per_kelvin(&self) -> &[f64] {
        &self.capacities_j_per_kelvin
    }

    /// Share of the gel's volume by cell of gel, row after row; the sum is 1.
    #[must_use]
    pub fn gel_volume_fractions(&self) -> &[f64] {
        &self.gel_volume_fractions
    }

    /// The cells of gel of a whole field, row after row, as [`AxialModel::gel_volume_fractions`] counts them.
    #[must_use]
    pub fn gel_of(&self, field: &[f64]) -> Vec<f64> {
        field
            .chunks_exact(self.ring_count())
            .flat_map(|row| &row[..self.gel_ring_count()])
            .copied()
            .collect()
    }

    /// Mean over the rows by their heights.
    pub(super) fn mean_over_rows(&self, by_row: impl Iterator<Item = f64>) -> f64 {
        let sum: f64 = by_row
            .zip(&self.row_heights_m)
            .map(|(value, height)| value * height)
            .sum();
        sum / self.length.filled_length_m
    }

    /// Heat stored in the barrel, counted from 0 K.
    pub(super) fn stored_j(&self, field: &[f64]) -> f64 {
        self.capacities_j_per_kelvin
            .iter()
            .zip(field)
            .map(|(capacity, kelvin)| capacity * kelvin)
            .sum()
    }
}
