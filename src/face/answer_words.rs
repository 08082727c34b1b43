//! Sentences that answers share.

use crate::face::sentences::lots_words;
use crate::fit::{BlendCalibration, Lots};
use crate::kinetics::FlowIndexCourse;
use crate::plan::{
    Alternative, Assumptions, FlowIndexSource, NeedleUsed, PushSetup, TemperatureFactor,
    ThinningConsequence, TimeAnswer,
};
use crate::reference::{PushBand, Source, hands};
use crate::units::display::{self, Rounding};

/// 'At 86 °C the gel passes a 29G x 13 mm needle'.
pub(crate) fn temperature_and_needle(set_kelvin: f64, needle: &NeedleUsed) -> String {
    format!(
        "At {} the gel passes a {} needle",
        display::temperature(set_kelvin),
        needle.label()
    )
}

/// What an answer stands on.
pub(crate) fn stands_line(file: &str, blend: &BlendCalibration) -> String {
    let [low_t, high_t] = blend.range.heat_temp_k;
    let [low_s, high_s] = blend.range.heat_time_s;
    let lots = lots_words(blend);
    format!(
        "Stands on: {file}, blend {}, {lots}, {} readings, {} to {}, {} to {}.",
        blend.blend,
        blend.fit.rows,
        display::temperature(low_t),
        display::temperature(high_t),
        display::duration(low_s),
        display::duration(high_s)
    )
}

/// An uncertain input as people say it.
pub(crate) fn input_words(name: &str) -> &str {
    match name {
        "parameters" => "the fitted curve",
        "lot" => "the lot",
        "reading" => "one syringe against the next",
        "bore" => "the needle's bore",
        "contact" => "the contact of barrel and block",
        "friction" => "the stopper's friction",
        "flow" => "the speed of the push",
        "block_temperature" => "the block's temperature",
        other => other,
    }
}

/// The inputs that an answer is least sure of.
pub(crate) fn sure_line(answer: &TimeAnswer, blend: &BlendCalibration) -> Option<String> {
    let allows_for_lots = blend.lots.as_ref().is_some_and(Lots::are_separate);
    let mut shares: Vec<(&str, f64)> = answer
        .contributions
        .iter()
        .map(|(name, share)| (name.as_str(), *share))
        .collect();
    shares.sort_by(|a, b| b.1.total_cmp(&a.1));
    let words: Vec<String> = shares
        .iter()
        .filter(|(_, share)| *share >= 0.05)
        .map(|(name, share)| {
            let what = input_words(name);
            format!("{what} ({:.0} %)", 100.0 * share)
        })
        .collect();
    (!words.is_empty()).then(|| {
        let lots = if allows_for_lots {
            "A new lot is allowed for."
        } else {
            "The spread between lots is not in it."
        };
        let contact = answer
            .contributions
            .get("contact")
            .is_some_and(|share| *share >= 0.05);
        let measure = if contact {
            " One thermocouple run tells the contact: 'heatset warmup --fit-contact TRACE.csv'."
        } else {
            ""
        };
        format!("Least sure of: {}. {lots}{measure}", words.join(", "))
    })
}

/// What an answer takes for granted.
pub(crate) fn assumed_line(
    assumptions: &Assumptions,
    setup: &PushSetup,
    joint_pressure_pa: Option<f64>,
) -> String {
    let mut parts = vec![
        setup.barrel.label(),
        format!(
            "{} ± {:.0} %",
            display::flow_rate(setup.flow_rate_m3_per_s),
            100.0 * setup.doubts.flow_tolerance_ratio
        ),
        format!(
            "stopper friction {} ± {}{}",
            display::force(setup.friction_n),
            display::force(setup.doubts.friction_tolerance_n),
            if setup.friction_is_default {
                " (usual)"
            } else {
                ""
            }
        ),
        format!(
            "block ± {} K",
            display::at_most(setup.doubts.block_tolerance_k, 2)
        ),
        setup.needle.bore_words(),
    ];
    parts.push(flow_index_words(assumptions));
    if assumptions.tissue_pressure_pa > 0.0 {
        parts.push(format!(
            "tissue {}",
            display::pressure(assumptions.tissue_pressure_pa)
        ));
    }
    if assumptions.end_losses {
        parts.push("end losses counted".to_owned());
    }
    parts.push(match assumptions.gel_temp_k {
        Some(kelvin) => format!(
            "gel pushed at {} ({})",
            display::temperature(kelvin),
            gel_temperature_words(&assumptions.gel_temp_factor)
        ),
        None => "gel pushed at the temperature of its readings".to_owned(),
    });
    parts.push(match joint_pressure_pa {
        Some(pressure) => format!("locking joint ({})", display::pressure_to(pressure, 2)),
        None => "locking joint".to_owned(),
    });
    format!("Assumed: {}.", parts.join("; "))
}

