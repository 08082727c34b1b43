//! What a bench table holds and what it cannot tell. Gaps are advice, never a refusal.

use std::collections::BTreeMap;

use super::table::{BenchTable, ReadingKind};
use crate::units::display;

/// Over this share of the whole change between the last two times, readings still rise.
const STILL_CHANGING_RATIO: f64 = 0.1;
/// Over this share of the whole change in the first step, the beginning was missed.
const FIRST_STEP_RATIO: f64 = 0.4;
/// The shortest time should be under this share of the longest.
const SHORT_TIME_RATIO: f64 = 0.1;
/// Heat times up to this show how long the syringe takes to warm up.
const WARM_UP_TIME_S: f64 = 60.0;

/// Something that the readings cannot tell.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Gap {
    /// All heated at one temperature.
    SingleTemperature {
        /// The blend.
        blend: String,
        /// The temperature.
        heat_temp_kelvin: f64,
    },
    /// Readings at the hottest temperature still change at the longest times.
    NoPlateau {
        /// The blend.
        blend: String,
        /// The hottest temperature.
        heat_temp_kelvin: f64,
        /// Its longest time.
        longest_s: f64,
    },
    /// The first readings at the coldest temperature are far into the setting.
    NoBeginning {
        /// The blend.
        blend: String,
        /// The coldest temperature.
        heat_temp_kelvin: f64,
        /// Its shortest time.
        shortest_s: f64,
    },
    /// No short heat time at the hottest temperature, where warm-up would show.
    NoShortTimes {
        /// The blend.
        blend: String,
        /// The hottest temperature.
        heat_temp_kelvin: f64,
        /// Its shortest time.
        shortest_s: f64,
    },
    /// No temperature and time was measured twice.
    NoReplicates {
        /// The blend.
        blend: String,
    },
    /// All from one lot.
    OneLot {
        /// Its code, where there is one.
        lot: Option<String>,
    },
    /// Viscosities at several shear rates in one table.
    SeveralShearRates {
        /// The lowest.
        lowest_per_s: f64,
        /// The highest.
        highest_per_s: f64,
    },
    /// Viscosities without a shear rate.
    NoShearRate {
        /// Number of rows without one.
        rows: usize,
    },
}

impl Gap {
    /// A short code, for programs.
    pub fn code(&self) -> &'static str {
        match self {
            Gap::SingleTemperature { .. } => "single_temperature",
            Gap::NoPlateau { .. } => "no_plateau",
            Gap::NoBeginning { .. } => "no_beginning",
            Gap::NoShortTimes { .. } => "no_short_times",
            Gap::NoReplicates { .. } => "no_replicates",
            Gap::OneLot { .. } => "one_lot",
            Gap::SeveralShearRates { .. } => "several_shear_rates",
            Gap::NoShearRate { .. } => "no_shear_rate",
        }
    }

    /// What is missing, what that means, and what to measure.
    pub fn message(&self) -> String {
        match self {
            Gap::SingleTemperature { blend, heat_temp_kelvin } => format!(
                "{blend}: all heated at {}: the activation energy cannot be found. Heat a few syringes ten degrees colder and hotter",
                display::temperature(*heat_temp_kelvin)
            ),
            Gap::NoPlateau { blend, heat_temp_kelvin, longest_s } => format!(
                "{blend}: readings at {} still change at {}: the plateau is poorly known. Heat longer there",
                display::temperature(*heat_temp_kelvin),
                display::duration(*longest_s)
            ),
            Gap::NoBeginning { blend, heat_temp_kelvin, shortest_s } => format!(
                "{blend}: the first readings at {} ({}) are far into the setting: the beginning is poorly known. Read an unheated syringe, and shorter times there",
                display::temperature(*heat_temp_kelvin),
                display::duration(*shortest_s)
            ),
            Gap::NoShortTimes { blend, heat_temp_kelvin, shortest_s } => format!(
                "{blend}: nothing shorter than {} at {}: how long the syringe takes to warm up does not show. Read one or two under 1 min",
                display::duration(*shortest_s),
                display::temperature(*heat_temp_kelvin)
            ),
            Gap::NoReplicates { blend } => format!(
                "{blend}: nothing was measured twice: scatter and a wrong law cannot be told apart. Repeat a few readings"
            ),
            Gap::OneLot { lot: Some(lot) } => format!(
                "one lot only ({lot}): nothing is known about the next person's. Measure a second lot"
            ),
            Gap::OneLot { lot: None } => {
                "no lots are named: the spread between people cannot be known. Fill in the column lot".to_string()
            }
            Gap::SeveralShearRates { lowest_per_s, highest_per_s } => format!(
                "shear rates from {} to {} /s: a gel that thins under shear reads differently at each. Compare like with like, or state a flow index",
                display::at_most(*lowest_per_s, 3),
                display::at_most(*highest_per_s, 3)
            ),
            Gap::NoShearRate { rows } => format!(
                "{rows} of the viscosities have no shear rate: how they carry over to a needle is an assumption. Fill in shear_rate_per_s"
            ),
        }
    }
}

