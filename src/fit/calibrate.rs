//! From bench table to calibration document.

use super::bench::{BenchFit, BenchRows, ErrorModel, Shape, free_parameter_count};
use super::calibration::{BlendCalibration, Calibration, SCHEMA};
use super::calibration_parts::{Lots, Warning};
use super::candidates::{Tried, choose, shapes, try_shape};
use super::document::{DocumentParts, document};
use super::error::FitError;
use super::identifiability::{check_fit, check_temperatures};
use super::intervals::IntervalKind;
use super::lots::fit_lots;
use super::options::FitOptions;
use super::parameter::ParameterName;
use super::progress::{FitStage, FitStep};
use super::read_temperatures::{read_temperatures, tells_flow_energy};
use super::robust::RobustLoss;
use super::standing::standing_of;
use super::warnings::{bench_warnings, fit_warnings};
use super::yield_stress::with_yield_stress;
use crate::kinetics::FirmnessLaw;
use crate::readings::{BenchTable, ReadingKind};

/// Fits every blend of a bench table (or the one asked for) and writes the document.
///
/// # Errors
/// Everything that [`FitError`] names; nothing is half-fitted.
pub fn calibrate(table: &BenchTable, options: &FitOptions) -> Result<Calibration, FitError> {
    calibrate_telling(table, options, &|_| {})
}

