//! How the gel of a question is heated: as stated, else as in the calibration's bench, in the
//! question's own syringe where that is another one.

use super::error::PlanError;
use super::heat_time::ready_for_draws;
use super::setup::BarrelUsed;
use crate::fit::{BlendCalibration, Warning};
use crate::reference::{block_contact, default_air, find_syringe, plasma, polypropylene};
use crate::thermal::{
    DeclaredCooling, DeclaredHistory, DeclaredLength, DeclaredSyringe, Follows, HeatSchedule,
    HistorySource, SampledHistory, ScheduleClock, StatedWarmUp, ThermalError, WarmUp,
    filled_length_m,
};
use crate::units::display;
use rayon::prelude::*;
use std::sync::Arc;

/// Wall of a barrel of which only the bore is known, in m: usual of polypropylene syringes.
const USUAL_WALL_M: f64 = 1e-3;

/// Most that a syringe holds over its nominal volume: its scale ends before its barrel does.
const FULLEST_RATIO: f64 = 1.25;

/// What a question states about its heating; what it leaves out is the calibration's.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StatedHeating {
    /// Warm-up in place of the calibration's.
    pub warm_up: Option<QuestionWarmUp>,
    /// Temperature of the gel when it goes into the block, in K.
    pub start_kelvin: Option<f64>,
    /// Coefficient between block and barrel, in W/m2/K: known, so that it does not vary.
    pub contact_w_per_m2_kelvin: Option<f64>,
    /// Coefficient between barrel and air, in W/m2/K.
    pub air_w_per_m2_kelvin: Option<f64>,
    /// Cooling that counts.
    pub cooling: Option<DeclaredCooling>,
    /// How full the syringe is, and how much of it stands out of the block.
    pub part: Option<PartOfSyringe>,
}

/// A syringe that is part-filled, or part in the block.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartOfSyringe {
    /// Volume of the gel, in m³; none where it is the nominal volume.
    pub filled_m3: Option<f64>,
    /// How much of the gel's length, at the plunger's end, stands out of the block, in m.
    pub stands_out_m: f64,
    /// Whether the needle's end of the gel meets the room's air.
    pub open_end: bool,
    /// Temperature of the room, in K.
    pub room_kelvin: f64,
}

/// A warm-up that a question states.
#[derive(Debug, Clone, PartialEq)]
pub enum QuestionWarmUp {
    /// As with a fit.
    Stated(StatedWarmUp),
    /// Conduction in the question's own syringe.
    OwnSyringe,
}

/// How the gel of a question is heated.
#[derive(Debug, Clone, PartialEq)]
pub struct Heated {
    /// Warm-up; none where the calibration's own serves.
    pub warm_up: Option<WarmUp>,
    /// Warm-ups over the range of the contact coefficient; none where it is known or does not
    /// enter.
    pub contact_histories: Vec<WarmUp>,
    /// What the reader should know of it.
    pub warnings: Vec<Warning>,
}

impl Heated {
    /// The same with doses at hand for the draws of one set temperature, so that many questions about it
    /// do not each compute them.
    #[must_use]
    pub fn ready(&self, blend: &BlendCalibration, set_kelvin: f64) -> Self {
        let ready = |warm_up: &WarmUp| ready_for_draws(warm_up, blend, set_kelvin);
        Self {
            warm_up: self.warm_up.as_ref().map(ready),
            contact_histories: self.contact_histories.par_iter().map(ready).collect(),
            warnings: self.warnings.clone(),
        }
    }
}

