//! Big choices: needles by the colour of their hub, syringes, blends, warm-ups.

use super::controls::{Fields, Shape, quantity_field};
use super::keys;
use super::others::USUAL_GAUGES;
use super::push_read::{USUAL_GAUGE, gauges_of};
use super::quantity::Quantity;
use super::setting::chosen_blend;
use crate::fit::{BlendCalibration, Calibration};
use crate::plan::{BarrelUsed, DEFAULT_LENGTH_M, DEFAULT_SYRINGE};
use crate::reference::{BarrelMaterial, Wall, all_syringes, hub_colour};
use maud::{Markup, PreEscaped, html};
use std::ops::Not;

/// Syringes that are commonly at hand.
const USUAL_SYRINGES: [&str; 4] = ["1mL", "3mL", "5mL", "10mL"];
/// Inner diameter at which the picture's needle is as wide as its hub's neck, in gauges less one.
const FINEST_GAUGE: f64 = 34.0;

/// A needle with its hub in the colour of ISO 6009, drawn; what it shows stands beside it in words.
pub(super) fn swatch(gauge: u8) -> Markup {
    let (red, green, blue) = hub_colour(gauge).map_or((0x90, 0x90, 0x90), |hub| hub.rgb);
    // The tube is drawn wider the lower the gauge: an order, not a scale.
    let tube = 1.2 + 0.22 * (FINEST_GAUGE - f64::from(gauge)).max(0.0);
    let top = 8.0 - 0.5 * tube;
    PreEscaped(format!(
        "<svg class=\"hub\" viewBox=\"0 0 34 16\" aria-hidden=\"true\" focusable=\"false\"><rect x=\"15\" y=\"{top:.2}\" width=\"18\" height=\"{tube:.2}\" fill=\"#8a929b\"/><path d=\"M1 2h8l6 4v4l-6 4h-8z\" fill=\"#{red:02x}{green:02x}{blue:02x}\" stroke=\"#1c2229\"/></svg>"
    ))
}

/// One tile of a choice.
fn tile(
    key: &str,
    value: &str,
    chosen: bool,
    picture: Option<Markup>,
    words: &str,
    small: &str,
) -> Markup {
    html! {
        label {
            input type="radio" name=(key) value=(value) checked[chosen];
            @if let Some(picture) = picture { (picture) }
            span.words { (words) @if !small.is_empty() { " " span.small { (small) } } }
        }
    }
}

/// The needle: usual gauges, all others, any, or one's own bore.
pub(super) fn needle(fields: &Fields<'_>) -> Markup {
    let asked = fields.asked;
    let usual = USUAL_GAUGE.to_string();
    let bore_alone =
        asked.get(keys::GAUGE).is_none() && asked.last_of(&["bore_mm", "bore"]).is_some();
    let chosen = match asked.get(keys::GAUGE) {
        _ if bore_alone => keys::OWN,
        Some(gauge) => gauge.trim_end_matches(['G', 'g']).trim_end(),
        None => &usual,
    };
    let wall = asked
        .get(keys::WALL)
        .and_then(|word| word.parse::<Wall>().ok())
        .unwrap_or_default();
    let known = gauges_of(Wall::Regular).unwrap_or_default();
    let gauge_tile = |gauge: u8| {
        let hub = hub_colour(gauge).map_or("", |hub| hub.name);
        let text = gauge.to_string();
        tile(
            keys::GAUGE,
            &text,
            chosen == text,
            Some(swatch(gauge)),
            &format!("{gauge}G"),
            hub,
        )
    };
    let rare: Vec<u8> = known
        .iter()
        .copied()
        .filter(|g| !USUAL_GAUGES.contains(g))
        .collect();
    let in_rare = rare.iter().any(|gauge| gauge.to_string() == chosen);
    let own = chosen == keys::OWN;
    let basis = asked.get(keys::BORE_BASIS).unwrap_or("nominal");
    html! {
        fieldset {
            legend { "Needle" }
            div.tiles.needles id=(keys::GAUGE) {
                @for gauge in USUAL_GAUGES.iter().filter(|g| known.contains(g)) { (gauge_tile(*gauge)) }
                (tile(keys::GAUGE, keys::ANY, chosen.eq_ignore_ascii_case(keys::ANY), None, "Any", "the finest that passes"))
            }
            (fields.fault_line(keys::GAUGE))
            details.plain open[in_rare] {
                summary { "More gauges" }
                div.tiles.needles { @for gauge in rare { (gauge_tile(gauge)) } }
            }
            details.plain open[own] {
                summary { "My needle's own bore" }
                div.tiles { (tile(keys::GAUGE, keys::OWN, own, None, "A bore that I know", "")) }
                div.fields {
                    (quantity_field(&keys::BORE, fields, None, &Shape::plain()))
                    (quantity_field(&keys::BORE_OFF, fields, None, &Shape::plain()))
                }
            }
            div.fields {
                div.field {
                    label for=(keys::WALL) { "Wall" }
                    select id=(keys::WALL) name=(keys::WALL) {
                        @for one in Wall::ALL { option value=(one.as_str()) selected[one == wall] { (one.as_str()) } }
                    }
                }
                (quantity_field(&keys::LENGTH, fields, Some(DEFAULT_LENGTH_M), &Shape::plain()))
                div.field {
                    label for=(keys::BORE_BASIS) { "Bore of the tables" }
                    select id=(keys::BORE_BASIS) name=(keys::BORE_BASIS) {
                        option value="nominal" selected[basis != "minimum"] { "nominal" }
                        option value="minimum" selected[basis == "minimum"] { "least of the standard" }
                    }
                }
            }
            p.hint { "Hub colours by ISO 6009; the words beside them count." }
        }
    }
}

