//! A bench without a rheometer: plunger forces and timed runs to viscosities. A needle of known
//! bore and length is a capillary viscometer.
//!
//! [`runs`] reads what every push needs, [`frictions`] and [`bores`] say what the pushes without gel
//! tell, [`gels`] finds pushes of the same gel, [`reduction`] takes end correction and true rate
//! from them, [`uncertainty`] carries what is not known along.

mod advice;
mod assumed;
mod assumptions;
mod bores;
mod frictions;
mod gels;
mod reduction;
mod runs;
mod uncertainty;

use super::error::{Counted, FaultList, Problem, ReadingsError};
use super::kind::ReadingKind;
use super::table::BenchTable;

pub use advice::NeedleAdvice;
pub use assumptions::ForceAssumption;
pub use bores::{BoreSource, BoreUsed};
pub use frictions::{FrictionSource, FrictionUsed};

use bores::Bores;
use frictions::Frictions;
use runs::Run;

/// Viscosities from forces and timed runs, and what had to be assumed to have them.
#[derive(Debug, Clone, PartialEq)]
pub struct ViscosityReadings {
    /// The table, its readings in Pa.s; `reading_sd` is each reading's own part.
    pub table: BenchTable,
    /// What was assumed; empty for a table without pushes.
    pub assumptions: Vec<ForceAssumption>,
    /// How each row of the table came about, in its order; empty for a table without pushes.
    pub readings: Vec<NeedleReading>,
    /// What would help; empty for a table without pushes.
    pub advice: Vec<NeedleAdvice>,
    /// What the pushes cover.
    pub coverage: NeedleCoverage,
    /// The frictions used, in the order in which the rows first use them.
    pub frictions: Vec<FrictionUsed>,
    /// The bores used, likewise.
    pub bores: Vec<BoreUsed>,
}

/// What the pushes of a table cover: how many without gel, and how many gels at several rates and
/// through several lengths of one bore.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct NeedleCoverage {
    /// Pushes with an empty barrel.
    pub empty_runs: usize,
    /// Pushes of water.
    pub water_runs: usize,
    /// Pushes of another liquid of known viscosity.
    pub known_runs: usize,
    /// Gels: blend, lot, heat temperature and time, standing.
    pub gels: usize,
    /// Gels read at two rates or more.
    pub gels_with_rates: usize,
    /// Gels read through two lengths of one bore or more.
    pub gels_with_lengths: usize,
}

/// What one push of a gel comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct NeedleReading {
    /// Place of its friction in the list of frictions.
    pub friction: usize,
    /// Place of its bore in the list of bores.
    pub bore: usize,
    /// Length of the needle.
    pub length_m: f64,
    /// Friction taken off.
    pub friction_n: f64,
    /// Pressure that was left for needle and ends.
    pub pressure_pa: f64,
    /// Pressure of the jet that was taken off before.
    pub kinetic_pa: f64,
    /// Flow rate.
    pub flow_rate_m3_per_s: f64,
    /// Reynolds number with the apparent viscosity.
    pub reynolds: f64,
    /// End correction that was taken off, in radii.
    pub end_correction_radii: Option<f64>,
    /// Shear stress at the wall.
    pub wall_shear_stress_pa: f64,
    /// Apparent shear rate at the wall.
    pub apparent_rate_per_s: f64,
    /// True shear rate at the wall; the apparent one where one rate was read.
    pub shear_rate_per_s: f64,
    /// Local slope n' that the true rate comes from.
    pub local_slope: Option<f64>,
    /// Viscosity at `shear_rate_per_s`.
    pub viscosity_pa_s: f64,
    /// Standard deviation of its own, at its rate: repeatability, by itself and through the slope and
    /// the ends.
    pub own_sd_pa_s: Option<f64>,
    /// Standard deviation that it has in common with other rows: bore, friction, length, volume.
    pub common_sd_pa_s: f64,
    /// Its parts, each over the viscosity.
    pub common_parts: CommonParts,
}

/// The parts of a reading's common standard deviation, each over the viscosity.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct CommonParts {
    /// By the needle's bore.
    pub bore_ratio: f64,
    /// By the stopper's friction.
    pub friction_ratio: f64,
    /// By the needle's length.
    pub length_ratio: f64,
    /// By the barrel's graduation.
    pub volume_ratio: f64,
}

impl CommonParts {
    /// All together.
    #[must_use]
    pub fn total_ratio(&self) -> f64 {
        [
            self.bore_ratio,
            self.friction_ratio,
            self.length_ratio,
            self.volume_ratio,
        ]
        .iter()
        .map(|part| part * part)
        .sum::<f64>()
        .sqrt()
    }
}

