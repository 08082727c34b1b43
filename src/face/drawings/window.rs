//! The heat window: probability of passing and of being firm enough against heat time.

use super::error::DrawingError;
use super::words::{needle_words, push_words, words};
use crate::chart::{ProbabilityPoint, TimeSpan, WindowChart, WindowMark};
use crate::face::answer_words::alternatives_words;
use crate::face::time_words::{closed_words, step_s};
use crate::fit::{BlendCalibration, Calibration};
use crate::plan::{
    Least, RawWindow, TimeAnswer, TimeQuestion, WINDOW_PROBABILITY, WindowCurve, heat_time,
    window_curve,
};
use crate::units::display::{self, Rounding};

/// Steps of a curve: fine enough for the steps of thousands of draws.
const STEPS: u32 = 320;
/// Room past the heat times between which the probabilities move, as a share of the last.
const BEYOND: f64 = 1.08;
/// Where the axis begins, as a share of the first heat time at which a probability moves.
const BEFORE: f64 = 0.5;

/// Probability that a syringe passes, and that it is firm enough where that was asked, against heat
/// time.
///
/// # Errors
/// As for the answer about heat time.
pub fn window(
    calibration: &Calibration,
    blend: &BlendCalibration,
    question: &TimeQuestion,
) -> Result<WindowChart, DrawingError> {
    window_of(calibration, blend, question, &heat_time(blend, question)?)
}

/// The same for an answer that is at hand.
///
/// # Errors
/// As for [`window`].
pub fn window_of(
    calibration: &Calibration,
    blend: &BlendCalibration,
    question: &TimeQuestion,
    answer: &TimeAnswer,
) -> Result<WindowChart, DrawingError> {
    let curve = window_curve(blend, question)?;
    let [from_s, to_s] = shown_s(blend, question, &curve);
    let times: Vec<f64> = (0..=STEPS)
        .map(|step| from_s + (to_s - from_s) * f64::from(step) / f64::from(STEPS))
        .collect();
    let points = curve.points(&times);
    let probability = |time_s: f64, probability: f64| ProbabilityPoint {
        time_s,
        probability,
    };
    let raw = curve.window();
    let said = Said::new(answer);
    let open = answer.window_open;
    let mut words = words(
        calibration,
        blend,
        title(answer, question, &said),
        &push_words(blend, question),
    );
    words.extrapolated = answer.assumptions.extrapolated;
    words.note = format!(
        "Probabilities allow for {}; 'heatset time' says the same in numbers.\n{}",
        if blend.lots.as_ref().is_some_and(|lots| lots.are_separate()) {
            "a new lot and for every doubt of curve, needle, push and block"
        } else {
            "every doubt of curve, needle, push and block, not for another lot"
        },
        words.note
    );
    let limit = display::force(question.setup.force_limit_n);
    let [shortest, longest] = blend.range.heat_time_s;
    Ok(WindowChart {
        words,
        time_name: format!("heat time at {}", display::temperature(question.set_kelvin)),
        passing: points
            .iter()
            .map(|p| probability(p.heat_time_s, p.probability_of_passing))
            .collect(),
        passing_words: format!("passes under {limit}"),
        firmness: points
            .iter()
            .filter_map(|p| Some(probability(p.heat_time_s, p.probability_of_firmness?)))
            .collect(),
        firmness_words: firm_words(question),
        level: WINDOW_PROBABILITY,
        window: open.then(|| TimeSpan {
            from_s: answer.heat_time_s.not_before.unwrap_or(from_s),
            to_s: answer.heat_time_s.not_beyond.unwrap_or(to_s),
        }),
        window_words: "heat window: both in 19 syringes of 20".replace(
            "both",
            if question.least.is_some() {
                "both"
            } else {
                "passes"
            },
        ),
        aim: answer.heat_time_s.aim.map(|time_s| WindowMark {
            time_s,
            words: format!("aim {}", said.down(time_s)),
        }),
        ends: ends(answer, raw, [from_s, to_s], &said),
        boxed_words: if open {
            String::new()
        } else {
            format!(
                "No heat window. {}",
                alternatives_words(&answer.alternatives, &answer.limited_by)
            )
        },
        measured_time: Some(TimeSpan {
            from_s: shortest,
            to_s: longest,
        }),
        ..WindowChart::default()
    })
}

