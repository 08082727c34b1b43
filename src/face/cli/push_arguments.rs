//! Needle, syringe and push: the options that every question about a push shares.

use super::CliError;
use crate::plan::{
    BarrelUsed, DEFAULT_FLOW_RATE_M3_PER_S, DEFAULT_LENGTH_M, DEFAULT_SYRINGE, NeedleUsed,
    PushDoubts, PushSetup, STATED_FRICTION_TOLERANCE_RATIO,
};
use crate::reference::{
    BoreBasis, Wall, all_needles, default_friction_for_bore_n, default_friction_n, find_syringe,
};
use crate::units::{self, display};
use clap::Args;
use serde::Serialize;

/// Syringe where none is named.
/// What is said where a needle is needed and none was named.
const NO_NEEDLE: &str = "No needle was named.\n\
    What helps: name the needle: --gauge 30, or its bore: --bore 0.16mm --length 13mm";

/// What is said where one needle is needed and any would do.
const ONE_NEEDLE: &str = "'--gauge any' looks for a needle, and this question is about one.\n\
    What helps: name it: --gauge 30. 'heatset time' and 'heatset force' take any";

/// Needle, syringe and push.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Needle, syringe and push")]
pub(super) struct PushArguments {
    /// Gauge of the needle, 10 to 34; any looks through all of the table (time, force)
    #[arg(long, value_name = "N|any", value_parser = gauge_or_any, conflicts_with = "bore")]
    #[arg(allow_hyphen_values = true)]
    gauge: Option<GaugeAsked>,
    /// Wall of the needle: regular (default), thin, extra-thin or ultra-thin
    #[arg(long, value_name = "WALL", conflicts_with = "bore")]
    wall: Option<Wall>,
    /// Which bore of the tables: nominal (default; regular wall only) or minimum
    #[arg(long, value_name = "BASIS", conflicts_with = "bore")]
    bore_basis: Option<BoreBasis>,
    /// Bore of the needle, instead of its gauge: 0.16mm
    #[arg(long, value_name = "BORE", value_parser = units::bore_m, allow_hyphen_values = true)]
    bore: Option<f64>,
    /// How far that bore may be off, either way: 0.01mm
    #[arg(long, value_name = "LENGTH", value_parser = units::length_or_zero_m)]
    #[arg(
        requires = "bore",
        conflicts_with = "gauge",
        allow_hyphen_values = true
    )]
    bore_tolerance: Option<f64>,
    /// Length of the needle [default: 13mm]
    #[arg(long, value_name = "LENGTH", value_parser = units::length_m, allow_hyphen_values = true)]
    length: Option<f64>,
    /// Syringe: 1mL (polypropylene, default), 5mL, glass:1mL-long; 'heatset syringes' lists them
    #[arg(long, value_name = "NAME", conflicts_with = "barrel")]
    syringe: Option<String>,
    /// Bore of the barrel, instead of the syringe: 4.7mm
    #[arg(long, value_name = "BORE", value_parser = units::bore_m, allow_hyphen_values = true)]
    barrel: Option<f64>,
    /// How fast it is pushed [default: 1mL/min]
    #[arg(long, value_name = "RATE", value_parser = units::flow_rate_m3_per_s)]
    #[arg(allow_hyphen_values = true)]
    flow: Option<f64>,
    /// Friction of the stopper, best measured on an empty or water-filled syringe
    /// [default: 2N up to 1 mL, 4N up to 10 mL]
    #[arg(long, value_name = "FORCE", value_parser = units::force_or_zero_n)]
    #[arg(allow_hyphen_values = true)]
    friction: Option<f64>,
    /// Pressure at the needle's tip [default: 0Pa]
    #[arg(long, value_name = "PRESSURE", value_parser = units::pressure_or_zero_pa)]
    #[arg(allow_hyphen_values = true)]
    tissue_pressure: Option<f64>,
    /// Temperature of the gel at the push [default: that of its readings]
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin)]
    #[arg(allow_hyphen_values = true)]
    gel_temp: Option<f64>,
    /// Count the losses at the needle's entrance and exit
    #[arg(long)]
    end_losses: bool,
    /// Force limit of the push [default: 20N, the published target for hands]
    #[arg(long, value_name = "FORCE", value_parser = units::force_n, allow_hyphen_values = true)]
    force: Option<f64>,
}

