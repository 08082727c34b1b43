//! One push of a gel: what it needs, read from its row.

use std::collections::BTreeMap;

use super::super::kind::ReadingKind;
use super::super::row::{NeedleDetails, RowDetails};
use super::super::table::BenchTable;
use super::Faults;
use super::bores::Bores;
use super::frictions::Frictions;
use super::gels::Gel;
use crate::flow::pipe::{apparent_shear_rate_per_s, mean_velocity_m_per_s};
use crate::flow::{FlowError, Tube, end_losses};
use crate::reference::{constants::STANDARD_GRAVITY_M_PER_S2, plasma};
use crate::units::display;

/// Over this share of the pressure the jet's own pressure is taken off.
const KINETIC_MATTERS_RATIO: f64 = 1e-3;

/// A stated flow rate may differ from volume over time by this share.
const SAME_FLOW_RATIO: f64 = 0.02;

/// How a push was made; in both what was read carries the factor of the row's own error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Push {
    /// A force at a stated rate.
    Force {
        force_n: f64,
        flow_rate_m3_per_s: f64,
    },
    /// A time for a volume under a weight.
    Timed {
        weight_n: f64,
        volume_m3: f64,
        time_s: f64,
    },
}

impl Push {
    pub(super) fn force_n(&self) -> f64 {
        match *self {
            Push::Force { force_n, .. } => force_n,
            Push::Timed { weight_n, .. } => weight_n,
        }
    }

    pub(super) fn flow_rate_m3_per_s(&self) -> f64 {
        match *self {
            Push::Force {
                flow_rate_m3_per_s, ..
            } => flow_rate_m3_per_s,
            Push::Timed {
                volume_m3, time_s, ..
            } => volume_m3 / time_s,
        }
    }
}

/// A push of a gel, checked.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Run {
    pub row: usize,
    pub line: usize,
    pub used: bool,
    pub push: Push,
    pub bore: usize,
    pub friction: usize,
    pub length_m: f64,
    pub barrel_bore_m: f64,
    /// Place of its length and its barrel's graduation among the inputs.
    pub length_place: usize,
    pub volume_place: usize,
    pub density_kg_per_m3: f64,
    /// True where the jet's pressure is taken off.
    pub kinetic: bool,
    /// Standard deviation of what was read, over it.
    pub own_sd_ratio: Option<f64>,
}

impl Run {
    pub(super) fn barrel_area_m2(&self) -> f64 {
        area_m2(self.barrel_bore_m)
    }
}

pub(super) fn area_m2(bore_m: f64) -> f64 {
    0.25 * std::f64::consts::PI * bore_m * bore_m
}

/// Pressure of the jet out of a bore.
pub(super) fn kinetic_pa(
    bore_m: f64,
    length_m: f64,
    flow_rate_m3_per_s: f64,
    density_kg_per_m3: f64,
) -> f64 {
    let velocity_m_per_s = mean_velocity_m_per_s(bore_m, flow_rate_m3_per_s);
    let tube = Tube { bore_m, length_m };
    end_losses(tube, 0.0, density_kg_per_m3, velocity_m_per_s).kinetic_pa
}

/// Reynolds number with the apparent viscosity.
pub(super) fn reynolds(
    bore_m: f64,
    flow_rate_m3_per_s: f64,
    density_kg_per_m3: f64,
    wall_shear_stress_pa: f64,
) -> f64 {
    let viscosity_pa_s =
        wall_shear_stress_pa / apparent_shear_rate_per_s(bore_m, flow_rate_m3_per_s);
    let velocity_m_per_s = mean_velocity_m_per_s(bore_m, flow_rate_m3_per_s);
    density_kg_per_m3 * velocity_m_per_s * bore_m / viscosity_pa_s
}

