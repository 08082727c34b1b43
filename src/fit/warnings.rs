//! What a reader of the calibration should know before relying on it.

use super::bench::{BenchFit, BenchRows, Shape, fit_bench};
use super::calibration_parts::{Lots, Warning};
use super::interval::f_tail;
use super::options::{FitOptions, WarmUpChoice};
use super::parameter::ParameterName;
use super::robust::RobustLoss;
use crate::readings::BenchTable;
use crate::thermal::WarmUp;
use crate::units::display;

/// Start temperature and lags tried when nobody declared a warm-up.
const TRIED_START_KELVIN: f64 = 295.15;
const TRIED_LAGS_S: [f64; 5] = [10.0, 20.0, 40.0, 80.0, 160.0];

/// Warnings that the table itself gives rise to.
pub(super) fn bench_warnings(
    table: &BenchTable,
    fitted: &[usize],
    lots: Option<&Lots>,
) -> Vec<Warning> {
    let mut warnings = Vec::new();
    match lots.map(|l| l.count) {
        None => warnings.push(Warning::new(
            "one_lot",
            "No lot is named, so the spread between people is unknown: this calibration speaks of the plasma measured, not of the next person's.",
        )),
        Some(1) => warnings.push(Warning::new(
            "one_lot",
            "All readings are from one lot, so the spread between people is unknown: this calibration speaks of that lot, not of the next person's.",
        )),
        Some(count) if lots.is_some_and(Lots::are_separate) => {
            if count < 5 {
                warnings.push(Warning::new(
                    "few_lots",
                    format!(
                        "{count} lots tell little about how much people differ, so answers for a new lot are wide. What helps: a reading series of another lot; it narrows them more than further readings of these."
                    ),
                ));
            }
        }
        Some(count) => warnings.push(Warning::new(
            "lots_pooled",
            format!(
                "The {count} lots are fitted as one: their spread is in the scatter of readings, but parameters and intervals here do not tell lot from lot, and a new lot may lie further off than they say."
            ),
        )),
    }
    let mut temperatures: Vec<f64> = fitted
        .iter()
        .filter_map(|row| table.rows[*row].read_temp_kelvin)
        .collect();
    temperatures.sort_by(f64::total_cmp);
    if let (Some(low), Some(high)) = (temperatures.first(), temperatures.last())
        && high - low > 2.0
    {
        warnings.push(Warning::new(
            "reading_temperatures_differ",
            format!(
                "The gel was read at {} to {}: part of the differences is the temperature of the reading, not setting.",
                display::temperature(*low),
                display::temperature(*high)
            ),
        ));
    }
    warnings
}

/// Warnings that the fit gives rise to.
pub(super) fn fit_warnings(rows: &BenchRows, fit: &BenchFit, options: &FitOptions) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if options.robust == RobustLoss::None
        && let Some(warning) = undeclared_warm_up(rows, fit)
    {
        warnings.push(warning);
    }
    if options.warm_up == WarmUpChoice::Fitted {
        warnings.extend(fitted_warm_up(fit));
    }
    if fit.estimates.get(ParameterName::ActivationEnergy) <= 0.0 {
        warnings.push(Warning::new(
            "slower_when_hotter",
            "By these readings the gel sets more slowly in a hotter block. That is no setting of proteins: look for swapped temperatures.",
        ));
    }
    if !fit.is_exact() && fit.degrees_of_freedom() < 8 {
        warnings.push(Warning::new(
            "few_readings",
            format!(
                "Only {} readings more than unknowns: the intervals are wide and rest on few numbers.",
                fit.degrees_of_freedom()
            ),
        ));
    }
    let flow_index = fit.estimates.get(ParameterName::FlowIndexPlateau);
    if flow_index > 1.0 + 1e-9 {
        warnings.push(Warning::new(
            "thickens_under_shear",
            format!(
                "The flow index of the set gel comes out as {}, above 1: gels thin under shear, so look at the shear rates.",
                display::significant(flow_index, 2)
            ),
        ));
    }
    warnings
}

/// What a warm-up fitted with the kinetics says of itself.
fn fitted_warm_up(fit: &BenchFit) -> Option<Warning> {
    let place = fit
        .free
        .iter()
        .position(|name| *name == ParameterName::WarmUp)?;
    let error = fit.covariance.as_ref()?.unscaled[[place, place]].sqrt() * fit.residual_sd();
    (error > 0.3).then(|| {
        Warning::new(
            "warm_up_poorly_known",
            format!(
                "The warm-up of about {} is fitted, and the readings hardly tell it: too few at short heat times. What helps: readings under two minutes in the hottest block, or one run with a thermocouple.",
                display::duration(fit.estimates.get(ParameterName::WarmUp))
            ),
        )
    })
}

/// Whether the first readings ask for a lag that nobody declared: the isothermal fit against the
/// best of a few lags, by an F test at 1 in 1000.
fn undeclared_warm_up(rows: &BenchRows, fit: &BenchFit) -> Option<Warning> {
    let freedom = fit.degrees_of_freedom();
    if fit.shape.warm_up != WarmUp::None || fit.is_exact() || freedom < 4 {
        return None;
    }
    let lagged: Vec<(f64, f64)> = TRIED_LAGS_S
        .iter()
        .filter_map(|&lag_s| {
            let warm_up = WarmUp::lag(lag_s, TRIED_START_KELVIN).ok()?;
            let shape = Shape {
                warm_up,
                ..fit.shape.clone()
            };
            let tried = fit_bench(rows, &shape);
            tried
                .termination
                .was_successful()
                .then_some((lag_s, tried.sum_of_squares))
        })
        .collect();
    let (lag_s, least) = lagged.into_iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
    let ratio = (fit.sum_of_squares - least) / (least / (freedom as f64 - 1.0));
    let p = f_tail(ratio.max(0.0), 1, freedom - 1)?;
    let hottest = rows.temperatures_kelvin.last().copied().unwrap_or(f64::NAN);
    (p < 1e-3).then(|| {
        Warning::new(
            "undeclared_warm_up",
            format!(
                "The first readings at {} lag behind, as if the gel took about {} to warm up, and none was declared. Left so, the activation energy comes out too low. What helps: --warm-up {}s, or the lag you measured.",
                display::temperature(hottest),
                display::duration(lag_s),
                display::plain(lag_s)
            ),
        )
    })
}
