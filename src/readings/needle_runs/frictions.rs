//! Friction of the stopper: as a row states it, as pushes without gel show it, or the default.

use std::collections::{BTreeMap, BTreeSet};

use super::super::row::{Content, NeedleDetails, RunWithoutGel};
use super::super::table::BenchTable;
use super::Faults;
use super::bores::Bores;
use super::runs::{Push, area_m2, kinetic_pa, push_of};
use crate::flow::{Tube, pipe::hagen_poiseuille_pressure_pa};
use crate::readings::kind::ReadingKind;
use crate::reference::{
    constants::STANDARD_GRAVITY_M_PER_S2, default_friction_for_bore_n, plasma, water_viscosity_pa_s,
};
use crate::units::display;

/// Where a friction comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum FrictionSource {
    /// The row states it.
    Stated,
    /// Pushes with an empty barrel.
    EmptyRuns,
    /// Pushes with water, the water's own pressure taken off.
    WaterRuns,
    /// The usual one of the barrel.
    Default,
}

/// A friction that rows use.
#[derive(Debug, Clone, PartialEq)]
pub struct FrictionUsed {
    /// Friction.
    pub friction_n: f64,
    /// Standard deviation of it as a mean, which all its rows have in common.
    pub sd_n: f64,
    /// Standard deviation from one push to the next, where several showed it.
    pub run_sd_n: Option<f64>,
    /// Where it comes from.
    pub source: FrictionSource,
    /// Bore of the barrel.
    pub barrel_bore_m: f64,
    /// Session of the pushes without gel, where they name one that the rows share.
    pub session: Option<String>,
    /// Pushes without gel behind it.
    pub runs: usize,
    /// Rows of gel that use it.
    pub rows: usize,
}

/// A push without gel that shows friction.
struct Shown {
    barrel_bore_m: f64,
    session: Option<String>,
    friction_n: f64,
    sd_n: Option<f64>,
    content: Content,
}

/// What one friction is known by.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Key {
    Stated(u64, u64),
    Runs(u64, Vec<usize>),
    Default(u64),
}

/// The frictions of a table.
#[derive(Default)]
pub(super) struct Frictions {
    shown: Vec<Shown>,
    known: BTreeMap<Key, usize>,
    /// Friction of rows that state none, by barrel and session.
    by_session: BTreeMap<(u64, Option<String>), usize>,
    /// Barrels with an empty push, by their bores in tenths of a micrometre.
    empty_barrels: BTreeSet<u64>,
    /// In the order in which rows first use them.
    pub used: Vec<FrictionUsed>,
}

impl Frictions {
    /// Looks at the pushes without gel.
    pub(super) fn of_runs_without_gel(
        table: &BenchTable,
        bores: &mut Bores,
        faults: &mut Faults<'_>,
    ) -> Self {
        let mut frictions = Frictions::default();
        let used = || table.runs_without_gel.iter().filter(|run| run.details.used);
        for run in used().filter(|run| run.content == Content::Empty) {
            if let Some(shown) = shown_by_empty(table.kind, run) {
                frictions.empty_barrels.insert(barrel(shown.barrel_bore_m));
                frictions.shown.push(shown);
            }
        }
        for run in used().filter(|run| run.content == Content::Water) {
            // With an empty run of the same barrel, water tells of the needle instead.
            let barrel_bore_m = barrel_of(run);
            if frictions.has_empty_run(barrel_bore_m) {
                continue;
            }
            match shown_by_water(table.kind, run, bores) {
                Ok(shown) => frictions.shown.push(shown),
                Err(message) => faults.push(
                    run.details.source,
                    run.details.line,
                    None,
                    message,
                    Some("check force or weight, bore and time; push it slower"),
                ),
            }
        }
        frictions
    }

    /// Whether an empty run of this barrel is there.
    pub(super) fn has_empty_run(&self, barrel_bore_m: f64) -> bool {
        self.empty_barrels.contains(&barrel(barrel_bore_m))
    }