/// One gauge, or whichever will do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum GaugeAsked {
    One(u8),
    Any,
}

/// What a push takes for granted, in SI units.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct PushAssumptions {
    needle: String,
    gauge: Option<u8>,
    wall: Option<Wall>,
    bore_m: f64,
    bore_tolerance_m: Option<f64>,
    bore_basis: String,
    length_m: f64,
    syringe: Option<String>,
    barrel_bore_m: f64,
    barrel_bore_range_m: Option<(f64, f64)>,
    flow_rate_m3_per_s: f64,
    #[serde(rename = "friction_N")]
    friction_n: f64,
    friction_is_default: bool,
    #[serde(rename = "tissue_pressure_Pa")]
    tissue_pressure_pa: f64,
    end_losses: bool,
    #[serde(rename = "force_limit_N")]
    force_limit_n: f64,
    #[serde(rename = "gel_temp_K")]
    gel_kelvin: Option<f64>,
}

impl PushArguments {
    /// The push through the needle that was named.
    pub(super) fn setup(&self) -> Result<PushSetup, CliError> {
        if self.any_needle() {
            return Err(CliError::question(ONE_NEEDLE));
        }
        let needle = self
            .needle()?
            .ok_or_else(|| CliError::question(NO_NEEDLE))?;
        self.setup_through(needle)
    }

