//! What one change does to today's push: a minute more, five degrees, another syringe, needle or
//! speed, a syringe that stands out of the block.

use super::error::PlanError;
use super::force_table::{ForceQuestion, ForceSpread, force_for_heat_time};
use super::heated::{PartOfSyringe, StatedHeating, heated, syringe_of};
use super::setup::{BarrelUsed, NeedleUsed, PushSetup};
use crate::fit::{BlendCalibration, Warning};
use crate::reference::{BoreBasis, Wall};
use crate::thermal::{HistorySource, ThermalError, WarmUp, filled_length_m, hottest_block_kelvin};
use crate::units::display;
use serde::Serialize;

/// How much longer, in s.
const LONGER_S: f64 = 60.0;
/// How much hotter and colder, in K.
const DEGREES_K: f64 = 5.0;
/// Syringes by size: the next one up is sought here.
const SYRINGES: [&str; 4] = ["1mL", "3mL", "5mL", "10mL"];
/// A barrel counts as the next one up where its bore is so much wider.
const WIDER_RATIO: f64 = 1.05;

/// What is changed, one thing at a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Change {
    /// One minute more in the block.
    MinuteMore,
    /// Block five degrees hotter.
    FiveDegreesMore,
    /// Block five degrees colder.
    FiveDegreesLess,
    /// The next larger syringe, heated and pushed.
    NextSyringe,
    /// Half of the gel stands out of the block.
    HalfInserted,
    /// One gauge finer.
    GaugeFiner,
    /// Half the speed.
    HalfSpeed,
}

impl Change {
    /// All changes, in the order in which they are shown.
    pub const ALL: [Self; 7] = [
        Self::MinuteMore,
        Self::FiveDegreesMore,
        Self::FiveDegreesLess,
        Self::NextSyringe,
        Self::HalfInserted,
        Self::GaugeFiner,
        Self::HalfSpeed,
    ];
}

/// One change and the push with it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Consequence {
    /// What is changed.
    pub change: Change,
    /// To what, in words: '8 min', '91 °C', '3 mL syringe'.
    pub to: String,
    /// The push with it; none where the calibration cannot say.
    #[serde(rename = "plunger_force_N")]
    pub plunger_force_n: Option<ForceSpread>,
    /// Median over today's median.
    pub ratio_to_today: Option<f64>,
    /// Whether it lies outside what was measured.
    pub extrapolated: bool,
    /// Share of the gel that is set less than half as far as the rest that is pushed; none where all
    /// of it has one temperature.
    pub unset_share: Option<f64>,
    /// Why there is no push, or what is not in it.
    pub note: Option<String>,
}

/// Today's push, and what changes do to it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Consequences {
    /// Today's push.
    #[serde(rename = "plunger_force_N")]
    pub today_n: ForceSpread,
    /// The changes, in the order of [`Change::ALL`].
    pub changes: Vec<Consequence>,
    /// Whether anything shown lies outside what was measured.
    pub extrapolated: bool,
    /// What the reader should know of today's push.
    pub warnings: Vec<Warning>,
}

/// What each change does to a push, all else as it is.
///
/// All pushes stand on the same draws, so that what differs is the change and not the draw.
///
/// # Errors
/// As for today's push. A change that cannot be answered is no error: it says why.
pub fn consequences(
    blend: &BlendCalibration,
    today: &ForceQuestion,
    heating: &StatedHeating,
) -> Result<Consequences, PlanError> {
    let answer = force_for_heat_time(blend, today)?;
    let today_n = answer
        .needles
        .first()
        .map(|needle| needle.plunger_force_n)
        .ok_or(PlanError::NoScatter {
            blend: blend.blend.clone(),
        })?;
    let changes: Vec<Consequence> = Change::ALL
        .into_iter()
        .map(|change| {
            let mut found = match changed(blend, today, heating, change)? {
                Changed::Asked { to, question, note } => {
                    with_push(blend, change, to, &question, note)?
                }
                Changed::NotTold { to, why } => not_told(change, to, why),
            };
            found.ratio_to_today = found
                .plunger_force_n
                .map(|force| force.median / today_n.median);
            Ok(found)
        })
        .collect::<Result<_, PlanError>>()?;
    Ok(Consequences {
        today_n,
        extrapolated: answer.assumptions.extrapolated || changes.iter().any(|c| c.extrapolated),
        changes,
        warnings: answer.warnings,
    })
}

