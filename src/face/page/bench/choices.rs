//! The choices of a fit as they are typed, to its options, by the same parsers and with the same
//! defaults as the command line. No choice names a file.

use crate::face::cli::fit::dimension_of;
use crate::fit::{
    DoseLagChoice, ErrorModel, FitOptions, Held, IntervalKind, OrderChoice, ParameterName, Prior,
    RobustLoss, WarmUpChoice, YieldStressChoice,
};
use crate::kinetics::FirmnessLaw;
use crate::readings::{BenchTable, ReadingKind};
use crate::reference::find_syringe;
use crate::thermal::{DeclaredCooling, DeclaredSyringe, StatedWarmUp, WarmUp};
use crate::units::{self, UnitError, quantity::parse_si_or_unit};
use std::fmt::Display;

/// Keys of the choices, as they stand in addresses.
pub(super) const KEYS: [&str; 33] = [
    "law",
    "order",
    "order_value",
    "before",
    "before_time",
    "yield_stress",
    "warm_up",
    "lag",
    "syringe",
    "contact",
    "start_temp",
    "cool_time",
    "ambient",
    "errors",
    "robust",
    "interval",
    "draws",
    "blend",
    "reference_temp",
    "hold_1",
    "hold_1_value",
    "hold_2",
    "hold_2_value",
    "hold_3",
    "hold_3_value",
    "prior_1",
    "prior_1_value",
    "prior_1_sd",
    "prior_2",
    "prior_2_value",
    "prior_2_sd",
    "more",
    "air",
];

/// Holds: the keys of parameter and value.
pub(super) const HOLDS: [[&str; 2]; 3] = [
    ["hold_1", "hold_1_value"],
    ["hold_2", "hold_2_value"],
    ["hold_3", "hold_3_value"],
];
/// Priors: the keys of parameter, value and standard deviation.
pub(super) const PRIORS: [[&str; 3]; 2] = [
    ["prior_1", "prior_1_value", "prior_1_sd"],
    ["prior_2", "prior_2_value", "prior_2_sd"],
];

/// Temperature of gel and air where none is typed.
pub(super) const ROOM: &str = "22C";
/// Bootstrap draws where none are typed.
pub(super) const DRAWS: usize = 2000;
/// Bootstrap draws: the fewest and the most of one fit here.
const DRAWS_RANGE: std::ops::RangeInclusive<usize> = 100..=20_000;
/// The longest value of a choice that is kept, in letters.
const LONGEST: usize = 200;

/// A choice that cannot be taken.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ChoiceFault {
    /// Key of its field.
    pub(super) key: &'static str,
    /// What is wrong, and how to mend it.
    pub(super) message: String,
}

/// The choices as they were typed; what was left blank is not among them.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Choices {
    pairs: Vec<(&'static str, String)>,
}

impl Choices {
    /// The choices that a form or an address holds.
    pub(super) fn of<'a>(value_of: impl Fn(&str) -> Option<&'a str>) -> Self {
        let pairs = KEYS
            .iter()
            .filter_map(|key| {
                let value: String = value_of(key)?.trim().chars().take(LONGEST).collect();
                (!value.is_empty()).then_some((*key, value))
            })
            .collect();
        Self { pairs }
    }

    /// The value of a key; empty where nothing was typed.
    pub(super) fn value(&self, key: &str) -> &str {
        self.pairs
            .iter()
            .find(|(name, _)| *name == key)
            .map_or("", |(_, value)| value)
    }

    /// Key and value of what was typed, for an address.
    pub(super) fn pairs(&self) -> Vec<(&str, &str)> {
        self.pairs
            .iter()
            .map(|(key, value)| (*key, value.as_str()))
            .collect()
    }

    /// The options of the fit.
    ///
    /// # Errors
    /// Every choice that cannot be taken.
    pub(super) fn options(
        &self,
        table: &BenchTable,
        seed: u64,
    ) -> Result<FitOptions, Vec<ChoiceFault>> {
        let mut reader = Reader {
            choices: self,
            faults: Vec::new(),
        };
        let usual = FitOptions::default();
        let start_kelvin = reader
            .temperature("start_temp")
            .unwrap_or(usual.start_kelvin);
        let options = FitOptions {
            law: reader.one_of(
                "law",
                &[
                    ("auto", None),
                    ("log", Some(FirmnessLaw::Log)),
                    ("linear", Some(FirmnessLaw::Linear)),
                    ("gel-point", Some(FirmnessLaw::GelPoint)),
                ],
            ),
            order: reader.order(),
            dose_lag: reader.dose_lag(),
            yield_stress: reader.one_of(
                "yield_stress",
                &[
                    ("auto", YieldStressChoice::Auto),
                    ("none", YieldStressChoice::None),
                ],
            ),
            errors: reader.one_of(
                "errors",
                &[
                    ("relative", ErrorModel::Relative),
                    ("absolute", ErrorModel::Absolute),
                    ("given", ErrorModel::Given),
                ],
            ),
            robust: reader.one_of(
                "robust",
                &[
                    ("none", RobustLoss::None),
                    ("huber", RobustLoss::Huber),
                    ("tukey", RobustLoss::Tukey),
                    ("student", RobustLoss::Student),
                ],
            ),
            warm_up: reader.warm_up(start_kelvin),
            start_kelvin,
            reference_kelvin: reader.temperature("reference_temp"),
            blend: reader.blend(table),
            held: reader.held(table.kind),
            priors: reader.priors(table.kind),
            interval: reader.one_of(
                "interval",
                &[
                    ("t", IntervalKind::T),
                    ("profile", IntervalKind::Profile),
                    ("bootstrap", IntervalKind::Bootstrap),
                ],
            ),
            draws: reader.draws(),
            seed,
        };
        if reader.faults.is_empty() {
            Ok(options)
        } else {
            Err(reader.faults)
        }
    }
}

