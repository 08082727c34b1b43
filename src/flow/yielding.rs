//! Tube flow of curves with a yield stress; the equations stand at [`super::pipe::wall_state`].

use super::pipe::WallState;
use super::reynolds::{RYAN_JOHNSON_LIMIT, ryan_johnson_critical_reynolds};
use super::root::{Sample, increasing_root};

/// Above this flow index the stability parameter need not rise with the flow, and the
/// yield stress is left out of the transition.
const MOST_THICKENING: f64 = 1.5;

/// A curve with a yield stress. Everything is written in the stress *above* the yield
/// stress, s = tau_w - tau_y: a slow flow then loses no digits in tau_w - tau_y.
pub(super) struct Yielding {
    /// tau_y
    pub yield_stress_pa: f64,
    /// K; the plastic viscosity of a Bingham curve
    pub consistency_pa_s_n: f64,
    /// n; 1 for a Bingham curve
    pub flow_index: f64,
}

impl Yielding {
    /// ln (G K^(1/n)) and its slope on ln s.
    fn ln_scaled_flow(&self, power: f64, ln_excess: f64) -> Sample {
        let excess = ln_excess.exp();
        let wall_stress = self.yield_stress_pa + excess;
        let sheared = excess / wall_stress;
        let plug = self.yield_stress_pa / wall_stress;
        let [outer, middle, inner] = [
            1.0 / (power + 3.0),
            2.0 / (power + 2.0),
            1.0 / (power + 1.0),
        ];
        let bracket = sheared * (sheared * outer + plug * middle) + plug * plug * inner;
        // d bracket/d sheared, with plug = 1 - sheared
        let bracket_slope = 2.0 * sheared * outer + (plug - sheared) * middle - 2.0 * plug * inner;
        Sample {
            value: power * ln_excess + (sheared * bracket).ln(),
            slope: power + plug + bracket_slope * sheared * plug / bracket,
        }
    }

    /// G = Q/(pi R^3) at a stress at the wall above the yield stress.
    pub(super) fn reduced_flow_per_s(&self, wall_stress_pa: f64) -> f64 {
        let power = 1.0 / self.flow_index;
        let scaled = self.ln_scaled_flow(power, (wall_stress_pa - self.yield_stress_pa).ln());
        (scaled.value - power * self.consistency_pa_s_n.ln()).exp()
    }

    /// Stress and rate at the wall for a G = Q/(pi R^3).
    pub(super) fn wall_state(&self, reduced_flow_per_s: f64) -> WallState {
        let power = 1.0 / self.flow_index;
        let ln_consistency = self.consistency_pa_s_n.ln();
        let ln_flow = reduced_flow_per_s.ln();
        let ln_target = ln_flow + power * ln_consistency;
        // G <= (s/K)^(1/n)/(1/n+1) bounds s from below; G >= (s/K)^(1/n)/(2 (1/n+3)) for
        // s >= tau_y bounds it from above; 0.01 is room for rounding
        let alone = self.flow_index * ln_target;
        let low = alone + self.flow_index * (power + 1.0).ln() - 0.01;
        let ln_yield = self.yield_stress_pa.ln();
        let high = (alone + self.flow_index * (2.0 * (power + 3.0)).ln()).max(ln_yield) + 0.01;
        // ln G is nearly straight over ln s, between a power law with next to no plug, of
        // slope 1/n, and one with next to nothing but plug, of slope 1/n + 1
        let without_plug = alone + self.flow_index * (power + 3.0).ln();
        let all_plug = (ln_target + ln_yield + (power + 1.0).ln()) / (power + 1.0);
        let start = without_plug.max(all_plug);
        let ln_excess = increasing_root(low, high, start, |place| {
            let Sample { value, slope } = self.ln_scaled_flow(power, place);
            Sample {
                value: value - ln_target,
                slope,
            }
        });
        WallState {
            shear_stress_pa: self.yield_stress_pa + ln_excess.exp(),
            shear_rate_per_s: (power * (ln_excess - ln_consistency)).exp(),
        }
    }

    /// Metzner-Reed number at which Ryan and Johnson's parameter reaches its limit in a tube;
    /// see [`super::reynolds::critical_reynolds`].
    pub(super) fn critical_reynolds(&self, radius_m: f64, density_kg_per_m3: f64) -> f64 {
        if self.yield_stress_pa <= 0.0 || self.flow_index > MOST_THICKENING {
            return ryan_johnson_critical_reynolds(self.flow_index);
        }
        // Z = rho R^2 K^(-2m) s^(2m+1)/tau_w^2 c, m = 1/n,
        // c = [m/(2m+1)]^(m/(m+1))/(2m+1)
        let power = 1.0 / self.flow_index;
        let twice = 2.0 * power + 1.0;
        let ln_shape = power / (power + 1.0) * (power / twice).ln() - twice.ln();
        let inertia = density_kg_per_m3 * radius_m * radius_m;
        let ln_consistency = self.consistency_pa_s_n.ln();
        let target = (RYAN_JOHNSON_LIMIT / inertia).ln() + 2.0 * power * ln_consistency - ln_shape;
        let ln_yield = self.yield_stress_pa.ln();
        // tau_w lies between the greater of s and tau_y and twice that
        let bound = |target: f64| (target / (twice - 2.0)).max((target + 2.0 * ln_yield) / twice);
        let (low, high) = (bound(target) - 0.01, bound(target + 4f64.ln()) + 0.01);
        let ln_excess = increasing_root(low, high, 0.5 * (low + high), |place| {
            let excess = place.exp();
            let wall_stress = excess + self.yield_stress_pa;
            Sample {
                value: twice * place - 2.0 * wall_stress.ln() - target,
                slope: twice - 2.0 * excess / wall_stress,
            }
        });
        // Re = 8 rho V^2/tau_w with V = R G
        let ln_flow = self.ln_scaled_flow(power, ln_excess).value - power * ln_consistency;
        let ln_wall_stress = (ln_excess.exp() + self.yield_stress_pa).ln();
        ((8.0 * inertia).ln() + 2.0 * ln_flow - ln_wall_stress).exp()
    }
}
