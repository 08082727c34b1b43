//! What the readings after standing cannot tell, in words.

use super::choice::{NoCourse, StandingForm};
use super::document::Standing;
use crate::fit::calibration_parts::Warning;
use crate::units::display;

/// Warnings of a fitted course.
pub(super) fn warnings(standing: &Standing) -> Vec<Warning> {
    let mut found = Vec::new();
    let longest = standing
        .range
        .iter()
        .map(|range| range.stand_time_s[1])
        .fold(0.0, f64::max);
    if standing.form == StandingForm::Slope {
        found.push(Warning::new(
            "standing_slope_only",
            format!(
                "The readings after standing do not level off within {}, so how far the gel thickens in the end and how fast cannot be told apart: only its slope is known, and nothing beyond that time. What helps: readings after longer standing.",
                display::duration(longest)
            ),
        ));
    }
    if standing.activation_energy_j_per_mol.is_none() {
        let [low, high] = standing.storage_kelvin();
        let stored = if high - low < 0.05 {
            display::temperature(low)
        } else {
            format!(
                "{} to {}",
                display::temperature(low),
                display::temperature(high)
            )
        };
        found.push(Warning::new(
            "standing_one_temperature",
            format!(
                "All gels stood at {stored}: how fast they thicken at another temperature is not known. What helps: let some stand 5 degrees warmer or cooler, better 15."
            ),
        ));
    }
    match standing.lots {
        0 | 1 => found.push(Warning::new(
            "standing_one_lot",
            "What is known of standing is from one lot: another person's gel may thicken more, or faster.",
        )),
        count => found.push(Warning::new(
            "standing_lots_pooled",
            format!(
                "The thickening of {count} lots is fitted as one: how much people differ in it is only in the scatter of readings."
            ),
        )),
    }
    if standing.degrees_of_freedom < 5 {
        found.push(Warning::new(
            "standing_few_readings",
            format!(
                "Only {} readings more than unknowns tell of standing: its intervals are wide and rest on few numbers.",
                standing.degrees_of_freedom
            ),
        ));
    }
    let softens = standing
        .gain_ln_ratio
        .or(standing.slope_ref_per_s)
        .is_some_and(|e| e.ci95[1] < 0.0);
    if softens {
        found.push(Warning::new(
            "softens_on_standing",
            "By these readings the gel gets thinner on standing. Look at the temperatures at which it was read before you believe it.",
        ));
    }
    if let Some(test) = standing.lack_of_fit
        && test.p < 0.05
    {
        found.push(Warning::new(
            "standing_lack_of_fit",
            "The readings after standing do not agree with the course fitted to them: replicates scatter less than what is left over.",
        ));
    }
    found
}

/// Why no course was fitted.
pub(super) fn no_course(why: NoCourse, stood: usize) -> Warning {
    let (reason, helps) = match why {
        NoCourse::TooFew { rows, needed } => (
            format!("{rows} readings of those gels are too few, {needed} are needed"),
            "read the same gel at once and after three standing times or more",
        ),
        NoCourse::AllAtOnce => (
            "the gels had thickened as far as they do before the first of them, so that nothing says how fast".to_owned(),
            "read some sooner",
        ),
        NoCourse::NotFitted => (
            "no course of standing fits them".to_owned(),
            "look at the readings, and read the same gel at several standing times",
        ),
    };
    Warning::new(
        "standing_left_out",
        format!(
            "{stood} readings taken after standing are left out of the fit: {reason}. What helps: {helps}."
        ),
    )
}

/// Readings that cannot be compared with a beginning.
pub(super) fn left_out(
    count: usize,
    no_temperature: usize,
    no_beginning: usize,
) -> Option<Warning> {
    let mut why = Vec::new();
    if no_temperature > 0 {
        why.push(format!(
            "{no_temperature} do not say at what temperature the gel stood (column stand_temp_C)"
        ));
    }
    if no_beginning > 0 {
        why.push(format!(
            "{no_beginning} have nothing to be compared with: the gel was read at no other standing time at that shear rate and temperature, and the fitted curve does not reach there"
        ));
    }
    (!why.is_empty()).then(|| {
        Warning::new(
            "standing_left_out",
            format!(
                "{count} readings taken after standing are left out of the fit: {}.",
                why.join("; ")
            ),
        )
    })
}
