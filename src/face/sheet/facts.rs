//! The figures of a sheet in words, by what they belong to.

use crate::face::standing_words::until_words;
use crate::plan::sheet::cost::Cost;
use crate::plan::sheet::{RunSheet, StandingOnSheet};
use crate::units::display::{self, Rounding};

/// Lines of a cost that fit on the page; the rest stands in the document.
const SHOWN_COSTS: usize = 8;

/// Storage temperatures that fit on the page; the rest stands in the document.
const SHOWN_STORAGES: usize = 4;

/// Figures that belong together.
pub(super) struct Section {
    pub(super) name: &'static str,
    pub(super) facts: Vec<(String, String)>,
}

/// All sections of a sheet, in the order of the work.
pub(super) fn sections(sheet: &RunSheet) -> Vec<Section> {
    let mut sections = vec![
        Section {
            name: "Volumes",
            facts: volume_facts(sheet),
        },
        Section {
            name: "Blend",
            facts: blend_facts(sheet),
        },
    ];
    if let Some(facts) = buffer_facts(sheet) {
        sections.push(Section {
            name: "Acid and buffer (stoichiometry, no recipe)",
            facts,
        });
    }
    sections.push(Section {
        name: "Heat and block",
        facts: heat_facts(sheet),
    });
    if let Some(standing) = &sheet.standing {
        sections.push(Section {
            name: "Standing (not a shelf life)",
            facts: standing_facts(standing),
        });
    }
    if let Some(cost) = &sheet.cost {
        sections.push(Section {
            name: "Cost",
            facts: cost_facts(cost),
        });
    }
    sections
}

fn fact(what: impl Into<String>, value: impl Into<String>) -> (String, String) {
    (what.into(), value.into())
}

fn volume_facts(sheet: &RunSheet) -> Vec<(String, String)> {
    let v = &sheet.volumes;
    let needed = if v.is_needed { " needed" } else { "" };
    let mut facts = Vec::new();
    if let (Some(blood), Some(haematocrit), Some(recovery)) =
        (v.blood_m3, v.haematocrit_fraction, v.recovery_fraction)
    {
        facts.push(fact(
            format!("blood{needed}"),
            format!(
                "{}; haematocrit {}, recovery {}",
                volume_to(blood, v.is_needed),
                display::at_most(haematocrit, 3),
                display::percent(recovery)
            ),
        ));
    }
    if let (Some(in_tubes), Some(in_plasma)) = (v.anticoagulant_m3, v.anticoagulant_in_plasma_m3) {
        facts.push(fact(
            "anticoagulant",
            format!(
                "{} in the tubes, {} of it in the plasma",
                display::volume(in_tubes),
                display::volume(in_plasma)
            ),
        ));
    }
    if let Some(spin) = sheet.spin {
        let speed = spin.speed_per_s.map_or_else(String::new, |s| {
            format!(", {} rpm", display::at_most(s * 60.0, 3))
        });
        let radius = spin.rotor_radius_m.map_or_else(String::new, |r| {
            format!(" at {} from the axis", display::length_mm(r))
        });
        facts.push(fact(
            "centrifuge",
            format!(
                "{} x g{speed}{radius}",
                display::at_most(spin.relative_centrifugal_force_ratio, 3)
            ),
        ));
    }
    facts.push(fact(
        format!("plasma{needed}"),
        volume_to(v.plasma_m3, v.is_needed),
    ));
    if v.buffer_m3 > 0.0 {
        facts.push(fact("buffer added", display::volume(v.buffer_m3)));
    }
    if v.ha_solution_m3 > 0.0 {
        facts.push(fact(
            "hyaluronic acid solution",
            volume_to(v.ha_solution_m3, v.is_needed),
        ));
    }
    facts.push(fact(
        "gel in all",
        format!(
            "{}; {} left over",
            volume_to(v.gel_m3, v.is_needed),
            display::volume(v.left_over_m3)
        ),
    ));
    facts.push(fact(
        "each syringe",
        format!(
            "{} and {} dead space ({})",
            display::volume(v.fill_m3),
            display::volume(v.dead_space_m3),
            if v.dead_space_is_stated {
                "stated"
            } else {
                "the most of ISO 7886-1"
            }
        ),
    ));
    facts.push(fact(
        "lost once",
        format!(
            "{} in mixing and drawing up",
            display::volume(v.session_loss_m3)
        ),
    ));
    facts
}