impl BenchTable {
    /// Turns plunger forces and timed runs into viscosities, through every row's own needle, push
    /// and friction, and says what was assumed; a table of another kind stays as it is.
    ///
    /// Pushes of one gel (blend, lot, heat temperature and time, standing) through one bore go
    /// together: two lengths give the end correction, two rates the true rate at the wall.
    ///
    /// # Equation
    /// tau_w = (F - F_f)/A D/(4 (L + e D/2)), g_a = 32 Q/(pi D^3), g_w = g_a (3 n' + 1)/(4 n'),
    /// eta = tau_w/g_w. With one rate and one length eta = (F - F_f)/A pi D^4/(128 L Q) at g_a.
    /// A timed run has F = m g and Q = V/t. Standard deviations by the law of propagation, first
    /// order.
    ///
    /// | symbol | field | unit |
    /// |---|---|---|
    /// | eta | `reading` of the result | Pa s |
    /// | F, t | `reading` | N, s |
    /// | m | `dead_weight_kg` | kg |
    /// | V | `run_volume_m3` | m³ |
    /// | F_f | `friction_n`, else the empty runs of the barrel, else its default | N |
    /// | A | area of `barrel_bore_m` | m² |
    /// | D | `bore_m`, else the bore of `gauge` and `wall` | m |
    /// | L | `length_m` | m |
    /// | Q | `flow_rate_m3_per_s` | m³/s |
    /// | e | end correction, in radii | 1 |
    /// | n' | slope of ln tau_w on ln g_a | 1 |
    ///
    /// # Valid for
    /// Laminar flow without slip; the true viscosity where n' was found, else the apparent one.
    ///
    /// # Errors
    /// A row without its needle and push; a gauge that no table has; a force or weight at or under
    /// the friction. All rows at once, by line.
    ///
    /// # Source
    /// Hagen-Poiseuille turned round: R. B. Bird, W. E. Stewart, E. N. Lightfoot, *Transport
    /// Phenomena*, 2nd ed., 2002, equation 2.3-21; Bagley 1957; Weissenberg-Rabinowitsch; JCGM
    /// 100:2008, 5.2.
    pub fn viscosity_readings(&self) -> Result<ViscosityReadings, ReadingsError> {
        if !self.kind.is_push() {
            return Ok(ViscosityReadings {
                table: self.clone(),
                assumptions: Vec::new(),
                readings: Vec::new(),
                advice: Vec::new(),
                coverage: NeedleCoverage::default(),
                frictions: Vec::new(),
                bores: Vec::new(),
            });
        }
        let mut faults = Faults::new(self);
        let mut bores = Bores::default();
        let mut frictions = Frictions::of_runs_without_gel(self, &mut bores, &mut faults);
        bores.calibrate(self, &mut frictions, &mut faults);
        let mut runs: Vec<Run> = Vec::with_capacity(self.len());
        for row in 0..self.len() {
            runs.extend(runs::run_of_row(
                self,
                row,
                &mut bores,
                &mut frictions,
                &mut faults,
            ));
        }
        faults.into_result()?;
        let gels = gels::gels_of(self, &runs);
        runs::own_scatter(&mut runs, &gels, self, &frictions);
        let mut inputs = reduction::Inputs::new(&mut runs, &bores, &frictions);
        let plans: Vec<reduction::Plan> = gels
            .iter()
            .map(|gel| reduction::plan(&runs, gel, &mut inputs))
            .collect();
        let readings = uncertainty::readings_of(&runs, &gels, &plans, &inputs, &bores, &frictions);

        let mut table = BenchTable {
            kind: ReadingKind::Viscosity,
            runs_without_gel: Vec::new(),
            ..self.clone()
        };
        for ((reading, row), converted) in
            table.reading.iter_mut().zip(&mut table.rows).zip(&readings)
        {
            *reading = converted.viscosity_pa_s;
            row.reading_sd = converted.own_sd_pa_s;
            row.shear_rate_per_s = Some(converted.shear_rate_per_s);
        }
        let assumptions = assumed::assumptions(self, &readings, &bores, &frictions);
        let coverage = advice::coverage(self, &gels, &plans);
        let advice = advice::advice(
            self, &runs, &readings, &gels, &plans, &bores, &frictions, &coverage,
        );
        Ok(ViscosityReadings {
            table,
            assumptions,
            readings,
            advice,
            coverage,
            frictions: frictions.used,
            bores: bores.used,
        })
    }
}

/// Faults by source, told all at once.
pub(super) struct Faults<'a> {
    table: &'a BenchTable,
    by_source: Vec<FaultList>,
}

impl<'a> Faults<'a> {
    fn new(table: &'a BenchTable) -> Self {
        Self {
            table,
            by_source: table.sources.iter().map(|_| FaultList::default()).collect(),
        }
    }

    fn push(
        &mut self,
        source: usize,
        line: usize,
        column: Option<&str>,
        message: String,
        remedy: Option<&str>,
    ) {
        // Parquet and workbooks have no lines: their rows are counted.
        let counted = match self.table.sources.get(source) {
            Some(source)
                if source.worksheet.is_none()
                    && !source.file.to_lowercase().ends_with(".parquet") =>
            {
                Counted::Line
            }
            _ => Counted::Row,
        };
        if let Some(list) = self.by_source.get_mut(source) {
            list.push(Problem {
                line: Some(line),
                counted,
                column: column.map(str::to_string),
                message,
                remedy: remedy.map(str::to_string),
                ..Problem::default()
            });
        }
    }

    fn into_result(self) -> Result<(), ReadingsError> {
        let what = match self.table.kind {
            ReadingKind::RunTime => "timed runs",
            _ => "forces",
        };
        let mut errors: Vec<ReadingsError> = self
            .table
            .sources
            .iter()
            .zip(self.by_source)
            .filter(|(_, faults)| !faults.is_empty())
            .map(|(source, mut faults)| {
                faults.merge(FaultList::default());
                ReadingsError::NotConverted {
                    what,
                    file: source.file.clone(),
                    faults,
                }
            })
            .collect();
        match errors.len() {
            0 => Ok(()),
            1 => Err(errors.swap_remove(0)),
            _ => Err(ReadingsError::SeveralFiles { errors }),
        }
    }
}
