//! A coarse grid over rate and activation energy: the fit needs no start from anybody.

use super::estimates::Estimates;
use super::line_scan::LineScan;
use super::model::BenchModel;
use super::rate_plane::RatePlane;
use super::rows::BenchRows;
use super::shape::{ErrorModel, Shape};
use crate::fit::least_squares::{LeastSquaresProblem, Projection};
use crate::fit::parameter::ParameterName;
use crate::kinetics::{FirmnessLaw, ReactionOrder, conversion};
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
use crate::thermal::{DoseClock, TemperatureHistory, WarmUp};

/// Activation energies looked at, in J/mol: wider than any protein's (see the sanity band of
/// published values, 150 to 550 kJ/mol).
pub(super) const ENERGY_LIMITS_J_PER_MOL: (f64, f64) = (20_000.0, 900_000.0);
/// Largest number of energies in the grid.
const MOST_ENERGIES: usize = 24;
/// Ratio between neighbouring rates of the grid.
pub(super) const RATE_RATIO: i32 = 4;
/// Flow index that a search beside a yield stress starts from.
const START_FLOW_INDEX: f64 = 0.5;
/// Most starts that are followed to their end.
const MOST_STARTS: usize = 3;
/// A start that lies this much higher than the lowest has lost already.
pub(super) const SURELY_LOST_RATIO: f64 = 1.5;

/// A start and its sum of squares.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Start {
    pub(super) search: Vec<f64>,
    pub(super) sum_of_squares: f64,
}

/// Values at which the further unknowns of a shape are tried: order, dose lag as a multiple of the
/// shortest dose, time constant of the warm-up, gel conversion as a multiple of the largest
/// conversion, share of the yield stress. `None` where the shape does not search them.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Variant {
    order: Option<f64>,
    dose_lag_ratio: Option<f64>,
    warm_up_s: Option<f64>,
    gel_ratio: Option<f64>,
    yield_share: Option<f64>,
}

fn variants(shape: &Shape) -> Vec<Variant> {
    let choices = |wanted: bool, values: &[f64]| {
        if wanted {
            values.iter().copied().map(Some).collect()
        } else {
            vec![None]
        }
    };
    let yields = shape.fits_yield_stress && !shape.holds(ParameterName::YieldSharePlateau);
    let gel = shape.law == FirmnessLaw::GelPoint && !shape.holds(ParameterName::GelConversion);
    let mut found = Vec::new();
    for order in choices(
        shape.fits_order && !shape.holds(ParameterName::Order),
        &[1.0, 1.8],
    ) {
        let lags = choices(
            shape.fits_dose_lag && !shape.holds(ParameterName::DoseLag),
            &[0.3, 1.0, 3.0],
        );
        for dose_lag_ratio in lags {
            let taus = choices(
                shape.fits_warm_up && !shape.holds(ParameterName::WarmUp),
                &[10.0, 30.0, 90.0],
            );
            for warm_up_s in taus {
                for gel_ratio in choices(gel, &[1.05, 1.5, 4.0]) {
                    for yield_share in choices(yields, &[0.1, 0.7]) {
                        found.push(Variant {
                            order,
                            dose_lag_ratio,
                            warm_up_s,
                            gel_ratio,
                            yield_share,
                        });
                    }
                }
            }
        }
    }
    found
}

