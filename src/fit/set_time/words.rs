//! What the reader of a calibration of set times should know, in words.

use super::document::{SetTimeBlend, SetTimeName};
use crate::fit::calibration_parts::Warning;
use crate::units::display;

/// Under this many syringes the intervals, which hold for many, are taken too narrow.
const FEW_SYRINGES: usize = 20;
/// Lots under this number tell little about their spread.
const FEW_LOTS: usize = 5;
/// Energies of protein setting, with room: published are 154 (gel time of whey) to 529 kJ/mol (carbonic
/// anhydrase, Amani et al. 2011).
const USUAL_ENERGY_J_PER_MOL: [f64; 2] = [120e3, 650e3];

/// Warnings of a fitted blend.
pub(super) fn warnings(blend: &SetTimeBlend) -> Vec<Warning> {
    let mut found = vec![Warning::new(
        "clock_includes_warm_up",
        "Set times are times on the clock: what the syringe takes to warm up is in them, and the activation energy comes out lower by it. They hold for the syringe and the block that were looked at.",
    )];
    match &blend.lots {
        None => found.push(Warning::new(
            "one_lot",
            "No lot is named: what is said holds for these syringes, and nothing is known about the next person's.",
        )),
        Some(lots) if lots.count < 2 => found.push(Warning::new(
            "one_lot",
            "All syringes are from one lot: nothing is known about the next person's. What helps: syringes of a second lot, better of four.",
        )),
        Some(lots) if !lots.told_apart => found.push(Warning::new(
            "lots_not_named",
            "Some syringes do not name their lot, so that lots are fitted as one. What helps: fill the column lot.",
        )),
        Some(lots) if lots.count < FEW_LOTS => found.push(Warning::new(
            "few_lots",
            format!(
                "{} lots tell little about how much people differ: answers for a new lot are wide for that.",
                lots.count
            ),
        )),
        Some(_) => {}
    }
    if blend
        .parameter(SetTimeName::LotSd)
        .is_some_and(|p| p.estimate == 0.0)
    {
        found.push(Warning::new(
            "no_lot_spread_found",
            "These syringes show no spread between lots; answers for a new lot still allow for what they could not show.",
        ));
    }
    if blend.fit.syringes < FEW_SYRINGES {
        found.push(Warning::new(
            "few_syringes",
            format!(
                "{} syringes are few for set and not-set: intervals of so few come out too narrow.",
                blend.fit.syringes
            ),
        ));
    }
    let scatter = blend.parameter(SetTimeName::Scatter);
    if let Some([low, high]) = scatter.and_then(|p| p.ci95)
        && high > 4.0 * low
    {
        found.push(Warning::new(
            "scatter_poorly_known",
            format!(
                "How much set times scatter is poorly known ({} to {}), and the time by which 95 of 100 have set rests on it. What helps: more syringes at times when some have set and some have not.",
                display::significant(low, 2),
                display::significant(high, 2)
            ),
        ));
    }
    let energy = blend.parameter(SetTimeName::ActivationEnergy);
    if let Some(energy) = energy.filter(|p| !p.held) {
        let [low, high] = USUAL_ENERGY_J_PER_MOL;
        if let Some([least, most]) = energy.ci95
            && (most < low || least > high)
        {
            found.push(Warning::new(
                "unusual_activation_energy",
                format!(
                    "An activation energy of {} is unusual for protein (published: 154 to 529 kJ/mol). What helps: look at temperatures and times, and at how long the syringe takes to warm up.",
                    display::energy_to(energy.estimate, 3)
                ),
            ));
        }
    }
    if let [one, other] = blend.candidates.as_slice()
        && let (Some(first), Some(second)) = (one.by_95_percent_ref_s, other.by_95_percent_ref_s)
        && let (Some(a), Some(b)) = (one.aicc, other.aicc)
        && (a - b).abs() < 2.0
        && (first / second).ln().abs() > 0.03
    {
        found.push(Warning::new(
            "scatter_form_open",
            format!(
                "A {} and a {} scatter fit alike; by the one 95 of 100 have set in {} at {}, by the other in {}.",
                one.scatter.as_str(),
                other.scatter.as_str(),
                display::duration(first),
                display::temperature(blend.reference_temp_k),
                display::duration(second)
            ),
        ));
    }
    if blend.criteria.len() > 1 {
        found.push(Warning::new(
            "criteria_share_syringes",
            "A syringe that was judged by several criteria counts once for each, as if it had been another: intervals are a little too narrow for that.",
        ));
    }
    found
}
