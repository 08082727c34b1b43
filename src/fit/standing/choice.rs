//! Which course the readings tell: one that levels off, its slope only, or none.

use super::APART_STORAGE_KELVIN;
use super::gels::{GelStart, StandingRows};
use super::model::StandingModel;
use crate::fit::calibration_parts::LackOfFit;
use crate::fit::interval::f_tail;
use crate::fit::least_squares::{
    LeastSquaresProblem, Projection, Settings, covariance_from_jacobian, minimize,
};
use crate::kinetics::{ArrheniusRate, StandingCourse};
use ndarray::{Array2, ArrayView2};
use serde::{Deserialize, Serialize};

/// Probability under which a straight rise counts as refuted.
const BENT_P: f64 = 0.05;
/// Standard error of ln rate above which gain and rate are not told apart: half as fast or twice.
const LARGEST_LN_RATE_SE: f64 = 0.7;
/// Standard errors by which a gain that was there at the first reading must differ from none.
const PLAIN_GAIN_SES: f64 = 3.0;
/// Starts of ln rate: from a twentieth of the rise over the longest time to all of it within a
/// fiftieth of the shortest.
const RATE_STARTS: usize = 14;
const ENERGY_STARTS_J_PER_MOL: [f64; 3] = [0.0, 60e3, 120e3];

/// Form of a course.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum StandingForm {
    /// Gain and rate are told apart.
    LevelsOff,
    /// Only their product is.
    Slope,
}

/// A fitted course.
#[derive(Debug, Clone, PartialEq)]
pub struct StandingFit {
    /// Its form.
    pub form: StandingForm,
    /// The course at the estimates.
    pub course: StandingCourse,
    /// Whether an activation energy was fitted; without one the course holds at the storage
    /// temperatures that were measured.
    pub fits_energy: bool,
    /// Covariance of gain, ln rate and activation energy in J/mol (or of slope in 1/s and activation
    /// energy), of those that are fitted, in this order.
    pub covariance: Array2<f64>,
    /// Scatter of ln of single readings.
    pub residual_sd: f64,
    /// Rows less fitted numbers, beginnings of gels counted.
    pub degrees_of_freedom: usize,
    /// Reading less model, of ln, a row each.
    pub residuals: Vec<f64>,
    /// Replicate lack of fit.
    pub lack_of_fit: Option<LackOfFit>,
}

/// Why readings after standing tell no course.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoCourse {
    /// Fewer readings than fitted numbers and one more.
    TooFew {
        /// Readings there are.
        rows: usize,
        /// Readings needed.
        needed: usize,
    },
    /// All of the gain was there at the first reading.
    AllAtOnce,
    /// The search ended in no minimum.
    NotFitted,
}

/// Fits gain and rate, or the slope where the readings do not level off.
///
/// # Equation
/// `ln P = c_gel + B [1 - exp(-k_s t_s)]`, `k_s` Arrhenius where storage temperatures are 5 K or more
/// apart; or `ln P = c_gel + S t_s`. The former is kept where an F test refutes the straight rise
/// (p under 0.05) and ln k_s is known to a standard error of 0.7.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | c_gel | `GelStart` | 1 |
/// | t_s | `stand_time_s` | s |
/// | B, k_s, S | [`StandingCourse`] | 1, 1/s, 1/s |
///
/// # Valid for
/// Normal scatter of ln of the readings, alike at every time; gels that thicken alike.
///
/// # Errors
/// [`NoCourse`] where there is none to be found.
///
/// # Source
/// D. Bates, D. Watts, Nonlinear Regression Analysis and Its Applications, 1988, chapter 2 and section
/// 3.10 (F test of nested models).
pub fn fit_standing(rows: &StandingRows) -> Result<StandingFit, NoCourse> {
    let [coolest, warmest] = rows.storage_kelvin();
    let fits_energy = warmest - coolest >= APART_STORAGE_KELVIN;
    let slope = fit_form(rows, StandingForm::Slope, fits_energy);
    let slope = match slope {
        Err(NoCourse::TooFew { .. }) | Ok(_) => slope?,
        Err(other) => {
            return fit_form(rows, StandingForm::LevelsOff, fits_energy).map_err(|_| other);
        }
    };
    let Ok(bent) = fit_form(rows, StandingForm::LevelsOff, fits_energy) else {
        return all_at_once(rows, &slope).map_or(Ok(slope), Err);
    };
    let sum = |fit: &StandingFit| fit.residuals.iter().map(|r| r * r).sum::<f64>();
    let ratio = (sum(&slope) - sum(&bent)) / (sum(&bent) / bent.degrees_of_freedom as f64);
    let is_bent = ratio == f64::INFINITY
        || f_tail(ratio.max(0.0), 1, bent.degrees_of_freedom).is_some_and(|p| p < BENT_P);
    let ln_rate_se = bent.covariance[[1, 1]].sqrt();
    if is_bent && ln_rate_se <= LARGEST_LN_RATE_SE {
        return Ok(bent);
    }
    all_at_once(rows, &slope).map_or(Ok(slope), Err)
}

