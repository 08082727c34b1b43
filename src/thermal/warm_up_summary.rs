//! How much of the clock was warm-up, and which uncertain number decides it.

use serde::Serialize;

use super::conduction::Barrel;
use super::gel_doses::{
    DoseReference, GelDoses, running_integral, share_under_half_of_mean, volume_mean,
};
use super::gel_history::{GelHistory, gel_history};
use super::input_error::ThermalInputError;
use super::schedule::StageKind;
use super::syringe_setup::{SyringeInput, SyringeSetup};
use super::temperature_history::relative_rate;
use super::timed_schedule::TimedSchedule;

/// The core counts as warm within this of the set temperature, in K.
const NEAR_KELVIN: f64 = 1.0;

/// What the warm-up is counted by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum WarmUpBasis {
    /// By what heat does: the mean heat dose.
    HeatDose,
    /// By the mean temperature alone, where no activation energy is known.
    MeanTemperature,
}

/// Heat doses at the end of a schedule, in s at the reference temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct EndDoses {
    /// At r = 0.
    #[serde(rename = "core")]
    pub core_s: f64,
    /// At the wall.
    #[serde(rename = "edge")]
    pub edge_s: f64,
    /// Volume mean.
    #[serde(rename = "mean")]
    pub mean_s: f64,
}

/// What a schedule comes to for the gel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WarmUpSummary {
    /// Time on the clocks of the heat stages.
    pub heat_time_s: f64,
    /// Set temperature of the hottest heat stage, to which lag and warm-up are referred.
    pub set_kelvin: f64,
    /// When the last heat stage ends.
    pub heat_end_s: f64,
    /// Core at that moment.
    pub core_at_heat_end_kelvin: f64,
    /// Edge at that moment.
    pub edge_at_heat_end_kelvin: f64,
    /// Mean at that moment.
    pub mean_at_heat_end_kelvin: f64,
    /// Least and greatest temperature of the gel at that moment.
    pub extremes_at_heat_end_kelvin: [f64; 2],
    /// First time at which the core is within 1 K of the set temperature; nothing where never.
    pub core_near_set_s: Option<f64>,
    /// Core at the end of the schedule; of a barrel with ends where it is hottest.
    pub core_at_end_kelvin: f64,
    /// How much of the heat stages' clock was warm-up.
    pub warm_up_s: f64,
    /// What that is counted by.
    pub warm_up_basis: WarmUpBasis,
    /// Heat doses at the end of the schedule, cooling counted.
    pub doses: Option<EndDoses>,
    /// Clock heat time less the mean heat dose referred to the set temperature.
    pub lag_s: Option<f64>,
    /// Share of the volume whose dose is under half of the mean dose.
    pub unset_fraction: Option<f64>,
}

impl WarmUpSummary {
    /// Greatest less least temperature of the gel when the last heat stage ends, in K.
    #[must_use]
    pub fn unevenness_kelvin(&self) -> f64 {
        let [least, greatest] = self.extremes_at_heat_end_kelvin;
        greatest - least
    }
}

