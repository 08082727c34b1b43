//! Push against standing time.

use super::CURVE_POINTS;
use super::error::DrawingError;
use super::words::words;
use crate::chart::{
    Colour, ForceBand, ForceLimit, ForcePoint, ForceZone, StandingChart, StandingLine,
};
use crate::face::standing_words::stood;
use crate::fit::{BlendCalibration, Calibration};
use crate::plan::{
    AtStorage, NOT_A_SHELF_LIFE, StandQuestion, stand, standing_curve, standing_readings,
};
use crate::reference::hands;
use crate::units::display;

/// A reading belongs to the line of a storage temperature this near, in K.
const SAME_KELVIN: f64 = 2.0;

/// What a chart of standing is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct StandingDrawing {
    /// The question.
    pub question: StandQuestion,
    /// Whether the set temperature lies outside the measured ones, and was asked for all the same.
    pub extrapolated: bool,
}

/// Push through a needle against standing time, one line a storage temperature, as far as measured.
///
/// # Errors
/// As for the answers about standing.
pub fn standing(
    calibration: &Calibration,
    blend: &BlendCalibration,
    asked: &StandingDrawing,
) -> Result<StandingChart, DrawingError> {
    let question = &asked.question;
    let answer = stand(blend, question)?;
    let measured = standing_readings(blend, question)?;
    let hands = hands()?;
    let limit_n = question.setup.force_limit_n;
    let mut lines = Vec::with_capacity(answer.at.len());
    for (place, at) in answer.at.iter().enumerate() {
        let longest_s = at.push_after.last().map_or(0.0, |push| push.stand_time_s);
        let times: Vec<f64> = (0..=CURVE_POINTS)
            .map(|i| longest_s * i as f64 / CURVE_POINTS as f64)
            .collect();
        let curve = standing_curve(blend, question, at.stand_temp_k, &times)?;
        let points = measured
            .iter()
            .filter(|reading| match reading.stand_temp_kelvin {
                Some(kelvin) => (kelvin - at.stand_temp_k).abs() <= SAME_KELVIN,
                None => place == 0,
            })
            .map(|reading| ForcePoint {
                time_s: reading.stand_time_s,
                plunger_force_n: reading.plunger_force_n,
            })
            .collect();
        lines.push(StandingLine {
            label: display::temperature(at.stand_temp_k),
            points,
            curve: curve
                .iter()
                .map(|p| ForcePoint {
                    time_s: p.stand_time_s,
                    plunger_force_n: p.plunger_force_n.point,
                })
                .collect(),
            band: curve
                .iter()
                .map(|p| ForceBand {
                    time_s: p.stand_time_s,
                    low_n: p.plunger_force_n.interval95[0],
                    high_n: p.plunger_force_n.interval95[1],
                })
                .collect(),
        });
    }
    let mut words = words(
        calibration,
        blend,
        title(&answer.at, answer.passes_at_once, question),
        &format!(
            ", {} after standing; {}, {}, heated {} at {}",
            blend.standing.as_ref().map_or(0, |standing| standing.rows),
            question.setup.needle.label(),
            question.setup.barrel.label(),
            display::duration(question.heat_time_s),
            display::temperature(question.set_kelvin)
        ),
    );
    words.extrapolated = asked.extrapolated || answer.assumptions.extrapolated;
    words.note = format!("{NOT_A_SHELF_LIFE}\n{}", words.note);
    Ok(StandingChart {
        words,
        zones: vec![ForceZone {
            from_n: 0.0,
            to_n: hands.easy_below_n,
            words: format!(
                "easy push (under {}, Robinson 2020)",
                display::force(hands.easy_below_n)
            ),
            colour: Colour::new(0, 158, 115),
        }],
        limit: Some(ForceLimit {
            plunger_force_n: limit_n,
            label: format!("limit {}", display::force(limit_n)),
        }),
        up_to_n: Some(1.6 * limit_n.max(hands.target_n)),
        lines,
        ..StandingChart::default()
    })
}

/// The finding; it never leaves out what it is not.
fn title(at: &[AtStorage], passes_at_once: bool, question: &StandQuestion) -> String {
    let needle = question.setup.needle.label().replace(' ', "\u{a0}");
    if !passes_at_once {
        return format!("The gel does not pass {needle} reliably even at once (not a shelf life)");
    }
    let measured = |at: &AtStorage| {
        at.measured_until_s
            .map_or_else(|| "what was measured elsewhere".to_owned(), stood)
    };
    let place = |at: &AtStorage| display::temperature(at.stand_temp_k);
    if at
        .iter()
        .all(|at| at.passes_needle_until_s.probability95.is_none())
    {
        let parts: Vec<String> = at
            .iter()
            .map(|at| format!("{} at {}", measured(at), place(at)))
            .collect();
        return format!(
            "The gel passes {needle} for as long as anybody looked ({}): not a shelf life",
            parts.join(", ")
        );
    }
    let parts: Vec<String> = at
        .iter()
        .map(|at| match at.passes_needle_until_s.probability95 {
            Some(time_s) => format!("{} at {}", stood(time_s), place(at)),
            None => format!("after all {} measured at {}", measured(at), place(at)),
        })
        .collect();
    format!(
        "The gel passes the needle until {} in 95 of 100 syringes ({needle}): not a shelf life",
        parts.join(", ")
    )
}
