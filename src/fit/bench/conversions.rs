//! Conversion of every row at a set of parameters, and its derivatives.

use super::rows::BenchRows;
use crate::fit::parameter::ParameterName;
use crate::kinetics::{ReactionOrder, conversion};
use crate::reference::constants::GAS_CONSTANT_J_PER_MOL_K;
use crate::thermal::{TemperatureHistory, WarmUp, relative_rate};

/// Parameters on which a conversion depends, in the order of the derivatives below.
pub(super) const TIMING: [ParameterName; 5] = [
    ParameterName::RateRef,
    ParameterName::ActivationEnergy,
    ParameterName::Order,
    ParameterName::DoseLag,
    ParameterName::WarmUp,
];

/// Numbers of one evaluation.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Timing {
    pub(super) ln_rate: f64,
    pub(super) energy_j_per_mol: f64,
    pub(super) order: f64,
    pub(super) dose_lag_s: f64,
    pub(super) warm_up: WarmUp,
    pub(super) reference_kelvin: f64,
}

/// Conversions of all rows, with derivatives by `ln k`, `E/(R T_ref)`, order, `ln theta_lag` and
/// `ln tau`; the last three only where they are fitted.
#[derive(Debug, Clone, Default)]
pub(super) struct Conversions {
    pub(super) fraction: Vec<f64>,
    pub(super) unset: Vec<f64>,
    pub(super) by: [Vec<f64>; 5],
    points: Vec<Point>,
    /// Whether order, dose lag and warm-up are wanted too.
    extended: bool,
}

#[derive(Debug, Clone, Copy, Default)]
struct Point {
    fraction: f64,
    unset: f64,
    by: [f64; 5],
}

impl Conversions {
    pub(super) fn new(rows: &BenchRows, extended: bool) -> Self {
        let count = rows.len();
        let column = |wanted: bool| if wanted { vec![0.0; count] } else { Vec::new() };
        Self {
            fraction: column(true),
            unset: column(true),
            by: [
                column(true),
                column(true),
                column(extended),
                column(extended),
                column(extended),
            ],
            points: vec![Point::default(); rows.points.len()],
            extended,
        }
    }

    /// Computes all rows.
    pub(super) fn compute(&mut self, rows: &BenchRows, timing: &Timing) {
        let plain = timing.warm_up == WarmUp::None
            && timing.dose_lag_s == 0.0
            && timing.order == 1.0
            && !self.extended;
        if plain {
            self.first_order_points(rows, timing);
        } else {
            self.general_points(rows, timing);
        }
        let by = self.by.split_at_mut(2);
        let ([by_rate, by_energy], extra) = (by.0, by.1) else {
            return;
        };
        let targets = self
            .fraction
            .iter_mut()
            .zip(&mut self.unset)
            .zip(by_rate.iter_mut().zip(by_energy.iter_mut()));
        for (&place, ((fraction, unset), (rate, energy))) in rows.point_of_row.iter().zip(targets) {
            let point = &self.points[place];
            *fraction = point.fraction;
            *unset = point.unset;
            *rate = point.by[0];
            *energy = point.by[1];
        }
        for (which, column) in extra.iter_mut().enumerate() {
            for (value, &place) in column.iter_mut().zip(&rows.point_of_row) {
                *value = self.points[place].by[which + 2];
            }
        }
    }

    /// Order 1, no lag of any kind: the case of nearly every fit, kept lean.
    fn first_order_points(&mut self, rows: &BenchRows, timing: &Timing) {
        let rate = timing.ln_rate.exp();
        let mut place_before = usize::MAX;
        let (mut rate_here, mut energy_share) = (0.0, 0.0);
        for (point, &(place, time_s)) in self.points.iter_mut().zip(&rows.points) {
            if place != place_before {
                place_before = place;
                let kelvin = rows.temperatures_kelvin[place];
                let reference = timing.reference_kelvin;
                rate_here = rate * relative_rate(kelvin, reference, timing.energy_j_per_mol);
                // d ln k / d (E/(R T_ref)) = -T_ref (1/T - 1/T_ref)
                energy_share = 1.0 - reference / kelvin;
            }
            let rate_dose = rate_here * time_s;
            let unset = (-rate_dose).exp();
            let by_ln = rate_dose * unset;
            point.fraction = 1.0 - unset;
            point.unset = unset;
            point.by[0] = by_ln;
            point.by[1] = by_ln * energy_share;
        }
    }

    fn general_points(&mut self, rows: &BenchRows, timing: &Timing) {
        let rate = timing.ln_rate.exp();
        let reference = timing.reference_kelvin;
        let thermal_energy = GAS_CONSTANT_J_PER_MOL_K * reference;
        let tau_s = timing
            .warm_up
            .as_lag()
            .map_or(0.0, |lag| lag.time_constant_s);
        let mut place_before = usize::MAX;
        let mut clock = None;
        for (point, &(place, time_s)) in self.points.iter_mut().zip(&rows.points) {
            if place != place_before {
                place_before = place;
                let kelvin = rows.temperatures_kelvin[place];
                clock = Some(
                    timing
                        .warm_up
                        .dose_clock(kelvin, timing.energy_j_per_mol, reference),
                );
            }
            let Some(clock) = &clock else { continue };
            // The mean over the volume: a needle mixes what was set unevenly.
            *point = Point::default();
            for (shell, share) in clock.shares().iter().enumerate() {
                let dose = clock.shell_dose(shell, time_s);
                let counted_s = dose.dose_s - timing.dose_lag_s;
                if counted_s <= 0.0 {
                    continue;
                }
                let c = conversion(ReactionOrder(timing.order), rate * counted_s);
                let by_ln = c.by_ln_rate_dose;
                let by = [
                    by_ln,
                    by_ln * dose.by_activation_energy_s_mol_per_j / counted_s * thermal_energy,
                    c.by_order,
                    -by_ln * timing.dose_lag_s / counted_s,
                    by_ln * dose.by_lag_ratio * tau_s / counted_s,
                ];
                point.fraction += share * c.fraction;
                for (sum, part) in point.by.iter_mut().zip(by) {
                    *sum += share * part;
                }
            }
            point.unset = 1.0 - point.fraction;
        }
    }
}
