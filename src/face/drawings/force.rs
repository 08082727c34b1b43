//! Plunger force against heat time.

use super::CURVE_POINTS;
use super::error::DrawingError;
use super::words::words;
use crate::chart::{
    AxisKind, Colour, ForceAxis, ForceBand, ForceChart, ForceLimit, ForceLine, ForcePoint,
    ForceZone, TimeSpan,
};
use crate::fit::{BlendCalibration, Calibration};
use crate::plan::{NeedleUsed, PushSetup, StatedThinning, force_curve, history_words};
use crate::reference::{hands, hub_colour};
use crate::thermal::WarmUp;
use crate::units::display;

/// Draws behind the band of a force line.
const BAND_DRAWS: usize = 2000;

/// What a force chart is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct ForceDrawing {
    /// Set temperature, in K.
    pub set_kelvin: f64,
    /// Push; its needle is not used.
    pub setup: PushSetup,
    /// Needles, the widest first.
    pub needles: Vec<NeedleUsed>,
    /// Shear thinning as stated.
    pub thinning: StatedThinning,
    /// Warm-up in place of the calibration's.
    pub warm_up: Option<WarmUp>,
    /// Seed of the bands.
    pub seed: u64,
    /// Whether the set temperature lies outside the measured ones, and was asked for all the same.
    pub extrapolated: bool,
}

/// Plunger force against heat time, one line a needle.
///
/// # Errors
/// As for the answers about force.
pub fn force(
    calibration: &Calibration,
    blend: &BlendCalibration,
    asked: &ForceDrawing,
) -> Result<ForceChart, DrawingError> {
    let [shortest, longest] = blend.range.heat_time_s;
    let limit = asked.setup.force_limit_n;
    let hands = hands()?;
    let top = 1.6 * limit.max(hands.target_n);
    let longest = time_of_interest_s(blend, asked, shortest, longest, top)?;
    let times: Vec<f64> = (0..=CURVE_POINTS)
        .map(|i| shortest + (longest - shortest) * i as f64 / CURVE_POINTS as f64)
        .collect();
    let few = asked.needles.len() <= 3;
    let mut lines = Vec::with_capacity(asked.needles.len());
    let mut latest: Option<(f64, String)> = None;
    for needle in &asked.needles {
        let curve = force_curve(
            blend,
            &asked.setup.through(needle.clone()),
            asked.thinning,
            asked.warm_up.clone(),
            asked.set_kelvin,
            &times,
            if few { BAND_DRAWS } else { 0 },
            asked.seed,
        )?;
        let hub = needle
            .gauge
            .and_then(hub_colour)
            .map_or((90, 90, 90), |h| h.rgb);
        if let Some(time_s) = crossing_s(&curve, limit) {
            // The finest needle comes last, so this ends as the one that stops first.
            // Kept together where the title is wrapped.
            latest = Some((time_s, needle.label().replace(' ', "\u{a0}")));
        }
        lines.push(ForceLine {
            label: needle.label(),
            end_label: needle
                .gauge
                .map_or_else(|| display::length_mm(needle.bore_m), |g| format!("{g}G")),
            hub_colour: Colour::new(hub.0, hub.1, hub.2),
            points: curve
                .iter()
                .map(|p| ForcePoint {
                    time_s: p.heat_time_s,
                    plunger_force_n: p.plunger_force_n,
                })
                .collect(),
            band: curve
                .iter()
                .filter_map(|p| {
                    p.interval95_n.map(|[low_n, high_n]| ForceBand {
                        time_s: p.heat_time_s,
                        low_n,
                        high_n,
                    })
                })
                .collect(),
        });
    }
    let place = display::temperature(asked.set_kelvin);
    let title = match latest {
        Some((time_s, needle)) if lines.len() > 1 => format!(
            "At {place} the finest needle ({needle}) reaches {} after {}",
            display::force(limit),
            display::duration_rounded(time_s, 10.0, display::Rounding::Down)
        ),
        Some((time_s, needle)) => format!(
            "At {place} the push through {needle} reaches {} after {}",
            display::force(limit),
            display::duration_rounded(time_s, 10.0, display::Rounding::Down)
        ),
        None => format!(
            "At {place} the push stays under {} at every measured heat time",
            display::force(limit)
        ),
    };
    let mut words = words(
        calibration,
        blend,
        title,
        &format!(
            ", {}, {}, {}",
            asked.setup.barrel.label(),
            display::flow_rate(asked.setup.flow_rate_m3_per_s),
            match asked.warm_up.clone().unwrap_or_else(|| blend.warm_up()) {
                WarmUp::None => "warm-up not counted".to_owned(),
                declared => history_words(&declared),
            }
        ),
    );
    words.extrapolated = asked.extrapolated;
    Ok(ForceChart {
        words,
        time_name: format!("heat time at {place}"),
        time_axis: AxisKind::Linear,
        force_axis: ForceAxis::Linear { up_to_n: Some(top) },
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
            plunger_force_n: limit,
            label: format!("limit {}", display::force(limit)),
        }),
        measured_time: Some(TimeSpan {
            from_s: shortest,
            to_s: blend.range.heat_time_s[1],
        }),
        lines,
        ..ForceChart::default()
    })
}

/// Heat time at which a drawn line crosses the limit, by a straight line between its points.
fn crossing_s(curve: &[crate::plan::ForcePoint], limit_n: f64) -> Option<f64> {
    let after = curve.iter().position(|p| p.plunger_force_n > limit_n)?;
    let Some(before) = after.checked_sub(1).and_then(|i| curve.get(i)) else {
        return curve.first().map(|p| p.heat_time_s);
    };
    let point = curve.get(after)?;
    let share =
        (limit_n - before.plunger_force_n) / (point.plunger_force_n - before.plunger_force_n);
    Some(before.heat_time_s + share * (point.heat_time_s - before.heat_time_s))
}

/// Heat time until which a force chart is worth drawing: the widest needle's passing of the top,
/// or twice the time at which the gel has set, whichever comes first.
fn time_of_interest_s(
    blend: &BlendCalibration,
    asked: &ForceDrawing,
    shortest: f64,
    longest: f64,
    top_n: f64,
) -> Result<f64, DrawingError> {
    let mut setting = blend.setting()?;
    if let Some(warm_up) = &asked.warm_up {
        setting.warm_up = warm_up.clone();
    }
    let set = setting.clock_time_for_conversion_s(asked.set_kelvin, 0.98);
    // A bench of a narrow range has no room for twice its shortest time.
    let mut end = set.max(2.0 * shortest).min(longest);
    if let Some(widest) = asked.needles.first() {
        let times: Vec<f64> = (1..=200)
            .map(|i| shortest + (end - shortest) * f64::from(i) / 200.0)
            .collect();
        let curve = force_curve(
            blend,
            &asked.setup.through(widest.clone()),
            asked.thinning,
            asked.warm_up.clone(),
            asked.set_kelvin,
            &times,
            0,
            asked.seed,
        )?;
        if let Some(point) = curve.iter().find(|p| p.plunger_force_n > top_n) {
            end = point.heat_time_s;
        }
    }
    Ok(end)
}
