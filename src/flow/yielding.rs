//! Tube flow of curves with a yield stress; the equations stand at [`super::pipe::wall_state`].

use super::pipe::WallState;
use super::root::{Sample, increasing_root};

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
    /// ln G and its slope on ln s.
    fn ln_reduced_flow(&self, ln_excess: f64) -> Sample {
        let power = 1.0 / self.flow_index;
        let wall_stress = self.yield_stress_pa + ln_excess.exp();
        let plug = self.yield_stress_pa / wall_stress;
        let ln_sheared = ln_excess - wall_stress.ln();
        let sheared = ln_sheared.exp();
        let bracket = sheared * sheared / (power + 3.0)
            + 2.0 * plug * sheared / (power + 2.0)
            + plug * plug / (power + 1.0);
        let bracket_slope = 2.0 * sheared / (power + 3.0) + 2.0 * (plug - sheared) / (power + 2.0)
            - 2.0 * plug / (power + 1.0);
        Sample {
            value: power * (ln_excess - self.consistency_pa_s_n.ln()) + ln_sheared + bracket.ln(),
            slope: power + plug + bracket_slope * sheared * plug / bracket,
        }
    }

    /// G = Q/(pi R^3) at a stress at the wall above the yield stress.
    pub(super) fn reduced_flow_per_s(&self, wall_stress_pa: f64) -> f64 {
        self.ln_reduced_flow((wall_stress_pa - self.yield_stress_pa).ln())
            .value
            .exp()
    }

    /// Stress and rate at the wall for a G = Q/(pi R^3).
    pub(super) fn wall_state(&self, reduced_flow_per_s: f64) -> WallState {
        let power = 1.0 / self.flow_index;
        let ln_target = reduced_flow_per_s.ln();
        let ln_consistency = self.consistency_pa_s_n.ln();
        // G <= (s/K)^(1/n)/(1/n+1) bounds s from below; G >= (s/K)^(1/n)/(2 (1/n+3)) for
        // s >= tau_y bounds it from above; 0.01 is room for rounding
        let low = ln_consistency + self.flow_index * (ln_target + (power + 1.0).ln()) - 0.01;
        let high = (ln_consistency + self.flow_index * (ln_target + (2.0 * (power + 3.0)).ln()))
            .max(self.yield_stress_pa.ln())
            + 0.01;
        let ln_excess = increasing_root(low, high, |place| {
            let Sample { value, slope } = self.ln_reduced_flow(place);
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
}