/// What the chart of a window says, in a sentence: its title, and its words for who does not see it.
#[cfg(feature = "page")]
pub(crate) fn window_finding(answer: &TimeAnswer, question: &TimeQuestion) -> String {
    title(answer, question, &Said::new(answer)).replace('\u{a0}', " ")
}

/// Heat times in words, to the step of the answer and to the safe side.
struct Said {
    step_s: f64,
}

impl Said {
    fn new(answer: &TimeAnswer) -> Self {
        let step_s = step_s(answer);
        let window = answer.heat_time_s;
        Self {
            // A narrow window is not rounded away.
            step_s: match (window.not_before, window.not_beyond) {
                (Some(first), Some(last)) => step_s.min(((last - first) / 3.0).max(1.0)),
                _ => step_s,
            },
        }
    }

    fn down(&self, time_s: f64) -> String {
        let step_s = self.step_s.min(time_s.max(1.0));
        kept(display::duration_rounded(time_s, step_s, Rounding::Down))
    }

    fn up(&self, time_s: f64) -> String {
        kept(display::duration_rounded(time_s, self.step_s, Rounding::Up))
    }
}

/// Kept together where a title is wrapped.
fn kept(words: String) -> String {
    words.replace(' ', "\u{a0}")
}

/// The heat times that are drawn: measured ones, unless others were asked for.
fn shown_s(blend: &BlendCalibration, question: &TimeQuestion, curve: &WindowCurve) -> [f64; 2] {
    let [shortest, longest] = blend.range.heat_time_s;
    let [first_s, last_s] = curve.moving_s();
    let to_s = if last_s.is_finite() {
        BEYOND * last_s
    } else {
        longest
    };
    let from_s = if first_s.is_finite() {
        BEFORE * first_s
    } else {
        shortest
    };
    let [from_s, to_s] = if question.extrapolate {
        [from_s, to_s]
    } else {
        [from_s.max(shortest), to_s.min(longest)]
    };
    // Where nothing moves within what was measured, all of that is drawn.
    if to_s > from_s {
        [from_s, to_s]
    } else {
        [shortest, longest]
    }
}

fn firm_words(question: &TimeQuestion) -> String {
    match question.least {
        None => String::new(),
        Some(Least::Force(force_n)) => {
            format!(
                "firm enough: pushes with {} or more",
                display::force(force_n)
            )
        }
        Some(Least::Reading(reading)) => {
            format!("firm enough: reads {} or more", display::viscosity(reading))
        }
    }
}

/// Both ends of an open window; of an empty one, where they would be if that is shown.
fn ends(
    answer: &TimeAnswer,
    raw: RawWindow,
    [from_s, to_s]: [f64; 2],
    said: &Said,
) -> Vec<WindowMark> {
    let (not_before, not_beyond) = if answer.window_open {
        (answer.heat_time_s.not_before, answer.heat_time_s.not_beyond)
    } else {
        (raw.not_before_s, Some(raw.not_beyond_s))
    };
    let mark = |time_s: Option<f64>, words: fn(&Said, f64) -> String| {
        let time_s = time_s.filter(|time_s| *time_s >= from_s && *time_s <= to_s)?;
        Some(WindowMark {
            time_s,
            words: words(said, time_s),
        })
    };
    let not_before = mark(not_before, |said, t| format!("not before {}", said.up(t)));
    let not_beyond = mark(not_beyond, |said, t| format!("not beyond {}", said.down(t)));
    not_before.into_iter().chain(not_beyond).collect()
}

fn title(answer: &TimeAnswer, question: &TimeQuestion, said: &Said) -> String {
    if !answer.window_open {
        return closed_words(answer, question);
    }
    let place = display::temperature(question.set_kelvin);
    let needle = needle_words(question);
    let window = answer.heat_time_s;
    let aim = window
        .aim
        .map_or_else(String::new, |t| format!("; aim for {}", said.down(t)));
    let until = match window.not_beyond {
        Some(t) => format!("until {}", said.down(t)),
        None if answer.limited_by == "measured range" => {
            "at every heat time that was measured".to_owned()
        }
        None => "however long it is heated".to_owned(),
    };
    match window.not_before {
        Some(t) => format!(
            "At {place} the gel is firm enough from {} and passes {needle} {until}, in 19 syringes of 20{aim}",
            said.up(t)
        ),
        None => {
            format!("At {place} the gel passes {needle} {until}, in 19 syringes of 20{aim}")
        }
    }
}
