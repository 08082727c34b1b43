//! Volumes of a session, forwards from blood or plasma and backwards from a number of syringes.

use super::error::SheetError;
use super::plasma::{Separation, blood_for_plasma_m3, own_plasma_fraction, plasma_m3};
use super::question::{SheetQuestion, Supply};
use super::syringes::{
    Losses, gel_from_plasma_m3, gel_needed_m3, plasma_for_gel_m3, syringes_filled,
};
use crate::reference::dead_space_max_m3;
use serde::Serialize;

/// Most syringes on one page.
pub const MOST_SYRINGES: usize = 16;

/// Volumes on a sheet, in m³.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VolumesOnSheet {
    /// Blood without anticoagulant; null where nothing is said of it.
    pub blood_m3: Option<f64>,
    /// Share of its volume that is cells.
    pub haematocrit_fraction: Option<f64>,
    /// Share of the plasma layer that is drawn off.
    pub recovery_fraction: Option<f64>,
    /// Anticoagulant in the tubes.
    pub anticoagulant_m3: Option<f64>,
    /// Of it in the plasma.
    pub anticoagulant_in_plasma_m3: Option<f64>,
    /// Share of the plasma that is the donor's own; null where nothing is said of the blood.
    pub own_plasma_fraction: Option<f64>,
    /// Plasma at hand, or needed where no volume was stated.
    pub plasma_m3: f64,
    /// Whether blood and plasma are what is needed, rather than what is at hand.
    pub is_needed: bool,
    /// Plasma that the syringes of the sheet take, losses counted.
    pub plasma_needed_m3: f64,
    /// Buffer that is added to the plasma.
    pub buffer_m3: f64,
    /// Solution of hyaluronic acid.
    pub ha_solution_m3: f64,
    /// Gel in all.
    pub gel_m3: f64,
    /// Gel in each syringe, by the graduation.
    pub fill_m3: f64,
    /// Dead space of each.
    pub dead_space_m3: f64,
    /// Whether it was stated, rather than the most that the standard allows.
    pub dead_space_is_stated: bool,
    /// Where the dead space comes from.
    pub dead_space_source: String,
    /// Lost once a session.
    pub session_loss_m3: f64,
    /// Gel that is left over.
    pub left_over_m3: f64,
    /// Syringes.
    pub syringes: usize,
}

/// Volumes of a session.
///
/// # Errors
/// Nothing to go by; shares that leave no plasma; not enough for what was asked, or for one; more
/// than a syringe or a page holds.
pub fn volumes(question: &SheetQuestion) -> Result<VolumesOnSheet, SheetError> {
    let fraction = question.blend.ha_fraction;
    if fraction >= 1.0 {
        return Err(SheetError::OnlyHyaluronicAcid);
    }
    let fill_m3 = fill_m3(question)?;
    let (dead_space_m3, dead_space_source) = dead_space(question)?;
    let losses = Losses {
        dead_space_m3,
        session_m3: question.session_loss_m3,
    };
    let buffer_m3 = question.buffer.added_m3;
    let (at_hand_m3, blood) = match question.supply {
        Supply::Blood {
            blood_m3,
            separation,
        } => {
            let separation = separation.checked()?;
            let plasma = plasma_m3(blood_m3, &separation);
            (Some(plasma), Some((blood_m3, separation)))
        }
        Supply::PlasmaM3(plasma) => (Some(plasma), None),
        Supply::Needed(_) => (None, None),
    };
    let count = count(question, at_hand_m3, fill_m3, &losses)?;
    let gel_needed = gel_needed_m3(count, fill_m3, &losses);
    let plasma_needed_m3 = plasma_for_gel_m3(gel_needed, buffer_m3, fraction);
    if plasma_needed_m3 <= 0.0 {
        return Err(SheetError::BufferTakesAll {
            buffer_m3,
            gel_m3: gel_needed * (1.0 - fraction),
        });
    }
    let blood = match question.supply {
        Supply::Needed(Some(separation)) => {
            let separation = separation.checked()?;
            let blood_m3 = blood_for_plasma_m3(plasma_needed_m3, &separation);
            if blood_m3 <= 0.0 {
                return Err(SheetError::AnticoagulantTakesAll {
                    anticoagulant_m3: separation.anticoagulant.volume_m3(blood_m3),
                    plasma_m3: plasma_needed_m3,
                });
            }
            Some((blood_m3, separation))
        }
        _ => blood,
    };
    let plasma = at_hand_m3.unwrap_or(plasma_needed_m3);
    let gel_m3 = gel_from_plasma_m3(plasma, buffer_m3, fraction);
    let of_blood = |pick: fn(f64, &Separation) -> f64| blood.as_ref().map(|(b, s)| pick(*b, s));
    Ok(VolumesOnSheet {
        blood_m3: blood.map(|(b, _)| b),
        haematocrit_fraction: of_blood(|_, s| s.haematocrit_fraction),
        recovery_fraction: of_blood(|_, s| s.recovery_fraction),
        anticoagulant_m3: of_blood(|b, s| s.anticoagulant.volume_m3(b)),
        anticoagulant_in_plasma_m3: of_blood(|b, s| {
            s.recovery_fraction * s.anticoagulant.volume_m3(b)
        }),
        own_plasma_fraction: of_blood(own_plasma_fraction),
        plasma_m3: plasma,
        is_needed: at_hand_m3.is_none(),
        plasma_needed_m3,
        buffer_m3,
        ha_solution_m3: fraction * gel_m3,
        gel_m3,
        fill_m3,
        dead_space_m3,
        dead_space_is_stated: question.dead_space_m3.is_some(),
        dead_space_source,
        session_loss_m3: losses.session_m3,
        left_over_m3: (gel_m3 - gel_needed).max(0.0),
        syringes: count,
    })
}