/// As [`calibrate`], and says what is being fitted as it goes along.
///
/// # Errors
/// As [`calibrate`].
pub fn calibrate_telling(
    table: &BenchTable,
    options: &FitOptions,
    tell: &dyn Fn(FitStep),
) -> Result<Calibration, FitError> {
    let measured = table.kind;
    let (table, assumptions) = match measured {
        ReadingKind::Viscosity | ReadingKind::Force | ReadingKind::RunTime => {
            let converted = table.viscosity_readings()?;
            (converted.table, converted.assumptions)
        }
        ReadingKind::Modulus | ReadingKind::Firmness => (table.clone(), Vec::new()),
    };
    let table = &table;
    let names = match &options.blend {
        Some(name) => {
            let blends = table.blends();
            if !blends.contains(name) {
                return Err(FitError::UnknownBlend {
                    asked: name.clone(),
                    blends,
                });
            }
            vec![name.clone()]
        }
        None => table.blends(),
    };
    let mut blends = Vec::with_capacity(names.len());
    for name in names {
        if options.blend.is_none() && table.used_rows_of_blend(&name).is_empty() {
            continue;
        }
        let mut fitted = calibrate_blend(table, &name, options, tell)?;
        fitted.reading = measured;
        fitted.warnings.extend(
            assumptions
                .iter()
                .map(|a| Warning::new("reading_assumed", a.message())),
        );
        blends.push(fitted);
    }
    if blends.is_empty() {
        return Err(FitError::NoRows);
    }
    Ok(Calibration {
        schema: SCHEMA.to_owned(),
        created: super::created::created_now(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        seed: options.seed,
        invented: table.invented,
        source: table.sources.clone(),
        blends,
    })
}

/// The rows of a blend that are fitted, and the shear rate that readings refer to.
pub(super) struct Chosen {
    pub(super) table_rows: Vec<usize>,
    pub(super) reference_shear_rate_per_s: Option<f64>,
    several_shear_rates: bool,
}

fn calibrate_blend(
    table: &BenchTable,
    blend: &str,
    options: &FitOptions,
    tell: &dyn Fn(FitStep),
) -> Result<BlendCalibration, FitError> {
    let plateau = options.held.get(ParameterName::Plateau);
    if plateau == Some(0.0) && options.law == Some(FirmnessLaw::Log) {
        return Err(FitError::ZeroPlateau);
    }
    let chosen = choose_rows(table, blend);
    if chosen.table_rows.is_empty() {
        return Err(FitError::NoRows);
    }
    check_readings(table, blend, &chosen, options)?;
    table.select(&chosen.table_rows).check_readings_change()?;
    let mut rows = lay_out(table, &chosen);
    let energy_is_known = options.held.get(ParameterName::ActivationEnergy).is_some()
        || options
            .priors
            .iter()
            .any(|p| p.name == ParameterName::ActivationEnergy);
    check_temperatures(blend, &rows, energy_is_known)?;

    let reference_kelvin = options
        .reference_kelvin
        .unwrap_or_else(|| rows.reference_kelvin());
    let laws: Vec<FirmnessLaw> = match options.law {
        Some(law) => vec![law],
        // A plateau of 0 has no logarithm: nothing but the linear law can be meant.
        None if plateau == Some(0.0) || has_no_logarithm(table, &chosen) => {
            vec![FirmnessLaw::Linear]
        }
        // A gel point has no plateau to hold.
        None if plateau.is_some() => vec![FirmnessLaw::Log, FirmnessLaw::Linear],
        None => vec![FirmnessLaw::Log, FirmnessLaw::Linear, FirmnessLaw::GelPoint],
    };
    let shapes = shapes(options, &laws, reference_kelvin);
    rows.read_temperatures = read_temperatures(table, &chosen);
    if !tells_flow_energy(&rows, &shapes, options) {
        rows.read_temperatures = None;
    }
    check_priors(&rows, &shapes, options)?;
    // Shapes that the rows are too few for are not tried; the simplest must be possible.
    let least = shapes
        .iter()
        .map(|s| free_parameter_count(&rows, s))
        .min()
        .unwrap_or(0);
    let known = rows.len() + options.priors.len();
    if known < least + 1 {
        return Err(FitError::TooFewRows {
            blend: blend.to_owned(),
            rows: rows.len(),
            needed: least + 1 - options.priors.len().min(least),
            parameters: least,
        });
    }
    let step = |stage| {
        tell(FitStep {
            blend: blend.to_owned(),
            stage,
        });
    };
    let possible: Vec<&Shape> = shapes
        .iter()
        .filter(|s| known > free_parameter_count(&rows, s))
        .collect();
    let mut tried: Vec<Tried> = Vec::with_capacity(possible.len());
    for (place, shape) in possible.iter().enumerate() {
        step(FitStage::Candidate {
            number: place + 1,
            of: possible.len(),
            law: shape.law,
        });
        tried.push(try_shape(&rows, shape, options.robust));
    }
    let passes = |fit: &BenchFit| check_fit(blend, &rows, fit).is_ok();
    let Some(best) = choose(&tried, passes) else {
        return Err(FitError::NoRows);
    };
    check_fit(blend, &rows, &tried[best].fit)?;
    step(FitStage::YieldStress);
    let best = with_yield_stress(&rows, &mut tried, best, options);

    step(FitStage::Lots);
    let lot_of_row: Vec<Option<&str>> = chosen
        .table_rows
        .iter()
        .map(|row| table.rows[*row].lot.as_deref())
        .collect();
    let lot_fit = (options.robust == RobustLoss::None)
        .then(|| fit_lots(&rows, &lot_of_row, &tried[best].fit))
        .flatten();
    let lots = lot_fit
        .as_ref()
        .map_or_else(|| lots_of(table, &chosen), |f| Some(f.lots.clone()));
    let mut warnings = bench_warnings(table, &chosen.table_rows, lots.as_ref());
    if rows.read_temperatures.is_some() {
        // The fit takes it out.
        warnings.retain(|w| w.code != "reading_temperatures_differ");
    }
    warnings.extend(fit_warnings(&rows, &tried[best].fit, options));
    if lot_fit.is_some() && options.interval == IntervalKind::Profile {
        warnings.push(Warning::new(
            "no_profile_with_lots",
            "With lots told apart the intervals are Student's t, not profiles. What helps: --interval bootstrap, which draws whole lots.",
        ));
    }
    step(FitStage::Intervals);
    let mut fitted = document(&DocumentParts {
        table,
        blend,
        options,
        chosen: &chosen,
        rows: &rows,
        tried: &tried,
        best,
        lots,
        lot_fit: lot_fit.as_ref(),
        warnings,
    });
    let (standing, left_out) = standing_of(table, &fitted);
    fitted.standing = standing;
    fitted.warnings.extend(left_out);
    Ok(fitted)
}

/// Refuses a prior on a parameter that no shape has free.
fn check_priors(rows: &BenchRows, shapes: &[Shape], options: &FitOptions) -> Result<(), FitError> {
    for prior in &options.priors {
        let used = shapes.iter().any(|s| {
            super::bench::BenchModel::new(rows, s.clone())
                .free()
                .contains(&prior.name)
        });
        if !used {
            return Err(FitError::PriorUnused {
                parameter: prior.name.as_str(),
                law: shapes.first().map_or("", |s| s.law.name()),
            });
        }
    }
    Ok(())
}

fn choose_rows(table: &BenchTable, blend: &str) -> Chosen {
    let table_rows: Vec<usize> = table
        .used_rows_of_blend(blend)
        .into_iter()
        .filter(|row| table.rows[*row].stand_time_s.unwrap_or(0.0) == 0.0)
        .collect();
    let mut rates: Vec<f64> = table_rows
        .iter()
        .filter_map(|row| table.rows[*row].shear_rate_per_s)
        .collect();
    rates.sort_by(f64::total_cmp);
    // The rate of most rows; the lowest of equals, because the rest state of a gel is the nearest.
    let mut reference: Option<(f64, usize)> = None;
    for run in rates.chunk_by(|a, b| a == b) {
        if reference.is_none_or(|(_, count)| run.len() > count) {
            reference = Some((run[0], run.len()));
        }
    }
    let spread = match (rates.first(), rates.last()) {
        (Some(low), Some(high)) => high / low,
        _ => 1.0,
    };
    Chosen {
        table_rows,
        reference_shear_rate_per_s: reference.map(|r| r.0),
        several_shear_rates: table.kind == ReadingKind::Viscosity && spread > 1.05,
    }
}

fn has_no_logarithm(table: &BenchTable, chosen: &Chosen) -> bool {
    chosen
        .table_rows
        .iter()
        .any(|row| table.reading[*row] <= 0.0)
}

fn check_readings(
    table: &BenchTable,
    blend: &str,
    chosen: &Chosen,
    options: &FitOptions,
) -> Result<(), FitError> {
    for &row in &chosen.table_rows {
        let reading = table.reading[row];
        if options.errors != ErrorModel::Relative
            && options.law == Some(FirmnessLaw::Log)
            && reading <= 0.0
        {
            return Err(FitError::NoLogarithm {
                blend: blend.to_owned(),
                row: row + 1,
                reading,
            });
        }
        if options.errors == ErrorModel::Relative && reading <= 0.0 {
            return Err(FitError::NotPositive {
                blend: blend.to_owned(),
                row: row + 1,
                reading,
            });
        }
        if options.errors == ErrorModel::Given && table.rows[row].reading_sd.is_none() {
            return Err(FitError::MissingSd {
                blend: blend.to_owned(),
                row: row + 1,
            });
        }
    }
    Ok(())
}

fn lay_out(table: &BenchTable, chosen: &Chosen) -> BenchRows {
    let rows: Vec<(f64, f64, f64)> = chosen
        .table_rows
        .iter()
        .map(|&row| {
            (
                table.heat_temp_kelvin[row],
                table.heat_time_s[row],
                table.reading[row],
            )
        })
        .collect();
    let mut laid = BenchRows::new(&rows);
    laid.reading_sds = chosen
        .table_rows
        .iter()
        .map(|row| table.rows[*row].reading_sd)
        .collect();
    laid.table_rows.clone_from(&chosen.table_rows);
    if let (true, Some(reference)) = (
        chosen.several_shear_rates,
        chosen.reference_shear_rate_per_s,
    ) {
        laid.ln_shear_ratios = chosen
            .table_rows
            .iter()
            .map(|row| {
                table.rows[*row]
                    .shear_rate_per_s
                    .map_or(0.0, |rate| (rate / reference).ln())
            })
            .collect();
    }
    laid
}

fn lots_of(table: &BenchTable, chosen: &Chosen) -> Option<Lots> {
    let mut names: Vec<&str> = chosen
        .table_rows
        .iter()
        .filter_map(|row| table.rows[*row].lot.as_deref())
        .collect();
    names.sort_unstable();
    names.dedup();
    (!names.is_empty()).then(|| Lots {
        count: names.len(),
        sd: Default::default(),
        log_likelihood: None,
        effects: Vec::new(),
    })
}
