//! Shells of even volume, in which a syringe's gel is told apart.

use super::SampledHistory;
use crate::thermal::conduction::{RadialModel, UnitField};

/// Shells of even volume that a syringe's gel is told apart in.
const SHELLS: usize = 8;

impl SampledHistory {
    /// Shares of the shells that a syringe's gel is told apart in.
    pub(in crate::thermal) fn even_shares() -> Vec<f64> {
        vec![1.0 / SHELLS as f64; SHELLS]
    }
}

/// Samples shell by shell: the mean of the rings that share a shell.
pub(super) fn by_shell(model: &RadialModel, field: &UnitField) -> Vec<f64> {
    let rings: Vec<&[f64]> = field.gel_fractions().collect();
    shells_of(model.gel_cell_count(), &rings)
}

/// The same for any fields of gel rings of even volume, one a sample.
pub(in crate::thermal) fn shells_of(ring_count: usize, fields: &[&[f64]]) -> Vec<f64> {
    let mut samples = Vec::with_capacity(SHELLS * fields.len());
    for shell in 0..SHELLS {
        let rings = shell * ring_count / SHELLS..(shell + 1) * ring_count / SHELLS;
        for field in fields {
            let sum: f64 = field[rings.clone()].iter().sum();
            samples.push(sum / rings.len() as f64);
        }
    }
    samples
}
