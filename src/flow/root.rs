//! One bracketed root finder for the flow curves that have no closed inverse.

/// More halvings than a double has bits: the search always ends.
const MOST_STEPS: usize = 200;
/// A Newton step as short as this ends the search: the step after it would be about its
/// square, which is under the rounding of a double. The functions here are logarithms of
/// rates and stresses, whose slope hardly changes over so short a way.
const LAST_NEWTON_STEP: f64 = 3e-8;

/// A function's value and slope at one place.
pub(super) struct Sample {
    pub value: f64,
    pub slope: f64,
}

/// The root of an increasing function between `low` and `high`, looked for from `start`.
///
/// Newton's step where it stays inside the bracket and at least halves the step before
/// last, else a halving of the bracket (W. H. Press et al., Numerical Recipes, 3rd ed.,
/// 2007, section 9.4, describe the same safeguard). The caller warrants the bracket, so
/// that nothing can fail in the middle of a Monte Carlo run; a good start only saves time.
pub(super) fn increasing_root(
    mut low: f64,
    mut high: f64,
    start: f64,
    mut function: impl FnMut(f64) -> Sample,
) -> f64 {
    let mut place = if start > low && start < high {
        start
    } else {
        0.5 * (low + high)
    };
    let mut step = high - low;
    let mut step_before = step;
    for _ in 0..MOST_STEPS {
        let Sample { value, slope } = function(place);
        if value == 0.0 {
            return place;
        }
        if value > 0.0 {
            high = place;
        } else {
            low = place;
        }
        let newton = place - value / slope;
        let inside = newton > low && newton < high;
        let is_newton = inside && (newton - place).abs() <= 0.5 * step_before.abs();
        let next = if is_newton {
            newton
        } else {
            0.5 * (low + high)
        };
        step_before = step;
        step = next - place;
        place = next;
        let ends_here = if is_newton {
            LAST_NEWTON_STEP
        } else {
            2.0 * f64::EPSILON * place.abs().max(1.0)
        };
        if step.abs() <= ends_here {
            return place;
        }
    }
    place
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_root_is_found_where_newton_alone_runs_away() {
        // atan has its root at zero; Newton from 5 diverges (textbook example, from memory)
        for start in [5.0, -2.9, 100.0] {
            let root = increasing_root(-3.0, 13.0, start, |x| Sample {
                value: f64::atan(x),
                slope: 1.0 / (1.0 + x * x),
            });
            assert!(root.abs() < 1e-12, "{start}: {root:e}");
        }
    }

    #[test]
    fn a_cube_root_is_found() {
        for start in [1.0, 1.9, 1e-3] {
            let root = increasing_root(0.0, 2.0, start, |x| Sample {
                value: x * x * x - 2.0,
                slope: 3.0 * x * x,
            });
            assert_relative_eq!(root, 2f64.cbrt(), max_relative = 1e-15);
        }
    }
}
