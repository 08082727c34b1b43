//! What an address asks of this room: every field read by the parsers of the command line, with its
//! defaults; or every fault at once, each at its field.

use super::super::query::Asked;
use super::super::shelf::Shelved;
use super::faults::Fault;
use super::keys;
use super::push_read::{Pushed, pushed};
use super::quantity::Quantity;
use crate::fit::{BlendCalibration, Calibration};
use crate::kinetics::FlowIndexCourse;
use crate::plan::{
    CoolingAsked, Least, PartOfSyringe, QuestionWarmUp, StatedHeating, StatedThinning,
};
use crate::readings::ReadingKind;
use crate::thermal::{DeclaredCooling, StatedWarmUp};
use crate::units::quantity::{excerpt, parse_quantity};
use crate::units::{self, Dimension};

/// Largest flow index that is taken, as on the command line.
const LARGEST_FLOW_INDEX: f64 = 3.0;

/// What is asked.
#[derive(Debug, Clone)]
pub(super) struct Setting {
    /// The blend, for a new lot or the one that was named.
    pub(super) blend: BlendCalibration,
    /// Whether it was asked for by its fraction, not by its name.
    pub(super) between: bool,
    /// The lot that was named.
    pub(super) lot: Option<String>,
    /// Set temperature, in K.
    pub(super) set_kelvin: f64,
    /// Needle, syringe and push.
    pub(super) pushed: Pushed,
    /// Shear thinning as stated.
    pub(super) thinning: StatedThinning,
    /// The least firmness.
    pub(super) least: Option<Least>,
    /// How the gel is heated.
    pub(super) stated: StatedHeating,
    /// How it cools.
    pub(super) cooling: CoolingAsked,
    /// Altitude, in m.
    pub(super) altitude_m: f64,
    /// Whether answers outside what was measured are wanted.
    pub(super) extrapolate: bool,
    /// Heat time of 'what if', in s.
    pub(super) heat_time_s: Option<f64>,
    /// Whether the usual of standing is wanted too.
    pub(super) common_practice: bool,
}

/// Reads fields and gathers what is wrong with them.
pub(super) struct Reader<'a> {
    pub(super) asked: &'a Asked,
    pub(super) faults: Vec<Fault>,
}

impl Reader<'_> {
    /// A quantity; nothing where it was not given or cannot be read.
    pub(super) fn quantity(&mut self, quantity: &'static Quantity) -> Option<f64> {
        let field = quantity.field(self.asked, None);
        if let Some(words) = field.fault {
            self.faults
                .push(Fault::at(quantity.id, quantity.name, words));
        }
        field.value
    }

    /// A word that a parser understands.
    pub(super) fn word<T, E: std::fmt::Display>(
        &mut self,
        key: &'static str,
        name: &'static str,
        parse: impl Fn(&str) -> Result<T, E>,
    ) -> Option<T> {
        match self.asked.get(key).map(parse)? {
            Ok(value) => Some(value),
            Err(error) => {
                self.faults.push(Fault::at(key, name, error.to_string()));
                None
            }
        }
    }

    /// A tick.
    pub(super) fn tick(&self, key: &str) -> bool {
        self.asked.get(key) == Some(keys::YES)
    }
}

impl Setting {
    /// What an address asks of a calibration.
    ///
    /// # Errors
    /// Every field that cannot be read, each with what helps.
    pub(super) fn read(asked: &Asked, shelved: &Shelved) -> Result<Self, Vec<Fault>> {
        let mut reader = Reader {
            asked,
            faults: Vec::new(),
        };
        let blend = blend(&mut reader, &shelved.calibration);
        let pushed = pushed(&mut reader);
        let set_kelvin = reader.quantity(&keys::AT);
        let thinning = StatedThinning {
            flow_index: reader.word(keys::FLOW_INDEX, "Flow index", flow_index),
            shear_rate_per_s: reader.quantity(&keys::SHEAR_RATE),
            course: FlowIndexCourse::WithSetting,
        };
        let usual = CoolingAsked::default();
        let ambient_kelvin = reader.quantity(&keys::ROOM).unwrap_or(usual.ambient_kelvin);
        let stated = StatedHeating {
            warm_up: warm_up(&mut reader),
            start_kelvin: reader.quantity(&keys::START_TEMP),
            contact_w_per_m2_kelvin: reader.quantity(&keys::CONTACT),
            air_w_per_m2_kelvin: None,
            cooling: reader
                .quantity(&keys::COOL_TIME)
                .map(|cool_time_s| DeclaredCooling {
                    cool_time_s,
                    ambient_kelvin,
                }),
            part: part(&mut reader, ambient_kelvin),
        };
        let cooling = CoolingAsked {
            until_kelvin: reader
                .quantity(&keys::COOL_UNTIL)
                .unwrap_or(usual.until_kelvin),
            ambient_kelvin,
            air_w_per_m2_kelvin: None,
        };
        let least = least(&mut reader, blend.as_ref().map(|blend| blend.reading));
        let altitude_m = reader.quantity(&keys::ALTITUDE).unwrap_or(0.0);
        let heat_time_s = reader.quantity(&keys::HEAT_TIME);
        let extrapolate = reader.tick(keys::EXTRAPOLATE);
        let common_practice = reader.tick(keys::COMMON_PRACTICE);
        match (blend, pushed) {
            (Some(blend), Some(pushed)) if reader.faults.is_empty() => Ok(Self {
                set_kelvin: set_kelvin.unwrap_or(blend.range.heat_temp_k[1]),
                blend,
                between: asked.get(keys::HA_FRACTION).is_some(),
                lot: asked.get(keys::THIS_LOT).map(str::to_owned),
                pushed,
                thinning,
                least,
                stated,
                cooling,
                altitude_m,
                extrapolate,
                heat_time_s,
                common_practice,
            }),
            _ => Err(reader.faults),
        }
    }
}

