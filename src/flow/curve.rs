//! Flow curves: how shear stress answers shear rate.

use serde::Serialize;

use super::carreau::CarreauYasuda;
use super::error::{FlowError, FlowQuantity};

/// A flow curve.
///
/// The fields are open to be read and matched; make one through the functions that are
/// named after the curves, or pass it through [`FlowCurve::checked`], so that everything
/// after it can do without refusals.
///
/// # Source
/// The forms as in R. P. Chhabra, J. F. Richardson, Non-Newtonian Flow and Applied
/// Rheology, 2nd ed., 2008, chapter 1.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "curve")]
#[non_exhaustive]
pub enum FlowCurve {
    /// tau = eta g.
    Newtonian {
        /// Viscosity, eta.
        viscosity_pa_s: f64,
    },
    /// tau = K g^n.
    PowerLaw {
        /// Consistency, K: the viscosity at 1 1/s.
        consistency_pa_s_n: f64,
        /// Flow index, n: under 1 thins with shear, over 1 thickens.
        flow_index: f64,
    },
    /// tau = tau_y + mu g.
    Bingham {
        /// Yield stress, tau_y.
        yield_stress_pa: f64,
        /// Plastic viscosity, mu.
        plastic_viscosity_pa_s: f64,
    },
    /// tau = tau_y + K g^n.
    HerschelBulkley {
        /// Yield stress, tau_y.
        yield_stress_pa: f64,
        /// Consistency, K.
        consistency_pa_s_n: f64,
        /// Flow index, n.
        flow_index: f64,
    },
    /// eta = eta_inf + (eta_0 - eta_inf) [1 + (lambda g)^a]^((n-1)/a).
    CarreauYasuda(CarreauYasuda),
}

impl FlowCurve {
    /// A Newtonian curve.
    ///
    /// # Errors
    /// [`FlowError`] for a viscosity that is not finite and above zero.
    pub fn newtonian(viscosity_pa_s: f64) -> Result<Self, FlowError> {
        Self::Newtonian { viscosity_pa_s }.checked()
    }

    /// A power law.
    ///
    /// # Errors
    /// [`FlowError`] for a consistency or a flow index that is not finite and above zero.
    pub fn power_law(consistency_pa_s_n: f64, flow_index: f64) -> Result<Self, FlowError> {
        Self::PowerLaw {
            consistency_pa_s_n,
            flow_index,
        }
        .checked()
    }

    /// A power law through a viscosity that was read at one shear rate:
    /// eta = eta_ref (g / g_ref)^(n-1).
    ///
    /// # Errors
    /// [`FlowError`] for a value that is not finite and above zero.
    ///
    /// # Example
    /// ```
    /// use heatset::flow::FlowCurve;
    /// let curve = FlowCurve::power_law_through(5.0, 10.0, 0.3)?;
    /// assert!((curve.viscosity_pa_s(10.0) - 5.0).abs() < 1e-12);
    /// # Ok::<(), heatset::flow::FlowError>(())
    /// ```
    pub fn power_law_through(
        viscosity_pa_s: f64,
        reference_shear_rate_per_s: f64,
        flow_index: f64,
    ) -> Result<Self, FlowError> {
        let viscosity_pa_s = FlowQuantity::Viscosity.positive(viscosity_pa_s)?;
        let rate_per_s = FlowQuantity::ShearRate.positive(reference_shear_rate_per_s)?;
        let flow_index = FlowQuantity::FlowIndex.positive(flow_index)?;
        Self::power_law(
            viscosity_pa_s * rate_per_s.powf(1.0 - flow_index),
            flow_index,
        )
    }

    /// A Bingham curve.
    ///
    /// # Errors
    /// [`FlowError`] for a negative yield stress or a viscosity that is not above zero.
    pub fn bingham(yield_stress_pa: f64, plastic_viscosity_pa_s: f64) -> Result<Self, FlowError> {
        Self::Bingham {
            yield_stress_pa,
            plastic_viscosity_pa_s,
        }
        .checked()
    }

    /// A Herschel-Bulkley curve.
    ///
    /// # Errors
    /// [`FlowError`] for a negative yield stress, or a consistency or a flow index that is
    /// not above zero.
    pub fn herschel_bulkley(
        yield_stress_pa: f64,
        consistency_pa_s_n: f64,
        flow_index: f64,
    ) -> Result<Self, FlowError> {
        Self::HerschelBulkley {
            yield_stress_pa,
            consistency_pa_s_n,
            flow_index,
        }
        .checked()
    }

