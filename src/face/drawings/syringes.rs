//! The same gel in several syringes, beside gel that is hot at once: why the larger takes longer.

use super::CURVE_POINTS;
use super::error::DrawingError;
use super::words::{quantity, words};
use crate::chart::{AxisKind, SyringeLevel, SyringeLine, SyringePoint, SyringesChart, TimeSpan};
use crate::face::sentences::value_words;
use crate::fit::{BlendCalibration, Calibration, ErrorModel, ParameterName};
use crate::flow::PushConditions;
use crate::kinetics::SettingModel;
use crate::plan::{Gel, PushSetup, StatedThinning};
use crate::thermal::WarmUp;
use crate::units::display::{self, Rounding};

/// Steps of the conversion in which a force is looked at before it is narrowed down.
const LOOKS: u32 = 400;
/// Room after the last mark, as a share of its time.
const BEYOND: f64 = 1.12;
/// Conversion up to which a line is drawn that never reaches the level.
const NEARLY_SET: f64 = 0.98;
/// Room above the level of a force, as a share of it.
const ABOVE_FORCE: f64 = 1.6;
/// What the lines are, and are not.
const FITTED: &str =
    "Lines are the fitted curve, without its interval: heatset time says how sure a time is.";
/// Why the dashed lines of a force differ.
const WIDER: &str = "A wider barrel takes more force for the same pressure, so its gel may be less thick at the limit.";
/// Step of the times that people read, in s.
const STEP_S: f64 = 10.0;

/// One syringe of the chart.
#[derive(Debug, Clone, PartialEq)]
pub struct SyringeDrawn {
    /// Its name: `5 mL`.
    pub name: String,
    /// Its warm-up, by conduction.
    pub warm_up: WarmUp,
    /// Warm-ups over the range of the contact coefficient, in the same order for every syringe;
    /// none where it is known.
    pub contact_histories: Vec<WarmUp>,
    /// The push from it, where a force is asked.
    pub setup: Option<PushSetup>,
}

/// What a chart of syringes is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct SyringesDrawing {
    /// Set temperature, in K.
    pub set_kelvin: f64,
    /// The syringes, the smallest first.
    pub syringes: Vec<SyringeDrawn>,
    /// Heat time of the smallest of which the reading is the level; none where the level is the
    /// force limit of the pushes.
    pub heat_time_s: Option<f64>,
    /// What is assumed of block and start, for the subtitle: `contact 150 W/m²K, from 22 °C`.
    pub heating_words: String,
    /// Range of a contact that nobody measured, for the legend; empty where it is known.
    pub contact_range_words: String,
    /// Shear thinning as stated.
    pub thinning: StatedThinning,
    /// Whether the set temperature lies outside the measured ones, and was asked for all the same.
    pub extrapolated: bool,
}

/// One syringe with what it is compared at.
struct Compared<'a> {
    drawn: &'a SyringeDrawn,
    gel: Option<(Gel, PushConditions)>,
    setting: SettingModel,
    /// Conversion at the level.
    fraction: Option<f64>,
    reached_s: Option<f64>,
}

impl Compared<'_> {
    fn time_s(&self, set_kelvin: f64, warm_up: &WarmUp) -> Option<f64> {
        let setting = SettingModel {
            warm_up: warm_up.clone(),
            ..self.setting.clone()
        };
        let time_s = setting.clock_time_for_conversion_s(set_kelvin, self.fraction?);
        time_s.is_finite().then_some(time_s)
    }

    fn value(&self, fraction: f64) -> f64 {
        match &self.gel {
            Some((gel, conditions)) => gel.push(conditions, fraction).plunger_force_n,
            None => self.setting.reading_at_conversion(fraction),
        }
    }

    fn points(&self, set_kelvin: f64, warm_up: &WarmUp, end_s: f64) -> Vec<SyringePoint> {
        let setting = SettingModel {
            warm_up: warm_up.clone(),
            ..self.setting.clone()
        };
        let clock = setting.dose_clock(set_kelvin);
        (0..=CURVE_POINTS)
            .map(|i| end_s * i as f64 / CURVE_POINTS as f64)
            .map(|time_s| SyringePoint {
                time_s,
                value_in_unit: self.value(setting.conversion_on(&clock, time_s)),
            })
            // Past a gel point there is no reading to draw.
            .filter(|point| point.value_in_unit.is_finite())
            .collect()
    }
}

