//! The calibration document of one blend, from its fit.

use super::bench::{BenchFit, BenchModel, BenchRows, Estimates};
use super::calibrate::Chosen;
use super::calibration::BlendCalibration;
use super::calibration_parts::{
    Candidate, Derived, FitSummary, FittedReading, HalfTime, Lots, Parameter, Range, Warning,
    YieldStress,
};
use super::candidates::Tried;
use super::diagnostics::{LotResiduals, diagnose};
use super::interval::t_quantile;
use super::intervals::{IntervalKind, Resample, bootstrap, percentile_intervals, profile_interval};
use super::lots::LotFit;
use super::options::FitOptions;
use super::parameter::{ParameterName, Scale};
use super::selection::akaike_weights;
use crate::kinetics::{ArrheniusRate, ReactionOrder, rate_dose_for_conversion, z_value_kelvin};
use crate::readings::{BenchTable, table::PLAIN_BLEND};

/// What a document is made from.
pub(super) struct DocumentParts<'a> {
    pub(super) table: &'a BenchTable,
    pub(super) blend: &'a str,
    pub(super) options: &'a FitOptions,
    pub(super) chosen: &'a Chosen,
    pub(super) rows: &'a BenchRows,
    pub(super) tried: &'a [Tried],
    pub(super) best: usize,
    pub(super) lots: Option<Lots>,
    /// The fit with lots, where they could be told apart: its figures then stand in the document.
    pub(super) lot_fit: Option<&'a LotFit>,
    pub(super) warnings: Vec<Warning>,
}

pub(super) fn document(parts: &DocumentParts<'_>) -> BlendCalibration {
    let DocumentParts {
        table,
        blend,
        options,
        chosen,
        rows,
        ..
    } = *parts;
    let best = &parts.tried[parts.best];
    let fit = &best.fit;
    let residual_sd = match parts.lot_fit {
        Some(lots) => lots.residual_sd,
        None if fit.is_exact() => 0.0,
        None => fit.residual_sd(),
    };
    let covariance = parts.lot_fit.map_or_else(
        || scaled_covariance(fit, residual_sd),
        |lots| {
            lots.covariance
                .rows()
                .into_iter()
                .map(|row| row.to_vec())
                .collect()
        },
    );
    let estimates = parts.lot_fit.map_or(fit.estimates, |lots| lots.estimates);
    let lot_count = parts.lots.as_ref().map_or(0, |l| l.count);
    let mut diagnostics = match parts.lot_fit {
        None => diagnose(rows, fit, lot_count, None),
        Some(lots) => {
            let about_own_lot = BenchFit {
                residuals: lots.residuals.clone(),
                sum_of_squares: lots.residual_sd.powi(2) * fit.degrees_of_freedom() as f64,
                ..fit.clone()
            };
            let own = LotResiduals {
                lot_of_row: &lots.lot_of_row,
                parameters: lots.parameters,
            };
            diagnose(rows, &about_own_lot, lot_count, Some(own))
        }
    };
    diagnostics.downweighted.clone_from(&best.downweighted);
    BlendCalibration {
        blend: blend.to_owned(),
        ha_fraction: ha_fraction(table, blend, chosen),
        reading: table.kind,
        reading_unit: table.kind.unit().to_owned(),
        law: fit.shape.law,
        order: fit.estimates.get(ParameterName::Order),
        error: fit.shape.errors,
        warm_up: fit.shape.warm_up.word().to_owned(),
        history: fit
            .shape
            .warm_up
            .as_sampled()
            .map(|history| history.declared().clone()),
        start_temp_k: options.start_kelvin,
        reference_temp_k: fit.shape.reference_kelvin,
        reference_shear_rate_per_s: chosen.reference_shear_rate_per_s,
        read_temp_k: mean_read_temperature(table, chosen),
        parameters: parameters(parts, fit, &estimates, &covariance),
        derived: Derived {
            yield_stress_plateau_pa: yield_stress(parts, fit, &estimates, &covariance),
            ..derived(rows, fit, &estimates)
        },
        covariance,
        fit: FitSummary {
            rows: rows.len(),
            degrees_of_freedom: fit.degrees_of_freedom(),
            residual_sd,
            // With lots the sum that belongs to the scatter within them, so that sd and sum agree.
            weighted_rss: match parts.lot_fit {
                Some(lots) => lots.residual_sd.powi(2) * fit.degrees_of_freedom() as f64,
                None => fit.sum_of_squares,
            },
            log_likelihood: best.log_likelihood,
            aicc: best.aicc,
            iterations: fit.iterations,
            converged: fit.termination.was_successful(),
            interval: interval_kind(parts),
            robust: options.robust,
        },
        candidates: candidates(parts.tried),
        lots: parts.lots.clone(),
        range: range(table, chosen),
        diagnostics,
        warnings: parts.warnings.clone(),
        readings: readings(table, blend, rows, fit, &estimates),
        standing: None,
    }
}

