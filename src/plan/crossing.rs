//! Where the plunger force of one gel reaches a limit.

use super::draws::Draw;
use super::error::PlanError;
use crate::flow::{
    LimitFlow, LogCurve, Push, PushConditions, PushInputs, pressure_for_force, push,
    viscosity_for_force,
};
use argmin::core::{CostFunction, Error, Executor, IterState};
use argmin::solver::brent::BrentRoot;

/// Steps in which a force that need not be monotone is looked at before a root is searched.
const LOOKS: usize = 200;
/// The same for each of thousands of draws: the force over conversion is smooth and turns twice at
/// most (a rising consistency against a falling index), so fewer looks find its crossings.
const DRAW_LOOKS: usize = 24;
/// Conversion that counts as fully set where a finite time is needed.
pub(super) const FULLY_SET: f64 = 1.0 - 1e-9;

/// Conditions of the push with the draw's own bore, friction and flow rate.
#[must_use]
pub(super) fn conditions_of(draw: &Draw, stated: &PushConditions) -> PushConditions {
    conditions_with_bore(draw, draw.bore_ratio, stated)
}

/// The same with another ratio of the bore.
#[must_use]
pub(super) fn conditions_with_bore(
    draw: &Draw,
    bore_ratio: f64,
    stated: &PushConditions,
) -> PushConditions {
    let inputs = *stated.inputs();
    PushConditions::new(PushInputs {
        bore_m: inputs.bore_m * bore_ratio,
        friction_n: (inputs.friction_n + draw.friction_shift_n).max(0.0),
        flow_rate_m3_per_s: inputs.flow_rate_m3_per_s * draw.flow_ratio,
        ..inputs
    })
    .unwrap_or(*stated)
}

/// The push of a draw at a conversion.
#[must_use]
pub(super) fn push_of(draw: &Draw, conditions: &PushConditions, fraction: f64) -> Push {
    push(
        &draw.gel.curve(draw.reading(fraction), fraction),
        conditions,
    )
}

/// First conversion at which the force of a draw reaches the limit: 0 where it is there from the
/// first moment, infinite where it never gets there.
#[must_use]
pub(super) fn first_conversion(draw: &Draw, stated: &PushConditions, limit_n: f64) -> f64 {
    let conditions = conditions_of(draw, stated);
    let gel = &draw.gel;
    if gel.force_is_monotone() {
        let viscosity = viscosity_for_force(
            &conditions,
            gel.thinning.flow_index(1.0),
            gel.thinning.reference_shear_rate_per_s,
            limit_n,
        );
        let Ok(viscosity) = viscosity else { return 0.0 };
        let underlying = draw.underlying(viscosity / gel.temperature_factor.ratio());
        if underlying <= 0.0 {
            return 0.0;
        }
        let fraction = gel.setting.firmness.conversion_at_reading(underlying);
        return if fraction < 0.0 {
            0.0
        } else if fraction >= 1.0 {
            f64::INFINITY
        } else {
            fraction
        };
    }
    // The force reaches the limit where the flow that the limit's pressure drives has fallen to the
    // flow asked for: no root in a flow curve is needed to see that.
    let Ok(pressure_pa) = pressure_for_force(&conditions, limit_n) else {
        return 0.0;
    };
    let asked = LimitFlow::new(
        conditions.tube(),
        pressure_pa,
        conditions.inputs().flow_rate_m3_per_s,
    );
    let ln_reading = draw.ln_reading();
    let ln_factor = gel.temperature_factor.ratio().ln();
    let ln_reference_rate = gel.thinning.reference_shear_rate_per_s.ln();
    let excess = |fraction: f64| {
        asked.shortfall(&LogCurve {
            ln_viscosity: ln_reading(fraction) + ln_factor,
            flow_index: gel.thinning.flow_index(fraction),
            yield_share: gel.thinning.yield_share(fraction),
            ln_reference_rate,
        })
    };
    let mut before = (0.0, excess(0.0));
    if before.1 >= 0.0 {
        return 0.0;
    }
    let mut earlier = before;
    for step in 1..=DRAW_LOOKS {
        let here = step as f64 / DRAW_LOOKS as f64;
        let value = excess(here);
        if value >= 0.0 {
            return rising_root(&excess, before, (here, value));
        }
        // A peak that reaches the limit may stand between two looks that do not.
        if step > 1 && before.1 > earlier.1 && before.1 >= value {
            let top = vertex(earlier, before, (here, value));
            let above = excess(top);
            if above >= 0.0 {
                let from = if top > before.0 { before } else { earlier };
                return rising_root(&excess, from, (top, above));
            }
        }
        earlier = before;
        before = (here, value);
    }
    f64::INFINITY
}

