//! The heat window: from 'firm enough' to 'still passes the needle'.

use super::draws::quantile;
use serde::Serialize;

/// Probability that both ends of the window stand for.
pub const WINDOW_PROBABILITY: f64 = 0.95;
/// Probability of passing at the aim where no least firmness is asked for.
pub const AIM_PROBABILITY: f64 = 0.99;

/// Ends and aim of the window before any range is looked at, in s.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RawWindow {
    /// From here on the gel is firm enough with 95 % probability; none where nothing was asked.
    pub not_before_s: Option<f64>,
    /// The time to aim at.
    pub aim_s: f64,
    /// Until here the gel passes with 95 % probability.
    pub not_beyond_s: f64,
}

/// The window from the draws' passing times and, where asked, their firm-enough times, both
/// sorted.
///
/// # Equation
/// `not_before`: the 95 % quantile of the firm-enough times; `not_beyond`: the 5 % quantile of the
/// times until which the gel passes; `aim`: where the smaller of both probabilities is largest,
/// or the 1 % quantile of the passing times where no least firmness is asked for.
#[must_use]
pub fn raw_window(passes_until_s: &[f64], firm_from_s: Option<&[f64]>) -> RawWindow {
    let not_beyond_s = quantile(passes_until_s, 1.0 - WINDOW_PROBABILITY);
    match firm_from_s {
        None => RawWindow {
            not_before_s: None,
            aim_s: quantile(passes_until_s, 1.0 - AIM_PROBABILITY),
            not_beyond_s,
        },
        Some(firm) => RawWindow {
            not_before_s: Some(quantile(firm, WINDOW_PROBABILITY)),
            aim_s: balanced_time_s(passes_until_s, firm),
            not_beyond_s,
        },
    }
}

/// Probability of passing at a time: share of the draws that pass until later.
#[must_use]
pub fn probability_of_passing(passes_until_s: &[f64], time_s: f64) -> f64 {
    let failed = passes_until_s.partition_point(|t| *t < time_s);
    1.0 - failed as f64 / passes_until_s.len() as f64
}

/// Probability of being firm enough at a time.
#[must_use]
pub fn probability_of_firmness(firm_from_s: &[f64], time_s: f64) -> f64 {
    firm_from_s.partition_point(|t| *t <= time_s) as f64 / firm_from_s.len() as f64
}

/// Time at which both probabilities are equal: one rises with time, the other falls, so their
/// smaller one is largest there.
fn balanced_time_s(passes_until_s: &[f64], firm_from_s: &[f64]) -> f64 {
    let last = |sorted: &[f64]| sorted.iter().rev().copied().find(|t| t.is_finite());
    let mut low = 0.0;
    let mut high = last(passes_until_s)
        .unwrap_or(0.0)
        .max(last(firm_from_s).unwrap_or(0.0));
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if probability_of_firmness(firm_from_s, middle)
            < probability_of_passing(passes_until_s, middle)
        {
            low = middle;
        } else {
            high = middle;
        }
        if high - low <= 1e-9 * high {
            break;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 100 draws that pass until 1, 2, ... 100 s.
    #[test]
    fn without_a_least_firmness_the_window_is_the_lower_tail_of_the_passing_times() {
        let passes: Vec<f64> = (1..=100).map(f64::from).collect();
        let window = raw_window(&passes, None);
        assert_eq!(window.not_before_s, None);
        assert!((window.not_beyond_s - 5.95).abs() < 1e-12);
        assert!((window.aim_s - 1.99).abs() < 1e-12);
        assert!(probability_of_passing(&passes, window.not_beyond_s) >= 0.95);
    }

    #[test]
    fn the_aim_balances_both_probabilities() {
        let passes: Vec<f64> = (0..1000).map(|i| 100.0 + f64::from(i) * 0.1).collect();
        let firm: Vec<f64> = (0..1000).map(|i| 50.0 + f64::from(i) * 0.1).collect();
        let window = raw_window(&passes, Some(&firm));
        let pass = probability_of_passing(&passes, window.aim_s);
        let hold = probability_of_firmness(&firm, window.aim_s);
        assert!((pass - hold).abs() < 2e-3, "{pass} {hold}");
        for time in [window.aim_s - 5.0, window.aim_s + 5.0] {
            let worse =
                probability_of_passing(&passes, time).min(probability_of_firmness(&firm, time));
            assert!(worse <= pass.min(hold) + 1e-12);
        }
    }
}
