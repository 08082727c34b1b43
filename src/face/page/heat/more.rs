//! What few people set: doubts, altitude, thinning, cooling.

use super::controls::{Fields, Shape, quantity_field, text_field, tick, usual_hand_over};
use super::keys;
use super::quantity::Quantity;
use maud::{Markup, html};

/// Quantities that only a push needs: and what helps to fill them.
const OF_A_PUSH: [(&Quantity, &str); 4] = [
    (
        &keys::FRICTION_OFF,
        "either way; empty: the usual range of the syringe, a fifth of a stated friction",
    ),
    (&keys::FLOW_OFF, "either way; empty: a tenth of it"),
    (&keys::TISSUE, "empty: none"),
    (&keys::SHEAR_RATE, "where the bench does not say it"),
];

/// The fields.
pub(super) fn more(fields: &Fields<'_>, pushes: bool) -> Markup {
    let asked = fields.asked;
    let hand_over = usual_hand_over();
    let of_heat: [(&'static Quantity, &str); 7] = [
        (&keys::BLOCK_OFF, "either way; empty: 0.5 K"),
        (&keys::ALTITUDE, "water boils lower up there; empty: 0"),
        (&keys::START_TEMP, "empty: as the bench had it"),
        (
            &keys::CONTACT,
            "with conduction; empty: 150, from 100 to 300",
        ),
        (&keys::ROOM, "empty: 22 °C"),
        (&keys::COOL_UNTIL, &hand_over),
        (
            &keys::COOL_TIME,
            "empty: the answer ends at the heat time; needs a warm-up",
        ),
    ];
    let of_push: &[(&'static Quantity, &str)] = if pushes { &OF_A_PUSH } else { &[] };
    let used = of_heat
        .iter()
        .chain(of_push)
        .any(|(quantity, _)| asked.last_of(&quantity.keys()).is_some())
        || asked.get(keys::FLOW_INDEX).is_some()
        || asked.get(keys::END_LOSSES).is_some();
    html! {
        details.more open[used] {
            summary { "More: doubts, altitude, cooling, thinning" }
            div.fields {
                @for (quantity, hint) in of_heat.iter().chain(of_push) {
                    (quantity_field(quantity, fields, None, &Shape::hinted(hint)))
                }
                @if pushes {
                    (text_field(keys::FLOW_INDEX, "Flow index of the set gel", fields, "1 does not thin; empty: fitted, else 1", ""))
                }
            }
            @if pushes {
                (tick(keys::END_LOSSES, "Count the losses at the needle's entrance and exit", asked.get(keys::END_LOSSES) == Some(keys::YES), None))
            }
        }
    }
}