/// How the gel of a question is heated.
///
/// # Errors
/// A history that cannot be; a syringe that the tables do not have.
pub fn heated(
    blend: &BlendCalibration,
    barrel: &BarrelUsed,
    stated: &StatedHeating,
) -> Result<Heated, PlanError> {
    let mut warnings = Vec::new();
    let calibrated = blend.warm_up();
    let (source, own) = match (&stated.warm_up, &calibrated) {
        (Some(QuestionWarmUp::Stated(stated)), _) => (stated.clone(), false),
        (Some(QuestionWarmUp::OwnSyringe), _) => {
            (StatedWarmUp::Syringe(syringe_of(barrel)?), false)
        }
        (None, WarmUp::None) => (StatedWarmUp::None, true),
        (
            None,
            WarmUp::Lag {
                time_constant_s, ..
            },
        ) => (
            StatedWarmUp::Lag {
                time_constant_s: *time_constant_s,
            },
            true,
        ),
        (None, WarmUp::Sampled(history)) => match &history.declared().source {
            HistorySource::Syringe(of_bench) => {
                let asked = syringe_of(barrel)?;
                if asked.bore_m == of_bench.bore_m {
                    (StatedWarmUp::Syringe(of_bench.clone()), true)
                } else {
                    warnings.push(Warning::new(
                        "other_syringe",
                        format!(
                            "The bench was heated in {}; the times here are for {}, carried over by conduction in gel and wall. What helps: one thermocouple run in the syringe you use; 'heatset warmup --fit-contact' makes a --contact of it.",
                            syringe_words(&of_bench.name),
                            syringe_words(&asked.name)
                        ),
                    ));
                    // What was measured or stated of the block goes with it.
                    let contact_w_per_m2_kelvin = of_bench.contact_w_per_m2_kelvin;
                    let air_w_per_m2_kelvin = of_bench.air_w_per_m2_kelvin;
                    (
                        StatedWarmUp::Syringe(DeclaredSyringe {
                            contact_w_per_m2_kelvin,
                            air_w_per_m2_kelvin,
                            ..asked
                        }),
                        false,
                    )
                }
            }
            HistorySource::Lag { time_constant_s } => (
                StatedWarmUp::Lag {
                    time_constant_s: *time_constant_s,
                },
                true,
            ),
            HistorySource::Trace { .. } | HistorySource::Schedule { .. } => {
                return keep_sampled(&calibrated, stated);
            }
        },
    };
    if stated.contact_w_per_m2_kelvin.is_some() && !matches!(source, StatedWarmUp::Syringe(_)) {
        return Err(PlanError::ContactWithoutConduction);
    }
    let source = with_part(with_coefficients(source, stated), barrel, stated.part)?;
    let own = own && stated.part.is_none();
    let start_kelvin = stated.start_kelvin.unwrap_or(blend.start_temp_k);
    let own_cooling = calibrated
        .as_sampled()
        .and_then(|history| history.declared().cooling);
    let cooling = stated.cooling.or(own_cooling);
    if own && source == StatedWarmUp::None && cooling.is_none() {
        return Ok(Heated {
            warm_up: None,
            contact_histories: Vec::new(),
            warnings,
        });
    }
    let warm_up = source.history(start_kelvin, cooling)?;
    // What the bench's own syringe had for a contact is in the fit already: a wrong coefficient is
    // made up for by the fitted rate. In another syringe it is not.
    let known = own || stated.contact_w_per_m2_kelvin.is_some();
    let contact_histories = match warm_up.as_sampled() {
        Some(history) if !known => history
            .declared()
            .over_contact(block_contact()?.coefficient_range_w_per_m2_kelvin)?,
        _ => Vec::new(),
    };
    Ok(Heated {
        warm_up: Some(warm_up),
        contact_histories,
        warnings,
    })
}

