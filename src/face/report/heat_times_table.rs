//! The table 'heat time by needle', with everything that it takes for granted under it.

use super::heat_times::{DRAWS, HeatTimes};
use super::markup::{heading_words, wide};
use super::measured::AtTemperature;
use crate::face::{answer_words, cautions, time_words};
use crate::fit::{BlendCalibration, Warning};
use crate::plan::{FlowIndexSource, TimeAnswer};
use crate::units::display::{self, Rounding};
use maud::{Markup, html};

/// Stands where an answer lies outside the heat times read at its own temperature.
const OUTSIDE_MARK: &str = "†";
/// Warnings that the notes under the table say in their own words, or the document elsewhere.
const SAID_ELSEWHERE: [&str; 7] = [
    "invented_data",
    "one_lot",
    "lots_pooled",
    "shear_rate_outside",
    "shear_rate_unknown",
    "no_warm_up",
    "warm_up_not_counted",
];

/// The part of a blend's section.
pub(super) fn part(blend: &BlendCalibration, answers: &HeatTimes, invented: bool) -> Markup {
    let refusals = answers.refusals(blend);
    html! {
        h3 { (heading_words("Heat time by needle", invented)) }
        @if answers.given().next().is_none() {
            p { "This calibration answers no question about a push." }
            @for reason in refusals { p.said { (reason) } }
        } @else {
            (wide("Heat time by needle", &table(answers, invented)))
            ul.notes {
                @for note in notes(blend, answers) { li { (note) } }
                @for reason in refusals { li.said { "Not answered: " (reason) } }
            }
            p.caution { (cautions::SHORT.replace("   heatset cautions", "").replace('\n', " ")) }
        }
    }
}

fn table(answers: &HeatTimes, invented: bool) -> Markup {
    html! {
        table.heat-times {
            caption {
                "How long until the gel no longer passes under "
                (display::force(answers.setup.force_limit_n))
                ", by needle (" (display::length_mm(answers.setup.needle.length_m))
                ", regular wall) and block temperature"
                @if invented { ": invented data" }
            }
            thead {
                tr {
                    th scope="col" { "Needle" }
                    @for temperature in &answers.temperatures {
                        th scope="col" {
                            (display::temperature(temperature.kelvin))
                            span.small { "read at " (read_words(temperature)) }
                        }
                    }
                }
            }
            tbody {
                @for row in &answers.rows {
                    tr {
                        th scope="row" {
                            (row.needle.gauge.map_or_else(|| row.needle.label(), |g| format!("{g}G")))
                            span.small { "bore " (display::at_most(row.needle.bore_m * 1e3, 2)) " mm" }
                        }
                        @for (answer, temperature) in row.answers.iter().zip(&answers.temperatures) {
                            td { (cell(answer.as_ref().ok(), temperature)) }
                        }
                    }
                }
            }
        }
    }
}

fn read_words(temperature: &AtTemperature) -> String {
    if temperature.first_s == temperature.last_s {
        display::duration(temperature.first_s)
    } else {
        format!(
            "{} to {}",
            display::duration(temperature.first_s),
            display::duration(temperature.last_s)
        )
    }
}

fn cell(answer: Option<&TimeAnswer>, temperature: &AtTemperature) -> Markup {
    let Some(answer) = answer else {
        return html! { "not answered" };
    };
    if !answer.window_open {
        let least_n = answer.force_at_shortest_n;
        return html! {
            "does not pass"
            span.small {
                "about " (display::force_to(least_n, 2))
                @if least_n > answer.assumptions.force_limit_n { " at the least" }
                @else { ", too unsure" }
            }
        };
    }
    let window = answer.heat_time_s;
    let outside = |time_s: f64| time_s > temperature.last_s || time_s < temperature.first_s;
    // As in the spoken answer: rounded down, never later than the limit.
    let words = |time_s: f64| {
        let step_s = time_words::step_s(answer).min(time_s.max(1.0));
        display::duration_rounded(time_s, step_s, Rounding::Down)
    };
    match (window.not_beyond, window.aim) {
        (Some(until_s), aim) => html! {
            "until " (words(until_s))
            @if outside(until_s) { "\u{a0}" (OUTSIDE_MARK) }
            @if let Some(aim_s) = aim { span.small { "aim " (words(aim_s)) } }
        },
        (None, aim) => html! {
            "every time measured"
            @if let Some(aim_s) = aim && aim_s < temperature.last_s {
                span.small { "aim " (words(aim_s)) }
            }
        },
    }
}