impl Setting {
    /// What tells this blend from others of the same calibration.
    pub(super) fn blend_key(&self) -> String {
        format!(
            "{:?} {:?} {:?}",
            self.blend.blend, self.blend.ha_fraction, self.lot
        )
    }

    /// Needle, syringe, blend, heat and push with their usual values written out: for an address that
    /// somebody else reads.
    pub(super) fn pairs(&self) -> Vec<(&'static str, String)> {
        let setup = &self.pushed.setup;
        let needle = &setup.needle;
        // What an address said in another unit, or of another needle, gives way.
        let families = [
            &keys::AT,
            &keys::PUSH,
            &keys::FLOW,
            &keys::LENGTH,
            &keys::BORE,
            &keys::BARREL,
        ];
        let mut pairs: Vec<(&'static str, String)> = families
            .iter()
            .flat_map(|quantity| quantity.keys())
            .chain([keys::GAUGE, keys::SYRINGE])
            .map(|key| (key, String::new()))
            .collect();
        pairs.extend([
            keys::AT.pair(self.set_kelvin),
            keys::PUSH.pair(setup.force_limit_n),
            keys::FLOW.pair(setup.flow_rate_m3_per_s),
            keys::LENGTH.pair(needle.length_m),
        ]);
        match needle.gauge {
            Some(gauge) => {
                pairs.push((keys::GAUGE, gauge.to_string()));
                pairs.push((keys::WALL, self.pushed.wall.to_string()));
            }
            None => pairs.push(keys::BORE.pair(needle.bore_m)),
        }
        match &setup.barrel.syringe {
            Some(name) => pairs.push((keys::SYRINGE, name.clone())),
            None => pairs.push(keys::BARREL.pair(setup.barrel.bore_m)),
        }
        if !self.between {
            pairs.push((keys::BLEND, self.blend.blend.clone()));
        }
        pairs
    }
}

/// The blend that is shown as chosen: the one that an address names, else the first.
pub(super) fn chosen_blend<'a>(
    asked: &Asked,
    calibration: &'a Calibration,
) -> Option<&'a BlendCalibration> {
    asked
        .get(keys::BLEND)
        .and_then(|name| calibration.blends.iter().find(|blend| blend.blend == name))
        .or(calibration.blends.first())
}

/// A blend of the calibration, a fraction between two, or a lot of one.
fn blend(reader: &mut Reader<'_>, calibration: &Calibration) -> Option<BlendCalibration> {
    let fraction = reader.word(keys::HA_FRACTION, "Fraction", units::fraction);
    if reader.asked.get(keys::HA_FRACTION).is_some() && fraction.is_none() {
        return None;
    }
    let found = match (fraction, reader.asked.get(keys::BLEND)) {
        (Some(fraction), _) => calibration.blend_at(fraction),
        (None, Some(name)) => calibration.blend(Some(name)).cloned(),
        (None, None) => match calibration.blends.first() {
            Some(first) => Ok(first.clone()),
            None => calibration.blend(None).cloned(),
        },
    };
    let (field, name) = match fraction {
        Some(_) => (keys::HA_FRACTION, "Fraction"),
        None => (keys::BLEND, "Blend"),
    };
    let found = found.and_then(|blend| match reader.asked.get(keys::THIS_LOT) {
        Some(lot) => blend.for_lot(lot),
        None => Ok(blend),
    });
    match found {
        Ok(blend) => Some(blend),
        Err(error) => {
            let (field, name) = match error {
                crate::fit::FitError::UnknownLot { .. } => (keys::THIS_LOT, "Lot"),
                _ => (field, name),
            };
            let words = super::faults::page_words(&error.to_string());
            reader.faults.push(Fault::at(field, name, words));
            None
        }
    }
}

