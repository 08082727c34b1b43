//! Bore of the needle: of the chart, as measured, or as a liquid of known viscosity shows it.

use std::collections::BTreeMap;

use super::super::row::{Content, NeedleDetails, RunWithoutGel};
use super::super::table::BenchTable;
use super::Faults;
use super::frictions::Frictions;
use super::runs::{Push, area_m2, kinetic_pa, push_of};
use crate::flow::{Tube, creeping_end_correction_radii, pipe::hagen_poiseuille_pressure_pa};
use crate::reference::{BoreBasis, Wall, find_needle, plasma, water_viscosity_pa_s};
use crate::units::display;

/// Water's viscosity is as sure as its temperature: 1 °C is 2.4 % (IAPWS R12-08).
const WATER_VISCOSITY_SD_RATIO: f64 = 0.024;
/// A stopwatch stopped by hand, and a kitchen scale read while it moves: common practice, no source.
const ONE_READING_SD_RATIO: f64 = 0.03;
/// A barrel's graduation, ±5 % of the volume: ISO 7886-1, from memory.
pub(super) const GRADUATION_RATIO: f64 = 0.05;
/// A needle's length read from a ruler, ±0.5 mm: common practice, no source.
pub(super) const RULER_M: f64 = 0.5e-3;
/// The Reynolds number over which a tube's flow may not be laminar.
const LAMINAR_REYNOLDS: f64 = 2100.0;

/// Where a bore comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum BoreSource {
    /// The usual chart, with its tolerance.
    Nominal,
    /// The least that the standard allows.
    Minimum,
    /// Measured, as the row states it.
    Measured,
    /// Shown by pushes of a liquid of known viscosity.
    KnownLiquid,
}

/// A bore that rows use.
#[derive(Debug, Clone, PartialEq)]
pub struct BoreUsed {
    /// Gauge, where the row names one.
    pub gauge: Option<u8>,
    /// Wall, where the row names one.
    pub wall: Option<Wall>,
    /// Bore.
    pub bore_m: f64,
    /// Standard deviation, which all rows through it have in common; 0 where nothing is known of it.
    pub sd_m: f64,
    /// Half width of the chart's tolerance.
    pub tolerance_m: Option<f64>,
    /// Where it comes from.
    pub source: BoreSource,
    /// Bore before a known liquid showed another.
    pub tabled_m: f64,
    /// Pushes of known liquids behind it.
    pub runs: usize,
    /// Rows of gel read through it.
    pub rows: usize,
    /// The part of `sd_m` that friction, length and graduation have no share in.
    pub(super) apart_sd_m: f64,
    /// How friction, length and graduation move a bore that a known liquid shows.
    pub(super) links: Links,
}

/// Slopes of ln bore by what the pushes of a known liquid share with those of the gel: one error of
/// the graduation is in both, and cancels.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Links {
    /// Place of the friction, 1/N.
    pub frictions: Vec<(usize, f64)>,
    /// Length of the needle (its bits), 1/m.
    pub lengths: Vec<(u64, f64)>,
    /// Bore of the barrel (its bits), by the factor of its volumes.
    pub volumes: Vec<(u64, f64)>,
}

impl Links {
    /// The mean of several pushes' links.
    fn mean(shown: &[Shown]) -> Self {
        let share = 1.0 / shown.len() as f64;
        let mut links = Links::default();
        for one in shown {
            links
                .frictions
                .push((one.friction, one.by_friction_per_n * share));
            links
                .lengths
                .push((one.length_m.to_bits(), one.by_length_per_m * share));
            links
                .volumes
                .push((one.barrel_bore_m.to_bits(), one.by_volume * share));
        }
        links
    }
}

impl BoreUsed {
    /// `27G`, or the measured bore.
    #[must_use]
    pub fn name(&self) -> String {
        match (self.gauge, self.wall) {
            (Some(gauge), Some(wall)) if wall != Wall::Regular => format!("{gauge}G {wall} wall"),
            (Some(gauge), _) => format!("{gauge}G"),
            _ => format!("the {} needle", display::length_mm(self.tabled_m)),
        }
    }
}

#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Key {
    Gauge(u8, Wall),
    Measured(u64, Option<u64>),
}