/// The push that a row with this reading made; what is missing otherwise.
pub(super) fn push_of(
    kind: ReadingKind,
    reading: f64,
    needle: &NeedleDetails,
) -> Result<Push, &'static str> {
    match kind {
        ReadingKind::RunTime => Ok(Push::Timed {
            weight_n: needle.dead_weight_kg.ok_or("dead_weight_g")? * STANDARD_GRAVITY_M_PER_S2,
            volume_m3: needle.run_volume_m3.ok_or("run_volume_mL")?,
            time_s: reading,
        }),
        _ => Ok(Push::Force {
            force_n: reading,
            flow_rate_m3_per_s: needle.flow_rate_m3_per_s.ok_or("flow_mL_per_min")?,
        }),
    }
}

/// The run of a gel's row; what is wrong goes into `faults`.
pub(super) fn run_of_row(
    table: &BenchTable,
    row: usize,
    bores: &mut Bores,
    frictions: &mut Frictions,
    faults: &mut Faults<'_>,
) -> Option<Run> {
    let details = table.rows.get(row)?;
    let reading = *table.reading.get(row)?;
    let (source, line) = (details.source, details.line);
    match checked(table.kind, reading, row, details, bores, frictions) {
        Ok(run) => Some(run),
        Err(Wrong {
            column,
            message,
            remedy,
        }) => {
            faults.push(source, line, column, message, remedy);
            None
        }
    }
}

struct Wrong {
    column: Option<&'static str>,
    message: String,
    remedy: Option<&'static str>,
}

impl Wrong {
    fn plain(message: String) -> Self {
        Wrong {
            column: None,
            message,
            remedy: None,
        }
    }
}

fn checked(
    kind: ReadingKind,
    reading: f64,
    row: usize,
    details: &RowDetails,
    bores: &mut Bores,
    frictions: &mut Frictions,
) -> Result<Run, Wrong> {
    let what = if kind == ReadingKind::RunTime {
        "a timed run"
    } else {
        "a force reading"
    };
    let missing = |column: &'static str| Wrong::plain(format!("{what} needs {column}"));
    let needle = details
        .needle
        .as_ref()
        .ok_or_else(|| missing("its needle and push"))?;
    let push = push_of(kind, reading, needle).map_err(missing)?;
    if let (Push::Timed { .. }, Some(stated)) = (&push, needle.flow_rate_m3_per_s) {
        let timed = push.flow_rate_m3_per_s();
        if (stated / timed - 1.0).abs() > SAME_FLOW_RATIO {
            return Err(Wrong {
                column: Some("flow"),
                message: format!(
                    "{} mL/min is stated, and volume over time is {} mL/min",
                    display::at_most(stated * 6e7, 3),
                    display::at_most(timed * 6e7, 3)
                ),
                remedy: Some(
                    "a timed run needs no flow rate: empty the cell, or check volume and time",
                ),
            });
        }
    }
    let length_m = needle.length_m.ok_or_else(|| missing("needle_length_mm"))?;
    let barrel_bore_m = needle
        .barrel_bore_m
        .ok_or_else(|| missing("barrel_bore_mm"))?;
    let bore = bores.of_needle(needle).map_err(Wrong::plain)?;
    let friction = frictions
        .of_row(needle, details.session.as_deref())
        .map_err(Wrong::plain)?;
    let friction_n = frictions.friction_n(friction);
    let density_kg_per_m3 = plasma()
        .map_err(|error| Wrong::plain(error.to_string()))?
        .density_kg_per_m3;
    let left_n = push.force_n() - friction_n;
    if left_n <= 0.0 {
        return Err(nothing_left(&push, friction_n));
    }
    let bore_m = bores.bore_m(bore);
    let pressure_pa = left_n / area_m2(barrel_bore_m);
    let jet_pa = kinetic_pa(
        bore_m,
        length_m,
        push.flow_rate_m3_per_s(),
        density_kg_per_m3,
    );
    let kinetic = jet_pa > KINETIC_MATTERS_RATIO * pressure_pa;
    if jet_pa >= pressure_pa {
        return Err(Wrong {
            column: None,
            message: format!(
                "a jet this fast takes {} by itself, and the push left {} for the needle: a needle reads no viscosity at this rate",
                display::pressure_to(jet_pa, 2),
                display::pressure_to(pressure_pa, 2)
            ),
            remedy: Some("read it slower, or through a finer needle; check bore, volume and time"),
        });
    }
    frictions.count_row(friction);
    bores.count_row(bore);
    Ok(Run {
        row,
        line: details.line,
        used: details.used,
        push,
        bore,
        friction,
        length_m,
        barrel_bore_m,
        length_place: 0,
        volume_place: 0,
        density_kg_per_m3,
        kinetic,
        own_sd_ratio: None,
    })
}

