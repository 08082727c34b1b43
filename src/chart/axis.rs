//! Axes with round ticks: linear, logarithmic, time in s, min or h, and °C above 1000/T.

use crate::units::ColumnUnit;

/// How an axis is divided.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AxisKind {
    /// Equal steps.
    Linear,
    /// Equal ratios; zero and what is under it cannot be shown.
    Log,
}

/// What an axis is to show, before the room for it is known.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct AxisPlan {
    /// Quantity and unit.
    pub(super) title: String,
    pub(super) kind: AxisKind,
    /// Ends in the unit of the values.
    pub(super) low: f64,
    pub(super) high: f64,
    /// Size of the shown unit: 60 where values are seconds and the axis shows minutes.
    pub(super) shown_unit: f64,
}

/// One tick: where, in the unit of the values, and what stands beside it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tick {
    pub(super) at: f64,
    /// Empty for the small ticks between.
    pub(super) label: String,
}

impl AxisPlan {
    /// An axis around values; an axis of no width is widened.
    pub(super) fn new(title: String, kind: AxisKind, low: f64, high: f64) -> Self {
        let (low, high) = match kind {
            AxisKind::Linear if high > low => (low, high),
            AxisKind::Linear => {
                let margin = if low == 0.0 { 1.0 } else { 0.1 * low.abs() };
                (low - margin, low + margin)
            }
            AxisKind::Log => {
                let low = if low > 0.0 { low } else { f64::MIN_POSITIVE };
                if high > low {
                    (low, high)
                } else {
                    (low / 2.0, low * 2.0)
                }
            }
        };
        AxisPlan {
            title,
            kind,
            low,
            high,
            shown_unit: 1.0,
        }
    }

    /// A time axis: s up to three minutes, min up to three hours, h beyond.
    pub(super) fn time(quantity: &str, kind: AxisKind, low_s: f64, high_s: f64) -> Self {
        let (suffix, name) = if high_s <= 180.0 {
            ("_s", "s")
        } else if high_s <= 10_800.0 {
            ("_min", "min")
        } else {
            ("_h", "h")
        };
        let shown_unit =
            ColumnUnit::of_suffix(suffix).map_or(1.0, |unit| unit.difference_to_si(1.0));
        AxisPlan {
            shown_unit,
            ..AxisPlan::new(format!("{quantity} ({name})"), kind, low_s, high_s)
        }
    }

    /// The axis with some room past its ends, as a fraction of its length; an end at zero of a
    /// linear axis stays.
    pub(super) fn with_margin(mut self, fraction: f64) -> Self {
        match self.kind {
            AxisKind::Linear => {
                let margin = (self.high - self.low) * fraction;
                if self.low != 0.0 {
                    self.low -= margin;
                }
                if self.high != 0.0 {
                    self.high += margin;
                }
            }
            AxisKind::Log => {
                let factor = (self.high / self.low).powf(fraction);
                self.low /= factor;
                self.high *= factor;
            }
        }
        self
    }

    /// How far along the axis a value lies, 0 at its low end and 1 at its high end; not a
    /// number where it has no place.
    pub(super) fn fraction(&self, value: f64) -> f64 {
        match self.kind {
            AxisKind::Linear => (value - self.low) / (self.high - self.low),
            AxisKind::Log if value > 0.0 => (value / self.low).ln() / (self.high / self.low).ln(),
            AxisKind::Log => f64::NAN,
        }
    }

    /// As [`AxisPlan::fraction`], but what is zero or less lies far below a logarithmic axis:
    /// for the lower edge of a band.
    pub(super) fn fraction_or_below(&self, value: f64) -> f64 {
        match self.kind {
            AxisKind::Log if value <= 0.0 => -10.0,
            _ => self.fraction(value),
        }
    }

    /// Round ticks, as close as the labels allow: `room` says how much of the axis' length a
    /// label takes, gap included.
    pub(super) fn ticks(&self, length: f64, room: &dyn Fn(&str) -> f64) -> Vec<Tick> {
        let (low, high) = (self.low / self.shown_unit, self.high / self.shown_unit);
        let mut ticks = match self.kind {
            AxisKind::Linear => linear_ticks(low, high, length, room, &|value| {
                (value - low) / (high - low)
            }),
            AxisKind::Log => log_ticks(low, high, length, room),
        };
        for tick in &mut ticks {
            tick.at *= self.shown_unit;
        }
        ticks
    }
}

/// Whether an axis of the kind can show the value at all.
pub(super) fn can_show(kind: AxisKind, value: f64) -> bool {
    value.is_finite() && (kind == AxisKind::Linear || value > 0.0)
}

/// Ticks at multiples of 1, 2 or 5 times a power of ten.
fn linear_ticks(
    low: f64,
    high: f64,
    length: f64,
    room: &dyn Fn(&str) -> f64,
    place: &dyn Fn(f64) -> f64,
) -> Vec<Tick> {
    let mut power = ((high - low) / 50.0).log10().floor();
    for _ in 0..8 {
        for lead in [1.0, 2.0, 5.0] {
            let ticks = multiples(low, high, lead, power);
            if (1..=11).contains(&ticks.len()) && labels_fit(&ticks, length, room, place) {
                return ticks;
            }
        }
        power += 1.0;
    }
    Vec::new()
}

