//! What `heatset bubble` says.

use super::bubble::Question;
use crate::flow::bubble::long::LongBubble;
use crate::flow::bubble::{BubbleAnswer, HeldBubble, Proves};
use crate::units::display;

/// The answer first, then what it stands on.
pub(super) fn lines(question: &Question, answer: &BubbleAnswer) -> Vec<String> {
    let bore = display::length_mm(question.inputs.bore_m);
    let mut lines = vec![headline(question, answer, &bore)];
    let mut say = |line: String| lines.push(format!("  {line}"));
    say(critical_words(answer));
    say(long_words(question, answer));
    match (&answer.held, answer.proves) {
        (Some(held), _) => {
            for line in held_words(question, held) {
                say(line);
            }
        }
        (None, Proves::Nothing) => say(
            "What a smaller bubble would show here is not told: nobody sees whether it hangs free or sticks."
                .to_owned(),
        ),
        (None, _) => say(
            "How much yield stress a bubble that fills the bore shows at least is not known here; a small round one says more (--bubble 2mm is its diameter)."
                .to_owned(),
        ),
    }
    say(format!(
        "From a yield stress of {} on no bubble moves in this bore, however long.",
        display::pressure_to(answer.slug_yield_stress_pa, 2)
    ));
    say(
        "It is a bound, never a value: it does not say how firm the gel is, nor what passes a needle."
            .to_owned(),
    );
    say(
        "Hold the barrel upright: a bubble at the wall of a tilted one may stick, and then it proves less."
            .to_owned(),
    );
    lines
}

fn headline(question: &Question, answer: &BubbleAnswer, bore: &str) -> String {
    match (answer.proves, &answer.held) {
        (Proves::Nothing, _) => format!(
            "A bubble that stays put in a bore of {bore} proves nothing: one that fills it stays put even in water."
        ),
        (Proves::Little, None) => format!(
            "A bubble that stays put in a bore of {bore} proves little: in unset plasma one that fills it may stay put too, or creep unseen."
        ),
        (Proves::Little, Some(held)) => format!(
            "A bubble that stays put in a bore of {bore} proves little: it may be stuck by its surface alone. If it hangs free, {}.",
            bound(held)
        ),
        (Proves::Something, None) => format!(
            "A bubble that stays put in a bore of {bore} shows that the gel has set some: in unset plasma it would be seen to rise within {}.",
            display::duration(question.inputs.watched_s)
        ),
        (Proves::Something, Some(held)) => format!(
            "A bubble of {} in diameter that stays put in a bore of {bore} shows that {}.",
            display::length_mm(question.inputs.bubble_diameter_m.unwrap_or_default()),
            bound(held)
        ),
    }
}

fn bound(held: &HeldBubble) -> String {
    let (lower, higher) = held.yield_stress_at_least_pa;
    format!(
        "the gel yields at no less than {} (up to {} by another criterion), or has a viscosity of no less than {}",
        display::pressure_to(lower, 2),
        display::pressure_to(higher, 2),
        viscosity(held.viscosity_at_least_pa_s)
    )
}

fn critical_words(answer: &BubbleAnswer) -> String {
    let (low, high) = answer.critical_bore_m;
    let ends = [low, high].map(|bore_m| display::significant(bore_m * 1e3, 3));
    let range = if ends[0] == ends[1] {
        format!("{} mm", ends[0])
    } else {
        format!("{} to {} mm", ends[0], ends[1])
    };
    format!(
        "Up to a bore of {range} a long bubble does not rise in any liquid that wets the barrel, held by surface tension alone."
    )
}

