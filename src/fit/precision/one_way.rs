//! Repeatability and reproducibility by the basic method of ISO 5725-2.

use super::error::PrecisionError;
use super::mean_squares::{MeanSquareTerm, combination_interval};
use crate::fit::{f_quantile, f_tail};
use serde::Serialize;

/// What repeats and what does not: standard deviations in the unit of the readings.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct OneWay {
    /// Cells: gels of one lot, heated alike.
    pub cells: usize,
    /// Groups of all cells together, each of one operator (or block) in one cell.
    pub groups: usize,
    /// Readings.
    pub readings: usize,
    /// Mean number of readings of a group, as the standard counts it for unequal groups.
    pub readings_per_group: f64,
    /// Mean of all readings.
    pub mean: f64,
    /// Mean square within groups.
    pub mean_square_within: f64,
    /// Its degrees of freedom.
    pub degrees_within: usize,
    /// Mean square between the groups of a cell.
    pub mean_square_between: f64,
    /// Its degrees of freedom.
    pub degrees_between: usize,
    /// Probability of such a difference between groups if there were none.
    pub no_difference_p: Option<f64>,
    /// s_r, of the same hands.
    pub repeatability_sd: f64,
    /// Its 95 % interval.
    pub repeatability_interval95: Option<[f64; 2]>,
    /// s_L, between hands; 0 where the mean squares would make its square negative.
    pub between_sd: f64,
    /// Its 95 % interval.
    pub between_interval95: Option<[f64; 2]>,
    /// s_R, of other hands.
    pub reproducibility_sd: f64,
    /// Its 95 % interval.
    pub reproducibility_interval95: Option<[f64; 2]>,
    /// Share of s_L² in s_R².
    pub between_share_ratio: f64,
    /// Its 95 % interval.
    pub between_share_interval95: Option<[f64; 2]>,
    /// Whether every group has as many readings; else the intervals but the first are approximate.
    pub balanced: bool,
}