struct Reader<'a> {
    choices: &'a Choices,
    faults: Vec<ChoiceFault>,
}

impl Reader<'_> {
    fn fault(&mut self, key: &'static str, message: impl Display) {
        self.faults.push(ChoiceFault {
            key,
            message: super::page_words::here(&message.to_string()),
        });
    }

    /// One of a list, the first where nothing is typed.
    fn one_of<T: Clone>(&mut self, key: &'static str, list: &[(&str, T)]) -> T {
        let value = self.choices.value(key);
        let place = list.iter().position(|(word, _)| *word == value);
        if place.is_none() && !value.is_empty() {
            let words: Vec<&str> = list.iter().map(|(word, _)| *word).collect();
            self.fault(
                key,
                format!(
                    "'{value}' is none of {}: choose one of them",
                    words.join(", ")
                ),
            );
        }
        list[place.unwrap_or(0)].1.clone()
    }

    /// A quantity, where one is typed.
    fn quantity(
        &mut self,
        key: &'static str,
        parse: fn(&str) -> Result<f64, UnitError>,
    ) -> Option<f64> {
        let text = self.choices.value(key);
        if text.is_empty() {
            return None;
        }
        match parse(text) {
            Ok(value) => Some(value),
            Err(error) => {
                self.fault(key, error);
                None
            }
        }
    }

    fn temperature(&mut self, key: &'static str) -> Option<f64> {
        self.quantity(key, units::temperature_kelvin)
    }

    fn order(&mut self) -> OrderChoice {
        let choice = self.one_of("order", &[("1", 0), ("auto", 1), ("set", 2)]);
        match choice {
            0 => OrderChoice::Fixed(1.0),
            1 => OrderChoice::Auto,
            _ => {
                let text = self.choices.value("order_value");
                match text.parse::<f64>() {
                    Ok(value) if (0.1..=5.0).contains(&value) => OrderChoice::Fixed(value),
                    _ => {
                        self.fault(
                            "order_value",
                            format!(
                                "an order is a number from 0.1 to 5, such as 1.5, and not '{text}'"
                            ),
                        );
                        OrderChoice::Fixed(1.0)
                    }
                }
            }
        }
    }

    fn dose_lag(&mut self) -> DoseLagChoice {
        match self.one_of("before", &[("none", 0), ("auto", 1), ("set", 2)]) {
            0 => DoseLagChoice::None,
            1 => DoseLagChoice::Auto,
            _ => match units::duration_s(self.choices.value("before_time")) {
                Ok(seconds) => DoseLagChoice::Fixed(seconds),
                Err(error) => {
                    self.fault("before_time", error);
                    DoseLagChoice::None
                }
            },
        }
    }

    fn draws(&mut self) -> usize {
        let text = self.choices.value("draws");
        if text.is_empty() {
            return DRAWS;
        }
        match text.parse::<usize>() {
            Ok(count) if DRAWS_RANGE.contains(&count) => count,
            _ => {
                self.fault(
                    "draws",
                    format!(
                        "draws are a whole number from {} to {} here, and not '{text}'; 'heatset fit' on the command line takes more",
                        DRAWS_RANGE.start(),
                        DRAWS_RANGE.end()
                    ),
                );
                DRAWS
            }
        }
    }

    fn blend(&mut self, table: &BenchTable) -> Option<String> {
        let name = self.choices.value("blend");
        if name.is_empty() {
            return None;
        }
        let blends = table.blends();
        if !blends.iter().any(|blend| blend == name) {
            self.fault(
                "blend",
                format!(
                    "there is no blend '{name}'; there are: {}",
                    blends.join(", ")
                ),
            );
        }
        Some(name.to_owned())
    }

    fn warm_up(&mut self, start_kelvin: f64) -> WarmUpChoice {
        let kind = self.one_of(
            "warm_up",
            &[("none", 0), ("lag", 1), ("fit", 2), ("syringe", 3)],
        );
        let contact = self.quantity("contact", units::heat_transfer_w_per_m2_kelvin);
        let air = self.quantity("air", units::heat_transfer_w_per_m2_kelvin);
        let cool_time = self.quantity("cool_time", units::duration_s);
        let ambient = self.temperature("ambient");
        if contact.is_some() && kind != 3 {
            self.fault(
                "contact",
                "a contact of block and barrel counts only where the warm-up is computed by conduction: choose that, or empty the field",
            );
        }
        if air.is_some() && kind != 3 {
            self.fault(
                "air",
                "this counts only where the warm-up is computed by conduction: choose that, or empty the field",
            );
        }
        let stated = match kind {
            0 => StatedWarmUp::None,
            1 => match units::duration_s(self.choices.value("lag")) {
                Ok(time_constant_s) => StatedWarmUp::Lag { time_constant_s },
                Err(error) => {
                    self.fault("lag", error);
                    StatedWarmUp::None
                }
            },
            2 => {
                if cool_time.is_some() {
                    self.fault(
                        "cool_time",
                        "a fitted lag finds one time constant and nothing else, so cooling does not enter: empty the field, or declare the warm-up",
                    );
                }
                return WarmUpChoice::Fitted;
            }
            _ => match self.syringe() {
                Some(syringe) => StatedWarmUp::Syringe(DeclaredSyringe {
                    contact_w_per_m2_kelvin: contact.unwrap_or(syringe.contact_w_per_m2_kelvin),
                    air_w_per_m2_kelvin: air.unwrap_or(syringe.air_w_per_m2_kelvin),
                    ..syringe
                }),
                None => StatedWarmUp::None,
            },
        };
        if !self.faults.is_empty() {
            return WarmUpChoice::Declared(WarmUp::None);
        }
        let usual = FitOptions::default().start_kelvin;
        let cooling = cool_time.map(|cool_time_s| DeclaredCooling {
            cool_time_s,
            ambient_kelvin: ambient.unwrap_or(usual),
        });
        let cools = cooling.is_some();
        match stated.history(start_kelvin, cooling) {
            Ok(history) => WarmUpChoice::Declared(history),
            Err(error) => {
                self.fault(if cools { "cool_time" } else { "warm_up" }, error);
                WarmUpChoice::Declared(WarmUp::None)
            }
        }
    }

    fn syringe(&mut self) -> Option<DeclaredSyringe> {
        let name: String = match self.choices.value("syringe") {
            "" => crate::plan::DEFAULT_SYRINGE.to_owned(),
            name => name.split_whitespace().collect(),
        };
        let syringe = match find_syringe(&name) {
            Ok(syringe) => syringe,
            Err(error) => {
                self.fault("syringe", error);
                return None;
            }
        };
        match DeclaredSyringe::of(&syringe) {
            Ok(syringe) => Some(syringe),
            Err(error) => {
                self.fault("syringe", error);
                None
            }
        }
    }

    /// A parameter by its name in a document.
    fn parameter(&mut self, key: &'static str, value_key: &'static str) -> Option<ParameterName> {
        let name = self.choices.value(key);
        if name.is_empty() {
            if !self.choices.value(value_key).is_empty() {
                self.fault(key, "a value without its parameter: choose which it is");
            }
            return None;
        }
        match name.parse::<ParameterName>() {
            Ok(name) => Some(name),
            Err(error) => {
                self.fault(key, error);
                None
            }
        }
    }

    fn value(&mut self, key: &'static str, name: ParameterName, kind: ReadingKind) -> Option<f64> {
        match parse_si_or_unit(self.choices.value(key), dimension_of(name, kind)) {
            Ok(value) => Some(value),
            Err(error) => {
                self.fault(key, error);
                None
            }
        }
    }

    fn held(&mut self, kind: ReadingKind) -> Held {
        let mut held = Held::default();
        for [key, value_key] in HOLDS {
            let Some(name) = self.parameter(key, value_key) else {
                continue;
            };
            let Some(value) = self.value(value_key, name, kind) else {
                continue;
            };
            if let Err(error) = held.hold(name, value) {
                self.fault(value_key, error);
            }
        }
        held
    }

    fn priors(&mut self, kind: ReadingKind) -> Vec<Prior> {
        let mut priors = Vec::new();
        for [key, value_key, sd_key] in PRIORS {
            let Some(name) = self.parameter(key, value_key) else {
                continue;
            };
            let value = self.value(value_key, name, kind);
            let deviation = self.value(sd_key, name, kind);
            if let (Some(value), Some(deviation)) = (value, deviation) {
                match Prior::new(name, value, deviation) {
                    Ok(prior) => priors.push(prior),
                    Err(error) => self.fault(value_key, error),
                }
            }
        }
        priors
    }
}