/// Best starts of the grid, the best first: its local minima, few of them.
pub(super) fn starts(problem: &mut Projection<BenchModel<'_>>, rows: &BenchRows) -> Vec<Start> {
    if let Some(found) = plane_starts(problem.model(), rows) {
        return found;
    }
    let shape = problem.model().shape().clone();
    let variants = variants(&shape);
    let plain = variants.len() == 1
        && shape.held.is_empty()
        && shape.priors.is_empty()
        && rows.ln_shear_ratios.is_empty()
        && rows.read_temperatures.is_none()
        && matches!(
            (shape.law, shape.errors),
            (FirmnessLaw::Log, ErrorModel::Relative) | (FirmnessLaw::Linear, ErrorModel::Absolute)
        );
    let energies = match shape.held.get(ParameterName::ActivationEnergy) {
        Some(energy) => vec![energy],
        None => energies(rows, shape.reference_kelvin),
    };
    let mut found = Vec::new();
    let response = problem.model().weighted_response().to_vec();
    let mut scan = LineScan::new(rows, &response);
    for variant in &variants {
        let warm_up = variant.warm_up(&shape);
        let mut scores_by_energy: Vec<Vec<(f64, f64)>> = Vec::with_capacity(energies.len());
        for &energy in &energies {
            let doses = doses_s(rows, &warm_up, energy, shape.reference_kelvin);
            let rates = match shape.held.get(ParameterName::RateRef) {
                Some(rate) => vec![rate],
                None => rates_per_s(&doses),
            };
            let scores = if plain {
                scan.scores(&doses, &rates)
            } else {
                rates
                    .iter()
                    .map(|&rate| {
                        let search = place(problem.model(), rows, &doses, rate, energy, variant);
                        score(problem, &search)
                    })
                    .collect()
            };
            scores_by_energy.push(rates.into_iter().zip(scores).collect());
        }
        for (energy, rate, sum_of_squares) in local_minima(&energies, &scores_by_energy) {
            let doses = if plain {
                // Rate and energy are all that is searched.
                Vec::new()
            } else {
                doses_s(rows, &warm_up, energy, shape.reference_kelvin)
            };
            let search = place(problem.model(), rows, &doses, rate, energy, variant);
            found.push(Start {
                search,
                sum_of_squares,
            });
        }
    }
    found.sort_by(|a, b| a.sum_of_squares.total_cmp(&b.sum_of_squares));
    found.truncate(MOST_STARTS * variants.len().min(3));
    found
}

/// Whether rate and energy are all that is searched, on a model that the plane knows.
pub(super) fn is_plain(model: &BenchModel<'_>) -> bool {
    model.is_lean() && model.shape().held.is_empty()
}

/// The same where the response is a straight line in the conversion and the gel is at the block's
/// temperature from the first moment; `None` elsewhere.
fn plane_starts(model: &BenchModel<'_>, rows: &BenchRows) -> Option<Vec<Start>> {
    if !is_plain(model) {
        return None;
    }
    let found = RatePlane::new(model, rows)?.hollows();
    (!found.is_empty()).then_some(found)
}

/// Further starts along the valleys of the plane, for where the way from a hollow leads to no end:
/// a valley may fall so gently that the plane shows its hollow elsewhere.
pub(super) fn valley_starts(model: &BenchModel<'_>, rows: &BenchRows) -> Vec<Start> {
    RatePlane::new(model, rows).map_or_else(Vec::new, |plane| plane.valleys())
}

impl Variant {
    fn warm_up(&self, shape: &Shape) -> WarmUp {
        match (self.warm_up_s, &shape.warm_up) {
            (Some(time_constant_s), WarmUp::Lag { start_temp_k, .. }) => WarmUp::Lag {
                time_constant_s,
                start_temp_k: *start_temp_k,
            },
            (_, declared) => declared.clone(),
        }
    }
}

/// Energies whose steps turn the rate between the extreme temperatures by a factor of e^3 at most.
fn energies(rows: &BenchRows, reference_kelvin: f64) -> Vec<f64> {
    let inverse = |t: Option<&f64>| 1.0 / t.copied().unwrap_or(reference_kelvin);
    let span = inverse(rows.temperatures_kelvin.first()) - inverse(rows.temperatures_kelvin.last());
    let (low, high) = ENERGY_LIMITS_J_PER_MOL;
    let step = 3.0 * GAS_CONSTANT_J_PER_MOL_K / span.max(1e-9);
    let count = (((high - low) / step).ceil() as usize).clamp(3, MOST_ENERGIES);
    (0..count)
        .map(|i| low + (high - low) * (i as f64 + 0.5) / count as f64)
        .collect()
}

