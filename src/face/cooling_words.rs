//! How hot the gel leaves the block, and how long until it may be handed on.

use crate::plan::{CoolingAsked, HandOver};
use crate::units::display::{self, Rounding};

/// One line: the core's temperature, and the time until it is cool enough.
pub(crate) fn cooling_words(handed: &HandOver, asked: &CoolingAsked, counted: bool) -> String {
    let mut text = format!(
        "  {} the core stands at {}{}.",
        if counted {
            "After the cooling that counts"
        } else {
            "Out of the block"
        },
        display::temperature(handed.gel_temp_k),
        if handed.gel_temp_k > asked.until_kelvin {
            ": a hot gel burns"
        } else {
            ""
        }
    );
    let ambient = display::temperature(asked.ambient_kelvin);
    let until = display::temperature(asked.until_kelvin);
    let from = if counted {
        ", counted from the block"
    } else {
        ""
    };
    let minutes = |t: f64| display::duration_rounded(t, 10.0, Rounding::Up);
    text.push_str(&match (handed.cool_time_s, handed.cool_time_s_range) {
        (Some(about), Some([low, high])) => format!(
            " In air of {ambient} it is under {until} after about {} ({} to {}, by how the air moves){from}.",
            minutes(about),
            minutes(low),
            minutes(high)
        ),
        (Some(about), None) => format!(
            " In air of {ambient} it is under {until} after about {}{from}.",
            minutes(about)
        ),
        (None, _) => format!(" Air of {ambient} never brings it under {until}."),
    });
    text.push('\n');
    text
}