    /// Place of the friction that a row's push has.
    pub(super) fn of_row(
        &mut self,
        needle: &NeedleDetails,
        session: Option<&str>,
    ) -> Result<usize, String> {
        let barrel_bore_m = needle.barrel_bore_m.unwrap_or(f64::NAN);
        if let Some(friction_n) = needle.friction_n {
            let key = Key::Stated(barrel_bore_m.to_bits(), friction_n.to_bits());
            return Ok(self.place(key, || FrictionUsed {
                friction_n,
                sd_n: 0.0,
                run_sd_n: None,
                source: FrictionSource::Stated,
                barrel_bore_m,
                session: None,
                runs: 0,
                rows: 0,
            }));
        }
        let asked = (barrel(barrel_bore_m), session.map(str::to_owned));
        if let Some(place) = self.by_session.get(&asked) {
            return Ok(*place);
        }
        let place = self.unstated(barrel_bore_m, session)?;
        self.by_session.insert(asked, place);
        Ok(place)
    }

    /// Place of the friction of a row that states none.
    fn unstated(&mut self, barrel_bore_m: f64, session: Option<&str>) -> Result<usize, String> {
        let range_n =
            default_friction_for_bore_n(barrel_bore_m).map_err(|error| error.to_string())?;
        // A rectangle over the range: JCGM 100:2008, 4.3.7.
        let default_sd_n =
            (range_n.friction_range_n.1 - range_n.friction_range_n.0) / 12.0_f64.sqrt();
        let places = self.runs_for(barrel_bore_m, session);
        if places.is_empty() {
            let key = Key::Default(barrel_bore_m.to_bits());
            return Ok(self.place(key, || FrictionUsed {
                friction_n: range_n.friction_n,
                sd_n: default_sd_n,
                run_sd_n: None,
                source: FrictionSource::Default,
                barrel_bore_m,
                session: None,
                runs: 0,
                rows: 0,
            }));
        }
        let shown: Vec<&Shown> = places.iter().filter_map(|&n| self.shown.get(n)).collect();
        let mean_of = mean(&shown, default_sd_n, session, barrel_bore_m);
        Ok(self.place(Key::Runs(barrel_bore_m.to_bits(), places), || mean_of))
    }

    /// The pushes without gel that stand for a row: of its barrel, and of its session where that has
    /// some; else those that name no session; else all of the barrel.
    fn runs_for(&self, barrel_bore_m: f64, session: Option<&str>) -> Vec<usize> {
        let of_barrel = |wanted: &dyn Fn(&Shown) -> bool| -> Vec<usize> {
            self.shown
                .iter()
                .enumerate()
                .filter(|(_, shown)| {
                    barrel(shown.barrel_bore_m) == barrel(barrel_bore_m) && wanted(shown)
                })
                .map(|(number, _)| number)
                .collect()
        };
        let by_session: [Vec<usize>; 2] = [
            of_barrel(&|shown| session.is_some() && shown.session.as_deref() == session),
            of_barrel(&|shown| shown.session.is_none()),
        ];
        by_session
            .into_iter()
            .find(|found| !found.is_empty())
            .unwrap_or_else(|| of_barrel(&|_| true))
    }

    fn place(&mut self, key: Key, make: impl FnOnce() -> FrictionUsed) -> usize {
        if let Some(place) = self.known.get(&key) {
            return *place;
        }
        self.used.push(make());
        let place = self.used.len() - 1;
        self.known.insert(key, place);
        place
    }

    pub(super) fn friction_n(&self, place: usize) -> f64 {
        self.used.get(place).map_or(0.0, |used| used.friction_n)
    }

    pub(super) fn run_sd_n(&self, place: usize) -> Option<f64> {
        self.used.get(place).and_then(|used| used.run_sd_n)
    }

    pub(super) fn count_row(&mut self, place: usize) {
        if let Some(used) = self.used.get_mut(place) {
            used.rows += 1;
        }
    }
}

/// A barrel by its bore in tenths of a micrometre: written in another unit it is the same.
fn barrel(bore_m: f64) -> u64 {
    (bore_m * 1e7).round() as u64
}

fn barrel_of(run: &RunWithoutGel) -> f64 {
    run.details
        .needle
        .as_ref()
        .and_then(|needle| needle.barrel_bore_m)
        .unwrap_or(f64::NAN)
}