fn candidates(tried: &[Tried]) -> Vec<Candidate> {
    let criteria: Vec<Option<f64>> = tried.iter().map(|t| t.aicc).collect();
    let weights = akaike_weights(&criteria);
    tried
        .iter()
        .zip(weights)
        .map(|(t, weight)| Candidate {
            law: t.fit.shape.law,
            order: t.fit.estimates.get(ParameterName::Order),
            lag: match (
                t.fit.shape.fits_dose_lag,
                t.fit.estimates.get(ParameterName::DoseLag),
            ) {
                (true, _) => "fitted",
                (false, lag) if lag > 0.0 => "held",
                _ => "none",
            }
            .to_owned(),
            yield_stress: t.fit.shape.fits_yield_stress,
            aicc: t.aicc,
            weight: if tried.len() == 1 { Some(1.0) } else { weight },
        })
        .collect()
}

/// Fraction of hyaluronic acid solution that all fitted rows state alike.
fn ha_fraction(table: &BenchTable, blend: &str, chosen: &Chosen) -> Option<f64> {
    let mut stated = chosen
        .table_rows
        .iter()
        .map(|row| table.rows[*row].ha_fraction);
    let first = stated.next()?;
    if !stated.all(|other| other == first) {
        return None;
    }
    first.or((blend == PLAIN_BLEND).then_some(0.0))
}

