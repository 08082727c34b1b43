//! Shear thinning of the gel, and how it comes with setting.

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

/// Power-law shear thinning about the shear rate at which readings were taken.
///
/// # Equation
/// `eta(g, a) = P(a) (g/g_ref)^(n(a) - 1)`, `n(a) = 1 - (1 - n_inf) a` with setting, or `n_inf`
/// throughout.
///
/// | symbol | field | unit |
/// |---|---|---|
/// | n_inf | `flow_index_plateau` | 1 |
/// | g_ref | `reference_shear_rate_per_s` | 1/s |
///
/// # Valid for
/// Shear rates within or near those measured; a needle shears a thousand times faster than most
/// rheometers, and the answer says so.
///
/// # Source
/// Power law: A. de Waele, Oil Color Chem. Assoc. J. 6 (1923) 33; W. Ostwald, Kolloid-Z. 36 (1925)
/// 99 (from memory). The course of the index with conversion: common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ShearThinning {
    /// Flow index of the fully set gel; 1 is Newtonian.
    pub flow_index_plateau: f64,
    /// Shear rate at which the reading holds, in 1/s.
    pub reference_shear_rate_per_s: f64,
    /// How the index runs while the gel sets.
    pub course: FlowIndexCourse,
}

impl ShearThinning {
    /// Newtonian at every conversion.
    pub const NEWTONIAN: Self = Self {
        flow_index_plateau: 1.0,
        reference_shear_rate_per_s: 1.0,
        course: FlowIndexCourse::Constant,
    };

    /// Flow index at a conversion.
    #[must_use]
    pub fn flow_index(&self, fraction: f64) -> f64 {
        match self.course {
            FlowIndexCourse::WithSetting => 1.0 - (1.0 - self.flow_index_plateau) * fraction,
            FlowIndexCourse::Constant => self.flow_index_plateau,
        }
    }

    /// Consistency `K = P g_ref^(1-n)` of a gel whose viscosity at the reference rate is `P`, in
    /// Pa.s^n.
    #[must_use]
    pub fn consistency_pa_s_n(&self, viscosity_pa_s: f64, fraction: f64) -> f64 {
        viscosity_pa_s
            * self
                .reference_shear_rate_per_s
                .powf(1.0 - self.flow_index(fraction))
    }

    /// Whether the index is the same at every conversion.
    #[must_use]
    pub fn is_constant(&self) -> bool {
        self.course == FlowIndexCourse::Constant || self.flow_index_plateau == 1.0
    }
}