/// Where the parabola through three evenly spaced points turns.
fn vertex(left: (f64, f64), middle: (f64, f64), right: (f64, f64)) -> f64 {
    let bend = left.1 - 2.0 * middle.1 + right.1;
    let way = 0.5 * (left.1 - right.1) / bend;
    middle.0 + way.clamp(-1.0, 1.0) * (middle.0 - left.0)
}

/// Every conversion at which the force of a draw crosses the limit, rising or falling; 0 comes
/// first where the force is above it from the first moment.
#[must_use]
pub(super) fn conversions_at(draw: &Draw, conditions: &PushConditions, limit_n: f64) -> Vec<f64> {
    let excess = |fraction: f64| push_of(draw, conditions, fraction).plunger_force_n - limit_n;
    let mut found = Vec::new();
    let mut before = (0.0, excess(0.0));
    if before.1 >= 0.0 {
        found.push(0.0);
    }
    for step in 1..=LOOKS {
        let here = step as f64 / LOOKS as f64;
        let value = excess(here);
        if (before.1 < 0.0) != (value < 0.0) {
            found.push(bisect(&excess, before.0, here, before.1 < 0.0));
        }
        before = (here, value);
    }
    found
}

/// Root between a point below zero and one that is not, by the Illinois rule: a secant that halves
/// the weight of an end that stays, with bisection where a value is not finite.
///
/// # Source
/// M. Dowell, P. Jarratt, BIT 11 (1971) 168, doi:10.1007/BF01934364.
fn rising_root(
    excess: &impl Fn(f64) -> f64,
    (mut low, mut below): (f64, f64),
    (mut high, mut above): (f64, f64),
) -> f64 {
    let mut side = 0_i8;
    for _ in 0..100 {
        let secant = low - below * (high - low) / (above - below);
        let inside = secant > low && secant < high;
        let middle = if inside { secant } else { 0.5 * (low + high) };
        if high - low <= 1e-12 || middle == low || middle == high {
            break;
        }
        let value = excess(middle);
        if value.abs() <= 1e-10 * (above - below).abs() {
            return middle;
        }
        if value < 0.0 {
            (low, below) = (middle, value);
            if side == -1 {
                above *= 0.5;
            }
            side = -1;
        } else {
            (high, above) = (middle, value);
            if side == 1 {
                below *= 0.5;
            }
            side = 1;
        }
    }
    0.5 * (low + high)
}

/// Plain bisection to rounding: robust, and cheap enough where a draw needs it.
fn bisect(excess: &impl Fn(f64) -> f64, mut low: f64, mut high: f64, rising: bool) -> f64 {
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if (excess(middle) < 0.0) == rising {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Heat time against force, for the point answer.
struct ForceOverTime<'a> {
    draw: &'a Draw,
    conditions: &'a PushConditions,
    set_kelvin: f64,
    limit_n: f64,
}

impl CostFunction for ForceOverTime<'_> {
    type Param = f64;
    type Output = f64;

    fn cost(&self, time_s: &f64) -> Result<f64, Error> {
        let fraction = self.draw.gel.setting.conversion(self.set_kelvin, *time_s);
        Ok(push_of(self.draw, self.conditions, fraction).plunger_force_n - self.limit_n)
    }
}