/// Whether the whole gain was there at the first reading: a step that fits better than a slope.
fn all_at_once(rows: &StandingRows, slope: &StandingFit) -> Option<NoCourse> {
    let mut step: Vec<f64> = rows
        .rows
        .iter()
        .map(|row| f64::from(u8::from(row.stand_time_s > 0.0)))
        .collect();
    rows.centre(&mut step);
    let targets = rows.targets();
    let size: f64 = step.iter().map(|x| x * x).sum();
    if size <= 0.0 {
        return None;
    }
    let gain = step.iter().zip(&targets).map(|(x, y)| x * y).sum::<f64>() / size;
    let left: f64 = step
        .iter()
        .zip(&targets)
        .map(|(x, y)| (y - gain * x).powi(2))
        .sum();
    let by_slope: f64 = slope.residuals.iter().map(|r| r * r).sum();
    let error = (left / slope.degrees_of_freedom as f64 / size).sqrt();
    (left < by_slope && gain.abs() > PLAIN_GAIN_SES * error).then_some(NoCourse::AllAtOnce)
}

fn fit_form(
    rows: &StandingRows,
    form: StandingForm,
    fits_energy: bool,
) -> Result<StandingFit, NoCourse> {
    let count = rows.rows.len();
    let own = rows.own_starts();
    let parameters = 1 + usize::from(form == StandingForm::LevelsOff) + usize::from(fits_energy);
    if count < own + parameters + 1 {
        return Err(NoCourse::TooFew {
            rows: count,
            needed: own + parameters + 1,
        });
    }
    let (search, linear) = least_squares(rows, form, fits_energy).ok_or(NoCourse::NotFitted)?;
    let model = StandingModel::new(rows, form, fits_energy);
    let jacobian = model.derivatives_by_all(&search, linear);
    let unscaled = covariance_from_jacobian(&jacobian, count, parameters)
        .ok_or(NoCourse::NotFitted)?
        .unscaled;
    let mut gains = model.gains(&search);
    rows.centre(&mut gains);
    let residuals: Vec<f64> = rows
        .targets()
        .iter()
        .zip(&gains)
        .map(|(target, gain)| target - linear * gain)
        .collect();
    let degrees_of_freedom = count - own - parameters;
    let sum: f64 = residuals.iter().map(|r| r * r).sum();
    let variance = sum / degrees_of_freedom as f64;
    let mut covariance = &unscaled * variance + from_curves(rows, &jacobian, &unscaled);
    let energy = model.energy_j_per_mol(&search);
    let course = match form {
        StandingForm::LevelsOff => StandingCourse::LevelsOff {
            gain_ln_ratio: linear,
            rate: ArrheniusRate {
                rate_ref_per_s: search.first().copied().unwrap_or(f64::NAN).exp(),
                activation_energy_j_per_mol: energy,
                reference_kelvin: model.reference_kelvin,
            },
        },
        StandingForm::Slope => {
            // The linear parameter is the rise over the longest time.
            for other in 0..parameters {
                covariance[[0, other]] /= model.longest_s;
                covariance[[other, 0]] /= model.longest_s;
            }
            StandingCourse::Slope {
                slope_ref_per_s: linear / model.longest_s,
                activation_energy_j_per_mol: energy,
                reference_kelvin: model.reference_kelvin,
            }
        }
    };
    Ok(StandingFit {
        form,
        course,
        fits_energy,
        covariance,
        residual_sd: variance.sqrt(),
        degrees_of_freedom,
        lack_of_fit: lack_of_fit(rows, &residuals, own + parameters),
        residuals,
    })
}

/// The least sum of squares from a grid of starts: the searched parameters and the linear one.
fn least_squares(
    rows: &StandingRows,
    form: StandingForm,
    fits_energy: bool,
) -> Option<(Vec<f64>, f64)> {
    let mut problem = Projection::new(StandingModel::new(rows, form, fits_energy));
    let mut residuals = vec![0.0; rows.rows.len()];
    let mut sum_at = |problem: &mut Projection<StandingModel<'_>>, at: &[f64]| -> f64 {
        problem.residuals(at, &mut residuals);
        residuals.iter().map(|r| r * r).sum()
    };
    let mut starts = starts(rows, problem.model(), form, fits_energy);
    if problem.parameter_count() == 0 {
        let sum = sum_at(&mut problem, &[]);
        let linear = problem.linear().first().copied()?;
        return sum.is_finite().then_some((Vec::new(), linear));
    }
    starts.sort_by(|a, b| {
        let (x, y) = (sum_at(&mut problem, a), sum_at(&mut problem, b));
        x.total_cmp(&y)
    });
    starts
        .iter()
        .take(4)
        .filter_map(|start| {
            let minimum = minimize(&mut problem, start, Settings::default());
            minimum.termination.was_successful().then_some(minimum)
        })
        .min_by(|a, b| a.sum_of_squares.total_cmp(&b.sum_of_squares))
        .map(|minimum| minimum.parameters)
        .and_then(|search| {
            let sum = sum_at(&mut problem, &search);
            let linear = problem.linear().first().copied()?;
            sum.is_finite().then_some((search, linear))
        })
}

