//! The step in time that both solvers share.

use super::steps::StepLadder;
use std::f64::consts::{FRAC_1_SQRT_2, SQRT_2};

/// `gamma` of the method: the smaller root of `gamma^2 - 2 gamma + 1/2 = 0`.
const GAMMA: f64 = 1.0 - FRAC_1_SQRT_2;
/// `(1 - gamma)/gamma`: how far the first stage's change carries into the second's start.
const CARRIED: f64 = 1.0 + SQRT_2;

/// Cells that store heat and pass it on: `C dT/dt = supply(t) - K T`, `C` diagonal, `K` symmetric.
/// Heat is in J, or in J by metre of barrel in the radial system.
pub(super) trait HeatSystem {
    /// Factors of `C + w K`.
    type Factor;
    /// The diagonal of `C`.
    fn capacities(&self) -> &[f64];
    /// Room for factors.
    fn blank_factor(&self) -> Self::Factor;
    /// Factors `C + weight_s K` into that room.
    fn refill(&self, weight_s: f64, factor: &mut Self::Factor);
    /// Solves with the factors, in place.
    fn solve(&self, factor: &Self::Factor, values: &mut [f64]);
    /// Adds `weight_s supply(t)`.
    fn add_supply(&self, time_s: f64, weight_s: f64, values: &mut [f64]);
    /// Heat that enters from outside by second.
    fn inflow(&self, time_s: f64, temperatures: &[f64]) -> f64;
    /// `supply(t) - K T`: heat that each cell gains by second.
    fn gains(&self, time_s: f64, temperatures: &[f64], gains: &mut [f64]);
}

/// Heat that came through the outside.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct HeatPassed {
    /// Sum, what left taken off.
    pub net: f64,
    /// Sum of the amounts, in or out.
    pub gross: f64,
}

impl std::ops::AddAssign for HeatPassed {
    fn add_assign(&mut self, other: Self) {
        self.net += other.net;
        self.gross += other.gross;
    }
}

/// Room for the fields of one step, made once and used by all.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct StepRoom {
    before: Vec<f64>,
    slope_before: Vec<f64>,
    slope: Vec<f64>,
    middle: Vec<f64>,
    carried: Vec<f64>,
}

impl StepRoom {
    pub(super) fn new(cells: usize) -> Self {
        let blank = || vec![0.0; cells];
        Self {
            before: blank(),
            slope_before: blank(),
            slope: blank(),
            middle: blank(),
            carried: blank(),
        }
    }
}

/// A step that was taken, with what an interpolation inside it needs.
pub(super) struct StepTaken<'a> {
    pub from_s: f64,
    pub to_s: f64,
    pub before: &'a [f64],
    pub slope_before: &'a [f64],
    pub after: &'a [f64],
    pub slope_after: &'a [f64],
}

/// Steps a field of temperatures from one time to another, and shows every step to `observe`.
///
/// # Equation
/// Two stages with one matrix, `gamma = 1 - 1/sqrt(2)`:
/// `(C + gamma dt K) T_1 = C T_n + gamma dt supply(t_n + gamma dt)`,
/// `(C + gamma dt K) T_(n+1) = C [T_n + (1 - gamma)/gamma (T_1 - T_n)] + gamma dt supply(t_n + dt)`.
/// Heat through the outside is summed with the same weights, `dt [(1 - gamma) q_1 + gamma q_2]`, so
/// it equals the change of the stored heat to rounding, whatever the step.
///
/// # Valid for
/// Any step: second order in the step, L-stable, so a sudden change outside leaves no ringing.
///
/// # Source
/// R. Alexander, Diagonally implicit Runge-Kutta methods for stiff O.D.E.'s, SIAM Journal on
/// Numerical Analysis 14, 1977, p. 1006, the two-stage strongly S-stable method (from memory),
/// DOI 10.1137/0714068.
pub(super) fn march<S: HeatSystem>(
    system: &S,
    room: &mut StepRoom,
    temperatures: &mut [f64],
    (from_s, to_s): (f64, f64),
    ladder: StepLadder,
    mut observe: impl FnMut(&StepTaken<'_>),
) -> HeatPassed {
    let capacities = system.capacities();
    let mut factor = system.blank_factor();
    let mut factored_s = f64::NAN;
    let mut heat = HeatPassed::default();
    let mut time_s = from_s;

    system.gains(time_s, temperatures, &mut room.slope);
    for (slope, capacity) in room.slope.iter_mut().zip(capacities) {
        *slope /= capacity;
    }
    let mut steps = ladder.peekable();
    while let Some(step_s) = steps.next() {
        let weight_s = GAMMA * step_s;
        if step_s != factored_s {
            system.refill(weight_s, &mut factor);
            factored_s = step_s;
        }
        room.before.copy_from_slice(temperatures);
        std::mem::swap(&mut room.slope_before, &mut room.slope);

        for ((middle, before), capacity) in room.middle.iter_mut().zip(&room.before).zip(capacities)
        {
            *middle = capacity * before;
        }
        system.add_supply(time_s + weight_s, weight_s, &mut room.middle);
        system.solve(&factor, &mut room.middle);
        let first_inflow = system.inflow(time_s + weight_s, &room.middle);

        for ((((value, carried), before), middle), capacity) in temperatures
            .iter_mut()
            .zip(&mut room.carried)
            .zip(&room.before)
            .zip(&room.middle)
            .zip(capacities)
        {
            *carried = before + CARRIED * (middle - before);
            *value = capacity * *carried;
        }
        system.add_supply(time_s + step_s, weight_s, temperatures);
        system.solve(&factor, temperatures);
        let second_inflow = system.inflow(time_s + step_s, temperatures);

        // The second stage's own equation gives the slope at the step's end for nothing.
        let by_weight = 1.0 / weight_s;
        for ((slope, value), carried) in
            room.slope.iter_mut().zip(&*temperatures).zip(&room.carried)
        {
            *slope = (value - carried) * by_weight;
        }
        heat.net += step_s * ((1.0 - GAMMA) * first_inflow + GAMMA * second_inflow);
        heat.gross += step_s * ((1.0 - GAMMA) * first_inflow.abs() + GAMMA * second_inflow.abs());

        let after_s = if steps.peek().is_some() {
            time_s + step_s
        } else {
            to_s
        };
        observe(&StepTaken {
            from_s: time_s,
            to_s: after_s,
            before: &room.before,
            slope_before: &room.slope_before,
            after: temperatures,
            slope_after: &room.slope,
        });
        time_s = after_s;
    }
    heat
}
