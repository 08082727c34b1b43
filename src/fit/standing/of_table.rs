//! From the rows of a bench table to the fit of standing.

use super::choice::fit_standing;
use super::document::{Standing, StandingReading};
use super::gels::{CurveDoubt, GelStart, StandingGel, StandingRow, StandingRows};
use super::words;
use crate::fit::bench::ErrorModel;
use crate::fit::calibration::BlendCalibration;
use crate::fit::calibration_parts::Warning;
use crate::fit::predict::Predictor;
use crate::kinetics::{FlowIndexCourse, ShearThinning};
use crate::readings::BenchTable;
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;

/// Shear rates within this ratio count as the same: that much a true rate moves with its own slope.
const SAME_SHEAR_RATIO: f64 = 1.05;
/// Temperatures of reading within this count as the same, in K.
const SAME_READ_KELVIN: f64 = 2.0;

/// Readings of one gel: places in the table.
struct Gel {
    members: Vec<usize>,
}

/// Fits what was read after standing; the second are warnings for the blend.
pub(in crate::fit) fn standing_of(
    table: &BenchTable,
    blend: &BlendCalibration,
) -> (Option<Standing>, Vec<Warning>) {
    let used = table.used_rows_of_blend(&blend.blend);
    let stood = used.iter().filter(|row| time_s(table, **row) > 0.0).count();
    if stood == 0 {
        return (None, Vec::new());
    }
    let serves = |row: &usize| {
        table
            .reading
            .get(*row)
            .is_some_and(|reading| *reading > 0.0)
    };
    let known: Vec<usize> = used
        .iter()
        .copied()
        .filter(serves)
        .filter(|row| time_s(table, *row) == 0.0 || storage_kelvin(table, *row).is_some())
        .collect();
    let with_temperature = known
        .iter()
        .filter(|row| time_s(table, **row) > 0.0)
        .count();
    let mut curves = Curves::new(blend);
    let mut rows = StandingRows::default();
    let mut members = Vec::new();
    let mut no_beginning = 0;
    for gel in gels(table, &known) {
        let mut times: Vec<f64> = gel.members.iter().map(|row| time_s(table, *row)).collect();
        times.sort_by(f64::total_cmp);
        times.dedup();
        let stood_here = gel.members.iter().filter(|row| time_s(table, **row) > 0.0);
        let start = match (stood_here.count(), gel.members.first(), times.len()) {
            (0, _, _) | (_, None, _) => continue,
            (_, _, 2..) => Some(GelStart::Own),
            (_, Some(first), _) => curves.start(table, *first),
        };
        let Some(start) = start else {
            no_beginning += gel.members.len();
            continue;
        };
        let place = rows.gels.len();
        rows.gels.push(StandingGel { start });
        for row in gel.members {
            rows.rows.push(StandingRow {
                gel: place,
                stand_time_s: time_s(table, row),
                stand_temp_kelvin: storage_kelvin(table, row).unwrap_or(f64::NAN),
                ln_reading: table.reading.get(row).map_or(f64::NAN, |r| r.ln()),
            });
            members.push(row);
        }
    }
    rows.curves = curves.doubts;
    let no_temperature = stood - with_temperature;
    let mut warnings: Vec<Warning> =
        words::left_out(no_temperature + no_beginning, no_temperature, no_beginning)
            .into_iter()
            .collect();
    if rows.rows.is_empty() {
        return (None, warnings);
    }
    match fit_standing(&rows) {
        Ok(fit) => {
            let mut lots: Vec<&str> = members
                .iter()
                .filter_map(|row| table.rows.get(*row)?.lot.as_deref())
                .collect();
            lots.sort_unstable();
            lots.dedup();
            let readings = members
                .iter()
                .zip(&fit.residuals)
                .filter_map(|(row, residual)| reading(table, *row, *residual))
                .collect();
            let mut standing = Standing::new(&rows, &fit, readings, lots.len());
            standing.warnings = words::warnings(&standing);
            (Some(standing), warnings)
        }
        Err(why) => {
            warnings.push(words::no_course(why, rows.stood().count()));
            (None, warnings)
        }
    }
}

fn time_s(table: &BenchTable, row: usize) -> f64 {
    table
        .rows
        .get(row)
        .and_then(|row| row.stand_time_s)
        .unwrap_or(0.0)
}

fn storage_kelvin(table: &BenchTable, row: usize) -> Option<f64> {
    table.rows.get(row)?.stand_temp_kelvin
}

fn reading(table: &BenchTable, row: usize, residual: f64) -> Option<StandingReading> {
    let details = table.rows.get(row)?;
    Some(StandingReading {
        row: row + 1,
        lot: details.lot.clone(),
        heat_temp_k: *table.heat_temp_kelvin.get(row)?,
        heat_time_s: *table.heat_time_s.get(row)?,
        stand_time_s: time_s(table, row),
        stand_temp_k: details
            .stand_temp_kelvin
            .filter(|_| time_s(table, row) > 0.0),
        shear_rate_per_s: details.shear_rate_per_s,
        reading: *table.reading.get(row)?,
        residual,
    })
}

/// Rows of one gel go together.
fn gels(table: &BenchTable, rows: &[usize]) -> Vec<Gel> {
    let mut found: Vec<Gel> = Vec::new();
    for &row in rows {
        let own = found.iter_mut().find(|gel| {
            gel.members
                .first()
                .is_some_and(|first| are_one_gel(table, *first, row))
        });
        match own {
            Some(gel) => gel.members.push(row),
            None => found.push(Gel { members: vec![row] }),
        }
    }
    found
}