/// How the gel of a question is heated by a schedule, of which one heat stage has no time: the one
/// that is asked about. Gives the set temperature of that stage too, in K.
///
/// # Errors
/// A schedule without such a stage; a trace, which holds for its own stages alone; a history that
/// cannot be.
pub fn heated_on_schedule(
    blend: &BlendCalibration,
    barrel: &BarrelUsed,
    stated: &StatedHeating,
    name: &str,
    schedule: &HeatSchedule,
) -> Result<(Heated, f64), PlanError> {
    let set_kelvin = schedule
        .open_stage()
        .and_then(|open| schedule.stages.get(open))
        .map(|stage| stage.set_kelvin)
        .ok_or_else(|| ThermalError::NoOpenStage {
            name: name.to_owned(),
        })?;
    // What the calibration's bench had, or what is stated, tells how the gel follows the stages.
    let usual = heated(
        blend,
        barrel,
        &StatedHeating {
            cooling: None,
            ..stated.clone()
        },
    )?;
    let calibrated = blend.warm_up();
    let warm_up = usual.warm_up.as_ref().unwrap_or(&calibrated);
    let follow = |warm_up: &WarmUp| match warm_up {
        WarmUp::None => Ok(Follows::AtOnce),
        WarmUp::Lag {
            time_constant_s, ..
        } => Ok(Follows::Lag {
            time_constant_s: *time_constant_s,
        }),
        WarmUp::Sampled(history) => match &history.declared().source {
            HistorySource::Lag { time_constant_s } => Ok(Follows::Lag {
                time_constant_s: *time_constant_s,
            }),
            HistorySource::Syringe(syringe) => Ok(Follows::Syringe(syringe.clone())),
            HistorySource::Trace { .. } | HistorySource::Schedule { .. } => {
                Err(PlanError::TraceOnSchedule)
            }
        },
    };
    let on_schedule = |warm_up: &WarmUp| -> Result<WarmUp, PlanError> {
        let history = SampledHistory::of_schedule(name, schedule, &follow(warm_up)?)?;
        Ok(WarmUp::Sampled(Arc::new(history)))
    };
    let mut warnings = usual.warnings;
    if follow(warm_up)? == Follows::AtOnce {
        warnings.push(Warning::new(
            "no_warm_up",
            "The gel is counted as if it had the block's and the air's temperature at once; what a cold syringe needs to warm up comes on top. What helps: --warm-up syringe, or the lag of your syringe.",
        ));
    }
    if schedule.clock == ScheduleClock::AtSet {
        warnings.push(Warning::new(
            "clock_at_set",
            format!(
                "The clock of {name} starts when the block reads its set temperature, not when the syringe goes in."
            ),
        ));
    }
    let found = Heated {
        warm_up: Some(on_schedule(warm_up)?),
        contact_histories: usual
            .contact_histories
            .iter()
            .map(on_schedule)
            .collect::<Result<_, _>>()?,
        warnings,
    };
    Ok((found, set_kelvin))
}

/// A trace of the calibration, with another start or none.
fn keep_sampled(calibrated: &WarmUp, stated: &StatedHeating) -> Result<Heated, PlanError> {
    let declared = calibrated.as_sampled().map(|history| DeclaredHistory {
        start_kelvin: stated
            .start_kelvin
            .unwrap_or(history.declared().start_kelvin),
        cooling: stated.cooling.or(history.declared().cooling),
        ..history.declared().clone()
    });
    Ok(Heated {
        warm_up: declared.map(WarmUp::sampled).transpose()?,
        contact_histories: Vec::new(),
        warnings: Vec::new(),
    })
}

fn with_coefficients(source: StatedWarmUp, stated: &StatedHeating) -> StatedWarmUp {
    match source {
        StatedWarmUp::Syringe(syringe) => StatedWarmUp::Syringe(DeclaredSyringe {
            contact_w_per_m2_kelvin: stated
                .contact_w_per_m2_kelvin
                .unwrap_or(syringe.contact_w_per_m2_kelvin),
            air_w_per_m2_kelvin: stated
                .air_w_per_m2_kelvin
                .unwrap_or(syringe.air_w_per_m2_kelvin),
            ..syringe
        }),
        other => other,
    }
}

/// The same syringe with its length and ends, where they were asked about.
fn with_part(
    source: StatedWarmUp,
    barrel: &BarrelUsed,
    part: Option<PartOfSyringe>,
) -> Result<StatedWarmUp, PlanError> {
    let Some(part) = part else {
        return Ok(source);
    };
    let StatedWarmUp::Syringe(syringe) = source else {
        return Err(PlanError::PartWithoutConduction);
    };
    let filled_m3 = part
        .filled_m3
        .or(barrel.nominal_volume_m3)
        .ok_or(PlanError::FilledUnknown)?;
    if let Some(nominal_m3) = barrel.nominal_volume_m3
        && filled_m3 > FULLEST_RATIO * nominal_m3
    {
        return Err(PlanError::Overfilled {
            filled_m3,
            syringe: barrel.label(),
        });
    }
    let barrel = syringe.barrel().map_err(ThermalError::Conduction)?;
    let filled_length_m = filled_length_m(&barrel, filled_m3);
    if part.stands_out_m > filled_length_m {
        return Err(PlanError::StandsOutFurther {
            stands_out_m: part.stands_out_m,
            filled_length_m,
        });
    }
    Ok(StatedWarmUp::Syringe(DeclaredSyringe {
        length: Some(DeclaredLength {
            filled_length_m,
            stands_out_m: part.stands_out_m,
            open_end: part.open_end,
            room_kelvin: part.room_kelvin,
        }),
        ..syringe
    }))
}