/// The bores of a table.
#[derive(Default)]
pub(super) struct Bores {
    known: BTreeMap<Key, usize>,
    /// In the order in which rows first use them.
    pub used: Vec<BoreUsed>,
    /// Pushes of known liquids that could not better their bore, told in the assumptions.
    pub no_better: Vec<usize>,
}

impl Bores {
    /// Place of a row's bore.
    pub(super) fn of_needle(&mut self, needle: &NeedleDetails) -> Result<usize, String> {
        if let Some(bore_m) = needle.bore_m {
            let key = Key::Measured(bore_m.to_bits(), needle.bore_sd_m.map(f64::to_bits));
            return Ok(self.place(key, || BoreUsed {
                gauge: needle.gauge,
                wall: needle.wall.as_deref().and_then(|wall| wall.parse().ok()),
                bore_m,
                sd_m: needle.bore_sd_m.unwrap_or(0.0),
                apart_sd_m: needle.bore_sd_m.unwrap_or(0.0),
                links: Links::default(),
                tolerance_m: None,
                source: BoreSource::Measured,
                tabled_m: bore_m,
                runs: 0,
                rows: 0,
            }));
        }
        let missing = |what: &str| format!("a push through a needle needs {what}");
        let gauge = needle.gauge.ok_or_else(|| missing("needle_gauge"))?;
        let wall: Wall = needle
            .wall
            .as_deref()
            .ok_or_else(|| missing("needle_wall"))?
            .parse()
            .map_err(|error: crate::reference::ReferenceError| error.to_string())?;
        // Only regular walls have a nominal bore; of the others the standard gives the least.
        let basis = if wall == Wall::Regular {
            BoreBasis::Nominal
        } else {
            BoreBasis::Minimum
        };
        let tabled = find_needle(gauge, wall, basis).map_err(|error| error.to_string())?;
        Ok(self.place(Key::Gauge(gauge, wall), || BoreUsed {
            gauge: Some(gauge),
            wall: Some(wall),
            bore_m: tabled.bore_m,
            // A rectangle over the tolerance: JCGM 100:2008, 4.3.7.
            sd_m: tabled.bore_tolerance_m.unwrap_or(0.0) / 3.0_f64.sqrt(),
            apart_sd_m: tabled.bore_tolerance_m.unwrap_or(0.0) / 3.0_f64.sqrt(),
            links: Links::default(),
            tolerance_m: tabled.bore_tolerance_m,
            source: match tabled.bore_basis {
                BoreBasis::Nominal => BoreSource::Nominal,
                BoreBasis::Minimum => BoreSource::Minimum,
            },
            tabled_m: tabled.bore_m,
            runs: 0,
            rows: 0,
        }))
    }

    fn place(&mut self, key: Key, make: impl FnOnce() -> BoreUsed) -> usize {
        if let Some(place) = self.known.get(&key) {
            return *place;
        }
        self.used.push(make());
        let place = self.used.len() - 1;
        self.known.insert(key, place);
        place
    }

    pub(super) fn bore_m(&self, place: usize) -> f64 {
        self.used.get(place).map_or(f64::NAN, |used| used.bore_m)
    }

    pub(super) fn count_row(&mut self, place: usize) {
        if let Some(used) = self.used.get_mut(place) {
            used.rows += 1;
        }
    }