/// Plunger force or reading of the same gel in several syringes against the clock.
///
/// # Errors
/// As for the answers about force; a heat time after which the gel is no firmer than before.
pub fn syringes(
    calibration: &Calibration,
    blend: &BlendCalibration,
    asked: &SyringesDrawing,
) -> Result<SyringesChart, DrawingError> {
    let compared = compare(blend, asked)?;
    let by_force = compared.iter().any(|one| one.gel.is_some());
    let level = level(blend, asked, &compared);
    let end_s = end_s(blend, asked, &compared);
    let place = display::temperature(asked.set_kelvin);
    let lines = compared
        .iter()
        .map(|one| SyringeLine {
            label: line_label(asked, &compared, one),
            name: one.drawn.name.clone(),
            points: one.points(asked.set_kelvin, &one.drawn.warm_up, end_s),
            at_once: if by_force {
                one.points(asked.set_kelvin, &WarmUp::None, end_s)
            } else {
                Vec::new()
            },
            reached_s: one.reached_s,
            reached_words: one
                .reached_s
                .map_or_else(String::new, |s| time_words(s, by_force)),
        })
        .collect();
    let at_once = match compared.first() {
        Some(first) if !by_force => first.points(asked.set_kelvin, &WarmUp::None, end_s),
        _ => Vec::new(),
    };
    let push_words = asked
        .syringes
        .first()
        .and_then(|one| one.setup.as_ref())
        .map_or_else(String::new, |setup| {
            format!(", {}", display::flow_rate(setup.flow_rate_m3_per_s))
        });
    let mut words = words(
        calibration,
        blend,
        title(asked, &compared, by_force),
        &format!("{push_words}; {}", asked.heating_words),
    );
    let [from_s, to_s] = blend.range.heat_time_s;
    words.extrapolated = asked.extrapolated
        || compared
            .iter()
            .filter_map(|one| one.reached_s)
            .any(|s| s < from_s || s > to_s);
    let explained = if by_force && compared.len() > 1 {
        format!("{WIDER} {FITTED}")
    } else {
        FITTED.to_owned()
    };
    words.note = format!("{explained}\n{}", words.note);
    let positive = blend.error == ErrorModel::Relative;
    Ok(SyringesChart {
        words,
        time_name: format!("heat time at {place}"),
        value_name: if by_force {
            "plunger force".to_owned()
        } else {
            quantity(blend).to_owned()
        },
        value_unit: if by_force {
            "N".to_owned()
        } else {
            blend.reading_unit.clone()
        },
        value_axis: if positive && !by_force {
            AxisKind::Log
        } else {
            AxisKind::Linear
        },
        up_to_in_unit: level
            .as_ref()
            .filter(|_| by_force)
            .map(|level| ABOVE_FORCE * level.value_in_unit),
        at_once,
        at_once_words: "the same gel, hot at once".to_owned(),
        level,
        measured_time: Some(TimeSpan { from_s, to_s }),
        legend_heading: if asked.contact_range_words.is_empty() {
            "syringe".to_owned()
        } else {
            format!("syringe: time if contact is {}", asked.contact_range_words)
        },
        lines,
    })
}