enum Changed {
    Asked {
        to: String,
        question: Box<ForceQuestion>,
        note: Option<String>,
    },
    NotTold {
        to: String,
        why: String,
    },
}

impl Changed {
    fn asked(to: String, question: ForceQuestion) -> Self {
        Self::Asked {
            to,
            question: Box::new(question),
            note: None,
        }
    }
}

/// The question with one thing changed.
fn changed(
    blend: &BlendCalibration,
    today: &ForceQuestion,
    heating: &StatedHeating,
    change: Change,
) -> Result<Changed, PlanError> {
    Ok(match change {
        Change::MinuteMore => {
            let heat_time_s = today.heat_time_s + LONGER_S;
            Changed::asked(
                display::duration(heat_time_s),
                ForceQuestion {
                    heat_time_s,
                    ..today.clone()
                },
            )
        }
        Change::FiveDegreesMore => at_temperature(today, DEGREES_K),
        Change::FiveDegreesLess => at_temperature(today, -DEGREES_K),
        Change::NextSyringe => next_syringe(blend, today, heating)?,
        Change::HalfInserted => half_inserted(blend, today, heating)?,
        Change::GaugeFiner => gauge_finer(today),
        Change::HalfSpeed => {
            let setup = PushSetup {
                flow_rate_m3_per_s: 0.5 * today.setup.flow_rate_m3_per_s,
                ..today.setup.clone()
            };
            Changed::asked(
                display::flow_rate(setup.flow_rate_m3_per_s),
                ForceQuestion {
                    setup,
                    ..today.clone()
                },
            )
        }
    })
}

fn at_temperature(today: &ForceQuestion, degrees_k: f64) -> Changed {
    let set_kelvin = today.set_kelvin + degrees_k;
    let to = display::temperature(set_kelvin);
    if set_kelvin > hottest_block_kelvin(today.altitude_m) {
        return Changed::NotTold {
            to,
            why: "at or too near boiling: not answered".to_owned(),
        };
    }
    Changed::asked(
        to,
        ForceQuestion {
            set_kelvin,
            ..today.clone()
        },
    )
}

fn next_syringe(
    blend: &BlendCalibration,
    today: &ForceQuestion,
    heating: &StatedHeating,
) -> Result<Changed, PlanError> {
    let own = &today.setup.barrel;
    let mut next = None;
    for name in SYRINGES {
        let barrel = BarrelUsed::of_syringe(name)?;
        if barrel.bore_m > WIDER_RATIO * own.bore_m {
            next = Some(barrel);
            break;
        }
    }
    let Some(barrel) = next else {
        return Ok(Changed::NotTold {
            to: "a larger syringe".to_owned(),
            why: "no larger one in the table".to_owned(),
        });
    };
    let to = barrel.label();
    let mut setup = PushSetup {
        barrel,
        ..today.setup.clone()
    };
    if setup.friction_is_default {
        (setup.friction_n, setup.doubts.friction_tolerance_n) =
            setup.barrel.default_friction_n()?;
    }
    let (setup, warm_up, contact_histories, by_conduction) =
        match heated(blend, &setup.barrel, heating) {
            Ok(found) => {
                let by_conduction = is_conduction(found.warm_up.as_ref(), blend);
                (setup, found.warm_up, found.contact_histories, by_conduction)
            }
            // What is stated of today's part of a syringe does not fit the larger one.
            Err(
                PlanError::StandsOutFurther { .. }
                | PlanError::Overfilled { .. }
                | PlanError::FilledUnknown,
            ) => {
                return Ok(Changed::NotTold {
                    to,
                    why: "today's filling does not fit it".to_owned(),
                });
            }
            Err(error) => return Err(error),
        };
    if setup.check_force(setup.force_limit_n).is_err() {
        return Ok(Changed::NotTold {
            to,
            why: "its friction alone takes the limit".to_owned(),
        });
    }
    Ok(Changed::Asked {
        to,
        question: Box::new(ForceQuestion {
            setup,
            warm_up,
            contact_histories,
            ..today.clone()
        }),
        note: (!by_conduction).then(|| "slower warm-up not counted".to_owned()),
    })
}

