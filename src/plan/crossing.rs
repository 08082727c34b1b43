//! Where the plunger force of one gel reaches a limit.

use super::draws::Draw;
use super::error::PlanError;
use crate::flow::{Push, PushConditions, PushInputs, push, viscosity_for_force};
use argmin::core::{CostFunction, Error, Executor, IterState};
use argmin::solver::brent::BrentRoot;

/// Steps in which a force that need not be monotone is looked at before a root is searched.
const LOOKS: usize = 200;
/// Conversion that counts as fully set where a finite time is needed.
pub(super) const FULLY_SET: f64 = 1.0 - 1e-9;

/// Conditions of the push with the draw's own bore.
#[must_use]
pub(super) fn conditions_of(draw: &Draw, stated: &PushConditions) -> PushConditions {
    let inputs = *stated.inputs();
    PushConditions::new(PushInputs {
        bore_m: inputs.bore_m * draw.bore_ratio,
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
        let underlying = draw.underlying(viscosity / gel.temperature_factor);
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
    conversions_at(draw, &conditions, limit_n)
        .first()
        .copied()
        .unwrap_or(f64::INFINITY)
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
