//! The Carreau-Yasuda curve, whose tube flow has no closed form.

use std::f64::consts::PI;

use serde::Serialize;

use super::error::{FlowError, FlowQuantity};
use super::gauss::panel_integral;
use super::rabinowitsch::{self, Wall, ln_wall_rate};
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

/// What is left of the integral is left out where it is under this share of the whole.
const TAIL_RATIO: f64 = 1e-12;
/// The integrand falls by e^-9 over a panel at most: ten nodes then give ten digits.
const MOST_FALL: f64 = 9.0;
/// (lambda g)^a under e^-36 is nothing beside 1: the curve is Newtonian there.
const NEWTONIAN_POWER: f64 = -36.0;
/// Most panels of the integral; a dozen serve, this only ends a loop.
const MOST_PANELS: usize = 10_000;

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
        Bent::of(self).at(shear_rate_per_s.ln()).viscosity_pa_s
    }

    /// Q/(pi R^3) at a wall shear rate: the Weissenberg-Rabinowitsch integral.
    pub(super) fn reduced_flow_per_s(&self, wall_shear_rate_per_s: f64) -> f64 {
        let share = Bent::of(self).share(wall_shear_rate_per_s.ln());
        rabinowitsch::reduced_flow_per_s(wall_shear_rate_per_s, share)
    }

    /// Wall shear rate at a Q/(pi R^3).
    pub(super) fn wall_shear_rate_per_s(&self, reduced_flow_per_s: f64) -> f64 {
        let curve = Bent::of(self);
        let ln_flow = reduced_flow_per_s.ln();
        // Q/(pi R^3) is at most g_w/3, and at least what the thinnest power law would give;
        // a little room keeps the root inside where the curve is that power law
        let least = self.flow_index.min(1.0);
        let bracket = (
            ln_flow + 3f64.ln(),
            ln_flow + ((3.0 * least + 1.0) / least).ln() + 0.01,
        );
        // start where a power law would be that touches the curve, first at the apparent rate,
        // then at the middle of what J weighs, 1/(3n + 1) below the wall in ln g
        let wall_of = |index: f64| ln_flow + ((3.0 * index + 1.0) / index).ln();
        let index = curve.at(ln_flow + 4f64.ln()).local_index;
        let middle = wall_of(index) - 1.0 / (3.0 * index + 1.0);
        let start = wall_of(curve.at(middle).local_index);
        let mut known: Option<KnownShare> = None;
        ln_wall_rate(reduced_flow_per_s, bracket, start, |ln_rate| {
            let here = curve.at(ln_rate);
            let share = match known {
                // the integral is carried on from the place before: one panel
                Some(known) if (ln_rate - known.ln_rate).abs() <= curve.panel(ln_rate, 1.0) => {
                    curve.share_from(known, ln_rate, here.viscosity_pa_s)
                }
                _ => curve.share(ln_rate),
            };
            known = Some(KnownShare {
                ln_rate,
                share,
                viscosity_pa_s: here.viscosity_pa_s,
            });
            Wall {
                share,
                local_index: here.local_index,
            }
        })
        .exp()
    }

    /// Shear rate at a shear stress.
    pub(super) fn shear_rate_per_s(&self, shear_stress_pa: f64) -> f64 {
        let curve = Bent::of(self);
        let ln_stress = shear_stress_pa.ln();
        // from the rate that the viscosity at rest would give; the curve is nowhere flatter
        // than its least local index, so this far on either side lies past the root
        let start = ln_stress - self.zero_shear_viscosity_pa_s.ln();
        let value = curve.at(start).viscosity_pa_s.ln() + start - ln_stress;
        let reach = value.abs() / self.flow_index.min(1.0) + 0.01;
        increasing_root(start - reach, start + reach, start, |ln_rate| {
            let here = curve.at(ln_rate);
            Sample {
                value: here.viscosity_pa_s.ln() + ln_rate - ln_stress,
                slope: here.local_index,
            }
        })
        .exp()
    }
}

struct Point {
    viscosity_pa_s: f64,
    /// d ln tau / d ln g
    local_index: f64,
}

/// J at a rate, kept so that a near-by rate costs one panel.
#[derive(Clone, Copy)]
struct KnownShare {
    ln_rate: f64,
    share: f64,
    viscosity_pa_s: f64,
}

/// The curve with what does not change from rate to rate.
struct Bent {
    ln_time_constant: f64,
    transition_index: f64,
    /// (n - 1)/a
    exponent: f64,
    floor_pa_s: f64,
    span_pa_s: f64,
    rest_pa_s: f64,
    flow_index: f64,
    /// Distance of the poles of the curve from the real axis of ln g, pi/a.
    poles: f64,
}

