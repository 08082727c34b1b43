//! The syringe in the block: which one, how full, what it is made of and what surrounds it.

use super::CliError;
use crate::reference::{
    BarrelMaterial, Material, OutsideCoefficient, RatedTemperature, block_contact, borosilicate,
    default_air, find_syringe, plasma, polypropylene, rated_temperature,
};
use crate::thermal::conduction::{AxialBarrel, Barrel, EndCondition, Surroundings, ThermalBody};
use crate::thermal::{SyringeInput, SyringeSetup, filled_length_m};
use crate::units::{self, display};
use clap::Args;
use serde::Serialize;

/// Syringe where none is named.
const DEFAULT_SYRINGE: &str = "1mL";
/// Wall of a barrel of which the bore alone is given.
const DEFAULT_WALL_M: f64 = 0.9e-3;
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

/// What is taken for granted of the syringe, in SI units.
#[derive(Debug, Clone, Serialize)]
pub(super) struct SyringeAssumptions {
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

/// A syringe that was asked about.
#[derive(Debug, Clone)]
pub(super) struct SyringeAsked {
    pub(super) setup: SyringeSetup,
    /// How people call it: '5 mL syringe'.
    pub(super) name: String,
    /// Its name in the tables; nothing where the bore was given.
    pub(super) syringe: Option<String>,
    pub(super) rated: RatedTemperature,
    /// What is in it, where that is known.
    pub(super) filled_m3: Option<f64>,
    /// Numbers that nobody stated and that decide the warm-up, with their ranges.
    pub(super) ranges: Vec<(SyringeInput, (f64, f64))>,
    /// Range of the air's coefficient, where it was not stated.
    pub(super) air_range: Option<(f64, f64)>,
    /// Range of the wall's conductivity, where it was not stated.
    pub(super) wall_conductivity_range: Option<(f64, f64)>,
    pub(super) assumptions: SyringeAssumptions,
    /// The same in words, one thing a line.
    pub(super) words: Vec<String>,
}

impl SyringeAsked {
    /// What a chart of it stands on, in one line.
    pub(super) fn chart_words(&self) -> String {
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

/// What the tables say of the barrel.
struct Tabled {
    name: Option<String>,
    label: String,
    material: BarrelMaterial,
    nominal_m3: Option<f64>,
    bore_m: f64,
    bore_range_m: Option<(f64, f64)>,
    wall_m: f64,
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

    fn tabled(&self) -> Result<Tabled, CliError> {
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

    fn assumptions(
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

    fn words(
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

/// The range of a default; nothing where the value was stated.
fn unless(given: Option<f64>, range: (f64, f64)) -> Option<(f64, f64)> {
    given.is_none().then_some(range)
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

pub(super) fn coefficient(value: f64) -> String {
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
