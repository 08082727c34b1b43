//! The document of `heatset convert`: SI, the unit in every key.

use super::convert::rows;
use crate::readings::{
    BenchTable, BoreSource, FrictionSource, ReadingKind, Source, ViscosityReadings,
};
use serde::Serialize;

/// What `--json` prints.
#[derive(Serialize)]
pub(super) struct Document<'a> {
    reading: ReadingKind,
    invented: bool,
    source: &'a [Source],
    readings: Vec<Entry<'a>>,
    frictions: Vec<Friction<'a>>,
    bores: Vec<Bore>,
    assumptions: Vec<String>,
    advice: Vec<Advice>,
    file: Option<String>,
}

#[derive(Serialize)]
struct Entry<'a> {
    file: &'a str,
    line: usize,
    used: bool,
    blend: String,
    lot: Option<&'a str>,
    #[serde(rename = "heat_temp_K")]
    heat_temp_kelvin: f64,
    heat_time_s: f64,
    bore_m: f64,
    needle_length_m: f64,
    #[serde(rename = "friction_N")]
    friction_n: f64,
    friction_from: Option<FrictionSource>,
    #[serde(rename = "pressure_Pa")]
    pressure_pa: f64,
    #[serde(rename = "jet_pressure_taken_off_Pa")]
    kinetic_pa: f64,
    flow_rate_m3_per_s: f64,
    reynolds: f64,
    end_correction_radii: Option<f64>,
    #[serde(rename = "wall_shear_stress_Pa")]
    wall_shear_stress_pa: f64,
    apparent_shear_rate_per_s: f64,
    shear_rate_per_s: f64,
    local_slope: Option<f64>,
    #[serde(rename = "viscosity_Pa_s")]
    viscosity_pa_s: f64,
    #[serde(rename = "viscosity_sd_own_Pa_s")]
    own_sd_pa_s: Option<f64>,
    #[serde(rename = "viscosity_sd_common_Pa_s")]
    common_sd_pa_s: f64,
    #[serde(rename = "viscosity_sd_Pa_s")]
    sd_pa_s: Option<f64>,
    viscosity_sd_ratio_by: By,
}

#[derive(Serialize)]
struct By {
    bore: f64,
    friction: f64,
    needle_length: f64,
    graduation: f64,
    own: Option<f64>,
}

#[derive(Serialize)]
struct Friction<'a> {
    #[serde(rename = "friction_N")]
    friction_n: f64,
    #[serde(rename = "sd_N")]
    sd_n: f64,
    #[serde(rename = "sd_from_push_to_push_N")]
    run_sd_n: Option<f64>,
    from: FrictionSource,
    barrel_bore_m: f64,
    session: Option<&'a str>,
    pushes_without_gel: usize,
    rows: usize,
}

#[derive(Serialize)]
struct Bore {
    needle: String,
    bore_m: f64,
    sd_m: f64,
    tabled_m: f64,
    from: BoreSource,
    pushes_of_known_liquid: usize,
    rows: usize,
}

#[derive(Serialize)]
struct Advice {
    code: &'static str,
    message: String,
}

pub(super) fn document<'a>(
    table: &'a BenchTable,
    converted: &'a ViscosityReadings,
    file: Option<String>,
) -> Document<'a> {
    let readings = rows(table, converted)
        .map(|row| {
            let one = row.reading;
            let over = |sd: f64| sd / one.viscosity_pa_s;
            Entry {
                file: table
                    .sources
                    .get(row.details.source)
                    .map_or("", |source| source.file.as_str()),
                line: row.details.line,
                used: row.details.used,
                blend: row.details.blend_name(),
                lot: row.details.lot.as_deref(),
                heat_temp_kelvin: row.heat_temp_kelvin,
                heat_time_s: row.heat_time_s,
                bore_m: row.bore.map_or(f64::NAN, |bore| bore.bore_m),
                needle_length_m: one.length_m,
                friction_n: one.friction_n,
                friction_from: row.friction.map(|friction| friction.source),
                pressure_pa: one.pressure_pa,
                kinetic_pa: one.kinetic_pa,
                flow_rate_m3_per_s: one.flow_rate_m3_per_s,
                reynolds: one.reynolds,
                end_correction_radii: one.end_correction_radii,
                wall_shear_stress_pa: one.wall_shear_stress_pa,
                apparent_shear_rate_per_s: one.apparent_rate_per_s,
                shear_rate_per_s: one.shear_rate_per_s,
                local_slope: one.local_slope,
                viscosity_pa_s: one.viscosity_pa_s,
                own_sd_pa_s: one.own_sd_pa_s,
                common_sd_pa_s: one.common_sd_pa_s,
                sd_pa_s: one.own_sd_pa_s.map(|own| own.hypot(one.common_sd_pa_s)),
                viscosity_sd_ratio_by: By {
                    bore: one.common_parts.bore_ratio,
                    friction: one.common_parts.friction_ratio,
                    needle_length: one.common_parts.length_ratio,
                    graduation: one.common_parts.volume_ratio,
                    own: one.own_sd_pa_s.map(over),
                },
            }
        })
        .collect();
    Document {
        reading: table.kind,
        invented: table.invented,
        source: &table.sources,
        readings,
        frictions: converted
            .frictions
            .iter()
            .filter(|friction| friction.rows > 0)
            .map(|friction| Friction {
                friction_n: friction.friction_n,
                sd_n: friction.sd_n,
                run_sd_n: friction.run_sd_n,
                from: friction.source,
                barrel_bore_m: friction.barrel_bore_m,
                session: friction.session.as_deref(),
                pushes_without_gel: friction.runs,
                rows: friction.rows,
            })
            .collect(),
        bores: converted
            .bores
            .iter()
            .filter(|bore| bore.rows > 0)
            .map(|bore| Bore {
                needle: bore.name(),
                bore_m: bore.bore_m,
                sd_m: bore.sd_m,
                tabled_m: bore.tabled_m,
                from: bore.source,
                pushes_of_known_liquid: bore.runs,
                rows: bore.rows,
            })
            .collect(),
        assumptions: converted
            .assumptions
            .iter()
            .map(|one| one.message())
            .collect(),
        advice: converted
            .advice
            .iter()
            .map(|one| Advice {
                code: one.code(),
                message: one.message(),
            })
            .collect(),
        file,
    }
}
