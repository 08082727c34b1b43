//! Equal plunger force over block temperature and heat time: a chart for the wall.

use super::error::DrawingError;
use super::words::{needle_words, push_words, words};
use crate::chart::{
    AxisKind, ChartError, Colour, ContourRank, EffortBand, IsoForceChart, IsoForceContour,
    IsoForcePoint, MeasuredRange, TemperatureSpan, TimeSpan,
};
use crate::fit::{BlendCalibration, Calibration};
use crate::plan::{IsoForceTimes, TimeQuestion, iso_force_times};
use crate::reference::{Hands, hands};
use crate::thermal::hottest_block_kelvin;
use crate::units::ColumnUnit;
use crate::units::display::{self, Rounding};

/// Round forces, in N.
const ROUND_N: [f64; 6] = [5.0, 10.0, 15.0, 20.0, 30.0, 40.0];
/// Steps of a contour over the temperatures.
const STEPS: u32 = 64;
/// Steps of the contour that needs draws.
const DRAWN_STEPS: u32 = 16;
/// Draws behind that contour at each temperature.
const DRAWS: usize = 2000;
/// Temperatures that people set, in K: multiples of these are drawn for the title's sake.
const ROUND_KELVIN: f64 = 5.0;
/// How far a chart that may leave the measured temperatures does, in K.
const BEYOND_KELVIN: f64 = 5.0;
/// Temperatures as close as this are one, in K.
const SAME_KELVIN: f64 = 1e-6;
/// Room before the least and after the greatest heat time of a contour, as a ratio.
const ROOM: f64 = 1.4;
/// Ratio of heat times from which on the axis has equal ratios.
const LOG_FROM: f64 = 8.0;

/// Contours of equal plunger force for one needle over block temperature and heat time.
///
/// # Errors
/// As for the answer about heat time; readings of a single temperature.
pub fn iso_force(
    calibration: &Calibration,
    blend: &BlendCalibration,
    question: &TimeQuestion,
) -> Result<IsoForceChart, DrawingError> {
    let [coldest, hottest] = blend.range.heat_temp_k;
    if hottest - coldest < SAME_KELVIN {
        return Err(ChartError::NothingToDraw {
            chart: "iso-force",
            reason: "all readings are of one temperature, and it is drawn against temperature",
        }
        .into());
    }
    let [low, high] = if question.extrapolate {
        [
            coldest - BEYOND_KELVIN,
            hottest.max((hottest + BEYOND_KELVIN).min(hottest_block_kelvin(question.altitude_m))),
        ]
    } else {
        [coldest, hottest]
    };
    let hands = hands()?;
    let limit_n = question.setup.force_limit_n;
    let round: Vec<f64> = ROUND_N.into_iter().filter(|n| *n != limit_n).collect();
    let edges = [
        hands.easy_below_n,
        hands.great_effort_from_n,
        hands.not_injectable_from_n,
    ];
    let forces: Vec<f64> = [limit_n]
        .into_iter()
        .chain(round.clone())
        .chain(edges)
        .collect();
    let fine = iso_force_times(blend, question, &evenly(low, high, STEPS), &forces, 0)?;
    let drawn = iso_force_times(
        blend,
        question,
        &with_round(evenly(low, high, DRAWN_STEPS)),
        &[],
        question.draws.min(DRAWS),
    )?;
    let column = |index: usize| contour_points(&fine, |at| at.heat_time_s.get(index).copied());
    let not_beyond = contour_points(&drawn, |at| at.not_beyond_s);
    let limit = display::force(limit_n);
    let mut contours = vec![
        IsoForceContour {
            label: format!("limit {limit}"),
            words: format!("limit {limit}, by the point estimates"),
            rank: ContourRank::Limit,
            points: column(0),
        },
        IsoForceContour {
            label: "1 in 20".to_owned(),
            words: format!("1 syringe in 20 takes over {limit}"),
            rank: ContourRank::OneInTwenty,
            points: not_beyond,
        },
    ];
    contours.extend(round.iter().enumerate().map(|(i, n)| IsoForceContour {
        label: display::force(*n),
        words: String::new(),
        rank: ContourRank::Round,
        points: column(1 + i),
    }));
    let edge = |i: usize| column(1 + round.len() + i);
    let [shortest, longest] = blend.range.heat_time_s;
    let times = shown_s(&contours, [shortest, longest], question.extrapolate);
    let log = times.from_s > 0.0 && times.to_s > LOG_FROM * times.from_s;
    let mut words = words(
        calibration,
        blend,
        title(question, &drawn, [shortest, longest], [coldest, hottest]),
        &push_words(blend, question),
    );
    words.extrapolated = question.extrapolate;
    words.note = format!(
        "Colours: {}. Lines of equal force by the point estimates; the dashed one allows for lot, needle, push and block, from {} draws a temperature.\n{}",
        hands.band_source.text,
        question.draws.min(DRAWS),
        words.note
    );
    Ok(IsoForceChart {
        words,
        time_name: "heat time on the clock".to_owned(),
        time_axis: if log { AxisKind::Log } else { AxisKind::Linear },
        temperatures: span_celsius(low, high),
        times,
        legend_heading: format!("push by hand through {}", question.setup.needle.label()),
        bands: bands(&hands, [edge(0), edge(1), edge(2)]),
        contours,
        measured: Some(MeasuredRange {
            temperatures: span_celsius(coldest, hottest),
            times: TimeSpan {
                from_s: shortest,
                to_s: longest,
            },
        }),
    })
}

