//! The windows of other needles and of slower pushes, each with a link that sets the control.

use super::super::query::Asked;
use super::answer::borrowed;
use super::faults::Fault;
use super::keys;
use super::push_read::gauges_of;
use super::questions::{Answered, Asking};
use super::said::until_words;
use super::tiles::swatch;
use crate::face::time_words::step_s;
use crate::plan::{NeedleUsed, PlanError, PushSetup, PushWindow, needle_windows, other_pushes};
use crate::reference::hub_colour;
use crate::units::display::{self, Rounding};
use maud::{Markup, html};

/// Gauges that are commonly at hand.
pub(super) const USUAL_GAUGES: [u8; 8] = [22, 23, 25, 26, 27, 29, 30, 32];
/// How many wider and finer needles are told.
const NEIGHBOURS: (usize, usize) = (3, 2);
/// Slower pushes, as a share of the speed.
const SLOWER: [f64; 3] = [0.7, 0.5, 0.25];

/// One row: what changes, and the window then.
struct Row {
    needle: Option<u8>,
    words: String,
    pairs: Vec<(&'static str, String)>,
    setup: PushSetup,
}

/// The table.
pub(super) fn others(asking: &Asking<'_>, answered: &Answered, asked: &Asked) -> Markup {
    let drawn = rows(asking, answered).and_then(|rows| {
        let setups: Vec<PushSetup> = rows.iter().map(|row| row.setup.clone()).collect();
        let windows = other_pushes(asking.blend(), &answered.question, &setups)?;
        Ok(rows.into_iter().zip(windows).collect::<Vec<_>>())
    });
    match drawn {
        Err(error) => super::beside::refused(&Fault::of_plan(&error)),
        Ok(rows) => html! {
            (every_needle(asking, answered, asked))
            (table(answered, asked, &rows))
        },
    }
}

/// The windows of all needles, where any of them was asked for.
fn every_needle(asking: &Asking<'_>, answered: &Answered, asked: &Asked) -> Markup {
    let any_of = &asking.setting.pushed.any_of;
    if any_of.is_empty() {
        return html! {};
    }
    let needles = match needle_windows(asking.blend(), &answered.question, any_of) {
        Err(error) => return super::beside::refused(&Fault::of_plan(&error)),
        Ok(needles) => needles,
    };
    let step = step_s(&answered.answer);
    let least = needles.iter().any(|n| n.heat_time_s.not_before.is_some());
    html! {
        details.plain open {
            summary { "Every needle of the table" }
            div.wide {
                table {
                    thead { tr {
                        th scope="col" { "Needle" }
                        th scope="col" { "Bore" }
                        @if least { th scope="col" { "Firm from" } }
                        th scope="col" { "Passes until" }
                    } }
                    tbody {
                        @for needle in &needles {
                            @let gauge = needle.gauge.unwrap_or(0);
                            tr {
                                th scope="row" {
                                    (swatch(gauge))
                                    a href=(asked.with("/heat", &[(keys::GAUGE, &gauge.to_string())])) { (gauge) "G" }
                                    " " (hub_colour(gauge).map_or("", |hub| hub.name))
                                }
                                td { (display::length_mm(needle.bore_m)) }
                                @if least {
                                    td { (needle.heat_time_s.not_before.map_or_else(|| "-".to_owned(), |t| display::duration_rounded(t, step, Rounding::Up))) }
                                }
                                td { (until_words(needle.window_open, needle.heat_time_s.not_beyond, &needle.limited_by, step)) }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn rows(asking: &Asking<'_>, answered: &Answered) -> Result<Vec<Row>, PlanError> {
    let setup = &answered.question.setup;
    let asked = &setup.needle;
    let mut needles: Vec<NeedleUsed> = Vec::new();
    // Where any needle was asked for, all of them are told above.
    if answered.answer.needles.is_none() {
        let known = gauges_of(asking.setting.pushed.wall)?;
        for gauge in USUAL_GAUGES.into_iter().filter(|g| known.contains(g)) {
            needles.push(NeedleUsed::of_gauge(
                gauge,
                asking.setting.pushed.wall,
                asking.setting.pushed.basis,
                asked.length_m,
            )?);
        }
        needles.sort_by(|a, b| b.bore_m.total_cmp(&a.bore_m));
    }
    let other = |needle: &&NeedleUsed| needle.gauge != asked.gauge;
    let wider = needles
        .iter()
        .filter(other)
        .filter(|n| n.bore_m >= asked.bore_m);
    let finer = needles
        .iter()
        .filter(other)
        .filter(|n| n.bore_m < asked.bore_m);
    let skipped = wider.clone().count().saturating_sub(NEIGHBOURS.0);
    let by_needle = wider
        .skip(skipped)
        .chain(finer.take(NEIGHBOURS.1))
        .map(|needle| Row {
            needle: needle.gauge,
            words: needle.label(),
            pairs: vec![(
                keys::GAUGE,
                needle.gauge.map(|g| g.to_string()).unwrap_or_default(),
            )],
            setup: setup.through(needle.clone()),
        });
    let by_speed = SLOWER.iter().map(|share| {
        let flow_rate_m3_per_s = share * setup.flow_rate_m3_per_s;
        let mut pairs: Vec<(&'static str, String)> = keys::FLOW
            .keys()
            .into_iter()
            .map(|key| (key, String::new()))
            .collect();
        pairs.push(keys::FLOW.pair(flow_rate_m3_per_s));
        Row {
            needle: None,
            words: format!(
                "{}, at {}",
                setup.needle.label(),
                display::flow_rate(flow_rate_m3_per_s)
            ),
            pairs,
            setup: PushSetup {
                flow_rate_m3_per_s,
                ..setup.clone()
            },
        }
    });
    Ok(by_needle.chain(by_speed).collect())
}

fn table(answered: &Answered, asked: &Asked, rows: &[(Row, Option<PushWindow>)]) -> Markup {
    let step = step_s(&answered.answer);
    let least = answered.question.least.is_some();
    let down =
        |time_s: f64| display::duration_rounded(time_s, step.min(time_s.max(1.0)), Rounding::Down);
    html! {
        div.wide {
            table {
                caption { "The same push of " (display::force(answered.question.setup.force_limit_n)) ", otherwise" }
                thead { tr {
                    th scope="col" { "With" }
                    @if least { th scope="col" { "Firm from" } }
                    th scope="col" { "Passes until" }
                    th scope="col" { "Aim" }
                } }
                tbody {
                    @for (row, window) in rows {
                        tr {
                            th scope="row" {
                                @if let Some(gauge) = row.needle { (swatch(gauge)) }
                                a href=(asked.with("/heat", &borrowed(&row.pairs))) { (row.words) }
                                @if let Some(hub) = row.needle.and_then(hub_colour) { " " span.hint { (hub.name) } }
                            }
                            @match window {
                                None => { td colspan=(if least { 3 } else { 2 }) { "friction takes all of the push" } }
                                Some(window) => {
                                    @if least {
                                        td { (window.heat_time_s.not_before.map_or_else(|| "-".to_owned(), |t| display::duration_rounded(t, step, Rounding::Up))) }
                                    }
                                    td { (until_words(window.window_open, window.heat_time_s.not_beyond, &window.limited_by, step)) }
                                    td { (window.heat_time_s.aim.map_or_else(|| "-".to_owned(), down)) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}
