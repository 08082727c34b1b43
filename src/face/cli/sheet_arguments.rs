//! What a run sheet is asked for beside heat and push: volumes, blend, buffer, centrifuge, block.

use super::CliError;
use crate::plan::sheet::plasma::{Anticoagulant, Separation};
use crate::plan::sheet::{AcdAsked, BlendStated, BufferStated, SpinStated, Supply};
use crate::units::{self, display};
use clap::Args;

/// Volumes and syringes.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Volumes and syringes")]
pub(super) struct VolumeArguments {
    /// Blood, without anticoagulant
    #[arg(long, value_name = "VOLUME", value_parser = units::volume_m3, conflicts_with = "plasma")]
    #[arg(requires = "haematocrit")]
    blood: Option<f64>,
    /// Share of the blood's volume that is cells: 0.42 or 42%
    #[arg(long, value_name = "X", value_parser = units::fraction, requires = "recovery")]
    #[arg(conflicts_with = "plasma")]
    haematocrit: Option<f64>,
    /// Share of the plasma layer that is drawn off: 0.85
    #[arg(long, value_name = "X", value_parser = units::fraction, requires = "haematocrit")]
    recovery: Option<f64>,
    /// Anticoagulant in the tubes, as a volume, or for each volume of blood: 1:9 [default: none]
    #[arg(long, value_name = "4mL|1:9", value_parser = anticoagulant, requires = "haematocrit")]
    anticoagulant: Option<Anticoagulant>,
    /// Plasma at hand, in place of blood
    #[arg(long, value_name = "VOLUME", value_parser = units::volume_m3)]
    plasma: Option<f64>,
    /// Number of syringes; without a volume the sheet says what they need
    #[arg(long, value_name = "N", value_parser = count)]
    pub(super) syringes: Option<usize>,
    /// Gel in each syringe, by the graduation [default: the nominal volume]
    #[arg(long, value_name = "VOLUME", value_parser = units::volume_m3)]
    pub(super) fill: Option<f64>,
    /// What stays in each syringe with its plunger home [default: the most that ISO 7886-1 allows]
    #[arg(long, value_name = "VOLUME", value_parser = units::volume_or_zero_m3)]
    pub(super) dead_space: Option<f64>,
    /// Gel lost once, in mixing and drawing up
    #[arg(long, value_name = "VOLUME", default_value = "0mL", value_parser = units::volume_or_zero_m3)]
    pub(super) loss: f64,
    /// Speed of the centrifuge
    #[arg(long, value_name = "SPEED", value_parser = units::rotation_speed_per_s, requires = "rotor_radius")]
    #[arg(conflicts_with = "rcf")]
    speed: Option<f64>,
    /// Radius of its rotor, from the axis to where the force is wanted
    #[arg(long, value_name = "LENGTH", value_parser = units::length_m)]
    rotor_radius: Option<f64>,
    /// Relative centrifugal force, a number of times gravity; with the radius the sheet says the speed
    #[arg(long, value_name = "N", value_parser = units::positive_number)]
    rcf: Option<f64>,
}

impl VolumeArguments {
    pub(super) fn supply(&self) -> Supply {
        let separation =
            self.haematocrit
                .zip(self.recovery)
                .map(|(haematocrit_fraction, recovery_fraction)| Separation {
                    haematocrit_fraction,
                    recovery_fraction,
                    anticoagulant: self.anticoagulant.unwrap_or(Anticoagulant::VolumeM3(0.0)),
                });
        match (self.plasma, self.blood.zip(separation)) {
            (Some(plasma_m3), _) => Supply::PlasmaM3(plasma_m3),
            (None, Some((blood_m3, separation))) => Supply::Blood {
                blood_m3,
                separation,
            },
            (None, None) => Supply::Needed(separation),
        }
    }

    /// Refuses a radius that nothing is reckoned with.
    ///
    /// # Errors
    /// A radius without speed and force.
    pub(super) fn check_radius(&self) -> Result<(), CliError> {
        if self.rotor_radius.is_some() && self.speed.is_none() && self.rcf.is_none() {
            return Err(CliError::question(
                "A radius alone says nothing of a centrifuge.\nWhat helps: --speed 3000rpm for its force, or --rcf 1500 for its speed",
            ));
        }
        Ok(())
    }

    pub(super) fn spin(&self) -> SpinStated {
        SpinStated {
            speed_per_s: self.speed,
            radius_m: self.rotor_radius,
            relative_centrifugal_force_ratio: self.rcf,
        }
    }
}

