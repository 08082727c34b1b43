//! How far what a limit drives falls short of what is asked, on logarithms: for draws by the
//! thousand, which ask that of one tube over and over.

use std::f64::consts::PI;

use super::pipe::{Tube, wall_shear_stress_pa};

/// Logarithms past this are all the same: a million million times as much, or as little.
const MOST: f64 = 28.0;

/// A flow that is asked of a tube, and the pressure there is for it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct LimitFlow {
    wall_stress_pa: f64,
    ln_wall_stress: f64,
    /// ln G, with G = Q/(pi R^3).
    ln_reduced_flow: f64,
}

/// A gel as a power law, or a Herschel-Bulkley curve, about a reference shear rate.
#[derive(Debug, Clone, Copy)]
pub(crate) struct LogCurve {
    /// Logarithm of the viscosity at the reference rate, in Pa s.
    pub(crate) ln_viscosity: f64,
    /// Flow index.
    pub(crate) flow_index: f64,
    /// Share of the stress at the reference rate that the gel bears at rest.
    pub(crate) yield_share: f64,
    /// Logarithm of the reference rate, in 1/s.
    pub(crate) ln_reference_rate: f64,
}

impl LimitFlow {
    /// For a flow through a tube under a pressure.
    pub(crate) fn new(tube: Tube, pressure_pa: f64, flow_rate_m3_per_s: f64) -> Self {
        let wall_stress_pa = wall_shear_stress_pa(tube, pressure_pa);
        Self {
            wall_stress_pa,
            ln_wall_stress: wall_stress_pa.ln(),
            ln_reduced_flow: (flow_rate_m3_per_s / (PI * tube.radius_m().powi(3))).ln(),
        }
    }

    /// Above zero where the flow asked for needs more pressure than there is, zero where it needs
    /// just that.
    ///
    /// # Equation
    /// Without a yield stress the logarithm of the wall stress that the flow needs over the one
    /// there is, `ln K + n ln[(3 + 1/n) G] - ln tau_w` with `ln K = ln P + (1-n) ln g_ref`; with one
    /// the logarithm of the flow asked for over the flow that tau_w drives, of
    /// [`super::pipe::wall_state`], both held within -28 and 28.
    pub(crate) fn shortfall(&self, curve: &LogCurve) -> f64 {
        let n = curve.flow_index;
        let power = 1.0 / n;
        let ln_consistency = curve.ln_viscosity + (1.0 - n) * curve.ln_reference_rate;
        if curve.yield_share <= 0.0 {
            let ln_wall_rate = (3.0 + power).ln() + self.ln_reduced_flow;
            return (ln_consistency + n * ln_wall_rate - self.ln_wall_stress).clamp(-MOST, MOST);
        }
        let yield_stress_pa =
            curve.yield_share * (curve.ln_viscosity + curve.ln_reference_rate).exp();
        let plug = yield_stress_pa / self.wall_stress_pa;
        if plug >= 1.0 || plug.is_nan() {
            return MOST;
        }
        let sheared = 1.0 - plug;
        let bracket = sheared * (sheared / (power + 3.0) + 2.0 * plug / (power + 2.0))
            + plug * plug / (power + 1.0);
        let ln_consistency = ln_consistency + (1.0 - curve.yield_share).ln();
        let ln_driven = power * (self.ln_wall_stress - ln_consistency)
            + (power + 1.0) * sheared.ln()
            + bracket.ln();
        (self.ln_reduced_flow - ln_driven).clamp(-MOST, MOST)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flow::FlowCurve;
    use crate::flow::pipe::pressure_drop_pa;
    use proptest::prelude::*;

    /// Chhabra & Richardson, Non-Newtonian Flow and Applied Rheology, 2nd ed. 2008, Example 3.1: a
    /// polymer solution of K 3 Pa.s^0.5 and n 0.5, 2500 kg/h of 1075 kg/m3 through 10 m of 25 mm, needs 110 kPa.
    #[test]
    fn nothing_is_short_at_the_published_pressure() {
        let tube = Tube {
            bore_m: 25e-3,
            length_m: 10.0,
        };
        let asked = LimitFlow::new(tube, 110e3, 2500.0 / 3600.0 / 1075.0);
        let curve = LogCurve {
            ln_viscosity: 3.0_f64.ln(),
            flow_index: 0.5,
            yield_share: 0.0,
            ln_reference_rate: 0.0,
        };
        assert!(asked.shortfall(&curve).abs() < 0.5 / 110.0);
    }

    proptest! {
        /// At the pressure that the plain formulas ask for nothing is short, under it some, over it none.
        #[test]
        fn it_passes_zero_where_the_plain_formulas_say(
            ln_viscosity in -6.0_f64..4.0, flow_index in 0.2_f64..1.2,
            yield_share in prop_oneof![Just(0.0), 0.001_f64..0.9], reference in 0.1_f64..100.0,
            bore_mm in 0.1_f64..1.0, ln_flow in -22.0_f64..-12.0,
        ) {
            let tube = Tube { bore_m: bore_mm * 1e-3, length_m: 13e-3 };
            let viscosity = ln_viscosity.exp();
            let consistency = (1.0 - yield_share) * viscosity * reference.powf(1.0 - flow_index);
            let plain = if yield_share > 0.0 {
                FlowCurve::herschel_bulkley(yield_share * viscosity * reference, consistency, flow_index)
            } else {
                FlowCurve::power_law(consistency, flow_index)
            }.unwrap();
            let flow = ln_flow.exp();
            let pressure = pressure_drop_pa(&plain, tube, flow);
            let curve = LogCurve { ln_viscosity, flow_index, yield_share, ln_reference_rate: reference.ln() };
            let short = |ratio: f64| LimitFlow::new(tube, ratio * pressure, flow).shortfall(&curve);
            prop_assert!(short(1.0).abs() < 1e-6, "{}", short(1.0));
            prop_assert!(short(0.99) > 0.0 && short(1.01) < 0.0);
        }
    }
}
