//! What the gel felt, in words.

use super::syringe_arguments::coefficient;
use super::warmup_findings::{WarmUpFindings, WarmUpQuestion, degrees};
use crate::face::cautions;
use crate::thermal::{
    ClosedPressure, InputEffect, StageKind, SyringeInput, TimedSchedule, TimedStage, WarmUpBasis,
};
use crate::units::display;
use std::fmt::Write as _;

/// The finding: what stands at the end of heating, and what of the clock was warm-up.
pub(super) fn headline(findings: &WarmUpFindings, question: &WarmUpQuestion<'_>) -> String {
    let summary = &findings.summary;
    let heating: Vec<String> = question
        .schedule
        .stages
        .iter()
        .filter(|stage| stage.kind == StageKind::Heat)
        .map(|stage| {
            format!(
                "{} at {}",
                display::duration(stage.time_s),
                display::temperature(stage.set_kelvin)
            )
        })
        .collect();
    let warm_up = display::duration(summary.warm_up_s.max(0.0));
    format!(
        "After {} the core of this {} stands at {}{}; {} of the clock {} warm-up.",
        heating.join(" and "),
        question.syringe.name,
        degrees(summary.core_at_heat_end_kelvin),
        if question.syringe.setup.length.is_some() {
            " on average over its length"
        } else {
            ""
        },
        warm_up,
        if warm_up.starts_with("1 ") && warm_up.split(' ').count() == 2 {
            "was"
        } else {
            "were"
        }
    )
}

/// The whole answer.
pub(super) fn in_words(
    findings: &WarmUpFindings,
    question: &WarmUpQuestion<'_>,
    invented: bool,
    stands_on: Option<String>,
) -> String {
    let mut text = String::new();
    if invented {
        text.push_str("INVENTED DATA: an answer for learning the tool, for nothing else.\n");
    }
    if findings.extrapolated {
        text.push_str("EXTRAPOLATED: this lies outside what was measured.\n");
    }
    let _ = writeln!(text, "{}", headline(findings, question));
    for line in finding_lines(findings, question) {
        let _ = writeln!(text, "  {line}");
    }
    text.push('\n');
    for line in matters_lines(findings, question) {
        let _ = writeln!(text, "{line}");
    }
    if let Some(line) = stands_on {
        let _ = writeln!(text, "{line}");
    }
    text.push_str("Assumed:\n");
    for line in schedule_lines(&question.schedule)
        .into_iter()
        .chain(question.syringe.words.iter().cloned())
    {
        let _ = writeln!(text, "  {line}");
    }
    let _ = writeln!(
        text,
        "\nBlock, barrel, cap and gel are hot, the core longest. A closed syringe builds pressure: expel the air first."
    );
    text.push_str(cautions::SHORT);
    text
}

fn finding_lines(findings: &WarmUpFindings, question: &WarmUpQuestion<'_>) -> Vec<String> {
    let summary = &findings.summary;
    let mut lines = vec![format!(
        "Then the edge is at {}, the mean at {}; the gel is uneven by {} ({} to {}).",
        degrees(summary.edge_at_heat_end_kelvin),
        degrees(summary.mean_at_heat_end_kelvin),
        kelvins(summary.unevenness_kelvin()),
        degrees(summary.extremes_at_heat_end_kelvin[0]),
        degrees(summary.extremes_at_heat_end_kelvin[1])
    )];
    if question.syringe.setup.length.is_some() {
        lines.push(
            "Core and edge are means over the length: the part in the air and the part in the block differ."
                .to_owned(),
        );
    }
    lines.push(match summary.core_near_set_s {
        Some(time_s) => format!(
            "The core is within 1 K of the set temperature {} from the beginning.",
            display::duration(time_s.round())
        ),
        None => "The core never comes within 1 K of the block's set temperature.".to_owned(),
    });
    lines.push(match summary.warm_up_basis {
        WarmUpBasis::HeatDose => {
            "Warm-up: clock less the mean heat dose of the heating at the set temperature."
                .to_owned()
        }
        WarmUpBasis::MeanTemperature => {
            "Warm-up: the time by which the mean temperature runs behind; what it costs in setting is more (--activation-energy counts it)."
                .to_owned()
        }
    });
    if let (Some(doses), Some(reference)) = (&summary.doses, &findings.reference) {
        lines.push(format!(
            "Heat dose at {}: core {}, mean {}, edge {} ({}).",
            display::temperature(reference.reference_kelvin),
            display::duration(doses.core_s),
            display::duration(doses.mean_s),
            display::duration(doses.edge_s),
            display::energy(reference.activation_energy_j_per_mol)
        ));
    }
    if let Some(course) = &findings.setting {
        let at_end = |values: &[f64]| display::percent(values.last().copied().unwrap_or(f64::NAN));
        lines.push(format!(
            "Set at the end: core {}, mean {}, edge {}; from {} to {} over the gel.",
            at_end(&course.core_fractions),
            at_end(&course.mean_fractions),
            at_end(&course.edge_fractions),
            display::percent(course.least_at_end_fraction),
            display::percent(course.greatest_at_end_fraction)
        ));
        let unit = question
            .blend
            .map_or("", |blend| blend.reading_unit.as_str());
        lines.push(match course.reading_at_end {
            Some(reading) => format!(
                "The column mixed reads {}: the mean of ln P over the volume.",
                reading_words(reading, unit)
            ),
            None => {
                "The column mixed has no reading: a part of it is past its gel point, or at zero."
                    .to_owned()
            }
        });
    }
    let counts = |share: &f64| *share > 0.0 || question.syringe.setup.length.is_some();
    if let Some(unset) = findings.unset_fraction().filter(counts) {
        lines.push(format!(
            "Unset share: {} of the volume has under half of the mean {}.",
            display::percent(unset),
            if findings.setting.is_some() {
                "conversion"
            } else {
                "heat dose"
            }
        ));
    }
    lines.push(cool_line(findings, question));
    lines.extend(findings.pressure.iter().flat_map(|pressure| {
        pressure_lines(
            pressure,
            question.air_gap_m3.unwrap_or(0.0),
            summary.set_kelvin,
        )
    }));
    lines
}

