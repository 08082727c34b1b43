//! Needle, syringe and push of an address.

use super::faults::Fault;
use super::keys;
use super::setting::Reader;
use crate::plan::{
    BarrelUsed, DEFAULT_FLOW_RATE_M3_PER_S, DEFAULT_LENGTH_M, DEFAULT_SYRINGE, NeedleUsed,
    PlanError, PushDoubts, PushSetup, STATED_FRICTION_TOLERANCE_RATIO,
};
use crate::reference::{BoreBasis, Wall, all_needles};
use crate::units::quantity::excerpt;

/// Gauge where none is named.
pub(super) const USUAL_GAUGE: u8 = 27;

/// Needle, syringe and push.
#[derive(Debug, Clone)]
pub(super) struct Pushed {
    /// The push; where any needle will do, through the widest of them.
    pub(super) setup: PushSetup,
    /// Every needle that will do; none where one was named.
    pub(super) any_of: Vec<NeedleUsed>,
    /// Wall that was asked for.
    pub(super) wall: Wall,
    /// Basis that was asked for.
    pub(super) basis: BoreBasis,
}

/// The needle of an address.
enum Needles {
    One(NeedleUsed),
    Any(Vec<NeedleUsed>),
}

/// Reads needle, syringe and push; nothing where one of them cannot be.
pub(super) fn pushed(reader: &mut Reader<'_>) -> Option<Pushed> {
    let wall = reader
        .word(keys::WALL, "Wall", str::parse::<Wall>)
        .unwrap_or_default();
    let basis = reader
        .word(keys::BORE_BASIS, "Which bore", str::parse::<BoreBasis>)
        .unwrap_or_default();
    let needles = needles(reader, wall, basis);
    let barrel = barrel(reader);
    let friction_n = reader.quantity(&keys::FRICTION);
    let friction_off_n = reader.quantity(&keys::FRICTION_OFF);
    let flow = reader
        .quantity(&keys::FLOW)
        .unwrap_or(DEFAULT_FLOW_RATE_M3_PER_S);
    let flow_off = reader.quantity(&keys::FLOW_OFF);
    let block_off_k = reader.quantity(&keys::BLOCK_OFF);
    let tissue_pressure_pa = reader.quantity(&keys::TISSUE).unwrap_or(0.0);
    let gel_kelvin = reader.quantity(&keys::GEL_TEMP);
    let force_n = reader.quantity(&keys::PUSH);
    if flow_off.is_some_and(|off| off >= flow) {
        reader.faults.push(Fault::at(
            keys::FLOW_OFF.id,
            keys::FLOW_OFF.name,
            "The speed may be off by all of itself, so the push might stand still.\nWhat helps: less than the speed, such as a tenth of it",
        ));
    }
    let include_end_losses = reader.tick(keys::END_LOSSES);
    let (needle, any_of) = match needles? {
        Needles::One(needle) => (needle, Vec::new()),
        Needles::Any(all) => (all.first()?.clone(), all),
    };
    let setup = || -> Result<PushSetup, PlanError> {
        let barrel = barrel?;
        let usual = PushSetup::with_needle(needle)?;
        let (friction, friction_tolerance_n) = match friction_n {
            Some(stated) => (stated, STATED_FRICTION_TOLERANCE_RATIO * stated),
            None => barrel.default_friction_n()?,
        };
        let setup = PushSetup {
            barrel,
            flow_rate_m3_per_s: flow,
            friction_n: friction,
            friction_is_default: friction_n.is_none(),
            tissue_pressure_pa,
            include_end_losses,
            gel_kelvin,
            force_limit_n: force_n.unwrap_or(usual.force_limit_n),
            doubts: PushDoubts {
                friction_tolerance_n: friction_off_n.unwrap_or(friction_tolerance_n),
                flow_tolerance_ratio: flow_off
                    .map_or(usual.doubts.flow_tolerance_ratio, |off| off / flow),
                block_tolerance_k: block_off_k.unwrap_or(usual.doubts.block_tolerance_k),
            },
            ..usual
        };
        setup.conditions()?;
        Ok(setup)
    };
    match setup() {
        Ok(setup) => Some(Pushed {
            setup,
            any_of,
            wall,
            basis,
        }),
        Err(error) => {
            reader.faults.push(match error {
                PlanError::Reference(error) => {
                    Fault::at(keys::SYRINGE, "Syringe", error.to_string())
                }
                other => Fault::of_plan(&other),
            });
            None
        }
    }
}

