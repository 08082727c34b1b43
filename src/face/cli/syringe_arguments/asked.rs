//! A syringe that was asked about.

use super::assumptions::SyringeAssumptions;
use super::words::coefficient;
use crate::reference::RatedTemperature;
use crate::thermal::{SyringeInput, SyringeSetup};
use crate::units::display;

/// A syringe that was asked about.
#[derive(Debug, Clone)]
pub(in crate::face::cli) struct SyringeAsked {
    pub(in crate::face::cli) setup: SyringeSetup,
    /// How people call it: '5 mL syringe'.
    pub(in crate::face::cli) name: String,
    /// Its name in the tables; nothing where the bore was given.
    pub(in crate::face::cli) syringe: Option<String>,
    pub(in crate::face::cli) rated: RatedTemperature,
    /// What is in it, where that is known.
    pub(in crate::face::cli) filled_m3: Option<f64>,
    /// Numbers that nobody stated and that decide the warm-up, with their ranges.
    pub(in crate::face::cli) ranges: Vec<(SyringeInput, (f64, f64))>,
    /// Range of the air's coefficient, where it was not stated.
    pub(in crate::face::cli) air_range: Option<(f64, f64)>,
    /// Range of the wall's conductivity, where it was not stated.
    pub(in crate::face::cli) wall_conductivity_range: Option<(f64, f64)>,
    pub(in crate::face::cli) assumptions: SyringeAssumptions,
    /// The same in words, one thing a line.
    pub(in crate::face::cli) words: Vec<String>,
}

impl SyringeAsked {
    /// What a chart of it stands on, in one line.
    pub(in crate::face::cli) fn chart_words(&self) -> String {
        let barrel = &self.setup.barrel;
        let mut parts = vec![
            format!("bore {}", display::length_mm(barrel.bore_m())),
            format!("wall {}", display::length_mm(barrel.wall_thickness_m())),
            format!(
                "contact {}",
                coefficient(self.setup.contact_w_per_m2_kelvin)
            ),
            format!("air {}", coefficient(self.setup.air_w_per_m2_kelvin)),
        ];
        if let Some(length) = self.setup.length.filter(|length| length.stands_out_m > 0.0) {
            parts.push(format!(
                "{} stand out",
                display::length_mm(length.stands_out_m)
            ));
        }
        format!("{}: {}", self.name, parts.join(", "))
    }
}
