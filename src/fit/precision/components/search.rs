//! The maximum of the restricted likelihood, and how far it is flat.

use super::likelihood::{Reduced, Slope, solved};
use crate::fit::precision::error::PrecisionError;

const MOST_STEPS: usize = 400;
/// Largest gain of the likelihood that a next step may promise at the end.
const PROMISE: f64 = 1e-11;
/// Half the 95 % point of chi squared with one degree of freedom.
const FALL: f64 = 1.920_729_410_347_062;
/// A variance this many times that of the readings is without limit.
const WITHOUT_LIMIT: f64 = 1e6;

pub(super) struct Maximum {
    pub variances: Vec<f64>,
    pub log_likelihood: f64,
    pub iterations: usize,
}

/// Fisher's scoring with steps halved until they gain, on the variances that are not held at zero; one
/// component may be kept at a value.
pub(super) fn maximise(
    reduced: &Reduced,
    kept: Option<(usize, f64)>,
) -> Result<Maximum, PrecisionError> {
    let size = reduced.factors() + 1;
    let mut start = vec![1.0 / size as f64; size];
    if let Some((number, value)) = kept {
        start[number] = value;
    }
    maximise_from(reduced, kept, start)
}

fn maximise_from(
    reduced: &Reduced,
    kept: Option<(usize, f64)>,
    start: Vec<f64>,
) -> Result<Maximum, PrecisionError> {
    let size = start.len();
    let mut variances = start;
    let mut here = reduced.slope(&variances).ok_or(PrecisionError::NoScatter)?;
    for iteration in 0..MOST_STEPS {
        let is_free = |number: usize| {
            kept.is_none_or(|(held, _)| held != number)
                && (variances[number] > 0.0 || here.gradient[number] > 0.0)
        };
        let free: Vec<usize> = (0..size).filter(|number| is_free(*number)).collect();
        let Some(step) = scoring_step(&here, &free, size) else {
            return Err(PrecisionError::NotConverged {
                iterations: iteration,
            });
        };
        let promised: f64 = free
            .iter()
            .zip(&step)
            .map(|(number, d)| {
                // A step that would leave through zero gains only as far as zero.
                let inside = if variances[*number] > 0.0 {
                    d.max(-variances[*number])
                } else {
                    *d
                };
                (here.gradient[*number] * inside).max(0.0)
            })
            .sum();
        if promised < PROMISE {
            return Ok(Maximum {
                variances,
                log_likelihood: here.log_likelihood,
                iterations: iteration,
            });
        }
        let mut length = 1.0;
        let mut moved = None;
        for _ in 0..40 {
            let mut trial = variances.clone();
            for (number, d) in free.iter().zip(&step) {
                let target = variances[*number] + length * d;
                trial[*number] = if *number == size - 1 {
                    // The rest never reaches zero.
                    target.max(variances[*number] * 1e-3)
                } else {
                    target.max(0.0)
                };
            }
            if let Some(there) = reduced.slope(&trial)
                && there.log_likelihood > here.log_likelihood
            {
                moved = Some((trial, there));
                break;
            }
            length *= 0.5;
        }
        match moved {
            Some((trial, there)) => {
                variances = trial;
                here = there;
            }
            // Nothing gains any more: as far as the arithmetic goes.
            None if promised < 1e-6 => {
                return Ok(Maximum {
                    variances,
                    log_likelihood: here.log_likelihood,
                    iterations: iteration,
                });
            }
            None => {
                return Err(PrecisionError::NotConverged {
                    iterations: iteration,
                });
            }
        }
    }
    Err(PrecisionError::NotConverged {
        iterations: MOST_STEPS,
    })
}

fn scoring_step(here: &Slope, free: &[usize], size: usize) -> Option<Vec<f64>> {
    let n = free.len();
    let mut matrix = Vec::with_capacity(n * n);
    for a in free {
        for b in free {
            matrix.push(here.information[a * size + b]);
        }
    }
    let right: Vec<f64> = free.iter().map(|a| here.gradient[*a]).collect();
    solved(&matrix, &right)
}

/// Values of one variance between which the profile of the likelihood lies within 1.92 of its maximum.
pub(super) fn profile_interval(
    reduced: &Reduced,
    number: usize,
    best: &[f64],
    log_likelihood: f64,
) -> (f64, Option<f64>) {
    let estimate = best[number];
    let fall = |value: f64| -> Option<f64> {
        let mut start = best.to_vec();
        start[number] = value;
        let found = maximise_from(reduced, Some((number, value)), start).ok()?;
        Some(log_likelihood - found.log_likelihood - FALL)
    };
    let is_rest = number == reduced.factors();
    let lower = if estimate <= 0.0 {
        0.0
    } else {
        let least = if is_rest { estimate * 1e-6 } else { 0.0 };
        match fall(least) {
            Some(f) if f > 0.0 => root(&fall, estimate, least),
            _ if is_rest => least,
            _ => 0.0,
        }
    };
    let mut high = (2.0 * estimate).max(0.01);
    while fall(high).is_some_and(|f| f < 0.0) && high < WITHOUT_LIMIT {
        high *= 2.0;
    }
    let upper = (high < WITHOUT_LIMIT && fall(high).is_some_and(|f| f >= 0.0))
        .then(|| root(&fall, estimate, high));
    (lower, upper)
}

/// Bisection between a value within the interval and one outside.
fn root(fall: &impl Fn(f64) -> Option<f64>, inside: f64, outside: f64) -> f64 {
    let (mut inside, mut outside) = (inside, outside);
    for _ in 0..48 {
        let middle = 0.5 * (inside + outside);
        match fall(middle) {
            Some(f) if f < 0.0 => inside = middle,
            _ => outside = middle,
        }
        if (outside - inside).abs() <= 1e-9 * outside.abs().max(1e-12) {
            break;
        }
    }
    0.5 * (inside + outside)
}
