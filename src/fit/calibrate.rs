//! From bench table to calibration document.

use super::bench::{BenchFit, BenchRows, ErrorModel, Shape, fit_bench, free_parameter_count};
use super::calibration::{
    BlendCalibration, Calibration, Candidate, Derived, FitSummary, FittedReading, HalfTime, Lots,
    Parameter, Range, SCHEMA, Warning,
};
use super::diagnostics::diagnose;
use super::error::FitError;
use super::identifiability::{check_fit, check_temperatures};
use super::interval::t_quantile;
use super::options::FitOptions;
use super::parameter::{ParameterName, Scale};
use super::selection::{aicc, akaike_weights, log_likelihood};
use super::warnings::{bench_warnings, fit_warnings};
use crate::kinetics::{ArrheniusRate, FirmnessLaw, rate_dose_for_conversion, z_value_kelvin};
use crate::readings::{BenchTable, ReadingKind};
use crate::thermal::WarmUp;

/// Fits every blend of a bench table (or the one asked for) and writes the document.
///
/// # Errors
/// Everything that [`FitError`] names; nothing is half-fitted.
pub fn calibrate(table: &BenchTable, options: &FitOptions) -> Result<Calibration, FitError> {
    let measured = table.kind;
    let (table, assumptions) = match measured {
        ReadingKind::Viscosity | ReadingKind::Force => {
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
        let mut fitted = calibrate_blend(table, &name, options)?;
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
struct Chosen {
    table_rows: Vec<usize>,
    reference_shear_rate_per_s: Option<f64>,
    several_shear_rates: bool,
}

fn calibrate_blend(
    table: &BenchTable,
    blend: &str,
    options: &FitOptions,
) -> Result<BlendCalibration, FitError> {
    if options.held.plateau == Some(0.0) && options.law == Some(FirmnessLaw::Log) {
        return Err(FitError::ZeroPlateau);
    }
    let chosen = choose_rows(table, blend);
    if chosen.table_rows.is_empty() {
        return Err(FitError::NoRows);
    }
    check_readings(table, blend, &chosen, options)?;
    table.select(&chosen.table_rows).check_readings_change()?;
    let rows = lay_out(table, &chosen);
    check_temperatures(
        blend,
        &rows,
        options.held.activation_energy_j_per_mol.is_some(),
    )?;

    let shape_of = |law| Shape {
        law,
        order: options.order,
        errors: options.errors,
        warm_up: options.warm_up,
        reference_kelvin: options
            .reference_kelvin
            .unwrap_or_else(|| rows.reference_kelvin()),
        held: options.held,
    };
    let laws: Vec<FirmnessLaw> = match options.law {
        Some(law) => vec![law],
        // A plateau of 0 has no logarithm: nothing but the linear law can be meant.
        None if options.held.plateau == Some(0.0) => vec![FirmnessLaw::Linear],
        None if table_has_no_logarithm(table, &chosen) => vec![FirmnessLaw::Linear],
        None => vec![FirmnessLaw::Log, FirmnessLaw::Linear],
    };
    let free = laws
        .first()
        .map_or(0, |law| free_parameter_count(&rows, shape_of(*law)));
    if rows.len() < free + 1 {
        return Err(FitError::TooFewRows {
            blend: blend.to_owned(),
            rows: rows.len(),
            needed: free + 1,
            parameters: free,
        });
    }
    let fits: Vec<BenchFit> = laws
        .iter()
        .map(|law| fit_bench(&rows, shape_of(*law)))
        .collect();
    let criteria: Vec<Option<f64>> = fits.iter().map(criterion).collect();
    let Some(best) = choose_law(&fits, &criteria, blend, &rows) else {
        return Err(FitError::NoRows);
    };
    let fit = &fits[best];
    check_fit(blend, &rows, fit)?;

    let weights = akaike_weights(&criteria);
    let candidates = fits
        .iter()
        .zip(&criteria)
        .zip(weights)
        .map(|((f, aicc), weight)| Candidate {
            law: f.shape.law,
            order: f.shape.order.0,
            lag: "none".to_owned(),
            aicc: *aicc,
            weight: if fits.len() == 1 { Some(1.0) } else { weight },
        })
        .collect();
    let lots = lots_of(table, &chosen);
    let mut warnings = bench_warnings(table, blend, &chosen.table_rows, lots.as_ref());
    warnings.extend(fit_warnings(&rows, fit));
    Ok(document(
        table, blend, options, &chosen, &rows, fit, candidates, lots, warnings,
    ))
}

/// The law of least AICc; where that one cannot be told from the readings but another is all but
/// as good, the other. Ties go to the first, which is the default.
fn choose_law(
    fits: &[BenchFit],
    criteria: &[Option<f64>],
    blend: &str,
    rows: &BenchRows,
) -> Option<usize> {
    let value = |i: usize| criteria[i].unwrap_or(fits[i].sum_of_squares);
    let best = (0..fits.len())
        .filter(|i| !value(*i).is_nan())
        .min_by(|a, b| value(*a).total_cmp(&value(*b)))
        .or(if fits.is_empty() { None } else { Some(0) })?;
    if check_fit(blend, rows, &fits[best]).is_ok() {
        return Some(best);
    }
    let near = (0..fits.len())
        .find(|i| value(*i) < value(best) + 2.0 && check_fit(blend, rows, &fits[*i]).is_ok());
    Some(near.unwrap_or(best))
}

fn criterion(fit: &BenchFit) -> Option<f64> {
    let rows = fit.residuals.len();
    (!fit.is_exact() && fit.sum_of_squares.is_finite())
        .then(|| {
            aicc(
                log_likelihood(fit.sum_of_squares, rows),
                fit.free.len(),
                rows,
            )
        })
        .flatten()
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

fn table_has_no_logarithm(table: &BenchTable, chosen: &Chosen) -> bool {
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
        let needs_logarithm =
            options.errors == ErrorModel::Relative || options.law == Some(FirmnessLaw::Log);
        if needs_logarithm && reading <= 0.0 {
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
    })
}

#[allow(clippy::too_many_arguments)]
fn document(
    table: &BenchTable,
    blend: &str,
    options: &FitOptions,
    chosen: &Chosen,
    rows: &BenchRows,
    fit: &BenchFit,
    candidates: Vec<Candidate>,
    lots: Option<Lots>,
    warnings: Vec<Warning>,
) -> BlendCalibration {
    let lots_count = lots.as_ref().map_or(0, |l| l.count);
    let exact = fit.is_exact();
    let residual_sd = if exact { 0.0 } else { fit.residual_sd() };
    let likelihood = (!exact).then(|| log_likelihood(fit.sum_of_squares, rows.len()));
    BlendCalibration {
        blend: blend.to_owned(),
        reading: table.kind,
        reading_unit: table.kind.unit().to_owned(),
        law: fit.shape.law,
        order: fit.shape.order.0,
        error: fit.shape.errors,
        warm_up: match options.warm_up {
            WarmUp::None => "none".to_owned(),
            WarmUp::Lag { .. } => "lag".to_owned(),
        },
        start_temp_k: options.start_kelvin,
        reference_temp_k: fit.shape.reference_kelvin,
        reference_shear_rate_per_s: chosen.reference_shear_rate_per_s,
        read_temp_k: mean_read_temperature(table, chosen),
        parameters: parameters(table.kind.unit(), rows, fit, residual_sd),
        covariance: scaled_covariance(fit, residual_sd),
        derived: derived(rows, fit),
        fit: FitSummary {
            rows: rows.len(),
            degrees_of_freedom: fit.degrees_of_freedom(),
            residual_sd,
            weighted_rss: fit.sum_of_squares,
            log_likelihood: likelihood,
            aicc: criterion(fit),
            iterations: fit.iterations,
            converged: fit.termination.was_successful(),
        },
        candidates,
        lots,
        range: range(table, chosen),
        diagnostics: diagnose(rows, fit, lots_count),
        warnings,
        readings: readings(table, blend, rows, fit),
    }
}

fn mean_read_temperature(table: &BenchTable, chosen: &Chosen) -> Option<f64> {
    let read: Vec<f64> = chosen
        .table_rows
        .iter()
        .filter_map(|row| table.rows[*row].read_temp_kelvin)
        .collect();
    (!read.is_empty()).then(|| read.iter().sum::<f64>() / read.len() as f64)
}

fn scaled_covariance(fit: &BenchFit, residual_sd: f64) -> Vec<Vec<f64>> {
    let variance = residual_sd * residual_sd;
    fit.covariance.as_ref().map_or_else(Vec::new, |covariance| {
        covariance
            .unscaled
            .rows()
            .into_iter()
            .map(|row| row.iter().map(|v| v * variance).collect())
            .collect()
    })
}

fn parameters(unit: &str, rows: &BenchRows, fit: &BenchFit, residual_sd: f64) -> Vec<Parameter> {
    let relative = fit.shape.errors == ErrorModel::Relative;
    let ends_scale = if relative { Scale::Log } else { Scale::Linear };
    let mut wanted = vec![
        (ParameterName::Initial, unit, ends_scale, fit.initial),
        (ParameterName::Plateau, unit, ends_scale, fit.plateau),
        (
            ParameterName::RateRef,
            "1/s",
            Scale::Log,
            fit.rate_ref_per_s,
        ),
        (
            ParameterName::ActivationEnergy,
            "J/mol",
            Scale::Linear,
            fit.activation_energy_j_per_mol,
        ),
    ];
    if fit.shape.order.0 != 1.0 {
        wanted.push((ParameterName::Order, "1", Scale::Linear, fit.shape.order.0));
    }
    if let WarmUp::Lag {
        time_constant_s, ..
    } = fit.shape.warm_up
    {
        wanted.push((ParameterName::WarmUp, "s", Scale::Log, time_constant_s));
    }
    if !rows.ln_shear_ratios.is_empty() {
        wanted.push((
            ParameterName::FlowIndexPlateau,
            "1",
            Scale::Linear,
            fit.flow_index_plateau,
        ));
    }
    let t = t_quantile(0.975, fit.degrees_of_freedom()).unwrap_or(f64::INFINITY);
    wanted
        .into_iter()
        .map(|(name, unit, scale, estimate)| {
            let place = fit.free.iter().position(|free| *free == name);
            let std_error = place.and_then(|place| {
                let covariance = fit.covariance.as_ref()?;
                Some(covariance.unscaled[[place, place]].sqrt() * residual_sd)
            });
            let ci95 = std_error.map(|error| match scale {
                Scale::Log => [estimate * (-t * error).exp(), estimate * (t * error).exp()],
                Scale::Linear => [estimate - t * error, estimate + t * error],
            });
            Parameter {
                name,
                unit: unit.to_owned(),
                scale,
                estimate,
                std_error,
                ci95,
                held: place.is_none(),
            }
        })
        .collect()
}

fn derived(rows: &BenchRows, fit: &BenchFit) -> Derived {
    let rate = ArrheniusRate {
        rate_ref_per_s: fit.rate_ref_per_s,
        activation_energy_j_per_mol: fit.activation_energy_j_per_mol,
        reference_kelvin: fit.shape.reference_kelvin,
    };
    let half = rate_dose_for_conversion(fit.shape.order, 0.5);
    let pre_exponential = rate.pre_exponential_per_s();
    Derived {
        pre_exponential_per_s: pre_exponential.is_finite().then_some(pre_exponential),
        z_value_k: z_value_kelvin(fit.activation_energy_j_per_mol, fit.shape.reference_kelvin),
        half_time_s: rows
            .temperatures_kelvin
            .iter()
            .map(|&temp_k| HalfTime {
                temp_k,
                value: half / rate.rate_per_s(temp_k),
            })
            .collect(),
    }
}

fn range(table: &BenchTable, chosen: &Chosen) -> Range {
    let limits = |values: &mut dyn Iterator<Item = f64>| {
        values.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], v| {
            [low.min(v), high.max(v)]
        })
    };
    let rows = &chosen.table_rows;
    let shear = limits(
        &mut rows
            .iter()
            .filter_map(|row| table.rows[*row].shear_rate_per_s),
    );
    Range {
        heat_temp_k: limits(&mut rows.iter().map(|row| table.heat_temp_kelvin[*row])),
        heat_time_s: limits(&mut rows.iter().map(|row| table.heat_time_s[*row])),
        shear_rate_per_s: shear[0].is_finite().then_some(shear),
        reading: limits(&mut rows.iter().map(|row| table.reading[*row])),
    }
}

fn readings(
    table: &BenchTable,
    blend: &str,
    rows: &BenchRows,
    fit: &BenchFit,
) -> Vec<FittedReading> {
    table
        .rows_of_blend(blend)
        .into_iter()
        .map(|row| {
            let place = rows.table_rows.iter().position(|fitted| *fitted == row);
            FittedReading {
                row: row + 1,
                heat_temp_k: table.heat_temp_kelvin[row],
                heat_time_s: table.heat_time_s[row],
                reading: table.reading[row],
                reading_sd: table.rows[row].reading_sd,
                shear_rate_per_s: table.rows[row].shear_rate_per_s,
                lot: table.rows[row].lot.clone(),
                used: place.is_some(),
                residual: place.map(|place| -fit.residuals[place]),
            }
        })
        .collect()
}
