//! How hot the gel leaves the block, and how long until it may be handed on.

use crate::plan::{CoolingAsked, HandOver};
use crate::units::display::{self, Rounding};

/// One line: the core's temperature, and the time until it is cool enough.
pub(crate) fn cooling_words(handed: &HandOver, asked: &CoolingAsked, counted: bool) -> String {
    let until = display::temperature(asked.until_kelvin);
    let air = display::temperature(asked.ambient_kelvin);
    let hot = handed.gel_temp_k > asked.until_kelvin;
    let mut text = format!(
        "  {} the core stands at {}{}.",
        if counted {
            "After the cooling that counts"
        } else {
            "Out of the block"
        },
        display::temperature(handed.gel_temp_k),
        if hot { ": a hot gel burns" } else { "" }
    );
    let minutes = |t: f64| display::duration_rounded(t, 10.0, Rounding::Up);
    let range = handed
        .cool_time_s_range
        .map_or_else(String::new, |[fan, still]| {
            format!(
                " ({} in a strong fan's air, {} in still air)",
                minutes(fan),
                minutes(still)
            )
        });
    text.push_str(&match handed.cool_time_s {
        None => format!(" Air of {air} does not keep it under {until}: cool it in colder air."),
        Some(t) if t > 0.0 => format!(
            " In air of {air} it {} under {until} about {} after the block{range}.",
            if hot { "is" } else { "was" },
            minutes(t)
        ),
        Some(_) if hot => String::new(),
        Some(_) => format!(" It is under {until} already."),
    });
    text.push('\n');
    text
}