fn starts(
    rows: &StandingRows,
    model: &StandingModel<'_>,
    form: StandingForm,
    fits_energy: bool,
) -> Vec<Vec<f64>> {
    let [shortest, longest] = rows.stand_times_s();
    let (slowest, fastest) = ((0.05 / longest).ln(), (50.0 / shortest).ln());
    let rates: Vec<Option<f64>> = match form {
        StandingForm::LevelsOff => (0..RATE_STARTS)
            .map(|i| Some(slowest + (fastest - slowest) * i as f64 / (RATE_STARTS - 1) as f64))
            .collect(),
        StandingForm::Slope => vec![None],
    };
    let energies: Vec<Option<f64>> = if fits_energy {
        ENERGY_STARTS_J_PER_MOL
            .iter()
            .map(|energy| Some(energy / model.thermal_energy_j_per_mol()))
            .collect()
    } else {
        vec![None]
    };
    rates
        .iter()
        .flat_map(|rate| {
            energies
                .iter()
                .map(move |energy| rate.iter().chain(energy).copied().collect())
        })
        .collect()
}

/// What the doubt of the curves that gels begin on adds.
///
/// # Equation
/// `sum over curves of G C G^T`, `G = (J^T J)^-1 J^T D`, `D` the derivatives of the beginnings by the
/// parameters of the curve, `C` their covariance.
fn from_curves(rows: &StandingRows, jacobian: &[f64], unscaled: &Array2<f64>) -> Array2<f64> {
    let parameters = unscaled.nrows();
    let count = rows.rows.len();
    let mut added = Array2::zeros((parameters, parameters));
    let Ok(columns) = ArrayView2::from_shape((parameters, count), jacobian) else {
        return added;
    };
    for (place, curve) in rows.curves.iter().enumerate() {
        let width = curve.covariance.nrows();
        let mut derivatives = Array2::<f64>::zeros((count, width));
        for (row, mut cells) in rows.rows.iter().zip(derivatives.rows_mut()) {
            if let Some(GelStart::Curve {
                doubt: Some((curve, by)),
                ..
            }) = rows.gels.get(row.gel).map(|gel| &gel.start)
                && *curve == place
            {
                cells.iter_mut().zip(by).for_each(|(cell, by)| *cell = *by);
            }
        }
        let shift = unscaled.dot(&columns.dot(&derivatives));
        added = added + shift.dot(&curve.covariance).dot(&shift.t());
    }
    added
}

/// Replicate lack of fit: replicates are readings of one gel after one time at one temperature.
///
/// # Equation
/// As for the bench: `F = [(RSS - SS_pe)/(m - p)] / [SS_pe/(n - m)]`.
///
/// # Source
/// Bates & Watts 1988, section 1.3.2.
fn lack_of_fit(rows: &StandingRows, residuals: &[f64], fitted: usize) -> Option<LackOfFit> {
    let mut groups: std::collections::BTreeMap<(usize, [u64; 2]), Vec<f64>> =
        std::collections::BTreeMap::new();
    for (row, residual) in rows.rows.iter().zip(residuals) {
        let kelvin = if row.stand_time_s > 0.0 {
            row.stand_temp_kelvin
        } else {
            0.0
        };
        groups
            .entry((row.gel, [kelvin.to_bits(), row.stand_time_s.to_bits()]))
            .or_default()
            .push(*residual);
    }
    let pure: f64 = groups
        .values()
        .map(|group| {
            let mean = group.iter().sum::<f64>() / group.len() as f64;
            group.iter().map(|r| (r - mean) * (r - mean)).sum::<f64>()
        })
        .sum();
    let whole: f64 = residuals.iter().map(|r| r * r).sum();
    let df1 = groups.len().checked_sub(fitted)?;
    let df2 = residuals.len() - groups.len();
    if df1 == 0 || df2 == 0 || pure <= 0.0 {
        return None;
    }
    let f = ((whole - pure).max(0.0) / df1 as f64) / (pure / df2 as f64);
    f_tail(f, df1, df2).map(|p| LackOfFit { f, df1, df2, p })
}