fn cool_line(findings: &WarmUpFindings, question: &WarmUpQuestion<'_>) -> String {
    let until = display::temperature(question.cool_until_kelvin);
    let air = format!(
        "in air at {} ({})",
        display::temperature(question.ambient_kelvin),
        coefficient(question.syringe.setup.air_w_per_m2_kelvin)
    );
    let time = |time_s: Option<f64>| {
        time_s.map_or_else(
            || "never".to_owned(),
            |time_s| {
                display::duration_rounded(
                    time_s,
                    if time_s > 120.0 { 10.0 } else { 1.0 },
                    display::Rounding::Up,
                )
            },
        )
    };
    match findings.cool.time_s {
        None => format!("Cooling {air} never brings the core under {until}: the air is too warm."),
        Some(0.0) => format!("Out of the block the core is under {until} already."),
        Some(time_s) => {
            let range = findings
                .cool
                .range_s
                .map_or_else(String::new, |[soonest, latest]| {
                    format!(
                        " ({} in a strong fan's air, {} in still air)",
                        time(soonest),
                        time(latest)
                    )
                });
            format!(
                "Cooling {air}: the core is under {until} after {}{range}.",
                time(Some(time_s))
            )
        }
    }
}

fn pressure_lines(pressure: &ClosedPressure, air_gap_m3: f64, hot_kelvin: f64) -> Vec<String> {
    let hot = display::temperature(hot_kelvin);
    let travel = |travel: &Option<crate::thermal::StopperTravel>| {
        travel.map_or_else(
            || "a free stopper has no end to its travel: the water boils".to_owned(),
            |travel| {
                format!(
                    "a stopper without friction goes back {}",
                    display::length_mm(travel.travel_m)
                )
            },
        )
    };
    match pressure {
        ClosedPressure::Gas {
            gauge_pa,
            parts,
            stopper_force_n,
            free_stopper,
            ..
        } => vec![
            format!(
                "Closed with {} of air, held at {hot}: {} over the outside, {} on the stopper; {}.",
                display::volume(air_gap_m3),
                display::pressure_to(*gauge_pa, 2),
                display::force_to(*stopper_force_n, 2),
                travel(free_stopper)
            ),
            format!(
                "Of that {} from warming the air, {} from the gel's own expansion, {} from vapour; gas that leaves the gel or a buffer comes on top. Expel the air.",
                display::pressure_to(parts.air_heated_pa, 2),
                display::pressure_to(parts.air_compressed_pa, 2),
                display::pressure_to(parts.vapour_pa, 2)
            ),
        ],
        ClosedPressure::LiquidFills {
            excess_m3,
            free_stopper,
        } => vec![format!(
            "Closed with {} of air, held at {hot}: the gel fills the whole space and wants {} more. No pressure is stated: the stopper moves, or joint or barrel gives; {}.",
            display::volume(air_gap_m3),
            display::volume(excess_m3.max(0.0)),
            travel(free_stopper)
        )],
    }
}