/// What is needed is rounded up, so that it is enough.
fn volume_to(volume_m3: f64, is_needed: bool) -> String {
    if is_needed {
        let tenths = (volume_m3 * 1e7 - 1e-6).ceil() / 10.0;
        format!("{} mL", display::plain(tenths))
    } else {
        display::volume(volume_m3)
    }
}

fn blend_facts(sheet: &RunSheet) -> Vec<(String, String)> {
    let contents = &sheet.contents;
    let mut facts = vec![fact("blend", sheet.blend.clone())];
    if contents.ha_fraction > 0.0 {
        let strength = match (
            contents.ha_solution_kg_per_m3,
            contents.ha_in_blend_kg_per_m3,
        ) {
            (Some(solution), Some(blend)) => format!(
                " of {} mg/mL: {} mg/mL in the gel",
                display::at_most(solution, 3),
                display::at_most(blend, 3)
            ),
            _ => String::new(),
        };
        facts.push(fact(
            "hyaluronic acid",
            format!(
                "{} of the volume is solution{strength}",
                display::percent(contents.ha_fraction)
            ),
        ));
    }
    if let Some(overlap) = contents.coil_overlap_ratio {
        facts.push(fact(
            "coil overlap",
            format!(
                "c[eta] {}: {} ([eta] = 0.036 M^0.78 cm3/g; for information)",
                display::at_most(overlap, 2),
                if overlap < 1.0 {
                    "coils apart"
                } else {
                    "coils overlap"
                }
            ),
        ));
    }
    let protein = &sheet.protein;
    let range = |[low, high]: [f64; 2]| {
        if low == high {
            format!("{} g/L", display::at_most(low, 3))
        } else {
            format!(
                "{} to {} g/L",
                display::at_most(low, 3),
                display::at_most(high, 3)
            )
        }
    };
    facts.push(fact(
        "protein",
        format!(
            "{}{} in the donor's plasma, {} drawn off, {} in the gel",
            range(protein.donor_kg_per_m3),
            if protein.is_stated { "" } else { " (usual)" },
            range(protein.plasma_kg_per_m3),
            range(protein.gel_kg_per_m3)
        ),
    ));
    facts
}

fn buffer_facts(sheet: &RunSheet) -> Option<Vec<(String, String)>> {
    let buffer = sheet.buffer?;
    Some(vec![
        fact(
            "acid",
            format!(
                "{} of ACD-A: {} mmol of protons",
                display::volume(buffer.acd_a_m3),
                display::at_most(buffer.acid_mol * 1e3, 3)
            ),
        ),
        fact(
            "8.4 % sodium bicarbonate",
            format!(
                "takes them up with {}; to pH 7.4 {} (citrate alone)",
                display::volume(buffer.bicarbonate_all_protons_m3),
                display::volume(buffer.bicarbonate_to_ph_7_4_m3)
            ),
        ),
        fact(
            "carbon dioxide freed",
            format!(
                "{} at {}, 1 atm: it must leave before the cap goes on",
                display::volume(buffer.carbon_dioxide_m3),
                display::temperature(buffer.room_temp_k)
            ),
        ),
    ])
}