    /// What of a push was asked for, where no push can be answered; none where nothing was.
    pub(super) fn asked(&self) -> Option<&'static str> {
        let asked = [
            (self.force.is_some(), "--force"),
            (self.gauge.is_some(), "--gauge"),
            (self.bore.is_some(), "--bore"),
        ];
        asked
            .iter()
            .find(|(is_asked, _)| *is_asked)
            .map(|(_, name)| *name)
    }

    /// Whether a force was stated.
    pub(super) fn states_force(&self) -> bool {
        self.force.is_some()
    }

    /// The same push without a needle: for what is read and not pushed.
    pub(super) fn without_needle(&self) -> Self {
        Self {
            gauge: None,
            bore: None,
            ..self.clone()
        }
    }

    /// Whether any needle of the table may be the answer.
    pub(super) fn any_needle(&self) -> bool {
        self.gauge == Some(GaugeAsked::Any)
    }

    /// The push, and every needle that it is asked for: the one named, or where none is
    /// named all of the table with the wall and the basis that were asked for. The push's own
    /// needle is then the widest of them.
    pub(super) fn setup_and_needles(&self) -> Result<(PushSetup, Vec<NeedleUsed>), CliError> {
        let needles = match self.needle()? {
            Some(needle) => vec![needle],
            None => self.needles_of_table()?,
        };
        let first = needles
            .first()
            .cloned()
            .ok_or_else(|| CliError::question(NO_NEEDLE))?;
        Ok((self.setup_through(first)?, needles))
    }

    /// The needle that was named, by its gauge or its bore.
    pub(super) fn needle(&self) -> Result<Option<NeedleUsed>, CliError> {
        let length_m = self.length.unwrap_or(DEFAULT_LENGTH_M);
        let needle = match (self.gauge, self.bore) {
            (Some(GaugeAsked::One(gauge)), _) => {
                let (wall, basis) = self.wall_and_basis();
                NeedleUsed::of_gauge(gauge, wall, basis, length_m)?
            }
            (None, Some(bore_m)) => NeedleUsed::of_bore(bore_m, self.bore_tolerance, length_m)?,
            (Some(GaugeAsked::Any), _) | (None, None) => return Ok(None),
        };
        Ok(Some(needle))
    }

    /// Name of the syringe and bore of the barrel, as far as they were given.
    pub(super) fn barrel_as_given(&self) -> (Option<String>, Option<f64>) {
        (self.syringe.clone(), self.barrel)
    }

    fn wall_and_basis(&self) -> (Wall, BoreBasis) {
        let wall = self.wall.unwrap_or_default();
        (wall, self.bore_basis.unwrap_or_default())
    }

    fn needles_of_table(&self) -> Result<Vec<NeedleUsed>, CliError> {
        let length_m = self.length.unwrap_or(DEFAULT_LENGTH_M);
        let (wall, basis) = self.wall_and_basis();
        let mut gauges: Vec<u8> = all_needles()?
            .iter()
            .filter(|n| n.wall == wall)
            .map(|n| n.gauge)
            .collect();
        gauges.sort_unstable();
        gauges.dedup();
        gauges
            .into_iter()
            .map(|gauge| Ok(NeedleUsed::of_gauge(gauge, wall, basis, length_m)?))
            .collect()
    }

    /// The barrel that was named, or the usual one.
    pub(super) fn barrel_used(&self) -> Result<BarrelUsed, CliError> {
        Ok(match (self.barrel, &self.syringe) {
            (Some(bore_m), _) => BarrelUsed::of_bore(bore_m),
            (None, Some(name)) => {
                // '5 mL' and '5mL' are the same syringe.
                let name: String = name.split_whitespace().collect();
                BarrelUsed::of_syringe(&name)?
            }
            (None, None) => BarrelUsed::of_syringe(DEFAULT_SYRINGE)?,
        })
    }

    /// The push through a needle.
    fn setup_through(&self, needle: NeedleUsed) -> Result<PushSetup, CliError> {
        self.setup_in(needle, self.barrel_used()?)
    }

    /// Whether a syringe or a barrel was named.
    pub(super) fn names_barrel(&self) -> bool {
        self.syringe.is_some() || self.barrel.is_some()
    }

    /// The push through a needle from a barrel.
    pub(super) fn setup_in(
        &self,
        needle: NeedleUsed,
        barrel: BarrelUsed,
    ) -> Result<PushSetup, CliError> {
        let (friction_n, friction_tolerance_n) = match self.friction {
            Some(friction_n) => (friction_n, STATED_FRICTION_TOLERANCE_RATIO * friction_n),
            None => barrel.default_friction_n()?,
        };
        let usual = PushSetup::with_needle(needle)?;
        let setup = PushSetup {
            barrel,
            flow_rate_m3_per_s: self.flow.unwrap_or(DEFAULT_FLOW_RATE_M3_PER_S),
            friction_n,
            friction_is_default: self.friction.is_none(),
            tissue_pressure_pa: self.tissue_pressure.unwrap_or(0.0),
            include_end_losses: self.end_losses,
            gel_kelvin: self.gel_temp,
            force_limit_n: self.force.unwrap_or(usual.force_limit_n),
            doubts: PushDoubts {
                friction_tolerance_n,
                ..usual.doubts
            },
            ..usual
        };
        setup.conditions()?;
        Ok(setup)
    }

    /// What the push takes for granted, in numbers.
    pub(super) fn assumptions(&self, setup: &PushSetup) -> Result<PushAssumptions, CliError> {
        let needle = &setup.needle;
        Ok(PushAssumptions {
            needle: needle.label(),
            gauge: needle.gauge,
            wall: needle.wall,
            bore_m: needle.bore_m,
            bore_tolerance_m: needle.bore_tolerance_m,
            bore_basis: needle
                .bore_basis
                .map_or_else(|| "given".to_owned(), |b| b.to_string()),
            length_m: needle.length_m,
            syringe: setup.barrel.syringe.clone(),
            barrel_bore_m: setup.barrel.bore_m,
            barrel_bore_range_m: barrel_bore_range_m(&setup.barrel)?,
            flow_rate_m3_per_s: setup.flow_rate_m3_per_s,
            friction_n: setup.friction_n,
            friction_is_default: setup.friction_is_default,
            tissue_pressure_pa: setup.tissue_pressure_pa,
            end_losses: setup.include_end_losses,
            force_limit_n: setup.force_limit_n,
            gel_kelvin: setup.gel_kelvin,
        })
    }

    /// What the push takes for granted, one thing a line.
    pub(super) fn assumed_words(&self, setup: &PushSetup) -> Result<Vec<String>, CliError> {
        let mut lines = vec![
            self.bore_words(setup),
            format!(
                "length {}{}",
                display::length_mm(setup.needle.length_m),
                stated(self.length.is_some())
            ),
            self.barrel_words(setup)?,
            format!(
                "flow {}{}",
                display::flow_rate(setup.flow_rate_m3_per_s),
                stated(self.flow.is_some())
            ),
            friction_words(setup)?,
            match setup.tissue_pressure_pa {
                0.0 => "no pressure from tissue".to_owned(),
                pressure_pa => format!("tissue pressure {}", display::pressure(pressure_pa)),
            },
        ];
        if let Some(kelvin) = setup.gel_kelvin {
            lines.push(format!(
                "gel at {} when it is pushed",
                display::temperature(kelvin)
            ));
        }
        Ok(lines)
    }

    fn bore_words(&self, setup: &PushSetup) -> String {
        let needle = &setup.needle;
        let words = needle.bore_words();
        match (needle.wall, needle.bore_basis) {
            (Some(wall), Some(BoreBasis::Minimum)) if wall != Wall::Regular => {
                format!("{words}; the tables have no nominal bore for walls other than regular")
            }
            (Some(_), Some(BoreBasis::Nominal)) if self.bore_basis == Some(BoreBasis::Minimum) => {
                format!("{words}; the tables have no least bore for it")
            }
            (None, _) if needle.bore_tolerance_m.is_none() => {
                format!("{words}; --bore-tolerance carries its doubt into the answer")
            }
            _ => words,
        }
    }

    fn barrel_words(&self, setup: &PushSetup) -> Result<String, CliError> {
        let bore = display::length_mm(setup.barrel.bore_m);
        let Some(_) = &setup.barrel.syringe else {
            return Ok(format!("barrel bore {bore} (given)"));
        };
        let makers =
            barrel_bore_range_m(&setup.barrel)?.map_or_else(String::new, |(least, most)| {
                format!(
                    ", makers {} to {}",
                    display::length_mm(least),
                    display::length_mm(most)
                )
            });
        let default = stated(self.syringe.is_some());
        Ok(format!(
            "{}{default}: barrel bore {bore}{makers}",
            setup.barrel.label()
        ))
    }
}