/// Blend and buffer.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Blend and buffer")]
pub(super) struct MixArguments {
    /// Volume fraction of hyaluronic acid solution in the blend, where the calibration does not say it
    #[arg(long, value_name = "X", value_parser = units::fraction)]
    ha_share: Option<f64>,
    /// Hyaluronic acid in the solution that is blended in: 20mg/mL
    #[arg(long, value_name = "CONCENTRATION", value_parser = units::mass_concentration_kg_per_m3)]
    ha_concentration: Option<f64>,
    /// Its molar mass: 1500kDa
    #[arg(long, value_name = "MASS", value_parser = units::molar_mass_kg_per_mol)]
    ha_molar_mass: Option<f64>,
    /// Protein of the donor's plasma, where it was measured [default: the usual 60 to 80 g/L]
    #[arg(long, value_name = "CONCENTRATION", value_parser = units::mass_concentration_kg_per_m3)]
    protein: Option<f64>,
    /// Buffer that is added to the plasma
    #[arg(long, value_name = "VOLUME", default_value = "0mL", value_parser = units::volume_or_zero_m3)]
    buffer: f64,
    /// Acid-citrate-dextrose solution A of which the acid, the bicarbonate that takes it up and the gas
    /// are reckoned; without a volume, what the plasma carries of --anticoagulant
    #[arg(long, value_name = "VOLUME", num_args = 0..=1, default_missing_value = "plasma", value_parser = acd)]
    acd_a: Option<AcdAsked>,
}

impl MixArguments {
    pub(super) fn buffer(&self) -> BufferStated {
        BufferStated {
            added_m3: self.buffer,
            acd_a: self.acd_a,
        }
    }

    /// The blend, its fraction as the calibration knows it, else as stated.
    ///
    /// # Errors
    /// A stated share beside a known one.
    pub(super) fn blend(&self, known: Option<f64>) -> Result<BlendStated, CliError> {
        if let (Some(known), Some(_)) = (known, self.ha_share) {
            return Err(CliError::question(format!(
                "The calibration says itself how much of this blend is hyaluronic acid solution: {}.\nWhat helps: leave --ha-share out; another share by --blend or --ha-fraction",
                display::at_most(known, 3)
            )));
        }
        let ha_fraction = known.or(self.ha_share);
        Ok(BlendStated {
            ha_fraction: ha_fraction.unwrap_or(0.0),
            fraction_is_known: ha_fraction.is_some(),
            ha_solution_kg_per_m3: self.ha_concentration,
            ha_molar_mass_kg_per_mol: self.ha_molar_mass,
            protein_kg_per_m3: self.protein,
        })
    }

    /// Whether the acid of an anticoagulant is asked for that nobody stated.
    pub(super) fn acd_of_plasma(&self) -> bool {
        self.acd_a == Some(AcdAsked::InPlasma)
    }
}

impl VolumeArguments {
    pub(super) fn knows_anticoagulant(&self) -> bool {
        self.anticoagulant.is_some()
    }
}

/// Block and clock.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Block and clock")]
pub(super) struct ClockArguments {
    /// Places of the block
    #[arg(long, value_name = "N", default_value = "6", value_parser = count)]
    pub(super) places: usize,
    /// When the first syringe goes in: 09:30 [default: times count from the first syringe]
    #[arg(long, value_name = "CLOCK", value_parser = units::clock::time_of_day_s)]
    pub(super) start: Option<f64>,
    /// From one syringe to the next, in or out
    #[arg(long, value_name = "TIME", default_value = "30s", value_parser = units::duration_or_zero_s)]
    pub(super) handling: f64,
    /// Pause between two turns, until the block is back at its temperature
    #[arg(long, value_name = "TIME", default_value = "0s", value_parser = units::duration_or_zero_s)]
    pub(super) between_turns: f64,
}

fn count(text: &str) -> Result<usize, String> {
    match text.trim().parse::<usize>() {
        Ok(count) if (1..=1000).contains(&count) => Ok(count),
        _ => Err(format!(
            "a whole number from 1 to 1000 is meant, such as 8, and not '{text}'"
        )),
    }
}

fn anticoagulant(text: &str) -> Result<Anticoagulant, String> {
    let Some((one, nine)) = text.split_once(':') else {
        return units::volume_or_zero_m3(text)
            .map(Anticoagulant::VolumeM3)
            .map_err(|e| format!("{e}; or for each volume of blood, 1:9"));
    };
    let part = |part: &str| part.trim().parse::<f64>().ok().filter(|n| n.is_finite());
    match (part(one), part(nine)) {
        (Some(one), Some(nine)) if one >= 0.0 && nine > 0.0 => {
            Ok(Anticoagulant::PerBloodRatio(one / nine))
        }
        _ => Err(format!(
            "'{text}' is no mixture: one part in nine of blood is 1:9, a volume is 4mL"
        )),
    }
}

fn acd(text: &str) -> Result<AcdAsked, String> {
    if text == "plasma" {
        return Ok(AcdAsked::InPlasma);
    }
    units::volume_m3(text)
        .map(AcdAsked::VolumeM3)
        .map_err(|e| e.to_string())
}