fn is_conduction(warm_up: Option<&WarmUp>, blend: &BlendCalibration) -> bool {
    let calibrated = blend.warm_up();
    let warm_up = warm_up.unwrap_or(&calibrated);
    warm_up
        .as_sampled()
        .is_some_and(|history| matches!(history.declared().source, HistorySource::Syringe(_)))
}

fn half_inserted(
    blend: &BlendCalibration,
    today: &ForceQuestion,
    heating: &StatedHeating,
) -> Result<Changed, PlanError> {
    let to = "half of the gel stands out".to_owned();
    let not_told = |why: &str| Changed::NotTold {
        to: to.clone(),
        why: why.to_owned(),
    };
    if !is_conduction(today.warm_up.as_ref(), blend) {
        return Ok(not_told(
            "cannot be said: no warm-up by conduction is counted",
        ));
    }
    if heating.part.is_some() {
        return Ok(not_told("today's already stands out, or is part-filled"));
    }
    let Some(filled_m3) = today.setup.barrel.nominal_volume_m3 else {
        return Ok(not_told("how full the barrel is, is not known"));
    };
    let barrel = syringe_of(&today.setup.barrel)?
        .barrel()
        .map_err(ThermalError::Conduction)?;
    let stated = StatedHeating {
        part: Some(PartOfSyringe {
            filled_m3: None,
            stands_out_m: 0.5 * filled_length_m(&barrel, filled_m3),
            open_end: false,
            room_kelvin: today.cooling.ambient_kelvin,
        }),
        ..heating.clone()
    };
    let found = heated(blend, &today.setup.barrel, &stated)?;
    Ok(Changed::asked(
        to,
        ForceQuestion {
            warm_up: found.warm_up,
            contact_histories: found.contact_histories,
            ..today.clone()
        },
    ))
}

fn gauge_finer(today: &ForceQuestion) -> Changed {
    let needle = &today.setup.needle;
    let not_told = |why: &str| Changed::NotTold {
        to: "one gauge finer".to_owned(),
        why: why.to_owned(),
    };
    let Some(gauge) = needle.gauge else {
        return not_told("today's needle was given by its bore");
    };
    let wall = needle.wall.unwrap_or(Wall::Regular);
    let basis = needle.bore_basis.unwrap_or(BoreBasis::Nominal);
    let finer = (gauge + 1..=34)
        .filter_map(|gauge| NeedleUsed::of_gauge(gauge, wall, basis, needle.length_m).ok())
        .find(|finer| finer.bore_m < needle.bore_m);
    match finer {
        Some(finer) => Changed::asked(
            finer.label(),
            ForceQuestion {
                setup: today.setup.through(finer),
                needles: Vec::new(),
                ..today.clone()
            },
        ),
        None => not_told("no finer one in the table"),
    }
}

fn not_told(change: Change, to: String, why: String) -> Consequence {
    Consequence {
        change,
        to,
        plunger_force_n: None,
        ratio_to_today: None,
        extrapolated: false,
        unset_share: None,
        note: Some(why),
    }
}

fn with_push(
    blend: &BlendCalibration,
    change: Change,
    to: String,
    question: &ForceQuestion,
    note: Option<String>,
) -> Result<Consequence, PlanError> {
    let answer = match force_for_heat_time(blend, question) {
        Ok(answer) => answer,
        Err(PlanError::TemperatureOutside { .. } | PlanError::TimeOutside { .. }) => {
            return Ok(not_told(change, to, "outside what was measured".to_owned()));
        }
        Err(PlanError::ForceUnderFriction { .. }) => {
            return Ok(not_told(
                change,
                to,
                "friction alone takes the limit".to_owned(),
            ));
        }
        Err(error) => return Err(error),
    };
    let mut setting = blend.setting()?;
    if let Some(warm_up) = &question.warm_up {
        setting.warm_up = warm_up.clone();
    }
    let unset_share = (setting.dose_clock(question.set_kelvin).shares().len() > 1)
        .then(|| setting.unset_share(question.set_kelvin, question.heat_time_s));
    Ok(Consequence {
        change,
        to,
        plunger_force_n: answer.needles.first().map(|n| n.plunger_force_n),
        ratio_to_today: None,
        extrapolated: answer.assumptions.extrapolated,
        unset_share,
        note,
    })
}