/// The syringe.
pub(super) fn syringe(fields: &Fields<'_>) -> Markup {
    let asked = fields.asked;
    let bore_alone =
        asked.get(keys::SYRINGE).is_none() && asked.last_of(&["barrel_mm", "barrel"]).is_some();
    let chosen: String = if bore_alone {
        keys::OWN.to_owned()
    } else {
        let name = asked.get(keys::SYRINGE).unwrap_or(DEFAULT_SYRINGE);
        name.split_whitespace().collect()
    };
    let all = all_syringes().unwrap_or_default();
    let name_tile = |name: &str| {
        let label = BarrelUsed::of_syringe(name).map_or_else(
            |_| name.to_owned(),
            |barrel| {
                barrel
                    .label()
                    .replace(" syringe", "")
                    .replace("glass:", "glass ")
            },
        );
        tile(
            keys::SYRINGE,
            name,
            chosen.eq_ignore_ascii_case(name),
            None,
            &label,
            "",
        )
    };
    let rare: Vec<String> = all
        .iter()
        .filter(|s| s.material == BarrelMaterial::Glass || !USUAL_SYRINGES.contains(&s.label))
        .map(crate::reference::Syringe::name)
        .collect();
    let in_rare = rare.iter().any(|name| name.eq_ignore_ascii_case(&chosen));
    let own = chosen == keys::OWN;
    html! {
        fieldset {
            legend { "Syringe" }
            div.tiles id=(keys::SYRINGE) { @for name in USUAL_SYRINGES { (name_tile(name)) } }
            (fields.fault_line(keys::SYRINGE))
            details.plain open[in_rare || own] {
                summary { "More syringes" }
                div.tiles {
                    @for name in &rare { (name_tile(name)) }
                    (tile(keys::SYRINGE, keys::OWN, own, None, "A barrel that I know", ""))
                }
                div.fields { (quantity_field(&keys::BARREL, fields, None, &Shape::plain())) }
            }
        }
    }
}

