//! Where the scatter comes from: variance components of any design, by restricted maximum likelihood.

mod likelihood;
mod search;

use super::error::PrecisionError;
use likelihood::Reduced;
use search::{Maximum, maximise, profile_interval};
use serde::Serialize;

/// Most codes of all factors together.
const MOST_LEVELS: usize = 400;

/// A source of scatter: which code of it each reading has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ComponentFactor {
    /// Its name.
    pub name: String,
    /// Number of the code of each reading, from 0.
    pub codes: Vec<usize>,
}

/// One share of the scatter.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VarianceComponent {
    /// The factor; `rest` for what no factor explains.
    pub name: String,
    /// Codes that it is known from.
    pub levels: usize,
    /// Variance, in the unit of the readings squared.
    pub variance: f64,
    /// Its 95 % interval, from the profile of the likelihood; an upper end of none is not reached.
    pub interval95: (f64, Option<f64>),
}

/// How a scatter is shared out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VarianceComponents {
    /// The factors in the order given, the rest last.
    pub components: Vec<VarianceComponent>,
    /// Their sum.
    pub total_variance: f64,
    /// Readings.
    pub readings: usize,
    /// Cells, whose means are taken out.
    pub cells: usize,
    /// Restricted log-likelihood.
    pub log_likelihood: f64,
    /// Steps that the search took.
    pub iterations: usize,
}

/// Shares out the scatter of readings within cells among factors and a rest.
///
/// # Equation
/// y = cell + sum_k u_k(code) + e, u_k ~ N(0, s_k^2), e ~ N(0, s_e^2); maximised is
/// l = -1/2 [(N - c) ln 2 pi + ln det V + ln det X^T V^-1 X + y^T P y], all variances at least 0.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | y, cell | `values`, `cells` (a number for each reading) | that of the readings |
/// | s_k², s_e² | `variance` | unit² |
/// | N, c | readings, cells | 1 |
/// | V, X, P | covariance of y, indicators of cells, V^-1 - V^-1 X (X^T V^-1 X)^-1 X^T V^-1 | |
///
/// # Valid for
/// Normal effects; any numbers of readings. Where a design is balanced and no variance is zero the values
/// are those of the analysis of variance. Intervals are the variances at which the profile
/// falls by 1.92; with few codes that is somewhat too narrow at the upper end.
///
/// # Errors
/// Lists of different lengths; values that are not finite; no scatter; a search that does not settle.
///
/// # Source
/// H. Patterson, R. Thompson, Biometrika 58 (1971) 545, doi:10.1093/biomet/58.3.545; derivatives:
/// S. Searle, G. Casella, C. McCulloch, Variance Components, 1992, chapter 6.
///
/// # Example
/// ```
/// use heatset::fit::precision::{ComponentFactor, variance_components};
/// let hands = ComponentFactor { name: "operator".into(), codes: vec![0, 0, 1, 1] };
/// let found = variance_components(&[1.0, 3.0, 5.0, 7.0], &[0, 0, 0, 0], &[hands])?;
/// // by hand: mean squares 16 and 2, (16 - 2)/2 and 2
/// approx::assert_abs_diff_eq!(found.components[0].variance, 7.0, epsilon = 1e-6);
/// approx::assert_abs_diff_eq!(found.components[1].variance, 2.0, epsilon = 1e-6);
/// # Ok::<(), heatset::fit::precision::PrecisionError>(())
/// ```
pub fn variance_components(
    values: &[f64],
    cells: &[usize],
    factors: &[ComponentFactor],
) -> Result<VarianceComponents, PrecisionError> {
    for codes in std::iter::once(cells).chain(factors.iter().map(|f| f.codes.as_slice())) {
        if codes.len() != values.len() {
            return Err(PrecisionError::UnequalLengths {
                first: values.len(),
                second: codes.len(),
            });
        }
    }
    if let Some((place, value)) = values.iter().enumerate().find(|(_, v)| !v.is_finite()) {
        return Err(PrecisionError::NotFinite {
            number: place + 1,
            value: *value,
        });
    }
    let reduced = Reduced::new(values, cells, factors);
    if reduced.levels() > MOST_LEVELS {
        return Err(PrecisionError::TooManyLevels {
            levels: reduced.levels(),
            most: MOST_LEVELS,
        });
    }
    if reduced.degrees_of_freedom() == 0 || reduced.scale() <= 0.0 {
        return Err(PrecisionError::NoScatter);
    }
    let Maximum {
        variances,
        log_likelihood,
        iterations,
    } = maximise(&reduced, None)?;
    let unit = reduced.scale();
    let names = factors
        .iter()
        .map(|f| f.name.clone())
        .chain(std::iter::once("rest".to_owned()));
    let mut components = Vec::with_capacity(variances.len());
    for (number, name) in names.enumerate() {
        let (lower, upper) = profile_interval(&reduced, number, &variances, log_likelihood);
        components.push(VarianceComponent {
            name,
            levels: reduced.levels_of(number),
            variance: variances[number] * unit,
            interval95: (lower * unit, upper.map(|u| u * unit)),
        });
    }
    Ok(VarianceComponents {
        total_variance: components.iter().map(|c| c.variance).sum(),
        components,
        readings: values.len(),
        cells: reduced.cells(),
        log_likelihood: reduced.unscaled(log_likelihood),
        iterations,
    })
}