fn needles(reader: &mut Reader<'_>, wall: Wall, basis: BoreBasis) -> Option<Needles> {
    let length_m = reader.quantity(&keys::LENGTH).unwrap_or(DEFAULT_LENGTH_M);
    let bore_m = reader.quantity(&keys::BORE);
    let bore_off_m = reader.quantity(&keys::BORE_OFF);
    let gauge = reader.asked.get(keys::GAUGE);
    let own = gauge == Some(keys::OWN) || (gauge.is_none() && bore_m.is_some());
    let found = if own {
        match bore_m {
            Some(bore_m) => NeedleUsed::of_bore(bore_m, bore_off_m, length_m).map(Needles::One),
            None => {
                if reader.asked.last_of(&keys::BORE.keys()).is_none() {
                    reader.faults.push(Fault::at(
                        keys::BORE.id,
                        keys::BORE.name,
                        "The bore of your needle is missing.\nWhat helps: write it in mm, such as 0.16; or choose a gauge",
                    ));
                }
                return None;
            }
        }
    } else if gauge.is_some_and(|gauge| gauge.eq_ignore_ascii_case(keys::ANY)) {
        all_of(wall, basis, length_m).map(Needles::Any)
    } else {
        let gauge = match gauge.map(gauge_number) {
            None => USUAL_GAUGE,
            Some(Ok(gauge)) => gauge,
            Some(Err(words)) => {
                reader.faults.push(Fault::at(keys::GAUGE, "Needle", words));
                return None;
            }
        };
        NeedleUsed::of_gauge(gauge, wall, basis, length_m).map(Needles::One)
    };
    match found {
        Ok(found) => Some(found),
        Err(error) => {
            reader.faults.push(match error {
                PlanError::Reference(error) => Fault::at(keys::GAUGE, "Needle", error.to_string()),
                other => Fault::of_plan(&other),
            });
            None
        }
    }
}

/// Every needle of the table with a wall.
fn all_of(wall: Wall, basis: BoreBasis, length_m: f64) -> Result<Vec<NeedleUsed>, PlanError> {
    gauges_of(wall)?
        .into_iter()
        .map(|gauge| NeedleUsed::of_gauge(gauge, wall, basis, length_m))
        .collect()
}

/// The gauges that the table has with a wall, the widest first.
pub(super) fn gauges_of(wall: Wall) -> Result<Vec<u8>, PlanError> {
    let mut gauges: Vec<u8> = all_needles()?
        .iter()
        .filter(|needle| needle.wall == wall)
        .map(|needle| needle.gauge)
        .collect();
    gauges.sort_unstable();
    gauges.dedup();
    Ok(gauges)
}

fn gauge_number(text: &str) -> Result<u8, String> {
    let number = text.trim_end_matches(['G', 'g']).trim_end();
    match number.parse::<u16>() {
        Ok(number) => u8::try_from(number)
            .map_err(|_| format!("{number}G is no needle; gauges run from 10 (wide) to 34 (fine)")),
        Err(_) => Err(format!(
            "\"{}\" is no gauge; write a whole number from 10 (wide) to 34 (fine), such as 30",
            excerpt(text)
        )),
    }
}

/// The syringe that was named, a barrel of a stated bore, or the usual syringe.
fn barrel(reader: &mut Reader<'_>) -> Result<BarrelUsed, PlanError> {
    let bore_m = reader.quantity(&keys::BARREL);
    match (reader.asked.get(keys::SYRINGE), bore_m) {
        (Some(keys::OWN), Some(bore_m)) | (None, Some(bore_m)) => Ok(BarrelUsed::of_bore(bore_m)),
        (Some(keys::OWN), None) => {
            if reader.asked.last_of(&keys::BARREL.keys()).is_none() {
                reader.faults.push(Fault::at(
                    keys::BARREL.id,
                    keys::BARREL.name,
                    "The bore of your barrel is missing.\nWhat helps: write it in mm, such as 4.7; or choose a syringe",
                ));
            }
            BarrelUsed::of_syringe(DEFAULT_SYRINGE)
        }
        (Some(name), _) => {
            // '5 mL' and '5mL' are the same syringe.
            let name: String = name.split_whitespace().collect();
            BarrelUsed::of_syringe(&name)
        }
        (None, None) => BarrelUsed::of_syringe(DEFAULT_SYRINGE),
    }
}