/// '(default)' behind a value that nobody stated.
fn stated(is_stated: bool) -> &'static str {
    if is_stated { "" } else { " (default)" }
}

fn barrel_bore_range_m(barrel: &BarrelUsed) -> Result<Option<(f64, f64)>, CliError> {
    match &barrel.syringe {
        Some(name) => Ok(find_syringe(name)?.bore_range_m),
        None => Ok(None),
    }
}

fn friction_words(setup: &PushSetup) -> Result<String, CliError> {
    let friction = display::force(setup.friction_n);
    if !setup.friction_is_default {
        return Ok(format!("stopper friction {friction}"));
    }
    let usual = match setup.barrel.nominal_volume_m3 {
        Some(volume_m3) => default_friction_n(volume_m3)?,
        None => default_friction_for_bore_n(setup.barrel.bore_m)?,
    };
    let (least_n, most_n) = usual.friction_range_n;
    let doubt = if usual.extrapolated {
        "nothing was measured at this size"
    } else {
        "usual at this size"
    };
    Ok(format!(
        "stopper friction {friction} (default; {doubt}, {} to {}; measure yours on an empty syringe)",
        display::at_most(least_n, 3),
        display::force(most_n)
    ))
}

/// 'any', or a gauge.
fn gauge_or_any(text: &str) -> Result<GaugeAsked, String> {
    if text.trim().eq_ignore_ascii_case("any") {
        return Ok(GaugeAsked::Any);
    }
    gauge(text).map(GaugeAsked::One)
}

/// A gauge as people write it: '30' or '30G'.
pub(super) fn gauge(text: &str) -> Result<u8, String> {
    let trimmed = text.trim();
    let number = trimmed.trim_end_matches(['G', 'g']).trim_end();
    match number.parse::<u16>() {
        Ok(number) => u8::try_from(number)
            .map_err(|_| format!("{number}G is no needle; gauges run from 10 (wide) to 34 (fine)")),
        Err(_) => Err(format!(
            "\"{}\" is no gauge; write a whole number from 10 (wide) to 34 (fine), such as 30",
            units::quantity::excerpt(trimmed)
        )),
    }
}