fn multiples(low: f64, high: f64, lead: f64, power: f64) -> Vec<Tick> {
    // Dividing by a whole number keeps 0.3 from becoming 0.30000000000000004.
    let value_of = |count: f64| {
        if power < 0.0 {
            count * lead / 10_f64.powf(-power)
        } else {
            count * lead * 10_f64.powf(power)
        }
    };
    let step = value_of(1.0);
    let first = (low / step - 1e-9).ceil();
    let last = (high / step + 1e-9).floor();
    if !first.is_finite() || !last.is_finite() || last - first > 200.0 {
        return Vec::new();
    }
    let greatest = low.abs().max(high.abs());
    let shown_power = if !(1e-2..1e5).contains(&greatest) {
        greatest.log10().floor()
    } else {
        0.0
    };
    let decimals = (shown_power - power).max(0.0) as usize;
    (0..=(last - first).max(-1.0) as i64)
        .map(|index| {
            let at = value_of(first + index as f64) + 0.0;
            let label = if at == 0.0 {
                "0".to_string()
            } else if shown_power == 0.0 {
                signed(format!("{at:.decimals$}"))
            } else {
                let mantissa = at / 10_f64.powf(shown_power);
                signed(format!(
                    "{mantissa:.decimals$}×10{}",
                    raised(shown_power as i64)
                ))
            };
            Tick { at, label }
        })
        .take(if last >= first { 201 } else { 0 })
        .collect()
}

fn labels_fit(
    ticks: &[Tick],
    length: f64,
    room: &dyn Fn(&str) -> f64,
    place: &dyn Fn(f64) -> f64,
) -> bool {
    let named: Vec<&Tick> = ticks.iter().filter(|tick| !tick.label.is_empty()).collect();
    named
        .iter()
        .zip(named.iter().skip(1))
        .all(|(before, after)| {
            let apart = (place(after.at) - place(before.at)) * length;
            apart >= (room(&before.label) + room(&after.label)) / 2.0
        })
}

/// Ticks at 1, 2, 5 and their tens under three decades where they fit, else at powers of ten;
/// small ticks at the other whole multiples.
fn log_ticks(low: f64, high: f64, length: f64, room: &dyn Fn(&str) -> f64) -> Vec<Tick> {
    let place = |value: f64| (value / low).ln() / (high / low).ln();
    let decades = (high / low).log10();
    if !decades.is_finite() {
        return Vec::new();
    }
    let (first, last) = (low.log10().floor() as i64, high.log10().ceil() as i64);
    let inside = |value: f64| value >= low * (1.0 - 1e-9) && value <= high * (1.0 + 1e-9);
    let leads_by_wish: &[&[u32]] = if decades < 3.0 {
        &[&[1, 2, 5], &[1, 3], &[1]]
    } else {
        &[&[1]]
    };
    // Every decade, else every second, third ... until the labels stand apart.
    for (leads, every) in leads_by_wish
        .iter()
        .map(|leads| (*leads, 1))
        .chain((2..=80).map(|every| ([1_u32].as_slice(), every)))
    {
        let all_plain = (first..=last)
            .all(|power| (-3..5).contains(&power) || !inside(ten_to(power)))
            && low >= 1e-4
            && high < 1e5;
        let mut ticks = Vec::new();
        for power in first..=last {
            for lead in 1..=9_u32 {
                let at = times_ten_to(lead, power);
                if !inside(at) || (every > 1 && lead > 1) {
                    continue;
                }
                let named = leads.contains(&lead) && power.rem_euclid(every) == 0;
                let label = if named {
                    log_label(lead, power, all_plain)
                } else {
                    String::new()
                };
                ticks.push(Tick { at, label });
            }
        }
        let named = ticks.iter().filter(|tick| !tick.label.is_empty()).count();
        if decades < 3.0 && named < 3 && every == 1 && leads.len() > 1 {
            // Too narrow for 1, 2, 5: equal steps are round enough and more of them fall inside.
            return linear_ticks(low, high, length, room, &place);
        }
        if labels_fit(&ticks, length, room, &place) {
            return ticks;
        }
    }
    Vec::new()
}

fn ten_to(power: i64) -> f64 {
    times_ten_to(1, power)
}

/// Through text, so that the number is the nearest to what it says.
fn times_ten_to(lead: u32, power: i64) -> f64 {
    format!("{lead}e{power}").parse().unwrap_or(f64::NAN)
}

fn log_label(lead: u32, power: i64, plain: bool) -> String {
    if plain {
        let decimals = (-power).max(0) as usize;
        return format!("{:.decimals$}", times_ten_to(lead, power));
    }
    match lead {
        1 => format!("10{}", raised(power)),
        _ => format!("{lead}×10{}", raised(power)),
    }
}

/// A true minus sign, as wide as a plus.
fn signed(text: String) -> String {
    text.replace('-', "−")
}

/// A whole number in superscript.
pub(super) fn raised(power: i64) -> String {
    power
        .to_string()
        .chars()
        .map(|digit| match digit {
            '-' => '⁻',
            '0' => '⁰',
            '1' => '¹',
            '2' => '²',
            '3' => '³',
            '4' => '⁴',
            '5' => '⁵',
            '6' => '⁶',
            '7' => '⁷',
            '8' => '⁸',
            _ => '⁹',
        })
        .collect()
}

/// Round temperatures in °C over an axis of 1000/T (1/K); `at` is 1000/T.
pub(super) fn celsius_ticks(axis: &AxisPlan, length: f64, room: &dyn Fn(&str) -> f64) -> Vec<Tick> {
    let Some(celsius) = ColumnUnit::of_suffix("_C") else {
        return Vec::new();
    };
    if axis.low <= 0.0 {
        return Vec::new();
    }
    let (coldest, hottest) = (
        celsius.from_si(1000.0 / axis.high),
        celsius.from_si(1000.0 / axis.low),
    );
    // Falling: 1000/T is small where it is hot.
    let place = |temperature: f64| -axis.fraction(1000.0 / celsius.to_si(temperature));
    let mut ticks = linear_ticks(coldest, hottest, length, room, &|value| place(value));
    for tick in &mut ticks {
        tick.at = 1000.0 / celsius.to_si(tick.at);
    }
    ticks
}
