//! The syringe in the block: which one, how full, what it is made of and what surrounds it.

mod asked;
mod assumptions;
mod tabled;
mod words;

pub(super) use asked::SyringeAsked;
pub(super) use assumptions::SyringeAssumptions;
pub(super) use words::coefficient;

use self::tabled::Tabled;
use super::CliError;
use crate::reference::{
    BarrelMaterial, Material, OutsideCoefficient, block_contact, borosilicate, default_air, plasma,
    polypropylene, rated_temperature,
};
use crate::thermal::conduction::{AxialBarrel, Barrel, EndCondition, Surroundings, ThermalBody};
use crate::thermal::{SyringeInput, SyringeSetup, filled_length_m};
use crate::units::{self, display};
use clap::Args;

/// A syringe holds no more than this many times its nominal volume.
const FULLEST_RATIO: f64 = 1.5;

/// The syringe, its wall, and what acts on it.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Syringe and heat")]
pub(super) struct SyringeArguments {
    /// Syringe: 1mL (polypropylene, default), 5mL, glass:1mL-long; 'heatset syringes' lists them
    #[arg(long, value_name = "NAME", conflicts_with = "barrel")]
    syringe: Option<String>,
    /// Bore of the barrel, instead of the syringe: 4.7mm
    #[arg(long, value_name = "BORE", value_parser = units::bore_m, allow_hyphen_values = true)]
    barrel: Option<f64>,
    /// Thickness of the barrel's wall; 0mm: the contact acts on the gel
    /// [default: the syringe's; 0.9mm with --barrel]
    #[arg(long, value_name = "LENGTH", value_parser = units::length_or_zero_m)]
    #[arg(allow_hyphen_values = true)]
    wall_thickness: Option<f64>,
    /// Heat transfer coefficient between barrel and block [default: 150W/m2K]
    #[arg(long, value_name = "W/m2K", value_parser = units::heat_transfer_w_per_m2_kelvin, allow_hyphen_values = true)]
    #[arg(allow_hyphen_values = true)]
    contact: Option<f64>,
    /// Heat transfer coefficient between barrel and air [default: 30W/m2K]
    #[arg(long, value_name = "W/m2K", value_parser = units::heat_transfer_w_per_m2_kelvin, allow_hyphen_values = true)]
    #[arg(allow_hyphen_values = true)]
    air: Option<f64>,
    /// Conductivity of the gel [default: 0.58W/mK]
    #[arg(long, value_name = "W/mK", value_parser = units::conductivity_w_per_m_kelvin)]
    #[arg(allow_hyphen_values = true)]
    conductivity: Option<f64>,
    /// Density of the gel [default: 1025kg/m3]
    #[arg(long, value_name = "DENSITY", value_parser = units::density_kg_per_m3)]
    #[arg(allow_hyphen_values = true)]
    density: Option<f64>,
    /// Specific heat of the gel [default: 3900J/kgK]
    #[arg(long, value_name = "J/kgK", value_parser = units::specific_heat_j_per_kg_kelvin)]
    #[arg(allow_hyphen_values = true)]
    specific_heat: Option<f64>,
    /// Conductivity of the wall [default: 0.17W/mK; glass 1.2W/mK]
    #[arg(long, value_name = "W/mK", value_parser = units::conductivity_w_per_m_kelvin)]
    #[arg(allow_hyphen_values = true)]
    wall_conductivity: Option<f64>,
    /// How much is in it [default: the syringe's nominal volume]
    #[arg(long, value_name = "VOLUME", value_parser = units::volume_m3)]
    #[arg(allow_hyphen_values = true)]
    filled: Option<f64>,
    /// How much of the filled length, at the plunger's end, stands out of the block
    /// [default: 0mm, an infinitely long barrel]
    #[arg(long, value_name = "LENGTH", value_parser = units::length_or_zero_m)]
    #[arg(allow_hyphen_values = true)]
    stands_out: Option<f64>,
    /// The needle's end of the gel meets the air
    #[arg(long, conflicts_with = "capped")]
    open_end: bool,
    /// The needle's end of the gel is closed by a cap that lets no heat through
    #[arg(long)]
    capped: bool,
}

impl SyringeArguments {
    /// The syringe of these names and nothing else stated.
    pub(super) fn of_barrel(syringe: Option<String>, barrel: Option<f64>) -> Self {
        Self {
            syringe,
            barrel,
            wall_thickness: None,
            contact: None,
            air: None,
            conductivity: None,
            density: None,
            specific_heat: None,
            wall_conductivity: None,
            filled: None,
            stands_out: None,
            open_end: false,
            capped: false,
        }
    }

    /// The same with coefficients, where they are stated.
    pub(super) fn with_coefficients(self, contact: Option<f64>, air: Option<f64>) -> Self {
        Self {
            contact,
            air,
            ..self
        }
    }

