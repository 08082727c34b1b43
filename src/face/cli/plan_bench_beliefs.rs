//! What `heatset plan-bench` is told of the gel, of the bench and of the days.

use crate::plan::bench_plan::{Beliefs, BenchLimits, Span};
use crate::units::{self, UnitError};
use clap::Args;

/// Beliefs about the gel.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "What is believed of the gel (one value, or a range LEAST..MOST)")]
pub(super) struct BeliefArguments {
    /// Activation energy of setting [default: 250..550kJ/mol]
    #[arg(long, value_name = "ENERGY", value_parser = energy_span)]
    activation_energy: Option<Span>,
    /// Time in which half has set at --half-time-at [default: 5..20min]
    #[arg(long, value_name = "TIME", value_parser = time_span)]
    half_time: Option<Span>,
    /// Temperature of that half time [default: 85C]
    #[arg(long, value_name = "TEMP", value_parser = units::temperature_kelvin)]
    half_time_at: Option<f64>,
    /// Viscosity before heat [default: 1.3..2mPa.s]
    #[arg(long, value_name = "VISCOSITY", value_parser = viscosity_span)]
    initial: Option<Span>,
    /// Viscosity when all has set [default: 3..30Pa.s]
    #[arg(long, value_name = "VISCOSITY", value_parser = viscosity_span)]
    plateau: Option<Span>,
    /// Scatter of a reading, one standard deviation [default: 8%]
    #[arg(long, value_name = "SHARE", value_parser = scatter)]
    scatter: Option<f64>,
    /// Spread between lots of how fast they set, one standard deviation [default: 15%]
    #[arg(long, value_name = "SHARE", value_parser = spread)]
    lot_spread: Option<f64>,
    /// The same of the viscosity before heat [default: 5%]
    #[arg(long, value_name = "SHARE", value_parser = spread)]
    lot_spread_initial: Option<f64>,
    /// The same of the plateau [default: 10%]
    #[arg(long, value_name = "SHARE", value_parser = spread)]
    lot_spread_plateau: Option<f64>,
}

impl BeliefArguments {
    pub(super) fn beliefs(&self) -> Beliefs {
        let usual = Beliefs::default();
        Beliefs {
            activation_energy_j_per_mol: self
                .activation_energy
                .unwrap_or(usual.activation_energy_j_per_mol),
            half_time_s: self.half_time.unwrap_or(usual.half_time_s),
            half_time_temp_k: self.half_time_at.unwrap_or(usual.half_time_temp_k),
            initial_pa_s: self.initial.unwrap_or(usual.initial_pa_s),
            plateau_pa_s: self.plateau.unwrap_or(usual.plateau_pa_s),
            reading_scatter_ratio: self.scatter.unwrap_or(usual.reading_scatter_ratio),
            lot_spread_rate_ratio: self.lot_spread.unwrap_or(usual.lot_spread_rate_ratio),
            lot_spread_initial_ratio: self
                .lot_spread_initial
                .unwrap_or(usual.lot_spread_initial_ratio),
            lot_spread_plateau_ratio: self
                .lot_spread_plateau
                .unwrap_or(usual.lot_spread_plateau_ratio),
        }
    }

    /// Source of each belief that was not stated, by its name in [`Beliefs::SOURCES`].
    pub(super) fn source(&self, name: &str) -> &'static str {
        let stated = match name {
            "activation_energy" => self.activation_energy.is_some(),
            "half_time" => self.half_time.is_some(),
            "initial" => self.initial.is_some(),
            "plateau" => self.plateau.is_some(),
            "scatter" => self.scatter.is_some(),
            "lot_spread_rate" => self.lot_spread.is_some(),
            "lot_spread_initial" => self.lot_spread_initial.is_some(),
            "lot_spread_plateau" => self.lot_spread_plateau.is_some(),
            _ => false,
        };
        if stated {
            return "stated";
        }
        Beliefs::SOURCES
            .iter()
            .find(|(known, _)| *known == name)
            .map_or("", |(_, source)| source)
    }
}