    /// Finds bores from pushes of liquids of known viscosity, and takes those that are surer than
    /// the table's.
    pub(super) fn calibrate(
        &mut self,
        table: &BenchTable,
        frictions: &mut Frictions,
        faults: &mut Faults<'_>,
    ) {
        let mut shown: BTreeMap<usize, Vec<Shown>> = BTreeMap::new();
        for run in table.runs_without_gel.iter().filter(|run| run.details.used) {
            let barrel_bore_m = run
                .details
                .needle
                .as_ref()
                .and_then(|needle| needle.barrel_bore_m)
                .unwrap_or(f64::NAN);
            let tells_bore = match run.content {
                Content::Known => true,
                Content::Water => frictions.has_empty_run(barrel_bore_m),
                Content::Gel | Content::Empty => false,
            };
            if !tells_bore {
                continue;
            }
            match self.shown_by(table, run, frictions) {
                Ok((place, one)) => shown.entry(place).or_default().push(one),
                Err(message) => faults.push(
                    run.details.source,
                    run.details.line,
                    None,
                    message,
                    Some("check force or weight, friction, bore and time"),
                ),
            }
        }
        for (place, shown) in shown {
            let Some(used) = self.used.get_mut(place) else {
                continue;
            };
            let (bore_m, apart_sd_m, sd_m) = mean(&shown);
            let surer = sd_m < used.sd_m || (used.sd_m == 0.0 && sd_m < 0.1 * bore_m);
            if surer && used.source != BoreSource::Measured {
                used.bore_m = bore_m;
                used.sd_m = sd_m;
                used.apart_sd_m = apart_sd_m;
                used.links = Links::mean(&shown);
                used.source = BoreSource::KnownLiquid;
                used.runs = shown.len();
            } else {
                self.no_better.push(place);
            }
        }
    }

    /// The bore that one push shows, and how sure it is.
    fn shown_by(
        &mut self,
        table: &BenchTable,
        run: &RunWithoutGel,
        frictions: &mut Frictions,
    ) -> Result<(usize, Shown), String> {
        let needs = |what: &str| format!("a push of a known liquid needs {what}");
        let needle = run
            .details
            .needle
            .as_ref()
            .ok_or_else(|| needs("its needle"))?;
        let reading = run.reading.ok_or_else(|| needs("its reading"))?;
        let push = push_of(table.kind, reading, needle).map_err(needs)?;
        let length_m = needle.length_m.ok_or_else(|| needs("needle_length_mm"))?;
        let barrel_bore_m = needle
            .barrel_bore_m
            .ok_or_else(|| needs("barrel_bore_mm"))?;
        let place = self.of_needle(needle)?;
        let tabled_m = self.bore_m(place);
        let friction = frictions.of_row(needle, run.details.session.as_deref())?;
        let friction_n = frictions.friction_n(friction);
        let (friction_sd_n, friction_run_sd_n) = frictions
            .used
            .get(friction)
            .map_or((0.0, 0.0), |used| (used.sd_n, used.run_sd_n.unwrap_or(0.0)));
        let (viscosity_pa_s, viscosity_sd_ratio) = match run.known_viscosity_pa_s {
            Some(value) => (value, run.known_viscosity_sd_pa_s.unwrap_or(0.0) / value),
            None => {
                let kelvin = run
                    .details
                    .read_temp_kelvin
                    .ok_or_else(|| needs("read_temp_C"))?;
                (
                    water_viscosity_pa_s(kelvin).map_err(|error| error.to_string())?,
                    WATER_VISCOSITY_SD_RATIO,
                )
            }
        };
        let density_kg_per_m3 = plasma()
            .map_err(|error| error.to_string())?
            .density_kg_per_m3;
        if push.force_n() <= friction_n {
            return Err(format!(
                "a push of {} leaves nothing for the liquid: the stopper's friction takes {}",
                display::force(push.force_n()),
                display::force(friction_n)
            ));
        }
        let found = |force_n: f64, flow_ratio: f64, viscosity_ratio: f64, added_m: f64| {
            bore_of(
                (force_n - friction_n) / area_m2(barrel_bore_m),
                push.flow_rate_m3_per_s() * flow_ratio,
                viscosity_pa_s * viscosity_ratio,
                length_m + added_m,
                density_kg_per_m3,
                tabled_m,
            )
        };
        let bore_m = found(push.force_n(), 1.0, 1.0, 0.0).ok_or_else(|| {
            format!(
                "no bore from a fifth to five times the {} of the table explains this push",
                display::length_mm(tabled_m)
            )
        })?;
        let velocity = crate::flow::pipe::mean_velocity_m_per_s(bore_m, push.flow_rate_m3_per_s());
        let reynolds = density_kg_per_m3 * velocity * bore_m / viscosity_pa_s;
        if reynolds > LAMINAR_REYNOLDS {
            return Err(format!(
                "the liquid ran too fast to tell the bore (Reynolds number {})",
                display::at_most(reynolds, 2)
            ));
        }
        let step = 1e-4;
        let slope = |changed: Option<f64>| {
            changed.map_or(f64::INFINITY, |changed| (changed / bore_m).ln() / step)
        };
        let force_n = push.force_n();
        let by_flow = slope(found(force_n, 1.0 + step, 1.0, 0.0));
        let by_viscosity = slope(found(force_n, 1.0, 1.0 + step, 0.0));
        let by_force = slope(found(force_n * (1.0 + step), 1.0, 1.0, 0.0));
        let by_length = slope(found(force_n, 1.0, 1.0, step * length_m));
        let reading_sd_ratio = run
            .details
            .reading_sd
            .map_or(ONE_READING_SD_RATIO, |sd| sd / reading);
        let (read_ratio, by_volume) = match push {
            Push::Force { .. } => (by_force * reading_sd_ratio, 0.0),
            Push::Timed { .. } => (by_flow * reading_sd_ratio, by_flow),
        };
        // The stopper slides a little differently in every push.
        let own_ratio = read_ratio.hypot(by_force * friction_run_sd_n / force_n);
        Ok((
            place,
            Shown {
                bore_m,
                own_ratio,
                viscosity_ratio: (by_viscosity * viscosity_sd_ratio).abs(),
                shared_ratio: (by_force * friction_sd_n / force_n)
                    .hypot(by_volume * GRADUATION_RATIO / 3.0_f64.sqrt())
                    .hypot(by_length * RULER_M / 3.0_f64.sqrt() / length_m),
                friction,
                by_friction_per_n: -by_force / force_n,
                length_m,
                by_length_per_m: by_length / length_m,
                barrel_bore_m,
                by_volume,
            },
        ))
    }
}