/// Every heat time at which the estimates alone give the force, in s, the shortest first: found by
/// looking along the conversion, then by Brent's root search (argmin) on the clock.
///
/// # Errors
/// None from the search itself: a bracket is known to hold a change of sign.
///
/// # Source
/// R. Brent, Algorithms for Minimization without Derivatives, 1973, chapter 4.
pub(super) fn crossing_times_s(
    draw: &Draw,
    conditions: &PushConditions,
    set_kelvin: f64,
    limit_n: f64,
) -> Result<Vec<f64>, PlanError> {
    let setting = &draw.gel.setting;
    let mut times = Vec::new();
    for fraction in conversions_at(draw, conditions, limit_n) {
        if fraction <= 0.0 {
            times.push(0.0);
            continue;
        }
        if fraction > FULLY_SET {
            continue;
        }
        let width = 0.5 / LOOKS as f64;
        let low = setting.clock_time_for_conversion_s(set_kelvin, (fraction - width).max(0.0));
        let high =
            setting.clock_time_for_conversion_s(set_kelvin, (fraction + width).min(FULLY_SET));
        let rough = setting.clock_time_for_conversion_s(set_kelvin, fraction);
        let problem = ForceOverTime {
            draw,
            conditions,
            set_kelvin,
            limit_n,
        };
        let solver = BrentRoot::new(low, high, 1e-12 * high.max(1.0));
        let found = Executor::new(problem, solver)
            .configure(|state: IterState<f64, (), (), (), (), f64>| state.max_iters(200))
            .ctrlc(false)
            .run()
            .ok()
            .and_then(|result| result.state.best_param)
            .filter(|time_s| time_s.is_finite())
            .unwrap_or(rough);
        times.push(found);
    }
    Ok(times)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kinetics::{
        ArrheniusRate, FirmnessCurve, FlowIndexCourse, ReactionOrder, SettingModel, ShearThinning,
    };
    use crate::plan::gel::{FlowIndexSource, Gel, TemperatureFactor};
    use crate::plan::{NeedleUsed, PushSetup};
    use crate::thermal::WarmUp;
    use proptest::prelude::*;

    proptest! {
        /// The quick search of a draw finds the first of the crossings that a fine look finds by
        /// bisection.
        #[test]
        fn the_quick_search_finds_the_first_crossing(
            plateau in 0.5_f64..50.0, index in 0.2_f64..1.0, limit_n in 3.0_f64..40.0,
            bore_mm in 0.1_f64..0.3, yield_share_plateau in prop_oneof![Just(0.0), 0.0_f64..0.9],
        ) {
            let gel = Gel {
                setting: SettingModel {
                    firmness: FirmnessCurve::Log { initial: 1.6e-3, plateau },
                    order: ReactionOrder(1.0),
                    rate: ArrheniusRate {
                        rate_ref_per_s: 1e-3,
                        activation_energy_j_per_mol: 250e3,
                        reference_kelvin: 353.15,
                    },
                    dose_lag_s: 0.0,
                    warm_up: WarmUp::None,
                },
                thinning: ShearThinning {
                    flow_index_plateau: index,
                    reference_shear_rate_per_s: 10.0,
                    course: FlowIndexCourse::WithSetting,
                    yield_share_plateau,
                },
                index_source: FlowIndexSource::Fitted,
                temperature_factor: TemperatureFactor::None,
            };
            let draw = Draw::of_estimates(gel);
            let needle = NeedleUsed::of_bore(bore_mm * 1e-3, None, 13e-3).unwrap();
            let conditions = PushSetup::with_needle(needle).unwrap().conditions().unwrap();
            let quick = first_conversion(&draw, &conditions, limit_n);
            match conversions_at(&draw, &conditions, limit_n).first() {
                Some(fine) => prop_assert!((quick - fine).abs() < 1e-7, "{quick} {fine}"),
                None => prop_assert!(quick.is_infinite()),
            }
        }
    }
}