/// The mean of pushes: its standard deviation and theirs.
fn mean(
    shown: &[&Shown],
    default_sd_n: f64,
    session: Option<&str>,
    barrel_bore_m: f64,
) -> FrictionUsed {
    let count = shown.len() as f64;
    let friction_n = shown.iter().map(|one| one.friction_n).sum::<f64>() / count;
    let squares: f64 = shown
        .iter()
        .map(|one| (one.friction_n - friction_n).powi(2))
        .sum();
    let run_sd_n = (shown.len() > 1).then(|| (squares / (count - 1.0)).sqrt());
    let stated_sd_n = shown.iter().filter_map(|one| one.sd_n).fold(0.0, f64::max);
    let sd_n = match run_sd_n {
        Some(run_sd_n) => run_sd_n.max(stated_sd_n) / count.sqrt(),
        None if stated_sd_n > 0.0 => stated_sd_n,
        // One push shows no scatter: as unsure as the barrel's default.
        None => default_sd_n,
    };
    FrictionUsed {
        friction_n,
        sd_n,
        run_sd_n,
        source: if shown.iter().any(|one| one.content == Content::Empty) {
            FrictionSource::EmptyRuns
        } else {
            FrictionSource::WaterRuns
        },
        barrel_bore_m,
        session: shown
            .first()
            .and_then(|one| one.session.clone())
            .filter(|named| session == Some(named.as_str())),
        runs: shown.len(),
        rows: 0,
    }
}

/// The least weight that moves an empty plunger steadily, or the force that does.
fn shown_by_empty(kind: ReadingKind, run: &RunWithoutGel) -> Option<Shown> {
    let needle = run.details.needle.as_ref()?;
    let (friction_n, sd_n) = match kind {
        ReadingKind::RunTime => (needle.dead_weight_kg? * STANDARD_GRAVITY_M_PER_S2, None),
        _ => (run.reading?, run.details.reading_sd),
    };
    Some(Shown {
        barrel_bore_m: needle.barrel_bore_m?,
        session: run.details.session.clone(),
        friction_n,
        sd_n,
        content: Content::Empty,
    })
}

/// What water's push leaves for the stopper once needle and jet have theirs.
fn shown_by_water(
    kind: ReadingKind,
    run: &RunWithoutGel,
    bores: &mut Bores,
) -> Result<Shown, String> {
    let needs = |what: &str| format!("a push of water needs {what}");
    let needle = run
        .details
        .needle
        .as_ref()
        .ok_or_else(|| needs("its needle"))?;
    let reading = run.reading.ok_or_else(|| needs("its reading"))?;
    let push = push_of(kind, reading, needle).map_err(needs)?;
    let length_m = needle.length_m.ok_or_else(|| needs("needle_length_mm"))?;
    let barrel_bore_m = needle
        .barrel_bore_m
        .ok_or_else(|| needs("barrel_bore_mm"))?;
    let bore = bores.of_needle(needle)?;
    let bore_m = bores.bore_m(bore);
    let kelvin = run
        .details
        .read_temp_kelvin
        .ok_or_else(|| needs("read_temp_C"))?;
    let viscosity_pa_s = water_viscosity_pa_s(kelvin).map_err(|error| error.to_string())?;
    let density = plasma()
        .map_err(|error| error.to_string())?
        .density_kg_per_m3;
    let flow_rate_m3_per_s = push.flow_rate_m3_per_s();
    let water_pa = hagen_poiseuille_pressure_pa(
        Tube { bore_m, length_m },
        viscosity_pa_s,
        flow_rate_m3_per_s,
    ) + kinetic_pa(bore_m, length_m, flow_rate_m3_per_s, density);
    let water_n = water_pa * area_m2(barrel_bore_m);
    let friction_n = push.force_n() - water_n;
    if friction_n < 0.0 {
        return Err(format!(
            "water alone takes {} through this needle at this rate, more than the {} pushed",
            display::force(water_n),
            display::force(push.force_n())
        ));
    }
    Ok(Shown {
        barrel_bore_m,
        session: run.details.session.clone(),
        friction_n,
        sd_n: match push {
            Push::Force { .. } => run.details.reading_sd,
            Push::Timed { .. } => None,
        },
        content: Content::Water,
    })
}