fn compare<'a>(
    blend: &BlendCalibration,
    asked: &'a SyringesDrawing,
) -> Result<Vec<Compared<'a>>, DrawingError> {
    let setting = blend.setting()?;
    let of_time = match (asked.heat_time_s, asked.syringes.first()) {
        (Some(heat_time_s), Some(first)) => {
            let smallest = SettingModel {
                warm_up: first.warm_up.clone(),
                ..setting.clone()
            };
            Some(smallest.conversion(asked.set_kelvin, heat_time_s))
        }
        _ => None,
    };
    let mut found = Vec::with_capacity(asked.syringes.len());
    for (place, drawn) in asked.syringes.iter().enumerate() {
        let gel = match &drawn.setup {
            Some(setup) => {
                setup.check_force(setup.force_limit_n)?;
                let gel = Gel::new(blend, setup, asked.thinning)?;
                Some((gel, setup.conditions()?))
            }
            None => None,
        };
        let fraction = match (&gel, &drawn.setup) {
            (Some((gel, conditions)), Some(setup)) => {
                first_conversion(gel, conditions, setup.force_limit_n)
            }
            _ => of_time,
        };
        let mut one = Compared {
            drawn,
            gel,
            setting: setting.clone(),
            fraction,
            reached_s: None,
        };
        // The smallest reaches its own reading when it was asked to, to the last digit.
        one.reached_s = match asked.heat_time_s {
            Some(heat_time_s) if place == 0 => Some(heat_time_s),
            _ => one.time_s(asked.set_kelvin, &drawn.warm_up),
        };
        found.push(one);
    }
    Ok(found)
}