/// How many rows a table has, by temperature, lot and blend, and what it cannot tell.
#[derive(Debug, Clone, PartialEq)]
pub struct TableSummary {
    /// The kind of reading.
    pub kind: ReadingKind,
    /// All rows.
    pub rows: usize,
    /// Rows that take part in the fit; everything below counts these.
    pub used: usize,
    /// Set temperature in K and its rows, rising.
    pub by_temperature: Vec<(f64, usize)>,
    /// Lot and its rows; `None` where no lot is named.
    pub by_lot: Vec<(Option<String>, usize)>,
    /// Blend and its rows.
    pub by_blend: Vec<(String, usize)>,
    /// Columns that mean nothing here.
    pub unknown_columns: Vec<String>,
    /// True where a source says that it is invented data.
    pub invented: bool,
    /// What the readings cannot tell.
    pub gaps: Vec<Gap>,
}

/// Counts the rows of a table and looks for gaps.
pub fn summarise(table: &BenchTable) -> TableSummary {
    let used = table.used_rows();
    let mut by_lot: Vec<(Option<String>, usize)> = Vec::new();
    let mut places: BTreeMap<Option<&str>, usize> = BTreeMap::new();
    for row in used.iter().filter_map(|&number| table.rows.get(number)) {
        let place = *places.entry(row.lot.as_deref()).or_insert(by_lot.len());
        match by_lot.get_mut(place) {
            Some((_, count)) => *count += 1,
            None => by_lot.push((row.lot.clone(), 1)),
        }
    }
    let by_temperature = table
        .temperatures()
        .into_iter()
        .map(|temperature| {
            let count = points(table, &used)
                .filter(|point| (point.temperature - temperature).abs() < 1e-6)
                .count();
            (temperature, count)
        })
        .collect();
    let by_blend: Vec<(String, usize)> = table
        .blends()
        .into_iter()
        .map(|blend| {
            let count = table.used_rows_of_blend(&blend).len();
            (blend, count)
        })
        .filter(|(_, count)| *count > 0)
        .collect();
    let mut gaps = Vec::new();
    for (blend, _) in &by_blend {
        gaps_of_blend(table, blend, &mut gaps);
    }
    if by_lot.len() == 1 {
        gaps.extend(
            by_lot
                .first()
                .map(|(lot, _)| Gap::OneLot { lot: lot.clone() }),
        );
    }
    if table.kind == ReadingKind::Viscosity {
        gaps_of_shear(table, &used, &mut gaps);
    }
    TableSummary {
        kind: table.kind,
        rows: table.len(),
        used: used.len(),
        by_temperature,
        by_lot,
        by_blend,
        unknown_columns: table.unknown_columns.clone(),
        invented: table.invented,
        gaps,
    }
}

/// Counts and gaps of a table whose pushes, if there are any, have become viscosities: their rates and
/// weights have been taken out.
#[cfg(feature = "cli")]
pub(crate) fn summarise_converted(
    kind: ReadingKind,
    converted: &super::needle_runs::ViscosityReadings,
) -> TableSummary {
    let mut summary = summarise(&converted.table);
    if kind.is_push() {
        summary.kind = kind;
        // Every push has its own rate, and a slope over them is what the bench is made for.
        summary
            .gaps
            .retain(|gap| !matches!(gap, Gap::SeveralShearRates { .. }));
    }
    summary
}

struct Point {
    temperature: f64,
    time: f64,
    reading: f64,
}

fn points<'a>(table: &'a BenchTable, rows: &'a [usize]) -> impl Iterator<Item = Point> + 'a {
    rows.iter().filter_map(|&row| {
        Some(Point {
            temperature: *table.heat_temp_kelvin.get(row)?,
            time: *table.heat_time_s.get(row)?,
            reading: *table.reading.get(row)?,
        })
    })
}

