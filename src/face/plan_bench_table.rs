//! The blank bench table of a plan: settings in a random order, to be filled in.

use crate::plan::bench_plan::{BenchPlan, BenchPlanQuestion, BenchReading, BenchSession};
use crate::reference::constants::ZERO_CELSIUS_KELVIN;
use crate::units::display;
use std::fmt::Write as _;

/// The table as text: comment lines that say how it is read, then a row a reading, its reading blank.
pub(crate) fn blank_table(question: &BenchPlanQuestion, plan: &BenchPlan) -> String {
    let mut text = String::from(
        "\
# Planned bench: fill in viscosity_Pa_s, top down. Lines that begin with # are comments.
# Another kind of reading: rename that column (viscosity_mPa_s, modulus_Pa, force_N ...; heatset template names them).
# The order is random on purpose: keep it, or drift of the day looks like setting.
# heat_time_min is the clock from putting the syringe in; 0 is an unheated gel, read at once.
# A lot is one donor draw. Keep L01, L02 ... or write your own codes; never a name, a date of birth or a record number.
# place is a place in the block; what shares session, lot and temperature may go in together.
",
    );
    let _ = writeln!(
        text,
        "# {} lots, {} readings each, seed {}. Bench aid, not a medical device.",
        plan.lots, plan.readings_a_lot, question.seed
    );
    for session in &plan.sessions {
        let _ = writeln!(
            text,
            "# Session {}: {}, {} with the block's changes.",
            session.session,
            match session.readings.len() {
                1 => "1 reading".to_owned(),
                n => format!("{n} readings"),
            },
            display::duration(session.takes_s)
        );
    }
    text.push_str(
        "heat_temp_C,heat_time_min,viscosity_Pa_s,shear_rate_per_s,lot,blend,read_temp_C,session,place,note\n",
    );
    for session in &plan.sessions {
        for reading in &session.readings {
            row(&mut text, question, session, reading);
        }
    }
    text
}

fn row(
    text: &mut String,
    question: &BenchPlanQuestion,
    session: &BenchSession,
    reading: &BenchReading,
) {
    // Rounded away: 273.15 leaves digits that nobody set.
    let celsius = (100.0 * (reading.setting.heat_temp_k - ZERO_CELSIUS_KELVIN)).round() / 100.0;
    let shear_rate = question
        .thinning
        .shear_rate_per_s
        .map_or_else(String::new, display::plain);
    let _ = writeln!(
        text,
        "{},{},,{shear_rate},{},plain,,{},{},",
        display::plain(celsius),
        display::plain(reading.setting.heat_time_s / 60.0),
        reading.lot,
        session.session,
        reading.place.as_deref().unwrap_or("")
    );
}
