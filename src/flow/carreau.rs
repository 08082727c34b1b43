//! The Carreau-Yasuda curve, whose tube flow has no closed form.

use serde::Serialize;

use super::error::{FlowError, FlowQuantity};
use super::root::{Sample, increasing_root};

/// A Carreau-Yasuda curve: a plateau at rest, a power law beyond it, a floor at great rates.
///
/// # Source
/// K. Yasuda, R. C. Armstrong, R. E. Cohen, Shear flow properties of concentrated
/// solutions of linear and star branched polystyrenes, Rheologica Acta 20, 1981, 163-178,
/// from memory.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CarreauYasuda {
    /// Viscosity at rest, eta_0.
    pub zero_shear_viscosity_pa_s: f64,
    /// Viscosity at great shear rates, eta_inf; may be zero.
    pub infinite_shear_viscosity_pa_s: f64,
    /// Time constant, lambda: its inverse is the shear rate at which thinning sets in.
    pub time_constant_s: f64,
    /// Flow index, n.
    pub flow_index: f64,
    /// Transition index, a; 2 is the Carreau curve.
    pub transition_index: f64,
}

/// Nodes of the ten-point Gauss-Legendre rule on (-1, 1), positive half.
/// Source: M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 1964, table 25.4.
const NODES: [f64; 5] = [
    0.148_874_338_981_631_22,
    0.433_395_394_129_247_2,
    0.679_409_568_299_024_4,
    0.865_063_366_688_984_5,
    0.973_906_528_517_171_7,
];
/// Weights of the same rule.
const WEIGHTS: [f64; 5] = [
    0.295_524_224_714_752_87,
    0.269_266_719_309_996_35,
    0.219_086_362_515_982_04,
    0.149_451_349_150_580_6,
    0.066_671_344_308_688_14,
];
/// The tail of the integral is left out where it is under e^-40 of the whole.
const TAIL: f64 = 40.0;

impl CarreauYasuda {
    pub(super) fn check(&self) -> Result<(), FlowError> {
        FlowQuantity::Viscosity.positive(self.zero_shear_viscosity_pa_s)?;
        FlowQuantity::InfiniteShearViscosity.not_negative(self.infinite_shear_viscosity_pa_s)?;
        FlowQuantity::TimeConstant.positive(self.time_constant_s)?;
        FlowQuantity::FlowIndex.positive(self.flow_index)?;
        FlowQuantity::TransitionIndex.positive(self.transition_index)?;
        if self.flow_index > 1.0
            && self.infinite_shear_viscosity_pa_s > self.zero_shear_viscosity_pa_s
        {
            return Err(FlowError::ViscosityBelowZero {
                zero_shear_viscosity_pa_s: self.zero_shear_viscosity_pa_s,
                infinite_shear_viscosity_pa_s: self.infinite_shear_viscosity_pa_s,
                flow_index: self.flow_index,
            });
        }
        Ok(())
    }

    /// Viscosity at a shear rate; the equation stands at [`super::FlowCurve`].
    pub(super) fn viscosity_pa_s(&self, shear_rate_per_s: f64) -> f64 {
        self.at(shear_rate_per_s.ln()).viscosity_pa_s
    }

    fn at(&self, ln_rate: f64) -> Point {
        // ln(1 + x^a) and x^a/(1 + x^a), written so that x^a may run past what a double holds
        let power = self.transition_index * (self.time_constant_s.ln() + ln_rate);
        let tail = (-power.abs()).exp();
        let ln_one_plus = power.max(0.0) + tail.ln_1p();
        let share = if power > 0.0 { 1.0 } else { tail } / (1.0 + tail);
        let thinning = ((self.flow_index - 1.0) / self.transition_index * ln_one_plus).exp();
        let span = self.zero_shear_viscosity_pa_s - self.infinite_shear_viscosity_pa_s;
        let viscosity_pa_s = self.infinite_shear_viscosity_pa_s + span * thinning;
        Point {
            viscosity_pa_s,
            local_index: 1.0 + span * thinning * (self.flow_index - 1.0) * share / viscosity_pa_s,
        }
    }

    /// The least slope of ln tau on ln g anywhere on the curve.
    fn least_local_index(&self) -> f64 {
        self.flow_index.min(1.0)
    }

    /// Q/(pi R^3) at a wall shear rate: the Weissenberg-Rabinowitsch integral in the form
    /// (1/3) [g_w - (1/tau_w^3) integral_0^g_w tau(g)^3 dg], with ln g as the variable:
    /// the integrand then dies away like an exponential and is smooth on every panel.
    pub(super) fn reduced_flow_per_s(&self, wall_shear_rate_per_s: f64) -> f64 {
        let ln_wall = wall_shear_rate_per_s.ln();
        let wall_viscosity = self.at(ln_wall).viscosity_pa_s;
        let integrand = |below: f64| {
            // (tau/tau_w)^3 g/g_w at ln g = ln g_w - below
            let ratio = self.at(ln_wall - below).viscosity_pa_s / wall_viscosity;
            ratio * ratio * ratio * (-4.0 * below).exp()
        };
        // the poles of the curve stand at a distance of pi/a from the real axis of ln g
        let panel = (1.0 / self.transition_index).min(1.0);
        let reach = TAIL / (1.0 + 3.0 * self.least_local_index());
        let mut sum = 0.0;
        let mut from = 0.0;
        while from < reach {
            let middle = from + 0.5 * panel;
            let part: f64 = NODES
                .iter()
                .zip(WEIGHTS)
                .map(|(node, weight)| {
                    let away = 0.5 * panel * node;
                    weight * (integrand(middle - away) + integrand(middle + away))
                })
                .sum();
            sum += 0.5 * panel * part;
            from += panel;
        }
        wall_shear_rate_per_s * (1.0 - sum) / 3.0
    }

    /// Wall shear rate at a Q/(pi R^3).
    pub(super) fn wall_shear_rate_per_s(&self, reduced_flow_per_s: f64) -> f64 {
        let least = self.least_local_index();
        let ln_target = reduced_flow_per_s.ln();
        // Q/(pi R^3) is at most g_w/3, and at least what the thinnest power law would give;
        // a little room keeps the root inside where the curve is that power law
        let low = ln_target + 3f64.ln();
        let high = ln_target + ((3.0 * least + 1.0) / least).ln() + 0.01;
        increasing_root(low, high, |ln_rate| {
            let rate = ln_rate.exp();
            let flow = self.reduced_flow_per_s(rate);
            // d(Q/(pi R^3))/d tau_w = (g_w - 3 Q/(pi R^3))/tau_w
            Sample {
                value: flow.ln() - ln_target,
                slope: (rate - 3.0 * flow) / flow * self.at(ln_rate).local_index,
            }
        })
        .exp()
    }

    /// Shear rate at a shear stress.
    pub(super) fn shear_rate_per_s(&self, shear_stress_pa: f64) -> f64 {
        let ln_stress = shear_stress_pa.ln();
        let value = |ln_rate: f64| self.at(ln_rate).viscosity_pa_s.ln() + ln_rate - ln_stress;
        // from the rate that the viscosity at rest would give; the curve is nowhere flatter
        // than its least local index, so this far on either side lies past the root
        let start = ln_stress - self.zero_shear_viscosity_pa_s.ln();
        let reach = value(start).abs() / self.least_local_index() + 0.01;
        increasing_root(start - reach, start + reach, |ln_rate| Sample {
            value: value(ln_rate),
            slope: self.at(ln_rate).local_index,
        })
        .exp()
    }
}

struct Point {
    viscosity_pa_s: f64,
    /// d ln tau / d ln g
    local_index: f64,
}
