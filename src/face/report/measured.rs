//! What was measured: files, temperatures, heat times, lots, blends.

use super::markup::{counted, file_name, heading_words, number, wide};
use crate::fit::{BlendCalibration, Calibration, FittedReading, heat_temperatures_kelvin};
use crate::plan::history_words;
use crate::readings::ReadingKind;
use crate::thermal::WarmUp;
use crate::units::display;
use maud::{Markup, html};
use std::collections::BTreeSet;

/// The readings of one set temperature.
pub(super) struct AtTemperature {
    pub(super) kelvin: f64,
    used: usize,
    left_out: usize,
    /// First and last heat time fitted, in s.
    pub(super) first_s: f64,
    pub(super) last_s: f64,
    distinct_times: usize,
    low: f64,
    high: f64,
}

/// Readings by set temperature, the coldest first; only temperatures with a fitted reading.
pub(super) fn by_temperature(blend: &BlendCalibration) -> Vec<AtTemperature> {
    let used = blend.readings.iter().filter(|r| r.used);
    heat_temperatures_kelvin(used)
        .into_iter()
        .map(|kelvin| {
            let here = |used| {
                blend
                    .readings
                    .iter()
                    .filter(move |r| r.used == used && r.heat_temp_k == kelvin)
            };
            let lowest = |value: fn(&FittedReading) -> f64| {
                here(true).map(value).fold(f64::INFINITY, f64::min)
            };
            let highest = |value: fn(&FittedReading) -> f64| {
                here(true).map(value).fold(f64::NEG_INFINITY, f64::max)
            };
            let times: BTreeSet<u64> = here(true).map(|r| r.heat_time_s.to_bits()).collect();
            AtTemperature {
                kelvin,
                used: here(true).count(),
                left_out: here(false).count(),
                first_s: lowest(|r| r.heat_time_s),
                last_s: highest(|r| r.heat_time_s),
                distinct_times: times.len(),
                low: lowest(|r| r.reading),
                high: highest(|r| r.reading),
            }
        })
        .collect()
}

/// The section.
pub(super) fn section(calibration: &Calibration) -> Markup {
    let invented = calibration.invented;
    html! {
        section {
            h2 { (heading_words("What was measured", invented)) }
            (wide("Files", &files(calibration)))
            @for blend in &calibration.blends {
                (wide(&format!("Readings of blend {}", blend.blend), &readings(blend)))
                p.note { (lines(blend).join(" ")) }
            }
        }
    }
}

fn files(calibration: &Calibration) -> Markup {
    html! {
        table.files {
            caption { "Files, as they were read" }
            thead {
                tr {
                    th scope="col" { "File" }
                    th.figure scope="col" { "Rows" }
                    th.figure scope="col" { "Used" }
                    th scope="col" { "SHA-256" }
                }
            }
            tbody {
                @for source in &calibration.source {
                    tr {
                        th scope="row" { (file_name(&source.file)) }
                        td.figure { (source.rows) }
                        td.figure { (source.used) }
                        td.hash { (source.sha256) }
                    }
                }
            }
        }
    }
}

fn readings(blend: &BlendCalibration) -> Markup {
    let rows = by_temperature(blend);
    html! {
        table.measured {
            caption { "Blend " (blend.blend) ": " (quantity(blend)) " by set temperature" }
            thead {
                tr {
                    th scope="col" { "Heated at" }
                    th scope="col" { "Readings" }
                    th scope="col" { "Heat times" }
                    th scope="col" { "Lowest reading" }
                    th scope="col" { "Highest reading" }
                }
            }
            tbody {
                @for row in rows {
                    tr {
                        th scope="row" { (display::temperature(row.kelvin)) }
                        td {
                            (row.used)
                            @if row.left_out > 0 { " (and " (row.left_out) " left out)" }
                        }
                        td {
                            @if row.distinct_times == 1 { (display::duration(row.first_s)) }
                            @else {
                                (display::duration(row.first_s)) " to "
                                (display::duration(row.last_s))
                                " (" (row.distinct_times) " times)"
                            }
                        }
                        td { (number(&reading_words(blend, row.low))) }
                        td { (number(&reading_words(blend, row.high))) }
                    }
                }
            }
        }
    }
}

/// What the readings of a calibration are: forces are fitted as viscosities.
pub(super) fn quantity(blend: &BlendCalibration) -> &'static str {
    match (blend.reading, blend.reading_unit.as_str()) {
        (ReadingKind::Force, "Pa.s") => "viscosity from plunger force",
        (ReadingKind::RunTime, "Pa.s") => "viscosity from timed runs",
        (kind, _) => kind.quantity(),
    }
}

/// A reading in the unit that people use.
pub(super) fn reading_words(blend: &BlendCalibration, value: f64) -> String {
    match blend.reading_unit.as_str() {
        "Pa.s" => display::viscosity_to(value, 3),
        "Pa" => display::pressure_to(value, 3),
        unit => format!("{} {unit}", display::significant(value, 3)),
    }
}

/// Lots, shear rates, temperature of reading, warm-up: one line each.
fn lines(blend: &BlendCalibration) -> Vec<String> {
    let mut lines = vec![lots_line(blend)];
    match blend.readings.iter().filter(|r| !r.used).count() {
        0 => {}
        1 => lines.push("One reading is left out of the fit and still drawn.".to_owned()),
        n => lines.push(format!(
            "{n} readings are left out of the fit and still drawn."
        )),
    }
    if let Some([low, high]) = blend.range.shear_rate_per_s {
        let mut rates: Vec<f64> = blend
            .readings
            .iter()
            .filter(|r| r.used)
            .filter_map(|r| r.shear_rate_per_s)
            .collect();
        rates.sort_by(f64::total_cmp);
        rates.dedup();
        lines.push(match rates.len() {
            0 | 1 => format!("Read at {} 1/s.", display::at_most(low, 3)),
            n => format!(
                "Read at {n} shear rates, {} to {} 1/s.",
                display::at_most(low, 3),
                display::at_most(high, 3)
            ),
        });
    } else if blend.answers_pushes() {
        lines.push("The bench does not say at which shear rate it read.".to_owned());
    }
    if let Some(kelvin) = blend.read_temp_k {
        lines.push(format!(
            "The gel was read at {}.",
            display::temperature(kelvin)
        ));
    }
    lines.push(match blend.warm_up() {
        WarmUp::None => {
            "Warm-up of the bench's gel: none declared; the fit takes the gel to be at the set temperature from the first moment.".to_owned()
        }
        declared => format!(
            "Warm-up of the bench's gel, from {}: {}.",
            display::temperature(blend.start_temp_k),
            history_words(&declared)
        ),
    });
    lines
}

fn lots_line(blend: &BlendCalibration) -> String {
    let mut lots: Vec<(Option<&str>, usize)> = Vec::new();
    for reading in blend.readings.iter().filter(|r| r.used) {
        let lot = reading.lot.as_deref();
        match lots.iter_mut().find(|(name, _)| *name == lot) {
            Some((_, count)) => *count += 1,
            None => lots.push((lot, 1)),
        }
    }
    lots.sort();
    match lots.as_slice() {
        [] | [(None, _)] => "Lots: not named.".to_owned(),
        several => {
            let words: Vec<String> = several
                .iter()
                .map(|(lot, count)| {
                    format!(
                        "{} ({})",
                        lot.unwrap_or("not named"),
                        counted(*count, "reading")
                    )
                })
                .collect();
            format!("Lots: {}.", words.join(", "))
        }
    }
}