/// First conversion at which the push takes the limit; none where it never does.
fn first_conversion(gel: &Gel, conditions: &PushConditions, limit_n: f64) -> Option<f64> {
    let over = |fraction: f64| gel.push(conditions, fraction).plunger_force_n >= limit_n;
    if over(0.0) {
        return Some(0.0);
    }
    let step = (1..=LOOKS).find(|step| over(f64::from(*step) / f64::from(LOOKS)))?;
    let (mut low, mut high) = (
        f64::from(step - 1) / f64::from(LOOKS),
        f64::from(step) / f64::from(LOOKS),
    );
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if over(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(high)
}

fn level(
    blend: &BlendCalibration,
    asked: &SyringesDrawing,
    compared: &[Compared],
) -> Option<SyringeLevel> {
    let first = compared.first()?;
    match (asked.heat_time_s, &first.drawn.setup) {
        (Some(heat_time_s), _) => {
            let reading = first.value(first.fraction?);
            Some(SyringeLevel {
                value_in_unit: reading,
                label: format!(
                    "{}: {} after {}",
                    value_words(ParameterName::Plateau, &blend.reading_unit, reading, 2),
                    first.drawn.name,
                    display::duration(heat_time_s)
                ),
            })
        }
        (None, Some(setup)) => Some(SyringeLevel {
            value_in_unit: setup.force_limit_n,
            label: format!("limit {}", display::force(setup.force_limit_n)),
        }),
        (None, None) => None,
    }
}

/// How far the clock is drawn: a little past the last mark; where some syringe has none, until it is
/// nearly set.
fn end_s(blend: &BlendCalibration, asked: &SyringesDrawing, compared: &[Compared]) -> f64 {
    let ends = compared.iter().map(|one| {
        one.reached_s.map_or_else(
            || {
                let setting = SettingModel {
                    warm_up: one.drawn.warm_up.clone(),
                    ..one.setting.clone()
                };
                setting.clock_time_for_conversion_s(asked.set_kelvin, NEARLY_SET)
            },
            |s| BEYOND * s,
        )
    });
    let [_, longest_s] = blend.range.heat_time_s;
    let end_s = ends.filter(|s| s.is_finite()).fold(0.0, f64::max);
    if end_s > 0.0 { end_s } else { longest_s }
}

/// A limit that must not be passed is read downwards; a comparison to the nearest.
fn time_words(time_s: f64, by_force: bool) -> String {
    let rounding = if by_force {
        Rounding::Down
    } else {
        Rounding::Nearest
    };
    display::duration_rounded(time_s, STEP_S, rounding)
}

/// The name, and how far the contact that nobody measured moves its time.
fn line_label(asked: &SyringesDrawing, compared: &[Compared], one: &Compared) -> String {
    let by_force = one.gel.is_some();
    let name = &one.drawn.name;
    if one.reached_s.is_none() {
        return format!("{name} (never reaches it)");
    }
    let first = compared.first();
    let is_first = first.is_some_and(|first| std::ptr::eq(first.drawn, one.drawn));
    let times: Vec<f64> = one
        .drawn
        .contact_histories
        .iter()
        .enumerate()
        .filter_map(|(place, history)| match (asked.heat_time_s, first) {
            // The reading of the smallest after its time, under the same contact.
            (Some(heat_time_s), Some(first)) if !is_first => {
                let histories = &first.drawn.contact_histories;
                let setting = SettingModel {
                    warm_up: histories.get(place).unwrap_or(&first.drawn.warm_up).clone(),
                    ..one.setting.clone()
                };
                let fraction = setting.conversion(asked.set_kelvin, heat_time_s);
                let own = SettingModel {
                    warm_up: history.clone(),
                    ..one.setting.clone()
                };
                Some(own.clock_time_for_conversion_s(asked.set_kelvin, fraction))
            }
            (Some(_), _) => None,
            (None, _) => one.time_s(asked.set_kelvin, history),
        })
        .filter(|s| s.is_finite())
        .collect();
    let (low, high) = times
        .iter()
        .fold((f64::INFINITY, 0.0_f64), |(low, high), s| {
            (low.min(*s), high.max(*s))
        });
    if low >= high {
        return name.clone();
    }
    format!(
        "{name}: {} to {}",
        time_words(low, by_force),
        time_words(high, by_force)
    )
}

fn title(asked: &SyringesDrawing, compared: &[Compared], by_force: bool) -> String {
    let place = display::temperature(asked.set_kelvin);
    let reached: Vec<(&Compared, f64)> = compared
        .iter()
        .filter_map(|one| Some((one, one.reached_s?)))
        .collect();
    // Kept together where the title is wrapped.
    let words = |time_s: f64| time_words(time_s, by_force).replace(' ', "\u{a0}");
    let push = compared
        .first()
        .and_then(|one| one.drawn.setup.as_ref())
        .map(|setup| {
            (
                setup.needle.label().replace(' ', "\u{a0}"),
                display::force(setup.force_limit_n),
            )
        });
    let Some((needle, force)) = push else {
        return match reached.as_slice() {
            [(small, early), .., (large, late)] => format!(
                "In {} the same gel takes {} at {place}, in {} {}",
                large.drawn.name,
                words(*late),
                small.drawn.name,
                words(*early)
            ),
            [(only, time_s)] => format!(
                "In {} the gel takes {} at {place}",
                only.drawn.name,
                words(*time_s)
            ),
            [] => format!("The gel in each syringe at {place}"),
        };
    };
    // A wider barrel has a limit of its own, so the share of the warm-up is what compares.
    let of_it = |(one, time_s): &(&Compared, f64)| {
        let hot_s = one.time_s(asked.set_kelvin, &WarmUp::None).unwrap_or(0.0);
        (words(*time_s), words(time_s - hot_s))
    };
    match reached.as_slice() {
        [small, .., large] => {
            let ((late, late_part), (early, early_part)) = (of_it(large), of_it(small));
            format!(
                "{needle} until {force} at {place}: {late} in {}, {late_part} of it to warm up; in {} {early}, {early_part} of it",
                large.0.drawn.name, small.0.drawn.name
            )
        }
        [only] => {
            let (time, part) = of_it(only);
            format!(
                "{needle} until {force} at {place}: {time} in {}, {part} of it to warm up",
                only.0.drawn.name
            )
        }
        [] => format!("Through {needle} the gel stays under {force} in every syringe at {place}"),
    }
}