/// The blend, where the calibration has several, and a fraction between two.
pub(super) fn blend(fields: &Fields<'_>, calibration: &Calibration) -> Markup {
    let asked = fields.asked;
    let chosen = chosen_blend(asked, calibration).map(|blend| blend.blend.as_str());
    let between = asked.get(keys::HA_FRACTION);
    let fractions: Vec<f64> = calibration
        .blends
        .iter()
        .filter_map(|b| b.ha_fraction)
        .collect();
    let lots: Vec<&str> = chosen_blend(asked, calibration)
        .and_then(|blend| blend.lots.as_ref())
        .map(|lots| {
            lots.effects
                .iter()
                .map(|effect| effect.lot.as_str())
                .collect()
        })
        .unwrap_or_default();
    let this_lot = asked.get(keys::THIS_LOT);
    // What the controls offer follows from the blend: another one may want others.
    let alike = calibration
        .blends
        .windows(2)
        .all(|pair| pair[0].reading == pair[1].reading && offered(&pair[0]) == offered(&pair[1]));
    html! {
        @if calibration.blends.len() > 1 || lots.len() > 1 {
            fieldset {
                legend { "Blend" }
                @if calibration.blends.len() > 1 {
                    div.tiles id=(keys::BLEND) role="group" aria-label="Blend" {
                        @for blend in &calibration.blends {
                            label {
                                input type="radio" name=(keys::BLEND) value=(blend.blend) data-reload=[alike.not().then_some("")]
                                    checked[between.is_none() && chosen == Some(blend.blend.as_str())];
                                span.words { (blend.blend) }
                            }
                        }
                    }
                }
                (fields.fault_line(keys::BLEND))
                (fields.fault_line(keys::THIS_LOT))
                div.fields {
                    @if fractions.len() > 1 {
                        (super::controls::text_field(keys::HA_FRACTION, "Or a fraction of HA solution between", fields, "0 to 1, such as 0.1; counts before the blend's name", ""))
                    }
                    @if lots.len() > 1 {
                        div.field {
                            label for=(keys::THIS_LOT) { "For whom" }
                            select id=(keys::THIS_LOT) name=(keys::THIS_LOT) {
                                option value="" selected[this_lot.is_none()] { "a new lot" }
                                @for lot in lots { option value=(lot) selected[this_lot == Some(lot)] { "lot " (lot) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Ranges and lots that the controls offer of a blend.
fn offered(blend: &BlendCalibration) -> ([f64; 2], [f64; 2], Vec<&str>) {
    let lots = blend.lots.as_ref().map_or(&[][..], |lots| &lots.effects);
    (
        blend.range.heat_temp_k,
        blend.range.heat_time_s,
        lots.iter().map(|effect| effect.lot.as_str()).collect(),
    )
}

/// How the gel warms up.
pub(super) fn warm_up(fields: &Fields<'_>) -> Markup {
    let asked = fields.asked;
    let chosen = asked.get(keys::WARM_UP).unwrap_or("as-calibrated");
    html! {
        fieldset {
            legend { "Warm-up" }
            div.tiles id=(keys::WARM_UP) {
                @for (value, words) in keys::WARM_UPS {
                    (tile(keys::WARM_UP, value, chosen == value, None, words, ""))
                }
            }
            (fields.fault_line(keys::WARM_UP))
            div.fields { (quantity_field(&keys::LAG, fields, None, &Shape::hinted("of the third: time to cover 63 % of the way to the block's temperature, such as 40"))) }
            (part(fields))
        }
    }
}

/// A syringe that is part-filled, or part in the block.
fn part(fields: &Fields<'_>) -> Markup {
    let asked = fields.asked;
    let open_end = asked.get(keys::OPEN_END) == Some(keys::YES);
    let stated = |quantity: &Quantity| asked.last_of(&quantity.keys()).is_some();
    let used = open_end || stated(&keys::FILLED) || stated(&keys::STANDS_OUT);
    html! {
        details.plain open[used] {
            summary { "Part-filled, or part out of the block" }
            p.hint { "Counts with conduction: what stands out is warmed by the rest alone, and the answer holds for the firmest slice of the gel." }
            div.fields {
                (quantity_field(&keys::FILLED, fields, None, &Shape::hinted("empty: what the syringe is named by")))
                (quantity_field(&keys::STANDS_OUT, fields, None, &Shape::hinted("at the plunger's end; empty: none")))
            }
            (super::controls::tick(keys::OPEN_END, "The needle's end of the gel meets the room's air, no cap", open_end, None))
        }
    }
}