/// What the gel's temperature at the push does to it.
fn gel_temperature_words(factor: &TemperatureFactor) -> String {
    let ratio = display::significant(factor.ratio(), 2);
    match factor {
        TemperatureFactor::None => "as when it was read".to_owned(),
        TemperatureFactor::Water { .. } => {
            format!("{ratio} times as thick as when it was read, taken as water is")
        }
        TemperatureFactor::Fitted { .. } => {
            format!("{ratio} times as thick as when it was read, by the bench's own readings")
        }
    }
}

/// How the gel is taken to thin under shear.
pub(crate) fn flow_index_words(assumptions: &Assumptions) -> String {
    match (assumptions.flow_index_source, assumptions.flow_index_course) {
        (FlowIndexSource::Assumed, _) => "no shear thinning (flow index 1)".to_owned(),
        (source, course) => format!(
            "flow index {} ({}{}{})",
            display::significant(assumptions.flow_index, 2),
            if source == FlowIndexSource::Fitted {
                "fitted"
            } else {
                "stated"
            },
            if course == FlowIndexCourse::WithSetting {
                ", when all is set"
            } else {
                ""
            },
            if assumptions.yield_stress_plateau_pa > 0.0 {
                format!(
                    "; yield stress {} then",
                    display::pressure_to(assumptions.yield_stress_plateau_pa, 2)
                )
            } else {
                String::new()
            }
        ),
    }
}

/// What a hand finds of a push, by the published bands, and whether the limit is the published target.
pub(crate) fn hand_line(plunger_force_n: f64, limit_n: f64) -> Option<String> {
    let hands = hands().ok()?;
    let who = |source: &Source| source.text.split(',').next().unwrap_or_default().to_owned();
    let bands = who(&hands.band_source);
    let found = match hands.band(plunger_force_n) {
        PushBand::Easy => format!(
            "Easy for a hand: under {} ({bands})",
            display::force(hands.easy_below_n)
        ),
        PushBand::ConsiderableEffort => format!(
            "Considerable effort for a hand: {} to {} ({bands})",
            display::at_most(hands.easy_below_n, 3),
            display::force(hands.great_effort_from_n)
        ),
        PushBand::GreatEffort => format!(
            "Great effort for a hand: over {} ({bands})",
            display::force(hands.great_effort_from_n)
        ),
        PushBand::NotInjectable => format!(
            "More than hands managed: over {} ({bands})",
            display::force(hands.not_injectable_from_n)
        ),
    };
    let target = if limit_n == hands.target_n {
        format!(
            "; {} is a published target ({})",
            display::force(limit_n),
            who(&hands.limit_source)
        )
    } else {
        String::new()
    };
    Some(format!("{found}{target}."))
}

/// What the flow index does to the push, where it was not fitted.
pub(crate) fn thinning_line(consequences: &[ThinningConsequence], needle: &str) -> Option<String> {
    let [plain, thins] = consequences else {
        return None;
    };
    let words = |c: &ThinningConsequence| display::force_to(c.plunger_force_n, 2);
    let index = display::significant(thins.flow_index, 2);
    Some(if thins.answered_with {
        format!(
            "Thinning: with the stated flow index {index} the push through {needle} is {}; without thinning it would be {}.",
            words(thins),
            words(plain)
        )
    } else {
        format!(
            "Thinning: none is counted, and the push through {needle} is {}; were the flow index {index} when all is set, it would be {}. What helps: readings at two shear rates or more.",
            words(plain),
            words(thins)
        )
    })
}

/// What would open a closed window, never a harder push.
pub(crate) fn alternatives_words(alternatives: &[Alternative], limited_by: &str) -> String {
    if alternatives.is_empty() && limited_by == "firmness" {
        return "What helps: a smaller least firmness, and what narrows the doubt: the needle's own bore, or the lot's own readings. Both ends hold in 19 syringes of 20, and between them is no room.".to_owned();
    }
    if alternatives.is_empty() {
        return "What helps: less heat, and a bench that was read at shorter times or lower temperatures; no wider needle, slower push or smaller syringe that was tried is enough.".to_owned();
    }
    let parts: Vec<String> = alternatives
        .iter()
        .map(|alternative| {
            let until = match (
                alternative.heat_time_s.not_beyond,
                alternative.limited_by.as_str(),
            ) {
                (Some(t), _) => {
                    format!(
                        "passes until {}",
                        display::duration_rounded(t, 5.0, Rounding::Down)
                    )
                }
                (None, _) => "passes at every heat time measured".to_owned(),
            };
            match alternative.change.as_str() {
                "needle" => format!("{} {until}", alternative.to),
                "flow" => format!("at {} or slower it {until}", alternative.to),
                _ => format!("from a {} it {until}", alternative.to),
            }
        })
        .collect();
    format!("What helps: {}.", parts.join("; or "))
}
