//! Whether a bench tells how its readings fall with the gel's temperature when it is read.

use super::bench::{BenchRows, ReadTemperatures, Shape, fit_bench, free_parameter_count};
use super::calibrate::Chosen;
use super::document::mean_read_temperature;
use super::interval::t_quantile;
use super::options::FitOptions;
use super::parameter::ParameterName;
use crate::readings::{BenchTable, ReadingKind};

/// Temperatures of reading that lie closer together than this are one, in K: what a thermostat and
/// the walk from the block leave.
const APART_KELVIN: f64 = 3.0;
/// An activation energy of flow that is known no better than this says nothing, in J/mol: three times
/// that of water, a third of the viscosity in 5 K.
const USELESS_J_PER_MOL: f64 = 50e3;

/// The temperatures of reading, where viscosities were read apart by 3 K or more. Initial and plateau
/// then hold at the mean, and so does a reading that does not say.
pub(super) fn read_temperatures(table: &BenchTable, chosen: &Chosen) -> Option<ReadTemperatures> {
    if table.kind != ReadingKind::Viscosity && !table.kind.is_push() {
        return None;
    }
    let read = || {
        chosen
            .table_rows
            .iter()
            .map(|row| table.rows[*row].read_temp_kelvin)
    };
    let (low, high) = read()
        .flatten()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), kelvin| {
            (low.min(kelvin), high.max(kelvin))
        });
    // A hair of slack: 22 °C and 25 °C are 3 K apart.
    if high - low < APART_KELVIN - 1e-9 {
        return None;
    }
    let reference_kelvin = mean_read_temperature(table, chosen)?;
    Some(ReadTemperatures::new(reference_kelvin, read()))
}

/// Whether an activation energy of flow can be told from the rest: held or known beforehand, or
/// pinned down in the simplest shape. Temperatures of reading that go with the heat time or the block
/// tell nothing, and are then left in the scatter, as a warning says.
pub(super) fn tells_flow_energy(rows: &BenchRows, shapes: &[Shape], options: &FitOptions) -> bool {
    let name = ParameterName::FlowActivationEnergy;
    if rows.read_temperatures.is_none() {
        return false;
    }
    if options.held.get(name).is_some() || options.priors.iter().any(|p| p.name == name) {
        return true;
    }
    let Some(shape) = shapes
        .iter()
        .min_by_key(|shape| free_parameter_count(rows, shape))
    else {
        return false;
    };
    if rows.len() + shape.priors.len() <= free_parameter_count(rows, shape) {
        return false;
    }
    let fit = fit_bench(rows, shape);
    let found = || {
        let place = fit.free.iter().position(|free| *free == name)?;
        let covariance = fit.covariance.as_ref()?;
        let error = covariance.unscaled[[place, place]].sqrt() * fit.residual_sd();
        Some(t_quantile(0.975, fit.degrees_of_freedom())? * error)
    };
    fit.termination.was_successful() && found().is_some_and(|half| half < USELESS_J_PER_MOL)
}