fn celsius(kelvin: f64) -> f64 {
    ColumnUnit::of_suffix("_C").map_or(f64::NAN, |unit| unit.from_si(kelvin))
}

fn span_celsius(low_kelvin: f64, high_kelvin: f64) -> TemperatureSpan {
    TemperatureSpan {
        from_celsius: celsius(low_kelvin),
        to_celsius: celsius(high_kelvin),
    }
}

fn evenly(low: f64, high: f64, steps: u32) -> Vec<f64> {
    (0..=steps)
        .map(|i| low + (high - low) * f64::from(i) / f64::from(steps))
        .collect()
}

/// The same with the round temperatures in °C between, which a title can name.
fn with_round(mut kelvins: Vec<f64>) -> Vec<f64> {
    let Some((low, high)) = kelvins.first().copied().zip(kelvins.last().copied()) else {
        return kelvins;
    };
    let offset = low - celsius(low);
    let first = (celsius(low) / ROUND_KELVIN).ceil() * ROUND_KELVIN + offset;
    let count = ((high - first) / ROUND_KELVIN).floor().clamp(-1.0, 200.0) as i32;
    for index in 0..=count {
        let round = first + f64::from(index) * ROUND_KELVIN;
        if kelvins.iter().all(|k| (k - round).abs() > SAME_KELVIN) {
            kelvins.push(round);
        }
    }
    kelvins.sort_by(f64::total_cmp);
    kelvins
}

fn contour_points(
    columns: &[IsoForceTimes],
    time_s: impl Fn(&IsoForceTimes) -> Option<f64>,
) -> Vec<IsoForcePoint> {
    columns
        .iter()
        .filter_map(|at| {
            Some(IsoForcePoint {
                temperature_celsius: celsius(at.set_kelvin),
                time_s: time_s(at)?,
            })
        })
        .collect()
}

/// The heat times that the contours need, within the measured ones unless others were asked for.
fn shown_s(contours: &[IsoForceContour], measured: [f64; 2], extrapolate: bool) -> TimeSpan {
    let [shortest, longest] = measured;
    let [least, most] = if extrapolate {
        [0.5 * shortest, 2.0 * longest]
    } else {
        measured
    };
    let (first, last) = contours
        .iter()
        .flat_map(|contour| &contour.points)
        .map(|point| point.time_s)
        .filter(|s| s.is_finite() && *s > 0.0)
        .fold((f64::INFINITY, 0.0_f64), |(low, high), s| {
            (low.min(s), high.max(s))
        });
    let span = TimeSpan {
        from_s: (first / ROOM).max(least),
        to_s: (last * ROOM).min(most),
    };
    if span.to_s > span.from_s && span.from_s.is_finite() {
        span
    } else {
        TimeSpan {
            from_s: shortest,
            to_s: longest,
        }
    }
}