fn heat_facts(sheet: &RunSheet) -> Vec<(String, String)> {
    let heat = &sheet.heat;
    let mut facts = vec![fact(
        "heat",
        format!(
            "{} at {}",
            display::duration(heat.heat_time_s),
            display::temperature(heat.heat_temp_k)
        ),
    )];
    if heat.block_set_temp_k != heat.heat_temp_k {
        facts.push(fact(
            "block set to",
            format!(
                "{}, which is {} in its places by its check",
                display::temperature(heat.block_set_temp_k),
                display::temperature(heat.heat_temp_k)
            ),
        ));
    }
    if let Some(window) = heat.window_s {
        let until = window.not_beyond.map_or_else(
            || "no end in the measured times".to_owned(),
            |t| {
                format!(
                    "passes the needle until {}",
                    display::duration_rounded(t, clock_step_s(t), Rounding::Down)
                )
            },
        );
        let from = window.not_before.map_or_else(String::new, |t| {
            format!(
                "firm enough from {}, ",
                display::duration_rounded(t, clock_step_s(t), Rounding::Up)
            )
        });
        facts.push(fact("window", format!("{from}{until}")));
    }
    let minutes = |t: f64| display::duration_rounded(t, 10.0, Rounding::Up);
    let cooling = match (heat.cool_time_s, heat.cool_time_s_range) {
        (None, _) => format!(
            "the air does not keep it under {}: colder air",
            display::temperature(heat.cool_until_k)
        ),
        (Some(t), Some([fan, still])) => format!(
            "{} (strong fan {}, still air {})",
            minutes(t),
            minutes(fan),
            minutes(still)
        ),
        (Some(t), None) => minutes(t),
    };
    facts.push(fact(
        format!(
            "cooling from {} to {}",
            display::temperature(heat.gel_temp_k),
            display::temperature(heat.cool_until_k)
        ),
        cooling,
    ));
    let block = &sheet.block;
    let pause = if block.between_turns_s > 0.0 {
        format!(
            ", {} between turns",
            display::duration(block.between_turns_s)
        )
    } else {
        String::new()
    };
    facts.push(fact(
        "block",
        format!(
            "{} places, {} a turn, {} a syringe in or out{pause}",
            block.places,
            block.syringes_a_turn,
            display::duration(block.handling_s)
        ),
    ));
    facts
}

fn standing_facts(standing: &StandingOnSheet) -> Vec<(String, String)> {
    standing
        .at
        .iter()
        .take(SHOWN_STORAGES)
        .map(|at| {
            fact(
                format!("at {}", display::temperature(at.stand_temp_k)),
                format!("passes the needle until {}", until_words(at, standing.form)),
            )
        })
        .collect()
}

/// To what a time of heating is worth telling.
fn clock_step_s(heat_time_s: f64) -> f64 {
    if heat_time_s < 600.0 { 10.0 } else { 30.0 }
}

fn cost_facts(cost: &Cost) -> Vec<(String, String)> {
    let money = |value: f64| format!("{value:.2} {}", cost.currency);
    let mut lines: Vec<String> = cost
        .lines
        .iter()
        .take(SHOWN_COSTS)
        .map(|line| {
            let amount = match (line.pieces, line.volume_m3) {
                (Some(pieces), _) => format!("{pieces} "),
                (None, Some(volume_m3)) => format!("{} ", display::volume(volume_m3)),
                (None, None) => String::new(),
            };
            format!("{amount}{} {}", line.item, money(line.cost))
        })
        .collect();
    let more = cost.lines.len().saturating_sub(SHOWN_COSTS);
    if more > 0 {
        lines.push(format!("and {more} more, in --json"));
    }
    let mut facts = vec![
        fact(
            "sum",
            format!(
                "{}, {} a syringe",
                money(cost.total),
                money(cost.each_syringe)
            ),
        ),
        fact("of which", lines.join("; ")),
    ];
    let left_out = cost.not_counted.len();
    if left_out > 0 {
        let named: Vec<&str> = cost
            .not_counted
            .iter()
            .take(SHOWN_COSTS)
            .map(String::as_str)
            .collect();
        facts.push(fact(
            "not counted",
            format!(
                "{}{}",
                named.join(", "),
                if left_out > SHOWN_COSTS { " ..." } else { "" }
            ),
        ));
    }
    facts
}
