//! How far values reach: what an axis must take in.

use super::axis::AxisKind;

/// The least and the greatest of some values.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Extent {
    ends: Option<(f64, f64)>,
}

impl Extent {
    /// What is not finite is passed over.
    pub(super) fn add(&mut self, value: f64) {
        if value.is_finite() {
            self.ends = Some(match self.ends {
                Some((low, high)) => (low.min(value), high.max(value)),
                None => (value, value),
            });
        }
    }

    /// Of all the finite values.
    pub(super) fn of(values: impl Iterator<Item = f64>) -> Self {
        let mut extent = Extent::default();
        values.for_each(|value| extent.add(value));
        extent
    }

    pub(super) fn ends(self) -> Option<(f64, f64)> {
        self.ends
    }

    /// These widened by others, but by no more than a third of their own span an end, so that
    /// a curve that runs away or a wide band does not press the points together.
    pub(super) fn ends_with(self, others: Extent, kind: AxisKind) -> Option<(f64, f64)> {
        let (Some((low, high)), Some((other_low, other_high))) = (self.ends, others.ends) else {
            return self.ends.or(others.ends);
        };
        let (least, most) = match kind {
            AxisKind::Linear => {
                let spare = (high - low).max(0.2 * high.abs()) / 3.0;
                (low - spare, high + spare)
            }
            AxisKind::Log => {
                let spare = (high / low).max(4.0).cbrt();
                (low / spare, high * spare)
            }
        };
        Some((
            low.min(other_low.max(least)),
            high.max(other_high.min(most)),
        ))
    }
}
