//! What keeps a table of looks from being fitted, before the search and after it.

use super::error::SetTimeError;
use super::regression::{NoSetTime, SetTimeKnowledge};
use crate::fit::least_squares::Termination;
use crate::readings::SeenSyringe;
use crate::units::display;

/// Temperatures nearer than this are one.
const SAME_KELVIN: f64 = 0.05;

/// Refuses tables from which the set time, or how it goes with temperature, cannot be had.
pub(super) fn check(
    blend: &str,
    syringes: &[SeenSyringe],
    criteria: &[String],
    lots: usize,
    knowledge: &SetTimeKnowledge,
) -> Result<(), SetTimeError> {
    for criterion in criteria {
        let own: Vec<&SeenSyringe> = syringes
            .iter()
            .filter(|s| s.criterion == *criterion)
            .collect();
        let by = |a: &&&SeenSyringe, b: &&&SeenSyringe| a.by_s.total_cmp(&b.by_s);
        let after = |a: &&&SeenSyringe, b: &&&SeenSyringe| a.after_s.total_cmp(&b.after_s);
        if !own.iter().any(|s| s.after_s > 0.0)
            && let Some(soonest) = own.iter().min_by(by)
        {
            return Err(SetTimeError::AllSet {
                blend: blend.to_owned(),
                criterion: criterion.clone(),
                syringes: own.len(),
                temp_kelvin: soonest.heat_temp_kelvin,
                time_s: soonest.by_s,
            });
        }
        if !own.iter().any(|s| s.by_s.is_finite())
            && let Some(latest) = own.iter().max_by(after)
        {
            return Err(SetTimeError::NoneSet {
                blend: blend.to_owned(),
                criterion: criterion.clone(),
                syringes: own.len(),
                temp_kelvin: latest.heat_temp_kelvin,
                time_s: latest.after_s,
            });
        }
    }
    let kelvins = temperatures(syringes);
    let energy_is_known =
        knowledge.held_energy_j_per_mol.is_some() || knowledge.prior_energy_j_per_mol.is_some();
    if let ([only], false) = (kelvins.as_slice(), energy_is_known) {
        return Err(SetTimeError::OneTemperature {
            blend: blend.to_owned(),
            syringes: syringes.len(),
            temp_kelvin: *only,
        });
    }
    let parameters = 1
        + usize::from(!energy_is_known)
        + (criteria.len() - 1)
        + usize::from(knowledge.held_scatter.is_none())
        + usize::from(lots > 1);
    if syringes.len() < parameters + 1 {
        return Err(SetTimeError::TooFew {
            blend: blend.to_owned(),
            syringes: syringes.len(),
            needed: parameters + 1,
            parameters,
        });
    }
    Ok(())
}

/// The refusal for a search that found no greatest likelihood.
pub(super) fn why_none(
    blend: &str,
    syringes: &[SeenSyringe],
    why: Option<NoSetTime>,
) -> SetTimeError {
    let blend_name = blend.to_owned();
    let two_sided_kelvin = two_sided(syringes);
    match why {
        Some(parted @ (NoSetTime::Parted | NoSetTime::PartedByLot)) => SetTimeError::Parted {
            blend: blend_name,
            between: between(syringes),
            by_lot: parted == NoSetTime::PartedByLot,
        },
        Some(NoSetTime::NotBySetting) => SetTimeError::NotBySetting { blend: blend_name },
        Some(NoSetTime::EnergyNotHeld) => SetTimeError::EnergyNotHeld {
            blend: blend_name,
            two_sided_kelvin,
        },
        // One temperature with both answers, or none, leaves a valley.
        Some(NoSetTime::NotFound(_)) if two_sided_kelvin.len() < 2 => SetTimeError::EnergyNotHeld {
            blend: blend_name,
            two_sided_kelvin,
        },
        Some(NoSetTime::NotFound(termination)) => SetTimeError::NotFound {
            blend: blend_name,
            termination,
        },
        None => SetTimeError::NotFound {
            blend: blend_name,
            termination: Termination::NotFinite,
        },
    }
}

/// Temperatures, rising, each once.
pub(super) fn temperatures(syringes: &[SeenSyringe]) -> Vec<f64> {
    let mut kelvins: Vec<f64> = syringes.iter().map(|s| s.heat_temp_kelvin).collect();
    kelvins.sort_by(f64::total_cmp);
    kelvins.dedup_by(|b, a| (*b - *a).abs() < SAME_KELVIN);
    kelvins
}

/// Latest time not set and earliest time set at a temperature.
fn ends_at(syringes: &[SeenSyringe], kelvin: f64) -> (f64, f64) {
    let own = || {
        syringes
            .iter()
            .filter(move |s| (s.heat_temp_kelvin - kelvin).abs() < SAME_KELVIN)
    };
    (
        own().map(|s| s.after_s).fold(0.0, f64::max),
        own().map(|s| s.by_s).fold(f64::INFINITY, f64::min),
    )
}

/// Temperatures at which some had set and some had not.
fn two_sided(syringes: &[SeenSyringe]) -> Vec<f64> {
    temperatures(syringes)
        .into_iter()
        .filter(|kelvin| {
            let (after_s, by_s) = ends_at(syringes, *kelvin);
            after_s > 0.0 && by_s.is_finite()
        })
        .collect()
}

/// 'between 4 min and 6 min at 80 °C, ...': where looks would tell most.
fn between(syringes: &[SeenSyringe]) -> String {
    let places: Vec<String> = two_sided(syringes)
        .into_iter()
        .map(|kelvin| {
            let (after_s, by_s) = ends_at(syringes, kelvin);
            format!(
                "between {} and {} at {}",
                display::duration(after_s.min(by_s)),
                display::duration(after_s.max(by_s)),
                display::temperature(kelvin)
            )
        })
        .take(3)
        .collect();
    if places.is_empty() {
        "at times when some have set and some have not".to_owned()
    } else {
        places.join(", ")
    }
}