fn gaps_of_blend(table: &BenchTable, blend: &str, gaps: &mut Vec<Gap>) {
    let rows = table.used_rows_of_blend(blend);
    let mut measured: Vec<Point> = points(table, &rows).collect();
    // Readings over decades are compared by their logarithms.
    if measured.iter().all(|point| point.reading > 0.0) {
        for point in &mut measured {
            point.reading = point.reading.ln();
        }
    }
    let coldest = measured
        .iter()
        .map(|point| point.temperature)
        .fold(f64::INFINITY, f64::min);
    let hottest = measured
        .iter()
        .map(|point| point.temperature)
        .fold(f64::NEG_INFINITY, f64::max);
    let blend = blend.to_string();
    if hottest - coldest < 1e-6 {
        gaps.push(Gap::SingleTemperature {
            blend: blend.clone(),
            heat_temp_kelvin: hottest,
        });
    }
    let cold = means_by_time(&measured, coldest);
    let hot = means_by_time(&measured, hottest);
    let lowest = measured
        .iter()
        .map(|point| point.reading)
        .fold(f64::INFINITY, f64::min);
    let highest = measured
        .iter()
        .map(|point| point.reading)
        .fold(f64::NEG_INFINITY, f64::max);
    let whole = highest - lowest;
    let step = |from: Option<&(f64, f64)>, to: Option<&(f64, f64)>| match (from, to) {
        (Some((_, from)), Some((_, to))) if whole > 0.0 => (to - from).abs() / whole,
        _ => f64::INFINITY,
    };
    let before_last = hot.len().checked_sub(2).and_then(|index| hot.get(index));
    if let Some((longest_s, _)) = hot.last()
        && step(before_last, hot.last()) > STILL_CHANGING_RATIO
    {
        gaps.push(Gap::NoPlateau {
            blend: blend.clone(),
            heat_temp_kelvin: hottest,
            longest_s: *longest_s,
        });
    }
    if let (Some((shortest_s, _)), Some((longest_s, _))) = (cold.first(), cold.last())
        && (*shortest_s > SHORT_TIME_RATIO * longest_s
            || step(cold.first(), cold.get(1)) > FIRST_STEP_RATIO)
    {
        gaps.push(Gap::NoBeginning {
            blend: blend.clone(),
            heat_temp_kelvin: coldest,
            shortest_s: *shortest_s,
        });
    }
    // An unheated reading shows no warm-up: the shortest heated one counts.
    if let Some((shortest_s, _)) = hot.iter().find(|(time, _)| *time > 0.0)
        && *shortest_s > WARM_UP_TIME_S
    {
        gaps.push(Gap::NoShortTimes {
            blend: blend.clone(),
            heat_temp_kelvin: hottest,
            shortest_s: *shortest_s,
        });
    }
    let mut conditions: Vec<(f64, f64)> = measured
        .iter()
        .map(|point| (point.temperature, point.time))
        .collect();
    conditions.sort_by(|left, right| left.0.total_cmp(&right.0).then(left.1.total_cmp(&right.1)));
    let repeated = conditions
        .iter()
        .zip(conditions.iter().skip(1))
        .any(|(left, right)| (left.0 - right.0).abs() < 1e-6 && left.1 == right.1);
    if !repeated {
        gaps.push(Gap::NoReplicates { blend });
    }
}

/// Mean reading at each time of one temperature, times rising.
fn means_by_time(measured: &[Point], temperature: f64) -> Vec<(f64, f64)> {
    // Times are not negative, so their bits sort as they do.
    let mut groups: BTreeMap<u64, (f64, f64, usize)> = BTreeMap::new();
    for point in measured
        .iter()
        .filter(|point| (point.temperature - temperature).abs() < 1e-6)
    {
        let group = groups
            .entry(point.time.to_bits())
            .or_insert((point.time, 0.0, 0));
        group.1 += point.reading;
        group.2 += 1;
    }
    groups
        .into_values()
        .map(|(time, sum, count)| (time, sum / count as f64))
        .collect()
}

fn gaps_of_shear(table: &BenchTable, used: &[usize], gaps: &mut Vec<Gap>) {
    let rates: Vec<f64> = used
        .iter()
        .filter_map(|&row| table.rows.get(row).and_then(|row| row.shear_rate_per_s))
        .collect();
    let missing = used.len() - rates.len();
    if missing > 0 {
        gaps.push(Gap::NoShearRate { rows: missing });
    }
    let lowest_per_s = rates.iter().copied().fold(f64::INFINITY, f64::min);
    let highest_per_s = rates.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if highest_per_s > lowest_per_s {
        gaps.push(Gap::SeveralShearRates {
            lowest_per_s,
            highest_per_s,
        });
    }
}