fn nothing_left(push: &Push, friction_n: f64) -> Wrong {
    match *push {
        Push::Force { force_n, .. } => Wrong {
            column: None,
            message: FlowError::NothingLeftForTheGel {
                plunger_force_n: force_n,
                taken_n: friction_n,
            }
            .to_string(),
            remedy: None,
        },
        Push::Timed { weight_n, .. } => Wrong {
            column: Some("dead_weight"),
            message: format!(
                "a weight of {} g presses with {}, and the stopper's friction takes {}: nothing is left for the gel",
                display::at_most(weight_n / STANDARD_GRAVITY_M_PER_S2 * 1e3, 4),
                display::force(weight_n),
                display::force(friction_n)
            ),
            remedy: Some(
                "was everything weighed that pressed, the plunger too? measure the friction with an empty barrel",
            ),
        },
    }
}

/// Gives every run the scatter of its own reading: what the row states, else what repeats show.
pub(super) fn own_scatter(
    runs: &mut [Run],
    gels: &[Gel],
    table: &BenchTable,
    frictions: &Frictions,
) {
    let pooled = pooled_scatter(runs, gels, frictions);
    for run in runs {
        let left_ratio =
            (run.push.force_n() - frictions.friction_n(run.friction)) / run.push.force_n();
        let stated = table.rows.get(run.row).and_then(|row| row.reading_sd);
        let reading = table.reading.get(run.row).copied().unwrap_or(f64::NAN);
        // A stopper slides a little differently each time; repeats show that by themselves.
        let stopper_ratio = frictions.run_sd_n(run.friction).unwrap_or(0.0) / run.push.force_n();
        run.own_sd_ratio = match (stated, pooled, run.push) {
            (Some(sd), _, Push::Force { .. }) => Some((sd / reading).hypot(stopper_ratio)),
            (Some(sd), _, Push::Timed { .. }) => {
                Some((sd / reading).hypot(stopper_ratio / left_ratio))
            }
            (None, Some(scatter), Push::Force { .. }) => Some(scatter * left_ratio),
            (None, Some(scatter), Push::Timed { .. }) => Some(scatter),
            (None, None, _) => None,
        };
    }
}

/// Scatter of repeats over all gels, on the logarithm of what the gel itself took: its force at a
/// stated rate, its time under a weight.
fn pooled_scatter(runs: &[Run], gels: &[Gel], frictions: &Frictions) -> Option<f64> {
    let (mut sum, mut freedom) = (0.0, 0.0);
    for gel in gels {
        let mut repeats: BTreeMap<[u64; 4], Vec<f64>> = BTreeMap::new();
        for run in gel.runs.iter().filter_map(|&number| runs.get(number)) {
            if !run.used {
                continue;
            }
            let (setting, read) = match run.push {
                Push::Force {
                    force_n,
                    flow_rate_m3_per_s,
                } => (
                    [flow_rate_m3_per_s, 0.0],
                    (force_n - frictions.friction_n(run.friction)).ln(),
                ),
                Push::Timed {
                    weight_n,
                    volume_m3,
                    time_s,
                } => ([weight_n, volume_m3], time_s.ln()),
            };
            repeats
                .entry([
                    run.length_m.to_bits(),
                    run.barrel_bore_m.to_bits(),
                    setting[0].to_bits(),
                    setting[1].to_bits(),
                ])
                .or_default()
                .push(read);
        }
        for read in repeats.values().filter(|read| read.len() > 1) {
            let count = read.len() as f64;
            let mean = read.iter().sum::<f64>() / count;
            sum += read.iter().map(|value| (value - mean).powi(2)).sum::<f64>();
            freedom += count - 1.0;
        }
    }
    (freedom > 0.0 && sum > 0.0).then(|| (sum / freedom).sqrt())
}