/// How many syringes the sheet is for.
fn count(
    question: &SheetQuestion,
    at_hand_m3: Option<f64>,
    fill_m3: f64,
    losses: &Losses,
) -> Result<usize, SheetError> {
    let fraction = question.blend.ha_fraction;
    let buffer_m3 = question.buffer.added_m3;
    let possible = at_hand_m3.map(|plasma| {
        let gel_m3 = gel_from_plasma_m3(plasma, buffer_m3, fraction);
        (plasma, gel_m3, syringes_filled(gel_m3, fill_m3, losses))
    });
    let count = match (possible, question.syringes) {
        (None, None) => return Err(SheetError::NothingToFill),
        (None, Some(asked)) => asked,
        (Some((_, gel_m3, 0)), _) => {
            return Err(SheetError::NotEnoughForOne {
                gel_m3,
                one_m3: gel_needed_m3(1, fill_m3, losses),
            });
        }
        (Some((_, _, possible)), None) => possible,
        (Some((have_m3, _, possible)), Some(asked)) if asked > possible => {
            let gel_m3 = gel_needed_m3(asked, fill_m3, losses);
            return Err(SheetError::NotEnough {
                asked,
                possible,
                needed_m3: plasma_for_gel_m3(gel_m3, buffer_m3, fraction),
                have_m3,
            });
        }
        (Some(_), Some(asked)) => asked,
    };
    if count > MOST_SYRINGES {
        return Err(SheetError::TooManySyringes { asked: count });
    }
    Ok(count.max(1))
}

fn fill_m3(question: &SheetQuestion) -> Result<f64, SheetError> {
    let barrel = &question.setup.barrel;
    match (question.fill_m3, barrel.nominal_volume_m3) {
        (Some(fill_m3), Some(nominal_m3)) if fill_m3 > nominal_m3 * (1.0 + 1e-9) => {
            Err(SheetError::Overfilled {
                fill_m3,
                syringe: barrel.label(),
            })
        }
        (Some(fill_m3), _) => Ok(fill_m3),
        (None, Some(nominal_m3)) => Ok(nominal_m3),
        (None, None) => Err(SheetError::BarrelWithoutVolume {
            what: "how much goes into a syringe",
            option: "--fill 0.8mL",
        }),
    }
}

fn dead_space(question: &SheetQuestion) -> Result<(f64, String), SheetError> {
    match (
        question.dead_space_m3,
        question.setup.barrel.nominal_volume_m3,
    ) {
        (Some(stated_m3), _) => Ok((stated_m3, "stated".to_owned())),
        (None, Some(nominal_m3)) => {
            let (greatest_m3, source) = dead_space_max_m3(nominal_m3)?;
            Ok((
                greatest_m3,
                format!("greatest of {}, {}", source.text, source.how),
            ))
        }
        (None, None) => Err(SheetError::BarrelWithoutVolume {
            what: "its dead space",
            option: "--dead-space 0.07mL",
        }),
    }
}