    /// The curve itself, where its values can be used.
    ///
    /// # Errors
    /// [`FlowError`] names the value that cannot.
    pub fn checked(self) -> Result<Self, FlowError> {
        match self {
            Self::Newtonian { viscosity_pa_s } => {
                FlowQuantity::Viscosity.positive(viscosity_pa_s)?;
            }
            Self::PowerLaw {
                consistency_pa_s_n,
                flow_index,
            } => {
                FlowQuantity::Consistency.positive(consistency_pa_s_n)?;
                FlowQuantity::FlowIndex.positive(flow_index)?;
            }
            Self::Bingham {
                yield_stress_pa,
                plastic_viscosity_pa_s,
            } => {
                FlowQuantity::YieldStress.not_negative(yield_stress_pa)?;
                FlowQuantity::Viscosity.positive(plastic_viscosity_pa_s)?;
            }
            Self::HerschelBulkley {
                yield_stress_pa,
                consistency_pa_s_n,
                flow_index,
            } => {
                FlowQuantity::YieldStress.not_negative(yield_stress_pa)?;
                FlowQuantity::Consistency.positive(consistency_pa_s_n)?;
                FlowQuantity::FlowIndex.positive(flow_index)?;
            }
            Self::CarreauYasuda(curve) => curve.check()?,
        }
        Ok(self)
    }

    /// Shear stress at a shear rate.
    ///
    /// # Equation
    /// tau(g) of the curve, as written at each variant of [`FlowCurve`].
    ///
    /// | symbol | field | unit |
    /// |---|---|---|
    /// | tau | returned | Pa |
    /// | g | `shear_rate_per_s` | 1/s |
    ///
    /// # Valid for
    /// Shear rates above zero; a curve is as good as the rates that it was measured at.
    ///
    /// # Source
    /// Chhabra & Richardson 2008, chapter 1.
    ///
    /// # Example
    /// ```
    /// use heatset::flow::FlowCurve;
    /// // Chhabra & Richardson, Example 3.1: 3 Pa.s^0.5, n 0.5; 526.4 1/s at the wall
    /// let curve = FlowCurve::power_law(3.0, 0.5)?;
    /// assert!((curve.shear_stress_pa(526.4) - 68.83).abs() < 0.01);
    /// # Ok::<(), heatset::flow::FlowError>(())
    /// ```
    #[must_use]
    pub fn shear_stress_pa(&self, shear_rate_per_s: f64) -> f64 {
        match *self {
            Self::Newtonian { viscosity_pa_s } => viscosity_pa_s * shear_rate_per_s,
            Self::PowerLaw {
                consistency_pa_s_n,
                flow_index,
            } => consistency_pa_s_n * shear_rate_per_s.powf(flow_index),
            Self::Bingham {
                yield_stress_pa,
                plastic_viscosity_pa_s,
            } => yield_stress_pa + plastic_viscosity_pa_s * shear_rate_per_s,
            Self::HerschelBulkley {
                yield_stress_pa,
                consistency_pa_s_n,
                flow_index,
            } => yield_stress_pa + consistency_pa_s_n * shear_rate_per_s.powf(flow_index),
            Self::CarreauYasuda(curve) => curve.viscosity_pa_s(shear_rate_per_s) * shear_rate_per_s,
        }
    }

    /// Apparent viscosity, stress over rate, at a shear rate.
    ///
    /// # Equation
    /// eta(g) = tau(g) / g
    ///
    /// | symbol | field | unit |
    /// |---|---|---|
    /// | eta | returned | Pa s |
    /// | g | `shear_rate_per_s` | 1/s |
    ///
    /// # Valid for
    /// Shear rates above zero.
    ///
    /// # Source
    /// Chhabra & Richardson 2008, chapter 1; Carreau-Yasuda: K. Yasuda, R. C. Armstrong,
    /// R. E. Cohen, Rheologica Acta 20, 1981, 163, from memory.
    ///
    /// # Example
    /// ```
    /// use heatset::flow::FlowCurve;
    /// let water = FlowCurve::newtonian(1.0016e-3)?;
    /// assert_eq!(water.viscosity_pa_s(1000.0), 1.0016e-3);
    /// # Ok::<(), heatset::flow::FlowError>(())
    /// ```
    #[must_use]
    pub fn viscosity_pa_s(&self, shear_rate_per_s: f64) -> f64 {
        match *self {
            Self::Newtonian { viscosity_pa_s } => viscosity_pa_s,
            Self::PowerLaw {
                consistency_pa_s_n,
                flow_index,
            } => consistency_pa_s_n * shear_rate_per_s.powf(flow_index - 1.0),
            Self::Bingham { .. } | Self::HerschelBulkley { .. } => {
                self.shear_stress_pa(shear_rate_per_s) / shear_rate_per_s
            }
            Self::CarreauYasuda(curve) => curve.viscosity_pa_s(shear_rate_per_s),
        }
    }

    /// Stress below which nothing flows; zero for a curve without a yield stress.
    #[must_use]
    pub const fn yield_stress_pa(&self) -> f64 {
        match *self {
            Self::Bingham {
                yield_stress_pa, ..
            }
            | Self::HerschelBulkley {
                yield_stress_pa, ..
            } => yield_stress_pa,
            Self::Newtonian { .. } | Self::PowerLaw { .. } | Self::CarreauYasuda(_) => 0.0,
        }
    }
}