fn notes(blend: &BlendCalibration, answers: &HeatTimes) -> Vec<String> {
    let limit = display::force(answers.setup.force_limit_n);
    let [shortest_s, longest_s] = blend.range.heat_time_s;
    let mut notes = vec![format!(
        "'Until': so long, 19 syringes in 20 still pass under {limit}. 'Aim': 99 in 100 do. Times are rounded down."
    )];
    if answers.given().any(|a| !a.window_open) {
        notes.push(format!(
            "'Does not pass': already after the shortest heat time measured ({}) more than 1 syringe in 20 would need over {limit}; the force named is that of the estimates then. What helps: a wider needle, a slower push, a smaller syringe or less heat, never a harder push.",
            display::duration(shortest_s)
        ));
    }
    if answers
        .given()
        .any(|a| a.window_open && a.heat_time_s.not_beyond.is_none())
    {
        notes.push(format!(
            "'Every time measured': at every heat time read at that temperature, and by the fitted law up to {}, the longest of the bench at any temperature.",
            display::duration(longest_s)
        ));
    }
    let outside = answers.rows.iter().any(|row| {
        row.answers
            .iter()
            .zip(&answers.temperatures)
            .any(|(answer, temperature)| {
                answer
                    .as_ref()
                    .ok()
                    .and_then(|a| a.heat_time_s.not_beyond)
                    .is_some_and(|t| t > temperature.last_s || t < temperature.first_s)
            })
    });
    if outside {
        notes.push(format!(
            "{OUTSIDE_MARK} lies outside the heat times read at this temperature: it rests on the other temperatures and the fitted law."
        ));
    }
    notes.extend(warm_up_note(answers));
    notes.push(match blend.lots.as_ref().map(|l| (l.count, l.are_separate())) {
        Some((count, true)) => format!(
            "A new lot is allowed for, from the spread between {count} lots."
        ),
        Some((count, false)) if count > 1 => format!(
            "The {count} lots are fitted as one: a new lot may lie further off than these times allow."
        ),
        _ => "The spread between lots is unknown: these times speak of the plasma measured, not of the next person's.".to_owned(),
    });
    notes.extend(assumed_note(answers));
    notes.extend(shear_note(blend, answers));
    notes.extend(other_warnings(answers));
    notes
}

fn warm_up_note(answers: &HeatTimes) -> Option<String> {
    let assumed = &answers.given().next()?.assumptions;
    Some(match assumed.warm_up_s {
        Some(lag_s) => format!(
            "Clock time from putting the syringe in; a warm-up lag of {} is counted.",
            display::duration(lag_s)
        ),
        None => "Time at the block's temperature: what a cold syringe needs to warm up comes on top and is not in these times. What helps: the lag of your syringe, --warm-up 40s.".to_owned(),
    })
}

fn assumed_note(answers: &HeatTimes) -> Option<String> {
    let assumed = &answers.given().next()?.assumptions;
    let setup = &answers.setup;
    Some(format!(
        "Assumed: {}; {}; stopper friction {}{}; nominal bores with their tolerance; {}; gel pushed at the temperature of its readings; no pressure from tissue; locking joint. {DRAWS} draws a cell, seed {}.",
        setup.barrel.label(),
        display::flow_rate(setup.flow_rate_m3_per_s),
        display::force(setup.friction_n),
        if setup.friction_is_default {
            " (usual)"
        } else {
            ""
        },
        answer_words::flow_index_words(assumed),
        answers.seed
    ))
}

/// What the needles do to the gel against what the bench did.
fn shear_note(blend: &BlendCalibration, answers: &HeatTimes) -> Option<String> {
    let rates: Vec<f64> = answers
        .given()
        .filter_map(|a| a.at_aim.as_ref().map(|aim| aim.wall_shear_rate_per_s))
        .collect();
    let low = rates.iter().copied().fold(f64::INFINITY, f64::min);
    let high = rates.iter().copied().fold(0.0_f64, f64::max);
    if !low.is_finite() {
        return None;
    }
    let bench = match blend.range.shear_rate_per_s {
        Some([from, to]) if low >= from && high <= to => return None,
        Some([from, to]) if from == to => {
            format!("the bench read at {} 1/s", display::at_most(from, 3))
        }
        Some([from, to]) => {
            format!(
                "the bench read at {} to {} 1/s",
                display::at_most(from, 3),
                display::at_most(to, 3)
            )
        }
        None => "the bench does not say at which shear rate it read".to_owned(),
    };
    let carried = match answers.given().next()?.assumptions.flow_index_source {
        FlowIndexSource::Assumed => {
            "No shear thinning is known, so none is counted; a gel that thins needs less force and passes for longer."
        }
        FlowIndexSource::Stated => "The stated flow index carries it there: an extrapolation.",
        FlowIndexSource::Fitted => "The fitted flow index carries it there: an extrapolation.",
    };
    Some(format!(
        "The needles shear the gel at {} to {} 1/s, {bench}. {carried}",
        display::significant(low, 2),
        display::significant(high, 2)
    ))
}

/// Every further warning once, with the number of cells that it holds for.
fn other_warnings(answers: &HeatTimes) -> Vec<String> {
    let mut seen: Vec<(&Warning, &TimeAnswer, usize)> = Vec::new();
    for answer in answers.given().filter(|a| a.window_open) {
        for warning in answer
            .warnings
            .iter()
            .filter(|w| !SAID_ELSEWHERE.contains(&w.code.as_str()))
        {
            match seen
                .iter_mut()
                .find(|(known, _, _)| known.code == warning.code)
            {
                Some((_, _, count)) => *count += 1,
                None => seen.push((warning, answer, 1)),
            }
        }
    }
    seen.into_iter()
        .map(|(warning, answer, count)| {
            format!(
                "{} at {}{}: {}",
                answer.assumptions.needle,
                display::temperature(answer.heat_temp_k),
                if count > 1 {
                    format!(" (and {} more cells)", count - 1)
                } else {
                    String::new()
                },
                warning.message
            )
        })
        .collect()
}