pub(super) fn mean_read_temperature(table: &BenchTable, chosen: &Chosen) -> Option<f64> {
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

/// Unit of a parameter of readings in `unit`.
fn unit_of(name: ParameterName, unit: &str) -> String {
    match name {
        ParameterName::Initial | ParameterName::Plateau => unit,
        ParameterName::RateRef => "1/s",
        ParameterName::ActivationEnergy | ParameterName::FlowActivationEnergy => "J/mol",
        ParameterName::DoseLag | ParameterName::WarmUp => "s",
        _ => "1",
    }
    .to_owned()
}

fn parameters(
    parts: &DocumentParts<'_>,
    fit: &BenchFit,
    estimates: &Estimates,
    covariance: &[Vec<f64>],
) -> Vec<Parameter> {
    let unit = parts.table.kind.unit();
    let there = |name: ParameterName| match name {
        ParameterName::FlowIndexPlateau | ParameterName::YieldSharePlateau => {
            !parts.rows.ln_shear_ratios.is_empty()
        }
        ParameterName::FlowActivationEnergy => parts.rows.read_temperatures.is_some(),
        _ => true,
    };
    let by_freedom = |freedom| t_quantile(0.975, freedom).unwrap_or(f64::INFINITY);
    let t_rows = by_freedom(fit.degrees_of_freedom());
    // What varies between lots is known no better than the lots are many.
    let t_lots = parts
        .lot_fit
        .map_or(t_rows, |f| by_freedom(f.lots.count - 1));
    let intervals = special_intervals(parts, fit);
    ParameterName::ALL
        .into_iter()
        .filter(|name| fit.shape.has(*name) && there(*name))
        .map(|name| {
            let scale = name.scale(fit.shape.errors);
            let estimate = estimates.get(name);
            let varies = parts
                .lot_fit
                .is_some_and(|f| f.lots.sd.contains_key(name.as_str()));
            let t = if varies { t_lots } else { t_rows };
            let place = fit.free.iter().position(|free| *free == name);
            let std_error =
                place.and_then(|place| covariance.get(place)?.get(place).map(|v| v.sqrt()));
            let by_t = std_error.map(|error| match scale {
                Scale::Log => [estimate * (-t * error).exp(), estimate * (t * error).exp()],
                Scale::Linear => [estimate - t * error, estimate + t * error],
            });
            let ci95 = match (&intervals, place) {
                (Some(found), Some(place)) => found.get(place).copied().flatten(),
                _ => by_t,
            };
            Parameter {
                name,
                unit: unit_of(name, unit),
                scale,
                estimate,
                std_error,
                ci95,
                held: place.is_none(),
            }
        })
        .collect()
}

/// Kind of interval that the document really states: with lots a profile would need the likelihood of
/// all lots, so Student's t stands in, and a warning says so.
fn interval_kind(parts: &DocumentParts<'_>) -> IntervalKind {
    match (parts.options.interval, parts.lot_fit) {
        (IntervalKind::Profile, Some(_)) => IntervalKind::T,
        (asked, _) => asked,
    }
}

/// Intervals of the free parameters by profile or bootstrap; `None` for Student's t, and for an
/// exact fit, which has nothing to resample.
fn special_intervals(parts: &DocumentParts<'_>, fit: &BenchFit) -> Option<Vec<Option<[f64; 2]>>> {
    if fit.is_exact() {
        return None;
    }
    match interval_kind(parts) {
        IntervalKind::T => None,
        IntervalKind::Profile => Some(
            fit.free
                .iter()
                .map(
                    |name| match profile_interval(parts.rows, fit, *name, 0.95) {
                        [Some(low), Some(high)] => Some([low, high]),
                        _ => None,
                    },
                )
                .collect(),
        ),
        IntervalKind::Bootstrap => {
            let resample = lot_groups(parts).map_or(Resample::Rows, Resample::Groups);
            let draws = bootstrap(
                parts.rows,
                fit,
                &resample,
                parts.options.draws,
                parts.options.seed,
            );
            Some(percentile_intervals(&draws, fit.free.len()))
        }
    }
}

/// Lot of each row as a number, where there are three lots or more and every row names its own.
fn lot_groups(parts: &DocumentParts<'_>) -> Option<Vec<usize>> {
    let names: Option<Vec<&str>> = parts
        .rows
        .table_rows
        .iter()
        .map(|row| parts.table.rows[*row].lot.as_deref())
        .collect();
    let names = names?;
    let mut distinct = names.clone();
    distinct.sort_unstable();
    distinct.dedup();
    (distinct.len() >= 3).then(|| {
        names
            .iter()
            .map(|n| distinct.partition_point(|d| d < n))
            .collect()
    })
}

fn derived(rows: &BenchRows, fit: &BenchFit, estimates: &Estimates) -> Derived {
    let rate = ArrheniusRate {
        rate_ref_per_s: estimates.get(ParameterName::RateRef),
        activation_energy_j_per_mol: estimates.get(ParameterName::ActivationEnergy),
        reference_kelvin: fit.shape.reference_kelvin,
    };
    let half = rate_dose_for_conversion(ReactionOrder(estimates.get(ParameterName::Order)), 0.5);
    let pre_exponential = rate.pre_exponential_per_s();
    Derived {
        pre_exponential_per_s: pre_exponential.is_finite().then_some(pre_exponential),
        z_value_k: z_value_kelvin(rate.activation_energy_j_per_mol, rate.reference_kelvin),
        half_time_s: rows
            .temperatures_kelvin
            .iter()
            .map(|&temp_k| HalfTime {
                temp_k,
                value: half / rate.rate_per_s(temp_k),
            })
            .collect(),
        yield_stress_plateau_pa: None,
    }
}

/// Yield stress of the set gel, `s_inf P_inf g_ref`; its interval by the law of propagation on the
/// logarithm, share and plateau correlated as the fit found them.
fn yield_stress(
    parts: &DocumentParts<'_>,
    fit: &BenchFit,
    estimates: &Estimates,
    covariance: &[Vec<f64>],
) -> Option<YieldStress> {
    let there = fit.shape.has(ParameterName::YieldSharePlateau);
    let reference = parts.chosen.reference_shear_rate_per_s.filter(|_| there)?;
    let plateau = estimates.get(ParameterName::Plateau);
    let share = estimates.get(ParameterName::YieldSharePlateau);
    let estimate = share * plateau * reference;
    if parts.rows.ln_shear_ratios.is_empty() || !estimate.is_finite() {
        return None;
    }
    // Derivatives of the logarithm by both, on the scales of the covariance.
    let by = |name: ParameterName| match (name, name.scale(fit.shape.errors)) {
        (ParameterName::YieldSharePlateau, _) => 1.0 / share,
        (ParameterName::Plateau, Scale::Log) => 1.0,
        (ParameterName::Plateau, Scale::Linear) => 1.0 / plateau,
        _ => 0.0,
    };
    let variance: f64 = fit
        .free
        .iter()
        .zip(covariance)
        .map(|(name, row)| {
            let products = fit
                .free
                .iter()
                .zip(row)
                .map(|(other, value)| by(*other) * value);
            by(*name) * products.sum::<f64>()
        })
        .sum();
    let free = fit.free.contains(&ParameterName::YieldSharePlateau);
    let t = t_quantile(0.975, fit.degrees_of_freedom()).unwrap_or(f64::INFINITY);
    let width = t * variance.sqrt();
    Some(YieldStress {
        estimate,
        ci95: (free && width.is_finite())
            .then(|| [estimate * (-width).exp(), estimate * width.exp()]),
    })
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
    estimates: &Estimates,
) -> Vec<FittedReading> {
    // Residuals about the curve that the document states: with lots, that of the typical lot.
    let mut model = BenchModel::new(rows, fit.shape.clone());
    let (search, linear) = model.point(estimates);
    let (_, residuals) = model.full_derivatives(&search, &linear);
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
                read_temp_k: table.rows[row]
                    .read_temp_kelvin
                    .filter(|_| rows.read_temperatures.is_some()),
                lot: table.rows[row].lot.clone(),
                used: place.is_some(),
                residual: place.map(|place| -residuals[place]),
            }
        })
        .collect()
}