/// What bench and days allow.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "What bench and days allow")]
pub(super) struct LimitArguments {
    /// Temperatures that the block may be set to
    #[arg(long, default_value = "70..90C", value_name = "TEMPS", value_parser = temperature_span)]
    block_range: Span,
    /// Places in the block
    #[arg(long, default_value_t = 6, value_name = "N", value_parser = count)]
    places: usize,
    /// How long a session lasts
    #[arg(long, default_value = "3h", value_name = "TIME", value_parser = units::duration_s)]
    session: f64,
    /// Bringing the block to a temperature
    #[arg(long, default_value = "15min", value_name = "TIME", value_parser = units::duration_or_zero_s)]
    block_change: f64,
    /// Readings that can be taken in a day
    #[arg(long, default_value_t = 16, value_name = "N", value_parser = count)]
    readings_a_day: usize,
    /// Readings of a lot at most
    #[arg(long, default_value_t = 16, value_name = "N", value_parser = readings_of_lot)]
    readings_a_lot: usize,
    /// Lots that can be had at most
    #[arg(long, default_value_t = 8, value_name = "N", value_parser = lots)]
    lots: usize,
    /// What a further lot costs, in readings' worth of work
    #[arg(long, default_value_t = 4.0, value_name = "N", value_parser = cost)]
    lot_costs: f64,
    /// Temperatures of the bench: two tell the activation energy, a third whether the line is straight
    #[arg(long, default_value_t = 3, value_name = "N", value_parser = temperatures)]
    pub(super) temperatures: usize,
}

impl LimitArguments {
    pub(super) fn limits(&self) -> BenchLimits {
        BenchLimits {
            block_kelvin: [self.block_range.least, self.block_range.most],
            places: self.places,
            session_s: self.session,
            block_change_s: self.block_change,
            readings_a_day: self.readings_a_day,
            readings_a_lot: self.readings_a_lot,
            lots: self.lots,
            lot_costs_readings: self.lot_costs,
        }
    }
}

/// 'LEAST..MOST' or one value; a unit that only the second names is that of both.
fn span(text: &str, parse: fn(&str) -> Result<f64, UnitError>) -> Result<Span, String> {
    let said = |error: UnitError| error.to_string();
    let Some((least, most)) = text.split_once("..") else {
        return parse(text).map(Span::exactly).map_err(said);
    };
    let most_value = parse(most).map_err(said)?;
    let unit = most
        .trim()
        .trim_start_matches(|c: char| c.is_ascii_digit() || "+-., ".contains(c));
    let least_value =
        parse(least).or_else(|first| parse(&format!("{}{unit}", least.trim())).map_err(|_| first));
    let least_value = least_value.map_err(said)?;
    if least_value > most_value {
        return Err(format!(
            "'{text}' runs backwards; write the smaller value first: {}..{}",
            most.trim(),
            least.trim()
        ));
    }
    Ok(Span {
        least: least_value,
        most: most_value,
    })
}

fn energy_span(text: &str) -> Result<Span, String> {
    span(text, units::activation_energy_j_per_mol)
}

fn time_span(text: &str) -> Result<Span, String> {
    span(text, units::duration_s)
}

fn viscosity_span(text: &str) -> Result<Span, String> {
    span(text, units::viscosity_pa_s)
}

fn temperature_span(text: &str) -> Result<Span, String> {
    span(text, units::temperature_kelvin)
}

fn share(text: &str, least: f64, what: &str) -> Result<f64, String> {
    let value = units::fraction(text).map_err(|e| e.to_string())?;
    if value < least {
        return Err(format!(
            "{what} of '{text}' cannot be; write it as 8% or 0.08"
        ));
    }
    Ok(value)
}

fn scatter(text: &str) -> Result<f64, String> {
    share(text, 1e-3, "a scatter")
}

fn spread(text: &str) -> Result<f64, String> {
    share(text, 0.0, "a spread")
}

fn whole(text: &str, least: usize, most: usize, what: &str) -> Result<usize, String> {
    match text.trim().parse::<usize>() {
        Ok(number) if (least..=most).contains(&number) => Ok(number),
        _ => Err(format!(
            "{what} is a whole number from {least} to {most}, and not '{text}'"
        )),
    }
}

fn count(text: &str) -> Result<usize, String> {
    whole(text, 1, 500, "it")
}

fn readings_of_lot(text: &str) -> Result<usize, String> {
    whole(text, 6, 40, "readings of a lot")
}

fn lots(text: &str) -> Result<usize, String> {
    whole(
        text,
        2,
        99,
        "the number of lots (a spread between lots takes two at least)",
    )
}

fn temperatures(text: &str) -> Result<usize, String> {
    whole(
        text,
        2,
        6,
        "the number of temperatures (one cannot tell the activation energy)",
    )
}

fn cost(text: &str) -> Result<f64, String> {
    match text.trim().parse::<f64>() {
        Ok(value) if (0.0..=1e3).contains(&value) => Ok(value),
        _ => Err(format!(
            "what a lot costs is a number of readings, 0 to 1000, and not '{text}'"
        )),
    }
}