/// Rates from 'hardly anything has set at the longest dose' to 'nearly all at the shortest'.
fn rates_per_s(doses_s: &[f64]) -> Vec<f64> {
    let positive = doses_s.iter().copied().filter(|d| *d > 0.0);
    let (least, most) = positive.fold((f64::INFINITY, 0.0_f64), |(l, m), d| (l.min(d), m.max(d)));
    if most == 0.0 {
        return Vec::new();
    }
    let mut rate = 0.1 / most;
    // The shortest doses may lie many decades below the longest; sixteen rates span nine decades.
    let last = (2.0 / least).min(rate * f64::from(RATE_RATIO).powi(16));
    let mut rates = Vec::with_capacity(16);
    while rate <= last {
        rates.push(rate);
        rate *= f64::from(RATE_RATIO);
    }
    rates
}

fn doses_s(rows: &BenchRows, warm_up: &WarmUp, energy: f64, reference_kelvin: f64) -> Vec<f64> {
    let clocks: Vec<DoseClock> = rows
        .temperatures_kelvin
        .iter()
        .map(|kelvin| warm_up.dose_clock(*kelvin, energy, reference_kelvin))
        .collect();
    rows.points
        .iter()
        .map(|&(temperature, time_s)| clocks[temperature].dose_s(time_s))
        .collect()
}

fn score(problem: &mut Projection<BenchModel<'_>>, search: &[f64]) -> f64 {
    let mut residuals = vec![0.0; problem.residual_count()];
    problem.residuals(search, &mut residuals);
    let sum: f64 = residuals.iter().map(|r| r * r).sum();
    if sum.is_nan() { f64::INFINITY } else { sum }
}

/// A searched point at a rate and an energy; ends that no projection takes get the values that a
/// weighted straight line in the conversion gives them.
fn place(
    model: &BenchModel<'_>,
    rows: &BenchRows,
    doses_s: &[f64],
    rate_per_s: f64,
    energy_j_per_mol: f64,
    variant: &Variant,
) -> Vec<f64> {
    let shape = model.shape();
    let order = variant
        .order
        .or(shape.held.get(ParameterName::Order))
        .unwrap_or(1.0);
    let mut values = Estimates::neutral()
        .with(ParameterName::RateRef, rate_per_s)
        .with(ParameterName::ActivationEnergy, energy_j_per_mol)
        .with(ParameterName::Order, order);
    let dose_lag_s = match variant.dose_lag_ratio {
        Some(ratio) => {
            let positive = doses_s.iter().copied().filter(|d| *d > 0.0);
            ratio * positive.fold(f64::INFINITY, f64::min)
        }
        None => shape.held.get(ParameterName::DoseLag).unwrap_or(0.0),
    };
    values = values.with(ParameterName::DoseLag, dose_lag_s);
    if let Some(time_constant_s) = variant.warm_up_s {
        values = values.with(ParameterName::WarmUp, time_constant_s);
    }
    if let Some(share) = variant.yield_share {
        // Gels that yield thin as well.
        values = values
            .with(ParameterName::YieldSharePlateau, share)
            .with(ParameterName::FlowIndexPlateau, START_FLOW_INDEX);
    }
    let fractions = || -> Vec<f64> {
        doses_s
            .iter()
            .map(|dose| {
                let counted_s = (dose - dose_lag_s).max(0.0);
                conversion(ReactionOrder(order), rate_per_s * counted_s).fraction
            })
            .collect()
    };
    if shape.law == FirmnessLaw::GelPoint {
        let largest = fractions().into_iter().fold(1e-6, f64::max);
        let gel = variant
            .gel_ratio
            .map(|ratio| ratio * largest)
            .or(shape.held.get(ParameterName::GelConversion))
            .unwrap_or(1.0);
        values = values
            .with(ParameterName::GelConversion, gel)
            .with(ParameterName::GelExponent, 1.0)
            .with(ParameterName::Initial, least_positive(&rows.readings));
    } else if !model.projects_ends() {
        let (initial, plateau) = guessed_ends(model, rows, &fractions());
        values = values
            .with(ParameterName::Initial, initial)
            .with(ParameterName::Plateau, plateau);
    }
    model.point(&values).0
}

