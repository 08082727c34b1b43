//! Outliers by the tests of ISO 5725-2: Cochran's of a group's scatter, Grubbs' of its mean.

use crate::fit::{f_quantile, t_quantile_real};
use serde::Serialize;

/// What a test comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum OutlierVerdict {
    /// At or under the value that chance passes one time in twenty.
    Consistent,
    /// Between that and the value that chance passes one time in a hundred.
    Straggler,
    /// Above the latter.
    Outlier,
}

/// One test.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct OutlierTest {
    /// Number of the group that stands out most, from 0.
    pub group: usize,
    /// The test's statistic.
    pub statistic: f64,
    /// Value that chance passes one time in twenty.
    pub critical_5_percent: f64,
    /// Value that chance passes one time in a hundred.
    pub critical_1_percent: f64,
    /// What it comes to.
    pub verdict: OutlierVerdict,
}

impl OutlierTest {
    fn of(group: usize, statistic: f64, at_5: f64, at_1: f64) -> Self {
        let verdict = if statistic > at_1 {
            OutlierVerdict::Outlier
        } else if statistic > at_5 {
            OutlierVerdict::Straggler
        } else {
            OutlierVerdict::Consistent
        };
        Self {
            group,
            statistic,
            critical_5_percent: at_5,
            critical_1_percent: at_1,
            verdict,
        }
    }
}

/// Value that Cochran's C passes by chance alone with at most the probability given.
///
/// # Equation
/// C = F/(F + p - 1), F = F(1 - a/p; n - 1, (p - 1)(n - 1))
///
/// | symbol | field | unit |
/// |---|---|---|
/// | p, n, a | `groups`, `readings_each`, `probability` | 1 |
///
/// # Valid for
/// Groups of equal size; unequal ones are tested with the most common size, as the standard does.
///
/// # Source
/// ISO 5725-2:1994, 8.1 (table); computed as by P.-T. Wilrich, doi:10.1007/s10182-011-0185-y.
///
/// # Example
/// ```
/// // ISO 5725-2, table of critical values for Cochran's test (from memory): p = 8, n = 3: 5 % 0.516
/// let c = heatset::fit::precision::cochran_critical(8, 3, 0.05).unwrap();
/// approx::assert_abs_diff_eq!(c, 0.516, epsilon = 5e-4);
/// ```
#[must_use]
pub fn cochran_critical(groups: usize, readings_each: usize, probability: f64) -> Option<f64> {
    if groups < 2 || readings_each < 2 {
        return None;
    }
    let (p, n) = (groups as f64, readings_each as f64);
    let f = f_quantile(1.0 - probability / p, n - 1.0, (p - 1.0) * (n - 1.0))?;
    Some(f / (f + p - 1.0))
}

/// Cochran's test: whether the group with the largest scatter has too much of it.
///
/// # Equation
/// C = largest s_i^2/sum s_i^2
///
/// # Valid for
/// As [`cochran_critical`]; groups of one reading are passed over. None where fewer than two groups have
/// two readings, or nothing scatters.
///
/// # Source
/// ISO 5725-2:1994, 7.3.3.
#[must_use]
pub fn cochran_test(groups: &[Vec<f64>]) -> Option<OutlierTest> {
    let told: Vec<(usize, usize, f64)> = groups
        .iter()
        .enumerate()
        .filter(|(_, group)| group.len() >= 2)
        .map(|(place, group)| {
            let n = group.len() as f64;
            let mean = group.iter().sum::<f64>() / n;
            let variance = group.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0);
            (place, group.len(), variance)
        })
        .collect();
    let sum: f64 = told.iter().map(|(_, _, variance)| variance).sum();
    let (group, _, largest) = told
        .iter()
        .copied()
        .max_by(|a, b| a.2.total_cmp(&b.2))
        .filter(|_| sum > 0.0)?;
    let size = most_common(told.iter().map(|(_, size, _)| *size))?;
    Some(OutlierTest::of(
        group,
        largest / sum,
        cochran_critical(told.len(), size, 0.05)?,
        cochran_critical(told.len(), size, 0.01)?,
    ))
}

/// The most common number; of several the largest.
fn most_common(sizes: impl Iterator<Item = usize>) -> Option<usize> {
    let all: Vec<usize> = sizes.collect();
    let count = |size: usize| all.iter().filter(|s| **s == size).count();
    all.iter().copied().max_by_key(|size| (count(*size), *size))
}

/// Value that Grubbs' G of one outlying mean passes by chance alone with the probability given, highest
/// or lowest, whichever stands out.
///
/// # Equation
/// G = (p - 1) t/sqrt[p (p - 2 + t^2)], t = t(1 - a/(2 p); p - 2)
///
/// | symbol | field | unit |
/// |---|---|---|
/// | p, a | `groups`, `probability` | 1 |
///
/// # Valid for
/// Three groups or more.
///
/// # Source
/// F. Grubbs, G. Beck, Technometrics 14 (1972) 847; ISO 5725-2:1994, 8.2 (table).
///
/// # Example
/// ```
/// // ISO 5725-2, table of critical values for Grubbs' test, one outlying (from memory): p = 8: 5 %
/// // 2.126, 1 % 2.274
/// let g = heatset::fit::precision::grubbs_critical(8, 0.01).unwrap();
/// approx::assert_abs_diff_eq!(g, 2.274, epsilon = 1e-3);
/// ```
#[must_use]
pub fn grubbs_critical(groups: usize, probability: f64) -> Option<f64> {
    if groups < 3 {
        return None;
    }
    let p = groups as f64;
    let t = t_quantile_real(1.0 - probability / (2.0 * p), p - 2.0)?;
    Some((p - 1.0) * t / (p * (p - 2.0 + t * t)).sqrt())
}

/// Grubbs' test: whether the mean that lies furthest off lies too far off.
///
/// # Equation
/// G = |y_i - y|/s, y and s being mean and standard deviation of the group means
///
/// # Valid for
/// One outlying mean; two that hide each other are not looked for. None with fewer than three groups.
///
/// # Source
/// ISO 5725-2:1994, 7.3.4.
#[must_use]
pub fn grubbs_test(groups: &[Vec<f64>]) -> Option<OutlierTest> {
    let marks = super::consistency::mandel(groups)?;
    let (group, mark) = marks
        .iter()
        .enumerate()
        .max_by(|a, b| a.1.h.abs().total_cmp(&b.1.h.abs()))?;
    Some(OutlierTest::of(
        group,
        mark.h.abs(),
        grubbs_critical(groups.len(), 0.05)?,
        grubbs_critical(groups.len(), 0.01)?,
    ))
}
