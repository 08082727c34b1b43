//! Quantiles of sorted values.

/// Quantile of sorted values by linear interpolation between order statistics.
///
/// # Equation
/// `h = (n-1) p`, `q = x_floor(h) + (h - floor(h)) (x_floor(h)+1 - x_floor(h))`
///
/// # Source
/// R. Hyndman, Y. Fan, Am. Stat. 50 (1996) 361, definition 7, doi:10.1080/00031305.1996.10473566.
#[must_use]
pub fn quantile(sorted: &[f64], probability: f64) -> f64 {
    let (Some(first), Some(last)) = (sorted.first(), sorted.last()) else {
        return f64::NAN;
    };
    let place = (sorted.len() - 1) as f64 * probability;
    let below = place.floor() as usize;
    match (sorted.get(below), sorted.get(below + 1)) {
        (Some(low), Some(high)) if low.is_finite() && high.is_finite() => {
            low + (place - place.floor()) * (high - low)
        }
        (Some(low), Some(high)) => {
            if place > place.floor() {
                *high
            } else {
                *low
            }
        }
        (Some(low), None) => *low,
        (None, _) => {
            if probability < 0.5 {
                *first
            } else {
                *last
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// R, quantile(c(1, 2, 4, 8), c(.25, .5, .9)) gives 1.75, 3.00, 6.80.
    #[test]
    fn quantiles_are_those_of_r() {
        let sorted = [1.0, 2.0, 4.0, 8.0];
        for (p, expected) in [(0.25, 1.75), (0.5, 3.0), (0.9, 6.8)] {
            assert_relative_eq!(quantile(&sorted, p), expected, max_relative = 1e-12);
        }
    }
}