/// A push's barrel as heat sees it; of a barrel that is only a bore the wall is assumed.
///
/// # Errors
/// A table that does not read.
pub fn syringe_of(barrel: &BarrelUsed) -> Result<DeclaredSyringe, PlanError> {
    if let Some(name) = &barrel.syringe {
        return Ok(DeclaredSyringe::of(&find_syringe(name)?)?);
    }
    Ok(DeclaredSyringe {
        name: barrel.label(),
        bore_m: barrel.bore_m,
        wall_thickness_m: USUAL_WALL_M,
        gel: plasma()?.into(),
        wall: polypropylene()?.into(),
        contact_w_per_m2_kelvin: block_contact()?.coefficient_w_per_m2_kelvin,
        air_w_per_m2_kelvin: default_air()?.coefficient_w_per_m2_kelvin,
        length: None,
    })
}

/// 'a 5 mL syringe', 'a 1 mL long syringe of glass', 'an 8 mm barrel'.
fn syringe_words(name: &str) -> String {
    let spaced = |size: &str| size.replace("mL", " mL").replace('-', " ");
    let words = match name.split_once(':') {
        _ if name.ends_with("barrel") => name.to_owned(),
        Some((material, size)) => format!("{} syringe of {material}", spaced(size)),
        None => format!("{} syringe", spaced(name)),
    };
    let vowel = ["8", "11 ", "11.", "18 ", "18."];
    let article = if vowel.iter().any(|start| words.starts_with(start)) {
        "an"
    } else {
        "a"
    };
    format!("{article} {words}")
}

/// The same with what decides its warm-up; of a barrel that is only a bore the wall was assumed.
fn heated_in_words(syringe: &DeclaredSyringe) -> String {
    let wall = if syringe.name.ends_with("barrel") {
        format!(
            "wall taken as {}, ",
            display::length_mm(syringe.wall_thickness_m)
        )
    } else {
        String::new()
    };
    let part = syringe
        .length
        .map_or_else(String::new, |length| part_words(&length));
    format!(
        "{} ({wall}{part}contact with the block {} W/m²K)",
        syringe_words(&syringe.name),
        display::significant(syringe.contact_w_per_m2_kelvin, 2)
    )
}

/// 'filled over 40 mm of which 10 mm stand out of the block, '.
fn part_words(length: &DeclaredLength) -> String {
    let out = if length.stands_out_m > 0.0 {
        format!(
            " of which {} stand out of the block",
            display::length_mm(length.stands_out_m)
        )
    } else {
        String::new()
    };
    let end = if length.open_end {
        ", the needle's end in the air"
    } else {
        ""
    };
    format!(
        "filled over {}{out}{end}, ",
        display::length_mm(length.filled_length_m)
    )
}

/// How the history of an answer is counted, for a person.
#[must_use]
pub fn history_words(warm_up: &WarmUp) -> String {
    // What is counted, with the cooling after it.
    let counted = |warm_up: String, declared: &DeclaredHistory| match declared.cooling {
        None => format!("{warm_up} is counted"),
        Some(cooling) => format!(
            "{warm_up} and {} of cooling in air of {} are counted",
            display::duration(cooling.cool_time_s),
            display::temperature(cooling.ambient_kelvin)
        ),
    };
    let lag =
        |time_constant_s: f64| format!("a warm-up lag of {}", display::duration(time_constant_s));
    match warm_up {
        WarmUp::None => "what the syringe needs to warm up comes on top".to_owned(),
        WarmUp::Lag {
            time_constant_s, ..
        } => format!("{} is counted", lag(*time_constant_s)),
        WarmUp::Sampled(history) => {
            let declared = history.declared();
            match &declared.source {
                HistorySource::Lag { time_constant_s } => counted(lag(*time_constant_s), declared),
                HistorySource::Trace { file, .. } => {
                    counted(format!("the warm-up of {file}"), declared)
                }
                HistorySource::Syringe(syringe) => {
                    counted(format!("warm-up in {}", heated_in_words(syringe)), declared)
                }
                HistorySource::Schedule { name, syringe } => {
                    let by = syringe.as_ref().map_or_else(String::new, |syringe| {
                        format!(", warm-up in {}", heated_in_words(syringe))
                    });
                    format!("every stage of {name} is counted{by}")
                }
            }
        }
    }
}