/// Analysis of `cells[cell][group][reading]`, each group being one operator, block or laboratory.
///
/// # Equation
/// s_r^2 = sum (n_i - 1) s_i^2/sum (n_i - 1); s_d^2 = sum n_i (y_i - y)^2/(p - 1);
/// n = [sum n_i - sum n_i^2/sum n_i]/(p - 1); s_L^2 = (s_d^2 - s_r^2)/n; s_R^2 = s_r^2 + s_L^2
///
/// | symbol | field | unit |
/// |---|---|---|
/// | s_r, s_L, s_R | `repeatability_sd`, `between_sd`, `reproducibility_sd` | that of the readings |
/// | s_d² | `mean_square_between` | unit² |
/// | n | `readings_per_group` | 1 |
/// | p, n_i, y_i, s_i | groups; readings, mean, standard deviation of group i | |
///
/// Several cells are pooled: sums of squares and degrees of freedom are added.
///
/// # Valid for
/// Normal scatter, the same in every group and cell; on ln of a reading that is a constant relative
/// scatter. Pooling takes a group's offset as new in every cell; where an operator is always off by the
/// same, the interval of s_L is too narrow. The share's interval is exact for balanced groups.
///
/// # Errors
/// No cell with two groups; no group with two readings; values that are not finite.
///
/// # Source
/// ISO 5725-2:1994, 7.4.5; the share: J. Fleiss, P. Shrout as in
/// [`intraclass`](fn@crate::fit::agreement::intraclass).
///
/// # Example
/// ```
/// use heatset::fit::precision::one_way;
/// let found = one_way(&[vec![vec![1.0, 3.0], vec![5.0, 7.0]]])?;
/// assert_eq!(found.mean_square_within, 2.0);
/// assert_eq!(found.mean_square_between, 16.0);
/// approx::assert_abs_diff_eq!(found.between_sd * found.between_sd, 7.0, epsilon = 1e-12);
/// # Ok::<(), heatset::fit::precision::PrecisionError>(())
/// ```
pub fn one_way(cells: &[Vec<Vec<f64>>]) -> Result<OneWay, PrecisionError> {
    if let Some((place, value)) = cells
        .iter()
        .flatten()
        .flatten()
        .enumerate()
        .find(|(_, value)| !value.is_finite())
    {
        return Err(PrecisionError::NotFinite {
            number: place + 1,
            value: *value,
        });
    }
    let (mut within, mut between, mut spread) = (0.0, 0.0, 0.0);
    let (mut degrees_within, mut degrees_between) = (0, 0);
    let (mut groups, mut readings, mut sum, mut used) = (0, 0, 0.0, 0);
    let mut sizes = Vec::new();
    for cell in cells {
        let filled: Vec<&Vec<f64>> = cell.iter().filter(|group| !group.is_empty()).collect();
        if filled.len() < 2 {
            continue;
        }
        used += 1;
        let count: usize = filled.iter().map(|g| g.len()).sum();
        let total: f64 = filled.iter().flat_map(|g| g.iter()).sum();
        let mean = total / count as f64;
        let mut squares_of_sizes = 0.0;
        for group in &filled {
            let n = group.len() as f64;
            let own = group.iter().sum::<f64>() / n;
            within += group.iter().map(|v| (v - own).powi(2)).sum::<f64>();
            between += n * (own - mean).powi(2);
            degrees_within += group.len() - 1;
            squares_of_sizes += n * n;
            sizes.push(group.len());
        }
        spread += count as f64 - squares_of_sizes / count as f64;
        degrees_between += filled.len() - 1;
        groups += filled.len();
        readings += count;
        sum += total;
    }
    if used == 0 {
        return Err(PrecisionError::TooFewGroups {
            what: "group",
            groups: cells.iter().map(Vec::len).max().unwrap_or(0),
        });
    }
    if degrees_within == 0 {
        return Err(PrecisionError::NoReplicates);
    }
    let (freedom_within, freedom_between) = (degrees_within as f64, degrees_between as f64);
    let mean_square_within = within / freedom_within;
    let mean_square_between = between / freedom_between;
    let per_group = spread / freedom_between;
    let between_variance = ((mean_square_between - mean_square_within) / per_group).max(0.0);
    let total = mean_square_within + between_variance;
    let of_between = |coefficient: f64| MeanSquareTerm {
        coefficient,
        mean_square: mean_square_between,
        degrees_of_freedom: freedom_between,
    };
    let of_within = |coefficient: f64| MeanSquareTerm {
        coefficient,
        mean_square: mean_square_within,
        degrees_of_freedom: freedom_within,
    };
    let roots = |limits: [f64; 2]| limits.map(f64::sqrt);
    let share_interval = (mean_square_within > 0.0)
        .then(|| {
            let ratio = mean_square_between / mean_square_within;
            let share = |f: f64| ((f - 1.0) / (f + per_group - 1.0)).max(0.0);
            Some([
                share(ratio / f_quantile(0.975, freedom_between, freedom_within)?),
                share(ratio / f_quantile(0.025, freedom_between, freedom_within)?),
            ])
        })
        .flatten();
    Ok(OneWay {
        cells: used,
        groups,
        readings,
        readings_per_group: per_group,
        mean: sum / readings as f64,
        mean_square_within,
        degrees_within,
        mean_square_between,
        degrees_between,
        no_difference_p: f_tail(
            mean_square_between / mean_square_within,
            degrees_between,
            degrees_within,
        ),
        repeatability_sd: mean_square_within.sqrt(),
        repeatability_interval95: combination_interval(&[of_within(1.0)]).map(roots),
        between_sd: between_variance.sqrt(),
        between_interval95: combination_interval(&[
            of_between(1.0 / per_group),
            of_within(-1.0 / per_group),
        ])
        .map(roots),
        reproducibility_sd: total.sqrt(),
        reproducibility_interval95: combination_interval(&[
            of_between(1.0 / per_group),
            of_within(1.0 - 1.0 / per_group),
        ])
        .map(roots),
        between_share_ratio: if total > 0.0 {
            between_variance / total
        } else {
            0.0
        },
        between_share_interval95: share_interval,
        balanced: sizes.windows(2).all(|pair| pair[0] == pair[1]),
    })
}
