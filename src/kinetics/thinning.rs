//! Shear thinning and yield stress of the gel, and how they come with setting.

use serde::{Deserialize, Serialize};

/// How the flow index runs while the gel sets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, Default)]
#[serde(rename_all = "kebab-case")]
pub enum FlowIndexCourse {
    /// From 1 (unset plasma is Newtonian) to the stated index when all is set.
    #[default]
    WithSetting,
    /// The stated index from the first moment on.
    Constant,
}

/// Flow curve of the gel about the shear rate at which readings were taken: a power law, and where
/// the bench shows one, a yield stress.
///
/// # Equation
/// `eta(g, a) = P(a) { s(a) g_ref/g + [1 - s(a)] (g/g_ref)^(n(a) - 1) }`, `n(a) = 1 - (1 - n_inf) a`
/// with setting, or `n_inf` throughout, and `s(a) = s_inf a`. That is a Herschel-Bulkley gel
/// `tau = tau_y + K g^n` with `tau_y = s P g_ref` and `K = (1 - s) P g_ref^(1-n)`: the reading `P`
/// is the viscosity at `g_ref` at every conversion, and `s` is the share of the stress there that
/// the gel bears at rest.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | n_inf | `flow_index_plateau` | 1 |
/// | s_inf | `yield_share_plateau` | 1 |
/// | g_ref | `reference_shear_rate_per_s` | 1/s |
///
/// # Valid for
/// Shear rates within or near those measured; a needle shears a thousand times faster than most
/// rheometers, and the answer says so. Unset plasma has no yield stress, and index 1. Beside a yield
/// stress it matters which shear rate is the reference: half set, the viscosity follows the firmness
/// law at that rate and near it, not at every rate.
///
/// # Source
/// Power law: A. de Waele, Oil Color Chem. Assoc. J. 6 (1923) 33; W. Ostwald, Kolloid-Z. 36 (1925)
/// 99 (from memory). Yield stress: W. Herschel, R. Bulkley, Kolloid-Z. 39 (1926) 291 (from memory).
/// The course of index and share with conversion: common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ShearThinning {
    /// Flow index of the fully set gel; 1 is Newtonian.
    pub flow_index_plateau: f64,
    /// Shear rate at which the reading holds, in 1/s.
    pub reference_shear_rate_per_s: f64,
    /// How the index runs while the gel sets.
    pub course: FlowIndexCourse,
    /// Share of the stress at the reference shear rate that the fully set gel bears at rest; 0 for a
    /// gel without a yield stress.
    pub yield_share_plateau: f64,
}

impl ShearThinning {
    /// Newtonian at every conversion.
    pub const NEWTONIAN: Self = Self {
        flow_index_plateau: 1.0,
        reference_shear_rate_per_s: 1.0,
        course: FlowIndexCourse::Constant,
        yield_share_plateau: 0.0,
    };

    /// Flow index at a conversion.
    #[must_use]
    pub fn flow_index(&self, fraction: f64) -> f64 {
        match self.course {
            FlowIndexCourse::WithSetting => 1.0 - (1.0 - self.flow_index_plateau) * fraction,
            FlowIndexCourse::Constant => self.flow_index_plateau,
        }
    }

    /// Share of the stress at the reference shear rate that the gel bears at rest.
    #[must_use]
    pub fn yield_share(&self, fraction: f64) -> f64 {
        self.yield_share_plateau * fraction
    }

    /// Yield stress `tau_y = s P g_ref` of a gel whose viscosity at the reference rate is `P`, in Pa.
    #[must_use]
    pub fn yield_stress_pa(&self, viscosity_pa_s: f64, fraction: f64) -> f64 {
        self.yield_share(fraction) * viscosity_pa_s * self.reference_shear_rate_per_s
    }

    /// Consistency `K = (1 - s) P g_ref^(1-n)` of a gel whose viscosity at the reference rate is `P`,
    /// in Pa.s^n.
    #[must_use]
    pub fn consistency_pa_s_n(&self, viscosity_pa_s: f64, fraction: f64) -> f64 {
        (1.0 - self.yield_share(fraction))
            * viscosity_pa_s
            * self
                .reference_shear_rate_per_s
                .powf(1.0 - self.flow_index(fraction))
    }

    /// Viscosity at a shear rate over that at the reference shear rate, for the logarithm of the
    /// ratio of the two rates.
    ///
    /// # Example
    /// ```
    /// use heatset::kinetics::{FlowIndexCourse, ShearThinning};
    /// // a carbomer gel, fitted by Herschel-Bulkley to the curves of Dinkgreve et al. 2015, fig. 2:
    /// // tau_y 8.071 Pa, K 102.8 Pa.s^n, n 0.5229; at 0.1 1/s it bears 38.91 Pa, at 10 1/s 350.8 Pa
    /// let (yield_pa, consistency, index): (f64, f64, f64) = (8.071, 102.8, 0.5229);
    /// let stress_pa = |rate: f64| yield_pa + consistency * rate.powf(index);
    /// let gel = ShearThinning {
    ///     flow_index_plateau: index,
    ///     reference_shear_rate_per_s: 0.1,
    ///     course: FlowIndexCourse::WithSetting,
    ///     yield_share_plateau: yield_pa / stress_pa(0.1),
    /// };
    /// let ratio = gel.viscosity_ratio(1.0, 100_f64.ln());
    /// assert!((ratio - stress_pa(10.0) / stress_pa(0.1) / 100.0).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn viscosity_ratio(&self, fraction: f64, ln_shear_ratio: f64) -> f64 {
        let share = self.yield_share(fraction);
        let power = ((self.flow_index(fraction) - 1.0) * ln_shear_ratio).exp();
        share * (-ln_shear_ratio).exp() + (1.0 - share) * power
    }

    /// Whether the flow curve has the same shape at every conversion.
    #[must_use]
    pub fn is_constant(&self) -> bool {
        self.yield_share_plateau == 0.0
            && (self.course == FlowIndexCourse::Constant || self.flow_index_plateau == 1.0)
    }
}