/// The published bands, each between the heat times at which it begins and ends.
fn bands(hands: &Hands, edges: [Vec<IsoForcePoint>; 3]) -> Vec<EffortBand> {
    let [easy, great, beyond] = edges;
    let number = |n: f64| display::at_most(n, 3);
    let band = |words: String, colour: (u8, u8, u8), from, to| EffortBand {
        words,
        colour: Colour::new(colour.0, colour.1, colour.2),
        from,
        to,
    };
    vec![
        band(
            format!("easy, under {}", display::force(hands.easy_below_n)),
            (0x00, 0x9E, 0x73),
            Vec::new(),
            easy.clone(),
        ),
        band(
            format!(
                "considerable effort, {} to {}",
                number(hands.easy_below_n),
                display::force(hands.great_effort_from_n)
            ),
            (0xE6, 0x9F, 0x00),
            easy,
            great.clone(),
        ),
        band(
            format!(
                "great effort, {} to {}",
                number(hands.great_effort_from_n),
                display::force(hands.not_injectable_from_n)
            ),
            (0xD5, 0x5E, 0x00),
            great,
            beyond.clone(),
        ),
        band(
            format!(
                "more than hands managed, over {}",
                display::force(hands.not_injectable_from_n)
            ),
            (0x6E, 0x6E, 0x6E),
            beyond,
            Vec::new(),
        ),
    ]
}

/// How long a gel passes at the coldest and at the hottest round temperature where that ends within
/// the measured heat times.
fn title(
    question: &TimeQuestion,
    drawn: &[IsoForceTimes],
    [shortest, longest]: [f64; 2],
    [coldest, hottest]: [f64; 2],
) -> String {
    let needle = needle_words(question);
    let limit = display::force(question.setup.force_limit_n);
    let measured = || {
        drawn.iter().filter(|at| {
            at.set_kelvin > coldest - SAME_KELVIN && at.set_kelvin < hottest + SAME_KELVIN
        })
    };
    let is_round = |kelvin: f64| {
        let steps = celsius(kelvin) / ROUND_KELVIN;
        (steps - steps.round()).abs() < SAME_KELVIN
    };
    let ending: Vec<(f64, f64)> = measured()
        .filter_map(|at| Some((at.set_kelvin, at.not_beyond_s?)))
        .filter(|(_, s)| *s >= shortest && *s <= longest)
        .collect();
    let round: Vec<(f64, f64)> = ending
        .iter()
        .copied()
        .filter(|(kelvin, _)| is_round(*kelvin))
        .collect();
    let said = if round.is_empty() { &ending } else { &round };
    let words = |(kelvin, time_s): &(f64, f64)| {
        let step_s = match *time_s {
            s if s < 600.0 => 10.0,
            s if s < 3600.0 => 30.0,
            _ => 60.0,
        };
        format!(
            "until {} at {}",
            display::duration_rounded(*time_s, step_s, Rounding::Down),
            display::temperature(*kelvin)
        )
        .replace(' ', "\u{a0}")
    };
    match said.as_slice() {
        [first, .., last] => format!(
            "19 syringes of 20 pass {needle} under {limit} {}, {}",
            words(first),
            words(last)
        ),
        [only] => format!(
            "19 syringes of 20 pass {needle} under {limit} {}",
            words(only)
        ),
        [] if measured().all(|at| at.not_beyond_s.is_some_and(|s| s < shortest)) => format!(
            "At no measured temperature and heat time do 19 syringes of 20 pass {needle} under {limit}"
        ),
        [] => format!(
            "19 syringes of 20 pass {needle} under {limit} at every measured heat time, from {} to {}",
            display::temperature(coldest),
            display::temperature(hottest)
        ),
    }
}