impl Bent {
    fn of(curve: &CarreauYasuda) -> Self {
        Self {
            ln_time_constant: curve.time_constant_s.ln(),
            transition_index: curve.transition_index,
            exponent: (curve.flow_index - 1.0) / curve.transition_index,
            floor_pa_s: curve.infinite_shear_viscosity_pa_s,
            span_pa_s: curve.zero_shear_viscosity_pa_s - curve.infinite_shear_viscosity_pa_s,
            rest_pa_s: curve.zero_shear_viscosity_pa_s,
            flow_index: curve.flow_index,
            poles: PI / curve.transition_index,
        }
    }

    /// How wide a panel of ln g may be that begins here and goes down: its nodes stay as far
    /// from the poles beside the bend as ten of them need for ten digits, and the integrand
    /// falls by no more than e^-9 over it. `steepest` is the local index at its far end.
    fn panel(&self, ln_rate: f64, steepest: f64) -> f64 {
        let above_bend = self.ln_time_constant + ln_rate;
        let fall = MOST_FALL / (1.0 + 3.0 * steepest.max(self.flow_index));
        fall.min(0.6 * above_bend.hypot(self.poles))
    }

    /// The panel that begins here: wide where the curve is a thinning power law at both ends.
    ///
    /// The cube of floor and power law holds terms that fall as fast as the floor's own, however
    /// little of it there is: they count by the cube root of its share, so that each term, weighed by
    /// that share, is met to the same digits.
    fn widest_panel(&self, ln_rate: f64) -> f64 {
        let here = self.at(ln_rate);
        let floor_share = (self.floor_pa_s / here.viscosity_pa_s).cbrt();
        let mixed = self.flow_index + (1.0 - self.flow_index) * floor_share;
        let widest = self.panel(ln_rate, here.local_index.max(mixed));
        let far = self.at(ln_rate - widest).local_index;
        widest.min(self.panel(ln_rate, far))
    }

    /// a ln(lambda g)
    fn power(&self, ln_rate: f64) -> f64 {
        self.transition_index * (self.ln_time_constant + ln_rate)
    }

    fn at(&self, ln_rate: f64) -> Point {
        // ln(1 + x^a) and x^a/(1 + x^a), written so that x^a may run past what a double holds
        let power = self.power(ln_rate);
        let tail = (-power.abs()).exp();
        let share = if power > 0.0 { 1.0 } else { tail } / (1.0 + tail);
        let thinned_pa_s = self.span_pa_s * (self.exponent * (power.max(0.0) + tail.ln_1p())).exp();
        let viscosity_pa_s = self.floor_pa_s + thinned_pa_s;
        Point {
            viscosity_pa_s,
            local_index: 1.0 + thinned_pa_s * (self.flow_index - 1.0) * share / viscosity_pa_s,
        }
    }

    /// (tau/tau_w)^3 g/g_w, a little way below the wall in ln g.
    fn integrand(&self, ln_wall: f64, wall_pa_s: f64, below: f64) -> f64 {
        let power = self.power(ln_wall - below);
        let ln_one_plus = power.max(0.0) + (-power.abs()).exp().ln_1p();
        let thinned_pa_s = self.span_pa_s * (self.exponent * ln_one_plus).exp();
        let ratio = (self.floor_pa_s + thinned_pa_s) / wall_pa_s;
        ratio * ratio * ratio * (-4.0 * below).exp()
    }

    /// J at a wall shear rate, with ln g as the variable: the integrand then dies away like
    /// an exponential, and the panels are cut so that the curve's poles stay well outside.
    fn share(&self, ln_wall: f64) -> f64 {
        let wall_pa_s = self.at(ln_wall).viscosity_pa_s;
        let integrand = |below: f64| self.integrand(ln_wall, wall_pa_s, below);
        let slowest = 1.0 + 3.0 * self.flow_index.min(1.0);
        let (mut sum, mut from) = (0.0, 0.0);
        for _ in 0..MOST_PANELS {
            let left = integrand(from);
            if self.power(ln_wall - from) < NEWTONIAN_POWER {
                return sum + 0.25 * (self.rest_pa_s / wall_pa_s).powi(3) * (-4.0 * from).exp();
            }
            if left < TAIL_RATIO * slowest * sum {
                break;
            }
            let to = from + self.widest_panel(ln_wall - from);
            sum += panel_integral(from, to, integrand);
            from = to;
        }
        sum
    }

    /// J at a rate near one where it is known.
    fn share_from(&self, known: KnownShare, ln_rate: f64, viscosity_pa_s: f64) -> f64 {
        let step = ln_rate - known.ln_rate;
        // tau^3 g of the one over the other
        let ratio = (known.viscosity_pa_s / viscosity_pa_s).powi(3) * (-4.0 * step).exp();
        if step >= 0.0 {
            let between = panel_integral(0.0, step, |below| {
                self.integrand(ln_rate, viscosity_pa_s, below)
            });
            known.share * ratio + between
        } else {
            let between = panel_integral(0.0, -step, |below| {
                self.integrand(known.ln_rate, known.viscosity_pa_s, below)
            });
            (known.share - between) * ratio
        }
    }
}