/// The bore that one push of a known liquid shows.
struct Shown {
    bore_m: f64,
    /// Relative standard deviations: of the push itself, by the liquid's viscosity, and by what the
    /// pushes of the gel share.
    own_ratio: f64,
    viscosity_ratio: f64,
    shared_ratio: f64,
    friction: usize,
    by_friction_per_n: f64,
    length_m: f64,
    by_length_per_m: f64,
    barrel_bore_m: f64,
    by_volume: f64,
}

/// Mean, and its standard deviation without and with what the gel's pushes share: each push's own
/// part shrinks with their number, the liquid's viscosity is the same in all.
fn mean(shown: &[Shown]) -> (f64, f64, f64) {
    let count = shown.len() as f64;
    let bore_m = shown.iter().map(|one| one.bore_m).sum::<f64>() / count;
    let greatest = |pick: fn(&Shown) -> f64| shown.iter().map(pick).fold(0.0, f64::max) * bore_m;
    let squares: f64 = shown.iter().map(|one| (one.bore_m - bore_m).powi(2)).sum();
    let scatter = if shown.len() > 1 {
        (squares / (count - 1.0)).sqrt()
    } else {
        0.0
    };
    let own = scatter.max(greatest(|one| one.own_ratio)) / count.sqrt();
    let apart = own.hypot(greatest(|one| one.viscosity_ratio));
    (bore_m, apart, apart.hypot(greatest(|one| one.shared_ratio)))
}

/// The bore at which a Newtonian liquid takes the pressure: needle, creeping ends and jet.
fn bore_of(
    pressure_pa: f64,
    flow_rate_m3_per_s: f64,
    viscosity_pa_s: f64,
    length_m: f64,
    density_kg_per_m3: f64,
    near_m: f64,
) -> Option<f64> {
    let over = |bore_m: f64| {
        let tube = Tube { bore_m, length_m };
        let needle_pa = hagen_poiseuille_pressure_pa(tube, viscosity_pa_s, flow_rate_m3_per_s);
        let ends = creeping_end_correction_radii() * 0.5 * bore_m / length_m;
        needle_pa * (1.0 + ends)
            + kinetic_pa(bore_m, length_m, flow_rate_m3_per_s, density_kg_per_m3)
            - pressure_pa
    };
    let (mut low, mut high) = (0.2 * near_m, 5.0 * near_m);
    if !(over(low) > 0.0 && over(high) < 0.0) {
        return None;
    }
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if over(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(0.5 * (low + high))
}