fn least_positive(readings: &[f64]) -> f64 {
    readings
        .iter()
        .copied()
        .filter(|r| *r > 0.0)
        .fold(f64::INFINITY, f64::min)
}

fn guessed_ends(model: &BenchModel<'_>, rows: &BenchRows, fractions: &[f64]) -> (f64, f64) {
    let shape = model.shape();
    let log_law = shape.law == FirmnessLaw::Log;
    let relative = shape.errors == ErrorModel::Relative;
    // Fitted on the law's own scale, weighted so that errors come out as declared.
    let (mut uu, mut ua, mut aa, mut uy, mut ay) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (row, &reading) in rows.readings.iter().enumerate() {
        let a = fractions[rows.point_of_row[row]];
        let u = 1.0 - a;
        let (y, weight) = match (log_law, relative) {
            (true, true) => (reading.ln(), 1.0),
            (true, false) => (reading.max(f64::MIN_POSITIVE).ln(), reading * reading),
            (false, true) => (reading, 1.0 / (reading * reading)),
            (false, false) => (reading, 1.0),
        };
        uu += weight * u * u;
        ua += weight * u * a;
        aa += weight * a * a;
        uy += weight * u * y;
        ay += weight * a * y;
    }
    let scaled = |name: ParameterName| {
        shape
            .held
            .get(name)
            .map(|v| if log_law { v.ln() } else { v })
    };
    let (initial, plateau) = match (
        scaled(ParameterName::Initial),
        scaled(ParameterName::Plateau),
    ) {
        (Some(i), Some(p)) => (i, p),
        (Some(i), None) => (i, (ay - ua * i) / aa),
        (None, Some(p)) => ((uy - ua * p) / uu, p),
        (None, None) => {
            let determinant = uu * aa - ua * ua;
            (
                (uy * aa - ay * ua) / determinant,
                (ay * uu - uy * ua) / determinant,
            )
        }
    };
    let (initial, plateau) = if log_law {
        (initial.exp(), plateau.exp())
    } else {
        (initial, plateau)
    };
    if !(relative || log_law) {
        return (initial, plateau);
    }
    // A logarithm needs positive ends; the search itself finds the right ones.
    let least = rows.readings.iter().copied().fold(f64::INFINITY, f64::min) * 1e-2;
    let mend = |value: f64| {
        if value.is_finite() {
            value.max(least)
        } else {
            least
        }
    };
    (mend(initial), mend(plateau))
}

/// Local minima of the grid, the deepest first.
fn local_minima(energies: &[f64], found: &[Vec<(f64, f64)>]) -> Vec<(f64, f64, f64)> {
    let at = |i: usize, j: usize| {
        found
            .get(i)
            .and_then(|row| row.get(j))
            .map_or(f64::INFINITY, |cell| cell.1)
    };
    let mut minima = Vec::new();
    for (i, row) in found.iter().enumerate() {
        for (j, &(rate, here)) in row.iter().enumerate() {
            // Diagonal neighbours too: rate and energy trade off, so valleys run aslant.
            let lowest = here.is_finite()
                && (i.saturating_sub(1)..=i + 1)
                    .all(|row| (j.saturating_sub(1)..=j + 1).all(|column| here <= at(row, column)));
            if lowest {
                minima.push((energies[i], rate, here));
            }
        }
    }
    minima.sort_by(|a, b| a.2.total_cmp(&b.2));
    minima.truncate(MOST_STARTS);
    minima
}