fn matters_lines(findings: &WarmUpFindings, question: &WarmUpQuestion<'_>) -> Vec<String> {
    let Some(first) = findings.effects.first() else {
        return vec!["Every number of the warm-up was stated: none is a default.".to_owned()];
    };
    let [least, most] = first.core_at_heat_end_kelvin.map(degrees);
    let core = if least == most {
        format!("leaves the core at the end of heating at {least}")
    } else {
        format!("moves the core at the end of heating from {least} to {most}")
    };
    let mut lines = vec![format!(
        "Which matters most: {}. {} {core}, and moves the warm-up from {} to {}.",
        named(first.input),
        range_words(first),
        display::duration(first.warm_up_s[0].max(0.0)),
        display::duration(first.warm_up_s[1].max(0.0))
    )];
    if first.input == SyringeInput::Contact {
        let syringe = match &question.syringe.syringe {
            Some(name) => format!("--syringe {name}"),
            None => format!(
                "--barrel {}",
                display::length_mm(question.syringe.setup.barrel.bore_m()).replace(' ', "")
            ),
        };
        lines.push(format!(
            "What helps: one thermocouple run measures it: heatset warmup --fit-contact TRACE.csv {syringe} --at {}C",
            display::celsius(findings.summary.set_kelvin)
        ));
    }
    lines
}

fn named(input: SyringeInput) -> &'static str {
    match input {
        SyringeInput::Contact => "the contact with the block",
        SyringeInput::Air => "the air about the part that stands out",
        SyringeInput::Bore => "the bore of the barrel",
        SyringeInput::WallConductivity => "the conductivity of the wall",
        SyringeInput::GelConductivity => "the conductivity of the gel",
        SyringeInput::GelDensity => "the density of the gel",
        SyringeInput::GelSpecificHeat => "the specific heat of the gel",
    }
}

fn range_words(effect: &InputEffect) -> String {
    let [low, high] = effect.range;
    let digits = |value: f64| display::at_most(value, 3);
    match effect.input {
        SyringeInput::Contact | SyringeInput::Air => {
            format!("{} to {}", digits(low), coefficient(high))
        }
        SyringeInput::Bore => format!(
            "{} to {}",
            display::length_mm(low),
            display::length_mm(high)
        ),
        SyringeInput::WallConductivity | SyringeInput::GelConductivity => {
            format!("{} to {} W/mK", digits(low), digits(high))
        }
        SyringeInput::GelDensity => format!("{low} to {high} kg/m3"),
        SyringeInput::GelSpecificHeat => format!("{low} to {high} J/kgK"),
    }
}

fn schedule_lines(schedule: &TimedSchedule) -> Vec<String> {
    let stage_words = |stage: &TimedStage| {
        let time = display::duration(stage.time_s);
        let set = display::temperature(stage.set_kelvin);
        let way = if stage.ramp_s > 0.0 {
            format!(
                " (the block comes from {} at {} K/min{})",
                display::temperature(stage.outside_start_kelvin),
                display::at_most(60.0 * stage.ramp_kelvin_per_s, 3),
                if stage.clock_delay_s > 0.0 {
                    "; the clock starts when it is there"
                } else {
                    ""
                }
            )
        } else {
            String::new()
        };
        match stage.kind {
            StageKind::Heat => format!("{time} in the block at {set}{way}"),
            StageKind::Hold => format!("held {time} in the block at {set}{way}"),
            StageKind::Cool => format!("{time} in air at {set}"),
        }
    };
    let stages: Vec<String> = schedule.stages.iter().map(stage_words).collect();
    vec![format!(
        "gel and syringe start at {}; {}",
        display::temperature(schedule.start_kelvin),
        stages.join(", then ")
    )]
}

fn reading_words(reading: f64, unit: &str) -> String {
    match unit {
        "Pa.s" => display::viscosity(reading),
        "Pa" => display::pressure(reading),
        other => format!("{} {other}", display::at_most(reading, 3)),
    }
}

/// A temperature difference to a tenth of a kelvin, to whole ones from 10 on.
fn kelvins(kelvin: f64) -> String {
    if kelvin < 0.1 {
        "less than 0.1 K".to_owned()
    } else if kelvin < 9.95 {
        format!("{} K", (kelvin * 10.0).round() / 10.0)
    } else {
        format!("{kelvin:.0} K")
    }
}