/// What a schedule comes to for the gel.
///
/// # Equation
/// With an activation energy: warm-up = clock heat time - mean heat dose of the heat stages,
/// referred to the set temperature; lag = clock heat time - mean heat dose of the whole schedule,
/// so that what is gathered while it cools is taken off. Without:
/// warm-up = integral over the heat stages of `(T_set - T_mean)/(T_set - T_start) dt`, the time by
/// which the mean runs behind.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | T_set | `set_kelvin` | K |
///
/// # Valid for
/// As [`gel_history`]. A lumped barrel of time constant tau that gets warm costs `tau Ein(x)` by
/// heat dose, `x = E (T_set - T_start)/(R T_set T_start)` at least, and tau by mean temperature.
///
/// # Source
/// Our own definitions; Ein: M. Abramowitz, I. Stegun, Handbook of Mathematical Functions, section
/// 5.1 (from memory).
#[must_use]
pub fn warm_up_summary(
    history: &GelHistory,
    schedule: &TimedSchedule,
    reference: Option<DoseReference>,
    doses: Option<&GelDoses>,
) -> WarmUpSummary {
    let heat = || {
        schedule
            .stages
            .iter()
            .filter(|stage| stage.kind == StageKind::Heat)
    };
    let heat_time_s: f64 = heat().map(|stage| stage.time_s).sum();
    let set_kelvin = heat().map(|stage| stage.set_kelvin).fold(0.0, f64::max);
    let at = |values: &[f64], time: usize| values.get(time).copied().unwrap_or(f64::NAN);
    let heat_end = history.heat_end();
    let end = history.times_s().len().saturating_sub(1);
    // Of a running sum, what was gathered in the heat stages.
    let in_heat = |running: &[f64]| -> f64 {
        heat()
            .map(|stage| {
                let place = |time_s: f64| {
                    history
                        .times_s()
                        .partition_point(|time| *time < time_s - 1e-6)
                };
                at(running, place(stage.end_s()).min(end)) - at(running, place(stage.start_s))
            })
            .sum()
    };
    let to_set_s = |dose_s: f64| match reference {
        Some(reference) => {
            dose_s
                / relative_rate(
                    set_kelvin,
                    reference.reference_kelvin,
                    reference.activation_energy_j_per_mol,
                )
        }
        None => f64::NAN,
    };
    let mean_doses_s = doses.map_or_else(Vec::new, |doses| doses.gel_s.means());
    let start_kelvin = schedule.start_kelvin;
    let (warm_up_s, warm_up_basis) = match doses {
        Some(_) => (
            heat_time_s - to_set_s(in_heat(&mean_doses_s)),
            WarmUpBasis::HeatDose,
        ),
        None if set_kelvin == start_kelvin => (0.0, WarmUpBasis::MeanTemperature),
        None => {
            let behind = running_integral(
                history.times_s(),
                history
                    .mean_kelvin()
                    .iter()
                    .map(|mean| (set_kelvin - mean) / (set_kelvin - start_kelvin)),
            );
            (in_heat(&behind), WarmUpBasis::MeanTemperature)
        }
    };
    WarmUpSummary {
        heat_time_s,
        set_kelvin,
        heat_end_s: at(history.times_s(), heat_end),
        core_at_heat_end_kelvin: at(history.core_kelvin(), heat_end),
        edge_at_heat_end_kelvin: at(history.edge_kelvin(), heat_end),
        mean_at_heat_end_kelvin: at(history.mean_kelvin(), heat_end),
        extremes_at_heat_end_kelvin: history.extremes_kelvin(heat_end),
        core_near_set_s: history
            .core_kelvin()
            .iter()
            .zip(history.times_s())
            .find(|(core, _)| (*core - set_kelvin).abs() <= NEAR_KELVIN)
            .map(|(_, time_s)| *time_s),
        core_at_end_kelvin: history
            .core_rows_kelvin()
            .last()
            .into_iter()
            .flatten()
            .copied()
            .fold(f64::NEG_INFINITY, f64::max),
        warm_up_s,
        warm_up_basis,
        doses: doses.map(|doses| EndDoses {
            core_s: volume_mean(doses.core_s.fractions(), doses.core_s.last_parts()),
            edge_s: volume_mean(doses.edge_s.fractions(), doses.edge_s.last_parts()),
            mean_s: at(&mean_doses_s, end),
        }),
        lag_s: doses.map(|_| heat_time_s - to_set_s(at(&mean_doses_s, end))),
        unset_fraction: doses.map(|doses| {
            share_under_half_of_mean(doses.gel_s.fractions(), doses.gel_s.last_parts())
        }),
    }
}

/// What an uncertain number does to the answer, all others as assumed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct InputEffect {
    /// Which number.
    pub input: SyringeInput,
    /// Least and greatest of it, in SI.
    pub range: [f64; 2],
    /// Core at the end of the last heat stage, with the least and the greatest.
    #[serde(rename = "core_at_heat_end_K")]
    pub core_at_heat_end_kelvin: [f64; 2],
    /// Warm-up, with the least and the greatest.
    pub warm_up_s: [f64; 2],
}

impl InputEffect {
    fn span_s(&self) -> f64 {
        (self.warm_up_s[1] - self.warm_up_s[0]).abs()
    }
}

/// What each uncertain number does to the answer, the weightiest first.
///
/// # Errors
/// As [`gel_history`].
pub fn what_matters(
    setup: &SyringeSetup,
    schedule: &TimedSchedule,
    reference: Option<DoseReference>,
    ranges: &[(SyringeInput, (f64, f64))],
) -> Result<Vec<InputEffect>, ThermalInputError> {
    let mut effects = Vec::with_capacity(ranges.len());
    for (input, (low, high)) in ranges {
        let with = |value: f64| -> Result<WarmUpSummary, ThermalInputError> {
            let history = gel_history(&setup.with(*input, value)?, schedule)?;
            let doses = reference.map(|reference| history.doses(reference));
            Ok(warm_up_summary(
                &history,
                schedule,
                reference,
                doses.as_ref(),
            ))
        };
        let (low_end, high_end) = (with(*low)?, with(*high)?);
        effects.push(InputEffect {
            input: *input,
            range: [*low, *high],
            core_at_heat_end_kelvin: [
                low_end.core_at_heat_end_kelvin,
                high_end.core_at_heat_end_kelvin,
            ],
            warm_up_s: [low_end.warm_up_s, high_end.warm_up_s],
        });
    }
    effects.sort_by(|a, b| b.span_s().total_cmp(&a.span_s()));
    Ok(effects)
}

/// Length of the gel column of a volume in a barrel, in m.
///
/// # Equation
/// `L = 4 V/(pi D^2)`
///
/// # Source
/// Volume of a cylinder.
#[must_use]
pub fn filled_length_m(barrel: &Barrel, volume_m3: f64) -> f64 {
    4.0 * volume_m3 / (std::f64::consts::PI * barrel.bore_m().powi(2))
}
