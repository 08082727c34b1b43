//! How a span of time is cut into steps.

use super::error::ConductionError;

/// How a span of time is cut into steps.
///
/// After a sudden change outside, the field changes fast and then ever slower, so equal accuracy
/// asks for steps in proportion to the time gone by. Their length doubles after every
/// `steps_per_doubling` steps, which needs one factorisation a doubling.
///
/// # Valid for
/// With the default of 12 the temperatures of a 1 to 5 mL barrel are within 0.01 K of the exact solution in
/// time from the first second on (22 °C into 90 °C at 150 W/m2K, about 120 steps for six minutes).
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Steps {
    /// Steps that double in length.
    Graded {
        /// First step; without one, the time that heat takes to cross the outermost cell.
        first_step_s: Option<f64>,
        /// Steps of one length before the next length.
        steps_per_doubling: usize,
    },
    /// Steps of one length.
    Equal {
        /// How many.
        count: usize,
    },
}

impl Default for Steps {
    fn default() -> Self {
        Self::Graded {
            first_step_s: None,
            steps_per_doubling: 12,
        }
    }
}

impl Steps {
    /// The lengths that fill a span exactly.
    pub(super) fn ladder(
        self,
        span_s: f64,
        usual_first_step_s: f64,
    ) -> Result<StepLadder, ConductionError> {
        match self {
            Self::Equal { count } if count > 0 => Ok(StepLadder {
                step_s: span_s / count as f64,
                steps_per_doubling: count,
                left_on_rung: count,
                left: count,
            }),
            Self::Graded {
                first_step_s,
                steps_per_doubling,
            } if steps_per_doubling > 0
                && first_step_s.is_none_or(|step_s| step_s.is_finite() && step_s > 0.0) =>
            {
                let first_step_s = first_step_s.unwrap_or(usual_first_step_s);
                Ok(StepLadder::graded(span_s, first_step_s, steps_per_doubling))
            }
            Self::Equal { count } => Err(ConductionError::Steps {
                count,
                first_step_s: f64::NAN,
            }),
            Self::Graded {
                first_step_s,
                steps_per_doubling,
            } => Err(ConductionError::Steps {
                count: steps_per_doubling,
                first_step_s: first_step_s.unwrap_or(f64::NAN),
            }),
        }
    }
}

/// The steps of one span, first to last.
#[derive(Debug, Clone)]
pub(super) struct StepLadder {
    step_s: f64,
    steps_per_doubling: usize,
    left_on_rung: usize,
    left: usize,
}

impl StepLadder {
    /// As many whole rungs as fit, a last rung begun, and the first step shortened until the sum is
    /// the span: no odd step is left over at the end.
    fn graded(span_s: f64, first_step_s: f64, steps_per_doubling: usize) -> Self {
        let per_rung = steps_per_doubling as f64;
        let wanted = span_s / first_step_s;
        let mut rungs = 0;
        let mut rung_step = 1.0;
        let mut covered = 0.0;
        while covered + per_rung * rung_step < wanted && rungs < 1000 {
            covered += per_rung * rung_step;
            rung_step *= 2.0;
            rungs += 1;
        }
        let on_last = ((wanted - covered) / rung_step).ceil().clamp(1.0, per_rung);
        Self {
            step_s: span_s / (covered + on_last * rung_step),
            steps_per_doubling,
            left_on_rung: steps_per_doubling,
            left: rungs * steps_per_doubling + on_last as usize,
        }
    }
}

impl Iterator for StepLadder {
    type Item = f64;

    fn next(&mut self) -> Option<f64> {
        if self.left == 0 {
            return None;
        }
        if self.left_on_rung == 0 {
            self.step_s *= 2.0;
            self.left_on_rung = self.steps_per_doubling;
        }
        self.left -= 1;
        self.left_on_rung -= 1;
        Some(self.step_s)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_steps_fill_every_span_and_start_no_longer_than_asked() {
        for span_s in [0.01, 0.1, 0.37, 1.2, 1.200001, 3.6, 60.0, 360.0, 86_400.0] {
            for per_doubling in [1, 6, 12] {
                let steps = Steps::Graded {
                    first_step_s: Some(0.1),
                    steps_per_doubling: per_doubling,
                };
                let lengths: Vec<f64> = steps.ladder(span_s, f64::NAN).unwrap().collect();
                assert_relative_eq!(lengths.iter().sum::<f64>(), span_s, max_relative = 1e-13);
                assert!(lengths[0] <= 0.1 * (1.0 + 1e-12));
            }
        }
    }

    #[test]
    fn the_length_doubles_after_the_stated_number_of_steps() {
        let steps = Steps::Graded {
            first_step_s: Some(1.0),
            steps_per_doubling: 3,
        };
        // 3 x 1 + 3 x 2 + 2 x 4 = 17.
        let lengths: Vec<f64> = steps.ladder(17.0, 9.0).unwrap().collect();
        assert_eq!(lengths, [1.0, 1.0, 1.0, 2.0, 2.0, 2.0, 4.0, 4.0]);
    }
}
