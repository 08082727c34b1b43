//! What is known of one syringe's set time.

/// A syringe: after which time it was not set yet, and by which it was.
///
/// # Equation
/// `after <= t_set <= by`; `after` 0: nothing known from below; `by` infinite: not set when last
/// looked at; both equal: the set time itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SetTimeObservation {
    /// Latest time at which it was not set, in s; 0 where none.
    pub after_s: f64,
    /// Earliest time at which it was set, in s; infinite where none.
    pub by_s: f64,
    /// How many syringes this stands for.
    pub count: f64,
}

impl SetTimeObservation {
    /// Set when looked at.
    #[must_use]
    pub const fn set_by(by_s: f64) -> Self {
        Self::between(0.0, by_s)
    }

    /// Not set when looked at.
    #[must_use]
    pub const fn not_set_at(after_s: f64) -> Self {
        Self::between(after_s, f64::INFINITY)
    }

    /// Not set at one time, set at a later one.
    #[must_use]
    pub const fn between(after_s: f64, by_s: f64) -> Self {
        Self {
            after_s,
            by_s,
            count: 1.0,
        }
    }

    /// Seen to set at a time.
    #[must_use]
    pub const fn at(time_s: f64) -> Self {
        Self::between(time_s, time_s)
    }

    /// The same for several syringes.
    #[must_use]
    pub const fn times(self, count: f64) -> Self {
        Self { count, ..self }
    }

    /// Whether the set time itself is known.
    #[must_use]
    pub fn is_exact(&self) -> bool {
        self.after_s == self.by_s
    }

    /// Whether it says something from below.
    #[must_use]
    pub fn has_lower(&self) -> bool {
        self.after_s > 0.0
    }

    /// Whether it says something from above.
    #[must_use]
    pub fn has_upper(&self) -> bool {
        self.by_s.is_finite()
    }

    /// Whether it says anything at all.
    #[must_use]
    pub fn says_something(&self) -> bool {
        self.has_lower() || self.has_upper()
    }
}