fn long_words(question: &Question, answer: &BubbleAnswer) -> String {
    let inputs = &question.inputs;
    let watched = display::duration(inputs.watched_s);
    let way = |bubble: LongBubble| {
        let way_m = bubble.speed_m_per_s() * inputs.watched_s;
        format!("{} mm", display::at_most(way_m * 1e3, 1))
    };
    let subject = "In unset plasma a bubble that fills this bore";
    let (slow, fast) = answer.long_bubble;
    match (slow, fast) {
        (_, LongBubble::Stuck) => format!("{subject} does not rise."),
        (LongBubble::Stuck, _) => format!(
            "{subject} rises {}{} in {watched} or not at all, by surface tension.",
            if matches!(fast, LongBubble::FasterThan { .. }) {
                "more than "
            } else {
                "up to "
            },
            way(fast)
        ),
        (LongBubble::FasterThan { .. }, _) => {
            // both past the relation: the lesser of the two is what is sure
            let sure = if slow.speed_m_per_s() < fast.speed_m_per_s() {
                slow
            } else {
                fast
            };
            format!("{subject} rises more than {} in {watched}.", way(sure))
        }
        (LongBubble::Creeps { .. }, LongBubble::FasterThan { .. }) => format!(
            "{subject} rises {} to more than {} in {watched}, by surface tension.",
            way(slow),
            way(fast)
        ),
        (LongBubble::Creeps { .. }, _) if way(slow) == way(fast) => {
            format!("{subject} rises {} in {watched}.", way(slow))
        }
        (LongBubble::Creeps { .. }, _) => format!(
            "{subject} rises {} to {} in {watched}, by surface tension.",
            way(slow),
            way(fast)
        ),
    }
}

fn held_words(question: &Question, held: &HeldBubble) -> Vec<String> {
    let inputs = &question.inputs;
    vec![
        "Yield stress: 0.143 (computed, round bubble) and 0.50 (measured, from memory) of density x gravity x bubble radius."
            .to_owned(),
        format!(
            "Viscosity: {} hides a move of {} in {} from the eye, with a surface stiffened by proteins (Stokes) and walls that slow it to {}; in a wide vessel and with a clean surface (Hadamard, Rybczynski) it takes {}.",
            viscosity(held.viscosity_at_least_pa_s),
            display::length_mm(inputs.seen_travel_m),
            display::duration(inputs.watched_s),
            display::percent(held.wall_slowing_ratio),
            viscosity(held.wide_vessel_viscosity_pa_s)
        ),
        format!(
            "Looking on longer tells more of the viscosity: after {} without a move it is at least {}.",
            display::duration(10.0 * inputs.watched_s),
            viscosity(10.0 * held.viscosity_at_least_pa_s)
        ),
    ]
}

fn viscosity(pascal_second: f64) -> String {
    let (number, unit) = display::viscosity_scale(pascal_second);
    format!("{} {unit}", display::at_most(pascal_second * number, 2))
}

/// What is taken for granted.
pub(super) fn assumed(question: &Question) -> Vec<String> {
    let inputs = &question.inputs;
    let default = |is_default: bool| if is_default { " (default)" } else { "" };
    let (low, high) = inputs.surface_tension_n_per_m;
    let tension = if low == high {
        format!("surface tension {} mN/m", display::at_most(low * 1e3, 3))
    } else {
        format!(
            "surface tension {} to {} mN/m (default: serum and blood at 20 to 22 °C, by method and person; none found for plasma itself)",
            display::at_most(low * 1e3, 2),
            display::at_most(high * 1e3, 2)
        )
    };
    let bubble = match inputs.bubble_diameter_m {
        None => "bubble that fills the bore (default)".to_owned(),
        Some(diameter_m) => format!(
            "bubble {} in diameter (of a sphere with its volume)",
            display::length_mm(diameter_m)
        ),
    };
    vec![
        format!(
            "{}{}: bore {}",
            question.barrel.label(),
            default(question.syringe_is_default),
            display::length_mm(inputs.bore_m)
        ),
        bubble,
        if question.tension_is_default || low == high {
            tension
        } else {
            format!("{tension} (given)")
        },
        format!(
            "density {} kg/m3{}",
            display::at_most(inputs.density_kg_per_m3, 4),
            if question.density_is_default {
                " (default: plasma)"
            } else {
                ""
            }
        ),
        format!(
            "unset: {}{}",
            display::viscosity(inputs.unset_viscosity_pa_s),
            if question.unset_is_default {
                " (default: plasma in the room, from memory)"
            } else {
                ""
            }
        ),
        format!(
            "looked at for {}{}, a move of {}{} would have been seen",
            display::duration(inputs.watched_s),
            default(question.watched_is_default),
            display::length_mm(inputs.seen_travel_m),
            default(question.moved_is_default)
        ),
    ]
}
