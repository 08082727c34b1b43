//! The columns that a grid can have, in words: every column that readings know, in the units in
//! which people write it.

/// A group of columns: its name, then header and words of each.
pub(super) type Group = (&'static str, &'static [(&'static str, &'static str)]);

/// All columns, in the order of the blank table.
pub(super) const GROUPS: [Group; 5] = [
    (
        "Needed",
        &[
            ("heat_temp_C", "heat temperature, °C"),
            ("heat_temp_K", "heat temperature, K"),
            ("heat_temp_F", "heat temperature, °F"),
            ("heat_time_min", "heat time, min"),
            ("heat_time_s", "heat time, s"),
            ("heat_time_h", "heat time, h"),
        ],
    ),
    (
        "The reading: one kind a table",
        &[
            ("viscosity_mPa_s", "viscosity, mPa.s"),
            ("viscosity_Pa_s", "viscosity, Pa.s"),
            ("viscosity_cP", "viscosity, cP"),
            ("modulus_Pa", "storage modulus, Pa"),
            ("modulus_kPa", "storage modulus, kPa"),
            ("force_N", "plunger force, N"),
            ("force_gf", "plunger force, gf"),
            ("run_time_s", "timed run, s"),
            ("run_time_min", "timed run, min"),
            ("firmness_au", "firmness, own unit"),
        ],
    ),
    (
        "Worth filling in",
        &[
            ("shear_rate_per_s", "shear rate, 1/s"),
            ("lot", "lot (a code, never a name)"),
            ("blend", "blend"),
            ("ha_fraction", "share of hyaluronic acid solution, 0 to 1"),
            ("read_temp_C", "temperature when read, °C"),
            ("read_temp_K", "temperature when read, K"),
            ("read_temp_F", "temperature when read, °F"),
            ("stand_time_min", "standing time, min"),
            ("stand_time_s", "standing time, s"),
            ("stand_time_h", "standing time, h"),
            ("stand_temp_C", "standing temperature, °C"),
            ("stand_temp_K", "standing temperature, K"),
            ("stand_temp_F", "standing temperature, °F"),
            ("reading_sd", "standard deviation of the reading"),
        ],
    ),
    (
        "A needle as viscometer",
        &[
            ("flow_mL_per_min", "speed of the push, mL/min"),
            ("flow_mL_per_s", "speed of the push, mL/s"),
            ("dead_weight_g", "dead weight, g"),
            ("dead_weight_kg", "dead weight, kg"),
            ("run_volume_mL", "volume of the run, mL"),
            ("needle_gauge", "needle gauge"),
            ("needle_wall", "needle wall"),
            ("needle_length_mm", "needle length, mm"),
            ("needle_bore_mm", "needle bore, mm"),
            ("needle_bore_sd_mm", "its standard deviation, mm"),
            ("barrel_bore_mm", "barrel bore, mm"),
            ("friction_N", "stopper friction, N"),
            ("friction_gf", "stopper friction, gf"),
            ("content", "content: gel, empty, water, known"),
            (
                "content_viscosity_mPa_s",
                "viscosity of a known liquid, mPa.s",
            ),
            (
                "content_viscosity_sd_mPa_s",
                "its standard deviation, mPa.s",
            ),
        ],
    ),
    (
        "Who, where, notes",
        &[
            ("operator", "operator (a code)"),
            ("block", "block"),
            ("place", "place in the block"),
            ("session", "session"),
            ("use", "use: yes or no"),
            ("note", "note"),
        ],
    ),
];

/// Columns of a blank grid; the last two are to be chosen.
pub(super) const BLANK: [&str; 8] = [
    "heat_temp_C",
    "heat_time_min",
    "viscosity_mPa_s",
    "shear_rate_per_s",
    "lot",
    "blend",
    "",
    "",
];

/// A column in words, where it is known.
pub(super) fn words_of(header: &str) -> Option<&'static str> {
    GROUPS
        .iter()
        .flat_map(|(_, columns)| columns.iter())
        .find(|(known, _)| *known == header)
        .map(|(_, words)| *words)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::readings::{blank_bench_table, read_bench_text};

    /// Each of them beside what a table needs, so that it is the only stranger.
    #[test]
    fn every_column_of_the_list_is_known_to_the_readings() {
        for (header, _) in GROUPS.iter().flat_map(|(_, columns)| columns.iter()) {
            let needed = ["heat_temp_C", "heat_time_min", "viscosity_mPa_s"];
            let alike = |other: &str| {
                ["heat_temp", "heat_time"]
                    .iter()
                    .any(|base| header.starts_with(base) && other.starts_with(base))
            };
            let mut headers: Vec<&str> = needed.into_iter().filter(|n| !alike(n)).collect();
            headers.push(header);
            let text = format!(
                "{}\n{}\n",
                headers.join(","),
                vec![""; headers.len()].join(",")
            );
            let words = read_bench_text("t.csv", text.as_bytes())
                .err()
                .map(|error| error.to_string())
                .unwrap_or_default();
            for unknown in ["no unit", "is no unit", "is it \""] {
                assert!(!words.contains(unknown), "{header}: {words}");
            }
        }
    }

    #[test]
    fn the_blank_table_has_no_column_that_the_grid_lacks() {
        let header = blank_bench_table()
            .lines()
            .find(|line| !line.starts_with('#'))
            .unwrap_or_default();
        for column in header.split(',') {
            assert!(words_of(column).is_some(), "{column}");
        }
    }
}