fn are_one_gel(table: &BenchTable, one: usize, other: usize) -> bool {
    let (Some(a), Some(b)) = (table.rows.get(one), table.rows.get(other)) else {
        return false;
    };
    let near = |x: Option<&f64>, y: Option<&f64>| {
        x.zip(y)
            .is_some_and(|(x, y)| (x - y).abs() <= 1e-6 * x.abs().max(1.0))
    };
    a.lot == b.lot
        && near(
            table.heat_temp_kelvin.get(one),
            table.heat_temp_kelvin.get(other),
        )
        && near(table.heat_time_s.get(one), table.heat_time_s.get(other))
        && same_shear(a.shear_rate_per_s, b.shear_rate_per_s)
        && match (a.read_temp_kelvin, b.read_temp_kelvin) {
            (None, None) => true,
            (Some(a), Some(b)) => (a - b).abs() <= SAME_READ_KELVIN,
            _ => false,
        }
}

fn same_shear(one: Option<f64>, other: Option<f64>) -> bool {
    match (one, other) {
        (None, None) => true,
        (Some(a), Some(b)) => a.max(b) <= SAME_SHEAR_RATIO * a.min(b),
        _ => false,
    }
}

/// The fitted curves, lot by lot, as beginnings of gels.
struct Curves<'a> {
    blend: &'a BlendCalibration,
    /// Lot of each of the doubts.
    lots: Vec<Option<String>>,
    predictors: Vec<(BlendCalibration, Predictor)>,
    doubts: Vec<CurveDoubt>,
}

impl<'a> Curves<'a> {
    fn new(blend: &'a BlendCalibration) -> Self {
        Self {
            blend,
            lots: Vec::new(),
            predictors: Vec::new(),
            doubts: Vec::new(),
        }
    }

    /// Place of the curve of a lot; none for a lot that the bench fit does not know.
    fn place(&mut self, lot: Option<&String>) -> Option<usize> {
        let separate = self.blend.lots.as_ref().is_some_and(|l| l.are_separate());
        let lot = lot.filter(|_| separate).cloned();
        if let Some(place) = self.lots.iter().position(|known| *known == lot) {
            return Some(place);
        }
        let own = match &lot {
            Some(lot) => self.blend.for_lot(lot).ok()?,
            None if separate => return None,
            None => self.blend.clone(),
        };
        let predictor = Predictor::new(&own).ok()?;
        self.doubts.push(CurveDoubt {
            covariance: predictor.covariance().clone(),
        });
        self.lots.push(lot);
        self.predictors.push((own, predictor));
        Some(self.lots.len() - 1)
    }

    /// Where the gel of a row begins on the fitted curve; none where the curve does not reach.
    fn start(&mut self, table: &BenchTable, row: usize) -> Option<GelStart> {
        let details = table.rows.get(row)?;
        let (kelvin, time_s) = (
            *table.heat_temp_kelvin.get(row)?,
            *table.heat_time_s.get(row)?,
        );
        let within = |[low, high]: [f64; 2], value: f64| {
            value >= low * (1.0 - 1e-6) && value <= high * (1.0 + 1e-6)
        };
        if !within(self.blend.range.heat_temp_k, kelvin)
            || !within(self.blend.range.heat_time_s, time_s)
        {
            return None;
        }
        let curve = self.place(details.lot.as_ref())?;
        let (blend, predictor) = self.predictors.get(curve)?;
        let setting = blend.setting().ok()?;
        let fraction = setting.conversion(kelvin, time_s);
        let mut ln_reading = setting.reading_at_conversion(fraction).ln();
        let mut ln_shear = 0.0;
        match (
            blend.flow_index_plateau(),
            details
                .shear_rate_per_s
                .zip(blend.reference_shear_rate_per_s),
        ) {
            (Some(flow_index_plateau), Some((rate, reference))) => {
                ln_shear = (rate / reference).ln();
                let thinning = ShearThinning {
                    flow_index_plateau,
                    reference_shear_rate_per_s: reference,
                    course: FlowIndexCourse::WithSetting,
                    yield_share_plateau: blend.yield_share_plateau().unwrap_or(0.0),
                };
                ln_reading += thinning.viscosity_ratio(fraction, ln_shear).ln();
            }
            _ if !same_shear(details.shear_rate_per_s, blend.reference_shear_rate_per_s) => {
                return None;
            }
            _ => {}
        }
        match (details.read_temp_kelvin, blend.read_temp_k) {
            (Some(own), Some(reference)) => match blend.flow_activation_energy() {
                Some(energy) => {
                    ln_reading += energy / GAS_CONSTANT_J_PER_MOL_K * (1.0 / own - 1.0 / reference);
                }
                None if (own - reference).abs() > SAME_READ_KELVIN => return None,
                None => {}
            },
            (None, None) => {}
            _ => return None,
        }
        let mut by = predictor
            .derivatives(kelvin, &[time_s], ln_shear)
            .into_iter()
            .next()?;
        if blend.error != ErrorModel::Relative {
            let reading = ln_reading.exp();
            by.iter_mut().for_each(|value| *value /= reading);
        }
        ln_reading.is_finite().then_some(GelStart::Curve {
            ln_reading,
            doubt: Some((curve, by)),
        })
    }
}
