//! What is taken for granted of the syringe, in words.

use super::SyringeArguments;
use super::tabled::Tabled;
use crate::face::cli::CliError;
use crate::reference::{Material, OutsideCoefficient, plasma};
use crate::thermal::SyringeSetup;
use crate::thermal::conduction::Barrel;
use crate::units::display;

impl SyringeArguments {
    pub(super) fn words(
        &self,
        tabled: &Tabled,
        setup: &SyringeSetup,
        filled_m3: Option<f64>,
        contact: &OutsideCoefficient,
        air: &OutsideCoefficient,
        wall: &Material,
    ) -> Result<Vec<String>, CliError> {
        let barrel = &setup.barrel;
        let gel = barrel.gel();
        let gel_tabled = plasma()?;
        let mut lines = vec![
            tabled.words(self, barrel),
            format!(
                "contact with the block {}{}",
                coefficient(setup.contact_w_per_m2_kelvin),
                usual(
                    self.contact,
                    contact.coefficient_range_w_per_m2_kelvin,
                    coefficient,
                    "measure yours: --fit-contact"
                )
            ),
            format!(
                "air {}{}",
                coefficient(setup.air_w_per_m2_kelvin),
                usual(
                    self.air,
                    air.coefficient_range_w_per_m2_kelvin,
                    coefficient,
                    "still air to a strong fan"
                )
            ),
        ];
        if barrel.has_wall() {
            lines.push(format!(
                "wall of {}: conductivity {}{}",
                wall.name,
                conductivity(barrel.wall().conductivity_w_per_m_kelvin),
                usual(
                    self.wall_conductivity,
                    wall.conductivity_range_w_per_m_kelvin,
                    conductivity,
                    "texts disagree"
                )
            ));
        }
        lines.push(format!(
            "gel as plasma: conductivity {}{}, density {}{}, specific heat {}{}",
            conductivity(gel.conductivity_w_per_m_kelvin),
            usual(
                self.conductivity,
                gel_tabled.conductivity_range_w_per_m_kelvin,
                conductivity,
                ""
            ),
            density(gel.density_kg_per_m3),
            usual(
                self.density,
                gel_tabled.density_range_kg_per_m3,
                density,
                ""
            ),
            specific_heat(gel.specific_heat_j_per_kg_kelvin),
            usual(
                self.specific_heat,
                gel_tabled.specific_heat_range_j_per_kg_kelvin,
                specific_heat,
                ""
            ),
        ));
        lines.push(match (&setup.length, filled_m3) {
            (Some(length), Some(filled_m3)) => format!(
                "filled with {}{}, {} long; {} of it at the plunger's end out of the block; needle's end {}, plunger's end lets no heat through",
                display::volume(filled_m3),
                stated(self.filled.is_some()),
                display::length_mm(length.filled_length_m),
                display::length_mm(length.stands_out_m),
                if self.open_end {
                    "in air"
                } else {
                    "lets no heat through"
                }
            ),
            _ => "in the block over its whole filled length; its ends are not counted (--stands-out, --open-end)".to_owned(),
        });
        Ok(lines)
    }
}

impl Tabled {
    fn words(&self, arguments: &SyringeArguments, barrel: &Barrel) -> String {
        let bore = display::length_mm(barrel.bore_m());
        let wall = if barrel.has_wall() {
            let whose = match (arguments.wall_thickness, &self.name) {
                (Some(_), _) => "",
                (None, Some(_)) => " (table)",
                (None, None) => " (default; 0.8 to 1.2 mm)",
            };
            format!(
                "wall {}{whose}",
                display::length_mm(barrel.wall_thickness_m())
            )
        } else {
            "no wall: the contact acts on the gel".to_owned()
        };
        let Some(_) = &self.name else {
            return format!("barrel bore {bore}, {wall}");
        };
        let makers = self.bore_range_m.map_or_else(String::new, |(least, most)| {
            format!(
                " (makers {} to {})",
                display::length_mm(least),
                display::length_mm(most)
            )
        });
        format!(
            "{}{}: barrel bore {bore}{makers}, {wall}",
            self.label,
            stated(arguments.syringe.is_some())
        )
    }
}

/// '(default)' behind a value that nobody stated.
fn stated(is_stated: bool) -> &'static str {
    if is_stated { "" } else { " (default)" }
}

/// '(default; 100 to 300 W/m2K; remark)' behind a value that nobody stated.
fn usual(
    given: Option<f64>,
    (low, high): (f64, f64),
    print: fn(f64) -> String,
    remark: &str,
) -> String {
    if given.is_some() {
        return String::new();
    }
    let low = print(low);
    let low = low.split(' ').next().unwrap_or_default();
    let remark = if remark.is_empty() {
        String::new()
    } else {
        format!("; {remark}")
    };
    format!(" (default; {low} to {}{remark})", print(high))
}

pub(in crate::face::cli) fn coefficient(value: f64) -> String {
    format!("{} W/m2K", display::at_most(value, 3))
}

fn conductivity(value: f64) -> String {
    format!("{} W/mK", display::at_most(value, 3))
}

fn density(value: f64) -> String {
    format!("{} kg/m3", display::at_most(value, 4))
}

fn specific_heat(value: f64) -> String {
    format!("{} J/kgK", display::at_most(value, 4))
}