/// A syringe that is part-filled, or part in the block; nothing where nothing is said of it.
fn part(reader: &mut Reader<'_>, room_kelvin: f64) -> Option<PartOfSyringe> {
    let filled_m3 = reader.quantity(&keys::FILLED);
    let stands_out_m = reader.quantity(&keys::STANDS_OUT);
    let open_end = reader.tick(keys::OPEN_END);
    let asked = filled_m3.is_some() || stands_out_m.is_some() || open_end;
    asked.then_some(PartOfSyringe {
        filled_m3,
        stands_out_m: stands_out_m.unwrap_or(0.0),
        open_end,
        room_kelvin,
    })
}

fn warm_up(reader: &mut Reader<'_>) -> Option<QuestionWarmUp> {
    let lag = reader.quantity(&keys::LAG);
    match reader.asked.get(keys::WARM_UP)? {
        "as-calibrated" => None,
        "hot" => Some(QuestionWarmUp::Stated(StatedWarmUp::None)),
        "syringe" => Some(QuestionWarmUp::OwnSyringe),
        "lag" => match lag {
            Some(time_constant_s) => Some(QuestionWarmUp::Stated(StatedWarmUp::Lag {
                time_constant_s,
            })),
            None => {
                if reader.asked.last_of(&keys::LAG.keys()).is_none() {
                    reader.faults.push(Fault::at(
                        keys::LAG.id,
                        keys::LAG.name,
                        "A lag needs its time.\nWhat helps: the time in which the gel covers 63 % of the way to the block's temperature, such as 40 s; or 'Conduction in this syringe'",
                    ));
                }
                None
            }
        },
        other => {
            let known: Vec<&str> = keys::WARM_UPS.iter().map(|(value, _)| *value).collect();
            reader.faults.push(Fault::at(
                keys::WARM_UP,
                "Warm-up",
                format!(
                    "\"{}\" is no warm-up.\nWhat helps: one of {}",
                    excerpt(other),
                    known.join(", ")
                ),
            ));
            None
        }
    }
}

/// The least firmness, as a push or as a reading.
fn least(reader: &mut Reader<'_>, kind: Option<ReadingKind>) -> Option<Least> {
    let push = reader.quantity(&keys::LEAST_PUSH).map(Least::Force);
    let kind = kind?;
    let reading = reader
        .word(keys::LEAST_READING, "Least reading", |text| {
            least_reading(text, kind)
        })
        .map(Least::Reading);
    if push.is_some() && reading.is_some() {
        reader.faults.push(Fault::at(
            keys::LEAST_READING,
            "Least reading",
            "A least push and a least reading are two measures of the same firmness.\nWhat helps: leave one of them empty",
        ));
    }
    push.or(reading)
}

/// Unit of a bare number in the field of the least reading.
pub(super) fn reading_unit(kind: ReadingKind) -> (&'static str, Dimension) {
    match kind {
        ReadingKind::Viscosity | ReadingKind::Force | ReadingKind::RunTime => {
            ("Pa.s", Dimension::Viscosity)
        }
        ReadingKind::Modulus => ("Pa", Dimension::Pressure),
        ReadingKind::Firmness => ("", Dimension::Number),
    }
}

fn least_reading(text: &str, kind: ReadingKind) -> Result<f64, String> {
    let (unit, dimension) = reading_unit(kind);
    let with_unit = match text.parse::<f64>() {
        Ok(_) => format!("{text}{unit}"),
        Err(_) => text.to_owned(),
    };
    let value = parse_quantity(&with_unit, dimension).map_err(|error| error.to_string())?;
    // A firmness may be anything; what comes from a push or a modulus is above zero.
    if value <= 0.0 && dimension != Dimension::Number {
        return Err(format!(
            "{} asks for nothing; give a value above zero or leave it empty",
            excerpt(text)
        ));
    }
    Ok(value)
}

fn flow_index(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(value) if value > 0.0 && value <= LARGEST_FLOW_INDEX => Ok(value),
        _ => Err(format!(
            "a flow index is a number above 0, such as 0.4 (1 does not thin), and not '{}'",
            excerpt(text)
        )),
    }
}