    /// The syringe with what surrounds it.
    pub(super) fn asked(&self, room_kelvin: f64) -> Result<SyringeAsked, CliError> {
        let tabled = self.tabled()?;
        let contact = block_contact()?;
        let air = default_air()?;
        let gel_tabled = plasma()?;
        let wall_tabled = match tabled.material {
            BarrelMaterial::Polypropylene => polypropylene()?,
            BarrelMaterial::Glass => borosilicate()?,
        };
        let gel = ThermalBody {
            conductivity_w_per_m_kelvin: self
                .conductivity
                .unwrap_or(gel_tabled.conductivity_w_per_m_kelvin),
            density_kg_per_m3: self.density.unwrap_or(gel_tabled.density_kg_per_m3),
            specific_heat_j_per_kg_kelvin: self
                .specific_heat
                .unwrap_or(gel_tabled.specific_heat_j_per_kg_kelvin),
        };
        let wall = ThermalBody {
            conductivity_w_per_m_kelvin: self
                .wall_conductivity
                .unwrap_or(wall_tabled.conductivity_w_per_m_kelvin),
            ..ThermalBody::from(&wall_tabled)
        };
        let wall_m = self.wall_thickness.unwrap_or(tabled.wall_m);
        let barrel = Barrel::new(tabled.bore_m, wall_m, gel, wall)?;
        let filled_m3 = self.filled(&tabled)?;
        let length = self.length(&barrel, filled_m3)?;
        let setup = SyringeSetup {
            barrel,
            contact_w_per_m2_kelvin: self.contact.unwrap_or(contact.coefficient_w_per_m2_kelvin),
            air_w_per_m2_kelvin: self.air.unwrap_or(air.coefficient_w_per_m2_kelvin),
            room_kelvin,
            length,
        };
        let wall_range = wall_tabled.conductivity_range_w_per_m_kelvin;
        Ok(SyringeAsked {
            ranges: self.ranges(&tabled, &contact, &air, &gel_tabled, wall_range, &setup),
            air_range: unless(self.air, air.coefficient_range_w_per_m2_kelvin),
            wall_conductivity_range: unless(self.wall_conductivity, wall_range),
            assumptions: self.assumptions(&tabled, &setup, filled_m3, &contact, &air),
            words: self.words(&tabled, &setup, filled_m3, &contact, &air, &wall_tabled)?,
            rated: rated_temperature(tabled.material)?,
            syringe: tabled.name,
            name: tabled.label,
            filled_m3,
            setup,
        })
    }

    fn filled(&self, tabled: &Tabled) -> Result<Option<f64>, CliError> {
        match (self.filled, tabled.nominal_m3) {
            (Some(filled_m3), Some(nominal_m3)) if filled_m3 > FULLEST_RATIO * nominal_m3 => {
                Err(CliError::question(format!(
                    "--filled {}: a {} does not hold that much.\nWhat helps: the volume that is in it, or a larger --syringe",
                    display::volume(filled_m3),
                    tabled.label
                )))
            }
            (filled, nominal) => Ok(filled.or(nominal)),
        }
    }

    /// Length and ends, where they were asked about.
    fn length(
        &self,
        barrel: &Barrel,
        filled_m3: Option<f64>,
    ) -> Result<Option<AxialBarrel>, CliError> {
        let stands_out_m = self.stands_out.unwrap_or(0.0);
        if stands_out_m == 0.0 && !self.open_end && !self.capped {
            return Ok(None);
        }
        let Some(filled_m3) = filled_m3 else {
            return Err(CliError::question(
                "The length of the gel is not known: a barrel given by its bore has no nominal volume.\nWhat helps: --filled 0.8mL, or --syringe in place of --barrel",
            ));
        };
        let filled_length_m = filled_length_m(barrel, filled_m3);
        if stands_out_m > filled_length_m {
            return Err(CliError::question(format!(
                "--stands-out {}: {} fill only {} of this barrel, so no more than that can stand out.\nWhat helps: count from the plunger's end of the gel, not from the end of the barrel",
                display::length_mm(stands_out_m),
                display::volume(filled_m3),
                display::length_mm(filled_length_m)
            )));
        }
        Ok(Some(AxialBarrel {
            filled_length_m,
            stands_out_m,
            bottom_end: if self.open_end {
                EndCondition::AsSide {
                    surroundings: Surroundings::Air,
                }
            } else {
                EndCondition::Insulated
            },
            top_end: EndCondition::Insulated,
        }))
    }

    fn ranges(
        &self,
        tabled: &Tabled,
        contact: &OutsideCoefficient,
        air: &OutsideCoefficient,
        gel: &Material,
        wall_range: (f64, f64),
        setup: &SyringeSetup,
    ) -> Vec<(SyringeInput, (f64, f64))> {
        let meets_air_in_block = setup.length.is_some_and(|length| {
            length.stands_out_m > 0.0 || length.bottom_end != EndCondition::Insulated
        });
        let air_range = air.coefficient_range_w_per_m2_kelvin;
        let candidates = [
            (
                SyringeInput::Contact,
                unless(self.contact, contact.coefficient_range_w_per_m2_kelvin),
            ),
            (
                SyringeInput::Air,
                unless(self.air, air_range).filter(|_| meets_air_in_block),
            ),
            (SyringeInput::Bore, tabled.bore_range_m),
            (
                SyringeInput::WallConductivity,
                unless(self.wall_conductivity, wall_range).filter(|_| setup.barrel.has_wall()),
            ),
            (
                SyringeInput::GelConductivity,
                unless(self.conductivity, gel.conductivity_range_w_per_m_kelvin),
            ),
            (
                SyringeInput::GelDensity,
                unless(self.density, gel.density_range_kg_per_m3),
            ),
            (
                SyringeInput::GelSpecificHeat,
                unless(self.specific_heat, gel.specific_heat_range_j_per_kg_kelvin),
            ),
        ];
        candidates
            .into_iter()
            .filter_map(|(input, range)| Some((input, range.filter(|(low, high)| low < high)?)))
            .collect()
    }
}

/// The range of a default; nothing where the value was stated.
fn unless(given: Option<f64>, range: (f64, f64)) -> Option<(f64, f64)> {
    given.is_none().then_some(range)
}
