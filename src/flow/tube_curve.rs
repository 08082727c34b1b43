//! What a curve must tell so that its flow through a needle can be computed.

use super::curve::FlowCurve;
use super::pipe::{WallState, rabinowitsch_ratio};
use super::rabinowitsch::tube_index;
use super::reynolds::{LAMINAR_LIMIT_REYNOLDS, ryan_johnson_critical_reynolds};
use super::yielding::Yielding;

/// A curve whose flow through a round tube can be computed: a [`FlowCurve`] with its closed
/// forms, or a [`super::MeasuredCurve`].
///
/// With G = Q/(pi R^3) the wall does not depend on the tube's size, so that a curve has to
/// answer for one number only.
pub trait TubeCurve {
    /// Shear stress at a shear rate.
    fn shear_stress_pa(&self, shear_rate_per_s: f64) -> f64;

    /// Stress below which nothing flows; zero where the curve has none.
    fn yield_stress_pa(&self) -> f64;

    /// Stress and shear rate at the wall for a G = Q/(pi R^3).
    fn wall_at(&self, reduced_flow_per_s: f64) -> WallState;

    /// G = Q/(pi R^3) for a stress at the wall above the yield stress.
    fn reduced_flow_per_s(&self, wall_shear_stress_pa: f64) -> f64;

    /// Metzner-Reed number up to which the flow is laminar; see
    /// [`super::reynolds::critical_reynolds`].
    fn critical_reynolds(
        &self,
        _radius_m: f64,
        _density_kg_per_m3: f64,
        reduced_flow_per_s: f64,
        wall: WallState,
    ) -> f64 {
        ryan_johnson_critical_reynolds(tube_index(wall.shear_rate_per_s, reduced_flow_per_s))
    }
}

impl FlowCurve {
    /// The curve as one with a yield stress, where it is written as one.
    const fn yielding(&self) -> Option<Yielding> {
        match *self {
            Self::Bingham {
                yield_stress_pa,
                plastic_viscosity_pa_s,
            } => Some(Yielding {
                yield_stress_pa,
                consistency_pa_s_n: plastic_viscosity_pa_s,
                flow_index: 1.0,
            }),
            Self::HerschelBulkley {
                yield_stress_pa,
                consistency_pa_s_n,
                flow_index,
            } => Some(Yielding {
                yield_stress_pa,
                consistency_pa_s_n,
                flow_index,
            }),
            Self::Newtonian { .. } | Self::PowerLaw { .. } | Self::CarreauYasuda(_) => None,
        }
    }
}

impl TubeCurve for FlowCurve {
    fn shear_stress_pa(&self, shear_rate_per_s: f64) -> f64 {
        Self::shear_stress_pa(self, shear_rate_per_s)
    }

    fn yield_stress_pa(&self) -> f64 {
        Self::yield_stress_pa(self)
    }

    fn wall_at(&self, reduced_flow_per_s: f64) -> WallState {
        if let Some(curve) = self.yielding() {
            return curve.wall_state(reduced_flow_per_s);
        }
        let apparent_per_s = 4.0 * reduced_flow_per_s;
        let shear_rate_per_s = match self {
            Self::PowerLaw { flow_index, .. } => rabinowitsch_ratio(*flow_index) * apparent_per_s,
            Self::CarreauYasuda(shape) => shape.wall_shear_rate_per_s(reduced_flow_per_s),
            _ => apparent_per_s,
        };
        WallState {
            shear_stress_pa: Self::shear_stress_pa(self, shear_rate_per_s),
            shear_rate_per_s,
        }
    }

    fn reduced_flow_per_s(&self, wall_shear_stress_pa: f64) -> f64 {
        if let Some(curve) = self.yielding() {
            return curve.reduced_flow_per_s(wall_shear_stress_pa);
        }
        match *self {
            Self::PowerLaw {
                consistency_pa_s_n,
                flow_index,
            } => {
                0.25 * (wall_shear_stress_pa / consistency_pa_s_n).powf(1.0 / flow_index)
                    / rabinowitsch_ratio(flow_index)
            }
            Self::CarreauYasuda(shape) => {
                shape.reduced_flow_per_s(shape.shear_rate_per_s(wall_shear_stress_pa))
            }
            _ => 0.25 * wall_shear_stress_pa / self.viscosity_pa_s(1.0),
        }
    }

    fn critical_reynolds(
        &self,
        radius_m: f64,
        density_kg_per_m3: f64,
        reduced_flow_per_s: f64,
        wall: WallState,
    ) -> f64 {
        if let Some(curve) = self.yielding() {
            return curve.critical_reynolds(radius_m, density_kg_per_m3);
        }
        match *self {
            Self::PowerLaw { flow_index, .. } => ryan_johnson_critical_reynolds(flow_index),
            Self::CarreauYasuda(_) => ryan_johnson_critical_reynolds(tube_index(
                wall.shear_rate_per_s,
                reduced_flow_per_s,
            )),
            _ => LAMINAR_LIMIT_REYNOLDS,
        }
    }
}
